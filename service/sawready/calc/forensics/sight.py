"""The numbers of an opening laid out for judging: axes, diagonals, frame room, lean."""

from functools import lru_cache
from math import sqrt
from typing import Final, NamedTuple

from sawready.calc.forensics.model import Numbers, SurveyedOpening, SuspicionFigures

__all__ = ["Axis", "AxisFrame", "Sight", "axis_of", "diagonal_fit", "sight_of"]

IMPERIAL_MM: Final = (25.4, 304.8)
"""Units whose lengths come as whole numbers and tape fractions: inch and foot [mm]."""


class Axis(NamedTuple):
    """What the readings of one axis say.

    Attributes:
        number: how many readings there are.
        least, most: smallest and largest. [mm]
        mean: of all of them. [mm]
        ends: mean of the first and the last, which the diagonals join. [mm]
        taper: last less first; nought for one reading. [mm]
        kink: how far the middle one is off the line between the others, or None. [mm]
    """

    number: int
    least: float
    most: float
    mean: float
    ends: float
    taper: float
    kink: float | None

    @property
    def spread(self) -> float:
        """Largest less smallest [mm]."""
        return self.most - self.least


@lru_cache(maxsize=1024)
def axis_of(readings: tuple[float | None, ...]) -> Axis:
    """What the readings of one axis say.

    Args:
        readings: in their places, None where a place is empty. [mm]
    Returns: the axis.
    Raises: ValueError where every place is empty.
    Example:
        >>> axis = axis_of((1500.0, 1506.0, 1510.0))
        >>> axis.least, axis.taper, axis.kink
        (1500.0, 10.0, 1.0)
    """
    taken = [each for each in readings if each is not None]
    count = len(taken)
    if not count:
        raise ValueError("an axis without a reading")
    first, last = taken[0], taken[-1]
    ends = (first + last) / 2
    kink = taken[1] - ends if count == 3 else None
    return Axis(count, min(taken), max(taken), sum(taken) / count, ends, last - first, kink)


def diagonal_fit(
    *, width_mm: float, height_mm: float, diagonal_1_mm: float, diagonal_2_mm: float, is_head_sloping: bool
) -> tuple[float, float]:
    """Misfit between sides and diagonals, and lean.

    Formula: s = |d1^2 - d2^2| / (4 a); m = sqrt((d1^2 + d2^2) / 2 - s^2) - sqrt(w^2 + h^2)

    Args:
        width_mm: mean width, w. [mm]
        height_mm: mean height, h. [mm]
        diagonal_1_mm: one diagonal, d1. [mm]
        diagonal_2_mm: the other, d2. [mm]
        is_head_sloping: the lean is along the height (a = h), else along the width (a = w).
    Returns: misfit m, below nought where the diagonals are too short; lean s. [mm]
    Example:
        >>> misfit, lean = diagonal_fit(
        ...     width_mm=1609, height_mm=1229, diagonal_1_mm=1946, diagonal_2_mm=1946, is_head_sloping=False
        ... )
        >>> misfit, lean
        (-78.7, 0.0)

    Source: parallelogram law: d1^2 - d2^2 = 4 w s and d1^2 + d2^2 = 2 (w^2 + h^2 + s^2).
    """
    side = height_mm if is_head_sloping else width_mm
    square_1, square_2 = diagonal_1_mm * diagonal_1_mm, diagonal_2_mm * diagonal_2_mm
    lean = abs(square_1 - square_2) / (4 * side)
    square = (square_1 + square_2) / 2 - lean * lean
    return sqrt(max(square, 0.0)) - sqrt(width_mm * width_mm + height_mm * height_mm), lean


