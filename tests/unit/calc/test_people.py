"""Escape, ventilation, safety glass, lifting and movement: what they refuse, and their edges."""

from fractions import Fraction

import pytest

from sawready.calc.escape import (
    EscapeFigures,
    escape_opening,
    least_partner_mm,
    side_hung_clear_size_mm,
    swung_clear_size_mm,
)
from sawready.calc.expansion import (
    differential_movement_mm,
    free_movement_mm,
    length_for_movement_mm,
    movement_fits_gap,
)
from sawready.calc.handling import handling_verdict, people_needed, team_filter_kg
from sawready.calc.safety import (
    CriticalFigures,
    ThickGlassSize,
    critical_place,
    least_impact_class,
    small_pane,
    thick_annealed_is_enough,
    unit_impact_class,
)
from sawready.calc.ventilation import VentilationFigures, least_ventilation_mm2, room_ventilation

ESCAPE = EscapeFigures(area_m2=0.33, width_mm=450, height_mm=450, most_bottom_mm=1100)
TEAM = {2: 0.667, 3: 0.5}
FIGURES = VentilationFigures(
    room_kinds={"bedroom": "habitable"},
    replacement_mm2={"habitable": 8000},
    new_mm2={"habitable": 8000},
    new_single_storey_mm2={"habitable": 10000},
    continuous_extract_mm2={"habitable": 4000},
)


def test_without_the_height_of_the_bottom_the_rest_is_still_judged() -> None:
    found = escape_opening(
        clear_width_mm=440, clear_height_mm=950, bottom_above_floor_mm=None, figures=ESCAPE
    )
    assert found.failures == ("width",)
    (miss,) = found.misses
    assert (miss.value, miss.limit) == (440, 450)


def test_an_opening_of_less_than_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="cannot be -1 x 950 mm"):
        escape_opening(clear_width_mm=-1, clear_height_mm=950, bottom_above_floor_mm=900, figures=ESCAPE)
    with pytest.raises(ValueError, match="side_mm"):
        least_partner_mm(side_mm=0, least_area_m2=0.33)


def test_the_least_side_counts_where_the_area_asks_for_less() -> None:
    assert least_partner_mm(side_mm=1000, least_area_m2=0.33, least_side_mm=450) == 450
    assert least_partner_mm(side_mm=1000, least_area_m2=0.33) == 330


def test_a_hinge_that_covers_more_than_there_is_leaves_nothing() -> None:
    found = side_hung_clear_size_mm(daylight_width_mm=90, daylight_height_mm=1000, blocked_mm=95)
    assert found == (0, 1000)
    with pytest.raises(ValueError, match="zero or more, not -1 mm"):
        side_hung_clear_size_mm(daylight_width_mm=600, daylight_height_mm=1000, blocked_mm=-1)


@pytest.mark.parametrize(
    ("angle", "height"), [(0, 0), (60, 1000), (90, 1000), (180, 1000), (30, 517.6380902050415)]
)
def test_a_swung_sash_clears_its_chord_and_never_more_than_the_daylight(angle: float, height: float) -> None:
    found = swung_clear_size_mm(
        daylight_width_mm=900, daylight_height_mm=1000, opening_angle_deg=angle, blocked_mm=0
    )
    assert (float(found[0]), float(found[1])) == pytest.approx((900, height))


def test_a_swung_sash_beyond_half_a_turn_is_refused() -> None:
    with pytest.raises(ValueError, match="opening_angle_deg"):
        swung_clear_size_mm(
            daylight_width_mm=900, daylight_height_mm=1000, opening_angle_deg=181, blocked_mm=0
        )
    blocked = swung_clear_size_mm(
        daylight_width_mm=900, daylight_height_mm=1000, opening_angle_deg=5, blocked_mm=100
    )
    assert blocked[1] == 0


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"room": "garage"}, "'garage' is not one of bedroom"),
        ({"dwelling_storeys": 0}, "dwelling_storeys"),
        ({"strategy": "hope"}, "not a valid Strategy"),
    ],
)
def test_ventilation_of_an_unknown_room_or_kind_is_not_guessed(change: dict[str, object], says: str) -> None:
    known = {"room": "bedroom", "figures": FIGURES, "replacement": False, "dwelling_storeys": 2}
    assert least_ventilation_mm2(**known) == 8000
    with pytest.raises(ValueError, match=says):
        least_ventilation_mm2(**{**known, **change})


