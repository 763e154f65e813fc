"""Sealed glass units: how panes share a load through their cavities, and the climatic load itself."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from sawready.calc.exact import above_zero
from sawready.calc.glass_plate import en16612_coefficients

_KPA_PER_MPA = 1000.0


@dataclass(frozen=True, slots=True)
class DoubleUnitShare:
    """How a double unit shares a pressure on its outer pane.

    Attributes:
        k5: volume coefficient of the shape. [-]
        characteristic_mm: side below which the cavity is stiff, a*. [mm]
        stiffness_factor: phi, near 0 for large units and near 1 for small ones. [-]
        outer_share, inner_share: of bending stiffness, delta. [-]
        outer_kpa, inner_kpa: net pressure on each pane. [kPa]
    """

    k5: float
    characteristic_mm: float
    stiffness_factor: float
    outer_share: float
    inner_share: float
    outer_kpa: float
    inner_kpa: float


def isochoric_pressure_kpa(
    *,
    difference_k: float,
    air_pressure_change_kpa: float,
    height_change_m: float,
    per_k: float = 0.34,
    per_m: float = 0.012,
) -> float:
    """Pressure in a cavity that cannot change its volume, from making to using the unit.

    Formula: p0 = 0.34 dT - dp + 0.012 dH

    Args:
        difference_k: warmer than when sealed, dT. [K]
        air_pressure_change_kpa: higher air pressure than when sealed, dp. [kPa]
        height_change_m: higher place than where sealed, dH. [m]
        per_k: pressure per kelvin; 100 kPa over the temperature of sealing. [kPa/K]
        per_m: pressure per metre of height. [kPa/m]
    Returns: pressure above that outside; below zero it draws the panes together. [kPa]
    Raises: ValueError if a coefficient is not above zero.
    Example:
        >>> isochoric_pressure_kpa(difference_k=20, air_pressure_change_kpa=-2, height_change_m=600)
        16.0

    Source: DIN 18008-2 (from memory; the sums agree with the quoted +16 and -16 kPa). Checked in
    tests/published/test_en_16612.py.
    """
    above_zero(per_k=per_k, per_m=per_m)
    return per_k * difference_k - air_pressure_change_kpa + per_m * height_change_m


def double_unit_share(
    *,
    width_mm: float,
    height_mm: float,
    outer_mm: float,
    inner_mm: float,
    cavity_mm: float,
    pressure_kpa: float,
    e_mpa: float,
    poisson: float,
    air_pressure_mpa: float,
) -> DoubleUnitShare:
    """How the two panes of a sealed unit share a wind pressure on the outer one.

    Documents print 28.9 for (E / p)^(1/4); here it is not rounded, which moves phi by 0.2 % at most.

    Formula: d1 = h1^3 / (h1^3 + h2^3), a* = [E s h1^3 h2^3 / (p (h1^3 + h2^3) k5)]^(1/4),
    phi = 1 / (1 + (a / a*)^4), q1 = (d1 + phi d2) q, q2 = (1 - phi) d2 q

    Args:
        width_mm: of the unit. [mm]
        height_mm: of the unit. [mm]
        outer_mm: thickness of the pane that the wind meets, h1. [mm]
        inner_mm: thickness of the other, h2. [mm]
        cavity_mm: width of the cavity, s. [mm]
        pressure_kpa: on the outer pane, q. [kPa]
        e_mpa: Young's modulus, E. [MPa]
        poisson: Poisson's ratio. [-]
        air_pressure_mpa: of the air, p. [MPa]
    Returns: the shares and the net pressures.
    Raises: ValueError if a size, modulus or air pressure is not above zero.
    Example:
        >>> share = double_unit_share(
        ...     width_mm=900,
        ...     height_mm=1300,
        ...     outer_mm=4,
        ...     inner_mm=6,
        ...     cavity_mm=12,
        ...     pressure_kpa=1.5,
        ...     e_mpa=70_000,
        ...     poisson=0.23,
        ...     air_pressure_mpa=0.1,
        ... )
        >>> share.outer_kpa, share.inner_kpa
        (0.3631, 1.1369)

    Source: EN 16612:2019, annex C, and DIN 18008-2 (from memory). Checked in
    tests/published/test_en_16612.py.
    """
    above_zero(outer_mm=outer_mm, inner_mm=inner_mm, cavity_mm=cavity_mm, e_mpa=e_mpa)
    above_zero(width_mm=width_mm, height_mm=height_mm, air_pressure_mpa=air_pressure_mpa)
    short, long = sorted((width_mm, height_mm))
    k5 = en16612_coefficients(short_over_long=short / long, poisson=poisson).k5
    first, second = outer_mm**3, inner_mm**3
    outer_share = first / (first + second)
    inner_share = 1 - outer_share
    side = math.pow(e_mpa * cavity_mm * first * second / (air_pressure_mpa * (first + second) * k5), 0.25)
    phi = 1 / (1 + math.pow(short / side, 4))
    return DoubleUnitShare(
        k5=k5,
        characteristic_mm=side,
        stiffness_factor=phi,
        outer_share=outer_share,
        inner_share=inner_share,
        outer_kpa=(outer_share + phi * inner_share) * pressure_kpa,
        inner_kpa=(1 - phi) * inner_share * pressure_kpa,
    )


def pane_pressures_kpa(
    *,
    width_mm: float,
    height_mm: float,
    panes_mm: Sequence[float],
    cavities_mm: Sequence[float],
    pressure_kpa: float,
    isochoric_kpa: Sequence[float] | float,
    e_mpa: float,
    poisson: float,
    air_pressure_mpa: float,
) -> tuple[float, ...]:
    """Net pressure on each pane of a sealed unit of any number of panes, under wind and climate.

    Each cavity obeys its gas law at small changes: what the panes around it give way to, its pressure
    loses. For two panes it is the formula of ``double_unit_share``; a single pane takes all.

    Formula: for cavity j: c(j+1) n(j+1) - c(j) n(j) = s(j) (p0(j) - dp(j)) / p, c = k5 a^4 / (E h^3),
    n(1) = q - dp(1), n(i) = dp(i-1) - dp(i), n(last) = dp(last cavity)

    Args:
        width_mm: of the unit. [mm]
        height_mm: of the unit. [mm]
        panes_mm: thickness of each pane, outside first; equivalent thickness where laminated. [mm]
        cavities_mm: width of each cavity, outside first. [mm]
        pressure_kpa: wind on the outer pane, inward above zero, q. [kPa]
        isochoric_kpa: climatic pressure of the cavities, one for all or one each, p0. [kPa]
        e_mpa: Young's modulus, E. [MPa]
        poisson: Poisson's ratio. [-]
        air_pressure_mpa: of the air, p. [MPa]
    Returns: net pressure on each pane, inward above zero. [kPa]
    Raises: ValueError if there is not one pane more than cavities, or a size is not above zero.
    Example:
        >>> pane_pressures_kpa(
        ...     width_mm=300,
        ...     height_mm=900,
        ...     panes_mm=(4, 4),
        ...     cavities_mm=(16,),
        ...     pressure_kpa=1.0,
        ...     isochoric_kpa=0,
        ...     e_mpa=70_000,
        ...     poisson=0.23,
        ...     air_pressure_mpa=0.1,
        ... )
        (0.7033, 0.2967)

    Source: gas law and plate theory; two panes as EN 16612:2019, annex C (from memory). Checked in
    tests/published/test_en_16612.py.
    """
    if len(panes_mm) != len(cavities_mm) + 1:
        raise ValueError(
            f"{len(cavities_mm)} cavities need {len(cavities_mm) + 1} panes, not {len(panes_mm)}"
        )
    above_zero(width_mm=width_mm, height_mm=height_mm, e_mpa=e_mpa, air_pressure_mpa=air_pressure_mpa)
    for thickness in (*panes_mm, *cavities_mm):
        above_zero(thickness_mm=thickness)
    if not cavities_mm:
        return (pressure_kpa,)
    climate = _for_each(isochoric_kpa, len(cavities_mm))
    short, long = sorted((width_mm, height_mm))
    k5 = en16612_coefficients(short_over_long=short / long, poisson=poisson).k5
    give = [k5 * short**4 / (e_mpa * pane**3 * _KPA_PER_MPA) for pane in panes_mm]
    gas = [cavity / (air_pressure_mpa * _KPA_PER_MPA) for cavity in cavities_mm]
    right = [volume * p0 for volume, p0 in zip(gas, climate, strict=True)]
    right[0] += give[0] * pressure_kpa
    middle = [give[j] + give[j + 1] + gas[j] for j in range(len(gas))]
    rises = _solve_symmetric_band(middle, [-softness for softness in give[1:-1]], right)
    around = [pressure_kpa, *rises, 0.0]
    return tuple(around[pane] - around[pane + 1] for pane in range(len(panes_mm)))


def _for_each(value: Sequence[float] | float, count: int) -> list[float]:
    values = [float(value)] * count if isinstance(value, int | float) else list(value)
    if len(values) != count:
        raise ValueError(f"{count} cavities need {count} climatic pressures, not {len(values)}")
    return values


def _solve_symmetric_band(middle: list[float], beside: list[float], right: list[float]) -> list[float]:
    """Solution of a symmetric system with one band beside its diagonal, by elimination."""
    for row in range(1, len(middle)):
        factor = beside[row - 1] / middle[row - 1]
        middle[row] -= factor * beside[row - 1]
        right[row] -= factor * right[row - 1]
    solution = [0.0] * len(middle)
    for row in reversed(range(len(middle))):
        known = beside[row] * solution[row + 1] if row + 1 < len(middle) else 0.0
        solution[row] = (right[row] - known) / middle[row]
    return solution
