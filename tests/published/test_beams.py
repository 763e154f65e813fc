"""Bars under wind against hand-worked examples and a general-purpose finite element library.

The examples MU-001 to MU-009 were cross-checked with two finite element libraries when they were worked
out; the tests below repeat that check here, independently, with PyNiteFEA where it is installed (extra
``test``): another formulation (stiffness method, the load as the library's own sloping member loads), so it
shares nothing with the closed forms. MU-010 was cross-checked with a general section program.
"""

import itertools

import pytest

from sawready.calc.bar_loads import PointLoad, SlopingLoad, field_loads, simply_supported
from sawready.calc.bar_wind import bar_under_wind
from sawready.calc.beam import (
    box_second_moment_mm4,
    composite_stiffness_n_mm2,
    equivalent_second_moment_mm4,
    trapezoid_deflection_mm,
    trapezoid_moment_n_mm,
    triangle_deflection_mm,
    triangle_moment_n_mm,
    uniform_deflection_mm,
    uniform_moment_n_mm,
)

STEEL_MPA = 210_000


@pytest.mark.parametrize(
    ("span", "left", "right", "pressure", "span_over", "needed", "moment"),
    [
        pytest.param(1200, 600, 600, 1200, 200, 13924.3, 118800.0, id="MU-001"),
        pytest.param(1500, 700, 700, 1000, 200, 26800.4, 182583.3, id="MU-002"),
        pytest.param(1400, 500, 800, 1600, 300, 47927.6, 233566.7, id="MU-003"),
        pytest.param(2100, 900, 900, 1200, 200, 115086.1, 558900.0, id="MU-004"),
        pytest.param(1200, 1200, 1200, 800, 150, 9874.3, 115200.0, id="MU-005"),
        pytest.param(1200, 600, 0, 1200, 200, 6962.1, 59400.0, id="MU-006"),
    ],
)
def test_a_mullion_between_two_fields(
    span: float, left: float, right: float, pressure: float, span_over: float, needed: float, moment: float
) -> None:
    found = bar_under_wind(
        span_mm=span,
        field_widths_mm=(left, right),
        pressure_pa=pressure,
        span_over=span_over,
        e_mpa=STEEL_MPA,
    )
    assert found.needed_i_mm4 == pytest.approx(needed, rel=0.001)
    assert found.moment_n_mm == pytest.approx(moment, rel=0.001)
    assert found.deflection_mm is found.ok is None


@pytest.mark.parametrize(
    ("span", "left", "right", "second_moment", "deflection", "ratio", "within"),
    [
        pytest.param(2100, 900, 900, 100_000, 12.084, 173.8, False, id="MU-004"),
        pytest.param(1200, 600, 0, 20_000, 2.0886, 574.5, True, id="MU-006"),
    ],
)
def test_a_mullion_of_known_section(
    span: float,
    left: float,
    right: float,
    second_moment: float,
    deflection: float,
    ratio: float,
    within: bool,
) -> None:
    found = bar_under_wind(
        span_mm=span,
        field_widths_mm=(left, right),
        pressure_pa=1200,
        span_over=200,
        e_mpa=STEEL_MPA,
        i_mm4=second_moment,
    )
    assert found.deflection_mm == pytest.approx(deflection, rel=0.001)
    assert found.ratio == pytest.approx(ratio, rel=0.001)
    assert found.ok is within


def test_a_load_that_rises_over_a_ramp() -> None:
    """MU-007."""
    assert trapezoid_deflection_mm(
        peak_n_mm=0.36, ramp_mm=300, span_mm=1200, stiffness_n_mm2=STEEL_MPA * 10_000
    ) == pytest.approx(4.1773, rel=0.001)
    assert trapezoid_moment_n_mm(peak_n_mm=0.36, ramp_mm=300, span_mm=1200) == pytest.approx(59400, rel=0.001)


def test_a_triangle_load() -> None:
    """MU-008."""
    assert triangle_deflection_mm(
        peak_n_mm=0.5, span_mm=1200, stiffness_n_mm2=STEEL_MPA * 15_000
    ) == pytest.approx(2.7429, rel=0.001)
    assert triangle_moment_n_mm(peak_n_mm=0.5, span_mm=1200) == pytest.approx(60000, rel=0.001)


def test_an_even_load() -> None:
    """MU-009."""
    assert uniform_deflection_mm(
        load_n_mm=0.72, span_mm=1200, stiffness_n_mm2=STEEL_MPA * 20_000
    ) == pytest.approx(4.6286, rel=0.001)
    assert uniform_moment_n_mm(load_n_mm=0.72, span_mm=1200) == pytest.approx(129600, rel=0.001)


def test_a_steel_box() -> None:
    """MU-010."""
    assert box_second_moment_mm4(width_mm=25, depth_mm=35, wall_mm=1.5) == pytest.approx(29248.2, rel=0.002)


