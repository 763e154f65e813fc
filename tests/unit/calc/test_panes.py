"""Panes and sealed units: what they refuse, and their edges."""

import pytest

from sawready.calc.glass_cavity import double_unit_share, isochoric_pressure_kpa, pane_pressures_kpa
from sawready.calc.glass_e1300 import e1300_deflection_mm, e1300_terms
from sawready.calc.glass_mass import laminated_mass_kg_m2, unit_mass_kg
from sawready.calc.glass_plate import (
    en16612_coefficients,
    interpolated,
    large_deflection_mm,
    plate_coefficients,
    plate_under_pressure,
)
from sawready.calc.glass_strength import (
    annealed_strength_mpa,
    duration_factor,
    glass_deflection_limit_mm,
    laminate_thickness_mm,
    pane_under_load,
    prestressed_strength_mpa,
)

GLASS = {"e_mpa": 70_000, "poisson": 0.23}
AIR = {"air_pressure_mpa": 0.1}


@pytest.mark.parametrize(
    ("ratio", "poisson", "says"), [(0.9, 0.23, "long_over_short"), (1, 0.5, "Poisson"), (1, -0.1, "Poisson")]
)
def test_plates_that_cannot_be_are_refused(ratio: float, poisson: float, says: str) -> None:
    with pytest.raises(ValueError, match=says):
        plate_coefficients(long_over_short=ratio, poisson=poisson)


@pytest.mark.parametrize("ratio", [0, -0.5, 1.01])
def test_an_aspect_outside_0_to_1_is_refused(ratio: float) -> None:
    with pytest.raises(ValueError, match="short_over_long"):
        en16612_coefficients(short_over_long=ratio, poisson=0.23)


def test_a_pane_may_lie_or_stand_and_be_pushed_or_drawn() -> None:
    lying = plate_under_pressure(width_mm=1300, height_mm=900, thickness_mm=6, pressure_kpa=1.5, **GLASS)
    drawn = plate_under_pressure(width_mm=900, height_mm=1300, thickness_mm=6, pressure_kpa=-1.5, **GLASS)
    assert lying == drawn


def test_a_pane_without_thickness_is_refused() -> None:
    for call in (plate_under_pressure, large_deflection_mm):
        with pytest.raises(ValueError, match="thickness_mm"):
            call(width_mm=1300, height_mm=900, thickness_mm=0, pressure_kpa=1.5, **GLASS)


def test_membrane_action_vanishes_for_small_loads() -> None:
    pane = {"width_mm": 900, "height_mm": 900, "thickness_mm": 6, **GLASS}
    # One term of the series deflects 2.5 % more than the whole of it.
    assert large_deflection_mm(pressure_kpa=0.001, **pane) == pytest.approx(
        plate_under_pressure(pressure_kpa=0.001, **pane).deflection_mm, rel=0.03
    )
    assert large_deflection_mm(pressure_kpa=0, **pane) == 0


def test_the_polynomial_refuses_loads_below_its_range() -> None:
    pane = {"width_mm": 900, "height_mm": 900, "least_thickness_mm": 5.6, "e_mpa": 71_700}
    for pressure in (0, 0.0001, 0.28):
        with pytest.raises(ValueError, match="too small"):
            e1300_deflection_mm(pressure_kpa=pressure, **pane)
    with pytest.raises(ValueError, match="long_over_short"):
        e1300_terms(long_over_short=0.9)


@pytest.mark.parametrize(("at", "value"), [(1, 10), (2, 20), (1.5, 15), (4, 30), (3, 25)])
def test_between_rows_a_straight_line_and_on_them_the_row(at: float, value: float) -> None:
    assert interpolated(at=at, table={4: 30, 1: 10, 2: 20}) == pytest.approx(value)


def test_outside_a_table_nothing_is_guessed() -> None:
    for at, table in ((0.9, {1: 10, 2: 20}), (2.1, {1: 10, 2: 20}), (1, {})):
        with pytest.raises(ValueError, match="outside the table"):
            interpolated(at=at, table=table)
    assert interpolated(at=3, table={3: 7}) == 7


def test_strength_needs_factors_above_zero() -> None:
    good = {
        "characteristic_mpa": 45,
        "duration_factor": 0.74,
        "surface_factor": 1,
        "edge_factor": 1,
        "material_factor": 1.6,
    }
    for name in good:
        with pytest.raises(ValueError, match=name):
            annealed_strength_mpa(**{**good, name: 0})
    with pytest.raises(ValueError, match="duration_s"):
        duration_factor(duration_s=0)
    with pytest.raises(ValueError, match="frozen_in_mpa"):
        prestressed_strength_mpa(
            annealed_mpa=20,
            prestressed_characteristic_mpa=40,
            annealed_characteristic_mpa=45,
            process_factor=1,
            prestress_factor=1.2,
        )
    with pytest.raises(ValueError, match="span_mm"):
        glass_deflection_limit_mm(span_mm=0, span_over=65, most_mm=50)


