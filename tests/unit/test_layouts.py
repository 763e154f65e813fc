"""Written layouts: what each form says, and where a faulty one goes wrong."""

import re
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest

from sawready.layouts import NoUnitError, place_to_nm, read_layout
from sawready.model.layout import Division, Layout, Light, Place

MM = 1_000_000


def to_nm(value: Any) -> int:
    return place_to_nm(value, unit_nm=Fraction(MM))


def read(written: Any) -> Layout:
    return read_layout(written, to_nm)


FIXED = Light("fixed")


@pytest.mark.parametrize(
    ("text", "layout"),
    [
        ("fixed", FIXED),
        ("  Fixed  ", FIXED),
        ("SIDE-HUNG Left", Light("side-hung", "left")),
        ("tilt-turn right", Light("tilt-turn", "right")),
        ("(fixed)", FIXED),
        ("((fixed))", FIXED),
        ("fixed | fixed", Division("columns", (FIXED, FIXED), (None,))),
        ("fixed|fixed|fixed", Division("columns", (FIXED, FIXED, FIXED), (None, None))),
        ("fixed / fixed", Division("rows", (FIXED, FIXED), (None,))),
        ("fixed |@600 fixed", Division("columns", (FIXED, FIXED), (Place(600 * MM),))),
        ("fixed | @ 600 fixed", Division("columns", (FIXED, FIXED), (Place(600 * MM),))),
        ("fixed /@400.5 fixed / fixed", Division("rows", (FIXED, FIXED, FIXED), (Place(400_500_000), None))),
    ],
)
def test_text_form(text: str, layout: Layout) -> None:
    assert read(text) == layout


def test_rows_bind_looser_than_columns() -> None:
    row = Division("columns", (FIXED, FIXED), (None,))
    assert read("fixed | fixed / fixed | fixed") == Division("rows", (row, row), (None,))


def test_brackets_group() -> None:
    column = Division("rows", (Light("top-hung"), FIXED), (None,))
    assert read("(top-hung / fixed) | side-hung left") == Division(
        "columns", (column, Light("side-hung", "left")), (None,)
    )


def test_a_division_inside_one_of_its_own_kind_stays_nested() -> None:
    inner = Division("columns", (FIXED, FIXED), (None,))
    assert read("(fixed | fixed) | fixed") == Division("columns", (inner, FIXED), (None,))


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "it is empty"),
        ("   ", "it is empty"),
        ("|", '"|" at character 1 stands where a light or a group is due'),
        ("fixed |", "the end of the layout stands where a light or a group is due"),
        ("fixed || fixed", '"|" at character 8 stands where'),
        ("fixed fixed", '"fixed" at character 7 is not expected; a divider (| or /) or the end is'),
        ("fixed ) fixed", '")" at character 7 is not expected'),
        ("(fixed / fixed", "the end of the layout stands where the group's closing bracket is due"),
        ("(fixed fixed)", '"fixed" at character 8 stands where the group\'s closing bracket is due'),
        ("()", '")" at character 2 stands where a light or a group is due'),
        ("600 fixed", '"600" at character 1 stands where'),
        (
            "fixed |@ fixed",
            '"fixed" at character 10 is no place; a plain number in the order\'s units follows @',
        ),
        ("fixed |@", "the end of the layout is no place"),
        ("fixed |@1234567 fixed", '"7" at character 15 stands where'),
        (
            "fixed |@0 fixed",
            'the place "0" at character 9 cannot be used: it lies at or outside the frame\'s edge',
        ),
        ("fixed @600 fixed", '"@" at character 7 is not expected'),
        (
            "fxed",
            "(fixed, top-hung, bottom-hung, side-hung, tilt-turn); fixed is the nearest",
        ),
        (
            "fixed | zzzz",
            '"zzzz" at character 9 is no kind of light (fixed, top-hung, bottom-hung, side-hung, tilt-turn)',
        ),
        ("side-hung", "side-hung at character 1 needs its hinge side, left or right"),
        ("fixed | tilt-turn | fixed", "tilt-turn at character 9 needs its hinge side"),
        ("fixed left", "fixed at character 1 has no hinge side"),
        ("fixed; fixed", '";" at character 6 is not expected'),
        ("fixéd", '"fix" at character 1 is no kind of light'),
        ("x" * 2001, "it is longer than 2000 characters"),
        ("(" * 13 + "fixed" + ")" * 13, '"(" at character 13 nests deeper than 12 groups'),
        (" | ".join(["fixed"] * 61), "it has 61 lights; 60 are the most for one frame"),
    ],
)
def test_a_faulty_text_is_told_by_its_place(text: str, says: str) -> None:
    with pytest.raises(ValueError, match=re.escape(says)):
        read(text)


def test_twelve_groups_and_sixty_lights_are_read() -> None:
    assert read("(" * 12 + "fixed" + ")" * 12) == FIXED
    layout = read(" | ".join(["fixed"] * 60))
    assert isinstance(layout, Division)
    assert len(layout.parts) == 60


