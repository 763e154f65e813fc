"""What one slip of pen, tape or keyboard may have made of a length: the values it may have been.

Each value comes with its share: how likely that slip is, before any other number is looked at. A kind
of slip that could have led to many values shares its likelihood among them, so that a fit among many
tries counts for less than a fit among few.
"""

from math import log
from typing import Final, NamedTuple

from sawready.calc.forensics.model import SuspicionFigures

__all__ = ["Change", "digit_swaps", "single_changes", "steps", "unit_slips"]

DIGITS: Final = "reading-digits-swapped"
STEP: Final = "reading-step-slip"
UNIT: Final = "reading-unit-slip"

IMPERIAL_FROM_MM: Final = 25.0
"""Units at least this long whose lengths come as whole numbers and tape fractions: inch and foot."""

IMPERIAL: Final = (25.4, 304.8)
INCH_MM: Final = 25.4

UNIT_WORDS: Final = {
    (1.0, 25.4): "inches",
    (1.0, 10.0): "centimetres",
    (1.0, 1000.0): "metres",
    (10.0, 0.1): "millimetres",
    (10.0, 2.54): "inches",
    (10.0, 100.0): "metres",
    (25.4, 1 / 25.4): "millimetres",
    (25.4, 1 / 2.54): "centimetres",
    (1000.0, 0.001): "millimetres",
    (1000.0, 0.01): "centimetres",
}
"""Unit that a number was probably taken in, by the unit it was read as and the factor between them."""


class Change(NamedTuple):
    """What a length may have been before one slip.

    Attributes:
        reason: the kind of slip, by its reason.
        value_mm: what the length was. [mm]
        log_share: logarithm of the slip's share.
        how: the slip in words, for the sentence that explains it.
        slack_mm: how coarse the value is, where a unit was read into it. [mm]
        factor: what the length is multiplied with, for a slip of unit; 1 otherwise.
        added_mm: what is added, for a step; 0 otherwise. [mm]
    """

    reason: str
    value_mm: float
    log_share: float
    how: str
    slack_mm: float = 0.0
    factor: float = 1.0
    added_mm: float = 0.0


def _written(value_mm: float, unit_mm: float) -> tuple[str, float]:
    """The digits as somebody wrote them, and what a tape fraction adds to them. [unit]"""
    number = value_mm / unit_mm
    if unit_mm in IMPERIAL:
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
        >>> [value for value, _ in digit_swaps(1570.0)]
        [5170.0, 7510.0, 1750.0, 1507.0]
    """
    text, fraction = _written(value_mm, unit_mm)
    places = [index for index, sign in enumerate(text) if sign != "."]
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


def _digit_changes(value_mm: float, unit_mm: float, figures: SuspicionFigures) -> list[Change]:
    """Digit swaps with their shares."""
    swaps = digit_swaps(value_mm, unit_mm=unit_mm)
    near = sum(is_near for _, is_near in swaps)
    shares = {
        True: figures.digits_share * figures.digits_neighbours_share / max(near, 1),
        False: figures.digits_share * (1 - figures.digits_neighbours_share) / max(len(swaps) - near, 1),
    }
    return [Change(DIGITS, value, log(shares[is_near]), "two digits swapped") for value, is_near in swaps]


def steps(value_mm: float, *, unit_mm: float, figures: SuspicionFigures) -> list[tuple[float, float]]:
    """Every length that a tape or pen a round step off makes into this one, with the step.

    Lengths written in inches or feet step by whole inches, and a whole number of inches may have lost
    its fraction.

    Args:
        value_mm: the length. [mm]
        unit_mm: unit in which it was written. [mm]
        figures: the steps.
    Returns: length and what was added to get it. [mm]
    """
    if unit_mm not in IMPERIAL:
        sizes = figures.steps_mm
        return [(value_mm + sign * size, sign * size) for size in sizes for sign in (1, -1)]
    sizes = tuple(each * INCH_MM for each in figures.steps_in)
    found = [(value_mm + sign * size, sign * size) for size in sizes for sign in (1, -1)]
    inches = value_mm / INCH_MM
    if abs(inches - round(inches)) < 1e-6:
        found += [(value_mm + eighths * INCH_MM / 8, eighths * INCH_MM / 8) for eighths in range(1, 8)]
    return found


def _step_changes(value_mm: float, unit_mm: float, figures: SuspicionFigures) -> list[Change]:
    """Steps with their shares."""
    found = steps(value_mm, unit_mm=unit_mm, figures=figures)
    share = log(figures.step_share / len(found))
    return [
        Change(STEP, value, share, f"{abs(added):g} mm {'short' if added > 0 else 'long'}", added_mm=added)
        for value, added in found
        if value > 0
    ]


def unit_slips(value_mm: float, *, unit_mm: float, figures: SuspicionFigures) -> list[tuple[float, float, float]]:
    """Every length that was taken in another unit than it was read in.

    Args:
        value_mm: the length as read. [mm]
        unit_mm: unit that it was read in. [mm]
        figures: the factors between units; each is tried both ways.
    Returns: length, factor, and how coarse it is: half of the last place that was written. [mm]
    """
    text, _ = _written(value_mm, unit_mm)
    last = 10.0 ** -(len(text) - text.index(".") - 1) if "." in text else 1.0
    found = []
    for size in figures.unit_factors:
        for factor in (size, 1 / size):
            coarse = max(last * unit_mm * factor / 2, 1.6 if size != 10 else 0.0)
            found.append((value_mm * factor, factor, min(coarse, 13.0)))
    return found


def _unit_changes(value_mm: float, unit_mm: float, figures: SuspicionFigures) -> list[Change]:
    """Slips of unit with their shares."""
    found = unit_slips(value_mm, unit_mm=unit_mm, figures=figures)
    share = log(figures.unit_share / len(found))
    return [
        Change(UNIT, round(value, 4), share, _unit_words(unit_mm, factor), coarse, factor)
        for value, factor, coarse in found
    ]


def _unit_words(unit_mm: float, factor: float) -> str:
    """The unit that a number was probably taken in, or the factor where that is no unit in use."""
    for (unit, size), word in UNIT_WORDS.items():
        if abs(unit - unit_mm) < 1e-9 and abs(size - factor) < 1e-9 * size:
            return f"taken in {word}"
    return f"{factor:g} times too small" if factor > 1 else f"{1 / factor:g} times too large"


def single_changes(value_mm: float, *, unit_mm: float, figures: SuspicionFigures) -> list[Change]:
    """All that a length may have been before one slip of a kind that has a name.

    Args:
        value_mm: the length. [mm]
        unit_mm: unit in which it was written. [mm]
        figures: steps, factors and shares.
    Returns: the changes, most of them absurd; the other numbers decide.
    """
    return [
        *_digit_changes(value_mm, unit_mm, figures),
        *_step_changes(value_mm, unit_mm, figures),
        *_unit_changes(value_mm, unit_mm, figures),
    ]
