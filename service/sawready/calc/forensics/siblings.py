"""The other windows of the order: sizes that come again, and how rough the walls of the house are."""

from collections.abc import Sequence
from math import log
from typing import NamedTuple

from sawready.calc.forensics.model import SurveyedOpening, SuspicionFigures
from sawready.calc.forensics.sight import Sight, axis_of

__all__ = ["Sibling", "SiblingSizes"]

ROUGH_KINKS: tuple[float, float] = (2.5, 12.0)
"""Kink of a rough wall, in kinks that are usual: less is a smooth wall, more is a slip, not a wall."""


class Sibling(NamedTuple):
    """Governing size of an opening, and what its layout is known by.

    Attributes:
        place: the opening's place in the order.
        width_mm, height_mm: smallest width and height. [mm]
        layout_key: its layout but for hinge sides and places, or None.
    """

    place: int
    width_mm: float
    height_mm: float
    layout_key: str | None


class SiblingSizes:
    """Governing sizes of all openings of an order, found again by size.

    Args:
        openings: the order's openings.
        figures: the rulebook's figures.
    """

    __slots__ = ("_arched", "_cells", "_figures", "_openings", "_rough", "_side", "_sizes", "count")

    def __init__(self, openings: Sequence[SurveyedOpening], figures: SuspicionFigures) -> None:
        self._openings = openings
        self._figures = figures
        self._side = side = figures.sibling_equal_mm
        self._rough: list[bool] | None = None
        self._arched: list[bool] | None = None
        self._sizes = sizes = [_governing(opening) for opening in openings]
        self._cells: dict[tuple[int, int], list[int]] = {}
        self.count = len(sizes)
        cells = self._cells
        for index, size in enumerate(sizes):
            if size is not None:
                cell = (int(size[0] // side), int(size[1] // side))
                if cell in cells:
                    cells[cell].append(index)
                else:
                    cells[cell] = [index]

    def size(self, index: int) -> tuple[float, float] | None:
        """Smallest width and height of an opening; None where an axis has no reading [mm]."""
        return self._sizes[index]

    def like(self, *, width_mm: float, height_mm: float, but: int) -> list[Sibling]:
        """Other openings of this size.

        Args:
            width_mm: smallest width. [mm]
            height_mm: smallest height. [mm]
            but: index of the opening that asks, which is left out.
        """
        side, cells = self._side, self._cells
        column, row = int(width_mm // side), int(height_mm // side)
        near = [
            index
            for x in (column - 1, column, column + 1)
            for y in (row - 1, row, row + 1)
            if (x, y) in cells
            for index in cells[x, y]
        ]
        found = []
        for index in near:
            size = self._sizes[index]
            if index == but or size is None:
                continue
            if abs(size[0] - width_mm) <= side and abs(size[1] - height_mm) <= side:
                found.append(Sibling(index, size[0], size[1], self._openings[index].layout_key))
        return found

    def weight(self, sight: Sight, *, but: int) -> float:
        """How much it speaks for these numbers that other windows of the order have that size.

        Never more than the rulebook's weight: windows of one house are often alike, and often not.
        """
        if self.count < 2:
            return 0.0
        found = len(self.like(width_mm=sight.width.least, height_mm=sight.height.least, but=but))
        return min(self._figures.sibling_weight, log(1 + 3 * found))

    def rough_share(self, *, but: int) -> float:
        """How usual rough walls are in this order, as the other openings show.

        The rulebook's share counts as much as four openings.
        """
        if self._rough is None:
            self._rough = [self._is_rough(each) for each in self._openings]
        others = self.count - 1
        rough = sum(self._rough) - self._rough[but]
        share = (4 * self._figures.rough_share + rough) / (4 + others)
        return min(max(share, 0.001), 0.95)

    def is_arched_house(self, *, but: int) -> bool:
        """Whether another opening of the order stands higher in the middle than limits allow: an arched head.

        Args:
            but: index of the opening that asks, which is left out.
        """
        if self._arched is None:
            self._arched = [self._is_arched(each) for each in self._openings]
        return sum(self._arched) > self._arched[but]

    def _is_arched(self, opening: SurveyedOpening) -> bool:
        """The middle height is above both others, which are alike, by more than the readings may differ."""
        if len(opening.heights_mm) != 3 or None in opening.heights_mm:
            return False
        axis, figures = axis_of(opening.heights_mm), self._figures
        return (axis.kink or 0.0) > figures.readings_spread_mm >= abs(axis.taper)

    def _is_rough(self, opening: SurveyedOpening) -> bool:
        """Readings of an opening that is no straight wall, yet nothing that a slip would make."""
        figures = self._figures
        low, high = (times * figures.kink_mm for times in ROUGH_KINKS)
        if _governing(opening) is None:
            return False
        for readings in (opening.widths_mm, opening.heights_mm):
            axis = axis_of(readings)
            if axis.kink is not None and low < abs(axis.kink) < high:
                return True
            if 2 * figures.taper_mm < abs(axis.taper) < 5 * figures.taper_mm:
                return True
        return False


def _governing(opening: SurveyedOpening) -> tuple[float, float] | None:
    """Smallest width and height that were read; None where an axis has no reading [mm]."""
    widths, heights = opening.widths_mm, opening.heights_mm
    if None not in widths and None not in heights and widths and heights:
        return min(widths), min(heights)  # type: ignore[type-var, return-value]
    width = [each for each in widths if each is not None]
    height = [each for each in heights if each is not None]
    return (min(width), min(height)) if width and height else None
