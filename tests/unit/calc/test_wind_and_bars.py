"""Wind, classes and bars: what they refuse, and their edges."""

import math

import pytest

from sawready.calc.bar_loads import PointLoad, SlopingLoad, field_loads, simply_supported
from sawready.calc.bar_wind import bar_under_wind, field_load
from sawready.calc.beam import (
    box_second_moment_mm4,
    composite_stiffness_n_mm2,
    core_second_moment_mm4,
    equivalent_second_moment_mm4,
    trapezoid_deflection_mm,
    trapezoid_moment_n_mm,
    trapezoid_stiffness_n_mm2,
)
from sawready.calc.wind import (
    Terrain,
    direction_factor,
    net_pressure_pa,
    peak_wind,
    uk_altitude_factor,
    uk_basic_wind,
    velocity_pressure_pa,
    wall_coefficient,
)
from sawready.calc.window_classes import (
    air_class,
    air_leakage_at,
    deflection_class,
    water_class,
    wind_class_for,
    wind_class_pressures,
)

TOWN = Terrain(roughness_m=1.0, least_height_m=10)


def test_below_the_least_height_nothing_changes() -> None:
    known = {"basic_velocity_m_s": 24, "terrain": TOWN, "air_density_kg_m3": 1.25}
    assert peak_wind(height_m=2, **known) == peak_wind(height_m=10, **known)
    assert peak_wind(height_m=10.1, **known).pressure_pa > peak_wind(height_m=10, **known).pressure_pa


def test_a_hill_raises_the_mean_and_lowers_the_gusts_share() -> None:
    known = {"basic_velocity_m_s": 24, "terrain": TOWN, "height_m": 12, "air_density_kg_m3": 1.25}
    flat, hill = peak_wind(**known), peak_wind(orography=1.2, **known)
    assert hill.mean_velocity_m_s == pytest.approx(1.2 * flat.mean_velocity_m_s)
    assert hill.turbulence == pytest.approx(flat.turbulence / 1.2)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"height_m": 0}, "height_m"),
        ({"height_m": 201}, "at most 200"),
        ({"basic_velocity_m_s": -1}, "basic_velocity_m_s"),
        ({"terrain": Terrain(5, 1), "height_m": 5}, "above the roughness length"),
        ({"terrain": Terrain(0, 1)}, "roughness_m"),
    ],
)
def test_wind_that_cannot_be_is_refused(change: dict[str, object], says: str) -> None:
    known = {"basic_velocity_m_s": 24, "terrain": TOWN, "height_m": 12, "air_density_kg_m3": 1.25}
    with pytest.raises(ValueError, match=says):
        peak_wind(**{**known, **change})


def test_the_altitude_factor_is_continuous_at_10_metres() -> None:
    at = uk_altitude_factor(altitude_m=100, height_m=10)
    above = uk_altitude_factor(altitude_m=100, height_m=10.000001)
    assert at == 1.1
    assert above == pytest.approx(1.1, abs=1e-7)
    assert above < at
    assert uk_altitude_factor(altitude_m=0, height_m=50) == 1


def test_uk_factors_multiply() -> None:
    known = {"map_velocity_m_s": 22, "altitude_m": 50, "height_m": 8, "air_density_kg_m3": 1.226}
    plain = uk_basic_wind(**known)
    turned = uk_basic_wind(direction_factor=0.85, season_factor=0.9, probability_factor=0.95, **known)
    assert turned.velocity_m_s == pytest.approx(0.85 * 0.9 * 0.95 * plain.velocity_m_s)
    with pytest.raises(ValueError, match="season_factor"):
        uk_basic_wind(season_factor=0, **known)
    with pytest.raises(ValueError, match="altitude_m"):
        uk_altitude_factor(altitude_m=-1, height_m=8)


def test_a_bearing_between_two_sectors_takes_a_value_between() -> None:
    factors = [1.0, 0.8, 0.9, 0.7]
    assert direction_factor(bearing_deg=45, factors=factors) == pytest.approx(0.9)
    assert direction_factor(bearing_deg=-90, factors=factors) == 0.7
    assert direction_factor(bearing_deg=315, factors=factors) == pytest.approx(0.85)
    for bearing, none in ((0, []), (math.nan, factors)):
        with pytest.raises(ValueError, match="at least one factor"):
            direction_factor(bearing_deg=bearing, factors=none)


