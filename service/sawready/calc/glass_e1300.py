"""Deflection of a pane with membrane action by the polynomial of ASTM E1300."""

import math

from sawready.calc.exact import above_zero
from sawready.calc.glass_plate import N_MM2_PER_KPA


def e1300_deflection_mm(
    *, width_mm: float, height_mm: float, least_thickness_mm: float, pressure_kpa: float, e_mpa: float
) -> float:
    """Deflection of a pane with membrane action, by the polynomial of ASTM E1300.

    Refused below x = 0, where the deflection is under about a tenth of the thickness and the polynomial
    leaves the straight line (our reading: it turns upward further down); small deflections are linear.

    Formula: w = t exp(r0 + r1 x + r2 x^2), x = ln ln (q (a b)^2 / (E t^4)), R = long / short,
    r0 = 0.553 - 3.83 R + 1.11 R^2 - 0.0969 R^3, r1 = -2.29 + 5.83 R - 2.17 R^2 + 0.2067 R^3,
    r2 = 1.485 - 1.908 R + 0.815 R^2 - 0.0822 R^3

    Args:
        width_mm: of the pane. [mm]
        height_mm: of the pane. [mm]
        least_thickness_mm: the least that the nominal thickness may have, t. [mm]
        pressure_kpa: q; suction counts by its amount. [kPa]
        e_mpa: Young's modulus, E. [MPa]
    Returns: deflection at the centre. [mm]
    Raises: ValueError if a size is not above zero, or the load is too small for the polynomial.
    Example:
        >>> e1300_deflection_mm(
        ...     width_mm=1500, height_mm=1200, least_thickness_mm=5.6, pressure_kpa=1.8, e_mpa=71_700
        ... )
        12.05

    Source: ASTM E1300-16, appendix (coefficients from memory). Checked in tests/published/test_plates.py.
    """
    x = e1300_load_term(
        width_mm=width_mm,
        height_mm=height_mm,
        least_thickness_mm=least_thickness_mm,
        pressure_kpa=pressure_kpa,
        e_mpa=e_mpa,
    )
    short, long = sorted((width_mm, height_mm))
    r0, r1, r2 = e1300_terms(long_over_short=long / short)
    return least_thickness_mm * math.exp(r0 + r1 * x + r2 * x * x)


def e1300_load_term(
    *, width_mm: float, height_mm: float, least_thickness_mm: float, pressure_kpa: float, e_mpa: float
) -> float:
    """The load term of the E1300 polynomial.

    Formula: x = ln ln (q (a b)^2 / (E t^4))

    Args:
        width_mm: of the pane. [mm]
        height_mm: of the pane. [mm]
        least_thickness_mm: the least that the nominal thickness may have, t. [mm]
        pressure_kpa: q; suction counts by its amount. [kPa]
        e_mpa: Young's modulus, E. [MPa]
    Returns: x, zero or more. [-]
    Raises: ValueError if a size is not above zero, or the load is too small for the polynomial.
    Example:
        >>> e1300_load_term(
        ...     width_mm=1500, height_mm=1200, least_thickness_mm=5.6, pressure_kpa=1.8, e_mpa=71_700
        ... )
        1.4851

    Source: ASTM E1300-16, appendix (from memory). Checked in tests/published/test_plates.py.
    """
    above_zero(width_mm=width_mm, height_mm=height_mm, least_thickness_mm=least_thickness_mm, e_mpa=e_mpa)
    load = abs(pressure_kpa) * N_MM2_PER_KPA * (width_mm * height_mm) ** 2 / (e_mpa * least_thickness_mm**4)
    if load < math.e:
        raise ValueError(f"a pressure of {pressure_kpa} kPa is too small for the E1300 polynomial")
    return math.log(math.log(load))


def e1300_terms(*, long_over_short: float) -> tuple[float, float, float]:
    """The three terms of the E1300 polynomial for a shape of pane.

    Formula: as in ``e1300_deflection_mm``

    Args:
        long_over_short: longer side over shorter, R. [-]
    Returns: r0, r1 and r2. [-]
    Raises: ValueError if the ratio is below 1.
    Example:
        >>> e1300_terms(long_over_short=1.25)
        (-2.6894, 2.0106, 0.2129)

    Source: ASTM E1300-16, appendix (coefficients from memory). Checked in tests/published/test_plates.py.
    """
    if long_over_short < 1:
        raise ValueError(f"long_over_short must be 1 or more, not {long_over_short}")
    one, two, three = long_over_short, long_over_short**2, long_over_short**3
    return (
        0.553 - 3.83 * one + 1.11 * two - 0.0969 * three,
        -2.29 + 5.83 * one - 2.17 * two + 0.2067 * three,
        1.485 - 1.908 * one + 0.815 * two - 0.0822 * three,
    )
