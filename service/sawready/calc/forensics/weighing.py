"""How likely the numbers of an opening are, taken together, if the opening is real.

A real opening is a quadrilateral that a tape measured. Its sides are nearly parallel (taper), its walls
nearly straight (kink), its head nearly above its bottom (lean), and the diagonals follow from the
sides. How near is another matter in an old wall than in a new one, so two kinds of wall are weighed:
smooth and rough. What one axis shows of roughness counts for the other axis and for the diagonals, and
the other windows of the order say how usual rough walls are in that house.

Logarithms of densities throughout; only differences between two of them mean anything.
"""

from math import log, sqrt
from typing import Final, NamedTuple

from sawready.calc.forensics.model import Numbers, SurveyedOpening, SuspicionFigures

__all__ = ["Axis", "axis_of", "diagonal_fit", "frame_part_mm", "frame_room_mm", "log_likelihood"]

HALF_LOG_TAU: Final = 0.918938533204673
"""Half the logarithm of two pi, from the density of the normal distribution."""

IMPOSSIBLE: Final = -60.0
"""Logarithm that stands for numbers no opening can have, such as a diagonal shorter than a side."""


class Axis(NamedTuple):
    """What the readings of one axis say.

    Attributes:
        count: how many readings there are.
        least, most: smallest and largest. [mm]
        mean: of all of them. [mm]
        ends: mean of the first and the last, which the diagonals join. [mm]
        taper: last less first; nought for one reading. [mm]
        kink: how far the middle one is off the line between the others, or None. [mm]
    """

    count: int
    least: float
    most: float
    mean: float
    ends: float
    taper: float
    kink: float | None


def axis_of(readings: tuple[float | None, ...]) -> Axis | None:
    """What the readings of one axis say; None where there are none.

    Args:
        readings: in their places, None where a place is empty. [mm]
    Returns: the axis.
    Example:
        >>> axis_of((1500.0, 1506.0, 1510.0))
        Axis(count=3, least=1500.0, most=1510.0, mean=1505.33, ends=1505.0, taper=10.0, kink=1.0)
    """
    taken = [each for each in readings if each is not None]
    count = len(taken)
    if not count:
        return None
    first, last = taken[0], taken[-1]
    ends = (first + last) / 2
    return Axis(
        count=count,
        least=min(taken),
        most=max(taken),
        mean=sum(taken) / count,
        ends=ends,
        taper=last - first,
        kink=taken[1] - ends if count == 3 else None,
    )


