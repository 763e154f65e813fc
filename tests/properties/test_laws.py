"""Laws that hold for every order: sums, mirrors, gaps, and what an answer must and must not carry."""

import csv
import io
import json
from collections.abc import Iterator
from decimal import Decimal
from fractions import Fraction
from typing import Any

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from sawready.calc.layout import divide
from sawready.catalogue.load import Catalogue
from sawready.layouts import read_layout
from sawready.model.layout import Division, Layout, Light, reads_alike_turned, turned
from sawready.pipeline import check_order
from sawready.readers.json_orders import read_json
from sawready.readers.orders import read_orders
from sawready.report.as_json import digest_of, result_bytes, result_dict
from strategies import SIDES, as_text, layouts, openings, order_of, seen_from_other_side

CATALOGUE = Catalogue.load_builtin()
DEMO70 = CATALOGUE.system("demo70")
TENTH = 0.051  # half of a reported tenth, and the binary form of it

checked = settings(max_examples=100, deadline=None)


def check(order: dict[str, Any]) -> dict[str, Any]:
    return result_dict(check_order(order, catalogue=CATALOGUE))


def first(order: dict[str, Any]) -> dict[str, Any]:
    opening: dict[str, Any] = check(order)["openings"][0]
    return opening


# -- sums


@checked
@given(layout=layouts, width=st.integers(600, 3000), height=st.integers(600, 2400))
def test_daylights_and_faces_add_up_to_the_frame_exactly(layout: Layout, width: int, height: int) -> None:
    assert DEMO70 is not None
    frame = DEMO70.frame.face_mm
    fields = divide(layout, DEMO70)
    values = {"W": Fraction(width), "H": Fraction(height)}
    values |= {f"p{number}": Fraction(place.nm, 10**6) for number, place in enumerate(fields.places)}
    sizes = iter([(field.x.size.at(values), field.y.size.at(values)) for field in fields.lights])

    def add_up(part: Layout) -> tuple[Fraction, Fraction]:
        """Size of a field from the lights in it and the faces between them."""
        if isinstance(part, Light):
            return next(sizes)
        inner = [add_up(each) for each in part.parts]
        along, across = (0, 1) if part.axis == "columns" else (1, 0)
        profile = DEMO70.mullion if along == 0 else DEMO70.transom
        total = sum((size[along] for size in inner), Fraction(0)) + (len(inner) - 1) * profile.face_mm
        assert len({size[across] for size in inner}) == 1
        return (total, inner[0][1]) if along == 0 else (inner[0][0], total)

    assert add_up(layout) == (width - 2 * frame, height - 2 * frame)


@checked
@given(opening=openings())
def test_lights_pieces_and_glass_of_a_result_add_up_to_its_frame(opening: dict[str, Any]) -> None:
    told = first(order_of(opening))
    assume(told["lights"])
    width, height = told["frame"]["width_mm"], told["frame"]["height_mm"]
    sizes = iter([light["daylight_mm"] for light in told["lights"]])

    def add_up(tree: Any) -> tuple[float, float, int]:
        """Width and height of a field, and how many reported sizes are in either."""
        if "light" in tree:
            wide, high = next(sizes)
            return wide, high, 1
        inner = [add_up(part) for part in tree.get("columns") or tree["rows"]]
        count = sum(size[2] for size in inner)
        if "columns" in tree:
            return sum(size[0] for size in inner) + 76 * (len(inner) - 1), inner[0][1], count
        return inner[0][0], sum(size[1] for size in inner) + 76 * (len(inner) - 1), count

    wide, high, count = add_up(opening["layout"])
    assert abs(wide - (width - 2 * 62)) <= TENTH * count
    assert abs(high - (height - 2 * 62)) <= TENTH * count
    for number, light in enumerate(told["lights"]):
        for axis in (0, 1):
            daylight = light["daylight_mm"][axis]
            inside = daylight if light["sash_mm"] is None else light["sash_mm"][axis] - 2 * 72
            assert 0 <= inside + 2 * 20 - 2 * 5 - light["glass_mm"][axis] < 1 + TENTH
        beads = [bead["length_mm"] for bead in told["beads"] if bead["light"] == number]
        assert abs(beads[0] - 2 * 5 - light["glass_mm"][0]) < 1 + TENTH
        assert abs(beads[2] + 2 * 20 - 2 * 5 - light["glass_mm"][1]) < 1 + TENTH


