"""What disagrees in the numbers of an opening, by the rulebook's limits, and the quick look before it.

The names are those of the findings that the same fault raises by itself, so that a cause can say which
of them it explains.
"""

from math import sqrt
from typing import Final

from sawready.calc.forensics.model import Numbers, SurveyedOpening, SuspicionFigures
from sawready.calc.forensics.weighing import (
    Axis,
    axis_frame,
    axis_of,
    diagonal_fit,
    is_chosen_frame,
    is_exact_frame,
    is_gap_twice,
    lean_off_mm,
    stated_frame,
)

__all__ = ["Fault", "consequences_of", "faults_of", "is_clean"]

Fault = tuple[str, str]
"""A reason and what it concerns: ``width``, ``height``, or nothing for the whole opening."""

TOO_LARGE: Final = {"width": "frame-too-wide", "height": "frame-too-tall"}

UNLIKELY: Final = "value-out-of-range"

ROUNDING_MM: Final = 0.1
"""A stated frame is taken to a tenth of a millimetre (geometry.md section 2)."""


def is_clean(opening: SurveyedOpening, figures: SuspicionFigures) -> bool:
    """Whether nothing disagrees, so that nothing needs weighing: the quick look at every opening.

    It may send a sound opening on to the weighing, never keep a fault from it; a property test holds it
    against `faults_of`.

    Args:
        opening: the opening. [mm]
        figures: the rulebook's figures.
    Example:
        >>> is_clean(SurveyedOpening(widths_mm=(1200.0,), heights_mm=(57.0,)), demo_figures())
        False
    """
    widths, heights = opening.widths_mm, opening.heights_mm
    if None in widths or None in heights:
        widths = tuple([each for each in widths if each is not None])
        heights = tuple([each for each in heights if each is not None])
        if not widths or not heights:
            return False
    width_least, width_most = min(widths), max(widths)  # type: ignore[type-var]
    height_least, height_most = min(heights), max(heights)  # type: ignore[type-var]
    spread = figures.readings_spread_mm
    if (
        width_most - width_least > spread
        or height_most - height_least > spread
        or width_least < figures.size_least_mm
        or height_least < figures.size_least_mm
        or width_most > figures.size_most_mm
        or height_most > figures.size_most_mm
    ):
        return False
    lean = 0.0
    diagonals = opening.diagonals_mm
    if diagonals:
        width, height = sum(widths) / len(widths), sum(heights) / len(heights)  # type: ignore[arg-type]
        if len(diagonals) != 2 or None in diagonals:
            return _is_single_diagonal_clean(opening, figures, width, height)
        first, second = diagonals
        square_1, square_2 = first * first, second * second  # type: ignore[operator]
        lean = abs(square_1 - square_2) / (4 * (height if opening.is_head_sloping else width))
        square = (square_1 + square_2) / 2 - lean * lean
        misfit = sqrt(square if square > 0 else 0) - sqrt(width * width + height * height)
        if abs(misfit) > figures.diagonals_against_sides_mm:
            return False
        if abs(first - second) < figures.diagonals_differ_from_mm:  # type: ignore[operator]
            lean = 0.0
    frame = opening.frame_width_mm
    if frame is not None:
        room = width_least - opening.width_to_come_mm - opening.width_extenders_mm - frame
        off = 0.0 if opening.is_head_sloping else lean
        if not _is_room_clean(
            room, off, width_most - width_least, opening.width_gap_mm, opening.width_gap_most_mm, figures
        ):
            return False
    frame = opening.frame_height_mm
    if frame is not None:
        room = height_least - opening.height_to_come_mm - opening.height_extenders_mm - frame
        if not opening.height_includes_sill:
            room -= opening.sill_upstand_mm
        off = lean if opening.is_head_sloping else 0.0
        return _is_room_clean(
            room, off, height_most - height_least, opening.height_gap_mm, opening.height_gap_most_mm, figures
        )
    return True


def _is_room_clean(
    room: float, lean: float, spread: float, gap: float, gap_most: float, figures: SuspicionFigures
) -> bool:
    """The frame keeps its gap, is not too small, and has not had the gap taken off twice."""
    over = room - lean
    if over < gap - ROUNDING_MM or (room + spread) / 2 > gap_most:
        return False
    near_twice = 2 * gap - figures.gap_twice_mm
    return over < near_twice


def _is_single_diagonal_clean(
    opening: SurveyedOpening, figures: SuspicionFigures, width: float, height: float
) -> bool:
    """One diagonal alone: near enough to the sides for the lean that is usual; frame looked at later."""
    taped = [each for each in opening.diagonals_mm if each is not None]
    if taped and abs(taped[0] - sqrt(width * width + height * height)) > figures.diagonals_against_sides_mm:
        return False
    return opening.frame_width_mm is None and opening.frame_height_mm is None