def _log_normal(value: float, spread: float) -> float:
    """Logarithm of the normal density about nought."""
    z = value / spread
    return -0.5 * z * z - log(spread) - HALF_LOG_TAU


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
        >>> diagonal_fit(
        ...     width_mm=1609, height_mm=1229, diagonal_1_mm=1946, diagonal_2_mm=1946, is_head_sloping=False
        ... )
        (-78.7, 0.0)

    Source: parallelogram law: d1^2 - d2^2 = 4 w s and d1^2 + d2^2 = 2 (w^2 + h^2 + s^2).
    """
    side = height_mm if is_head_sloping else width_mm
    lean = abs(diagonal_1_mm**2 - diagonal_2_mm**2) / (4 * side)
    square = (diagonal_1_mm**2 + diagonal_2_mm**2) / 2 - lean**2
    return sqrt(max(square, 0.0)) - sqrt(width_mm**2 + height_mm**2), lean


def frame_part_mm(numbers: Numbers, opening: SurveyedOpening, axis: str) -> float | None:
    """Stated size of the frame alone on an axis, sill taken out where the height has it in. [mm]"""
    if axis == "width":
        return numbers.frame_width
    if numbers.frame_height is None:
        return None
    return numbers.frame_height - (opening.sill_upstand_mm if opening.height_includes_sill else 0.0)


def frame_room_mm(numbers: Numbers, opening: SurveyedOpening, axis: str, least_mm: float) -> float | None:
    """Both gaps together that the stated frame leaves at a reading, lean left in; None with no frame.

    Formula: least reading - finishes - extenders - upstand - frame
    """
    part = frame_part_mm(numbers, opening, axis)
    if part is None:
        return None
    if axis == "width":
        return least_mm - opening.width_to_come_mm - opening.width_extenders_mm - part
    taken = opening.height_to_come_mm + opening.height_extenders_mm + opening.sill_upstand_mm
    return least_mm - taken - part


def lean_off_mm(numbers: Numbers, opening: SurveyedOpening, figures: SuspicionFigures) -> tuple[float, float]:
    """Lean that comes off the width and off the height; nought within tape accuracy. [mm]"""
    width, height = axis_of(numbers.widths), axis_of(numbers.heights)
    both = [each for each in numbers.diagonals if each is not None]
    if width is None or height is None or len(both) < 2 or width.mean <= 0 or height.mean <= 0:
        return 0.0, 0.0
    if abs(both[0] - both[1]) < figures.diagonals_differ_from_mm:
        return 0.0, 0.0
    _, lean = diagonal_fit(
        width_mm=width.mean,
        height_mm=height.mean,
        diagonal_1_mm=both[0],
        diagonal_2_mm=both[1],
        is_head_sloping=opening.is_head_sloping,
    )
    return (0.0, lean) if opening.is_head_sloping else (lean, 0.0)


def _is_exact(over_mm: float, figures: SuspicionFigures, slack_mm: float) -> bool:
    """What is over after both gaps is only what rounding the frame down leaves."""
    return -0.6 * figures.frame_exact_mm - slack_mm <= over_mm <= figures.frame_exact_mm + slack_mm


class AxisFrame(NamedTuple):
    """A stated frame on one axis, with what its room is judged against. [mm]"""

    room: float
    lean: float
    gap: float
    gap_most: float
    widest: float
    is_own: bool
    extenders: float
    to_come: float


def axis_frame(
    numbers: Numbers, opening: SurveyedOpening, axis: str, *, readings: Axis, lean_mm: float
) -> AxisFrame | None:
    """The stated frame on one axis; None with no frame."""
    room = frame_room_mm(numbers, opening, axis, readings.least)
    if room is None:
        return None
    widest = (room + readings.most - readings.least) / 2
    if axis == "width":
        return AxisFrame(
            room,
            lean_mm,
            opening.width_gap_mm,
            opening.width_gap_most_mm,
            widest,
            opening.width_gap_is_own,
            opening.width_extenders_mm,
            opening.width_to_come_mm,
        )
    return AxisFrame(
        room,
        lean_mm,
        opening.height_gap_mm,
        opening.height_gap_most_mm,
        widest,
        opening.height_gap_is_own,
        opening.height_extenders_mm,
        opening.height_to_come_mm,
    )


def is_exact_frame(frame: AxisFrame, figures: SuspicionFigures, *, slack_mm: float = 0.0) -> bool:
    """The frame is its aperture less gaps, with or without the lean, to the rounding."""
    over = frame.room - frame.gap
    return _is_exact(over, figures, slack_mm) or (
        frame.lean > 0 and _is_exact(over - frame.lean, figures, slack_mm)
    )


def is_gap_twice(frame: AxisFrame, figures: SuspicionFigures) -> bool:
    """The gap that the frame leaves is twice the gap, and nobody asked for another gap.

    The lean comes off first: where it explains part of the room, the rest is no second gap.
    """
    over = frame.room - frame.lean - 2 * frame.gap
    most = figures.gap_twice_mm if frame.lean == 0 else figures.frame_exact_mm
    return not frame.is_own and -figures.gap_twice_mm <= over <= most


def log_frame(
    frame: AxisFrame,
    stated: AxisFrame | None,
    *,
    opening: SurveyedOpening,
    figures: SuspicionFigures,
    slack_mm: float,
    is_deliberate: bool,
) -> float:
    """How likely the stated frame is on one axis, given the readings.

    Args:
        frame: the frame against the readings in question.
        stated: the same frame against the readings as the order has them, if those differ: an office
            that worked from a wrong reading makes a frame that suits the wrong reading.
        opening: the opening, for the gaps of other spans.
        figures: the rulebook's figures.
        slack_mm: how coarse a reading is that a unit was read into. [mm]
        is_deliberate: the other axis shows a frame size that somebody chose.
    """
    if is_exact_frame(frame, figures, slack_mm=slack_mm):
        return log(figures.frame_exact_share)
    if stated is not None and is_exact_frame(stated, figures):
        return log(figures.frame_exact_share / 2)
    over = frame.room - frame.lean
    if any(
        _is_exact(each - gap, figures, slack_mm) for gap in opening.other_gaps_mm for each in {frame.room, over}
    ):
        return log(figures.frame_exact_share / 10)
    added = [each for each in (frame.extenders, frame.to_come) if each]
    if any(_is_exact(frame.room + each - frame.gap, figures, slack_mm) for each in added):
        return log(figures.frame_exact_share / 40)
    if frame.gap - 0.1 - slack_mm <= over <= 2 * frame.gap_most + slack_mm:
        if is_gap_twice(frame, figures) and not is_deliberate:
            return log(figures.gap_chance_share)
        return log(figures.frame_loose_share / max(2 * frame.gap_most - frame.gap, 1.0))
    outside = frame.gap - over if over < frame.gap else frame.room - 2 * frame.gap_most
    if outside <= figures.frame_odd_within_mm:
        return log(figures.frame_odd_share / figures.frame_odd_within_mm)
    return log(figures.unnamed_share / figures.size_most_mm)


def is_chosen_frame(frame: AxisFrame | None, figures: SuspicionFigures) -> bool:
    """The frame fits, and neither the gap nor twice the gap explains its size."""
    if frame is None or frame.room - frame.lean < frame.gap:
        return False
    return not is_exact_frame(frame, figures) and not is_gap_twice(frame, figures)


def _side_variance(axis: Axis, taper_mm: float, tape_mm: float) -> float:
    """Variance of an axis' corner-to-corner size, from tape and from taper that was not measured. [mm2]"""
    if axis.count == 3:
        return tape_mm**2 / 2
    if axis.count == 2:
        return tape_mm**2 / 2 + taper_mm**2 / 32
    return tape_mm**2 + taper_mm**2 / 6


