"""Mass of glass: EN 572-1 (2500 kg/m3) and published examples of the glass trade.

GM-001 is a worked example of the trade (25.5 kg), GM-002 and GM-003 the usual 20 and 30 kg/m2; the rest is
worked by hand. One page quotes 22 kg/m2 for 4/4 because it adds spacer and sealant.
"""

import pytest

from sawready.calc.glass_mass import laminated_mass_kg_m2, unit_mass_kg


@pytest.mark.parametrize(
    ("width", "height", "panes", "mass"),
    [
        pytest.param(1700, 500, [12], 25.5, id="GM-001"),
        pytest.param(1000, 1000, [4, 4], 20.0, id="GM-002"),
        pytest.param(1000, 1000, [4, 4, 4], 30.0, id="GM-003"),
        pytest.param(1107, 1357, [4, 4], 30.044, id="GM-004"),
        pytest.param(905, 1905, [6, 4], 43.101, id="GM-005"),
    ],
)
def test_mass_of_a_unit(width: float, height: float, panes: list[float], mass: float) -> None:
    found = unit_mass_kg(width_mm=width, height_mm=height, panes_mm=panes, density_kg_m3=2500)
    assert found == pytest.approx(mass, abs=0.01)


@pytest.mark.parametrize(
    ("interlayer", "mass"), [pytest.param(0.38, 15.407, id="GM-006"), pytest.param(0.76, 15.813, id="GM-007")]
)
def test_mass_of_laminated_glass(interlayer: float, mass: float) -> None:
    found = laminated_mass_kg_m2(
        glass_mm=6, interlayer_mm=interlayer, glass_density_kg_m3=2500, interlayer_density_kg_m3=1070
    )
    assert found == pytest.approx(mass, abs=0.01)
