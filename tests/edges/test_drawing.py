"""Elevations: what is drawn lies where the sizes say, from either side, and cannot be taken for its mirror.

Places are compared with the second calculation in tests/independent, which shares no code with the program,
and with the worked example of the geometry, done by hand. The rule for full and broken lines is EN 12519,
annex A.1, as a Polish trade guide reports it (the standard itself was not read); that half of the trade puts
the point of the triangle at the hinges and half at the handle is common practice, no source.
"""

import json
import os
import random
import re
import subprocess
import sys
from fractions import Fraction
from pathlib import Path

import pytest

from independent.generator import random_order
from independent.layout import divide, read_layout, turned
from independent.runner import everything
from picture_orders import SVG, Drawn, order, three_openings
from sawready.pipeline import check_order
from sawready.report.drawing import DrawingStyle
from sawready.report.drawing_findings import spot
from sawready.report.drawing_scene import Scene
from sawready.report.drawing_svg import drawing_svg, svg_of
from sawready.report.order_places import order_view
from sawready.report.order_view import Box, OpeningView

CLOSE = 0.051
"""Half of the last digit of a published length, and what four decimals of a place may add. [mm]"""


def view_of(catalogue, raw, index=0) -> OpeningView:
    return order_view(check_order(raw, catalogue=catalogue)).openings[index]


def drawn(catalogue, raw, index=0, **style) -> Drawn:
    return Drawn(drawing_svg(view_of(catalogue, raw, index), DrawingStyle(**style)))


def test_the_worked_example_is_drawn_to_scale(catalogue):
    """Geometry, worked example: 1798 x 1220 in 1808 x 1260, mullion centre at 899, sash 815 x 1112."""
    made = drawn(catalogue, order())
    assert made.box("frame") == (0, 0, 1798, 1220)
    assert made.box("daylight", 1) == (62, 62, 799, 1096)
    assert made.box("daylight", 2) == (937, 62, 799, 1096)
    assert made.box("mullion") == (861, 62, 76, 1096)
    assert made.box("sash", 1) == (54, 54, 815, 1112)
    assert made.box("glass", 1) == (126, 126, 671, 968)
    assert made.points("aperture") == [[(-5, -5), (1803, -5), (1803, 1255), (-5, 1255)]]
    left, top, width, height = made.box("sill")
    assert (left, top, width, height) == (-56, 1220, 1900, 30)  # 1810 at the bottom, centred, horns 50 and 40
    assert [text for text in made.texts("size") if not text[0].isdigit()] == [
        "frame 1798",
        "opening 1808",
        "sill 1900 (horns 50 and 40)",
        "frame 1220",
        "with sill 1250",
        "opening 1260",
    ]
    assert [text for text in made.texts("size") if text[0].isdigit()] == ["899", "899"]
    assert made.texts("gap-left") == made.texts("gap-bottom") == ["gap 5"]


def test_every_rectangle_of_random_orders_lies_where_a_second_calculation_puts_it():
    """Frame, daylights, sashes, dividers, sill and gaps of all that is accepted or queried."""
    tools = everything()
    seen = 0
    for number in range(80):
        raw = random_order(random.Random(number), tools.systems, tools.rulebook)
        view = order_view(check_order(raw, catalogue=tools.catalogue))
        for index, opening in enumerate(view.openings):
            if not opening.may_be_made:
                continue
            seen += 1
            _compare_places(raw, index, opening, tools.systems[raw["system"]])
    assert seen > 50


