"""Read a written length: the one door for every size, gap, horn and thickness.

Plain digits go the short way; every other text is cleaned, read by the grammar, and judged. The
answer for a text is remembered, as the same sizes come again and again in a batch.
"""

import re
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from typing import Final

from sawready.lengths.characters import Cleaned, clean
from sawready.lengths.explain import explain
from sawready.lengths.grammar import Doubt, Sure, read_statement
from sawready.lengths.results import NUMBER_STYLES, Axis, Length, Refusal, Remark, shown
from sawready.lengths.settle import Ask, refuse, refuse_doubt, settle, whole_nm
from sawready.units import LENGTH_UNITS, mm, nm_per_unit

LONGEST_TEXT: Final = 200
"""Characters; a longer cell is no size, and reading it would only cost time."""

_REMEMBERED: Final = 16_384
_MOST_NUMBER: Final = 10**12
_PLAIN_NUMBER: Final = re.compile(r"([1-9][0-9]{0,5})(?:\.([0-9]{1,6}))?(?: ?(mm|cm|m))?", re.ASCII)
_NONE_WORDS: Final = frozenset({"nil", "nil.", "none", "none."})
_LABEL: Final = re.compile(
    r"(.{0,150}[0-9.\"' a-z]) {0,3}(?:\((w|wide|width|h|high|height|tall|d|deep|depth)\)"
    r"|(?<![a-z])(w|wide|width|h|high|height|tall|d|deep|depth))"
)
_AXIS_OF_LABEL: Final[dict[str, Axis]] = {
    "w": "width", "wide": "width", "width": "width",
    "h": "height", "high": "height", "height": "height", "tall": "height",
    "d": "depth", "deep": "depth", "depth": "depth",
}  # fmt: skip


def read_length(
    value: object,
    *,
    unit: str | None,
    number_style: str = "en",
    least_nm: int | None = None,
    most_nm: int | None = None,
    axis: str | None = None,
    words_for_none: bool = False,
) -> Length | Refusal | None:
    """A written length, exact to the nanometre; or why not; or None for an empty value.

    A unit in the text beats the declared one, with a remark. Text that can honestly be read in two
    ways is refused with its candidates, and no word or sign in it is ever dropped.

    Args:
        value: text, or a number as a JSON door gives it: int, Decimal, float, Fraction.
        unit: declared unit of a bare number: ``mm``, ``cm``, ``m``, ``in``, ``ft``, or None.
        number_style: ``en`` (1,200.5), ``eu`` (1.200,5), ``ch`` (1'200.5) or ``unknown``.
        least_nm: least length that is accepted. [nm]
        most_nm: greatest length that is accepted. [nm]
        axis: side of the cell, ``width``, ``height`` or ``depth``, for labels as in "1200 wide".
        words_for_none: "nil" and "none" mean nought, as for a horn or a finish.
    Raises: ValueError if unit or number style is none of those; never for the value.
    Example:
        >>> read_length('47 1/4"', unit="in").nm
        1200150000
        >>> read_length("1200 tight", unit="mm").reason
        'value-ambiguous'
    """
    if isinstance(value, str):
        if len(value) > LONGEST_TEXT:
            return _too_long(value)
        return _read_text(value, unit, number_style, least_nm, most_nm, axis, words_for_none)
    if value is None:
        return None
    text = number_text(value)
    if text is not None:
        return _read_text(text, unit, "en", least_nm, most_nm, axis, words_for_none)
    ask = Ask(shown(value), unit, number_style, least_nm, most_nm, axis)
    if isinstance(value, Fraction):
        return _read_fraction(value, ask)
    return refuse(ask, "value-unreadable", "is no number that can be read")


def number_text(value: object) -> str | None:
    """Plain decimal text of a number; None for what is none, is not finite, or is beyond all sizes.

    Example:
        >>> number_text(1200), number_text(Decimal("1.2E3")), number_text(True)
        ('1200', '1200', None)
    """
    if isinstance(value, int):
        return None if isinstance(value, bool) or abs(value) >= _MOST_NUMBER else str(value)
    if isinstance(value, float):
        value = Decimal(repr(float(value)))
    if not isinstance(value, Decimal) or not value.is_finite():
        return None
    exponent = value.as_tuple().exponent
    if not isinstance(exponent, int) or not -40 <= exponent <= 12 or value.copy_abs() >= _MOST_NUMBER:
        return None
    return format(value, "f")