# -- mirrors


@checked
@given(layout=layouts)
def test_a_layout_turned_twice_is_itself(layout: Layout) -> None:
    assert turned(turned(layout)) == layout


@checked
@given(layout=layouts)
def test_a_layout_beside_its_mirror_image_reads_alike_from_both_sides(layout: Layout) -> None:
    both = Division("columns", (layout, turned(layout)), (None,))
    assert reads_alike_turned(both, 2_000_000_000)


@checked
@given(opening=openings())
def test_the_same_window_written_from_inside_is_cut_the_same(opening: dict[str, Any]) -> None:
    width = opening["widths"][0]
    opening["frame"] = {"width": width - 10}
    outside = first(order_of(opening))
    inside = first(order_of(seen_from_other_side(opening, width - 10), viewed_from="inside"))
    for told in (outside, inside):
        told["findings"] = [
            (found["reason"], found["severity"], found["measured"]) for found in told["findings"]
        ]
    assert inside == outside


@checked
@given(opening=openings())
def test_the_same_words_read_from_inside_give_the_mirror_image(opening: dict[str, Any]) -> None:
    outside, inside = first(order_of(opening)), first(order_of(opening, viewed_from="inside"))
    assert inside["decision"] == outside["decision"]
    assert inside["frame"]["width_mm"] == outside["frame"]["width_mm"]
    assert inside["clearance"]["left_mm"] == outside["clearance"]["right_mm"]
    assert inside["clearance"]["top_mm"] == outside["clearance"]["top_mm"]
    assert inside["sill"] == outside["sill"]
    for key in ("pieces", "beads", "glass"):
        one, other = (sorted(_sideless(piece) for piece in told[key]) for told in (outside, inside))
        assert one == other
    if outside["fixings"]:
        assert inside["fixings"]["left"] == outside["fixings"]["right"]
        width = outside["frame"]["width_mm"]
        back = [round(width - hole, 1) for hole in reversed(outside["fixings"]["top"])]
        # where a mullion stands in the very middle, left and right of it are equally good and one is taken
        assert any(
            all(abs(one - other) < 0.11 for one, other in zip(inside["fixings"]["top"], holes, strict=True))
            for holes in (back, outside["fixings"]["top"])
        )
    daylights = [sorted(light["daylight_mm"] for light in told["lights"]) for told in (outside, inside)]
    assert daylights[0] == daylights[1]


def _sideless(piece: dict[str, Any]) -> str:
    """A piece without its light and its side, which a mirror changes, and without its sum in words."""
    told = {name: value for name, value in piece.items() if name not in {"light", "working"}}
    return str(told).replace("left", "side").replace("right", "side")


# -- gaps


@checked
@given(opening=openings())
def test_no_frame_that_is_worked_out_is_larger_than_its_aperture_less_its_gaps(
    opening: dict[str, Any],
) -> None:
    opening.pop("frame", None)
    told = first(order_of(opening))
    assume(told["frame"] is not None)
    _keeps_its_gaps(opening, told)


@checked
@given(opening=openings())
def test_no_answer_lets_a_frame_pass_that_is_larger_than_its_aperture_less_its_gaps(
    opening: dict[str, Any],
) -> None:
    """Every query is answered, and those that come up instead, until nothing changes."""
    answers: dict[tuple[str, Any], dict[str, Any]] = {}
    while True:
        told = first(order_of(opening, answers=list(answers.values())))
        asked = [found for found in told["findings"] if found["severity"] == "query"]
        before = len(answers)
        for found in asked:
            measured = None if found["measured"] is None else found["measured"]["value"]
            answers[found["reason"], measured] = {
                "opening_ref": opening["opening_ref"],
                "reason": found["reason"],
                "measured": measured,
                "by": "AB",
                "on": "2026-11-03",
            }
        if len(answers) == before:
            break
    assume(told["decision"] == "accepted")
    _keeps_its_gaps(opening, told)


