"""The bare cutting problem: whole-number lengths, how many of each, and what there is to cut them from."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

NEW_BAR: Final = -1
"""Stock index of a fresh bar; indices from 0 are old offcuts."""

Pattern = tuple[tuple[int, int], ...]
"""What one bar is cut into: (length index, how many), indices rising, counts above zero."""


@dataclass(frozen=True, slots=True)
class Offcut:
    """Old offcuts of one length.

    Attributes:
        capacity: usable length, in units of the problem.
        quantity: how many there are.
    """

    capacity: int
    quantity: int


@dataclass(frozen=True, slots=True)
class CuttingProblem:
    """Lengths to cut from fresh bars, of which there are enough, and from old offcuts.

    A set of pieces fits a bar when its weights add up to no more than the capacity; kerf and trim
    are inside these figures already.

    Attributes:
        weights: the different lengths, falling; each fits a fresh bar.
        demands: how many of each, above zero.
        capacity: usable length of a fresh bar.
        offcuts: old offcuts, longest first, every capacity different.
    """

    weights: tuple[int, ...]
    demands: tuple[int, ...]
    capacity: int
    offcuts: tuple[Offcut, ...] = ()

    def __post_init__(self) -> None:
        """Refuses figures that the methods do not expect."""
        if len(self.weights) != len(self.demands):
            raise ValueError(f"{len(self.weights)} lengths but {len(self.demands)} counts")
        if any(weight <= 0 for weight in self.weights) or any(count <= 0 for count in self.demands):
            raise ValueError("every length and every count must be above zero")
        if list(self.weights) != sorted(set(self.weights), reverse=True):
            raise ValueError("lengths must fall and differ")
        if self.weights and self.weights[0] > self.capacity:
            raise ValueError(f"length {self.weights[0]} is over the capacity {self.capacity}")

    @property
    def material(self) -> int:
        """All weights together."""
        return sum(weight * count for weight, count in zip(self.weights, self.demands, strict=True))

    @property
    def pieces(self) -> int:
        """How many pieces there are to cut."""
        return sum(self.demands)

    def capacity_of(self, stock: int) -> int:
        """Usable length of a stock: a fresh bar, or the old offcut of that index."""
        return self.capacity if stock == NEW_BAR else self.offcuts[stock].capacity

    def weight_of(self, pattern: Pattern) -> int:
        """Weight of a pattern's pieces together."""
        return sum(self.weights[index] * count for index, count in pattern)


@dataclass(frozen=True, slots=True)
class Fill:
    """A pattern cut from so many pieces of one stock.

    Attributes:
        stock: ``NEW_BAR``, or the index of an old offcut.
        pattern: what each is cut into.
        times: from how many.
    """

    stock: int
    pattern: Pattern
    times: int = 1


Packing = tuple[Fill, ...]
"""A whole answer: every piece on some stock."""


def new_bars(packing: Iterable[Fill]) -> int:
    """How many fresh bars an answer takes."""
    return sum(fill.times for fill in packing if fill.stock == NEW_BAR)


def pattern_of(counts: dict[int, int]) -> Pattern:
    """Counts by length index as a pattern."""
    return tuple(sorted((index, count) for index, count in counts.items() if count > 0))


def merged(fills: Iterable[Fill]) -> Packing:
    """The same answer with equal patterns on equal stock put together, in order of first use."""
    times: dict[tuple[int, Pattern], int] = {}
    for fill in fills:
        if fill.times and fill.pattern:
            key = (fill.stock, fill.pattern)
            times[key] = times.get(key, 0) + fill.times
    return tuple(Fill(stock, pattern, count) for (stock, pattern), count in times.items())


def trimmed(problem: CuttingProblem, fills: Iterable[Fill]) -> Packing:
    """An answer that cuts too much of something brought down to exactly what is asked for.

    Raises: ValueError if a piece is missing.
    """
    left = list(problem.demands)
    exact: list[Fill] = []
    for fill in fills:
        times = fill.times
        while times:
            cut = tuple((index, min(count, left[index])) for index, count in fill.pattern)
            pattern = tuple((index, count) for index, count in cut if count)
            if not pattern:
                break
            repeats = min(times, *(left[index] // count for index, count in pattern))
            for index, count in pattern:
                left[index] -= count * repeats
            exact.append(Fill(fill.stock, pattern, repeats))
            times -= repeats
    if any(left):
        raise ValueError(f"{sum(left)} pieces are on no bar")
    return merged(exact)
