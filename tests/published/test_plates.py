"""Plates supported on four edges: handbook tables, a second series, finite elements, and three documents.

Handbook: standard tables of a rectangle under even load, nu 0.3 (alpha, beta). Documents: EN 16612:2019
annex B (from memory), prEN 13474-2 table B.2 as used in a university glass-design example, ASTM E1300-16
appendix (coefficients from memory). GL-001 to GL-003 were cross-checked with a plate mesh of a finite
element library (w 3.061, 5.458, 6.430 mm; sigma 7.51, 15.36, 15.15 MPa).
"""

import math

import pytest

from sawready.calc.glass_e1300 import e1300_deflection_mm, e1300_load_term, e1300_terms
from sawready.calc.glass_plate import (
    en16612_coefficients,
    interpolated,
    large_deflection_mm,
    plate_coefficients,
    plate_under_pressure,
)

HANDBOOK = {
    # long / short: alpha, beta
    1.0: (0.0444, 0.2874),
    1.2: (0.0616, 0.3762),
    1.4: (0.0770, 0.4530),
    1.6: (0.0906, 0.5172),
    1.8: (0.1017, 0.5688),
    2.0: (0.1110, 0.6102),
    3.0: (0.1335, 0.7134),
}


def navier(long_over_short: float, poisson: float, *, terms: int = 199) -> tuple[float, float, float]:
    """k1, k4 and k5 by the double series, which shares no line with the single one of the program."""
    deflection = moment = volume = 0.0
    for m in range(1, terms + 1, 2):
        for n in range(1, terms + 1, 2):
            along, across = (m * math.pi) ** 2, (n * math.pi / long_over_short) ** 2
            term = 16 / (math.pi**2 * m * n) / (along + across) ** 2
            sign = (-1) ** ((m - 1) // 2 + (n - 1) // 2)
            deflection += sign * term
            moment += sign * term * (along + poisson * across)
            volume += term * 4 / (math.pi**2 * m * n)
    plate = 12 * (1 - poisson**2)
    return 6 * moment, plate * deflection, plate * volume


@pytest.mark.parametrize(
    ("short", "long", "thickness", "pressure", "deflection", "stress", "k1", "k4", "mesh_w", "mesh_sigma"),
    [
        pytest.param(1000, 1000, 6, 1.0, 3.054, 7.55, 0.2718, 0.0462, 3.061, 7.51, id="GL-001"),
        pytest.param(900, 1300, 6, 1.5, 5.456, 15.4, 0.4564, 0.0838, 5.458, 15.36, id="GL-002"),
        pytest.param(800, 1200, 4, 0.8, 6.421, 15.21, 0.4752, 0.0878, 6.430, 15.15, id="GL-003"),
    ],
)
def test_a_pane_by_small_deflections(
    short: float,
    long: float,
    thickness: float,
    pressure: float,
    deflection: float,
    stress: float,
    k1: float,
    k4: float,
    mesh_w: float,
    mesh_sigma: float,
) -> None:
    found = plate_under_pressure(
        width_mm=long,
        height_mm=short,
        thickness_mm=thickness,
        pressure_kpa=pressure,
        e_mpa=70_000,
        poisson=0.23,
    )
    assert found.deflection_mm == pytest.approx(deflection, rel=0.001)
    assert found.stress_mpa == pytest.approx(stress, rel=0.001)
    assert found.coefficients.k1 == pytest.approx(k1, rel=0.001)
    assert found.coefficients.k4 == pytest.approx(k4, rel=0.001)
    # The mesh of plates with shear deflects a little more and rounds the peak of the stress: 1 %.
    assert found.deflection_mm == pytest.approx(mesh_w, rel=0.01)
    assert found.stress_mpa == pytest.approx(mesh_sigma, rel=0.01)
    assert found.is_linear is (deflection <= thickness)


@pytest.mark.parametrize(
    ("ratio", "alpha", "beta", "alpha_series", "beta_series"),
    [
        pytest.param(1.2, 0.0616, 0.3762, 0.0617, 0.3761, id="GL-004"),
        pytest.param(2.0, 0.111, 0.6102, 0.1106, 0.6101, id="GL-005"),
    ],
)
def test_two_rows_of_the_handbook_table(
    ratio: float, alpha: float, beta: float, alpha_series: float, beta_series: float
) -> None:
    found = plate_coefficients(long_over_short=ratio, poisson=0.3)
    assert found.k4 == pytest.approx(alpha, abs=0.0006)
    assert found.k1 == pytest.approx(beta, abs=0.0006)
    assert found.k4 == pytest.approx(alpha_series, abs=0.00005)
    assert found.k1 == pytest.approx(beta_series, abs=0.00005)


@pytest.mark.parametrize("ratio", HANDBOOK)
def test_every_row_of_the_handbook_table(ratio: float) -> None:
    # The table was made with few terms: up to 4 in the fourth decimal of alpha, 2 in the fourth of beta.
    alpha, beta = HANDBOOK[ratio]
    found = plate_coefficients(long_over_short=ratio, poisson=0.3)
    assert found.k4 == pytest.approx(alpha, abs=0.0006)
    assert found.k1 == pytest.approx(beta, abs=0.0006)


@pytest.mark.parametrize("poisson", [0.0, 0.23, 0.3])
@pytest.mark.parametrize("ratio", [1.0, 1.1, 1.44, 2.0, 3.7])
def test_the_single_series_agrees_with_the_double_series(ratio: float, poisson: float) -> None:
    k1, k4, k5 = navier(ratio, poisson)
    found = plate_coefficients(long_over_short=ratio, poisson=poisson)
    assert found.k1 == pytest.approx(k1, rel=2e-6)
    assert found.k4 == pytest.approx(k4, rel=1e-9)
    assert found.k5 == pytest.approx(k5, rel=1e-8)


def test_a_long_pane_bends_like_a_strip() -> None:
    found = plate_coefficients(long_over_short=60, poisson=0.0)
    assert found.k4 == pytest.approx(12 * 5 / 384, rel=1e-6)
    assert found.k1 == pytest.approx(6 / 8, rel=1e-6)


def test_coefficients_of_en_16612_at_vanishing_load() -> None:
    """GL-006."""
    found = en16612_coefficients(short_over_long=0.7, poisson=0.23)
    assert found.k1 == pytest.approx(0.4493, rel=0.005)
    assert found.k4 == pytest.approx(0.0826, rel=0.005)
    assert found.k5 == pytest.approx(0.0349, rel=0.005)
    series = plate_coefficients(long_over_short=1 / 0.7, poisson=0.23)
    assert series.k1 == pytest.approx(0.4508, rel=0.005)
    assert series.k4 == pytest.approx(0.0827, rel=0.005)
    assert series.k5 == pytest.approx(0.0349, rel=0.005)


@pytest.mark.parametrize("short_over_long", [number / 20 for number in range(5, 21)])
def test_en_16612_stays_near_the_series_for_every_shape_of_window(short_over_long: float) -> None:
    close = en16612_coefficients(short_over_long=short_over_long, poisson=0.23)
    series = plate_coefficients(long_over_short=1 / short_over_long, poisson=0.23)
    assert close.k1 == pytest.approx(series.k1, rel=0.017)
    assert close.k4 == pytest.approx(series.k4, rel=0.01)
    assert close.k5 == pytest.approx(series.k5, rel=0.01)


def test_k2_between_two_rows_of_pren_13474() -> None:
    """GL-007: an effective stress of 0.403, against the peak stress of 0.456: the two must not be mixed."""
    assert interpolated(at=900 / 1300, table={0.7: 0.398, 0.6: 0.463}) == pytest.approx(0.403, abs=0.0005)
    assert round(900 / 1300, 4) == 0.6923
    assert plate_coefficients(long_over_short=1300 / 900, poisson=0.23).k1 > 0.45


def test_a_pane_with_membrane_action_by_e1300() -> None:
    """GL-008."""
    pane = {"width_mm": 1500, "height_mm": 1200, "pressure_kpa": 1.8, "e_mpa": 71_700}
    r0, r1, r2 = e1300_terms(long_over_short=1.25)
    assert (r0, r1, r2) == pytest.approx((-2.6894, 2.0106, 0.2129), abs=0.0001)
    x = e1300_load_term(least_thickness_mm=5.6, **pane)
    assert x == pytest.approx(1.4851, abs=0.0001)
    assert x == pytest.approx(math.log(math.log(1.8 * (1.5 * 1.2) ** 2 / (71.7e6 * 0.0056**4))))
    by_polynomial = e1300_deflection_mm(least_thickness_mm=5.6, **pane)
    one_term = large_deflection_mm(thickness_mm=5.6, poisson=0.22, **pane)
    linear = plate_under_pressure(thickness_mm=5.6, poisson=0.22, **pane)
    assert by_polynomial == pytest.approx(12.05, abs=0.05)
    assert one_term == pytest.approx(9.78, abs=0.05)
    assert linear.deflection_mm == pytest.approx(20.4, abs=0.05)
    assert one_term < by_polynomial < linear.deflection_mm
    assert not linear.is_linear
