"""Puts blocks on pages: those of full width first, then two columns as even as may be."""

from collections.abc import Callable, Sequence
from typing import Final

from sawready.report.sheet_layout import Block

Placed = tuple[Block, float, float]
"""A block, and its upper left corner from the upper left of the text of its page. [pt]."""


def paged(
    full: Sequence[Block],
    parted: Sequence[Block],
    *,
    first: float,
    others: Callable[[], float],
    across: float,
) -> list[list[Placed]]:
    """Blocks on pages: those of full width, then those that fill two columns.

    Args:
        full: blocks that go over the whole width.
        parted: blocks of half width, in reading order.
        first: room on the first page. [pt]
        others: gives the room on each page after it, where there is one. [pt]
        across: from the left edge of one column to that of the next. [pt]
    Returns: what stands where, page by page. A block that is higher than a page has one to itself.
    """
    pages: list[list[Placed]] = [[]]
    room, y = first, 0.0
    for block in full:
        if y and y + block.height > room:
            pages.append([])
            room, y = others(), 0.0
        pages[-1].append((block, 0.0, y))
        y += block.height
    rest = list(parted)
    while rest:
        left, right, rest_after = _two_columns(rest, room - y)
        if not left and y:
            pages.append([])
            room, y = others(), 0.0
            continue
        for column, x in ((left, 0.0), (right, across)):
            down = y
            for block in column:
                pages[-1].append((block, x, down))
                down += block.height
        rest = rest_after
        if rest:
            pages.append([])
            room, y = others(), 0.0
    return pages


def _two_columns(blocks: list[Block], room: float) -> tuple[list[Block], list[Block], list[Block]]:
    """As even as may be where all fit; else the left one full, then the right one, and what is left over.

    Where all fit either way, the right one begins with a heading.
    """
    heights = [block.height for block in blocks]
    total = sum(heights)
    used = 0.0
    longer: list[tuple[float, int]] = []
    for number, height in enumerate(heights, 1):
        used += height
        longer.append((max(used, total - used), number))
    at_heading = [
        each for each in longer if each[0] <= room and (each[1] == len(blocks) or blocks[each[1]].is_headed)
    ]
    best, at = min(at_heading or longer)
    if best <= room:
        return blocks[:at], blocks[at:], []
    first = _filling(heights, room) or (1 if heights[0] > room > _WHOLE else 0)
    second = _filling(heights[first:], room) if first else 0
    return blocks[:first], blocks[first : first + second], blocks[first + second :]


_WHOLE: Final = 500.0
"""Room from which on a block that is too high is drawn all the same, over the foot. [pt]."""


def _filling(heights: Sequence[float], room: float) -> int:
    """How many blocks fit below each other."""
    used = 0.0
    for number, height in enumerate(heights):
        used += height
        if used > room:
            return number
    return len(heights)