def _keeps_its_gaps(opening: dict[str, Any], told: dict[str, Any]) -> None:
    least_gap = 7.5 if opening["colour"]["outside"] == "grey" else 5
    for readings, sides, key in (
        ("widths", ("left", "right"), "width_mm"),
        ("heights", ("top", "bottom"), "height_mm"),
    ):
        taken = 0.0
        for side in sides:
            own = opening.get("gap", {}).get(side)
            taken += least_gap if own is None else own
            taken += opening.get("extenders", {}).get(side, 0) + opening.get("to_come", {}).get(side, 0)
        if key == "height_mm" and "sill" in opening:
            taken += 30
        taken += _lean(opening, readings)
        assert told["frame"][key] <= min(opening[readings]) - taken + 1e-6


def _lean(opening: dict[str, Any], readings: str) -> float:
    one, other = opening.get("diagonals", (0, 0))
    leans = "heights" if opening.get("slope") == "head" else "widths"
    if readings != leans or abs(one - other) < 5:
        return 0.0
    return abs(one**2 - other**2) / (4 * sum(opening[readings]) / len(opening[readings]))


@checked
@given(opening=openings(), more=st.integers(1, 9))
def test_a_smaller_frame_never_turns_a_fitting_one_too_large(opening: dict[str, Any], more: int) -> None:
    opening["frame"] = {"width": opening["widths"][0] - 20, "height": opening["heights"][0] - 60}
    smaller = {side: size - more for side, size in opening["frame"].items()}
    for frame in (opening["frame"], smaller):
        frame["height_includes_sill"] = False
    larger = check_order(order_of(opening), catalogue=CATALOGUE).openings[0].sized
    smaller_one = check_order(order_of({**opening, "frame": smaller}), catalogue=CATALOGUE).openings[0].sized
    for fit, other in ((larger.width, smaller_one.width), (larger.height, smaller_one.height)):
        assert fit is not None
        assert other is not None
        assert not other.is_too_large or fit.is_too_large


# -- what an answer carries


@checked
@given(opening=openings())
def test_a_rejected_opening_holds_nothing_to_cut_and_any_other_holds_everything(
    opening: dict[str, Any],
) -> None:
    told = first(order_of(opening))
    if told["decision"] == "rejected":
        assert [told[key] for key in ("lights", "pieces", "beads", "glass")] == [[], [], [], []]
        assert told["sill"] is None
        assert told["fixings"] is None
        assert any(found["severity"] == "reject" for found in told["findings"])
        return
    assert all(told[key] for key in ("frame", "clearance", "lights", "pieces", "beads", "glass", "fixings"))
    assert (told["sill"] is not None) == ("sill" in opening)
    assert len(told["glass"]) == len(told["lights"])
    assert len(told["beads"]) == 4 * len(told["lights"])
    assert all(len(told["fixings"][side]) >= 2 for side in ("left", "right"))
    assert all(piece["length_mm"] > 0 for piece in (*told["pieces"], *told["beads"]))


@checked
@given(opening=openings())
def test_every_finding_points_into_the_order_and_says_what_to_do(opening: dict[str, Any]) -> None:
    order = order_of(opening)
    for found in first(order)["findings"]:
        value: Any = order
        for token in found["at"].split("/")[1:]:
            value = value[int(token)] if isinstance(value, list) else value[token]
        assert found["message"].endswith(".")
        assert "{" not in found["message"] + found["remedy"]
        assert found["remedy"][0].isupper()


# -- bytes