def _log_wall(
    width: Axis | None,
    height: Axis | None,
    fit: tuple[float, float] | None,
    single: float | None,
    *,
    taper_mm: float,
    kink_mm: float,
    lean_mm: float,
    tape_mm: float,
    slack_mm: tuple[float, float],
) -> float:
    """Logarithm of the density of readings and diagonals for one kind of wall."""
    total = 0.0
    for axis, slack in ((width, slack_mm[0]), (height, slack_mm[1])):
        if axis is None:
            continue
        coarse = slack * slack
        if axis.count > 1:
            total += _log_normal(axis.taper, sqrt(taper_mm**2 + 2 * tape_mm**2 + coarse))
        if axis.kink is not None:
            total += _log_normal(axis.kink, sqrt(kink_mm**2 + coarse))
    if width is None or height is None or (fit is None and single is None):
        return total + (0.0 if fit is None else _log_normal(fit[1], lean_mm))
    diagonal = sqrt(width.ends**2 + height.ends**2)
    variance = (
        tape_mm**2 / 2
        + (width.ends / diagonal) ** 2 * (_side_variance(width, taper_mm, tape_mm) + slack_mm[0] ** 2)
        + (height.ends / diagonal) ** 2 * (_side_variance(height, taper_mm, tape_mm) + slack_mm[1] ** 2)
    )
    if fit is not None:
        return total + _log_normal(fit[0], sqrt(variance)) + _log_normal(fit[1], lean_mm)
    assert single is not None
    variance += tape_mm**2 / 2 + (width.ends / diagonal * lean_mm) ** 2
    return total + _log_normal(single - diagonal, sqrt(variance))


def _log_size(axis: Axis | None, figures: SuspicionFigures) -> float:
    """How usual a size is for a window: a broad curve that tells metres from inches, no more."""
    if axis is None or axis.mean <= 0:
        return 0.0 if axis is None else IMPOSSIBLE
    z = log(axis.mean / figures.size_usual_mm) / figures.size_spread
    return -0.5 * z * z


