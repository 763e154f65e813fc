"""The grammar of one written length: four forms, each either sure, in doubt, or not this form.

    figure unit             1200   1,200.5 mm   120cm   1.2 m   47.25"   4 ft
    whole fraction unit     47 1/4"   47-1/4 in   5/8"
    feet inches             4' 2"   4ft 2 1/2   4'-2 1/2"   4 foot 2 inches
    metric sum              1m 200mm   120 cm 5 mm

The text comes from ``characters.clean``: lower case, plain spaces and marks. Whatever is not wholly
one of these forms is None here, and ``explain`` says why; nothing left over is ever dropped.
"""

import re
from fractions import Fraction
from typing import Final, NamedTuple

from sawready.lengths.figures import Figure, Figures, read_figure
from sawready.units import LENGTH_UNITS, UNIT_NAMES, length_unit, nm_per_unit

TAPE_DENOMINATORS: Final = frozenset({2, 4, 8, 16, 32, 64})
"""Divisions of an inch on a tape measure (common practice, no source)."""

_PLAIN: Final = re.compile(r"([0-9][0-9.,' ]{0,59}?) {0,5}(\"|'|[a-z][a-z.]{0,15})?", re.ASCII)
_FRACTION: Final = re.compile(
    r"(?:([0-9]{1,9})( {1,3}|-))?([0-9]{1,9})/([0-9]{1,9}) {0,5}(\"|'|[a-z][a-z.]{0,15})?", re.ASCII
)
_FEET: Final = re.compile(r"([0-9]{1,6}) {0,5}('|ft\.?|feet\.?|foot\.?)( {0,5}|-)([0-9].{0,40})", re.ASCII)
_METRIC_SUM: Final = re.compile(
    r"([0-9]{1,6}) {0,3}([a-z][a-z.]{0,15}) {0,3}"
    r"([0-9][0-9.,]{0,15}) {0,3}([a-z][a-z.]{0,15})"
    r"(?: {0,3}([0-9][0-9.,]{0,15}) {0,3}([a-z][a-z.]{0,15}))?",
    re.ASCII,
)
_MORE_THAN_TWO_DIGITS: Final = re.compile(r"[0-9]{3}")
_GLUED: Final = re.compile(r"([0-9]{2})/([0-9]{1,2})[^0-9]{0,10}")
_LOST_SPACE: Final = "may have lost the space between inches and fraction"
_METRIC: Final = ("m", "cm", "mm")
_INCHES_IN_A_FOOT: Final = 12


class Sure(NamedTuple):
    """A statement with one honest reading.

    Attributes:
        nm: the length, exact. [nm]
        unit: unit as written, the leading one of several; None where the declared unit was used.
        figure: the number, where the statement is one number: what else it may have been follows from it.
        has_leading_zero: a number in it begins with a needless nought.
        is_sum: it adds several units up, so that its unit cannot serve a neighbour.
    """

    nm: Fraction
    unit: str | None
    figure: Fraction | None = None
    has_leading_zero: bool = False
    is_sum: bool = False


class Doubt(NamedTuple):
    """A statement that somebody must settle, or that breaks a rule of writing lengths.

    Attributes:
        reason: reason of the catalogue.
        because: continues a sentence that begins with the quoted text.
        candidates: readings in nanometres, the likeliest first.
        keep_all: offer also those outside the limits, as each is a reading of its own right.
    """

    reason: str
    because: str
    candidates: tuple[Fraction, ...] = ()
    keep_all: bool = False


Statement = Sure | Doubt | None


def read_statement(text: str, *, style: str, unit: str | None) -> Statement:
    r"""One written length by the four forms; None where none of them covers the whole text.

    Example:
        >>> read_statement("4' 2\"", style="en", unit="mm").nm
        Fraction(1270000000, 1)
        >>> read_statement('47 - 1/4"', style="en", unit="mm") is None
        True
    """
    for form in (_plain, _fraction, _feet_and_inches, _metric_sum):
        found = form(text, style, unit)
        if found is not None:
            return found
    return None


