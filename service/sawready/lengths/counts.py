"""Written values that are no lengths: how many, which angle, which day."""

import datetime as dt
import re
from typing import Final

from sawready.lengths.characters import Cleaned, clean
from sawready.lengths.figures import read_figure
from sawready.lengths.reader import LONGEST_TEXT, number_text, unusual_digits
from sawready.lengths.results import Angle, Count, Refusal, Remark, WrittenDate, shown
from sawready.lengths.settle import Ask, refuse

MOST_OF_ONE_KIND: Final = 9999
"""More is no count of windows, but as a rule a day number: those of this century begin at 36526."""

_COUNT: Final = re.compile(r"([0-9]{1,6})(?:([.,])0{1,6})? {0,3}(off|no\.?|nr\.?)?")
_ANGLE: Final = re.compile(r"([0-9]{1,3}(?:[.,][0-9]{1,6})?) {0,3}(°|º|˚|deg\.?|degs\.?|degrees?)?")
_ISO_DATE: Final = re.compile(r"(20[0-9]{2})-([0-9]{2})-([0-9]{2})")
_SPREADSHEET_DATE: Final = re.compile(r"(20[0-9]{2}-[0-9]{2}-[0-9]{2})[ t]00:00(?::00)?(?:\.0{1,6})?")
_TWO_THEN_YEAR: Final = re.compile(r"([0-9]{1,2})([-/.])([0-9]{1,2})\2(20[0-9]{2})")
_YEAR_FIRST: Final = re.compile(r"(20[0-9]{2})([-/.])([0-9]{1,2})\2([0-9]{1,2})")
_NAMED_MONTH: Final = re.compile(r"([0-9]{1,2})(?:st|nd|rd|th)?[- ]{1,2}([a-z]{3,9})[- ,]{1,2}(20[0-9]{2})")
_MONTHS: Final = (
    "january", "february", "march", "april", "may", "june",
    "july", "august", "september", "october", "november", "december",
)  # fmt: skip
_SAY_COUNT: Final = "State a whole number of windows, such as 2."
_SAY_ANGLE: Final = "State the inside angle with its degree sign, such as 135°."
_SAY_DATE: Final = "Write the date as year, month, day: 2026-04-03."


def read_quantity(
    value: object, *, number_style: str = "en", most: int = MOST_OF_ONE_KIND
) -> Count | Refusal | None:
    """How many windows: ``2``, ``2.0`` as a spreadsheet writes it, ``2 off``, ``2 no.``.

    Args:
        value: text or number.
        number_style: as in ``read_length``; it settles whether ``2,0`` is a number.
        most: greatest count that is accepted.
    Example:
        >>> read_quantity("2 off").count
        2
        >>> read_quantity("1.5").reason
        'quantity-not-a-count'
    """
    ask = Ask(shown(value), None, number_style, None, None)
    cleaned = _cleaned(value, ask, "quantity-not-a-count", _SAY_COUNT)
    if not isinstance(cleaned, Cleaned):
        return cleaned
    text = cleaned.text
    match = _COUNT.fullmatch(text)
    if match is None or (match[2] is not None and match[2] != ("," if number_style == "eu" else ".")):
        return _no_count(text, ask)
    count = int(match[1])
    if not 1 <= count <= most:
        return refuse(ask, "quantity-not-a-count", f"is outside 1 to {most}", remedy=_SAY_COUNT)
    remarks = unusual_digits(cleaned, ask)
    if match[1][0] == "0":
        remarks = (*remarks, Remark("number-unusual", f"{ask.quoted} begins with a needless nought."))
    return Count(count, remarks)


def _no_count(text: str, ask: Ask) -> Refusal:
    """A quantity that is no whole number, or that somebody must settle."""
    if re.search(r"\b(?:pairs?|prs?)\b", text):
        choices = ("two windows", "one window with two lights")
        return refuse(ask, "value-ambiguous", "may count windows or lights", choices, remedy=_SAY_COUNT)
    return refuse(ask, "quantity-not-a-count", "is no plain whole number", remedy=_SAY_COUNT)


