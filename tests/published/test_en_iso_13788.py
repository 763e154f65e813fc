"""EN ISO 13788:2012, internal surface temperature and condensation; DIN 4108-2 for the factor of 0.70.

The dew point of 9.3 C and the mould limit of 12.6 C at 20 C and 50 % are commonly quoted (from memory).
"""

import pytest

from sawready.calc.condensation import (
    dew_point_c,
    plane_temperature_factor,
    surface_temperature_c,
    surface_temperature_for_humidity_c,
    temperature_factor,
)


@pytest.mark.parametrize(
    ("u", "outside", "surface", "factor"),
    [pytest.param(1.1, 0, 17.14, 0.857, id="CO-001"), pytest.param(2.7, -5, 11.22, 0.649, id="CO-002")],
)
def test_the_inner_surface_at_the_centre_of_a_pane(
    u: float, outside: float, surface: float, factor: float
) -> None:
    found = surface_temperature_c(u_w_m2k=u, inside_c=20, outside_c=outside, rsi_m2k_w=0.13)
    assert found == pytest.approx(surface, abs=0.01)
    assert plane_temperature_factor(u_w_m2k=u, rsi_m2k_w=0.13) == pytest.approx(factor, abs=0.01)
    assert temperature_factor(surface_c=found, inside_c=20, outside_c=outside) == pytest.approx(
        plane_temperature_factor(u_w_m2k=u, rsi_m2k_w=0.13)
    )


def test_the_factor_of_12_6_degrees_at_20_inside_and_5_below_zero_outside() -> None:
    """CO-003."""
    assert temperature_factor(surface_c=12.6, inside_c=20, outside_c=-5) == pytest.approx(0.704, abs=0.001)


def test_dew_point_and_mould_limit_of_a_room_at_20_degrees_and_half_humidity() -> None:
    """CO-004."""
    assert dew_point_c(air_c=20, relative_humidity=0.5) == pytest.approx(9.27, abs=0.05)
    assert surface_temperature_for_humidity_c(
        air_c=20, relative_humidity=0.5, surface_humidity=0.8
    ) == pytest.approx(12.62, abs=0.05)
