"""Heat: what thermal, energy, glazing_u and condensation refuse, and their edges."""

import math

import pytest

from sawready.calc.condensation import (
    dew_point_c,
    plane_temperature_factor,
    saturation_pressure_pa,
    saturation_temperature_c,
    surface_temperature_c,
    temperature_factor,
)
from sawready.calc.energy import (
    Rounding,
    energy_limit_met,
    judged_u,
    rating_band,
    two_significant_figures,
    window_energy_index_kwh_m2,
    window_solar_factor,
)
from sawready.calc.glazing_u import (
    Gap,
    Gas,
    gas_mix,
    glass_u,
    nusselt_number,
    radiation_conductance_w_m2k,
    single_pane_u_w_m2k,
)
from sawready.calc.thermal import (
    AreaPart,
    EdgePart,
    area_weighted_u,
    column_glass_sizes_m,
    glass_perimeter_m,
    lights_u,
    single_light_u,
    uniform_sight_line_m,
    window_u,
)

AIR = Gas(1.232, 1.761e-5, 0.02496, 1008)
ARGON = Gas(1.699, 2.164e-5, 0.01684, 519)
SURFACES = {"outside_w_m2k": 25, "inside_w_m2k": 7.7, "glass_conductivity_w_mk": 1.0}
CONDITIONS = {"mean_temperature_k": 283, "difference_k": 15}


def test_the_parts_of_a_window_add_up_to_its_loss() -> None:
    found = window_u(
        glass=[AreaPart(0.6, 1.1), AreaPart(0.2, 2.7)],
        panels=[AreaPart(0.5, 1.0)],
        frame=[AreaPart(0.7, 1.4), AreaPart(0.1, 2.0)],
        glass_edges=[EdgePart(3.4, 0.05), EdgePart(1.8, 0.08)],
        panel_edges=[EdgePart(3.0, 0.04)],
    )
    parts = found.glass_loss_w_k + found.panel_loss_w_k + found.frame_loss_w_k + found.edge_loss_w_k
    assert found.u_w_m2k * found.area_m2 == pytest.approx(parts)
    assert found.area_m2 == pytest.approx(2.1)
    assert (found.glass_area_m2, found.panel_area_m2, found.frame_area_m2) == pytest.approx((0.8, 0.5, 0.8))
    assert (found.glass_edge_m, found.panel_edge_m) == pytest.approx((5.2, 3.0))
    assert found.edge_loss_w_k == pytest.approx(3.4 * 0.05 + 1.8 * 0.08 + 3.0 * 0.04)


@pytest.mark.parametrize(
    "parts",
    [
        {"glass": [], "frame": []},
        {"glass": [AreaPart(-1, 1)], "frame": [AreaPart(2, 1)]},
        {"glass": [AreaPart(1, -1)], "frame": [AreaPart(2, 1)]},
        {"glass": [AreaPart(1, 1)], "frame": [AreaPart(math.nan, 1)]},
        {"glass": [AreaPart(1, 1)], "frame": [AreaPart(1, 1)], "glass_edges": [EdgePart(-1, 0.05)]},
        {"glass": [AreaPart(1, 1)], "frame": [AreaPart(1, 1)], "panel_edges": [EdgePart(1, math.inf)]},
    ],
)
def test_a_window_without_area_or_with_a_negative_part_is_refused(parts: dict[str, list[object]]) -> None:
    with pytest.raises(ValueError, match="must be"):
        window_u(**parts)


def test_glass_larger_than_its_window_is_refused() -> None:
    values = {"u_g_w_m2k": 1.1, "u_f_w_m2k": 1.4, "psi_g_w_mk": 0.05}
    with pytest.raises(ValueError, match="does not fit"):
        lights_u(width_m=1, height_m=1, glass_sizes_m=[(0.8, 0.8), (0.8, 0.8)], **values)
    with pytest.raises(ValueError, match="glass_width_m must be above zero"):
        single_light_u(width_m=1, height_m=1, sight_line_m=0.5, **values)
    with pytest.raises(ValueError, match="sight_line_m must be zero or more"):
        single_light_u(width_m=1, height_m=1, sight_line_m=-0.1, **values)


def test_a_window_of_glass_alone_has_no_frame() -> None:
    found = single_light_u(width_m=1, height_m=1, sight_line_m=0, u_g_w_m2k=1.1, u_f_w_m2k=9, psi_g_w_mk=0)
    assert (found.u_w_m2k, found.frame_area_m2) == (pytest.approx(1.1), 0)


@pytest.mark.parametrize("clear", [[0.5, 0.5], [1.06], [0.3, 0.3, 0.46]])
def test_clear_widths_must_add_up(clear: list[float]) -> None:
    with pytest.raises(ValueError, match="add up"):
        column_glass_sizes_m(
            width_m=1.23,
            height_m=1.48,
            frame_sight_m=0.05,
            mullion_sight_m=0.07,
            sash_sights_m=[0.05, 0],
            clear_widths_m=clear,
        )


