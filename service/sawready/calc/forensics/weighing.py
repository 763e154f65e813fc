"""How likely the numbers of an opening are, taken together, if the opening is real.

A real opening is a quadrilateral that a tape measured. Its sides are nearly parallel (taper), its walls
nearly straight (kink), its head nearly above its bottom (lean), and the diagonals follow from the
sides. How near is another matter in an old wall than in a new one, so two kinds of wall are weighed:
smooth and rough. What one axis shows of roughness counts for the other axis and for the diagonals, and
the other windows of the order say how usual rough walls are in that house.

Logarithms of densities throughout; only differences between two of them mean anything.
"""

from collections.abc import Sequence
from math import exp, log, sqrt
from typing import Final, NamedTuple

from sawready.calc.forensics.model import SurveyedOpening, SuspicionFigures
from sawready.calc.forensics.sight import Axis, AxisFrame, Sight, diagonal_fit

__all__ = ["Slack", "log_frame", "log_likelihood", "log_sum"]

HALF_LOG_TAU: Final = 0.918938533204673
"""Half the logarithm of two pi, from the density of the normal distribution."""

IMPOSSIBLE: Final = -60.0
"""Logarithm that stands for a size that no opening can have, nought or below."""


NANOMETRE_MM: Final = 1e-6
"""The finest length that an order can hold (exact lengths are whole nanometres)."""


class Slack(NamedTuple):
    """How coarse widths, heights and frame are, where a unit was read into them [mm]."""

    widths: float = 0.0
    heights: float = 0.0
    frame: float = 0.0


NO_SLACK: Final = Slack()


class _Wall(NamedTuple):
    """Standard deviations of one kind of wall, in millimetres, and the least that three readings weigh.

    Readings that no wall explains hold a slip, and a slip says nothing of how rough the wall is.
    """

    taper: float
    kink: float
    lean: float
    tape: float
    lump: float
    lump_share: float
    slip: float
    lone_share: float


def _log_normal(value: float, variance: float) -> float:
    """Logarithm of the normal density about nought."""
    return -0.5 * (value * value / variance + log(variance)) - HALF_LOG_TAU


def _side_variance(axis: Axis, wall: _Wall) -> float:
    """Variance of an axis' corner-to-corner size, from tape and from taper that nobody measured [mm2].

    A lone reading is taken somewhere along a side that tapers: always at an end adds a quarter of the
    taper's variance, anywhere a twelfth, always in the middle nothing. Two readings may leave one end out.
    """
    if axis.number == 3:
        return wall.tape**2 / 2
    if axis.number == 2:
        return wall.tape**2 / 2 + wall.taper**2 / 32
    return wall.tape**2 + wall.lone_share * wall.taper**2


def _log_readings(axis: Axis, wall: _Wall, coarse: float) -> float:
    """Logarithm of the density of two or three readings for one kind of wall.

    A straight wall may have a lump or a hollow where one reading was taken. That moves the middle
    reading off the line of the others, or moves taper and kink together where it is at an end.
    """
    taper = wall.taper**2 + 2 * wall.tape**2 + coarse
    lump = wall.lump**2
    plain, lumpy = log(1 - wall.lump_share), log(wall.lump_share)
    if axis.kink is None:
        return log_sum(
            (plain + _log_normal(axis.taper, taper), lumpy + _log_normal(axis.taper, taper + lump))
        )
    kink = wall.kink**2 + coarse
    third = lumpy - log(3)
    straight = _log_normal(axis.taper, taper)
    parts = (
        plain + straight + _log_normal(axis.kink, kink),
        third + straight + _log_normal(axis.kink, kink + lump),
        third + _log_normal_pair(axis.taper, axis.kink, taper + lump, kink + lump / 4, -lump / 2),
        third + _log_normal_pair(axis.taper, axis.kink, taper + lump, kink + lump / 4, lump / 2),
    )
    return max(log_sum(parts), wall.slip)


def _log_normal_pair(x: float, y: float, var_x: float, var_y: float, both: float) -> float:
    """Logarithm of the normal density of two values about nought that vary together."""
    spread = var_x * var_y - both * both
    square = (x * x * var_y - 2 * x * y * both + y * y * var_x) / spread
    return -0.5 * (square + log(spread)) - 2 * HALF_LOG_TAU


def _log_wall(sight: Sight, fit: tuple[float, float] | None, wall: _Wall, slack: Slack) -> float:
    """Logarithm of the density of readings and diagonals for one kind of wall."""
    total = 0.0
    for axis, coarse in ((sight.width, slack.widths), (sight.height, slack.heights)):
        if axis.number > 1:
            total += _log_readings(axis, wall, coarse**2)
    width, height = sight.width, sight.height
    if not sight.taped or min(width.ends, height.ends) <= 0:
        return total
    diagonal = sqrt(width.ends**2 + height.ends**2)
    along, up = (width.ends / diagonal) ** 2, (height.ends / diagonal) ** 2
    variance = wall.tape**2 / 2
    variance += along * (_side_variance(width, wall) + slack.widths**2)
    variance += up * (_side_variance(height, wall) + slack.heights**2)
    if fit is not None:
        return total + _log_normal(fit[0], variance) + _log_normal(fit[1], wall.lean**2)
    return total + _log_normal(sight.taped[0] - diagonal, variance + wall.tape**2 / 2 + along * wall.lean**2)