def read_angle(value: object, *, number_style: str = "en") -> Angle | Refusal | None:
    """An inside angle, as between the faces of a bay; from 90 degrees up to less than 180.

    Below 90 it may be the turn instead, which is 180 less the inside angle, so it is asked.

    Example:
        >>> read_angle("135°").degrees
        Fraction(135, 1)
        >>> read_angle("45").candidates_mm
        ('45 as written', '135 inside angle')
    """
    ask = Ask(shown(value), None, number_style, None, None)
    cleaned = _cleaned(value, ask, "value-unreadable", _SAY_ANGLE)
    if not isinstance(cleaned, Cleaned):
        return cleaned
    match = _ANGLE.fullmatch(cleaned.text)
    figures = None if match is None else read_figure(match[1], number_style)
    if figures is None or not figures.is_sure:
        return refuse(ask, "value-unreadable", "is no angle in degrees", remedy=_SAY_ANGLE)
    degrees = figures.readings[0].value
    if not 0 < degrees < 180:
        return refuse(
            ask,
            "value-out-of-range",
            "is no angle between two faces: more than 0, less than 180",
            remedy=_SAY_ANGLE,
        )
    if degrees < 90:
        choices = (f"{float(degrees):.10g} as written", f"{float(180 - degrees):.10g} inside angle")
        return refuse(
            ask, "value-ambiguous", "may be the inside angle or the turn", choices, remedy=_SAY_ANGLE
        )
    return Angle(degrees, unusual_digits(cleaned, ask))


def read_date(value: object) -> WrittenDate | Refusal | None:
    """A day of this century that can be read in one way only.

    Year, month, day (RFC 3339 full-date) is read as it stands. A date whose day is over 12 or equal
    to its month, or whose month is a word, has one reading and is accepted with a remark. Dates that
    fit both orders, years of two digits and day numbers are refused.

    Example:
        >>> read_date("2026-04-03").date
        datetime.date(2026, 4, 3)
        >>> read_date("03/04/2026").candidates_mm
        ('2026-04-03', '2026-03-04')
    """
    ask = Ask(shown(value), None, "en", None, None)
    if value is not None and not isinstance(value, str):
        return refuse(ask, "value-unreadable", "is no date", remedy=_SAY_DATE)
    cleaned = _cleaned(value, ask, "value-unreadable", _SAY_DATE)
    if not isinstance(cleaned, Cleaned):
        return cleaned
    text = cleaned.text
    match = _ISO_DATE.fullmatch(text)
    if match is not None:
        day = _day(match[1], match[2], match[3])
        if day is None:
            return refuse(ask, "value-unreadable", "is no day of the calendar", remedy=_SAY_DATE)
        return WrittenDate(day, unusual_digits(cleaned, ask))
    readings = _readings_of_date(text)
    if readings is None:
        return refuse(
            ask, "value-unreadable", "is no date that can be read", _likely_dates(text), remedy=_SAY_DATE
        )
    if not readings:
        return refuse(ask, "value-unreadable", "is no day of the calendar", remedy=_SAY_DATE)
    if len(readings) > 1:
        choices = tuple(day.isoformat() for day in readings)
        return refuse(ask, "value-ambiguous", "can be read in two ways", choices, remedy=_SAY_DATE)
    said = Remark("number-unusual", f"{ask.quoted} is read as {readings[0].isoformat()}.")
    return WrittenDate(readings[0], (*unusual_digits(cleaned, ask), said))


def _readings_of_date(text: str) -> list[dt.date] | None:
    """Every day that a written date can mean, day before month first; None if it has no known form."""
    named = _NAMED_MONTH.fullmatch(text)
    if named is not None:
        months = [
            at + 1
            for at, month in enumerate(_MONTHS)
            if named[2] in {month, month[:3]} or named[2] == "sept" == month[:4]
        ]
        days = [_day(named[3], str(month), named[1]) for month in months]
    else:
        match = _TWO_THEN_YEAR.fullmatch(text)
        if match is None:
            return None
        days = [_day(match[4], match[3], match[1]), _day(match[4], match[1], match[3])]
    return list(dict.fromkeys(day for day in days if day is not None))


def _likely_dates(text: str) -> tuple[str, ...]:
    """Days worth offering for a form that is not accepted."""
    sheet = _SPREADSHEET_DATE.fullmatch(text)
    match = _YEAR_FIRST.fullmatch(sheet[1] if sheet else text)
    day = None if match is None else _day(match[1], match[3], match[4])
    return () if day is None else (day.isoformat(),)


def _day(year: str, month: str, day: str) -> dt.date | None:
    try:
        return dt.date(int(year), int(month), int(day))
    except ValueError:
        return None


def _cleaned(value: object, ask: Ask, reason: str, remedy: str) -> Cleaned | Refusal | None:
    """Text in a state to be read; None if there is none. Numbers are read as their digits."""
    if value is None:
        return None
    text = value if isinstance(value, str) else number_text(value)
    if text is None or len(text) > LONGEST_TEXT:
        return refuse(ask, reason, "is no text or number that can be read", remedy=remedy)
    cleaned = clean(text)
    if isinstance(cleaned, str):
        return refuse(ask, reason, f"cannot be trusted: {cleaned}", remedy=remedy)
    return cleaned if cleaned.text else None