def _compare_places(raw, index, opening, system):
    told = opening.published
    made = Drawn(drawing_svg(opening))
    width, height = Fraction(str(told["frame"]["width_mm"])), Fraction(str(told["frame"]["height_mm"]))
    assert made.box("frame") == pytest.approx((0, 0, float(width), float(height)), abs=CLOSE)
    node = read_layout({**raw.get("defaults", {}), **raw["openings"][index]}["layout"], raw["units"])
    if raw.get("viewed_from") == "inside":
        node = turned(node, width)
    panes, dividers = divide(node, width, height, system["profiles"])
    assert len(panes) == len(told["lights"])
    for light, (pane, cut) in enumerate(zip(panes, told["lights"], strict=True), 1):
        left, top, right, bottom = map(float, pane.box)
        assert made.box("daylight", light) == pytest.approx(
            (left, top, right - left, bottom - top), abs=CLOSE
        )
        assert made.box("daylight", light)[2:] == pytest.approx(tuple(cut["daylight_mm"]), abs=CLOSE)
        if pane.node.light == "fixed":
            assert not made.all("hinge", light)
            assert not made.all("opening", light)
            continue
        sash = made.box("sash", light)
        assert sash[2:] == pytest.approx(tuple(cut["sash_mm"]), abs=CLOSE)
        assert sash[0] + sash[2] / 2 == pytest.approx((left + right) / 2, abs=CLOSE)
        assert sash[1] + sash[3] / 2 == pytest.approx((top + bottom) / 2, abs=CLOSE)
        if pane.node.hinge:
            edge = sash[0] if pane.node.hinge == "left" else sash[0] + sash[2]
            for x, _, leaf, _ in made.boxes("hinge", light):
                assert x + leaf / 2 == pytest.approx(edge, abs=CLOSE)
    for kind in ("mullion", "transom"):
        centres = sorted(float(divider.at) for divider in dividers if divider.kind == kind)
        shift = (0, 2) if kind == "mullion" else (1, 3)
        own = sorted(box[shift[0]] + box[shift[1]] / 2 for box in made.boxes(kind))
        assert own == pytest.approx(centres, abs=CLOSE)
    _compare_gaps(raw, index, opening, made, float(width), float(height))


def _compare_gaps(raw, index, opening, made, width, height):
    """Opening in the wall, less extenders and sill, is the frame and the published clearance."""
    told = opening.published["clearance"]
    clear = opening.aperture.clear
    extenders = {side: made.boxes(f"extender-{side}") for side in ("left", "right", "top", "bottom")}
    thick = {
        side: (boxes[0][2] if side in {"left", "right"} else boxes[0][3]) if boxes else 0.0
        for side, boxes in extenders.items()
    }
    sill = made.boxes("sill")
    upstand = sill[0][3] if sill else 0.0
    assert -clear.x == pytest.approx(told["left_mm"] + thick["left"], abs=CLOSE)
    assert clear.right - width == pytest.approx(told["right_mm"] + thick["right"], abs=CLOSE)
    assert -clear.y == pytest.approx(told["top_mm"] + thick["top"], abs=CLOSE)
    assert clear.bottom - height == pytest.approx(told["bottom_mm"] + thick["bottom"] + upstand, abs=CLOSE)
    if sill:
        assert sill[0][2] == pytest.approx(opening.published["sill"]["length_mm"], abs=CLOSE)
    for side, places in opening.published["fixings"].items():
        marks = made.all(f"hole-{side}")
        axis = "cy" if side in {"left", "right"} else "cx"
        assert [float(mark.get(axis)) for mark in marks] == pytest.approx(places, abs=CLOSE)


MIRRORED = ("frame", "daylight", "sash", "glass", "mullion", "transom", "hinge", "sill", "wall")


def test_the_view_from_inside_is_the_mirror_image():
    """Every shape mirrors about the middle of the frame; letters and figures do not."""
    tools = everything()
    for number in range(25):
        raw = random_order(random.Random(number), tools.systems, tools.rulebook)
        for opening in order_view(check_order(raw, catalogue=tools.catalogue)).openings:
            if opening.frame is None:
                continue
            outside = Drawn(drawing_svg(opening))
            inside = Drawn(drawing_svg(opening, DrawingStyle(view="inside")))
            about = opening.frame.width
            for part in MIRRORED:
                mirrored = [(about - x - w, y, w, h) for x, y, w, h in outside.boxes(part)]
                assert _sorted(inside.boxes(part)) == [
                    pytest.approx(box, abs=0.001) for box in _sorted(mirrored)
                ]
            for one, other in zip(outside.points("aperture"), inside.points("aperture"), strict=True):
                flipped = sorted((about - x, y) for x, y in one)
                assert sorted(other) == [pytest.approx(point, abs=0.001) for point in flipped]
            for light in opening.lights:
                place, mirrored_place = (
                    _number_place(inside, light.number),
                    _number_place(outside, light.number),
                )
                assert (place is None) == (mirrored_place is None)
                if place is not None and mirrored_place is not None:
                    x, y = mirrored_place
                    assert place == pytest.approx((about - x, y), abs=0.001)
            assert "scale(" not in drawing_svg(opening, DrawingStyle(view="inside"))
            assert inside.texts("view-text") == ["Seen from inside"]


def _sorted(boxes):
    return sorted(boxes, key=lambda box: [round(side, 1) + 0.0 for side in box])


def _number_place(made, number):
    for each in made.all("light-number"):
        if each.text == str(number):
            return float(each.get("x")), float(each.get("y"))
    return None