def _plain(text: str, style: str, declared: str | None) -> Statement:
    """A figure with or without its unit."""
    match = _PLAIN.fullmatch(text)
    figures = None if match is None else read_figure(match[1], style)
    if match is None or figures is None:
        return None
    written = None if match[2] is None else length_unit(match[2])
    if match[2] is not None and written is None:
        return None
    unit = written or declared
    first = figures.readings[0]
    if unit is None:
        return _without_unit(figures)
    if not figures.is_sure:
        return _doubtful_separator(figures, nm_per_unit(unit))
    inches = _decimals_as_inches(first) if unit == "ft" else None
    if inches is not None:
        foot, inch = nm_per_unit("ft"), nm_per_unit("in")
        return Doubt(
            "value-ambiguous",
            "is decimal feet, or feet and inches with a point between them",
            (first.value * foot, Fraction(int(first.value) * foot + inches * inch)),
        )
    return Sure(first.value * nm_per_unit(unit), written, first.value, first.has_leading_zero)


def _without_unit(figures: Figures) -> Sure | Doubt:
    """A bare number where no unit is declared: only a nought means the same in every unit."""
    values = [figure.value for figure in figures.readings]
    if values == [0]:
        return Sure(Fraction(0), None, Fraction(0), figures.readings[0].has_leading_zero)
    candidates = tuple(value * nm_per_unit(unit) for value in values for unit in LENGTH_UNITS)
    return Doubt("unit-not-stated", "states no unit, and none is declared for it", candidates)


def _doubtful_separator(figures: Figures, factor: int) -> Doubt:
    candidates = tuple(figure.value * factor for figure in figures.readings)
    return Doubt(
        "value-ambiguous",
        "has a separator that may group thousands or divide decimals, and no number style is declared",
        candidates,
        keep_all=True,
    )


def _decimals_as_inches(figure: Figure) -> int | None:
    """Inches that the decimals of decimal feet can be read as: 4.2 may be 4 ft 2 in, 4.25 may not."""
    if figure.decimals and 1 <= int(figure.decimals) < _INCHES_IN_A_FOOT:
        return int(figure.decimals)
    return None


def _fraction(text: str, style: str, declared: str | None) -> Statement:  # noqa: ARG001 - every form is called alike
    """A tape fraction, with or without a whole number before it."""
    match = _FRACTION.fullmatch(text)
    if match is None or int(match[4]) > max(TAPE_DENOMINATORS) or _has_leading_zero(match[3], match[4]):
        return None
    written = None if match[5] is None else length_unit(match[5])
    if match[5] is not None and written is None:
        return None
    whole, numerator, denominator = int(match[1] or 0), int(match[3]), int(match[4])
    if denominator not in TAPE_DENOMINATORS:
        if written is None and declared in _METRIC:
            return None
        return Doubt(
            "value-unreadable",
            f"divides an inch by {denominator}; tapes have halves, quarters, down to 64ths",
        )
    if numerator >= denominator:
        return _lost_space(match, written or "in")
    value = whole + Fraction(numerator, denominator)
    unit = written or declared
    if unit == "in":
        has_leading_zero = match[1] is not None and match[1] != str(whole)
        return Sure(value * nm_per_unit("in"), written, None, has_leading_zero)
    return _fraction_of(value, unit, whole=whole, part=Fraction(numerator, denominator))


def _has_leading_zero(numerator: str, denominator: str) -> bool:
    """Noughts that no fraction of a tape begins with: 03/04 is half a date."""
    return numerator[0] == "0" or (denominator[0] == "0" and len(denominator) > 1)


def _fraction_of(value: Fraction, unit: str | None, *, whole: int, part: Fraction) -> Doubt:
    """A tape fraction beside a unit that tapes do not divide so, or beside none."""
    inch = nm_per_unit("in")
    if unit is None:
        return Doubt("unit-not-stated", "is a fraction without a unit, and none is declared", (value * inch,))
    own = value * nm_per_unit(unit)
    if unit == "ft":
        because = "is a fraction of a foot, or feet and a fraction of an inch"
        return Doubt("value-ambiguous", because, (own, whole * nm_per_unit("ft") + part * inch, value * inch))
    because = f"is a tape fraction, which means inches, yet the unit is {UNIT_NAMES[unit]}"
    return Doubt("value-ambiguous", because, (value * inch, own) if unit == "mm" else (own, value * inch))