@pytest.mark.parametrize(("area", "coefficient"), [(0.5, -1.4), (1, -1.4), (10, -1.2), (40, -1.2)])
def test_wall_coefficients_stay_put_outside_1_to_10_m2(area: float, coefficient: float) -> None:
    assert wall_coefficient(loaded_area_m2=area, small_area=-1.4, large_area=-1.2) == coefficient


def test_pressures_below_zero_are_refused_where_they_have_no_sense() -> None:
    with pytest.raises(ValueError, match="peak_pressure_pa"):
        net_pressure_pa(peak_pressure_pa=-1, external=1, internal=0)
    with pytest.raises(ValueError, match="velocity_m_s"):
        velocity_pressure_pa(velocity_m_s=-1, air_density_kg_m3=1.25)
    with pytest.raises(ValueError, match="loaded_area_m2"):
        wall_coefficient(loaded_area_m2=0, small_area=1, large_area=1)


def test_classes_without_a_table_or_a_number_are_refused() -> None:
    for call in (
        lambda: wind_class_for(pressure_pa=800, class_pa={}),
        lambda: wind_class_pressures(p1_pa=800, class_pa={}),
        lambda: water_class(tight_up_to_pa=100, class_pa={}, step_above_pa=150),
    ):
        with pytest.raises(ValueError, match="at least one class"):
            call()
    with pytest.raises(ValueError, match="p1_pa"):
        wind_class_pressures(p1_pa=0, class_pa={1: 400})
    with pytest.raises(ValueError, match="span_mm"):
        deflection_class(deflection_mm=1, span_mm=0, span_over={"A": 150})
    with pytest.raises(ValueError, match="finite"):
        air_class(leakage_at_100_pa=math.nan, most_by_class={1: 50})
    with pytest.raises(ValueError, match="pressure_pa"):
        air_leakage_at(leakage_at_100_pa=9, pressure_pa=0)
    with pytest.raises(ValueError, match="step_above_pa"):
        water_class(tight_up_to_pa=100, class_pa={"1A": 0}, step_above_pa=0)
    assert water_class(tight_up_to_pa=10, class_pa={"2A": 50}, step_above_pa=150) is None


def test_a_bar_that_does_not_bend_has_the_best_letter() -> None:
    found = deflection_class(deflection_mm=0, span_mm=1200, span_over={"A": 150, "C": 300})
    assert (found.ratio, found.letter) == (math.inf, "C")


@pytest.mark.parametrize(
    ("width", "ramp", "triangle"), [(0, 0, False), (600, 300, False), (1200, 600, True), (2000, 600, True)]
)
def test_the_ramp_never_passes_midspan(width: float, ramp: float, triangle: bool) -> None:
    found = field_load(pressure_pa=-1000, field_width_mm=width, span_mm=1200)
    assert (found.ramp_mm, found.peak_n_mm) == (ramp, pytest.approx(0.001 * ramp))
    assert found.is_triangle(span_mm=1200) is triangle


def test_a_bar_without_load_and_one_exactly_on_its_limit() -> None:
    known = {"span_mm": 1200, "pressure_pa": 1200, "span_over": 200, "e_mpa": 210_000}
    idle = bar_under_wind(field_widths_mm=(0, 0), i_mm4=10_000, **known)
    assert (idle.deflection_mm, idle.ratio, idle.ok, idle.needed_i_mm4) == (0, math.inf, True, 0)
    needed = bar_under_wind(field_widths_mm=(600, 600), **known).needed_i_mm4
    assert bar_under_wind(field_widths_mm=(600, 600), i_mm4=needed * 1.000001, **known).ok
    assert not bar_under_wind(field_widths_mm=(600, 600), i_mm4=needed * 0.999999, **known).ok


def test_an_absolute_limit_counts_where_it_is_the_smaller() -> None:
    known = {"span_mm": 2100, "field_widths_mm": (900, 900), "pressure_pa": 1200, "e_mpa": 210_000}
    assert bar_under_wind(span_over=200, limit_mm=8, **known).limit_mm == 8
    assert bar_under_wind(span_over=300, limit_mm=8, **known).limit_mm == 7
    with pytest.raises(ValueError, match="limit_mm"):
        bar_under_wind(span_over=200, limit_mm=0, **known)
    with pytest.raises(ValueError, match="i_mm4"):
        bar_under_wind(span_over=200, i_mm4=0, **known)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"ramp_mm": 601}, "longer than half the span"),
        ({"ramp_mm": -1}, "ramp_mm"),
        ({"peak_n_mm": -0.1}, "peak_n_mm"),
        ({"span_mm": 0}, "span_mm"),
    ],
)
def test_loads_that_no_bar_carries_are_refused(change: dict[str, float], says: str) -> None:
    load = {"peak_n_mm": 0.36, "ramp_mm": 300.0, "span_mm": 1200.0, **change}
    for call in (
        lambda: trapezoid_moment_n_mm(**load),
        lambda: trapezoid_deflection_mm(stiffness_n_mm2=1e9, **load),
        lambda: trapezoid_stiffness_n_mm2(deflection_mm=6, **load),
    ):
        with pytest.raises(ValueError, match=says):
            call()