def test_three_equal_columns_share_what_frame_and_mullions_leave() -> None:
    found = column_glass_sizes_m(
        width_m=2.0, height_m=1.0, frame_sight_m=0.05, mullion_sight_m=0.08, sash_sights_m=[0, 0.06, 0]
    )
    widths = [width for width, _ in found]
    assert sum(widths) + 2 * 0.06 + 2 * 0.05 + 2 * 0.08 == pytest.approx(2.0)
    assert found[1] == pytest.approx((widths[0] - 0.12, 0.9 - 0.12))


def test_a_column_that_is_all_sash_and_a_window_of_no_columns_are_refused() -> None:
    with pytest.raises(ValueError, match="glass_width_m"):
        column_glass_sizes_m(
            width_m=0.3, height_m=1, frame_sight_m=0.05, mullion_sight_m=0.07, sash_sights_m=[0.1]
        )
    with pytest.raises(ValueError, match="columns must be above zero"):
        column_glass_sizes_m(
            width_m=1, height_m=1, frame_sight_m=0.05, mullion_sight_m=0.07, sash_sights_m=[]
        )


@pytest.mark.parametrize(("share", "sight_line"), [(0, 0), (1, 0.5)])
def test_no_frame_and_nothing_but_frame(share: float, sight_line: float) -> None:
    assert uniform_sight_line_m(width_m=1, height_m=1, frame_fraction=share) == pytest.approx(sight_line)


def test_sight_lines_of_nothing_are_refused() -> None:
    with pytest.raises(ValueError, match="from 0 to 1"):
        uniform_sight_line_m(width_m=1, height_m=1, frame_fraction=1.1)
    with pytest.raises(ValueError, match="width_m"):
        uniform_sight_line_m(width_m=0, height_m=1, frame_fraction=0.3)
    with pytest.raises(ValueError, match="glass_width_m"):
        glass_perimeter_m(width_m=0.2, height_m=1, sight_line_m=0.1)
    with pytest.raises(ValueError, match="area_m2 must be above zero"):
        area_weighted_u(parts=[])


@pytest.mark.parametrize(
    ("value", "rounded"),
    [(0, 0.0), (0.995, 1.0), (9.96, 10.0), (0.0449, 0.045), (14.5, 15.0), (-1.45, -1.5), (0.9949, 0.99)],
)
def test_two_significant_figures_at_powers_of_ten(value: float, rounded: float) -> None:
    assert two_significant_figures(value) == rounded


def test_an_unknown_rounding_or_band_is_refused() -> None:
    with pytest.raises(ValueError, match="is not a valid Rounding"):
        judged_u(u_w_m2k=1.4, limit_w_m2k=1.4, rounding="up")
    with pytest.raises(ValueError, match="band 'Z'"):
        energy_limit_met(u_w_m2k=1.3, band="Z", limit_w_m2k=1.4, least_band="B", rounding=Rounding.UNROUNDED)
    with pytest.raises(ValueError, match="finite"):
        two_significant_figures(math.nan)


def test_a_band_does_not_count_where_the_rulebook_has_none() -> None:
    found = energy_limit_met(u_w_m2k=1.5, band="A++", limit_w_m2k=1.4, least_band=None, rounding="unrounded")
    assert not found.ok
    assert found.u is not None
    assert found.u.judged_w_m2k == 1.5


@pytest.mark.parametrize(
    ("index", "band"), [(0, "A"), (-0.001, "B"), (-10, "B"), (-20, "C"), (-20.001, None)]
)
def test_band_thresholds_are_reached_from_themselves_up(index: float, band: str | None) -> None:
    assert rating_band(index_kwh_m2=index, band_from_kwh_m2={"C": -20, "A": 0, "B": -10}) == band


def test_solar_factors_outside_0_to_1_are_refused() -> None:
    assert window_solar_factor(g_glass=0.63, glass_fraction=0.7, utilisation=0.9) == pytest.approx(0.3969)
    with pytest.raises(ValueError, match="g_glass"):
        window_solar_factor(g_glass=63, glass_fraction=0.7, utilisation=0.9)
    with pytest.raises(ValueError, match="g_window"):
        window_energy_index_kwh_m2(
            g_window=43, u_w_m2k=1.4, air_leakage_w_m2k=0.02, gain_kwh_m2=218.6, loss_kwh_k_w=68.5
        )


@pytest.mark.parametrize(
    ("shares", "says"),
    [
        ({"xenon": 1.0}, "'xenon' is not one of air, argon"),
        ({"argon": 0.9}, "add up to 1"),
        ({"argon": 1.1, "air": -0.1}, "zero or more"),
    ],
)
def test_a_filling_that_is_no_whole_is_refused(shares: dict[str, float], says: str) -> None:
    with pytest.raises(ValueError, match=says):
        gas_mix(gases={"air": AIR, "argon": ARGON}, shares=shares)