def test_plastic_and_steel_without_a_bond() -> None:
    """MU-011."""
    stiffness = composite_stiffness_n_mm2(parts=[(2300, 450_000), (STEEL_MPA, 22_000)])
    assert stiffness == pytest.approx(5_655_000_000, rel=0.001)
    assert equivalent_second_moment_mm4(stiffness_n_mm2=stiffness, e_mpa=STEEL_MPA) == pytest.approx(
        26928.6, rel=0.001
    )


def by_finite_elements(
    span: float,
    stiffness: float,
    sloping: list[SlopingLoad],
    points: list[PointLoad] | None = None,
    *,
    elements: int = 1,
) -> tuple[float, float]:
    """Greatest deflection [mm] and moment [N mm] by the stiffness method of a general library."""
    pynite = pytest.importorskip("Pynite", reason="PyNiteFEA of the extra 'test' is not installed")
    model = pynite.FEModel3D()
    model.add_material("steel", STEEL_MPA, STEEL_MPA / 2.6, 0.3, 7.85e-9)
    second_moment = stiffness / STEEL_MPA
    model.add_section("bar", 1000.0, second_moment, second_moment, second_moment)
    places = [span * number / elements for number in range(elements + 1)]
    for number, place in enumerate(places):
        model.add_node(f"n{number}", place, 0, 0)
    model.add_member("bar", "n0", f"n{elements}", "steel", "bar")
    model.def_support("n0", True, True, True, True, False, False)
    model.def_support(f"n{elements}", False, True, True, False, False, False)
    for load in sloping:
        model.add_member_dist_load("bar", "Fy", -load.start_n_mm, -load.end_n_mm, load.start_mm, load.end_mm)
    for point in points or []:
        model.add_member_pt_load("bar", "Fy", -point.force_n, point.place_mm)
    model.analyze_linear()
    bar = model.members["bar"]
    steps = [span * number / 4000 for number in range(4001)]
    deflection = -min(bar.deflection("dy", step) for step in steps)
    moment = max(abs(bar.moment("Mz", step)) for step in steps)
    return deflection, moment


@pytest.mark.parametrize(
    ("span", "widths", "pressure"),
    [
        (1200, (600, 600), 1200),
        (1500, (700, 700), 1000),
        (1400, (500, 800), 1600),
        (2100, (900, 900), 1200),
        (1200, (1200, 1200), 800),
        (1200, (1900, 350), 800),
        (1200, (600, 0), 1200),
    ],
)
def test_closed_forms_agree_with_finite_elements(
    span: float, widths: tuple[float, float], pressure: float
) -> None:
    found = bar_under_wind(
        span_mm=span,
        field_widths_mm=widths,
        pressure_pa=pressure,
        span_over=200,
        e_mpa=STEEL_MPA,
        i_mm4=30_000,
    )
    sloping = [
        load
        for width in widths
        for load in field_loads(pressure_pa=pressure, field_width_mm=width, start_mm=0, length_mm=span)
    ]
    deflection, moment = by_finite_elements(span, STEEL_MPA * 30_000, sloping)
    assert found.deflection_mm == pytest.approx(deflection, rel=0.0001)
    assert found.moment_n_mm == pytest.approx(moment, rel=0.0001)


@pytest.mark.parametrize("places", [(400, 900), (250, 1333), (700, 701)])
def test_a_mullion_that_transoms_end_on_agrees_with_finite_elements(places: tuple[float, float]) -> None:
    span, stiffness = 1800.0, STEEL_MPA * 60_000.0
    edges = (0.0, *places, span)
    sloping = [
        load
        for start, end in itertools.pairwise(edges)
        for load in field_loads(pressure_pa=1200, field_width_mm=650, start_mm=start, length_mm=end - start)
    ]
    sloping += field_loads(pressure_pa=1200, field_width_mm=800, start_mm=0, length_mm=span)
    points = [PointLoad(place, 95 + place / 10) for place in places]
    found = simply_supported(span_mm=span, sloping=sloping, points=points)
    deflection, moment = by_finite_elements(span, stiffness, sloping, points)
    assert found.deflection_mm(stiffness_n_mm2=stiffness) == pytest.approx(deflection, rel=0.0001)
    assert found.moment_n_mm == pytest.approx(moment, rel=0.0001)


def test_the_general_bar_is_the_closed_form_where_every_field_runs_along_it() -> None:
    closed = bar_under_wind(
        span_mm=1400,
        field_widths_mm=(500, 800),
        pressure_pa=1600,
        span_over=300,
        e_mpa=STEEL_MPA,
        i_mm4=50_000,
    )
    sloping = [
        load
        for width in (500, 800)
        for load in field_loads(pressure_pa=1600, field_width_mm=width, start_mm=0, length_mm=1400)
    ]
    general = simply_supported(span_mm=1400, sloping=sloping)
    assert general.deflection_mm(stiffness_n_mm2=STEEL_MPA * 50_000) == pytest.approx(
        closed.deflection_mm, rel=1e-12
    )
    assert general.moment_n_mm == pytest.approx(closed.moment_n_mm, rel=1e-12)
    assert general.deflection_at_mm == pytest.approx(700, abs=1e-5)
