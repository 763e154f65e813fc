"""Why a text is no length: the likeliest cause in words, and the readings worth offering.

Nothing here ever accepts a value. The order of the causes matters: a doubt that the writer put into
words, such as "approx", comes before everything that could be made of the digits.
"""

import re
import unicodedata
from collections.abc import Callable
from fractions import Fraction
from typing import Final

from sawready.lengths.characters import words
from sawready.lengths.grammar import Sure, read_statement
from sawready.lengths.mentions import mentioned
from sawready.lengths.misshapen import MISSHAPEN
from sawready.lengths.results import Refusal
from sawready.lengths.settle import Ask, candidates, refuse
from sawready.units import length_unit, nm_per_unit, other_length_unit, unit_kind

_ESTIMATES: Final = words(
    "approx approximately appr about abt around circa ca c say roughly rough est estimate estimated "
    "guess guessed ish so maybe possibly poss probably prob think check recheck unsure unconfirmed "
    "provisional prov tbc tba tbd"
)
_REFERENCES: Final = words("as same ditto do see refer ref per like match matches above below previous prev")
_NO_UNITS: Final = words("min d w h l r b o t x e")
"""Short words beside a size that pint would take for a minute, a day, a litre and so on."""

_MILS: Final = words("mil mils mill mills")
_DITTO_MARKS: Final = frozenset({'"', "'", "〃", ",,"})
_WORD: Final = re.compile(r"[a-z]{1,40}")
_DIGIT: Final = re.compile(r"[0-9]")
_BROKEN_FORMULA: Final = re.compile(r"#{2,200}|#[^0-9].{0,40}")
_MONTH: Final = r"(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]{0,6}"
_DATE: Final = re.compile(
    r"[0-9]{4}[-/.][0-9]{1,2}[-/.][0-9]{1,2}(?:[ t][0-9:. z]{0,20})?"
    r"|[0-9]{1,2}[-/.][0-9]{1,2}[-/.][0-9]{2,4}(?:[ t][0-9:. z]{0,20})?"
    rf"|[0-9]{{1,2}}(?:st|nd|rd|th)?[-/. ]{{0,2}}{_MONTH}[-/. ]{{0,2}}[0-9]{{0,4}}"
    rf"|{_MONTH}[-/. ]{{0,2}}[0-9]{{1,4}}"
    r"|0[0-9]/[0-9]{1,2}|[0-9]{1,2}/0[0-9]"
)
_TIME: Final = re.compile(r"[0-9]{1,2}:[0-9]{2}(?::[0-9]{2})?(?: ?[ap]\.?m\.?)?")
_MINUS: Final = re.compile(r"[-–] {0,3}[0-9.].{0,200}")
_BRACKETED: Final = re.compile(r"\([0-9., ']{1,40}\)")
_WITH_WORD: Final = re.compile(r"[0-9][0-9.,' /]{0,40}?[ -]{0,3}([a-z]{1,24})\.?(\^?[23²³])?")
_SQUARE: Final = re.compile(r"[²³]|(?<![a-z])(?:sq|sqm|sqmm|square|cu|cubic)(?![a-z])")


def explain(text: str, ask: Ask) -> Refusal:
    """Refusal of a cleaned text that is none of the forms of a length.

    Example:
        >>> explain("1200 tight", Ask("'1200 tight'", "mm", "en", 150_000_000, None)).candidates_mm
        (1200.0,)
    """
    for cause in (*_CAUSES, *MISSHAPEN):
        refusal = cause(text, ask)
        if refusal is not None:
            return refusal
    offered = mentioned(text, ask)
    if offered:
        return refuse(ask, "value-ambiguous", _left_over(text), offered)
    return refuse(ask, "value-unreadable", "is no length that can be read")


def _left_over(text: str) -> str:
    """Names what stands beside the number, as it can change what is meant."""
    if "\n" in text:
        return "holds more than one line"
    left = [word for word in _WORD.findall(text) if length_unit(word) is None]
    if left:
        return f'says more than a size: "{left[0]}" can change what is meant'
    return "holds more than one plain size"


def _is_fault_of_sheet(text: str, ask: Ask) -> Refusal | None:
    if _BROKEN_FORMULA.fullmatch(text):
        broken = "is a column too narrow to show its number" if set(text) == {"#"} else "is a broken formula"
        return refuse(ask, "value-unreadable", broken, remedy="Put the value itself into the cell.")
    if text[0] in "=@":
        return refuse(ask, "value-unreadable", "is the text of a formula; formulas are not worked out")
    return None