@pytest.mark.parametrize("emissivities", [(0, 0.837), (0.837, 1.1), (-0.1, 0.5)])
def test_emissivities_that_no_surface_has_are_refused(emissivities: tuple[float, float]) -> None:
    with pytest.raises(ValueError, match="emissivity"):
        radiation_conductance_w_m2k(emissivities=emissivities, mean_temperature_k=283)


def test_still_gas_has_a_nusselt_number_of_one() -> None:
    known = {"gas": AIR, "width_mm": 16, "mean_temperature_k": 283}
    assert nusselt_number(difference_k=0, **known) == 1
    with pytest.raises(ValueError, match="difference_k"):
        nusselt_number(difference_k=-1, **known)
    with pytest.raises(ValueError, match="width_mm"):
        nusselt_number(gas=AIR, width_mm=0, difference_k=15, mean_temperature_k=283)


def test_the_form_for_a_unit_gives_the_single_pane_too() -> None:
    alone = single_pane_u_w_m2k(thickness_mm=6, **SURFACES)
    assert glass_u(panes_mm=[6], gaps=[], **SURFACES, **CONDITIONS).u_w_m2k == pytest.approx(alone)


def test_panes_and_gaps_must_alternate() -> None:
    with pytest.raises(ValueError, match="1 gaps need 2 panes, not 3"):
        glass_u(panes_mm=[4, 4, 4], gaps=[Gap(16, AIR, (0.8, 0.8))], **SURFACES, **CONDITIONS)
    with pytest.raises(ValueError, match="pane_2_mm"):
        glass_u(panes_mm=[4, 0], gaps=[Gap(16, AIR, (0.8, 0.8))], **SURFACES, **CONDITIONS)
    with pytest.raises(ValueError, match="thickness_mm"):
        single_pane_u_w_m2k(thickness_mm=0, **SURFACES)


def test_sharing_the_difference_stops_after_its_rounds(monkeypatch: pytest.MonkeyPatch) -> None:
    gaps = [Gap(22, AIR, (0.837, 0.837)), Gap(18, ARGON, (0.837, 0.03))]
    settled = glass_u(panes_mm=[4, 4, 4], gaps=gaps, **SURFACES, **CONDITIONS).u_w_m2k
    monkeypatch.setattr("sawready.calc.glazing_u._MOST_ROUNDS", 1)
    first = glass_u(panes_mm=[4, 4, 4], gaps=gaps, **SURFACES, **CONDITIONS)
    assert [gap.difference_k for gap in first.gaps] == [7.5, 7.5]
    assert first.u_w_m2k == pytest.approx(settled, rel=0.1)


def test_unlike_gaps_share_the_difference_by_their_resistance() -> None:
    gaps = [Gap(22, AIR, (0.837, 0.837)), Gap(18, ARGON, (0.837, 0.03))]
    found = glass_u(panes_mm=[4, 4, 4], gaps=gaps, **SURFACES, **CONDITIONS)
    first, second = found.gaps
    assert first.difference_k + second.difference_k == pytest.approx(15)
    assert first.difference_k * first.conductance_w_m2k == pytest.approx(
        second.difference_k * second.conductance_w_m2k, rel=1e-7
    )
    assert second.difference_k > first.difference_k


@pytest.mark.parametrize("temperature", [-30.0, -5.0, -0.01, 0.0, 0.01, 12.6, 35.0])
def test_saturation_goes_there_and_back_over_ice_and_water(temperature: float) -> None:
    pressure = saturation_pressure_pa(temperature_c=temperature)
    assert saturation_temperature_c(pressure_pa=pressure) == pytest.approx(temperature, abs=1e-9)


def test_dry_cold_air_has_its_dew_point_over_ice() -> None:
    assert dew_point_c(air_c=5, relative_humidity=0.4) < 0
    assert dew_point_c(air_c=20, relative_humidity=1) == pytest.approx(20)


@pytest.mark.parametrize("humidity", [0, -0.1, 1.01, 50])
def test_a_humidity_in_per_cent_is_refused(humidity: float) -> None:
    with pytest.raises(ValueError, match="humidity must be above 0 and at most 1"):
        dew_point_c(air_c=20, relative_humidity=humidity)


def test_condensation_refuses_what_has_no_meaning() -> None:
    with pytest.raises(ValueError, match="must differ"):
        temperature_factor(surface_c=20, inside_c=20, outside_c=20)
    with pytest.raises(ValueError, match="from -100 to 200"):
        saturation_pressure_pa(temperature_c=293)
    with pytest.raises(ValueError, match="pressure_pa"):
        saturation_temperature_c(pressure_pa=0)
    with pytest.raises(ValueError, match="u_w_m2k"):
        surface_temperature_c(u_w_m2k=0, inside_c=20, outside_c=0, rsi_m2k_w=0.13)
    with pytest.raises(ValueError, match="rsi_m2k_w"):
        plane_temperature_factor(u_w_m2k=1, rsi_m2k_w=0)
