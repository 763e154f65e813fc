"""Thermal expansion of frame members: published examples of window jambs, the rest by hand.

TE-001: 6.66 mm for a 2 m PVC jamb over 52 K at 64e-6 per K; TE-002: about 6 mm for 2 m over 40 K.
"""

import pytest

from sawready.calc.expansion import differential_movement_mm, free_movement_mm, length_for_movement_mm


@pytest.mark.parametrize(
    ("alpha", "length", "difference", "movement"),
    [
        pytest.param(64e-6, 2000, 52, 6.656, id="TE-001"),
        pytest.param(75e-6, 2000, 40, 6.0, id="TE-002"),
        pytest.param(70e-6, 1200, 35, 2.94, id="TE-003"),
        pytest.param(70e-6, 2400, -30, -5.04, id="TE-004"),
        pytest.param(12e-6, 2000, 52, 1.248, id="TE-005"),
        pytest.param(23e-6, 3000, 40, 2.76, id="TE-006"),
    ],
)
def test_free_movement(alpha: float, length: float, difference: float, movement: float) -> None:
    found = free_movement_mm(alpha_per_k=alpha, length_mm=length, difference_k=difference)
    assert found == pytest.approx(movement, abs=0.005)


def test_plastic_outgrows_its_steel() -> None:
    """TE-007."""
    found = differential_movement_mm(
        length_mm=1500, difference_k=45, alpha_1_per_k=70e-6, alpha_2_per_k=12e-6
    )
    assert found == pytest.approx(3.915, abs=0.005)


def test_a_growth_of_24_mm_is_no_window() -> None:
    """A figure in circulation, 2.4 cm at 40 C, would need 8.57 m of PVC-U."""
    found = length_for_movement_mm(movement_mm=24, alpha_per_k=70e-6, difference_k=40)
    assert found / 1000 == pytest.approx(8.57, abs=0.005)