def test_sections_that_are_none_are_refused() -> None:
    with pytest.raises(ValueError, match="at least one part"):
        composite_stiffness_n_mm2(parts=[])
    with pytest.raises(ValueError, match="i_mm4"):
        composite_stiffness_n_mm2(parts=[(210_000, -1)])
    with pytest.raises(ValueError, match="do not fit"):
        box_second_moment_mm4(width_mm=25, depth_mm=35, wall_mm=12.6)
    with pytest.raises(ValueError, match="e_mpa"):
        equivalent_second_moment_mm4(stiffness_n_mm2=1, e_mpa=0)


def test_a_box_of_all_wall_is_solid() -> None:
    assert box_second_moment_mm4(width_mm=24, depth_mm=36, wall_mm=12) == pytest.approx(24 * 36**3 / 12)


def test_a_profile_that_is_enough_needs_no_core() -> None:
    known = {"profile_e_mpa": 2200, "profile_i_mm4": 450_000, "core_e_mpa": 210_000}
    assert core_second_moment_mm4(stiffness_n_mm2=2200 * 450_000, **known) == 0
    assert core_second_moment_mm4(stiffness_n_mm2=2200 * 449_999, **known) == 0
    assert core_second_moment_mm4(stiffness_n_mm2=2200 * 450_000 + 210_000 * 5, **known) == pytest.approx(5)


def test_a_narrow_field_is_three_loads_a_wide_one_two_and_none_none() -> None:
    known = {"pressure_pa": 1000, "start_mm": 100, "length_mm": 1000}
    assert len(field_loads(field_width_mm=600, **known)) == 3
    assert field_loads(field_width_mm=1000, **known) == (
        SlopingLoad(100, 600, 0, 0.5),
        SlopingLoad(600, 1100, 0.5, 0),
    )
    assert field_loads(field_width_mm=0, **known) == ()


@pytest.mark.parametrize(
    ("sloping", "points", "says"),
    [
        ([SlopingLoad(0, 1201, 1, 1)], [], "not on a 1200"),
        ([SlopingLoad(600, 600, 1, 1)], [], "not on a 1200"),
        ([SlopingLoad(-1, 600, 1, 1)], [], "not on a 1200"),
        ([SlopingLoad(0, 600, -1, 1)], [], "start_n_mm"),
        ([], [PointLoad(1300, 1)], "not on a 1200"),
        ([], [PointLoad(600, -1)], "force_n"),
    ],
)
def test_loads_off_the_bar_or_backwards_are_refused(
    sloping: list[SlopingLoad], points: list[PointLoad], says: str
) -> None:
    with pytest.raises(ValueError, match=says):
        simply_supported(span_mm=1200, sloping=sloping, points=points)


def test_a_bar_without_loads_rests() -> None:
    found = simply_supported(span_mm=1200)
    assert (found.reactions_n, found.moment_n_mm, found.deflection_n_mm3) == ((0, 0), 0, 0)
    with pytest.raises(ValueError, match="stiffness_n_mm2"):
        found.deflection_mm(stiffness_n_mm2=0)


def test_a_force_off_the_middle_bends_most_where_the_handbook_says() -> None:
    """P a b: M = P a b / L under the force; w = P b (L^2 - b^2)^1.5 / (9 sqrt(3) L E I), b the shorter."""
    found = simply_supported(span_mm=1000, points=[PointLoad(700, 500)])
    assert found.reactions_n == pytest.approx((150, 350))
    assert found.moment_n_mm == pytest.approx(500 * 700 * 300 / 1000)
    assert found.moment_at_mm == pytest.approx(700, abs=1e-6)
    expected = 500 * 300 * (1000**2 - 300**2) ** 1.5 / (9 * math.sqrt(3) * 1000)
    assert found.deflection_n_mm3 == pytest.approx(expected, rel=1e-12)
    assert found.deflection_at_mm == pytest.approx(math.sqrt((1000**2 - 300**2) / 3), abs=1e-4)