def _lost_space(match: re.Match[str], unit: str) -> Doubt:
    """A fraction of one or more: improper, or a whole number run into its fraction."""
    if match[1] is not None:
        return Doubt("value-unreadable", "has a fraction of one or more after its whole number")
    factor = nm_per_unit(unit)
    splits = tuple(value * factor for value in _splits(match[3], int(match[4])))
    if not splits:
        return Doubt("value-unreadable", "is a fraction of one or more")
    whole = Fraction(int(match[3]), int(match[4])) * factor
    return Doubt("value-ambiguous", _LOST_SPACE, (*splits, whole))


def _splits(digits: str, denominator: int) -> list[Fraction]:
    """Whole numbers with a proper fraction that the digits of one numerator can be parted into."""
    return [
        int(digits[:cut]) + Fraction(int(digits[cut:]), denominator)
        for cut in range(len(digits) - 1, 0, -1)
        if digits[cut] != "0" and int(digits[cut:]) < denominator
    ]


def _feet_and_inches(text: str, style: str, declared: str | None) -> Statement:
    """Whole feet, then inches below twelve with or without their mark."""
    match = _FEET.fullmatch(text)
    if match is None or (match[3] == "-" and (match[2] != "'" or not match[4].endswith('"'))):
        return None
    inches = _plain(match[4], style, "in") or _fraction(match[4], style, "in")
    feet = int(match[1]) * nm_per_unit("ft")
    if isinstance(inches, Doubt):
        return inches._replace(candidates=tuple(feet + nm for nm in inches.candidates))
    if inches is None or inches.unit not in {None, "in"}:
        return None
    if inches.nm >= nm_per_unit("ft") or _MORE_THAN_TWO_DIGITS.match(match[4]):
        grouped = read_figure(text, "ch")
        swiss = () if grouped is None else (grouped.readings[0].value * nm_per_unit(declared or "mm"),)
        return Doubt("value-unreadable", "has more after its feet than inches below twelve", swiss)
    if style == "ch" and match[2] == "'" and inches.unit is None:
        return Doubt("value-ambiguous", "has a mark that means feet or groups thousands", (feet + inches.nm,))
    if inches.has_leading_zero and inches.unit is None:
        because = "has inches that begin with a nought and bear no mark, as in a time"
        return Doubt("value-ambiguous", because, (feet + inches.nm,))
    glued = _GLUED.fullmatch(match[4])
    lost = [] if glued is None else _splits(glued[1], int(glued[2]))
    if lost:
        readings = (feet + inches.nm, *(feet + value * nm_per_unit("in") for value in lost))
        return Doubt("value-ambiguous", _LOST_SPACE, readings)
    has_leading_zero = inches.has_leading_zero or (match[1][0] == "0" and len(match[1]) > 1)
    return Sure(feet + inches.nm, "ft", None, has_leading_zero, is_sum=True)


def _metric_sum(text: str, style: str, declared: str | None) -> Statement:  # noqa: ARG001 - called alike
    """Metres, centimetres, millimetres in falling order, each part less than one of the unit before."""
    match = _METRIC_SUM.fullmatch(text)
    if match is None:
        return None
    parts = [part for part in match.groups() if part is not None]
    units = [length_unit(word) for word in parts[1::2]]
    figures = [read_figure(number, style) for number in parts[0::2]]
    total, ceiling, has_leading_zero = Fraction(0), None, False
    for unit, figure in zip(units, figures, strict=True):
        if unit not in _METRIC or figure is None or not figure.is_sure:
            return None
        first = figure.readings[0]
        factor = nm_per_unit(unit)
        nm = first.value * factor
        if ceiling is not None and (factor >= ceiling or nm >= ceiling):
            return None
        total, ceiling = total + nm, factor
        has_leading_zero = has_leading_zero or first.has_leading_zero
    if any(figure is not None and not figure.readings[0].is_whole for figure in figures[:-1]):
        return None
    return Sure(total, units[0], None, has_leading_zero, is_sum=True)
