"""What one slip of pen, tape or keyboard may have made of a length: the values it may have been.

Each value comes with its share: how likely that slip is, before any other number is looked at. A kind
of slip that could have led to many values shares its likelihood among them, so that a fit among many
tries counts for less than a fit among few.
"""

from collections.abc import Iterator
from functools import lru_cache
from math import log
from typing import Final, NamedTuple

from sawready.calc.forensics.model import SuspicionFigures
from sawready.calc.forensics.sight import IMPERIAL_MM
from sawready.calc.forensics.wording import length

__all__ = [
    "DIGITS",
    "STEP",
    "TAPE_MARK_MM",
    "UNIT",
    "Change",
    "digit_swaps",
    "is_usual_in",
    "lost_fractions_mm",
    "single_changes",
    "steps_mm",
    "unit_slips",
]

DIGITS: Final = "reading-digits-swapped"
STEP: Final = "reading-step-slip"
UNIT: Final = "reading-unit-slip"

INCH_MM: Final = 25.4
TAPE_MARK_MM: Final = 1.6
"""Half of the marks of a tape in eighths of an inch: no length taken in inches is finer [mm]."""

UNIT_WORDS: Final = {1.0: "millimetres", 10.0: "centimetres", 1000.0: "metres", 25.4: "inches", 304.8: "feet"}
"""Unit that a number was probably taken in, by its length [mm]."""


class Change(NamedTuple):
    """What a length may have been before one slip.

    Attributes:
        reason: the kind of slip, by its reason.
        value_mm: what the length was. [mm]
        log_share: logarithm of the slip's share.
        slack_mm: how coarse the value is, where a unit was read into it. [mm]
        factor: what the length is multiplied with, for a slip of unit; 1 otherwise.
        added_mm: what is added, for a step; 0 otherwise. [mm]
    """

    reason: str
    value_mm: float
    log_share: float
    slack_mm: float = 0.0
    factor: float = 1.0
    added_mm: float = 0.0

    def words(self, unit_mm: float) -> str:
        """The slip in words.

        Args:
            unit_mm: unit in which the length was written. [mm]
        """
        if self.reason == DIGITS:
            return "two digits swapped"
        if self.reason == STEP:
            size = f"{abs(self.added_mm):g} mm" if unit_mm == 1.0 else length(abs(self.added_mm), unit_mm)
            return f"{size} {'short' if self.added_mm > 0 else 'long'}"
        for length_mm, word in UNIT_WORDS.items():
            if abs(length_mm / unit_mm / self.factor - 1) < 1e-9:
                return f"taken in {word}"
        return (
            f"{self.factor:g} times too small" if self.factor > 1 else f"{1 / self.factor:g} times too large"
        )

    def of(self, value_mm: float, first_mm: float) -> float:
        """The same slip undone in another length: its factor, its step, or, in a copy, its new digits.

        Args:
            value_mm: the other length. [mm]
            first_mm: the length that this change was made for. [mm]
        """
        if self.reason == UNIT:
            return round(value_mm * self.factor, 4)
        return value_mm + self.added_mm if self.reason == STEP else self.value_mm + value_mm - first_mm


def _written(value_mm: float, unit_mm: float) -> tuple[str, float]:
    """The digits as somebody wrote them, and what a tape fraction adds to them [unit]."""
    number = value_mm / unit_mm
    if unit_mm in IMPERIAL_MM:
        whole = int(number + 1e-9)
        return str(whole), number - whole
    return f"{number:.4f}".rstrip("0").rstrip("."), 0.0