def _has_no_digit(text: str, ask: Ask) -> Refusal | None:
    if _DIGIT.search(text):
        return None
    folded = "".join(_folded_digit(sign) for sign in text)
    if folded != text:
        offered = mentioned(folded, ask)
        return refuse(ask, "value-unreadable", "has digits that are not 0 to 9", offered)
    if text in _DITTO_MARKS:
        return _refers_elsewhere(ask)
    return _is_doubted(text, ask) or refuse(ask, "value-unreadable", "holds no number")


def _folded_digit(sign: str) -> str:
    digit = unicodedata.digit(sign, None)
    return sign if digit is None else str(digit)


def _refers_elsewhere(ask: Ask) -> Refusal:
    because = "refers to another place; nothing is copied from there"
    return refuse(ask, "value-unreadable", because, remedy="Write the size itself into this cell.")


def _is_doubted(text: str, ask: Ask) -> Refusal | None:
    found = _WORD.findall(text)
    if any(sign in text for sign in "~?≈∼≃≅") or _ESTIMATES.intersection(found):
        because = "is marked as uncertain by its writer, and an estimate must not be cut"
        return refuse(ask, "value-unreadable", because, remedy="Measure again and state the size.")
    return _refers_elsewhere(ask) if _REFERENCES.intersection(found) else None


def _is_other_kind(text: str, ask: Ask) -> Refusal | None:
    """Money, percentages, dates and times."""
    if any(unicodedata.category(sign) == "Sc" for sign in text):
        return refuse(ask, "value-unreadable", "is an amount of money")
    if any(sign in text for sign in "%‰°º"):
        return refuse(ask, "unit-not-a-length", "is an angle, a temperature or a percentage, no length")
    if _DATE.fullmatch(text):
        return refuse(ask, "value-unreadable", "is a date, or was turned into one by a spreadsheet")
    if _TIME.fullmatch(text):
        return refuse(ask, "value-unreadable", "is a time of day")
    return None


def _is_negative(text: str, ask: Ask) -> Refusal | None:
    if _MINUS.fullmatch(text):
        remedy = "State the size without a minus sign."
        return refuse(ask, "value-out-of-range", "is below nought", remedy=remedy)
    if _BRACKETED.fullmatch(text):
        because = "stands in brackets, which mark a negative number in accounts"
        return refuse(ask, "value-unreadable", because)
    return None


def _has_other_unit(text: str, ask: Ask) -> Refusal | None:
    """A number with a word behind it that is no unit of a size."""
    match = _WITH_WORD.fullmatch(text)
    if _SQUARE.search(text) or (match is not None and match[2] and length_unit(match[1]) is not None):
        return refuse(ask, "unit-not-a-length", "has the unit of an area or a volume")
    if match is None or length_unit(match[1]) is not None:
        return None
    word, number = match[1], text[: match.start(1)].rstrip(" -")
    other = other_length_unit(word)
    if other is not None:
        factor = Fraction(nm_per_unit(other), nm_per_unit("mm"))
        because = f'is written in "{word}", in which no size is taken'
        return refuse(ask, "value-ambiguous", because, _times(number, factor, ask))
    if word in _MILS:
        because = "uses a short word for millimetres or for thousandths of an inch"
        return refuse(ask, "value-ambiguous", because, _times(number, Fraction(1), ask))
    if word not in _NO_UNITS and unit_kind(word) == "other":
        return refuse(ask, "unit-not-a-length", f'has "{word}" for a unit, which measures no length')
    return None


def _times(number: str, factor: Fraction, ask: Ask) -> tuple[float, ...]:
    """A bare number of millimetres times a factor, where it can be read and is worth offering."""
    sure = read_statement(number, style=ask.style, unit="mm")
    return candidates([sure.nm * factor], ask=ask) if isinstance(sure, Sure) else ()


_CAUSES: Final[tuple[Callable[[str, Ask], Refusal | None], ...]] = (
    _is_fault_of_sheet,
    _has_no_digit,
    _is_doubted,
    _is_other_kind,
    _is_negative,
    _has_other_unit,
)
