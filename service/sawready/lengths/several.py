"""Several lengths in one cell: a pair of width and height, or the readings of one side."""

import re
from collections.abc import Sequence
from typing import Final, Literal

from sawready.lengths.characters import Cleaned, clean
from sawready.lengths.explain import explain
from sawready.lengths.figures import read_figure
from sawready.lengths.grammar import Doubt, Sure, read_statement
from sawready.lengths.mentions import mentioned
from sawready.lengths.reader import LONGEST_TEXT, number_text, split_label, unusual_digits
from sawready.lengths.results import Axis, Length, Pair, Readings, Refusal, Remark, shown
from sawready.lengths.settle import Ask, candidates, refuse, refuse_doubt, settle
from sawready.units import mm, nm_per_unit

PairOrder = Literal["WxH", "HxW"]

_BY: Final = re.compile(
    r"(?<![a-z])((?:mm|cm|m|ins|in|ft|wide|high|w|h)?) {0,3}(?:x|by)"
    r"(?=(?:width|height|wide|high|w|h)?(?![a-z]))"
)
_LABEL_BEFORE: Final = re.compile(r"(w|h|width|height|wide|high) {0,3}([0-9].{0,150})")
_LABELLED: Final = r"((?:[wh] ?)?[0-9]{1,6}(?:[.,][0-9]{1,6})?(?: ?(?:mm|cm|m))?(?: ?[wh])?)"
_LABELLED_PAIR: Final = re.compile(rf"(?=.{{0,60}}[wh].{{0,60}}[wh]){_LABELLED}[ ,/]{{1,3}}{_LABELLED}")
_SHORTHAND: Final = re.compile(r"([1-9])([0-9])([1-9])([0-9])")
_COMMA_SPACE: Final = re.compile(r", {1,3}")
_FIGURE_FIRST: Final = re.compile(r"[0-9.,']{1,20}")
_NO_GROUPS: Final = re.compile(r"[0-9]{4,5}(?:\.[0-9]{1,6})?")
_SEVERAL: Final = "Write each size with its unit, or put each into a cell of its own."


def read_pair(
    value: object,
    *,
    unit: str | None,
    number_style: str = "en",
    least_nm: int | None = None,
    most_nm: int | None = None,
    order: PairOrder | None = None,
) -> Pair | Refusal | None:
    """Width and height from a cell such as ``1200 x 1050`` or ``1200w x 1050h``.

    A unit on the last number serves both; labels settle the order and beat the declared one, with a
    remark.

    Args:
        value: text.
        unit: declared unit of bare numbers, or None.
        number_style: as in ``read_length``.
        least_nm: least length of each. [nm]
        most_nm: greatest length of each. [nm]
        order: declared order of the two, or None.
    Raises: ValueError if unit or number style is unknown.
    Example:
        >>> pair = read_pair("H1050 x W1200", unit="mm")
        >>> pair.width_nm, pair.height_nm
        (1200000000, 1050000000)
    """
    ask = Ask(shown(value), unit, number_style, least_nm, most_nm)
    cleaned = _cleaned(value, ask)
    if not isinstance(cleaned, Cleaned):
        return cleaned
    labelled_only = _LABELLED_PAIR.fullmatch(cleaned.text)
    parts = _BY.sub(r"\1×", cleaned.text).split("×") if labelled_only is None else [*labelled_only.groups()]
    if len(parts) == 1:
        return _one_for_a_pair(cleaned.text, ask)
    if len(parts) > 2:
        return refuse(
            ask, "value-ambiguous", "has more than two sizes; say what the third is", remedy=_SEVERAL
        )
    labelled = [_split_labels(part.strip(" ")) for part in parts]
    if any(not text for text, _ in labelled):
        return refuse(ask, "value-unreadable", "lacks one of its two sizes", remedy=_SEVERAL)
    lengths = _read_together([text for text, _ in labelled], ask)
    if isinstance(lengths, Refusal):
        return lengths
    return _ordered(lengths, [label for _, label in labelled], order, ask, unusual_digits(cleaned, ask))


def read_readings(
    value: object,
    *,
    unit: str | None,
    number_style: str = "en",
    least_nm: int | None = None,
    most_nm: int | None = None,
) -> Readings | Refusal | None:
    """Readings of one side from a cell such as ``1198/1201/1199`` or ``1198, 1201, 1199``.

    Semicolons, upright bars and line ends part readings; so do strokes and commas where they cannot
    be read as a fraction, as thousands or as decimals. A unit on the last number serves all.

    Args: as ``read_pair``, without an order.
    Raises: ValueError if unit or number style is unknown.
    Example:
        >>> read_readings("1198/1201/1199", unit="mm").nm
        (1198000000, 1201000000, 1199000000)
    """
    ask = Ask(shown(value), unit, number_style, least_nm, most_nm)
    cleaned = _cleaned(value, ask)
    if not isinstance(cleaned, Cleaned):
        return cleaned
    parts = _split_readings(cleaned.text, number_style)
    if parts is None:
        return _doubtful_list(cleaned.text, ask)
    if any(not part for part in parts):
        return refuse(ask, "value-unreadable", "lacks one of its readings", remedy=_SEVERAL)
    lengths = _read_together(parts, ask)
    if isinstance(lengths, Refusal):
        return lengths
    remarks = tuple(remark for length in lengths for remark in length.remarks)
    remarks = tuple(dict.fromkeys(unusual_digits(cleaned, ask) + remarks))
    return Readings(tuple(length.nm for length in lengths), remarks)