def _log_size(axis: Axis, figures: SuspicionFigures) -> float:
    """How usual a size is for a window: a broad curve that tells metres from inches, no more."""
    if axis.mean < NANOMETRE_MM:
        return IMPOSSIBLE
    z = log(axis.mean / figures.size_usual_mm) / figures.size_spread
    return -0.5 * z * z


def _is_no_window(width: Axis, height: Axis, figures: SuspicionFigures) -> bool:
    """Both sides are outside all sensible sizes, and on the same side of them."""
    least, most = figures.size_least_mm, figures.size_most_mm
    return max(width.most, height.most) < least or min(width.least, height.least) > most


def log_frame(
    frame: AxisFrame,
    *,
    suits_stated: bool,
    other_gaps_mm: tuple[float, ...],
    is_deliberate: bool,
    figures: SuspicionFigures,
    slack_mm: float,
) -> float:
    """How likely the stated frame is on one axis, given the readings.

    Args:
        frame: the frame against the readings in question.
        suits_stated: it suits the readings as the order has them, which are others: an office that
            worked from a wrong reading makes a frame that suits the wrong reading.
        other_gaps_mm: both gaps together in other spans, where the readings in question are not those
            that the gap was looked up for. [mm]
        is_deliberate: the other axis shows a frame size that somebody chose.
        figures: the rulebook's figures.
        slack_mm: how coarse readings and frame are. [mm]
    Returns: logarithm of a density per millimetre.
    """
    if frame.is_exact(slack_mm=slack_mm):
        return log(figures.frame_exact_share)
    if suits_stated:
        return log(figures.frame_exact_share / 2)
    if any(
        frame.is_rounding(rest - gap, slack_mm) for gap in other_gaps_mm for rest in (frame.room, frame.over)
    ):
        return log(figures.frame_exact_share / 10)
    if any(each and frame.is_rounding(frame.room + each - frame.gap, slack_mm) for each in frame.added):
        return log(figures.frame_exact_share / 40)
    loosest = 2 * frame.gap_most + figures.frame_loose_beyond_mm
    if frame.gap - 0.1 - slack_mm <= frame.over <= loosest + slack_mm:
        if frame.is_gap_twice(figures) and not is_deliberate:
            return log(figures.gap_chance_share)
        return log(figures.frame_loose_share / max(loosest - frame.gap, 1.0))
    outside = frame.gap - frame.over if frame.over < frame.gap else frame.over - loosest
    is_near = outside <= figures.frame_odd_within_mm
    if is_deliberate and is_near and frame.over > frame.gap:
        share = figures.frame_both_odd_share
    else:
        share = figures.frame_odd_share if is_near else figures.unnamed_share
    return log(share / (figures.frame_odd_within_mm if is_near else figures.size_most_mm))


def log_likelihood(
    sight: Sight,
    opening: SurveyedOpening,
    figures: SuspicionFigures,
    *,
    rough_share: float,
    suits_stated: tuple[bool, bool],
    are_stated: tuple[bool, bool],
    slack: Slack = NO_SLACK,
) -> float:
    """How likely these numbers are if they belong to one real opening and its frame.

    Args:
        sight: the numbers in question.
        opening: the opening, for gaps, sill and the like.
        figures: the rulebook's figures.
        rough_share: how usual rough walls are here, between 0 and 1.
        suits_stated: by axis, whether the frame suits the readings as the order has them.
        are_stated: by axis, whether the readings in question are those that the order has.
        slack: how coarse the numbers are.
    Returns: logarithm of a density.
    """
    fit = None
    width, height = sight.width, sight.height
    if len(sight.taped) == 2 and min(width.ends, height.ends) > 0:
        fit = diagonal_fit(
            width_mm=width.ends,
            height_mm=height.ends,
            diagonal_1_mm=sight.taped[0],
            diagonal_2_mm=sight.taped[1],
            is_head_sloping=opening.is_head_sloping,
        )
    smooth = _Wall(
        taper=figures.taper_mm,
        kink=figures.kink_mm,
        lean=figures.lean_mm,
        tape=figures.tape_mm,
        lump=figures.lump_mm,
        lump_share=figures.lump_share,
        slip=log(figures.unnamed_share / figures.size_most_mm / figures.rough_taper_mm),
        lone_share=figures.lone_taper_share,
    )
    rough = smooth._replace(
        taper=figures.rough_taper_mm,
        kink=figures.rough_kink_mm,
        lean=figures.rough_lean_mm,
        lone_share=figures.rough_lone_taper_share,
    )
    total = log_sum(
        (
            _log_wall(sight, fit, smooth, slack) + log(1 - rough_share),
            _log_wall(sight, fit, rough, slack) + log(rough_share),
        )
    )
    total += _log_size(width, figures) + _log_size(height, figures)
    if _is_no_window(width, height, figures):
        total += log(figures.unnamed_share)
    for place, (name, other) in enumerate((("width", "height"), ("height", "width"))):
        frame, beside = sight.frames[name], sight.frames[other]
        if frame is not None:
            total += log_frame(
                frame,
                suits_stated=suits_stated[place] and not are_stated[place],
                other_gaps_mm=() if are_stated[place] else opening.other_gaps_mm,
                is_deliberate=beside is not None and beside.is_chosen(figures),
                figures=figures,
                slack_mm=slack.frame + slack[place],
            )
    return total


def log_sum(logs: Sequence[float]) -> float:
    """Logarithm of the sum of what the logarithms stand for.

    Example:
        >>> log_sum((0.0, 0.0))
        0.693
    """
    top = max(logs)
    return top + log(sum(exp(each - top) for each in logs))