@checked
@given(opening=openings(), data=st.data())
def test_the_same_order_gives_the_same_bytes_whatever_the_order_of_its_members(
    opening: dict[str, Any], data: st.DataObject
) -> None:
    order = order_of(opening)
    shuffled = order_of(dict(data.draw(st.permutations(list(opening.items())))))
    shuffled = dict(data.draw(st.permutations(list(shuffled.items()))))
    once, again, other = (
        result_bytes(check_order(each, catalogue=CATALOGUE)) for each in (order, order, shuffled)
    )
    assert once == again == other


def _rows(orders: list[dict[str, Any]]) -> Iterator[dict[str, Any]]:
    """The rows of a sheet that says the same as some JSON orders."""
    names = {
        "widths": ("width_top", "width_middle", "width_bottom"),
        "heights": ("height_left", "height_middle", "height_right"),
    }
    for order in orders:
        for opening in order["openings"]:
            row = {name: order[name] for name in ("order_ref", "system", "rulebook", "units", "viewed_from")}
            row |= {"opening_ref": opening["opening_ref"], "layout": opening["layout"]}
            row |= {
                "colour_outside": opening["colour"]["outside"],
                "glazing_unit": opening["glazing"]["unit"],
            }
            for key, columns in names.items():
                row |= dict(zip(columns, opening[key], strict=False))
            row |= dict(zip(("diagonal_1", "diagonal_2"), opening.get("diagonals", ()), strict=False))
            row["slope"] = opening.get("slope", "")
            for key, column in (("to_come", "to_come"), ("gap", "gap"), ("extenders", "extender")):
                row |= {f"{column}_{side}": opening.get(key, {}).get(side, "") for side in SIDES}
            sill, frame = opening.get("sill", {}), opening.get("frame", {})
            row |= {
                f"sill_{name}": sill.get(name, "")
                for name in ("projection", "fit", "horn_left", "horn_right")
            }
            row |= {"frame_width": frame.get("width", ""), "frame_height": frame.get("height", "")}
            row["height_includes_sill"] = {True: "yes", False: "no"}.get(
                frame.get("height_includes_sill"), ""
            )
            yield row


@checked
@given(several=st.lists(openings(), min_size=1, max_size=3))
def test_an_order_has_one_digest_whether_it_comes_as_json_or_as_a_sheet(
    several: list[dict[str, Any]],
) -> None:
    for number, opening in enumerate(several):
        opening |= {"opening_ref": f"W{number + 1}", "layout": as_text(opening["layout"])}
    order = order_of(*several)
    (from_json,) = read_json(json.dumps(order).encode(), source="order.json")
    rows = list(_rows([order]))
    sheet = io.StringIO(newline="")
    writer = csv.DictWriter(
        sheet, fieldnames=list(dict.fromkeys(name for row in rows for name in row)), lineterminator="\n"
    )
    writer.writeheader()
    writer.writerows(rows)
    (from_csv,) = read_orders(io.BytesIO(sheet.getvalue().encode()), kind="csv", source="order.csv")
    results = [
        check_order(raw.data, catalogue=CATALOGUE, problems=raw.problems) for raw in (from_json, from_csv)
    ]
    one, other = (digest_of(result) for result in results)
    assert one == other


@checked
@given(layout=layouts)
def test_the_text_and_the_tree_of_a_layout_say_the_same(layout: Layout) -> None:
    tree = _tree_of(layout)
    to_nm = lambda value: round(Fraction(value) * 10**6)  # noqa: E731 - a line says it all
    text = as_text(tree)
    if "safety" not in str(tree):
        assert read_layout(text, to_nm) == read_layout(tree, to_nm)


def _tree_of(layout: Layout) -> dict[str, Any]:
    if isinstance(layout, Light):
        tree = {"light": layout.kind, "hinge": layout.hinge, "safety": layout.safety}
        return {name: value for name, value in tree.items() if value is not None}
    at = [None if place is None else Decimal(place.nm // 100_000 + 1) / 10 for place in layout.places]
    return {layout.axis: [_tree_of(part) for part in layout.parts], "at": at}
