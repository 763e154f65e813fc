"""Numbers that are out of shape: look-alike letters, separators out of place, sums left in the cell."""

import re
from collections.abc import Callable
from fractions import Fraction
from typing import Final

from sawready.lengths.grammar import Statement, Sure, read_statement
from sawready.lengths.mentions import mentioned
from sawready.lengths.results import Refusal
from sawready.lengths.settle import Ask, candidates, refuse
from sawready.units import length_unit, nm_per_unit

_SCIENTIFIC: Final = re.compile(r"([0-9]{1,9})(?:[.,]([0-9]{1,9}))?e([+-]?)([0-9]{1,3})")
_LOOK_ALIKE: Final = re.compile(r"([0-9olizsb|.,]{2,12})( {0,3}(?:\"|'|[a-z.]{1,16}))?")
_LETTER: Final = re.compile(r"[oli|zsb]")
_AS_DIGITS: Final = str.maketrans("oli|zsb", "0111258")
_NUMBER_ONLY: Final = re.compile(r"([0-9.,' ]{1,60}?) {0,5}(\"|'|[a-z][a-z.]{0,15})?")
_TWO_NUMBERS: Final = re.compile(r"[0-9.,]{3,20}(?: {1,5}[0-9.,]{3,20}){1,5}")
_FEET_MARK: Final = re.compile(r"[0-9]{0,2} ?'.{1,40}")
_UNIT_BETWEEN: Final = re.compile(r"([0-9]{1,4}) {0,3}(\"|[a-z.]{1,12}) {0,3}([0-9]{1,4}(?:/[0-9]{1,2})?)")
_SMALLER_UNITS: Final = {"m": ("cm", "mm"), "cm": ("mm",)}
_SMALL_PAIR: Final = re.compile(r"([0-9]{1,2})-([0-9]{1,2})")
_SUM: Final = re.compile(r"([^+±–-]{1,60}?) {0,3}([+±–-]|\+/-) {0,3}([0-9][^+±–-]{0,60})")
_FIRST_WORDS: Final = re.compile(r"([^a-z]{1,40}(?:mm|cm|m|in|ins|ft)?)(?: {1,3}[a-z ]{1,40})?")
_TOTAL: Final = re.compile(r"(?<![a-z])(?:total|both|overall)(?![a-z])")


def _offer(statement: Statement, ask: Ask) -> tuple[float, ...]:
    """What a mended text would mean, sure or not."""
    if statement is None:
        return ()
    return candidates([statement.nm] if isinstance(statement, Sure) else statement.candidates, ask=ask)


def _is_scientific(text: str, ask: Ask) -> Refusal | None:
    match = _SCIENTIFIC.fullmatch(text)
    if match is None:
        return None
    decimals = match[2] or ""
    power = int(match[3] + match[4]) - len(decimals)
    factor = nm_per_unit(ask.unit or "mm")
    offered = candidates([int(match[1] + decimals) * Fraction(10) ** power * factor], ask=ask)
    return refuse(ask, "value-ambiguous", "is in scientific form, which may have lost digits", offered)


def _is_look_alike(text: str, ask: Ask) -> Refusal | None:
    match = _LOOK_ALIKE.fullmatch(text)
    if match is None or not _LETTER.search(match[1]):
        return None
    mended = match[1].translate(_AS_DIGITS) + (match[2] or "")
    offered = _offer(read_statement(mended, style=ask.style, unit=ask.unit), ask)
    return refuse(ask, "value-unreadable", "has letters where digits belong", offered)


