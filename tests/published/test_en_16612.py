"""EN 16612:2019, lateral load resistance of glass, and DIN 18008-2 for the climatic load (from memory)."""

import pytest

from sawready.calc.glass_cavity import double_unit_share, isochoric_pressure_kpa, pane_pressures_kpa
from sawready.calc.glass_strength import (
    annealed_strength_mpa,
    duration_factor,
    glass_deflection_limit_mm,
)
from sawready.catalogue.physics import physics


@pytest.mark.parametrize(
    ("short", "long", "outer", "inner", "cavity", "pressure", "k5", "side", "phi", "share", "loads"),
    [
        pytest.param(
            900, 1300, 4, 6, 12, 1.5, 0.0355, 328.9, 0.0175, 0.2286, (0.3631, 1.1369), id="GL-009"
        ),
        pytest.param(
            300, 900, 4, 4, 16, 1.0, 0.0646, 272.9, 0.4065, 0.5, (0.7032, 0.2968), id="GL-010"
        ),
    ],
)  # fmt: skip
def test_two_panes_share_a_load_through_their_cavity(
    short: float,
    long: float,
    outer: float,
    inner: float,
    cavity: float,
    pressure: float,
    k5: float,
    side: float,
    phi: float,
    share: float,
    loads: tuple[float, float],
) -> None:
    found = double_unit_share(
        width_mm=short,
        height_mm=long,
        outer_mm=outer,
        inner_mm=inner,
        cavity_mm=cavity,
        pressure_kpa=pressure,
        e_mpa=70_000,
        poisson=0.23,
        air_pressure_mpa=0.1,
    )
    assert found.k5 == pytest.approx(k5, rel=0.005)
    assert found.characteristic_mm == pytest.approx(side, rel=0.005)
    assert found.stiffness_factor == pytest.approx(phi, rel=0.005)
    assert found.outer_share == pytest.approx(share, rel=0.005)
    assert (found.outer_kpa, found.inner_kpa) == pytest.approx(loads, rel=0.005)
    # The general form for any number of panes gives the same for two.
    general = pane_pressures_kpa(
        width_mm=short,
        height_mm=long,
        panes_mm=(outer, inner),
        cavities_mm=(cavity,),
        pressure_kpa=pressure,
        isochoric_kpa=0,
        e_mpa=70_000,
        poisson=0.23,
        air_pressure_mpa=0.1,
    )
    assert general == pytest.approx((found.outer_kpa, found.inner_kpa), rel=1e-12)


@pytest.mark.parametrize(
    ("difference", "air", "height", "pressure"),
    [
        pytest.param(20, -2, 600, 16.0, id="GL-011"),
        pytest.param(-25, 4, -300, -16.1, id="GL-012"),
    ],
)
def test_climatic_pressure_of_the_usual_sets(
    difference: float, air: float, height: float, pressure: float
) -> None:
    found = isochoric_pressure_kpa(
        difference_k=difference, air_pressure_change_kpa=air, height_change_m=height
    )
    assert found == pytest.approx(pressure, abs=0.05)


def test_design_strength_of_float_glass_in_a_storm() -> None:
    """GL-013."""
    found = annealed_strength_mpa(
        characteristic_mpa=45, duration_factor=0.74, surface_factor=1, edge_factor=1, material_factor=1.6
    )
    assert found == pytest.approx(20.81, abs=0.02)


def test_duration_factor_of_ten_minutes_and_of_a_gust() -> None:
    """GL-014."""
    assert duration_factor(duration_s=600) == pytest.approx(0.742, abs=0.002)
    assert duration_factor(duration_s=600) == pytest.approx(physics().number("glass.kmod_storm"), abs=0.005)
    assert duration_factor(duration_s=5) == physics().number("glass.kmod_gust") == 1.0


def test_deflection_limit_of_a_pane() -> None:
    """9.1.4: span / 65, at most 50 mm."""
    assert glass_deflection_limit_mm(span_mm=650, span_over=65, most_mm=50) == 10
    assert glass_deflection_limit_mm(span_mm=3250, span_over=65, most_mm=50) == 50
    assert glass_deflection_limit_mm(span_mm=3251, span_over=65, most_mm=50) == 50