def _cleaned(value: object, ask: Ask) -> Cleaned | Refusal | None:
    """Text in a state to be read; None if there is none. Numbers are read as their digits."""
    nm_per_unit(ask.unit or "mm")
    if value is None:
        return None
    text = value if isinstance(value, str) else number_text(value)
    if text is None or len(text) > LONGEST_TEXT:
        return refuse(ask, "value-unreadable", "is no text that can hold sizes", remedy=_SEVERAL)
    cleaned = clean(text)
    if isinstance(cleaned, str):
        return refuse(ask, "value-unreadable", f"cannot be trusted: {cleaned}", remedy=_SEVERAL)
    return cleaned if cleaned.text else None


def _read_together(texts: Sequence[str], ask: Ask) -> list[Length] | Refusal:
    """Lengths that share a cell. Bare numbers take the unit of the last one, where it has a plain one."""
    bare = [_is_bare(text, ask) for text in texts]
    last = read_statement(texts[-1], style=ask.style, unit=ask.unit)
    shared = ask.unit
    if any(bare) and not all(bare):
        plain_end = isinstance(last, Sure) and not last.is_sum and not bare[-1]
        if plain_end and isinstance(last, Sure):
            shared = last.unit
        doubt = _doubt_about_units(texts, bare, shared, ask, is_plain_end=plain_end)
        if doubt is not None:
            return doubt
    lengths: list[Length] = []
    for text, is_bare in zip(texts, bare, strict=True):
        statement = read_statement(text, style=ask.style, unit=shared if is_bare else ask.unit)
        if isinstance(statement, Sure):
            if is_bare and shared != ask.unit:
                statement = statement._replace(unit=shared)
            length = settle(statement, text, ask)
            if isinstance(length, Refusal):
                return length
            lengths.append(length)
        elif statement is None:
            return explain(text, ask)
        else:
            return refuse_doubt(statement, ask)
    return lengths


def _is_bare(text: str, ask: Ask) -> bool:
    """A number or fraction that states no unit of its own."""
    statement = read_statement(text, style=ask.style, unit=None)
    if isinstance(statement, Doubt):
        return statement.reason == "unit-not-stated"
    return statement is not None and statement.unit is None


def _doubt_about_units(
    texts: Sequence[str], bare: Sequence[bool], shared: str | None, ask: Ask, *, is_plain_end: bool
) -> Refusal | None:
    """Refusal where a bare number beside a stated unit could be meant in two ways."""
    for text, is_bare in zip(texts, bare, strict=True):
        if not is_bare:
            statement = read_statement(text, style=ask.style, unit=None)
            if not is_plain_end and isinstance(statement, Sure) and statement.unit != ask.unit:
                return _which_unit(texts, ask)
            continue
        own = read_statement(text, style=ask.style, unit=ask.unit)
        other = read_statement(text, style=ask.style, unit=shared)
        own_fits = isinstance(own, Sure) and ask.allows(own.nm)
        other_fits = isinstance(other, Sure) and ask.allows(other.nm)
        if own_fits and not other_fits:
            return _which_unit(texts, ask)
    return None


def _which_unit(texts: Sequence[str], ask: Ask) -> Refusal:
    offered = tuple(dict.fromkeys(value for text in texts for value in mentioned(text, ask)))
    return refuse(
        ask, "value-ambiguous", "states a unit for one number and none for another", offered, remedy=_SEVERAL
    )


def _split_labels(part: str) -> tuple[str, Axis | None]:
    """Text of one size without its label before or behind, and the side that the label names."""
    match = _LABEL_BEFORE.fullmatch(part)
    if match is None:
        return split_label(part)
    return match[2], "width" if match[1].startswith("w") else "height"


