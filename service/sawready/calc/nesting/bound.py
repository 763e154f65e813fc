"""Bounds on the fewest fresh bars that hold for certain: whole-number arithmetic only.

Any prices p >= 0 give one. If no fresh bar can hold pieces worth more than f, and no old offcut s
pieces worth more than f_s, then the pieces, worth sum(d p) together, need at least
(sum(d p) - sum(n_s f_s)) / f fresh bars (Gilmore and Gomory, Operations Research 9, 1961: this is
the dual of their linear program). Prices rounded down stay prices, so nothing rests on floating
point.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from .exact_fill import fullest
from .problem import CuttingProblem


@dataclass(frozen=True, slots=True)
class Worth:
    """Prices and what they prove.

    Attributes:
        prices: price of one piece of each length, whole numbers of zero or more.
        most: the greatest price of pieces that fit a fresh bar.
        offcuts_most: the same for each old offcut.
        total: price of all pieces less what the old offcuts can hold.
    """

    prices: tuple[int, ...]
    most: int
    offcuts_most: tuple[int, ...]
    total: int

    @property
    def bound(self) -> int:
        """Fewest fresh bars, proved."""
        return max(0, -(-self.total // self.most)) if self.most > 0 else 0

    def __gt__(self, other: "Worth") -> bool:
        """Whether these prices prove more, before rounding up; compared without division."""
        return self.total * other.most > other.total * self.most


def worth_of(problem: CuttingProblem, prices: Sequence[int], most_in: Callable[[int], int]) -> Worth:
    """What prices prove.

    Args:
        problem: what to cut.
        prices: price of one piece of each length, zero or more.
        most_in: the greatest price of pieces that fit a capacity, or more.
    """
    most = most_in(problem.capacity)
    offcuts_most = tuple(most_in(offcut.capacity) for offcut in problem.offcuts)
    total = sum(price * demand for price, demand in zip(prices, problem.demands, strict=True))
    total -= sum(o.quantity * value for o, value in zip(problem.offcuts, offcuts_most, strict=True))
    return Worth(tuple(prices), most, offcuts_most, total)


def material_bound(problem: CuttingProblem) -> int:
    """Fewest fresh bars by length alone: prices are the lengths, values the fullest that a bar can be."""
    if not problem.weights:
        return 0

    def most_in(capacity: int) -> int:
        over, _ = fullest(problem.weights, problem.demands, capacity, range(len(problem.weights)))
        return capacity - over

    return worth_of(problem, problem.weights, most_in).bound


def halves_bound(problem: CuttingProblem) -> int:
    """Fewest fresh bars by the pieces over half a bar, each of which needs its own.

    For a threshold t up to half a bar, pieces longer than capacity - t count as a whole bar, pieces
    shorter than t as nothing, the rest by length (Martello and Toth, Discrete Applied Mathematics
    28, 1990: their bound L2). Gives 0, which is always true, where there are old offcuts.
    """
    if problem.offcuts or not problem.weights:
        return 0
    capacity, best = problem.capacity, 0
    pairs = list(zip(problem.weights, problem.demands, strict=True))
    for threshold in sorted({weight for weight in problem.weights if 2 * weight <= capacity} | {0}):
        over_half = [(weight, demand) for weight, demand in pairs if 2 * weight > capacity]
        room = sum(
            demand * (capacity - weight) for weight, demand in over_half if weight <= capacity - threshold
        )
        small = sum(
            weight * demand for weight, demand in pairs if threshold <= weight and 2 * weight <= capacity
        )
        best = max(best, sum(demand for _, demand in over_half) + max(0, -(-(small - room) // capacity)))
    return best
