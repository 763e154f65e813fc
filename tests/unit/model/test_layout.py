"""Layouts as trees: reading order, turning, reading alike from both sides, in words."""

import pytest

from sawready.model.layout import (
    Division,
    Layout,
    Light,
    Place,
    in_words,
    lights_of,
    reads_alike_turned,
    turned,
)

MM = 1_000_000
FIXED, LEFT, RIGHT = Light("fixed"), Light("side-hung", "left"), Light("side-hung", "right")


def columns(*parts: Layout, at: tuple[Place | None, ...] | None = None) -> Division:
    return Division("columns", parts, at if at is not None else (None,) * (len(parts) - 1))


def rows(*parts: Layout, at: tuple[Place | None, ...] | None = None) -> Division:
    return Division("rows", parts, at if at is not None else (None,) * (len(parts) - 1))


def test_lights_come_rows_from_the_top_then_columns_from_the_left_depth_first() -> None:
    layout = columns(rows(Light("top-hung"), columns(LEFT, FIXED)), RIGHT)
    assert list(lights_of(layout)) == [Light("top-hung"), LEFT, FIXED, RIGHT]


def test_a_turned_layout_runs_the_other_way_with_hinges_swapped() -> None:
    assert turned(columns(LEFT, FIXED)) == columns(FIXED, RIGHT)
    assert turned(rows(LEFT, FIXED)) == rows(RIGHT, FIXED)
    assert turned(Light("fixed", safety="toughened")) == Light("fixed", safety="toughened")
    assert turned(Light("tilt-turn", "right", "laminated")) == Light("tilt-turn", "left", "laminated")


def test_a_mullions_place_counts_from_the_other_edge_once_turned() -> None:
    layout = columns(FIXED, FIXED, FIXED, at=(Place(500 * MM), None))
    assert turned(layout) == columns(FIXED, FIXED, FIXED, at=(None, Place(500 * MM, from_far_edge=True)))
    assert turned(rows(FIXED, FIXED, at=(Place(400 * MM),))) == rows(FIXED, FIXED, at=(Place(400 * MM),))


@pytest.mark.parametrize(
    ("layout", "width_nm", "alike"),
    [
        (FIXED, None, True),
        (LEFT, None, False),
        (columns(LEFT, RIGHT), None, True),
        (columns(LEFT, FIXED), None, False),
        (rows(LEFT, RIGHT), None, False),
        (columns(FIXED, FIXED, at=(Place(600 * MM),)), 1200 * MM, True),
        (columns(FIXED, FIXED, at=(Place(600 * MM),)), 1201 * MM, False),
        (columns(FIXED, FIXED, at=(Place(600 * MM),)), None, False),
        (columns(FIXED, FIXED, FIXED, at=(Place(400 * MM), Place(800 * MM))), 1200 * MM, True),
        (columns(FIXED, FIXED, FIXED, at=(Place(400 * MM), None)), 1200 * MM, False),
        (rows(FIXED, FIXED, at=(Place(300 * MM),)), None, True),
        (columns(Light("fixed", safety="toughened"), FIXED), None, False),
    ],
)
def test_whether_a_layout_reads_alike_from_both_sides(
    layout: Layout, width_nm: int | None, alike: bool
) -> None:
    assert reads_alike_turned(layout, width_nm) is alike


def test_a_layout_in_words_groups_every_division_inside_another() -> None:
    assert in_words(columns(rows(LEFT, FIXED), RIGHT)) == "(side-hung left / fixed) | side-hung right"
    assert in_words(FIXED) == "fixed"
