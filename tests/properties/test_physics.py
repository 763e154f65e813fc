"""Laws of the calculations: scaling, bounds, symmetry and monotony, on random values."""

import math
from fractions import Fraction

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from sawready.calc.bar_loads import PointLoad, SlopingLoad, field_loads, simply_supported
from sawready.calc.bar_wind import bar_under_wind
from sawready.calc.condensation import dew_point_c, plane_temperature_factor, surface_temperature_c
from sawready.calc.energy import two_significant_figures
from sawready.calc.escape import EscapeFigures, escape_opening, least_partner_mm
from sawready.calc.expansion import free_movement_mm
from sawready.calc.glass_cavity import pane_pressures_kpa
from sawready.calc.glass_plate import plate_coefficients, plate_under_pressure
from sawready.calc.glazing_u import Gap, Gas, glass_u
from sawready.calc.handling import people_needed
from sawready.calc.inches import nearest_inch_mark
from sawready.calc.safety import CriticalFigures, critical_place
from sawready.calc.thermal import AreaPart, EdgePart, uniform_sight_line_m, window_u
from sawready.calc.wind import Terrain, peak_wind
from sawready.calc.window_classes import deflection_class, wind_class_for
from sawready.conversion import converted

AIR = Gas(1.232, 1.761e-5, 0.02496, 1008)
lengths = st.floats(300, 3000)
areas = st.floats(0.01, 4)
u_values = st.floats(0.3, 6)
pressures = st.floats(100, 3000)
KINDS = [
    "mm cm m in ft yd",
    "mm2 m2 in2 ft2",
    "mm4 cm4 in4",
    "g kg oz lb",
    "Pa kPa MPa mbar N/mm2 kN/m2 psf psi",
    "m/s km/h mph knot",
]


def parts() -> st.SearchStrategy[list[AreaPart]]:
    return st.lists(st.builds(AreaPart, areas, u_values), min_size=1, max_size=4)


@given(parts(), parts(), parts())
def test_without_edges_a_window_lies_between_its_best_and_its_worst_part(
    glass: list[AreaPart], frame: list[AreaPart], panels: list[AreaPart]
) -> None:
    all_u = [part.u_w_m2k for part in (*glass, *frame, *panels)]
    u = window_u(glass=glass, frame=frame, panels=panels).u_w_m2k
    assert min(all_u) * (1 - 1e-12) <= u <= max(all_u) * (1 + 1e-12)


@given(parts(), parts(), st.floats(0, 20), st.floats(0, 0.12))
def test_an_edge_only_adds_loss(
    glass: list[AreaPart], frame: list[AreaPart], length: float, psi: float
) -> None:
    bare = window_u(glass=glass, frame=frame)
    edged = window_u(glass=glass, frame=frame, glass_edges=[EdgePart(length, psi)])
    assert edged.u_w_m2k >= bare.u_w_m2k
    assert edged.u_w_m2k - bare.u_w_m2k == pytest.approx(length * psi / bare.area_m2, abs=1e-9)


@given(st.floats(0.3, 3), st.floats(0.3, 3), st.floats(0.01, 0.99))
def test_a_sight_line_gives_back_its_share_of_frame(width: float, height: float, share: float) -> None:
    sight = uniform_sight_line_m(width_m=width, height_m=height, frame_fraction=share)
    assert (width - 2 * sight) * (height - 2 * sight) == pytest.approx((1 - share) * width * height)


@given(st.floats(4, 24), st.floats(0.02, 0.9), st.floats(0.02, 0.9), st.integers(2, 4))
def test_glass_is_the_same_seen_from_either_side_and_better_with_another_pane(
    width: float, first: float, second: float, panes: int
) -> None:
    known = {
        "glass_conductivity_w_mk": 1.0,
        "mean_temperature_k": 283,
        "difference_k": 15,
        "outside_w_m2k": 25,
        "inside_w_m2k": 7.7,
    }
    gaps = [Gap(width, AIR, (first, second))] * (panes - 1)
    here = glass_u(panes_mm=[4] * panes, gaps=gaps, **known).u_w_m2k
    turned = [Gap(gap.width_mm, gap.gas, gap.emissivities[::-1]) for gap in reversed(gaps)]
    assert glass_u(panes_mm=[4] * panes, gaps=turned, **known).u_w_m2k == pytest.approx(here)
    more = glass_u(panes_mm=[4] * (panes + 1), gaps=[*gaps, gaps[0]], **known).u_w_m2k
    assert more < here < 5.9