def test_tree_form() -> None:
    tree = {
        "columns": [
            {"light": "side-hung", "hinge": "left", "safety": "toughened"},
            {"rows": [{"light": "fixed"}, {"light": "fixed", "hinge": None}]},
        ],
        "at": [600],
        "rows": None,
    }
    rows = Division("rows", (FIXED, FIXED), (None,))
    light = Light("side-hung", "left", "toughened")
    assert read(tree) == Division("columns", (light, rows), (Place(600 * MM),))


def test_text_and_tree_say_the_same() -> None:
    tree = {
        "rows": [
            {"light": "top-hung"},
            {"columns": [{"light": "fixed"}, {"light": "fixed"}], "at": [Decimal("812.5")]},
        ]
    }
    assert read("top-hung / fixed |@812.5 fixed") == read(tree)


@pytest.mark.parametrize(
    ("tree", "says"),
    [
        ([], "at its top an object with light, columns or rows is due"),
        ({}, "at its top exactly one of light, columns and rows is due"),
        ({"light": "fixed", "rows": []}, "exactly one of light, columns and rows is due"),
        ({"light": "fixed", "at": []}, 'at its top "at" is not known; hinge, light, safety are'),
        (
            {"columns": [{"light": "fixed"}, {"light": "fixed"}], "hinge": "left"},
            '"hinge" is not known; at, columns are',
        ),
        ({"light": 5}, "at its top light is no text"),
        ({"light": "fxed"}, '"fxed" at its top is no kind of light'),
        (
            {"light": "fixed", "safety": "tempered"},
            'safety "tempered" at its top is not none, toughened, laminated',
        ),
        ({"light": "fixed", "safety": ["toughened"]}, "safety at its top is not none"),
        ({"light": "side-hung", "hinge": "top"}, "side-hung at its top needs its hinge side"),
        ({"columns": {}}, "at its top columns needs a list of two or more"),
        ({"rows": [{"light": "fixed"}]}, "at its top rows needs a list of two or more"),
        ({"rows": [{"light": "fixed"}, {"light": "fxd"}]}, '"fxd" at /rows/1 is no kind of light'),
        (
            {"rows": [{"light": "fixed"}, {"columns": [{"light": "fixed"}, 7]}]},
            "at /rows/1/columns/1 an object",
        ),
        (
            {"rows": [{"light": "fixed"}, {"light": "fixed"}], "at": [1, 2]},
            'the list "at" needs one place a divider, 1 here',
        ),
        (
            {"rows": [{"light": "fixed"}, {"light": "fixed"}], "at": 5},
            'the list "at" needs one place a divider',
        ),
        (
            {"rows": [{"light": "fixed"}, {"light": "fixed"}], "at": ["600"]},
            "at /at/0: a plain number in the order's units is due",
        ),
        ({"rows": [{"light": "fixed"}, {"light": "fixed"}], "at": [True]}, "at /at/0: a plain number"),
        ({"rows": [{"light": "fixed"}, {"light": "fixed"}], "at": [-600]}, "at /at/0: it lies at or outside"),
    ],
)
def test_a_faulty_tree_is_told_by_its_place(tree: Any, says: str) -> None:
    with pytest.raises(ValueError, match=re.escape(says)):
        read(tree)


def test_a_tree_too_deep_is_told_by_its_place() -> None:
    tree: Any = {"light": "fixed"}
    for _ in range(13):
        tree = {"rows": [tree, {"light": "fixed"}]}
    with pytest.raises(ValueError, match="it nests deeper than 12 groups"):
        read(tree)


@pytest.mark.parametrize(
    ("value", "nm"),
    [
        (600, 600 * MM),
        (Decimal("600.25"), 600_250_000),
        (600.25, 600_250_000),
        (Decimal("0.0000004"), 0),
        (0.1, 100_000),
    ],
)
def test_a_place_is_read_exactly(value: Any, nm: int) -> None:
    assert to_nm(value) == nm


def test_a_place_in_inches() -> None:
    assert place_to_nm(Decimal("24.125"), unit_nm=Fraction(25_400_000)) == 612_775_000


@pytest.mark.parametrize(
    ("value", "says"),
    [
        ("600", "a plain number"),
        (None, "a plain number"),
        (float("nan"), "a plain number"),
        (Decimal("sNaN"), "a plain number"),
        (Decimal("Infinity"), "a plain number"),
        (10**6, "far outside any frame"),
        (1e308, "far outside any frame"),
        (Decimal("1E+999999999"), "far outside any frame"),
        (0, "at or outside the frame's edge"),
        (-1, "at or outside the frame's edge"),
        (Decimal("1E-999999999"), "at or outside the frame's edge"),
    ],
)
def test_what_is_no_place_is_refused(value: Any, says: str) -> None:
    with pytest.raises(ValueError, match=says):
        to_nm(value)


def _without_unit(value: Any) -> int:
    raise NoUnitError


@pytest.mark.parametrize(
    "written", ["fixed |@600 fixed", {"columns": [{"light": "fixed"}, {"light": "fixed"}], "at": [600]}]
)
def test_a_place_without_a_unit_is_told_as_that(written: Any) -> None:
    with pytest.raises(NoUnitError):
        read_layout(written, _without_unit)