def _is_misplaced_separator(text: str, ask: Ask) -> Refusal | None:
    """Digits, separators and at most a unit, that make no number in the declared style."""
    match = _NUMBER_ONLY.fullmatch(text)
    if match is None or (match[2] is not None and length_unit(match[2]) is None):
        return None
    number = match[1]
    if _TWO_NUMBERS.fullmatch(number):
        return None
    if _FEET_MARK.fullmatch(text):
        return refuse(ask, "value-unreadable", "has marks of feet and inches that do not fit each other")
    if number[0] == "." or number[-1] in ".,":
        mended = f"0{text}" if number[0] == "." else number.rstrip(".,") + text[len(number) :]
        offered = _offer(read_statement(mended, style=ask.style, unit=ask.unit), ask)
        because = "begins or ends with a separator, so that digits may be lost"
        return refuse(ask, "value-ambiguous", because, offered)
    offered = _offer(read_statement(text, style="unknown", unit=ask.unit), ask)
    because = f"is no number in the style {ask.style}: a separator or a space is out of place"
    return refuse(ask, "value-unreadable", because, offered)


def _has_bare_end(text: str, ask: Ask) -> Refusal | None:
    """A unit between two numbers, such as 1m20 or 47 in 1/4: the second has no unit of its own."""
    match = _UNIT_BETWEEN.fullmatch(text)
    unit = None if match is None else length_unit(match[2])
    if match is None or unit is None:
        return None
    forms = [f"{match[1]} {match[3]} in"] if "/" in match[3] else [f"{match[1]}.{match[3]} {unit}"]
    forms += [f"{match[1]} {unit} {match[3]} {smaller}" for smaller in _SMALLER_UNITS.get(unit, ())]
    found = [read_statement(form, style="en", unit=None) for form in forms]
    offered = candidates((sure.nm for sure in found if isinstance(sure, Sure)), ask=ask)
    return refuse(ask, "value-ambiguous", "has a number without a unit after its unit", offered)


def _is_working(text: str, ask: Ask) -> Refusal | None:
    """Sums, deductions, ranges and tolerances left in the cell."""
    small = _SMALL_PAIR.fullmatch(text)
    if small is not None:
        offered = _offer(read_statement(f"{small[1]} ft {small[2]}", style="en", unit=None), ask)
        return refuse(ask, "value-ambiguous", "is feet and inches, a range, or half of a date", offered)
    match = _SUM.fullmatch(text)
    working = None if match is None else _FIRST_WORDS.fullmatch(match[3])
    if match is None or working is None:
        return None
    lengths = _worked_out(match[1], match[2], working[1].strip(), ask)
    if lengths is None:
        return None
    because = "is a sum, a deduction, a range or a tolerance, not one size"
    return refuse(ask, "value-ambiguous", because, candidates(lengths, ask=ask))


def _worked_out(first_text: str, sign: str, second_text: str, ask: Ask) -> list[Fraction] | None:
    """What a sum of two lengths can mean; a unit on one of them serves the other."""
    declared = ask.unit or "mm"
    first = read_statement(first_text, style=ask.style, unit=declared)
    first_unit = first.unit if isinstance(first, Sure) and first.unit else declared
    own = "in" if first_unit == "ft" else first_unit
    second = read_statement(second_text, style=ask.style, unit=own)
    second_unit = second.unit if isinstance(second, Sure) and second.unit else declared
    first = read_statement(first_text, style=ask.style, unit=second_unit)
    if not isinstance(first, Sure) or not isinstance(second, Sure):
        return None
    joined = read_statement(f"{first_text} {second_text}", style=ask.style, unit=second_unit)
    if sign == "+":
        return [first.nm, first.nm + second.nm]
    if sign not in "-–":
        return [first.nm]
    if isinstance(joined, Sure):
        return [joined.nm, first.nm - second.nm]
    return [first.nm, second.nm] if ask.allows(second.nm) else [first.nm - second.nm, first.nm]


def _is_total(text: str, ask: Ask) -> Refusal | None:
    if not _TOTAL.search(text):
        return None
    whole = mentioned(text, ask)
    halves = tuple(value / 2 for value in whole)
    return refuse(
        ask, "value-ambiguous", "is a total: it may be for both sides or for one", (*halves, *whole)
    )


MISSHAPEN: Final[tuple[Callable[[str, Ask], Refusal | None], ...]] = (
    _is_scientific,
    _is_look_alike,
    _is_misplaced_separator,
    _has_bare_end,
    _is_working,
    _is_total,
)
"""Causes in the order in which they are tried."""