@given(st.floats(0.3, 6), st.floats(-20, 15), st.floats(16, 26))
def test_the_inner_surface_lies_between_outside_and_inside(u: float, outside: float, inside: float) -> None:
    surface = surface_temperature_c(u_w_m2k=u, inside_c=inside, outside_c=outside, rsi_m2k_w=0.13)
    assert outside < surface < inside
    factor = plane_temperature_factor(u_w_m2k=u, rsi_m2k_w=0.13)
    assert (surface - outside) / (inside - outside) == pytest.approx(factor)


@given(st.floats(1, 30), st.floats(0.05, 1))
def test_the_dew_point_is_never_above_the_air(air: float, humidity: float) -> None:
    assert dew_point_c(air_c=air, relative_humidity=humidity) <= air + 1e-9


@given(lengths, st.floats(0, 3000), st.floats(0, 3000), pressures)
def test_twice_the_pressure_twice_the_deflection_and_sides_may_be_swapped(
    span: float, left: float, right: float, pressure: float
) -> None:
    known = {"span_mm": span, "span_over": 200, "e_mpa": 210_000, "i_mm4": 30_000}
    once = bar_under_wind(field_widths_mm=(left, right), pressure_pa=pressure, **known)
    twice = bar_under_wind(field_widths_mm=(right, left), pressure_pa=-2 * pressure, **known)
    assert once.deflection_mm is not None
    assert twice.deflection_mm == pytest.approx(2 * once.deflection_mm)
    assert twice.moment_n_mm == pytest.approx(2 * once.moment_n_mm)


@given(lengths, st.floats(1, 1000))
def test_twice_the_span_sixteen_times_the_deflection_of_the_same_line_load(span: float, width: float) -> None:
    """An even load, as a field far narrower than its bar: here as a load of its own."""
    load = [SlopingLoad(0, span, width / 1000, width / 1000)]
    double = [SlopingLoad(0, 2 * span, width / 1000, width / 1000)]
    short = simply_supported(span_mm=span, sloping=load).deflection_n_mm3
    long = simply_supported(span_mm=2 * span, sloping=double).deflection_n_mm3
    assert long == pytest.approx(16 * short)


@given(lengths, st.floats(0, 3000), st.floats(0, 3000), pressures, st.floats(1000, 1e6))
def test_what_is_needed_is_exactly_what_passes(
    span: float, left: float, right: float, pressure: float, second_moment: float
) -> None:
    assume(left + right > 1)
    found = bar_under_wind(
        span_mm=span,
        field_widths_mm=(left, right),
        pressure_pa=pressure,
        span_over=200,
        e_mpa=210_000,
        i_mm4=second_moment,
    )
    assume(not math.isclose(found.needed_i_mm4, second_moment, rel_tol=1e-9))
    assert found.ok is (second_moment > found.needed_i_mm4)


@given(lengths, st.floats(10, 3000), pressures)
def test_the_load_of_a_field_is_its_area_by_45_degree_lines(
    span: float, width: float, pressure: float
) -> None:
    """The four bars round a field carry all of it: two trapezoids or triangles each way."""
    along = simply_supported(
        span_mm=span,
        sloping=field_loads(pressure_pa=pressure, field_width_mm=width, start_mm=0, length_mm=span),
    )
    across = simply_supported(
        span_mm=width,
        sloping=field_loads(pressure_pa=pressure, field_width_mm=span, start_mm=0, length_mm=width),
    )
    carried = 2 * (sum(along.reactions_n) + sum(across.reactions_n))
    assert carried == pytest.approx(pressure * span * width / 1e6)