def digit_swaps(value_mm: float, *, unit_mm: float = 1.0) -> list[tuple[float, bool]]:
    """Every length that becomes this one when two of its digits change places.

    Args:
        value_mm: the length. [mm]
        unit_mm: unit in which it was written; digits of another unit are other digits. [mm]
    Returns: length, and whether the two digits are neighbours; a first digit 0 is left out. [mm]
    Example:
        >>> [value for value, is_near in digit_swaps(1570.0) if is_near]
        [5170.0, 1750.0, 1507.0]
    """
    text, fraction = _written(value_mm, unit_mm)
    places = [index for index, sign in enumerate(text) if sign.isdigit()]
    found: dict[float, bool] = {}
    for order, first in enumerate(places):
        for second in places[order + 1 :]:
            if text[first] == text[second]:
                continue
            signs = list(text)
            signs[first], signs[second] = signs[second], signs[first]
            if signs[0] == "0" and len(signs) > 1 and signs[1] != ".":
                continue
            value = round((float("".join(signs)) + fraction) * unit_mm, 4)
            found.setdefault(value, second == places[order + 1])
    return list(found.items())


@lru_cache(maxsize=64)
def steps_mm(sizes: tuple[float, ...], *, is_imperial: bool) -> tuple[float, ...]:
    """What may have to be added to a length that is a round step off, both ways.

    Args:
        sizes: the steps, in millimetres, or in inches for lengths written in inches or feet.
        is_imperial: the length was written in inches or feet.
    Returns: the steps. [mm]
    Example:
        >>> steps_mm((1.0, 12.0), is_imperial=True)
        (25.4, -25.4, 304.8, -304.8)
    """
    unit = INCH_MM if is_imperial else 1.0
    return tuple(sign * size * unit for size in sizes for sign in (1, -1))


def lost_fractions_mm(value_mm: float, *, unit_mm: float) -> tuple[float, ...]:
    """What a whole number of inches may have lost: the fraction after it, in eighths.

    Args:
        value_mm: the length. [mm]
        unit_mm: unit in which it was written. [mm]
    Returns: fractions that may have to be added; none for other lengths. [mm]
    Example:
        >>> lost_fractions_mm(1219.2, unit_mm=25.4)[:3], lost_fractions_mm(1219.2, unit_mm=1.0)
        ((3.175, 6.35, 9.525), ())
    """
    inches = value_mm / INCH_MM
    if unit_mm not in IMPERIAL_MM or abs(inches - round(inches)) > 1e-6:
        return ()
    return tuple(eighths * INCH_MM / 8 for eighths in range(1, 8))


@lru_cache(maxsize=64)
def _factors(units_mm: tuple[float, ...], unit_mm: float) -> tuple[float, ...]:
    """Factors to other units, and a decimal point one place off, both ways."""
    found = [each / unit_mm for each in units_mm if each != unit_mm]
    return tuple(found + [each for each in (10.0, 0.1) if all(abs(each / one - 1) > 1e-9 for one in found)])


def unit_slips(
    value_mm: float, *, unit_mm: float, figures: SuspicionFigures
) -> Iterator[tuple[float, float, float]]:
    """Every length that was taken in another unit than it was read in.

    Args:
        value_mm: the length as read. [mm]
        unit_mm: unit that it was read in. [mm]
        figures: the units in use.
    Yields: length, factor, and how coarse it is: half of the last place that was written. [mm]
    """
    text, _ = _written(value_mm, unit_mm)
    last = 10.0 ** -(len(text) - text.index(".") - 1) if "." in text else 1.0
    mark = _tape_mark(value_mm / unit_mm)
    for factor in _factors(figures.units_mm, unit_mm):
        coarse = last * unit_mm * factor / 2
        if mark is not None and unit_mm * factor in IMPERIAL_MM:
            coarse = mark * unit_mm * factor / 2
        if factor not in {10.0, 0.1}:
            coarse = max(coarse, TAPE_MARK_MM)
        yield round(value_mm * factor, 4), factor, min(coarse, INCH_MM / 2)


def _tape_mark(number: float) -> float | None:
    """The coarsest mark of a tape in inches that a number stands on, down to a sixteenth; None off the marks."""
    marks = (1.0, 0.5, 0.25, 0.125, 0.0625)
    return next((mark for mark in marks if abs(round(number / mark) * mark - number) < 1e-6), None)


