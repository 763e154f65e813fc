"""EN 673:2011, glass in building, determination of thermal transmittance (formulas and data from memory).

The published values of U_g (2.7, 2.8, 1.1, 0.7, 0.6 and 5.7 W/m2K) are from an engineering guide to the
standard, the glazing table of ISO 10077-1 and makers' catalogues; the parts are recomputed by hand.
"""

import pytest

from sawready.calc.energy import two_significant_figures
from sawready.calc.glazing_u import Gap, GlassU, gas_mix, glass_u, single_pane_u_w_m2k
from sawready.catalogue.physics import physics

AIR = gas_mix(gases=physics().gases, shares={"air": 1.0})
ARGON_90 = gas_mix(gases=physics().gases, shares={"argon": 0.9, "air": 0.1})
UNCOATED = (0.837, 0.837)
COATED = (0.837, 0.03)


def upright_unit(panes: int, gap: Gap, *, outside: float = 25, inside: float = 7.7) -> GlassU:
    return glass_u(
        panes_mm=[4] * panes,
        gaps=[gap] * (panes - 1),
        outside_w_m2k=outside,
        inside_w_m2k=inside,
        glass_conductivity_w_mk=1.0,
        mean_temperature_k=283,
        difference_k=15,
    )


@pytest.mark.parametrize(
    ("panes", "gap", "u_g", "gas", "radiation", "nusselt", "published"),
    [
        pytest.param(2, Gap(16, ARGON_90, COATED), 1.103, 1.2184, 0.1533, 1.1044, 1.1, id="UG-001"),
        pytest.param(2, Gap(16, AIR, UNCOATED), 2.732, 1.6136, 3.6995, 1.0344, 2.7, id="UG-002"),
        pytest.param(3, Gap(12, ARGON_90, COATED), 0.708, 1.471, 0.1533, 1.0, 0.7, id="UG-003"),
        pytest.param(3, Gap(16, ARGON_90, COATED), 0.564, 1.1033, 0.1533, 1.0, 0.6, id="UG-004"),
        # A gap wider than about 16 mm of argon gets worse again.
        pytest.param(2, Gap(20, ARGON_90, COATED), 1.128, 1.2571, 0.1533, 1.4243, 1.1, id="UG-005"),
        # 2.8499 unrounded: compared before rounding.
        pytest.param(2, Gap(12, AIR, UNCOATED), 2.85, 2.08, 3.6995, 1.0, 2.8, id="UG-006"),
    ],
)
def test_a_sealed_unit(
    panes: int, gap: Gap, u_g: float, gas: float, radiation: float, nusselt: float, published: float
) -> None:
    found = upright_unit(panes, gap)
    assert found.u_w_m2k == pytest.approx(u_g, abs=0.001)
    assert found.u_w_m2k == pytest.approx(published, abs=0.0501)
    for one in found.gaps:
        assert one.gas_w_m2k == pytest.approx(gas, abs=0.01)
        assert one.radiation_w_m2k == pytest.approx(radiation, abs=0.0001)
        assert one.nusselt == pytest.approx(nusselt, abs=0.0001)


def test_older_surface_coefficients_raise_it_a_little() -> None:
    """Note to UG-006."""
    found = upright_unit(2, Gap(12, AIR, UNCOATED), outside=23, inside=8)
    assert found.u_w_m2k == pytest.approx(2.861, abs=0.0005)


def test_a_single_pane() -> None:
    """UG-007."""
    found = single_pane_u_w_m2k(
        thickness_mm=6, outside_w_m2k=25, inside_w_m2k=7.7, glass_conductivity_w_mk=1.0
    )
    assert found == pytest.approx(5.686, abs=0.005)
    assert two_significant_figures(found) == 5.7


@pytest.mark.parametrize(
    ("panes", "gap", "u_g"),
    [
        (2, Gap(12, ARGON_90, COATED), 1.26),
        (3, Gap(18, ARGON_90, COATED), 0.51),
    ],
    ids=["argon-lowe-4-12-4", "triple-4-18-4-18-4"],
)
def test_further_values_of_a_catalogue(panes: int, gap: Gap, u_g: float) -> None:
    assert upright_unit(panes, gap).u_w_m2k == pytest.approx(u_g, abs=0.005)