@given(
    lengths,
    st.lists(st.tuples(st.floats(0, 1), st.floats(0, 2000)), max_size=4),
    st.lists(st.tuples(st.floats(0, 0.5), st.floats(0.6, 1), st.floats(0, 3), st.floats(0, 3)), max_size=4),
)
def test_a_bar_turned_end_for_end_bends_the_same(
    span: float, forces: list[tuple[float, float]], ramps: list[tuple[float, float, float, float]]
) -> None:
    points = [PointLoad(share * span, force) for share, force in forces]
    sloping = [SlopingLoad(a * span, b * span, first, last) for a, b, first, last in ramps]
    here = simply_supported(span_mm=span, sloping=sloping, points=points)
    there = simply_supported(
        span_mm=span,
        sloping=[
            SlopingLoad(max(span - load.end_mm, 0), span - load.start_mm, load.end_n_mm, load.start_n_mm)
            for load in sloping
        ],
        points=[PointLoad(max(span - point.place_mm, 0), point.force_n) for point in points],
    )
    total = sum(here.reactions_n)
    assert there.reactions_n == pytest.approx(here.reactions_n[::-1], abs=1e-9 * (1 + total))
    assert there.moment_n_mm == pytest.approx(here.moment_n_mm, rel=1e-7, abs=1e-6)
    assert there.deflection_n_mm3 == pytest.approx(here.deflection_n_mm3, rel=1e-7, abs=1e-3)
    assert total == pytest.approx(
        sum(point.force_n for point in points)
        + sum((load.end_mm - load.start_mm) * (load.start_n_mm + load.end_n_mm) / 2 for load in sloping)
    )


@given(st.floats(1, 20), st.floats(0, 0.49))
def test_plate_coefficients_grow_with_length_up_to_the_strip(ratio: float, poisson: float) -> None:
    here = plate_coefficients(long_over_short=ratio, poisson=poisson)
    longer = plate_coefficients(long_over_short=ratio + 0.01, poisson=poisson)
    strip = 12 * (1 - poisson**2) * 5 / 384
    assert 0 < here.k5 < here.k4 <= longer.k4 * (1 + 1e-12) <= strip * (1 + 1e-9)


@given(lengths, lengths, st.floats(3, 25), st.floats(0.1, 3))
def test_a_pane_scaled_in_all_directions_keeps_its_stress(
    width: float, height: float, thickness: float, pressure: float
) -> None:
    glass = {"pressure_kpa": pressure, "e_mpa": 70_000, "poisson": 0.23}
    once = plate_under_pressure(width_mm=width, height_mm=height, thickness_mm=thickness, **glass)
    twice = plate_under_pressure(
        width_mm=2 * width, height_mm=2 * height, thickness_mm=2 * thickness, **glass
    )
    assert twice.stress_mpa == pytest.approx(once.stress_mpa)
    assert twice.deflection_mm == pytest.approx(2 * once.deflection_mm)


@given(
    lengths,
    lengths,
    st.lists(st.tuples(st.floats(3, 12), st.floats(6, 24)), min_size=1, max_size=3),
    st.floats(3, 12),
    st.floats(-2, 2),
    st.floats(-16, 16),
)
def test_panes_together_carry_the_wind_whatever_the_climate(
    width: float,
    height: float,
    layers: list[tuple[float, float]],
    last: float,
    pressure: float,
    climate: float,
) -> None:
    unit = {
        "width_mm": width,
        "height_mm": height,
        "panes_mm": [pane for pane, _ in layers] + [last],
        "cavities_mm": [cavity for _, cavity in layers],
        "e_mpa": 70_000,
        "poisson": 0.23,
        "air_pressure_mpa": 0.1,
    }
    both = pane_pressures_kpa(pressure_kpa=pressure, isochoric_kpa=climate, **unit)
    wind = pane_pressures_kpa(pressure_kpa=pressure, isochoric_kpa=0, **unit)
    alone = pane_pressures_kpa(pressure_kpa=0, isochoric_kpa=climate, **unit)
    assert sum(both) == pytest.approx(pressure, abs=1e-9)
    assert both == pytest.approx(
        [first + second for first, second in zip(wind, alone, strict=True)], abs=1e-9
    )
    assert all(abs(load) <= abs(pressure) + 1e-9 for load in wind)


@given(st.floats(15, 40), st.floats(0.01, 1), st.floats(2, 150), st.floats(0.1, 49))
def test_wind_grows_with_height_and_with_the_square_of_velocity(
    velocity: float, roughness: float, height: float, more: float
) -> None:
    terrain = Terrain(roughness, roughness * 2)
    known = {"terrain": terrain, "air_density_kg_m3": 1.25}
    here = peak_wind(basic_velocity_m_s=velocity, height_m=height, **known).pressure_pa
    assert peak_wind(basic_velocity_m_s=velocity, height_m=height + more, **known).pressure_pa >= here
    assert peak_wind(basic_velocity_m_s=2 * velocity, height_m=height, **known).pressure_pa == pytest.approx(
        4 * here
    )


