"""What disagrees in the numbers of an opening, by the rulebook's limits, and the quick look before it.

The names are those of the findings that the same fault raises by itself, so that a cause can say which
of them it explains.
"""

from math import sqrt
from typing import Final

from sawready.calc.forensics.model import SurveyedOpening, SuspicionFigures
from sawready.calc.forensics.sight import AxisFrame, Sight
from sawready.calc.forensics.weighing import NO_SLACK, Slack

__all__ = ["Fault", "consequences_of", "faults_of", "is_clean"]

Fault = tuple[str, str]
"""A reason and what it concerns: ``width``, ``height``, or nothing for the whole opening."""

TOO_LARGE: Final = {"width": "frame-too-wide", "height": "frame-too-tall"}

GAP_TWICE: Final = "gap-taken-twice"
"""A fault of its own, though no limit is broken: the gap is twice what it should be, to the millimetre."""

ROUNDING_MM: Final = 0.1
"""A stated frame is taken to a tenth of a millimetre (geometry of the frame in its aperture)."""


def is_clean(opening: SurveyedOpening, figures: SuspicionFigures) -> bool:
    """Whether nothing disagrees, so that nothing needs weighing: the quick look at every opening.

    It may send a sound opening on to the weighing, never keep a fault from it; a property test holds it
    against `faults_of`.

    Args:
        opening: the opening. [mm]
        figures: the rulebook's figures.
    """
    widths = opening.widths_mm
    heights = opening.heights_mm
    if None in widths or None in heights:
        widths = tuple([each for each in widths if each is not None])
        heights = tuple([each for each in heights if each is not None])
    if not widths or not heights:
        return False
    width_least: float = min(widths)  # type: ignore[type-var, assignment] # None is taken out above
    width_most: float = max(widths)  # type: ignore[type-var, assignment]
    height_least: float = min(heights)  # type: ignore[type-var, assignment]
    height_most: float = max(heights)  # type: ignore[type-var, assignment]
    width_spread, height_spread = width_most - width_least, height_most - height_least
    if (
        width_spread > figures.readings_spread_mm
        or height_spread > figures.readings_spread_mm
        or width_least < figures.size_least_mm
        or height_least < figures.size_least_mm
        or width_most > figures.size_most_mm
        or height_most > figures.size_most_mm
    ):
        return False
    lean = 0.0
    if opening.diagonals_mm:
        width: float = sum(widths) / len(widths)  # type: ignore[arg-type]
        height: float = sum(heights) / len(heights)  # type: ignore[arg-type]
        found = _clean_lean(opening, figures, width, height)
        if found is None:
            return False
        lean = found
    frame = opening.frame_width_mm
    if frame is not None:
        room = width_least - opening.width_to_come_mm - opening.width_extenders_mm - frame
        over, gap = room if opening.is_head_sloping else room - lean, opening.width_gap_mm
        is_plain = gap <= over < 2 * gap - figures.gap_twice_mm
        is_exact = over < gap + figures.frame_exact_mm
        if not is_plain or (room + width_spread > 2 * opening.width_gap_most_mm and not is_exact):
            return False
    frame = opening.frame_height_mm
    if frame is not None:
        room = height_least - opening.height_to_come_mm - opening.height_extenders_mm - frame
        room -= 0.0 if opening.height_includes_sill else opening.sill_upstand_mm
        over, gap = room - lean if opening.is_head_sloping else room, opening.height_gap_mm
        is_plain = gap <= over < 2 * gap - figures.gap_twice_mm
        is_exact = over < gap + figures.frame_exact_mm
        return is_plain and (room + height_spread <= 2 * opening.height_gap_most_mm or is_exact)
    return True


def _clean_lean(
    opening: SurveyedOpening, figures: SuspicionFigures, width: float, height: float
) -> float | None:
    """Lean that comes off the frame where the diagonals fit the sides; None where they do not."""
    limit = figures.diagonals_against_sides_mm
    diagonals = opening.diagonals_mm
    if len(diagonals) != 2 or None in diagonals:
        taped = [each for each in diagonals if each is not None]
        fits = not taped or -limit <= taped[0] - sqrt(width * width + height * height) <= limit
        return 0.0 if fits else None
    first: float = diagonals[0]  # type: ignore[assignment] # None is answered above
    second: float = diagonals[1]  # type: ignore[assignment]
    square_1, square_2 = first * first, second * second
    lean = abs(square_1 - square_2) / (4 * (height if opening.is_head_sloping else width))
    square = (square_1 + square_2) / 2 - lean * lean
    misfit = sqrt(square if square > 0 else 0.0) - sqrt(width * width + height * height)
    if not -limit <= misfit <= limit:
        return None
    return (
        0.0 if -figures.diagonals_differ_from_mm < first - second < figures.diagonals_differ_from_mm else lean
    )