def test_turning_twice_gives_the_drawing_again(catalogue):
    view = view_of(catalogue, order(heights=[1262, 1240, 1261], extenders={"left": 15}))
    again = view.seen_from("inside").seen_from("outside")
    assert drawing_svg(again) == drawing_svg(view)
    assert [noted.field for noted in again.noted] == [noted.field for noted in view.noted] != []


def test_an_order_written_from_inside_gives_the_same_drawing(catalogue):
    """The same window, written from either side, is the same picture."""
    changes = {
        "heights": [1262, 1260, 1261],
        "gap": {"left": 6, "right": 7, "top": 5, "bottom": 5},
        "extenders": {"left": 15, "right": 25},
        "layout": "side-hung left |@600 fixed | fixed",
    }
    outside = order(**changes)
    width = check_order(outside, catalogue=catalogue).openings[0].sized.width.size_nm // 1_000_000
    inside = order(
        heights=[1261, 1260, 1262],
        diagonals=[2206, 2207],
        sill={"projection": 150, "fit": "horns_into_wall", "horn_left": 40, "horn_right": 50},
        gap={"left": 7, "right": 6, "top": 5, "bottom": 5},
        extenders={"left": 25, "right": 15},
        layout=f"fixed | fixed |@{width - 600} side-hung right",
    ) | {"viewed_from": "inside"}
    for view in ("outside", "inside"):
        style = DrawingStyle(view=view)
        one = drawing_svg(view_of(catalogue, outside), style)
        assert one == drawing_svg(view_of(catalogue, inside), style)


@pytest.mark.parametrize(
    ("layout", "system", "view", "is_broken"),
    [
        ("side-hung left", "demo70", "outside", False),
        ("side-hung left", "demo70", "inside", True),
        ("top-hung", "demo70", "outside", False),
        ("tilt-turn left", "demo82-inward", "outside", True),
        ("tilt-turn left", "demo82-inward", "inside", False),
        ("side-hung right", "demo82-inward", "outside", True),
        ("tilt-turn right", "demo70", "outside", True),
    ],
)
def test_lines_are_full_towards_the_viewer_and_broken_away(catalogue, layout, system, view, is_broken):
    """EN 12519, annex A.1; the legend says which of the two is drawn."""
    raw = order(widths=[800], heights=[1200], layout=layout, sill=None, diagonals=None)
    raw["system"] = system
    made = drawn(catalogue, raw, view=view)
    lines = made.all("opening", 1)
    assert lines
    assert all((line.get("stroke-dasharray") is not None) == is_broken for line in lines)
    legend = " ".join(made.texts("legend"))
    assert ("broken line: opens away" in legend) == is_broken
    assert ("full line: opens towards" in legend) != is_broken


def test_a_light_that_opens_the_other_way_has_the_other_line_in_one_drawing(catalogue):
    """A tilt and turn light goes inward even in a system that opens outward."""
    raw = order(layout="side-hung left | tilt-turn right", widths=[1500], diagonals=None)
    made = drawn(catalogue, raw)
    assert made.all("opening", 1)[0].get("stroke-dasharray") is None
    assert made.all("opening", 2)[0].get("stroke-dasharray") is not None
    legend = " ".join(made.texts("legend"))
    assert "full line" in legend
    assert "broken line" in legend


@pytest.mark.parametrize("view", ["outside", "inside"])
@pytest.mark.parametrize(
    ("layout", "edge"),
    [
        ("side-hung left", "left"),
        ("side-hung right", "right"),
        ("top-hung", "top"),
        ("bottom-hung", "bottom"),
    ],
)
def test_the_point_is_where_the_convention_says_and_hinges_and_handle_stay(catalogue, layout, edge, view):
    """Both conventions draw hinges and handle at the same places; only the triangle turns."""
    raw = order(widths=[800], heights=[900], layout=layout, sill=None, diagonals=None)
    if view == "inside":
        edge = {"left": "right", "right": "left"}.get(edge, edge)
    at_hinge = drawn(catalogue, raw, view=view)
    at_handle = drawn(catalogue, raw, view=view, triangle="apex-at-handle")
    across = {"left": "right", "right": "left", "top": "bottom", "bottom": "top"}[edge]
    glass = at_hinge.box("glass", 1)
    assert _side_of(at_hinge.points("opening", 1)[0][1], glass) == edge
    assert _side_of(at_handle.points("opening", 1)[0][1], glass) == across
    for made in (at_hinge, at_handle):
        sash = made.box("sash", 1)
        for x, y, width, height in made.boxes("hinge", 1):
            assert _side_of((x + width / 2, y + height / 2), sash) == edge
        rose = made.all("handle-rose", 1)[0]
        place = float(rose.get("cx")), float(rose.get("cy"))
        assert _nearest_side(place, sash) == across
    assert at_hinge.boxes("hinge") == at_handle.boxes("hinge")
    assert at_hinge.boxes("handle") == at_handle.boxes("handle")
    assert "triangle: its point is at the hinges" in at_hinge.texts("legend")
    assert "triangle: its point is away from the hinges" in at_handle.texts("legend")


