"""The one place that converts: names of length units, and their factors from pint.

Pint gives unit names and factors only; it is never handed what a user typed as a whole, because it
reads ``47 1/4 in`` as 11.75 in. The one thing of the user's that reaches it is a single word of up
to 24 plain letters, and only to tell a kilogram from a word that is no unit at all.
"""

import re
from fractions import Fraction
from functools import cache, lru_cache
from typing import TYPE_CHECKING, Final, Literal

if TYPE_CHECKING:
    import pint

LENGTH_UNITS: Final = ("mm", "cm", "m", "in", "ft")
"""The units that a size may be written in, in the order in which a question offers them."""

NM_PER_MM: Final = 1_000_000
"""Nanometres in a millimetre: what the prefixes nano and milli mean (SI Brochure, table of prefixes)."""

_PINT_NAME: Final = {
    "mm": "millimeter",
    "cm": "centimeter",
    "m": "meter",
    "in": "inch",
    "ft": "foot",
    "yd": "yard",
    "dm": "decimeter",
    "km": "kilometer",
}

UNIT_NAMES: Final = {"mm": "mm", "cm": "cm", "m": "metres", "in": "inches", "ft": "feet"}
"""How a message names each unit."""

_SPELLINGS: Final = {
    "mm": "mm mms m.m m.m. millimetre millimetres millimeter millimeters",
    "cm": "cm cms c.m c.m. centimetre centimetres centimeter centimeters",
    "m": "m metre metres meter meters mtr mtrs",
    "in": 'in ins inch inches "',
    "ft": "ft foot feet '",
}

_UNIT_OF_WORD: Final = {word: unit for unit, words in _SPELLINGS.items() for word in words.split()} | {
    f"{word}.": unit for unit, words in _SPELLINGS.items() for word in words.split() if word.isalpha()
}

_OTHER_LENGTHS: Final = {
    word: unit
    for unit, words in {
        "yd": "yd yds yard yards",
        "dm": "dm decimetre decimetres decimeter decimeters",
        "km": "km kms kilometre kilometres kilometer kilometers",
    }.items()
    for word in words.split()
}

_WORD: Final = re.compile(r"[A-Za-z]{1,24}")
_USUAL_PREFIXES: Final = frozenset({"", "kilo", "mega", "giga", "milli", "centi"})

UnitKind = Literal["length", "other"]


@cache
def _registry() -> "pint.UnitRegistry[Fraction]":
    """Pint's own definitions with exact factors, built on first use (it takes a tenth of a second)."""
    import pint  # noqa: PLC0415 - costs half a second, and only a run that reads lengths needs it

    return pint.UnitRegistry(non_int_type=Fraction)


@cache
def nm_per_unit(unit: str) -> int:
    """Whole nanometres in one of a unit.

    Args:
        unit: one of ``LENGTH_UNITS``, or ``yd``, ``dm``, ``km``.
    Returns: nanometres, exact. [nm]
    Raises: ValueError if the unit is none of these, or its factor is no whole number of nanometres.
    Example:
        >>> nm_per_unit("in"), nm_per_unit("ft")
        (25400000, 304800000)

    Source: pint's definitions; checked against NIST SP 811 in tests/published/.
    """
    name = _PINT_NAME.get(unit)
    if name is None:
        raise ValueError(f"unknown length unit {unit!r}; known are {', '.join(LENGTH_UNITS)}")
    return _whole(Fraction(_registry().convert(Fraction(1), name, "nanometer")))


def _whole(factor: Fraction) -> int:
    """A factor that is a whole number; ValueError for any other, so that no rounding slips in."""
    if factor.denominator != 1:
        raise ValueError(f"factor {factor} is no whole number of nanometres")
    return factor.numerator


def length_unit(word: str) -> str | None:
    """Unit meant by a word or mark in lower case, such as ``m.m.``, ``inches`` or ``"``; None if it is none.

    Example:
        >>> length_unit("metres"), length_unit("ins."), length_unit("kg")
        ('m', 'in', None)
    """
    return _UNIT_OF_WORD.get(word)


def other_length_unit(word: str) -> str | None:
    """Unit of a word that is a length but none that sizes are written in: yards, decimetres, kilometres."""
    return _OTHER_LENGTHS.get(word.rstrip("."))


@lru_cache(maxsize=1024)
def unit_kind(word: str) -> UnitKind | None:
    """Whether a word names a unit, and of what: ``length``, ``other``, or None where it names none.

    Only the prefixes that people type count, so that chance letters are not read as an attosecond.

    Args:
        word: one word; anything but 1 to 24 plain letters is no unit.
    Example:
        >>> unit_kind("kg"), unit_kind("yards"), unit_kind("tight")
        ('other', 'length', None)
    """
    if _WORD.fullmatch(word) is None:
        return None
    registry = _registry()
    for spelling in (word, word.removesuffix("s")):
        meanings = registry.parse_unit_name(spelling, case_sensitive=False)
        kinds = [
            registry.get_dimensionality(name) == registry.get_dimensionality("meter")
            for prefix, name, _ in meanings
            if prefix in _USUAL_PREFIXES
        ]
        if kinds:
            return "length" if any(kinds) else "other"
    return None


def nm_to_mm_text(nm: int) -> str:
    """Shortest exact decimal of a length in millimetres.

    Example:
        >>> nm_to_mm_text(1_200_150_000), nm_to_mm_text(396_875), nm_to_mm_text(-2_000_000)
        ('1200.15', '0.396875', '-2')
    """
    whole, rest = divmod(abs(nm), NM_PER_MM)
    sign = "-" if nm < 0 else ""
    return f"{sign}{whole}.{rest:06d}".rstrip("0").rstrip(".") if rest else f"{sign}{whole}"


def mm(nm: int) -> float:
    """Nearest float to a length in millimetres, for reports.

    Example:
        >>> mm(1_200_150_000)
        1200.15
    """
    return nm / NM_PER_MM
