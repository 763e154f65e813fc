"""From the relaxation to whole bars: fix the surest patterns, solve what is left again, and so on."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from random import Random
from typing import Final

from . import exact
from .columns import relax
from .exact_fill import fill_in_turn, filling_work
from .first_fit import best_fit_decreasing
from .guard import Guard
from .master import Column
from .problem import NEW_BAR, CuttingProblem, Fill, Offcut, Packing, new_bars, trimmed

ROUNDS_A_STEP: Final = 60
"""Pricings at most after each fixing."""

SHAKE: Final = 0.3
"""How far amounts below one are shaken at most."""

SEARCH_PIECES: Final = 90
"""A residual of no more pieces than this is searched exactly, once a dive and again at half of it."""

SEARCH_PATTERNS: Final = 1500
"""No such search where more patterns come into question."""

SEARCH_NODES: Final = 200
"""Nodes of the search tree at most."""


def quick_packings(problem: CuttingProblem) -> list[Packing]:
    """What the quick methods make of a problem."""
    return [
        best_fit_decreasing(problem),
        fill_in_turn(problem),
        fill_in_turn(problem, spread=True),
    ]


@dataclass(frozen=True, slots=True)
class Residual:
    """What is left to cut after some bars are fixed, and how its indices map to the whole problem."""

    problem: CuttingProblem
    lengths: tuple[int, ...]
    stocks: tuple[int, ...]

    def outward(self, fills: Iterable[Fill]) -> list[Fill]:
        """Fills of the residual in the indices of the whole problem."""
        return [
            Fill(
                NEW_BAR if fill.stock == NEW_BAR else self.stocks[fill.stock],
                tuple((self.lengths[index], count) for index, count in fill.pattern),
                fill.times,
            )
            for fill in fills
        ]

    def inward(self, columns: Iterable[Column]) -> list[Column]:
        """The columns of the whole problem that still fit, in the indices of the residual."""
        length_at = {outer: inner for inner, outer in enumerate(self.lengths)}
        stock_at = {outer: inner for inner, outer in enumerate(self.stocks)} | {NEW_BAR: NEW_BAR}
        fitting = []
        for stock, pattern in columns:
            if stock not in stock_at:
                continue
            inner = [(length_at.get(index, -1), count) for index, count in pattern]
            if all(index >= 0 and count <= self.problem.demands[index] for index, count in inner):
                fitting.append((stock_at[stock], tuple(inner)))
        return fitting


def residual(problem: CuttingProblem, fixed: Iterable[Fill]) -> Residual:
    """What is left when some bars are fixed; pieces that they cut too many of do not count."""
    left = list(problem.demands)
    stock = [offcut.quantity for offcut in problem.offcuts]
    for fill in fixed:
        for index, count in fill.pattern:
            left[index] -= count * fill.times
        if fill.stock != NEW_BAR:
            stock[fill.stock] -= fill.times
    lengths = tuple(index for index, count in enumerate(left) if count > 0)
    stocks = tuple(index for index, count in enumerate(stock) if count > 0)
    rest = CuttingProblem(
        tuple(problem.weights[index] for index in lengths),
        tuple(left[index] for index in lengths),
        problem.capacity,
        tuple(Offcut(problem.offcuts[index].capacity, stock[index]) for index in stocks),
    )
    return Residual(rest, lengths, stocks)


def homogeneous_columns(problem: CuttingProblem) -> list[Column]:
    """For each length a fresh bar full of it, so that every length can be covered."""
    return [
        (NEW_BAR, ((index, min(demand, problem.capacity // weight)),))
        for index, (weight, demand) in enumerate(zip(problem.weights, problem.demands, strict=True))
    ]


def dive(
    problem: CuttingProblem,
    columns: list[Column],
    amounts: list[float],
    *,
    share: float,
    chance: Random | None,
    searching: bool,
    best: int,
    target: int,
    guard: Guard,
    found: Callable[[Packing], None],
) -> None:
    """One dive: fixes bars until nothing is left; every better answer on the way goes to ``found``.

    Args:
        problem: what to cut.
        columns: patterns of the relaxation.
        amounts: how often it uses each.
        share: how much of the remaining bars to fix at once where no pattern is used once or more.
        chance: shakes the choice of what to fix, so that dives differ; None for the plain dive.
        searching: whether to search a small rest exactly.
        best: fewest bars known; the dive ends where it can no longer beat them.
        target: the proved bound; reaching it ends the dive.
        guard: asked between steps whether to stop.
        found: called with each better answer.
    """
    fixed: list[Fill] = []
    left = residual(problem, fixed)
    used = 0
    searchable = SEARCH_PIECES if searching else 0
    while left.problem.weights and not guard.expired():
        step = _to_fix(left.problem, columns, _shaken(amounts, chance), share)
        if not step:
            return
        fixed += left.outward(step)
        used += new_bars(step)
        previous, left = left, residual(problem, fixed)
        if not left.problem.weights:
            if used < best:
                found(trimmed(problem, fixed))
            return
        for packing in quick_packings(left.problem):
            total = used + new_bars(packing)
            guard.spend(filling_work(left.problem, new_bars(packing)))
            if total < best:
                best = total
                found(trimmed(problem, [*fixed, *left.outward(packing)]))
        if best <= target:
            return
        kept = left.inward(_outward(previous, columns))
        state = relax(
            left.problem,
            [*kept, *homogeneous_columns(left.problem)],
            guard=guard,
            most_rounds=ROUNDS_A_STEP,
            enough=best - used,
        )
        if used + state.bound >= best:
            return
        columns, amounts = state.columns, state.amounts
        if left.problem.pieces <= searchable:
            searchable = left.problem.pieces // 2
            verdict, packing = _search(left.problem, columns, best - 1 - used, guard)
            if verdict == "found":
                found(trimmed(problem, [*fixed, *left.outward(packing)]))
            if verdict != "unsettled":
                return


def _search(
    problem: CuttingProblem, columns: list[Column], bars: int, guard: Guard
) -> tuple[exact.Settled, Packing]:
    """Looks for the rest of a dive in one go: an answer with so many bars, if there is one."""
    sharp = relax(problem, columns, guard=guard, most_rounds=ROUNDS_A_STEP, thorough=True)
    if sharp.worth is None:
        return "unsettled", ()
    return exact.search(
        problem,
        sharp.worth,
        bars=bars,
        most_patterns=SEARCH_PATTERNS,
        most_nodes=SEARCH_NODES,
        guard=guard,
    )


def _outward(left: Residual, columns: Iterable[Column]) -> list[Column]:
    """Columns of a residual in the indices of the whole problem."""
    return [
        (
            NEW_BAR if stock == NEW_BAR else left.stocks[stock],
            tuple((left.lengths[index], count) for index, count in pattern),
        )
        for stock, pattern in columns
    ]


def _shaken(amounts: list[float], chance: Random | None) -> list[float]:
    """Amounts below one made a little smaller by chance; whole bars stay."""
    if chance is None:
        return amounts
    return [amount * (1 - SHAKE * chance.random()) if amount < 1 else amount for amount in amounts]


def _to_fix(problem: CuttingProblem, columns: list[Column], amounts: list[float], share: float) -> list[Fill]:
    """Whole parts of the amounts; where there are none, the patterns nearest to a whole one."""
    left = list(problem.demands)
    stock = [offcut.quantity for offcut in problem.offcuts]
    chosen: list[Fill] = []

    def fix(column: int, times: int) -> int:
        at, pattern = columns[column]
        times = min([times, *(left[index] // count for index, count in pattern)])
        if at != NEW_BAR:
            times = min(times, stock[at])
        if times > 0:
            chosen.append(Fill(at, pattern, times))
            for index, count in pattern:
                left[index] -= count * times
            if at != NEW_BAR:
                stock[at] -= times
        return max(0, times)

    for column, amount in enumerate(amounts):
        if amount >= 1 - 1e-6:
            fix(column, int(amount + 1e-6))
    if chosen:
        return chosen
    wanted = max(1, int(share * sum(amounts)))
    for column in sorted(range(len(columns)), key=lambda column: (-amounts[column], column)):
        if amounts[column] <= 1e-6 or wanted <= 0:
            break
        wanted -= fix(column, 1)
    return chosen