def test_a_laminate_lies_between_sliding_plies_and_solid_glass() -> None:
    assert laminate_thickness_mm(plies_mm=(4,), coupling=0) == pytest.approx(4)
    assert laminate_thickness_mm(plies_mm=(3, 3), coupling=1) == pytest.approx(6)
    assert laminate_thickness_mm(plies_mm=(3, 5), coupling=1) == pytest.approx(8)
    assert laminate_thickness_mm(plies_mm=(3, 5), coupling=0) == pytest.approx((27 + 125) ** (1 / 3))
    for plies, coupling in (((), 0), ((3, 3), 1.1), ((3, 0), 0)):
        with pytest.raises(ValueError, match=r"needed|ply_mm"):
            laminate_thickness_mm(plies_mm=plies, coupling=coupling)


def test_a_pane_fails_by_stress_or_by_deflection() -> None:
    pane = {
        "width_mm": 900,
        "height_mm": 1300,
        "thickness_mm": 4,
        "pressure_kpa": 0.5,
        "load_factor": 1.5,
        **GLASS,
    }
    good = pane_under_load(strength_mpa=20.8, deflection_limit_mm=13.8, **pane)
    weak = pane_under_load(strength_mpa=good.stress_mpa * 0.999, deflection_limit_mm=13.8, **pane)
    soft = pane_under_load(strength_mpa=20.8, deflection_limit_mm=good.deflection_mm * 0.999, **pane)
    just = pane_under_load(strength_mpa=good.stress_mpa, deflection_limit_mm=good.deflection_mm, **pane)
    assert (good.ok, weak.ok, soft.ok, just.ok) == (True, False, False, True)
    assert not good.is_linear
    with pytest.raises(ValueError, match="load_factor"):
        pane_under_load(**{**pane, "load_factor": 0, "strength_mpa": 20, "deflection_limit_mm": 10})


def test_panes_and_cavities_must_alternate() -> None:
    known = {"width_mm": 900, "height_mm": 1300, "pressure_kpa": 1.0, **GLASS, **AIR}
    with pytest.raises(ValueError, match="1 cavities need 2 panes, not 3"):
        pane_pressures_kpa(panes_mm=(4, 4, 4), cavities_mm=(16,), isochoric_kpa=0, **known)
    with pytest.raises(ValueError, match="2 cavities need 2 climatic pressures, not 1"):
        pane_pressures_kpa(panes_mm=(4, 4, 4), cavities_mm=(16, 16), isochoric_kpa=[16], **known)
    with pytest.raises(ValueError, match="thickness_mm"):
        pane_pressures_kpa(panes_mm=(4, 0), cavities_mm=(16,), isochoric_kpa=0, **known)
    with pytest.raises(ValueError, match="cavity_mm"):
        double_unit_share(outer_mm=4, inner_mm=4, cavity_mm=0, **known)
    with pytest.raises(ValueError, match="per_k"):
        isochoric_pressure_kpa(difference_k=1, air_pressure_change_kpa=0, height_change_m=0, per_k=0)


def test_a_single_pane_takes_all_the_wind() -> None:
    found = pane_pressures_kpa(
        width_mm=900,
        height_mm=1300,
        panes_mm=(6,),
        cavities_mm=(),
        pressure_kpa=1.2,
        isochoric_kpa=16,
        **GLASS,
        **AIR,
    )
    assert found == (1.2,)


@pytest.mark.parametrize("side", [250, 900, 2000])
def test_climate_pushes_the_panes_apart_and_sums_to_nothing(side: float) -> None:
    known = {"width_mm": side, "height_mm": side, "pressure_kpa": 0, "isochoric_kpa": 16, **GLASS, **AIR}
    outer, inner = pane_pressures_kpa(panes_mm=(4, 4), cavities_mm=(16,), **known)
    assert outer < 0 < inner
    assert outer + inner == pytest.approx(0, abs=1e-12)
    first, middle, last = pane_pressures_kpa(panes_mm=(4, 4, 4), cavities_mm=(12, 12), **known)
    assert first < 0 < last
    assert middle == pytest.approx(0, abs=1e-12)


def test_small_stiff_units_take_most_of_the_climatic_pressure() -> None:
    known = {"pressure_kpa": 0, "isochoric_kpa": 16, **GLASS, **AIR}
    small = pane_pressures_kpa(width_mm=200, height_mm=300, panes_mm=(6, 6), cavities_mm=(16,), **known)
    large = pane_pressures_kpa(width_mm=1200, height_mm=1500, panes_mm=(4, 4), cavities_mm=(16,), **known)
    assert small[1] > 10
    assert large[1] < 1


def test_each_cavity_of_a_triple_unit_may_have_its_own_climate() -> None:
    known = {"width_mm": 500, "height_mm": 700, "pressure_kpa": 0, **GLASS, **AIR}
    found = pane_pressures_kpa(panes_mm=(4, 4, 4), cavities_mm=(12, 12), isochoric_kpa=[16, 0], **known)
    assert found[0] < 0 < found[1]
    assert sum(found) == pytest.approx(0, abs=1e-12)


def test_masses_of_nothing_are_refused() -> None:
    with pytest.raises(ValueError, match="glass_mm"):
        unit_mass_kg(width_mm=1000, height_mm=1000, panes_mm=[], density_kg_m3=2500)
    with pytest.raises(ValueError, match="interlayer_mm"):
        laminated_mass_kg_m2(
            glass_mm=6, interlayer_mm=-0.38, glass_density_kg_m3=2500, interlayer_density_kg_m3=1070
        )