def _diagonals(
    numbers: Numbers, opening: SurveyedOpening, width: Axis | None, height: Axis | None
) -> tuple[tuple[float, float] | None, float | None, float]:
    """Misfit and lean of two diagonals, or the one diagonal, and what is impossible about them."""
    taped = [each for each in numbers.diagonals if each is not None]
    if not taped or width is None or height is None or min(width.ends, height.ends, *taped) <= 0:
        return None, None, 0.0
    if len(taped) == 1:
        return None, taped[0], 0.0
    fit = diagonal_fit(
        width_mm=width.ends,
        height_mm=height.ends,
        diagonal_1_mm=taped[0],
        diagonal_2_mm=taped[1],
        is_head_sloping=opening.is_head_sloping,
    )
    return fit, None, 0.0


def log_likelihood(
    numbers: Numbers,
    opening: SurveyedOpening,
    figures: SuspicionFigures,
    *,
    rough_share: float,
    stated: Numbers,
    slack_mm: tuple[float, float, float] = (0.0, 0.0, 0.0),
) -> float:
    """How likely these numbers are if they belong to one real opening and its frame.

    Args:
        numbers: the numbers in question.
        opening: the opening, for gaps, sill and the like.
        figures: the rulebook's figures.
        rough_share: how usual rough walls are here, between 0 and 1.
        stated: the numbers as the order has them, which the office may have worked from.
        slack_mm: how coarse widths, heights and frame are, where a unit was read into them. [mm]
    Returns: logarithm of a density.
    """
    width, height = axis_of(numbers.widths), axis_of(numbers.heights)
    fit, single, total = _diagonals(numbers, opening, width, height)
    smooth = _log_wall(
        width,
        height,
        fit,
        single,
        taper_mm=figures.taper_mm,
        kink_mm=figures.kink_mm,
        lean_mm=figures.lean_mm,
        tape_mm=figures.tape_mm,
        slack_mm=slack_mm[:2],
    ) + log(1 - rough_share)
    rough = _log_wall(
        width,
        height,
        fit,
        single,
        taper_mm=figures.rough_taper_mm,
        kink_mm=figures.rough_kink_mm,
        lean_mm=figures.rough_lean_mm,
        tape_mm=figures.tape_mm,
        slack_mm=slack_mm[:2],
    ) + log(rough_share)
    total += log_sum((smooth, rough)) + _log_size(width, figures) + _log_size(height, figures)
    lean_width, lean_height = lean_off_mm(numbers, opening, figures)
    frames = {
        "width": width and axis_frame(numbers, opening, "width", readings=width, lean_mm=lean_width),
        "height": height and axis_frame(numbers, opening, "height", readings=height, lean_mm=lean_height),
    }
    for axis, other in (("width", "height"), ("height", "width")):
        frame = frames[axis]
        if frame is None:
            continue
        total += log_frame(
            frame,
            stated_frame(numbers, stated, opening, axis, figures),
            opening=opening,
            figures=figures,
            slack_mm=slack_mm[2] + slack_mm[0 if axis == "width" else 1],
            is_deliberate=is_chosen_frame(frames[other], figures),
        )
    return total


def stated_frame(
    numbers: Numbers, stated: Numbers, opening: SurveyedOpening, axis: str, figures: SuspicionFigures
) -> AxisFrame | None:
    """The frame against the readings as the order has them, where another reading is being tried."""
    mine = numbers.widths if axis == "width" else numbers.heights
    theirs = stated.widths if axis == "width" else stated.heights
    readings = axis_of(theirs)
    if mine == theirs or readings is None:
        return None
    lean = lean_off_mm(stated, opening, figures)[0 if axis == "width" else 1]
    return axis_frame(numbers, opening, axis, readings=readings, lean_mm=lean)


def log_sum(logs: "tuple[float, ...] | list[float]") -> float:
    """Logarithm of the sum of what the logarithms stand for.

    Example:
        >>> log_sum((0.0, 0.0))
        0.693
    """
    top = max(logs)
    total = 0.0
    for each in logs:
        if each > top - 40.0:
            total += 2.718281828459045 ** (each - top)
    return top + log(total)