def _ordered(
    lengths: Sequence[Length],
    labels: Sequence[Axis | None],
    order: PairOrder | None,
    ask: Ask,
    remarks: tuple[Remark, ...],
) -> Pair | Refusal:
    """The two sizes as width and height, by their labels or else by the declared order."""
    first, second = lengths
    declared: Axis | None = None
    if order is not None:
        declared = "width" if order == "WxH" else "height"
    stated = labels[0]
    if stated is None and labels[1] is not None:
        stated = "height" if labels[1] == "width" else "width"
    if "depth" in labels or (labels[0] is not None and labels[0] == labels[1]):
        return refuse(ask, "value-ambiguous", "has labels that name no width and height", remedy=_SEVERAL)
    is_against = stated is not None and declared is not None and stated != declared
    is_half_labelled = None in labels
    if is_half_labelled and (declared is None or is_against):
        choices = [_by(first.nm, second.nm), _by(second.nm, first.nm)]
        if stated == "height":
            choices.reverse()
        return refuse(
            ask, "value-ambiguous", "does not say which is the width", tuple(choices), remedy=_SEVERAL
        )
    remarks = tuple(dict.fromkeys(remarks + first.remarks + second.remarks))
    if is_against:
        said = f"{ask.quoted} has labels against the declared order; the labels are used."
        remarks = (*remarks, Remark("number-unusual", said))
    if (stated or declared) == "width":
        return Pair(first.nm, second.nm, remarks)
    return Pair(second.nm, first.nm, remarks)


def _by(width_nm: int, height_nm: int) -> str:
    return f"{mm(width_nm):.10g} wide by {mm(height_nm):.10g} high"


def _one_for_a_pair(text: str, ask: Ask) -> Refusal:
    """A cell for two sizes in which no sign parts them."""
    offered: tuple[float | str, ...] = tuple(f"one size of {value:.10g} mm" for value in mentioned(text, ask))
    match = _SHORTHAND.fullmatch(text)
    if match is not None:
        foot, inch = nm_per_unit("ft"), nm_per_unit("in")
        sides = [int(match[at]) * foot + int(match[at + 1]) * inch for at in (1, 3)]
        if all(ask.allows(side) for side in sides):
            in_mm = f"{mm(sides[0]):.10g} by {mm(sides[1]):.10g} mm"
            feet = f"{match[1]} ft {match[2]} by {match[3]} ft {match[4]} ({in_mm})"
            offered = (feet, *offered)
            return refuse(ask, "value-ambiguous", "is one number for two sizes", offered, remedy=_SEVERAL)
    if len(offered) == 1 or read_statement(text, style=ask.style, unit="mm") is not None:
        return refuse(ask, "value-unreadable", "has one size where two are due", offered, remedy=_SEVERAL)
    if offered:
        both = " by ".join(f"{value:.10g}" for value in mentioned(text, ask))
        return refuse(ask, "value-ambiguous", "does not part its sizes by an x", (both,), remedy=_SEVERAL)
    return explain(text, ask)


def _split_readings(text: str, style: str) -> list[str] | None:
    """Texts of the readings; None where what stands between them could mean something else."""
    for sign in (";", "|", "\n"):
        if sign in text:
            return [part.strip(" ") for part in text.split(sign)]
    if ", " in text:
        return [part.strip(" ") for part in _COMMA_SPACE.split(text)]
    if " / " in text:
        return [part.strip(" ") for part in text.split(" / ")]
    if "/" in text:
        return _split_by_strokes(text, style)
    return _split_by_commas(text, style) if "," in text else [text]


def _split_by_strokes(text: str, style: str) -> list[str] | None:
    """Readings parted by strokes; the text as one where it may be a fraction instead."""
    parts = [part.strip(" ") for part in text.split("/")]
    last = _FIGURE_FIRST.match(parts[-1])
    numbers = [*parts[:-1], last[0].strip(" ") if last else ""]
    if all(_is_no_part_of_fraction(number, style) for number in numbers):
        return parts
    return [text] if len(parts) == 2 else None


def _is_no_part_of_fraction(text: str, style: str) -> bool:
    """A number with decimals, or too great for a numerator or denominator; a missing one is told later."""
    figures = read_figure(text, style) if text else None
    return not text or (
        figures is not None and any(not one.is_whole or one.value >= 100 for one in figures.readings)
    )


def _split_by_commas(text: str, style: str) -> list[str] | None:
    """Readings parted by bare commas, where these cannot group thousands or divide decimals."""
    parts = text.split(",")
    is_list = all(_NO_GROUPS.fullmatch(part) for part in parts)
    if is_list and (style in {"en", "ch"} or len(parts) > 2):
        return parts
    is_one = len(parts) == 2 and not is_list and read_statement(text, style=style, unit="mm") is not None
    return [text] if is_one else None


def _doubtful_list(text: str, ask: Ask) -> Refusal:
    """A list whose commas or strokes can be read in more than one way."""
    commas = text.split(",")
    offered: tuple[float | str, ...] = ()
    if len(commas) > 2 and len(commas) % 2 == 0:
        pairs = [f"{commas[at]},{commas[at + 1]}" for at in range(0, len(commas), 2)]
        found = [read_statement(pair, style="en", unit=ask.unit) for pair in pairs]
        lengths = [
            value for sure in found if isinstance(sure, Sure) for value in candidates([sure.nm], ask=ask)
        ]
        if len(lengths) == len(pairs):
            offered = (" and ".join(f"{value:.10g}" for value in lengths), ", ".join(commas))
    because = "is a list whose separators can be read in more than one way"
    return refuse(ask, "value-ambiguous", because, offered or mentioned(text, ask), remedy=_SEVERAL)
