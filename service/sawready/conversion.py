"""Exact conversion of quantities other than lengths on a sheet: areas, masses, pressures, heat."""

from fractions import Fraction
from functools import cache
from types import MappingProxyType
from typing import Final

from sawready.calc.exact import Number, exact
from sawready.units import _registry

PINT_NAMES: Final = MappingProxyType(
    {
        "mm": "millimeter",
        "cm": "centimeter",
        "m": "meter",
        "in": "inch",
        "ft": "foot",
        "yd": "yard",
        "mm2": "millimeter ** 2",
        "m2": "meter ** 2",
        "in2": "inch ** 2",
        "ft2": "foot ** 2",
        "mm4": "millimeter ** 4",
        "cm4": "centimeter ** 4",
        "in4": "inch ** 4",
        "g": "gram",
        "kg": "kilogram",
        "oz": "ounce",
        "lb": "pound",
        "N": "newton",
        "kN": "kilonewton",
        "lbf": "force_pound",
        "Pa": "pascal",
        "kPa": "kilopascal",
        "MPa": "megapascal",
        "mbar": "millibar",
        "N/mm2": "newton / millimeter ** 2",
        "N/m2": "newton / meter ** 2",
        "kN/m2": "kilonewton / meter ** 2",
        "psf": "force_pound / foot ** 2",
        "psi": "force_pound / inch ** 2",
        "N/mm": "newton / millimeter",
        "N/m": "newton / meter",
        "kN/m": "kilonewton / meter",
        "kg/m": "kilogram / meter",
        "kg/m2": "kilogram / meter ** 2",
        "kg/m3": "kilogram / meter ** 3",
        "m/s": "meter / second",
        "km/h": "kilometer / hour",
        "mph": "mile / hour",
        "knot": "knot",
        "W/m2K": "watt / meter ** 2 / kelvin",
        "W/mK": "watt / meter / kelvin",
        "m2K/W": "meter ** 2 * kelvin / watt",
        "Btu/(h ft2 F)": "international_british_thermal_unit / hour / foot ** 2 / delta_degree_Fahrenheit",
        "deg": "degree",
        "rad": "radian",
    }
)
"""Name of each unit here, and what pint calls it. Nothing that a user wrote is ever given to pint."""


def converted(value: Number, *, unit: str, to: str) -> Fraction:
    """A quantity in another unit, exactly.

    Temperatures are left out: their scales begin at different places.

    Args:
        value: in the first unit.
        unit: one of ``PINT_NAMES``.
        to: one of ``PINT_NAMES``, of the same kind.
    Returns: the value in the second unit.
    Raises: ValueError if a unit is unknown, the two are of different kinds, or the value is not finite.
    Example:
        >>> float(converted(30, unit="psf", to="Pa"))
        1436.41

    Source: pint's definitions; checked against NIST SP 811 (2008), appendix B, in
    tests/published/test_nist_sp_811_conversions.py.
    """
    return exact(value) * _factor(unit, to)


@cache
def _factor(unit: str, to: str) -> Fraction:
    for name in (unit, to):
        if name not in PINT_NAMES:
            raise ValueError(f"unknown unit {name!r}; known are {', '.join(PINT_NAMES)}")
    registry = _registry()
    first, second = registry.Unit(PINT_NAMES[unit]), registry.Unit(PINT_NAMES[to])
    if first.dimensionality != second.dimensionality:
        raise ValueError(f"{unit} and {to} measure different things")
    return Fraction(registry.convert(Fraction(1), first, second))