def is_usual_in(number: float, unit_mm: float) -> bool:
    """Whether people write a number that way who measure in a unit.

    Args:
        number: the number as written, in that unit.
        unit_mm: the unit. [mm]
    Returns: inches with parts of a tape or to two places, millimetres to a half, centimetres to a tenth or
        a half of one, feet to two places, metres to three; anything goes for others.
    Example:
        >>> is_usual_in(47.625, 25.4), is_usual_in(47.625, 10.0), is_usual_in(120.8, 25.4)
        (True, False, False)
    """
    if unit_mm == INCH_MM:
        return _tape_mark(number) is not None or abs(round(number, 1) - number) > 1e-9
    places = {1.0: 1, 10.0: 1, 1000.0: 3, 304.8: 2}.get(unit_mm)
    if places is None:
        return True
    is_half = unit_mm == 10.0 and abs(round(number * 20) - number * 20) < 1e-9 and _tape_mark(number) is None
    return is_half or abs(round(number, places) - number) < 1e-9


def single_changes(
    value_mm: float,
    *,
    unit_mm: float,
    figures: SuspicionFigures,
    least_mm: float,
    most_mm: float,
    beside_mm: tuple[float | None, ...] = (),
) -> list[Change]:
    """All that a length may have been before one slip of a kind that has a name.

    Args:
        value_mm: the length. [mm]
        unit_mm: unit in which it was written. [mm]
        figures: steps, factors and shares.
        least_mm: shortest that what else is known leaves worth weighing, give or take coarseness. [mm]
        most_mm: longest likewise. [mm]
        beside_mm: lengths that were written in the same way, where the slip is to be one in all. [mm]
    Returns: the changes; the other numbers decide between them.
    """
    found: list[Change] = []
    written = [each / unit_mm for each in (value_mm, *beside_mm) if each is not None]
    is_taped = value_mm >= figures.size_least_mm and all(is_usual_in(each, unit_mm) for each in written)
    odd = log(figures.odd_digits_share)
    swaps = digit_swaps(value_mm, unit_mm=unit_mm)
    near = sum(is_near for _, is_near in swaps)
    share = figures.digits_share
    for value, is_near in swaps:
        if least_mm <= value <= most_mm:
            part = figures.digits_neighbours_share / near
            if not is_near:
                part = (1 - figures.digits_neighbours_share) / (len(swaps) - near)
            found.append(Change(DIGITS, value, log(share * part)))
    is_imperial = unit_mm in IMPERIAL_MM
    steps = steps_mm(figures.steps_in if is_imperial else figures.steps_mm, is_imperial=is_imperial)
    for added in (steps, lost_fractions_mm(value_mm, unit_mm=unit_mm)):
        for step in added:
            if least_mm <= value_mm + step <= most_mm:
                usual = log(figures.step_share * _step_part(step, added, figures, is_imperial=is_imperial))
                found.append(Change(STEP, value_mm + step, usual + (0.0 if is_taped else odd), added_mm=step))
    count = len(_factors(figures.units_mm, unit_mm))
    for value, factor, coarse in unit_slips(value_mm, unit_mm=unit_mm, figures=figures):
        if least_mm - coarse <= value <= most_mm + coarse:
            is_usual = unit_mm in IMPERIAL_MM or all(is_usual_in(each, unit_mm * factor) for each in written)
            usual = log(figures.unit_share / count) + (0.0 if is_usual else odd)
            found.append(Change(UNIT, value, usual, coarse, factor))
    return found


def _step_part(
    step_mm: float, steps: tuple[float, ...], figures: SuspicionFigures, *, is_imperial: bool
) -> float:
    """What part of all steps is this one: of those in inches, an inch is the most usual."""
    if not is_imperial or INCH_MM not in steps:
        return 1 / len(steps)
    one = abs(abs(step_mm) - INCH_MM) < 1e-9
    return figures.step_inch_share / 2 if one else (1 - figures.step_inch_share) / (len(steps) - 2)