@given(st.floats(-5000, 5000))
def test_a_wind_class_covers_its_pressure_and_none_below_does(pressure: float) -> None:
    table = {1: 400, 2: 800, 3: 1200, 4: 1600, 5: 2000}
    found = wind_class_for(pressure_pa=pressure, class_pa=table)
    assert found.deflection_pa >= abs(pressure)
    smaller = [p1 for number, p1 in table.items() if found.number is None or number < found.number]
    assert all(p1 < abs(pressure) for p1 in smaller)


@given(st.floats(0.01, 40), lengths)
def test_a_smaller_deflection_never_has_a_worse_letter(deflection: float, span: float) -> None:
    table = {"A": 150, "B": 200, "C": 300}
    letters = [None, "A", "B", "C"]
    here = deflection_class(deflection_mm=deflection, span_mm=span, span_over=table).letter
    less = deflection_class(deflection_mm=deflection * 0.9, span_mm=span, span_over=table).letter
    assert letters.index(less) >= letters.index(here)


@given(st.integers(1, 2000), st.integers(1, 2000))
def test_an_opening_with_its_exact_partner_passes_and_a_hair_less_fails(side: int, hair: int) -> None:
    figures = EscapeFigures(area_m2=0.33, width_mm=0, height_mm=0, most_bottom_mm=1100)
    partner = least_partner_mm(side_mm=side, least_area_m2=0.33)
    known = {"clear_width_mm": side, "bottom_above_floor_mm": 1100, "figures": figures}
    assert escape_opening(clear_height_mm=partner, **known).ok
    assert not escape_opening(clear_height_mm=partner - Fraction(1, hair * 10**6), **known).ok


@given(st.sampled_from(["window", "wall", "door", "side_panel"]), st.integers(0, 2500), st.integers(0, 2000))
def test_lower_glass_or_glass_nearer_to_a_door_never_stops_being_critical(
    element: str, bottom: int, distance: int
) -> None:
    figures = CriticalFigures(window_below_mm=800, door_below_mm=1500, beside_door_mm=300)
    known = {"element": element, "figures": figures}
    if critical_place(pane_bottom_mm=bottom, door_distance_mm=distance, **known).critical:
        assert critical_place(pane_bottom_mm=max(bottom - 50, 0), door_distance_mm=distance, **known).critical
        assert critical_place(pane_bottom_mm=bottom, door_distance_mm=max(distance - 50, 0), **known).critical


@given(st.floats(0, 200), st.floats(0, 50))
def test_more_mass_never_needs_fewer_people(mass: float, more: float) -> None:
    shares = {2: 0.667, 3: 0.5}
    here = people_needed(mass_kg=mass, filter_kg=25, team_shares=shares) or 99
    heavier = people_needed(mass_kg=mass + more, filter_kg=25, team_shares=shares) or 99
    assert heavier >= here


@given(st.floats(1e-6, 1e-4), st.floats(0, 6000), st.floats(-60, 60))
def test_cooling_takes_back_what_warming_gave(alpha: float, length: float, difference: float) -> None:
    there = free_movement_mm(alpha_per_k=alpha, length_mm=length, difference_k=difference)
    back = free_movement_mm(alpha_per_k=alpha, length_mm=length, difference_k=-difference)
    assert there == -back


@given(st.floats(0, 10_000), st.sampled_from([1, 2, 4, 8, 16, 32, 64]))
def test_an_inch_mark_is_never_further_than_half_a_mark(length: float, parts_per_inch: int) -> None:
    found = nearest_inch_mark(length_mm=length, parts_per_inch=parts_per_inch)
    assert abs(found.error_mm) <= 25.4 / parts_per_inch / 2 + 1e-9
    assert 0 <= found.parts < parts_per_inch


@given(st.floats(0.001, 1e6))
def test_two_figures_are_within_five_per_cent_and_stay_put(value: float) -> None:
    rounded = two_significant_figures(value)
    assert rounded == pytest.approx(value, rel=0.05)
    assert two_significant_figures(rounded) == rounded


@settings(deadline=None)  # the first conversion of a run builds pint's registry
@given(st.fractions(-1000, 1000), st.sampled_from(KINDS), st.data())
def test_a_conversion_there_and_back_is_exact(value: Fraction, kind: str, data: st.DataObject) -> None:
    units = st.sampled_from(kind.split())
    unit, other = data.draw(units), data.draw(units)
    assert converted(converted(value, unit=unit, to=other), unit=other, to=unit) == value