def _too_long(value: str) -> Refusal:
    return Refusal(
        "value-unreadable",
        f"{shown(value)} has {len(value)} characters; a size has {LONGEST_TEXT} at the most.",
        remedy="State one size, such as 1200 mm.",
    )


def _read_fraction(value: Fraction, ask: Ask) -> Length | Refusal:
    """A number already exact, such as a figure of a catalogue."""
    if ask.unit is None and value != 0:
        return refuse(ask, "unit-not-stated", "states no unit, and none is declared for it")
    if abs(value) >= _MOST_NUMBER:
        return refuse(ask, "value-unreadable", "is beyond all sizes")
    nm = value * nm_per_unit(ask.unit or "mm")
    quoted = ask._replace(quoted=f"{mm(whole_nm(nm)):.10g} mm")
    return settle(Sure(nm, None, value), "", quoted)


@lru_cache(maxsize=_REMEMBERED)
def _read_text(
    text: str,
    unit: str | None,
    style: str,
    least_nm: int | None,
    most_nm: int | None,
    axis: str | None,
    words_for_none: bool,
) -> Length | Refusal | None:
    """Text to length. A plain number within the limits needs no more than its factor."""
    if (unit is not None and unit not in LENGTH_UNITS) or style not in NUMBER_STYLES:
        raise ValueError(f"unknown unit {unit!r} or number style {style!r}")
    plain = _PLAIN_NUMBER.fullmatch(text)
    if plain is not None and unit is not None and unit != "ft" and plain[3] in {None, unit}:
        decimals = plain[2] or ""
        nm, rest = divmod(int(plain[1] + decimals) * nm_per_unit(unit), 10 ** len(decimals))
        is_sure = not rest and (not decimals or style == "en")
        if is_sure and nm >= (least_nm or 0) and (most_nm is None or nm <= most_nm):
            return Length(nm)
    ask = Ask(shown(text), unit, style, least_nm, most_nm, axis)
    cleaned = clean(text)
    if isinstance(cleaned, str):
        return refuse(
            ask, "value-unreadable", f"cannot be trusted: {cleaned}", remedy="Send the text again, undamaged."
        )
    if not cleaned.text:
        return None
    if words_for_none and cleaned.text in _NONE_WORDS:
        return settle(Sure(Fraction(0), None), "", ask)
    return _judge(cleaned, ask)


def _judge(cleaned: Cleaned, ask: Ask) -> Length | Refusal:
    """Answer for a text that has something in it."""
    text, label = split_label(cleaned.text)
    statement = read_statement(text, style=ask.style, unit=ask.unit)
    if statement is None and cleaned.has_text_marker and label is None:
        text = text[1:]
        statement = read_statement(text, style=ask.style, unit=ask.unit)
        if isinstance(statement, Sure) and ("'" in text or '"' in text):
            offered = Doubt("value-ambiguous", "may be quoted, or begin with a text marker", (statement.nm,))
            return refuse_doubt(offered, ask)
    if statement is None:
        return explain(cleaned.text, ask)
    if isinstance(statement, Doubt):
        return refuse_doubt(statement, ask)
    if label is not None and label != ask.axis:
        meant = "another side" if ask.axis is None else f"the {ask.axis}"
        because = f"is labelled as a {label}, and the cell is for {meant}"
        return refuse_doubt(Doubt("value-ambiguous", because, (statement.nm,)), ask)
    return settle(statement, text, ask, remarks=unusual_digits(cleaned, ask))


def unusual_digits(cleaned: Cleaned, ask: Ask) -> tuple[Remark, ...]:
    """The remark that full-width characters deserve."""
    if not cleaned.is_folded:
        return ()
    return (Remark("number-unusual", f"{ask.quoted} is written in full-width characters."),)


def split_label(text: str) -> tuple[str, Axis | None]:
    """A text without the label behind it, and the side that the label names.

    Example:
        >>> split_label("1200 wide"), split_label("1050h"), split_label("6 inch")
        (('1200', 'width'), ('1050', 'height'), ('6 inch', None))
    """
    match = _LABEL.fullmatch(text)
    if match is None:
        return text, None
    return match[1].rstrip(" "), _AXIS_OF_LABEL[match[2] or match[3]]