class AxisFrame(NamedTuple):
    """A stated frame on one axis, with what its room is judged against [mm].

    Attributes:
        stated: its size as the order states it.
        part: the frame alone, the sill taken out where the stated height has it in.
        room: both gaps together that it leaves at the smallest reading, lean left in.
        lean: lean that comes off this axis.
        gap: both gaps together, as used.
        gap_most: the rulebook's largest gap, one side.
        widest: gap on each side at the largest reading.
        is_own: the order states the gap itself.
        added: extenders, finishes still to come, which the office may have left out.
        exact: what rounding down leaves: a millimetre, or a mark of the tape in inches.
    """

    stated: float
    part: float
    room: float
    lean: float
    gap: float
    gap_most: float
    widest: float
    is_own: bool
    added: tuple[float, float]
    exact: float

    @property
    def over(self) -> float:
        """Room with the lean taken off [mm]."""
        return self.room - self.lean

    def is_rounding(self, over_mm: float, slack_mm: float = 0.0) -> bool:
        """What is over is only what rounding the frame down leaves."""
        return -0.6 * self.exact - slack_mm <= over_mm < self.exact + slack_mm

    def is_hit(self, over_mm: float, slack_mm: float = 0.0) -> bool:
        """Nothing is over but rounding, with the lean taken off or forgotten."""
        return self.is_rounding(over_mm, slack_mm) or (
            self.lean > 0 and self.is_rounding(over_mm - self.lean, slack_mm)
        )

    def is_exact(self, *, slack_mm: float = 0.0) -> bool:
        """The frame is its aperture less gaps, with or without the lean, to the rounding."""
        return self.is_hit(self.room - self.gap, slack_mm)

    def is_gap_twice(self, figures: SuspicionFigures) -> bool:
        """The gap that the frame leaves is twice the gap, and nobody asked for another gap.

        The lean comes off first: where it explains part of the room, the rest is no second gap.
        """
        rest = self.over - 2 * self.gap
        most = figures.gap_twice_mm if self.lean == 0 else self.exact
        return not self.is_own and -figures.gap_twice_mm <= rest <= most

    def is_chosen(self, figures: SuspicionFigures) -> bool:
        """The frame fits, and neither the gap nor twice the gap explains its size."""
        return self.over >= self.gap and not self.is_exact() and not self.is_gap_twice(figures)


class Sight(NamedTuple):
    """Numbers laid out.

    Attributes:
        numbers: the numbers.
        width, height: the axes.
        taped: the diagonals that were taken. [mm]
        lean: lean that comes off width and height, nought within tape accuracy. [mm]
        misfit: sides against two diagonals, by the means of the readings; None without. [mm]
        frames: the stated frame by axis.
    """

    numbers: Numbers
    width: Axis
    height: Axis
    taped: tuple[float, ...]
    lean: tuple[float, float]
    misfit: float | None
    frames: dict[str, AxisFrame | None]

    def axis(self, name: str) -> Axis:
        """The axis of that name."""
        return self.width if name == "width" else self.height


def sight_of(numbers: Numbers, opening: SurveyedOpening, figures: SuspicionFigures) -> Sight:
    """Lay the numbers out.

    Args:
        numbers: the numbers. [mm]
        opening: the opening they belong to, for gaps, sill and the like.
        figures: the rulebook's figures.
    Returns: the numbers laid out.
    Raises: ValueError where an axis has no reading.
    """
    width, height = axis_of(numbers.widths), axis_of(numbers.heights)
    taped = tuple([each for each in numbers.diagonals if each is not None])
    lean, misfit = (0.0, 0.0), None
    if len(taped) == 2 and min(width.mean, height.mean) > 0:
        misfit, slip = diagonal_fit(
            width_mm=width.mean,
            height_mm=height.mean,
            diagonal_1_mm=taped[0],
            diagonal_2_mm=taped[1],
            is_head_sloping=opening.is_head_sloping,
        )
        if abs(taped[0] - taped[1]) >= figures.diagonals_differ_from_mm:
            lean = (0.0, slip) if opening.is_head_sloping else (slip, 0.0)
    exact = max(figures.frame_exact_mm, opening.unit_mm / 8 if opening.unit_mm in IMPERIAL_MM else 0.0)
    frames = {
        "width": _width_frame(numbers, opening, width, lean[0], exact),
        "height": _height_frame(numbers, opening, height, lean[1], exact),
    }
    return Sight(numbers, width, height, taped, lean, misfit, frames)


def _width_frame(
    numbers: Numbers, opening: SurveyedOpening, axis: Axis, lean: float, exact: float
) -> AxisFrame | None:
    """The stated frame across the width."""
    if numbers.frame_width is None:
        return None
    part = numbers.frame_width
    room = axis.least - opening.width_to_come_mm - opening.width_extenders_mm - part
    return AxisFrame(
        part,
        part,
        room,
        lean,
        opening.width_gap_mm,
        opening.width_gap_most_mm,
        (room + axis.spread) / 2,
        opening.width_gap_is_own,
        (opening.width_extenders_mm, opening.width_to_come_mm),
        exact,
    )


def _height_frame(
    numbers: Numbers, opening: SurveyedOpening, axis: Axis, lean: float, exact: float
) -> AxisFrame | None:
    """The stated frame over the height, sill beneath it."""
    if numbers.frame_height is None:
        return None
    part = numbers.frame_height - (opening.sill_upstand_mm if opening.height_includes_sill else 0.0)
    taken = opening.height_to_come_mm + opening.height_extenders_mm + opening.sill_upstand_mm
    room = axis.least - taken - part
    return AxisFrame(
        numbers.frame_height,
        part,
        room,
        lean,
        opening.height_gap_mm,
        opening.height_gap_most_mm,
        (room + axis.spread) / 2,
        opening.height_gap_is_own,
        (opening.height_extenders_mm, opening.height_to_come_mm),
        exact,
    )
