"""A first look at an order's surveys that spares sound ones the weighing.

Whole nanometres, as the order has them, and nothing is built. An order passes where each of its openings is
plainly sound and none is another one turned round; every other order is weighed in full, which tells the same
of a sound one, only later. A property test holds the two against each other.
"""

from collections.abc import Sequence
from math import hypot
from typing import NamedTuple

from sawready.calc.fit import AxisFit
from sawready.calc.forensics import SuspicionFigures
from sawready.catalogue.rulebook import GapFigure
from sawready.sizing import Sized
from sawready.units import NM_PER_MM as NM

__all__ = ["QuickLimits", "are_plainly_sound"]

MARGIN_NM = 1000
"""Room for what the weighing, in floating point, may see otherwise. [nm]"""


class QuickLimits(NamedTuple):
    """The figures of the first look, in whole nanometres; see the rulebook for what each means. [nm]"""

    spread: int
    misfit: int
    least: int
    most: int
    exact: int
    twice: int
    round_to: int
    alike: int
    siblings_least: int
    inside: int
    wrong_faces: frozenset[str]

    @classmethod
    def of(cls, figures: SuspicionFigures) -> "QuickLimits":
        """The limits that follow from the figures of a weighing."""
        return cls(
            spread=int(figures.readings_spread_mm * NM),
            misfit=int(figures.diagonals_against_sides_mm * NM) - MARGIN_NM,
            least=int(figures.size_least_mm * NM) + MARGIN_NM,
            most=int(figures.size_most_mm * NM) - MARGIN_NM,
            exact=int(figures.frame_exact_mm * NM) - MARGIN_NM,
            twice=int(figures.gap_twice_mm * NM),
            round_to=max(int(figures.copied_round_to_mm * NM), 1),
            alike=int(figures.sibling_equal_mm * NM) + MARGIN_NM,
            siblings_least=figures.siblings_least,
            inside=int(figures.inside_differs_mm * NM) - MARGIN_NM,
            wrong_faces=frozenset(figures.wrong_faces),
        )


def are_plainly_sound(sized: Sequence[Sized], limits: QuickLimits) -> bool:
    """Whether no survey of an order can be suspicious.

    Args:
        sized: the order's openings with their sizes.
        limits: the rulebook's figures.
    Returns: True only where the weighing would find nothing; False says nothing.
    """
    sizes: list[tuple[int, int]] = []
    is_many = len(sized) > limits.siblings_least
    for each in sized:
        size = _sound_size(each, limits)
        if size is None:
            return False
        if is_many:
            opening = each.opening
            is_lone = len(opening.widths_nm) == 1 or len(opening.heights_nm) == 1
            if is_lone and not opening.diagonals_nm:
                return False  # two digits apart from its like, it may be; the weighing looks
            sizes.append(size)
    return not (is_many and _is_any_turned(sizes, limits.alike))


def _sound_size(ctx: Sized, limits: QuickLimits) -> tuple[int, int] | None:
    """Least width and height of an opening that is plainly sound; None where it has to be weighed. [nm]"""
    opening = ctx.opening
    widths, heights = opening.widths_nm, opening.heights_nm
    if (
        opening.unread
        or not widths
        or not heights
        or None in widths
        or None in heights
        or opening.measured_to in limits.wrong_faces
    ):
        return None
    width: int = min(widths)  # type: ignore[type-var, assignment] # no None is in it
    height: int = min(heights)  # type: ignore[type-var, assignment]
    widest: int = max(widths)  # type: ignore[type-var, assignment]
    highest: int = max(heights)  # type: ignore[type-var, assignment]
    if (
        widest - width > limits.spread
        or highest - height > limits.spread
        or width < limits.least
        or height < limits.least
        or widest > limits.most
        or highest > limits.most
        or (
            widest == width
            and highest == height
            and not (width % limits.round_to or height % limits.round_to)
        )
    ):
        return None
    if opening.diagonals_nm:
        misfit = _misfit(ctx)
        if misfit is None or misfit > limits.misfit:
            return None
    if (
        (opening.frame_width_nm is not None and not _does_frame_suit(ctx.width, ctx.gaps_most[0], limits))
        or (
            opening.frame_height_nm is not None and not _does_frame_suit(ctx.height, ctx.gaps_most[1], limits)
        )
        or not _is_inside_near(opening.inside_width_nm, width, widest, limits)
        or not _is_inside_near(opening.inside_height_nm, height, highest, limits)
    ):
        return None
    return width, height


def _misfit(ctx: Sized) -> float | None:
    """How far sides and diagonals are from one opening; None where it takes more than a look. [nm]"""
    if ctx.lean is not None:
        return ctx.lean.misfit_nm
    opening = ctx.opening
    widths, heights, diagonals = opening.widths_nm, opening.heights_nm, opening.diagonals_nm
    if len(diagonals) != 1 or diagonals[0] is None:
        return None
    width = sum(widths) / len(widths)  # type: ignore[arg-type] # no None is in it
    height = sum(heights) / len(heights)  # type: ignore[arg-type]
    return abs(diagonals[0] - hypot(width, height))


def _is_inside_near(inside: int | None, least: int, most: int, limits: QuickLimits) -> bool:
    """There is no inside size, or it is near the outside one, wherever in the readings their mean lies."""
    return inside is None or (most - inside <= limits.inside and inside - least <= limits.inside)


def _does_frame_suit(fit: AxisFit | None, gap_most: GapFigure | None, limits: QuickLimits) -> bool:
    """The stated frame is what its aperture asks for, or smaller within the gaps and not by another gap."""
    if fit is None or fit.stated_nm is None:
        return False
    gap, whole = fit.gap_nm[0] + fit.gap_nm[1], fit.lean_denominator
    over = fit.room_numerator()
    if not gap * whole <= over < (2 * gap - limits.twice - MARGIN_NM) * whole:
        return False
    if over < (gap + limits.exact) * whole:
        return True
    room = fit.room_numerator(is_lean_off=False) + (fit.most_nm - fit.least_nm) * whole
    return gap_most is not None and room <= (2 * gap_most.nm - MARGIN_NM) * whole


def _is_any_turned(sizes: Sequence[tuple[int, int]], alike: int) -> bool:
    """Whether some opening has about the size of another one turned round."""
    cells = {(width // alike, height // alike) for width, height in sizes}
    columns = {column for column, _ in cells}
    for column, row in cells:
        if -1 <= column - row <= 1:
            continue  # nearly square: it is the same turned round
        if not columns.isdisjoint((row - 1, row, row + 1)):
            for x in (row - 1, row, row + 1):
                if not cells.isdisjoint(((x, column - 1), (x, column), (x, column + 1))):
                    return True
    return False