def test_ventilators_below_zero_are_refused() -> None:
    for given, old in (([-1, 9000], None), ([8000], -1)):
        with pytest.raises(ValueError, match="zero or more"):
            room_ventilation(given_mm2=given, old_mm2=old, least_mm2=8000)
    assert room_ventilation(given_mm2=[], old_mm2=None, least_mm2=0).ok


def test_safety_functions_refuse_what_is_no_pane() -> None:
    figures = CriticalFigures(window_below_mm=800, door_below_mm=1500, beside_door_mm=300)
    with pytest.raises(ValueError, match="not a valid Element"):
        critical_place(element="roof", pane_bottom_mm=0, door_distance_mm=None, figures=figures)
    with pytest.raises(ValueError, match="not a valid Element"):
        least_impact_class(element="roof", pane_width_mm=1, usual_class=3, wide_class=2, wide_over_mm=900)
    with pytest.raises(ValueError, match="at least one pane"):
        unit_impact_class(pane_classes=[])
    with pytest.raises(ValueError, match="1, 2 or 3, not 4"):
        unit_impact_class(pane_classes=[4])
    with pytest.raises(ValueError, match="above zero"):
        small_pane(
            width_mm=0,
            height_mm=1,
            thickness_mm=6,
            most_side_mm=250,
            most_area_m2=0.5,
            least_thickness_mm=6,
        )
    with pytest.raises(ValueError, match="above zero"):
        thick_annealed_is_enough(
            width_mm=1, height_mm=1, thickness_mm=0, sizes=[ThickGlassSize(8, (1100, 1100))]
        )


@pytest.mark.parametrize(
    ("mass", "people"), [(25, 1), (25.01, 2), (33.35, 2), (33.36, 3), (37.5, 3), (37.51, None)]
)
def test_people_for_a_mass(mass: float, people: int | None) -> None:
    assert people_needed(mass_kg=mass, filter_kg=25, team_shares=TEAM) == people


def test_a_reduction_asks_for_more_people() -> None:
    assert people_needed(mass_kg=25, filter_kg=25, team_shares=TEAM, reduction=0.1) == 2


def test_a_mass_on_the_filter_is_within_it() -> None:
    assert not handling_verdict(mass_kg=17.5, filter_kg=25, reduction=0.3).needs_assessment
    assert handling_verdict(mass_kg=17.500001, filter_kg=25, reduction=0.3).needs_assessment


def test_lifting_refuses_what_has_no_meaning() -> None:
    with pytest.raises(ValueError, match="-1 kg"):
        handling_verdict(mass_kg=-1, filter_kg=25)
    with pytest.raises(ValueError, match="reduction"):
        handling_verdict(mass_kg=1, filter_kg=25, reduction=1.5)
    with pytest.raises(ValueError, match="team of 4"):
        team_filter_kg(filters_kg=[25] * 4, team_shares=TEAM)
    assert team_filter_kg(filters_kg=[16], team_shares=TEAM) == 16
    assert team_filter_kg(filters_kg=[25, 16], team_shares=TEAM) == pytest.approx(0.667 * 41)


@pytest.mark.parametrize(("gap", "ok"), [(Fraction("2.94"), True), (Fraction("2.939999"), False)])
def test_growth_equal_to_the_gap_fits_and_a_hair_more_does_not(gap: Fraction, ok: bool) -> None:
    found = movement_fits_gap(alpha_per_k=70e-6, length_mm=1200, rise_k=35, first_gap_mm=gap, second_gap_mm=0)
    assert (found.ok, found.movement_mm) == (ok, 2.94)


def test_movement_refuses_what_has_no_meaning() -> None:
    with pytest.raises(ValueError, match="length_mm"):
        free_movement_mm(alpha_per_k=70e-6, length_mm=-1, difference_k=1)
    with pytest.raises(ValueError, match="alpha_per_k"):
        differential_movement_mm(length_mm=1, difference_k=1, alpha_1_per_k=1e-5, alpha_2_per_k=-1e-5)
    with pytest.raises(ValueError, match="difference_k"):
        length_for_movement_mm(movement_mm=24, alpha_per_k=70e-6, difference_k=0)
    with pytest.raises(ValueError, match="second_gap_mm"):
        movement_fits_gap(alpha_per_k=70e-6, length_mm=1, rise_k=1, first_gap_mm=1, second_gap_mm=-1)