def _frame_faults(
    numbers: Numbers,
    stated: Numbers,
    opening: SurveyedOpening,
    figures: SuspicionFigures,
    axes: dict[str, Axis],
    slack_mm: tuple[float, float, float],
) -> set[Fault]:
    """What is wrong with the stated frame on each axis."""
    found: set[Fault] = set()
    leans = dict(zip(("width", "height"), lean_off_mm(numbers, opening, figures), strict=True))
    frames = {
        name: axis_frame(numbers, opening, name, readings=axis, lean_mm=leans[name])
        for name, axis in axes.items()
    }
    for name, frame in frames.items():
        if frame is None:
            continue
        suits = stated_frame(numbers, stated, opening, name, figures)
        if suits is not None and is_exact_frame(suits, figures):
            continue
        slack = slack_mm[2] + slack_mm[0 if name == "width" else 1]
        over = frame.room - frame.lean
        if over < frame.gap - ROUNDING_MM - slack:
            found.add((TOO_LARGE[name], name))
            if frame.room >= frame.gap - ROUNDING_MM:
                found.discard((TOO_LARGE[name], name))
                found.add(("frame-will-not-stand-plumb", name))
        elif frame.widest > frame.gap_most + slack and not is_exact_frame(frame, figures, slack_mm=slack):
            found.add(("gap-too-large", name))
        other = frames.get("height" if name == "width" else "width")
        if is_gap_twice(frame, figures) and not is_exact_frame(frame, figures):
            if not is_chosen_frame(other, figures):
                found.add(("gap-taken-twice", name))
    return found


def faults_of(
    numbers: Numbers,
    opening: SurveyedOpening,
    figures: SuspicionFigures,
    *,
    stated: Numbers,
    slack_mm: tuple[float, float, float] = (0.0, 0.0, 0.0),
) -> frozenset[Fault]:
    """Everything that disagrees in these numbers.

    Args:
        numbers: the numbers in question.
        opening: the opening, for gaps, sill and the like.
        figures: the rulebook's figures.
        stated: the numbers as the order has them; a frame that suits those is no fault of these.
        slack_mm: how coarse widths, heights and frame are. [mm]
    Returns: reasons, each with the axis that it concerns.
    """
    found: set[Fault] = set()
    axes: dict[str, Axis] = {}
    for name, readings in (("width", numbers.widths), ("height", numbers.heights)):
        axis = axis_of(readings)
        if axis is None:
            continue
        axes[name] = axis
        if axis.most - axis.least > figures.readings_spread_mm:
            found.add(("readings-disagree", name))
        if axis.least < figures.size_least_mm or axis.most > figures.size_most_mm:
            found.add((UNLIKELY, name))
    if len(axes) == 2 and _diagonals_disagree(numbers, opening, figures, axes, max(slack_mm[:2])):
        found.add(("diagonals-disagree", ""))
    found |= _frame_faults(numbers, stated, opening, figures, axes, slack_mm)
    return frozenset(found)


def _diagonals_disagree(
    numbers: Numbers,
    opening: SurveyedOpening,
    figures: SuspicionFigures,
    axes: dict[str, Axis],
    slack_mm: float,
) -> bool:
    """Sides and diagonals cannot all be right."""
    taped = [each for each in numbers.diagonals if each is not None]
    width, height = axes["width"].mean, axes["height"].mean
    if not taped or width <= 0 or height <= 0:
        return False
    limit = figures.diagonals_against_sides_mm + slack_mm
    if len(taped) == 1:
        diagonal = sqrt(width * width + height * height)
        return abs(taped[0] - diagonal) > limit + 2 * figures.lean_mm * width / diagonal
    misfit, _ = diagonal_fit(
        width_mm=width,
        height_mm=height,
        diagonal_1_mm=taped[0],
        diagonal_2_mm=taped[1],
        is_head_sloping=opening.is_head_sloping,
    )
    return abs(misfit) > limit


def consequences_of(
    numbers: Numbers, opening: SurveyedOpening, figures: SuspicionFigures
) -> frozenset[Fault]:
    """Findings that follow from the numbers but ask for no cause by themselves.

    A joint too wide at the largest reading, though the frame is what the smallest asks for, and
    diagonals that differ.
    """
    found: set[Fault] = set()
    taped = [each for each in numbers.diagonals if each is not None]
    if len(taped) == 2 and abs(taped[0] - taped[1]) >= figures.diagonals_differ_from_mm:
        found.add(("aperture-out-of-square", ""))
    leans = lean_off_mm(numbers, opening, figures)
    for name, readings, lean in (("width", numbers.widths, leans[0]), ("height", numbers.heights, leans[1])):
        axis = axis_of(readings)
        if axis is None:
            continue
        frame = axis_frame(numbers, opening, name, readings=axis, lean_mm=lean)
        if frame is not None:
            is_wide = frame.widest > frame.gap_most
        elif name == "width":
            is_wide = (opening.width_gap_mm + lean + axis.most - axis.least) / 2 > opening.width_gap_most_mm
        else:
            is_wide = (opening.height_gap_mm + lean + axis.most - axis.least) / 2 > opening.height_gap_most_mm
        if is_wide:
            found.add(("gap-too-large", name))
    return frozenset(found)