def _side_of(point, box):
    x, y, width, height = box
    near = {
        "left": abs(point[0] - x),
        "right": abs(point[0] - x - width),
        "top": abs(point[1] - y),
        "bottom": abs(point[1] - y - height),
    }
    side = min(near, key=near.__getitem__)
    assert near[side] < 0.01
    return side


def _nearest_side(point, box):
    x, y, width, height = box
    near = {
        "left": point[0] - x,
        "right": x + width - point[0],
        "top": point[1] - y,
        "bottom": y + height - point[1],
    }
    return min(near, key=near.__getitem__)


def test_a_tilt_and_turn_light_has_both_triangles(catalogue):
    raw = order(widths=[800], heights=[1200], layout="tilt-turn right", sill=None, diagonals=None)
    raw["system"] = "demo82-inward"
    made = drawn(catalogue, raw)
    points = [line[1] for line in made.points("opening", 1)]
    glass = made.box("glass", 1)
    assert [_side_of(point, glass) for point in points] == ["right", "bottom"]
    assert "tilts at the bottom" in made.texts("light-words")[0]


def test_words_say_the_sides_as_they_are_seen(catalogue):
    raw = order(layout="side-hung left | fixed")
    assert "hinges on the left, handle on the right" in drawn(catalogue, raw).texts("light-words")[0]
    assert (
        "hinges on the right, handle on the left"
        in drawn(catalogue, raw, view="inside").texts("light-words")[0]
    )


@pytest.mark.parametrize("written_from", ["outside", "inside"])
@pytest.mark.parametrize("view", ["outside", "inside"])
def test_a_finding_stands_at_the_side_that_it_is_about(catalogue, written_from, view):
    """A gap too small on the left stands on the left of that view, whichever side it was written from."""
    gap = {"left": 3, "right": 9, "top": 5, "bottom": 5}
    raw = order(gap=gap, layout="fixed", sill=None, diagonals=None) | {"viewed_from": written_from}
    made = drawn(catalogue, raw, view=view)
    x, _ = made.middle("finding-1")
    frame = made.box("frame")
    is_left = x < frame[0] + frame[2] / 2
    assert is_left == (written_from == view)
    assert "must not be made" in made.texts("finding-text-1")[0]


@pytest.mark.parametrize(
    ("field", "across", "down"),
    [
        ("widths/0", (1803, 1900), (0, 250)),
        ("widths/1", (1803, 1900), (600, 650)),
        ("widths/2", (1803, 1900), (1000, 1255)),
        ("heights/0/3", (-5, 300), (-100, -5)),
        ("heights/2/3", (1500, 1803), (-100, -5)),
        ("heights/0/1", (890, 910), (-100, -5)),
        ("diagonals/0", (-5, -5), (-5, -5)),
        ("diagonals/1", (1803, 1803), (-5, -5)),
        ("gap/top", (0, 1798), (-5, -5)),
        ("gap/right", (1803, 1803), (0, 1220)),
        ("to_come/bottom", (0, 1798), (1255, 1255)),
        ("frame/width", (890, 910), (0, 62)),
        ("frame/height", (1736, 1798), (0, 1220)),
        ("sill/horn_left", (-56, 0), (1220, 1250)),
        ("sill/horn_right", (1798, 1844), (1220, 1250)),
        ("sill/fit", (800, 1000), (1220, 1250)),
        ("set_back", (0, 800), (1220, 1250)),
        ("layout", (62, 1736), (62, 1158)),
        ("glazing/unit", (937, 1736), (62, 1158)),
        ("colour/outside", (0, 62), (1158, 1220)),
        ("vent_mm2", (62, 1736), (0, 62)),
    ],
)
def test_each_field_has_its_spot(catalogue, field, across, down):
    """On the worked example, whose places are known by hand: frame 1798 x 1220, sill from -56 to 1844."""
    place = spot(field, view_of(catalogue, order()), 40.0)
    assert place is not None
    assert across[0] - 0.01 <= place[0] <= across[1] + 0.01
    assert down[0] - 0.01 <= place[1] <= down[1] + 0.01


