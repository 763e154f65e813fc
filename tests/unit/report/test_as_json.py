"""The published result: its keys, its rounding, its sums in words, its digest."""

import hashlib
import json
from typing import Any

import pytest

from full_order import full_order
from sawready.catalogue.load import Catalogue
from sawready.model.finding import REJECT, Cell, Finding
from sawready.pipeline import check_order
from sawready.report.as_json import digest_of, result_bytes, result_dict, unreadable_bytes
from strategies import order_of

KEYS = [
    "opening_ref",
    "quantity",
    "decision",
    "findings",
    "not_applied",
    "readings_mm",
    "frame",
    "clearance",
    "sill",
    "lights",
    "pieces",
    "beads",
    "glass",
    "fixings",
]
"""Members of an opening, in the contract's order."""


def _opening(**more: Any) -> dict[str, Any]:
    base = {
        "opening_ref": "W1",
        "widths": [1810],
        "heights": [1260],
        "layout": "fixed",
        "colour": {"outside": "white"},
        "glazing": {"unit": "4-20-4"},
    }
    return {**base, **more}


@pytest.fixture
def told(catalogue: Catalogue) -> Any:
    def tell(**change: Any) -> dict[str, Any]:
        found: dict[str, Any] = result_dict(check_order(order_of(_opening(**change)), catalogue=catalogue))
        opening: dict[str, Any] = found["openings"][0]
        return opening

    return tell


def _without_cells(result: dict[str, Any]) -> bytes:
    """The bytes that the digest is of: the result without digest and cells, as written."""
    bare = {name: value for name, value in result.items() if name != "digest"}
    for opening in bare["openings"]:
        for found in opening["findings"]:
            found.pop("cell")
    return json.dumps(bare, separators=(",", ":"), ensure_ascii=False).encode()


@pytest.mark.parametrize(
    "order",
    [
        full_order(),
        order_of(_opening(opening_ref='a "b" % \\ é', room="x")),
        order_of(_opening(frame={"width": 1806}), _opening(opening_ref="W2", widths=["x"])),
        order_of(_opening(), order_ref=None, system="x"),
    ],
)
def test_the_digest_is_that_of_the_result_without_digest_and_cells(catalogue: Catalogue, order: Any) -> None:
    result = check_order(order, catalogue=catalogue)
    written = json.loads(result_bytes(result))
    assert list(written) == ["order_ref", "decision", "digest", "made_with", "openings"]
    assert [list(opening) for opening in written["openings"]] == [KEYS] * len(order["openings"])
    digest = written["digest"]
    assert digest == digest_of(result)
    assert digest == f"sha256:{hashlib.sha256(_without_cells(written)).hexdigest()}"


def test_cells_stand_in_the_findings_and_not_in_the_digest(catalogue: Catalogue) -> None:
    result = check_order(order_of(_opening(frame={"width": 1806})), catalogue=catalogue)
    placed = json.loads(result_bytes(result, cell_of=lambda at: Cell(2, at.rsplit("/", 1)[-1])))
    assert placed["openings"][0]["findings"][0]["cell"] == {"line": 2, "column": "width"}
    assert placed["digest"] == digest_of(result)
    without = result_dict(result, cell_of=lambda _: None)
    assert without["openings"][0]["findings"][0]["cell"] is None


def test_what_could_not_be_read_at_all_is_one_rejected_opening() -> None:
    finding = Finding(
        "row-unreadable", REJECT, "", "Line 3 has a value too many.", remedy="Quote it.", cell=Cell(3, None)
    )
    written = json.loads(unreadable_bytes(finding))
    assert (written["decision"], written["order_ref"]) == ("rejected", None)
    assert [list(opening) for opening in written["openings"]] == [KEYS]
    found = written["openings"][0]["findings"]
    assert [(each["reason"], each["cell"]) for each in found] == [
        ("row-unreadable", {"line": 3, "column": None})
    ]
    digest = written["digest"]
    assert digest == f"sha256:{hashlib.sha256(_without_cells(written)).hexdigest()}"


@pytest.mark.parametrize(
    ("change", "width", "working"),
    [
        ({}, 1800.0, "1810 (the only reading) - 5 - 5"),
        ({"widths": [1812, 1810.5]}, 1800.0, "1810.5 (least of 1812, 1810.5) - 5 - 5 = 1800.5, down to 1800"),
        ({"to_come": {"left": 10}}, 1790.0, "1800 (the only reading, finishes of 10 off) - 5 - 5"),
        ({"gap": {"left": 6.5}}, 1798.0, "1810 (the only reading) - 6.5 - 5 = 1798.5, down to 1798"),
        ({"extenders": {"right": 25}}, 1775.0, "1810 (the only reading) - 5 - 5 - 25 (right extender)"),
        ({"frame": {"width": 1799}}, 1799.0, "1810 (the only reading) - 5 - 5; 1799 is stated"),
        ({"frame": {"width": 1800}}, 1800.0, "1810 (the only reading) - 5 - 5"),
        ({"frame": {"width": 1799.95}}, 1800.0, "1810 (the only reading) - 5 - 5; 1799.95 is stated"),
        (
            {"diagonals": [2216, 2204]},
            1792.0,
            "1810 (the only reading) - 7.3 (lean) - 5 - 5 = 1792.67, down to 1792",
        ),
    ],
)
def test_the_frames_sum_in_words(told: Any, change: dict[str, Any], width: float, working: str) -> None:
    frame = told(**change)["frame"]
    assert frame["width_mm"] == width
    if "diagonals" not in change:
        assert frame["working"]["width"] == working
    else:
        assert frame["working"]["width"].startswith("1810 (the only reading) - 7.")
        assert frame["working"]["width"].endswith(", down to 1792")


