"""Approved Document K, 2013, section 5 (glazing) and section 3 (guarding), England.

5.1 and diagram 5.1 critical places, 5.4 impact classes, 5.5 and diagram 5.2 thick annealed glass, 5.6-5.7
small panes. EN 12600:2002 for the classes. The drop of 600 mm is Ireland's (TGD K).
"""

from fractions import Fraction

import pytest

from sawready.calc.safety import (
    CriticalFigures,
    ThickGlassSize,
    critical_place,
    guarding_is_needed,
    impact_class_is_enough,
    least_impact_class,
    small_pane,
    thick_annealed_is_enough,
    unit_impact_class,
)

ENGLAND = CriticalFigures(window_below_mm=800, door_below_mm=1500, beside_door_mm=300)
DIAGRAM_5_2 = (
    ThickGlassSize(8, (1100, 1100)),
    ThickGlassSize(10, (2250, 2250)),
    ThickGlassSize(12, (3000, 4500)),
    ThickGlassSize(15, None),
)


@pytest.mark.parametrize(
    ("element", "bottom", "distance", "rule"),
    [
        pytest.param("window", 799, None, "window_800", id="RU-007"),
        pytest.param("window", 800, None, None, id="RU-008"),
        pytest.param("door", 1499, None, "door_1500", id="RU-009"),
        pytest.param("side_panel", 1200, 300, "side_panel_300_1500", id="RU-010"),
        pytest.param("side_panel", 1200, 301, None, id="RU-011"),
    ],
)
def test_critical_places(element: str, bottom: int, distance: int | None, rule: str | None) -> None:
    found = critical_place(element=element, pane_bottom_mm=bottom, door_distance_mm=distance, figures=ENGLAND)
    assert found.critical is (rule is not None)
    assert found.rule == rule


@pytest.mark.parametrize(
    ("element", "bottom", "distance", "rule"),
    [
        ("window", Fraction("799.999999"), None, "window_800"),
        ("wall", 799.9, None, "window_800"),
        ("wall", 800.0, None, None),
        ("door", 1500, None, None),
        ("door", Fraction("1499.999999"), None, "door_1500"),
        ("side_panel", 1500, 300, None),
        ("side_panel", 1499, Fraction("300.000001"), None),
        ("side_panel", 1499, 0, "side_panel_300_1500"),
        ("side_panel", 799, 301, "window_800"),
        ("window", 1200, 300, "side_panel_300_1500"),
        ("window", 1200, 300.0001, None),
        ("side_panel", 700, None, "window_800"),
        ("side_panel", 1500, None, None),
    ],
)
def test_both_sides_of_every_boundary(
    element: str, bottom: float, distance: float | None, rule: str | None
) -> None:
    found = critical_place(element=element, pane_bottom_mm=bottom, door_distance_mm=distance, figures=ENGLAND)
    assert found.rule == rule


def test_a_side_panel_of_unknown_distance_is_not_guessed() -> None:
    with pytest.raises(ValueError, match="distance"):
        critical_place(element="side_panel", pane_bottom_mm=1200, door_distance_mm=None, figures=ENGLAND)


@pytest.mark.parametrize(
    ("element", "width", "least"),
    [
        pytest.param("door", 900, 3, id="RU-012"),
        pytest.param("door", 901, 2, id="RU-013"),
        pytest.param("window", 1500, 3, id="RU-014"),
        pytest.param("side_panel", Fraction("900.000001"), 2, id="side-panel-just-wide"),
    ],
)
def test_least_impact_class(element: str, width: int, least: int) -> None:
    found = least_impact_class(
        element=element, pane_width_mm=width, usual_class=3, wide_class=2, wide_over_mm=900
    )
    assert found == least


def test_a_window_beside_a_door_needs_the_class_of_a_side_panel() -> None:
    found = least_impact_class(
        element="window",
        pane_width_mm=901,
        usual_class=3,
        wide_class=2,
        wide_over_mm=900,
        beside_door=True,
    )
    assert found == 2


@pytest.mark.parametrize(
    ("width", "height", "thickness", "area", "failures"),
    [
        pytest.param(240, 1900, 6, "0.456", (), id="RU-022"),
        pytest.param(251, 1000, 6, "0.251", ("width",), id="RU-023"),
        pytest.param(250, 2000, 6, "0.5", (), id="on-all-three-limits"),
        pytest.param(250, 2001, 6, "0.50025", ("area",), id="area-just-over"),
        pytest.param(240, 1900, 5, "0.456", ("thickness",), id="too-thin"),
        pytest.param(1900, 240, 6, "0.456", (), id="lying"),
    ],
)
def test_small_panes(width: int, height: int, thickness: int, area: str, failures: tuple[str, ...]) -> None:
    found = small_pane(
        width_mm=width,
        height_mm=height,
        thickness_mm=thickness,
        most_side_mm=250,
        most_area_m2=0.5,
        least_thickness_mm=6,
    )
    assert found.area_m2 == Fraction(area)
    assert found.failures == failures
    assert found.ok is (not failures)


def test_a_leaded_light_may_be_4_mm() -> None:
    found = small_pane(
        width_mm=200, height_mm=300, thickness_mm=4, most_side_mm=250, most_area_m2=0.5, least_thickness_mm=4
    )
    assert found.ok


@pytest.mark.parametrize(
    ("width", "height", "thickness", "enough"),
    [
        (1100, 1100, 8, True),
        (1100, 1101, 8, False),
        (1100, 1101, 10, True),
        (2250, 2251, 10, False),
        (4500, 3000, 12, True),
        (3000, 4500, 12, True),
        (3001, 4500, 12, False),
        (5000, 6000, 15, True),
        (500, 500, 6, False),
    ],
)
def test_thick_annealed_glass(width: int, height: int, thickness: int, enough: bool) -> None:
    """Diagram 5.2."""
    found = thick_annealed_is_enough(
        width_mm=width, height_mm=height, thickness_mm=thickness, sizes=DIAGRAM_5_2
    )
    assert found is enough


@pytest.mark.parametrize(
    ("panes", "unit", "enough_for_3", "enough_for_2"),
    [
        ([1, 1], 1, True, True),
        ([1, 3], 3, True, False),
        ([2], 2, True, True),
        ([1, None], None, False, False),
    ],
)
def test_a_unit_is_as_safe_as_its_weakest_pane(
    panes: list[int | None], unit: int | None, enough_for_3: bool, enough_for_2: bool
) -> None:
    """EN 12600 guidance."""
    assert unit_impact_class(pane_classes=panes) == unit
    assert impact_class_is_enough(stated_class=unit, least_class=3) is enough_for_3
    assert impact_class_is_enough(stated_class=unit, least_class=2) is enough_for_2


@pytest.mark.parametrize(
    ("bottom", "drop", "needed"),
    [(799, 601, True), (800, 601, False), (799, 600, False), (799, None, True), (800, None, False)],
)
def test_guarding_below_800_mm_over_a_drop(bottom: int, drop: int | None, needed: bool) -> None:
    found = guarding_is_needed(opening_bottom_mm=bottom, drop_mm=drop, guard_below_mm=800, drop_over_mm=600)
    assert found is needed