@pytest.mark.parametrize("field", ["", "order", "quantity", "room", "note", "extra"])
def test_what_has_no_spot_is_in_the_list_alone(catalogue, field):
    assert spot(field, view_of(catalogue, order()), 40.0) is None


def test_findings_at_one_spot_stand_side_by_side(catalogue):
    """No marker hides another."""
    made = drawn(catalogue, order(widths=[200], heights=[200], layout="fixed | fixed", sill=None))
    places = [made.middle(f"finding-{number}") for number in range(1, 8) if made.all(f"finding-{number}")]
    assert len(places) > 3
    assert len(set(places)) == len(places)


def test_a_finding_about_one_light_stands_on_that_light(catalogue):
    """The message names the light as numbered from outside; the marker is inside its glass in both views."""
    raw = order(widths=[2000], layout="fixed |@500 side-hung right", diagonals=None)
    view = view_of(catalogue, raw)
    (too_wide,) = [noted for noted in view.noted if noted.finding.reason == "opener-too-wide"]
    for side in ("outside", "inside"):
        made = Drawn(drawing_svg(view, DrawingStyle(view=side)))
        x, y = made.middle(f"finding-{too_wide.number}")
        left, top, width, height = made.box("glass", 2)
        assert left < x < left + width
        assert top < y < top + height


def test_severity_is_told_by_shape_not_by_colour_alone(catalogue):
    """WCAG 2.2, 1.4.1: a reject is a square, a query a circle, a note a broken circle."""
    rejected = drawn(catalogue, three_openings(), 2)
    assert rejected.all("finding-1")[0].tag == f"{SVG}rect"
    queried = drawn(catalogue, three_openings(), 1)
    query = queried.all("finding-1")[0]
    assert (query.tag, query.get("stroke-dasharray")) == (f"{SVG}circle", None)
    noted = drawn(catalogue, order(widths=["181.2 cm", 1808, 1810]))
    note = noted.all("finding-1")[0]
    assert note.tag == f"{SVG}circle"
    assert note.get("stroke-dasharray") is not None


def test_a_rejected_opening_is_drawn_without_sizes_to_make_it_by(catalogue):
    """The result keeps lights, sill and fixings back; so does the drawing."""
    made = drawn(catalogue, three_openings(), 2)
    assert made.texts("decision-text") == ["Rejected: must not be made"]
    assert not made.all("hole-left")
    words = " ".join(made.texts())
    assert "glass 7" not in words
    assert "sill 19" not in words
    assert not any(text[0].isdigit() for text in made.texts("size"))


@pytest.mark.parametrize(
    "changes",
    [
        {"widths": ["?"]},
        {"widths": ["?"], "heights": ["1l60"]},
        {"layout": "fixed |@5000 fixed"},
        {"layout": "sliding"},
        {"layout": " | ".join(["fixed"] * 40)},
        {"widths": [160], "heights": [160], "layout": "fixed | fixed / fixed"},
        {"frame": {"width": 10, "height": 10, "height_includes_sill": False}},
        {"frame": {"width": 4000, "height": 3000, "height_includes_sill": False}},
        {"widths": [6000], "heights": [160], "diagonals": None},
        {"diagonals": [2300, 2100]},
        {"diagonals": [2100, 2300], "slope": "head"},
        {"glazing": {"unit": "9-9"}},
        {"extenders": {"left": 50, "right": 50, "top": 50, "bottom": 50}},
        {"to_come": {"left": 30, "right": 30, "top": 30, "bottom": 30}},
        {"quantity": "many"},
    ],
)
@pytest.mark.parametrize("view", ["outside", "inside"])
def test_whatever_is_wrong_with_an_opening_there_is_a_drawing(catalogue, changes, view):
    """Every finding is in the list, and every number is a number."""
    raw = order(**changes)
    opening = view_of(catalogue, raw)
    text = drawing_svg(opening, DrawingStyle(view=view))
    made = Drawn(text)
    assert "nan" not in text
    assert "inf" not in re.sub(r">[^<]*<", "><", text)
    assert len(
        {part for part in range(1, len(opening.noted) + 1) if made.texts(f"finding-text-{part}")}
    ) == len(opening.noted)
    page = [float(number) for number in made.root.get("viewBox").split()]
    assert page[2] > 0
    assert page[3] > 0


