"""Column generation: the linear relaxation over all patterns, solved with the few that matter.

The master problem covers every length with patterns at the least number of fresh bars (Gilmore and
Gomory, Operations Research 9, 1961, and 11, 1963); a bounded knapsack finds the patterns worth
adding. HiGHS solves the master with one thread and a fixed method, so the same input takes the same
path. The bound is computed apart, in whole numbers.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Final

from .bound import Worth, worth_of
from .guard import Guard
from .knapsack import PriceTable
from .master import Column, Master
from .problem import NEW_BAR, CuttingProblem, Pattern

PRICE_SCALE: Final = 2**28
"""A whole bar in the whole-number prices. Rounding down costs at most pieces / 2^28 bars."""

STEADY: Final = 0.6
"""Weight of the best prices so far when new ones are mixed in; keeps them from swinging."""

COLUMNS_A_ROUND: Final = 24
"""How many patterns of one stock to add at most after one pricing."""

LEAST_GAIN: Final = 1e-7
"""A pattern must promise more than this, in bars, to be added; below it is rounding noise."""


@dataclass(slots=True)
class Relaxation:
    """State of the linear relaxation.

    Attributes:
        columns: patterns so far.
        amounts: how often each is used, fractional.
        value: fresh bars used, fractional.
        worth: the best prices so far and what they prove.
        rounds: pricings done.
    """

    columns: list[Column]
    amounts: list[float] = field(default_factory=list)
    value: float = 0.0
    worth: Worth | None = None
    rounds: int = 0

    @property
    def bound(self) -> int:
        """Fewest fresh bars, proved."""
        return 0 if self.worth is None else self.worth.bound


def relax(
    problem: CuttingProblem,
    columns: Iterable[Column],
    *,
    guard: Guard,
    most_rounds: int,
    enough: int | None = None,
    thorough: bool = False,
) -> Relaxation:
    """Generates patterns until the bound meets the relaxation, rounded up.

    Args:
        problem: what to cut.
        columns: patterns to begin with; together they must be able to cover every length.
        guard: asked between rounds whether to stop.
        most_rounds: pricings at most.
        enough: stop as soon as the bound reaches this many bars.
        thorough: go on until no pattern improves the relaxation, for the sharpest prices.
    """
    state = Relaxation(list(dict.fromkeys(columns)))
    master = Master(problem)
    master.add(state.columns)
    known = set(state.columns)
    longest = max([problem.capacity, *(offcut.capacity for offcut in problem.offcuts)])
    centre = [weight / problem.capacity for weight in problem.weights]
    steady = STEADY
    while True:
        state.value, state.amounts, lengths, offcuts = master.solve()
        if state.rounds >= most_rounds or guard.expired():
            return state
        if not thorough and state.worth is not None and state.bound >= _rounded_up(state.value):
            return state
        if enough is not None and state.worth is not None and state.bound >= enough:
            return state
        mixed = [steady * old + (1 - steady) * new for old, new in zip(centre, lengths, strict=True)]
        prices = [int(price * PRICE_SCALE) for price in mixed]
        table = PriceTable(problem.weights, problem.demands, prices, longest)
        guard.spend(table.work + master.work)
        state.rounds += 1
        worth = worth_of(problem, prices, table.value)
        if state.worth is None or worth > state.worth:
            state.worth = worth
            centre = [price / worth.most for price in prices] if worth.most else centre
        fresh = _columns_from(problem, table, prices=prices, lengths=lengths, offcuts=offcuts, known=known)
        if fresh:
            steady = STEADY
            known.update(fresh)
            state.columns.extend(fresh)
            master.add(fresh)
        elif steady == 0.0:  # the true prices find nothing better: the relaxation is solved
            return state
        else:
            steady = 0.0


def _rounded_up(value: float) -> int:
    """Bars behind a fractional value; a millionth over a whole number is rounding noise."""
    return int(-((-value + 1e-6) // 1))


def _columns_from(
    problem: CuttingProblem,
    table: PriceTable,
    *,
    prices: Sequence[int],
    lengths: Sequence[float],
    offcuts: Sequence[float],
    known: set[Column],
) -> list[Column]:
    """Patterns worth adding, stock by stock: new ones that cut the value of the relaxation."""
    chosen: list[Column] = []
    for stock in range(NEW_BAR, len(problem.offcuts)):
        cost = 1.0 if stock == NEW_BAR else -offcuts[stock]
        for pattern in _around(problem, table, prices, problem.capacity_of(stock)):
            gain = sum(count * lengths[index] for index, count in pattern) - cost
            if gain > LEAST_GAIN and (stock, pattern) not in known:
                chosen.append((stock, pattern))
    return list(dict.fromkeys(chosen))


def _around(
    problem: CuttingProblem, table: PriceTable, prices: Sequence[int], capacity: int
) -> list[Pattern]:
    """The best pattern of a capacity, then the best around each promising length not covered yet.

    What the rest of the bar is worth beside one piece is in the table already, so one pricing gives a
    whole set of patterns that have little in common.
    """
    weights = problem.weights
    promise = sorted(
        (-(prices[index] + table.value(capacity - weight)), index)
        for index, weight in enumerate(weights)
        if weight <= capacity and prices[index] > 0
    )
    patterns = [table.pattern(capacity)]
    covered = {index for index, _ in patterns[0]}
    for _, index in promise:
        if len(patterns) >= COLUMNS_A_ROUND:
            break
        if index in covered:
            continue
        counts = dict(table.pattern(capacity - weights[index]))
        counts[index] = min(counts.get(index, 0) + 1, problem.demands[index])
        patterns.append(tuple(sorted(counts.items())))
        covered.update(counts)
    return [pattern for pattern in patterns if pattern]
