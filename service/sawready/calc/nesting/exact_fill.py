"""Filling one bar as full as it can be, and whole lists bar by bar.

The sums that some pieces can reach are the bits of one long integer: bit 0 stands for a full bar, bit
r for r units of room left, and adding a piece of length w shifts all bits down by w. Sums beyond
the bar fall off the end by themselves.
"""

from collections.abc import Iterable, Sequence
from typing import Protocol

from .problem import NEW_BAR, CuttingProblem, Fill, Packing, merged, pattern_of


class Counts(Protocol):
    """How many of each length there are, by index: a list or a dictionary."""

    def __getitem__(self, index: int, /) -> int:
        """How many of one length."""
        ...


def fullest(
    weights: Sequence[int], left: Counts, room: int, order: Iterable[int]
) -> tuple[int, dict[int, int]]:
    """The pieces that fill ``room`` best; among equals the ones that come first in ``order``.

    Stops at the first piece with which the room can be filled exactly.

    Args:
        weights: lengths by index.
        left: how many of each may be used.
        room: what there is to fill, zero or more.
        order: indices in order of preference.
    Returns: room left over, and counts by index.
    """
    reached = 1 << room
    steps: list[tuple[int, int, int]] = []
    for index in order:
        weight = weights[index]
        if weight > room:
            continue
        count = min(left[index], room // weight)
        chunk = 1
        while count > 0:
            chunk = min(chunk, count)
            count -= chunk
            more = reached | (reached >> weight * chunk)
            if more != reached:
                steps.append((index, chunk, reached))
                reached = more
            chunk *= 2
        if reached & 1:
            break
    over = (reached & -reached).bit_length() - 1
    counts: dict[int, int] = {}
    at = over
    for index, chunk, before in reversed(steps):
        if not (before >> at) & 1:
            counts[index] = counts.get(index, 0) + chunk
            at += weights[index] * chunk
    return over, counts


def fill_in_turn(problem: CuttingProblem, *, spread: bool = False, reserve: int = 0) -> Packing:
    """Bar after bar, each begun with the longest piece left and filled as full as can be.

    Old offcuts come first, the shortest before the longer ones, as they take the fewest pieces.

    Args:
        problem: what to cut.
        spread: prefer lengths of which many are left, which keeps the choice wide to the end, over
            the longest ones, which get rarer and harder to place.
        reserve: keep this much of the last fresh bar free: the first fresh bar that is filled has so
            much less room and is put at the end.
    """
    weights, left = problem.weights, list(problem.demands)
    fills: list[Fill] = []
    for stock in reversed(range(len(problem.offcuts))):
        available = problem.offcuts[stock].quantity
        while available and any(left):
            fill = _filled(weights, left, problem.offcuts[stock].capacity, stock, spread=spread, begun=False)
            if fill is None:
                break
            fills.append(fill)
            available -= 1
    last: Fill | None = None
    if reserve:
        last = _filled(weights, left, problem.capacity - reserve, NEW_BAR, spread=spread, begun=True)
    while any(left):
        fill = _filled(weights, left, problem.capacity, NEW_BAR, spread=spread, begun=True)
        if fill is None:  # cannot be: every length fits a fresh bar
            break
        fills.append(fill)
    return merged([*fills, last] if last is not None else fills)


def _filled(
    weights: Sequence[int], left: list[int], room: int, stock: int, *, spread: bool, begun: bool
) -> Fill | None:
    """One bar, its pieces taken off ``left``; nothing where no piece fits."""
    first = next((index for index, count in enumerate(left) if count and weights[index] <= room), None)
    if first is None:
        return None
    if begun:
        left[first] -= 1
        room -= weights[first]
    usable = [index for index in range(first, len(left)) if left[index]]
    if spread:
        usable.sort(key=lambda index: -left[index] * weights[index])
    _, counts = fullest(weights, left, room, usable)
    for index, count in counts.items():
        left[index] -= count
    if begun:
        counts[first] = counts.get(first, 0) + 1
    return Fill(stock, pattern_of(counts))


def filling_work(problem: CuttingProblem, bars: int) -> int:
    """What filling so many bars in turn costs, in units of the guard: a shift a bar and length."""
    return bars * len(problem.weights) * (300 + problem.capacity // 8)
