"""Panes as plates supported on four edges: series, approximations and tables of their bending."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

from sawready.calc.exact import above_zero

N_MM2_PER_KPA = 1e-3
_LAST_TERM = 39


@dataclass(frozen=True, slots=True)
class PlateCoefficients:
    """Coefficients of a pane for small deflections, in the form of EN 16612.

    Attributes:
        k1: stress, sigma = k1 q a^2 / t^2. [-]
        k4: deflection, w = k4 q a^4 / (E t^3). [-]
        k5: volume under the bent pane, V = k5 A q a^4 / (E t^3). [-]
    """

    k1: float
    k4: float
    k5: float


@dataclass(frozen=True, slots=True)
class PlateResponse:
    """Bending of a pane by small deflection theory.

    Attributes:
        deflection_mm: at the centre. [mm]
        stress_mpa: the greatest, at the centre. [MPa]
        coefficients: that gave them.
        is_linear: the deflection is not above the thickness; else membrane action makes pane and
            stress smaller than stated here, and this result is on the safe side.
    """

    deflection_mm: float
    stress_mpa: float
    coefficients: PlateCoefficients
    is_linear: bool


def plate_coefficients(*, long_over_short: float, poisson: float) -> PlateCoefficients:
    """Coefficients of a rectangle supported on four edges under even load, by a series.

    k4 is the alpha and k1 the beta of the usual handbook tables.

    Formula: w = 4 q a^4 / (pi^5 D) sum (+-1 / m^5) [1 - (h tanh h + 2) / (2 cosh h)], h = m pi b / 2a,
    m odd; moments and volume from the same shape

    Args:
        long_over_short: longer side over shorter, 1 or more. [-]
        poisson: Poisson's ratio. [-]
    Returns: k1, k4 and k5. [-]
    Raises: ValueError if the ratio is below 1 or Poisson's ratio not from 0 to below 0.5.
    Example:
        >>> plate_coefficients(long_over_short=1.2, poisson=0.3).k4
        0.0617

    Source: plate theory (Levy's solution); handbook tables of a rectangle supported on four edges (at 1.4
    the usual table prints alpha 0.0770, the series gives 0.0774). Checked in
    tests/published/test_plates.py.
    """
    if not (math.isfinite(long_over_short) and long_over_short >= 1):
        raise ValueError(f"long_over_short must be 1 or more, not {long_over_short}")
    if not 0 <= poisson < 0.5:
        raise ValueError(f"Poisson's ratio must be from 0 to below 0.5, not {poisson}")
    deflection, along, across, mean = _series(long_over_short)
    plate = 12 * (1 - poisson * poisson)
    return PlateCoefficients(k1=6 * (along + poisson * across), k4=plate * deflection, k5=plate * mean)


def en16612_coefficients(*, short_over_long: float, poisson: float) -> PlateCoefficients:
    """The same coefficients by the closed approximations of EN 16612 at vanishing load.

    They agree with the series within 1.7 %. The terms of that annex for large deflections are left out:
    they were not confirmed.

    Formula: z1 = 192 (1 - nu^2) [0.00406 + 0.00896 (1 - exp(-1.123 (1/l - 1)^1.097))], k4 = z1 / 16,
    z2 = 24 [0.0447 + 0.0803 (1 - exp(-1.17 (1/l - 1)^1.073))], k1 = z2 / 4,
    k5 = k4 [0.4198 + 0.22 exp(-6.8 l^1.33)]

    Args:
        short_over_long: shorter side over longer, l, above 0 and at most 1. [-]
        poisson: Poisson's ratio nu; the stress coefficient is for 0.23. [-]
    Returns: k1, k4 and k5. [-]
    Raises: ValueError if the ratio is not above 0 and at most 1.
    Example:
        >>> en16612_coefficients(short_over_long=0.7, poisson=0.23).k1
        0.4493

    Source: EN 16612:2019, annex B with p* = 0 (from memory). Checked in tests/published/test_plates.py.
    """
    if not 0 < short_over_long <= 1:
        raise ValueError(f"short_over_long must be above 0 and at most 1, not {short_over_long}")
    longer = 1 / short_over_long - 1
    z1 = 192 * (1 - poisson * poisson)
    z1 *= 0.00406 + 0.00896 * (1 - math.exp(-1.123 * math.pow(longer, 1.097)))
    z2 = 24 * (0.0447 + 0.0803 * (1 - math.exp(-1.17 * math.pow(longer, 1.073))))
    k4 = z1 / 16
    k5 = k4 * (0.4198 + 0.22 * math.exp(-6.8 * math.pow(short_over_long, 1.33)))
    return PlateCoefficients(k1=z2 / 4, k4=k4, k5=k5)


def plate_under_pressure(
    *,
    width_mm: float,
    height_mm: float,
    thickness_mm: float,
    pressure_kpa: float,
    e_mpa: float,
    poisson: float,
) -> PlateResponse:
    """Deflection and stress at the centre of a pane supported on four edges, by small deflections.

    Formula: w = k4 q a^4 / (E t^3), sigma = k1 q a^2 / t^2, a the shorter side

    Args:
        width_mm: of the pane. [mm]
        height_mm: of the pane. [mm]
        thickness_mm: t. [mm]
        pressure_kpa: q; suction counts by its amount. [kPa]
        e_mpa: Young's modulus, E. [MPa]
        poisson: Poisson's ratio. [-]
    Returns: deflection and stress with their coefficients.
    Raises: ValueError if a size or the modulus is not above zero.
    Example:
        >>> pane = plate_under_pressure(
        ...     width_mm=900, height_mm=1300, thickness_mm=6, pressure_kpa=1.5, e_mpa=70_000, poisson=0.23
        ... )
        >>> pane.deflection_mm, pane.stress_mpa
        (5.456, 15.40)

    Source: plate theory. Checked in tests/published/test_plates.py.
    """
    above_zero(width_mm=width_mm, height_mm=height_mm, thickness_mm=thickness_mm, e_mpa=e_mpa)
    short, long = sorted((width_mm, height_mm))
    found = plate_coefficients(long_over_short=long / short, poisson=poisson)
    load = abs(pressure_kpa) * N_MM2_PER_KPA
    deflection = found.k4 * load * short**4 / (e_mpa * thickness_mm**3)
    return PlateResponse(
        deflection_mm=deflection,
        stress_mpa=found.k1 * load * short**2 / thickness_mm**2,
        coefficients=found,
        is_linear=deflection <= thickness_mm,
    )


def large_deflection_mm(
    *,
    width_mm: float,
    height_mm: float,
    thickness_mm: float,
    pressure_kpa: float,
    e_mpa: float,
    poisson: float,
) -> float:
    """Deflection of a pane with membrane action, by one term of the series.

    The edges may slide in the plane of the pane, as in a window. A rough lower bound: one term stands
    for the whole shape.

    Formula: D pi^4 (1/a^2 + 1/b^2)^2 w + E t pi^4 (1/a^4 + 1/b^4) w^3 / 16 = 16 q / pi^2

    Args:
        width_mm: of the pane. [mm]
        height_mm: of the pane. [mm]
        thickness_mm: t. [mm]
        pressure_kpa: q; suction counts by its amount. [kPa]
        e_mpa: Young's modulus, E. [MPa]
        poisson: Poisson's ratio; D = E t^3 / (12 (1 - nu^2)). [-]
    Returns: deflection at the centre. [mm]
    Raises: ValueError if a size or the modulus is not above zero.
    Example:
        >>> large_deflection_mm(
        ...     width_mm=1500, height_mm=1200, thickness_mm=5.6, pressure_kpa=1.8, e_mpa=71_700, poisson=0.22
        ... )
        9.78

    Source: von Karman plate equations, one term. Checked in tests/published/test_plates.py.
    """
    above_zero(width_mm=width_mm, height_mm=height_mm, thickness_mm=thickness_mm, e_mpa=e_mpa)
    stiffness = e_mpa * thickness_mm**3 / (12 * (1 - poisson * poisson))
    bending = stiffness * math.pi**4 * (width_mm**-2 + height_mm**-2) ** 2
    membrane = e_mpa * thickness_mm * math.pi**4 / 16 * (width_mm**-4 + height_mm**-4)
    load = 16 * abs(pressure_kpa) * N_MM2_PER_KPA / math.pi**2
    # The one real root of membrane w^3 + bending w = load, by the sine of a third of the angle.
    scale = math.sqrt(bending / (3 * membrane))
    return 2 * scale * math.sinh(math.asinh(load / (2 * membrane * scale**3)) / 3)


def interpolated(*, at: float, table: Mapping[float, float]) -> float:
    """A value between the rows of a table, by a straight line.

    For k2 of prEN 13474: an area-weighted effective stress, not to be mixed with the peak stress k1.

    Args:
        at: where, such as the aspect of a pane. [-]
        table: value by place. [-]
    Returns: the value. [-]
    Raises: ValueError if the place is outside the table.
    Example:
        >>> interpolated(at=900 / 1300, table={0.7: 0.398, 0.6: 0.463})
        0.403

    Source: arithmetic; prEN 13474-2, table B.2. Checked in tests/published/test_plates.py.
    """
    places = sorted(table)
    if not places or not places[0] <= at <= places[-1]:
        raise ValueError(f"{at} is outside the table")
    for low, high in pairwise(places):
        if low <= at <= high:
            return table[low] + (table[high] - table[low]) * (at - low) / (high - low)
    return table[places[0]]


@lru_cache(maxsize=4096)
def _series(long_over_short: float) -> tuple[float, float, float, float]:
    """Deflection, curvature along and across the short side, and mean deflection, for q = a = D = 1.

    Levy's single series. What would converge slowly, the infinitely long strip, is taken in its closed
    form; what is left fades with exp(-pi m b / 2a), in the mean with 1 / m^7.
    """
    deflection, along, across, mean = 5 / 384, 1 / 8, 0.0, 1 / 120
    for m in range(1, _LAST_TERM + 1, 2):
        sign = 1 if m % 4 == 1 else -1
        wave = math.pi * m
        half = wave * long_over_short / 2
        fading = math.exp(-half)
        over_cosh = 2 * fading / (1 + fading * fading)
        tanh = math.tanh(half)
        edge = (half * tanh + 2) / 2 * over_cosh
        deflection -= sign * 4 / wave**5 * edge
        along -= sign * 4 / wave**3 * edge
        across += sign * 4 / wave**3 * half * tanh / 2 * over_cosh
        mean += 8 / wave**6 * (over_cosh * over_cosh / 2 - 3 * tanh / (2 * half))
    return deflection, along, across, mean