HOSTILE = [
    "<script>alert(1)</script>",
    '"/><image href="https://example.invalid/x.png"/>',
    "]]> & &amp; <!-- <![CDATA[",
    "' onload='alert(1)",
    "a" * 80,
    "寝室 مطبخ חדר кухня κουζίνα 😀 \ufffe",
]


@pytest.mark.parametrize("text", HOSTILE)
def test_a_users_text_stays_text(catalogue, text):
    """What is typed as a name reads back as that name and makes no element or attribute (OWASP)."""
    raw = order(room=text, opening_ref=text[:80])
    view = view_of(catalogue, raw)
    svg = drawing_svg(view)
    made = Drawn(svg)
    kept = text.replace("\ufffe", "\ufffd")
    assert kept[:20].split()[0] in " ".join(made.texts("name")).replace("\n", " ")
    assert {each.tag.removeprefix(SVG) for each in made.root.iter()} <= {
        "svg", "title", "desc", "rect", "polyline", "polygon", "circle", "text",
    }  # fmt: skip
    for each in made.root.iter():
        assert not [
            name for name in each.attrib if name.startswith("on") or "href" in name or name == "style"
        ]


def test_a_strict_page_may_hold_the_drawing(catalogue):
    """No script, style sheet, style attribute, address: a page under default-src none may hold it (CSP 3)."""
    svg = drawing_svg(view_of(catalogue, order()))
    assert not re.search(r"<style|style=|<script|href|url\(|<!|<\?", svg)
    assert svg.count("http") == 1  # the namespace


def test_the_drawing_has_a_name_and_its_content_in_words(catalogue):
    """Role img, named by title and described by desc (SVG 2), under names of the page's own choice."""
    view = view_of(catalogue, order())
    made = Drawn(drawing_svg(view, prefix="w1"))
    title, desc = made.root.find(f"{SVG}title"), made.root.find(f"{SVG}desc")
    assert made.root.get("role") == "img"
    assert made.root.get("aria-labelledby") == f"{title.get('id')} {desc.get('id')}" == "w1-title w1-desc"
    assert title.text == "W1, kitchen, seen from outside"
    assert "hinges on the left, handle on the right, opens outward" in desc.text
    for prefix in ("", "1", 'a"b', "a b"):
        with pytest.raises(ValueError, match="prefix"):
            drawing_svg(view, prefix=prefix)


def test_the_same_opening_gives_the_same_bytes_in_any_process(catalogue):
    """Python's hash seed changes from process to process; the drawing does not."""
    script = """
import json, sys
from sawready.catalogue.load import Catalogue
from sawready.pipeline import check_order
from sawready.report.drawing_svg import drawing_svg
from sawready.report.order_places import order_view
view = order_view(check_order(json.load(sys.stdin), catalogue=Catalogue.load_builtin()))
sys.stdout.write(drawing_svg(view.openings[1]))
"""
    raw = json.dumps(three_openings()).encode()
    made = set()
    for seed in ("0", "1", "4242"):
        environ = {
            **os.environ,
            "PYTHONHASHSEED": seed,
            "PYTHONPATH": str(Path(__file__).parents[2] / "service"),
        }
        command = [sys.executable, "-c", script]
        run = subprocess.run(command, input=raw, env=environ, capture_output=True, check=True)  # noqa: S603 - ours
        made.add(run.stdout)
    assert len(made) == 1
    assert made.pop().decode() == drawing_svg(view_of(catalogue, three_openings(), 1))


def test_texts_do_not_leave_the_page(catalogue):
    """By the widths of a wide sans-serif face; wrapped lists and long names stay on the paper."""
    raw = order(
        room="a very long name of a room that nobody would write " * 3, widths=["181.2 cm", 1790, 1810]
    )
    made = drawn(catalogue, raw)
    left, _, width, _ = (float(number) for number in made.root.get("viewBox").split())
    for each in made.root.iter(f"{SVG}text"):
        if each.get("transform") or each.get("text-anchor"):
            continue
        size = float(each.get("font-size"))
        assert float(each.get("x")) >= left
        assert float(each.get("x")) + 0.6 * size * len(each.text) * 0.8 <= left + width


def test_an_empty_scene_is_a_document():
    made = Drawn(svg_of(Scene(10.0, Box(0, 0, 100, 50), "nothing")))
    assert made.root.get("viewBox") == "0 0 100 50"