def test_the_sum_of_a_height_names_sill_and_extenders(told: Any) -> None:
    sill = {"projection": 150, "fit": "between_reveals"}
    found = told(sill=sill, extenders={"top": 15, "bottom": 25})
    assert found["frame"]["working"]["height"] == (
        "1260 (the only reading) - 5 - 5 - 15 (top extender) - 25 (bottom extender) - 30 (sill)"
    )


@pytest.mark.parametrize(
    ("change", "length", "working"),
    [
        ({"fit": "between_reveals"}, 1800.0, "1800 (frame)"),
        (
            {"fit": "horns_into_wall", "horn_left": 40, "horn_right": 0},
            1850.0,
            "1810 (the only reading) + 40 + 0",
        ),
    ],
)
def test_the_sills_sum_in_words(told: Any, change: dict[str, Any], length: float, working: str) -> None:
    piece = told(sill={"projection": 150, **change})["pieces"][-1]
    assert (piece["part"], piece["length_mm"], piece["working"]) == ("sill", length, working)


def test_the_sills_sum_names_what_it_begins_with(told: Any) -> None:
    sill = {"projection": 150, "fit": "notched_round_brick", "horn_left": 40, "horn_right": 45}
    piece = told(sill=sill, widths=[1812, 1808, 1810], to_come={"left": 5})["pieces"][-1]
    assert piece["working"] == "1805 (bottom reading, finishes off) + 40 + 45"
    across = told(sill={"projection": 150, "fit": "between_reveals"}, extenders={"left": 15, "right": 25})[
        "pieces"
    ][-1]
    assert (across["length_mm"], across["working"]) == (1800.0, "1760 (frame) + 15 + 25")


def test_extenders_in_words(told: Any) -> None:
    pieces = told(extenders={"left": 15, "top": 25, "bottom": 50})["pieces"][-3:]
    assert [(each["part"], each["profile"], each["length_mm"], each["working"]) for each in pieces] == [
        ("extender-top", "extender-25", 1785.0, "1785"),
        ("extender-bottom", "extender-50", 1785.0, "1785"),
        ("extender-left", "extender-15", 1250.0, "1175 + 25 (top extender) + 50 (bottom extender)"),
    ]


def test_readings_are_reported_as_understood_and_what_could_not_be_read_as_null(told: Any) -> None:
    found = told(widths=["47 1/4 in", "abc", 1200.0000004], heights=["1.26 m"])["readings_mm"]
    assert found == {"widths": [1200.15, None, 1200.0], "heights": [1260.0], "diagonals": []}


def test_a_rejected_opening_keeps_frame_and_clearance(told: Any) -> None:
    found = told(frame={"width": 1806})
    assert found["decision"] == "rejected"
    assert found["frame"]["width_mm"] == 1806.0
    assert found["clearance"] == {"left_mm": 2.0, "right_mm": 2.0, "top_mm": 5.0, "bottom_mm": 5.0}


def test_one_side_known_leaves_the_other_null(told: Any) -> None:
    found = told(heights=["abc"])
    assert found["frame"] == {
        "width_mm": 1800.0,
        "height_mm": None,
        "working": {"width": "1810 (the only reading) - 5 - 5", "height": None},
    }
    assert found["clearance"] == {"left_mm": 5.0, "right_mm": 5.0, "top_mm": None, "bottom_mm": None}
    other = told(widths=["abc"])
    assert (other["frame"]["width_mm"], other["frame"]["height_mm"]) == (None, 1250.0)


def test_neither_side_known_is_null(told: Any) -> None:
    found = told(widths=["abc"], heights=["abc"])
    assert (found["frame"], found["clearance"]) == (None, None)


def test_clearance_is_rounded_half_to_even(told: Any) -> None:
    found = told(frame={"width": 1799.9, "height": 1249.7})["clearance"]
    assert found == {"left_mm": 5.0, "right_mm": 5.0, "top_mm": 5.2, "bottom_mm": 5.2}  # 5.05 and 5.15


def test_quantity_is_told_and_lists_are_of_one_window(told: Any) -> None:
    one, three = told(), told(quantity=3)
    assert (one["quantity"], three["quantity"]) == (1, 3)
    assert one["pieces"] == three["pieces"]


def test_safety_glass_is_told_by_light(told: Any) -> None:
    layout = {"columns": [{"light": "fixed", "safety": "laminated"}, {"light": "fixed"}]}
    found = told(layout=layout, glazing={"unit": "4-20-4", "safety": "toughened"})
    assert [pane["safety"] for pane in found["glass"]] == ["laminated", "toughened"]
    assert [pane["unit"] for pane in found["glass"]] == ["4-20-4", "4-20-4"]


def test_head_and_bottom_without_holes_have_empty_lists(told: Any) -> None:
    found = told(widths=[1210])["fixings"]
    assert (found["top"], found["bottom"]) == ([], [])
    assert told(widths=[1211])["fixings"]["top"] == [150.0, 600.5, 1051.0]