def faults_of(
    sight: Sight,
    figures: SuspicionFigures,
    *,
    suits_stated: tuple[bool, bool],
    slack: Slack = NO_SLACK,
    is_eased: bool = False,
) -> frozenset[Fault]:
    """Everything that disagrees in these numbers.

    Diagonals are not held against sides whose own readings disagree in a way that no taper explains:
    the mean of such readings is no side.

    Args:
        sight: the numbers.
        figures: the rulebook's figures.
        suits_stated: by axis, whether the frame suits other readings that the order has; such a frame
            is no fault of the readings in question.
        slack: how coarse the numbers are.
        is_eased: where an axis has one reading, grant the diagonals the taper that nobody measured, as
            is fair to numbers that were put right.
    Returns: reasons, each with the axis that it concerns.
    """
    found: list[Fault] = []
    for name, axis, coarse in (("width", sight.width, slack.widths), ("height", sight.height, slack.heights)):
        if axis.most - axis.least > figures.readings_spread_mm + coarse:
            found.append(("readings-disagree", name))
        if axis.least < figures.size_least_mm or axis.most > figures.size_most_mm:
            found.append(("value-out-of-range", name))
    is_bent = any(
        axis.spread > figures.readings_spread_mm and abs(axis.kink or 0.0) > 3 * figures.kink_mm
        for axis in (sight.width, sight.height)
    )
    if not is_bent and _do_diagonals_disagree(sight, figures, slack, is_eased=is_eased):
        found.append(("diagonals-disagree", ""))
    for place, (name, other) in enumerate((("width", "height"), ("height", "width"))):
        frame = sight.frames[name]
        if frame is not None and not suits_stated[place]:
            found += _frame_faults(frame, sight.frames[other], name, figures, slack.frame + slack[place])
    return frozenset(found)


def _frame_faults(
    frame: AxisFrame, beside: AxisFrame | None, name: str, figures: SuspicionFigures, slack_mm: float
) -> list[Fault]:
    """What is wrong with the stated frame on one axis."""
    found: list[Fault] = []
    if frame.over < frame.gap - ROUNDING_MM - slack_mm:
        fits_leaning = frame.room >= frame.gap - ROUNDING_MM
        found.append(("frame-will-not-stand-plumb" if fits_leaning else TOO_LARGE[name], name))
    elif frame.widest > frame.gap_most + slack_mm and not frame.is_exact(slack_mm=slack_mm):
        found.append(("gap-too-large", name))
    if (
        frame.is_gap_twice(figures)
        and not frame.is_exact()
        and not (beside is not None and beside.is_chosen(figures))
    ):
        found.append((GAP_TWICE, name))
    return found


def _do_diagonals_disagree(sight: Sight, figures: SuspicionFigures, slack: Slack, *, is_eased: bool) -> bool:
    """Sides and diagonals cannot all be right."""
    width, height = sight.width, sight.height
    if not sight.taped or min(width.mean, height.mean) <= 0:
        return False
    limit = figures.diagonals_against_sides_mm + max(slack.widths, slack.heights)
    diagonal = sqrt(width.mean**2 + height.mean**2)
    if is_eased:
        lone = sum(each.mean for each in (width, height) if each.number == 1)
        limit += figures.taper_mm * lone / diagonal / 2
    if sight.misfit is not None:
        return abs(sight.misfit) > limit
    return abs(sight.taped[0] - diagonal) > limit + 2 * figures.lean_mm * width.mean / diagonal


def consequences_of(
    sight: Sight, opening: SurveyedOpening, figures: SuspicionFigures, *, is_eased: bool = False
) -> frozenset[Fault]:
    """Findings that follow from the numbers but ask for no cause by themselves.

    A joint too wide at the largest reading, though the frame is what the smallest asks for; diagonals
    that differ; diagonals against sides whose readings disagree.

    Args:
        sight: the numbers.
        opening: the opening, for its gaps.
        figures: the rulebook's figures.
        is_eased: as for `faults_of`.
    """
    found: set[Fault] = set()
    if _do_diagonals_disagree(sight, figures, NO_SLACK, is_eased=is_eased):
        found.add(("diagonals-disagree", ""))
    taped = sight.taped
    if len(taped) == 2 and abs(taped[0] - taped[1]) >= figures.diagonals_differ_from_mm:
        found.add(("aperture-out-of-square", ""))
    for name, axis, lean, gap, most in (
        ("width", sight.width, sight.lean[0], opening.width_gap_mm, opening.width_gap_most_mm),
        ("height", sight.height, sight.lean[1], opening.height_gap_mm, opening.height_gap_most_mm),
    ):
        frame = sight.frames[name]
        widest = (gap + lean + axis.spread) / 2 if frame is None else frame.widest
        if widest > most:
            found.add(("gap-too-large", name))
    return frozenset(found)
