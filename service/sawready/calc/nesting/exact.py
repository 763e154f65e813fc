"""The last resort: every pattern that an answer with one bar less could use, and a search among them.

With prices p, f the greatest price a bar can hold, and T bars wanted, the bars of such an answer lose
T f - sum(d p) against full worth all together, so no single one may lose more. Near the bound that
leaves few patterns, whatever the length of the bar. They are listed completely, which makes the
search exact: if it finds nothing, nothing is there (Baldacci and others use the same reduction for
routing; here it needs whole-number prices only, so no pattern is dropped by rounding).
"""

from collections.abc import Sequence
from typing import Final, Literal

import numpy as np
import numpy.typing as npt

from .bound import Worth
from .cover import cover
from .guard import Guard
from .knapsack import bundles
from .master import Column, Verdict, choose_whole
from .problem import NEW_BAR, CuttingProblem, Packing, Pattern

Settled = Verdict | Literal["proved"]
"""Outcome of the exact search."""

COVER_STEPS: Final = 400_000
"""Patterns to look at when trying them all; a second or less."""

TABLE_BYTES: Final = 100_000_000
"""No listing where the table of best values by length and capacity would be larger."""


def search(
    problem: CuttingProblem, worth: Worth, *, bars: int, most_patterns: int, most_nodes: int, guard: Guard
) -> tuple[Settled, Packing]:
    """Looks for an answer with so many fresh bars among all patterns that one could have.

    Args:
        problem: what to cut.
        worth: sharp prices, from a relaxation solved to the end.
        bars: fresh bars wanted.
        most_patterns: gives up where more patterns come into question.
        most_nodes: nodes of the search tree at most.
        guard: outer limit.
    Returns: ``found`` and the answer; ``proved`` where whole-number arithmetic shows that there is none;
        ``none`` where the solver says so, which computes with rounding; else ``unsettled``.
    """
    loss = bars * worth.most - worth.total
    if loss < 0:
        return "proved", ()
    guard.spend(len(problem.weights) * problem.capacity * 20)
    columns = candidate_columns(problem, worth, loss=loss, most_patterns=most_patterns)
    if columns is None or guard.expired():
        return "unsettled", ()
    fulls = (*worth.offcuts_most, worth.most)  # the last one answers to NEW_BAR, which is -1
    losses = [
        fulls[stock] - sum(worth.prices[index] * count for index, count in pattern)
        for stock, pattern in columns
    ]
    tried, packing = cover(problem, columns, losses, loss=loss, bars=bars, most_steps=COVER_STEPS)
    guard.spend(COVER_STEPS * 300)
    if tried != "unsettled":
        return ("proved" if tried == "none" else "found"), packing
    return choose_whole(problem, columns, bars=bars, most_nodes=most_nodes, guard=guard)


def candidate_columns(
    problem: CuttingProblem, worth: Worth, *, loss: int, most_patterns: int
) -> list[Column] | None:
    """Every pattern that loses no more than ``loss`` of its stock's full worth; None where too many."""
    longest = max([problem.capacity, *(offcut.capacity for offcut in problem.offcuts)])
    if (len(problem.weights) + 1) * (longest + 1) * 8 > TABLE_BYTES:
        return None
    table = _best_values(problem, worth.prices, longest)
    columns: list[Column] = []
    fulls = (worth.most, *worth.offcuts_most)
    for stock, full in zip(range(NEW_BAR, len(problem.offcuts)), fulls, strict=True):
        found = _patterns_worth(
            problem,
            worth.prices,
            table,
            capacity=problem.capacity_of(stock),
            least=full - loss,
            most_patterns=most_patterns - len(columns),
        )
        if found is None:
            return None
        columns += [(stock, pattern) for pattern in found if pattern]
    return columns


def _best_values(problem: CuttingProblem, prices: Sequence[int], longest: int) -> npt.NDArray[np.int64]:
    """Row j, column c: the greatest price of pieces of the lengths from index j on that fit c."""
    lengths = len(problem.weights)
    table = np.zeros((lengths + 1, longest + 1), np.int64)
    for index in reversed(range(lengths)):
        row = table[index]
        row[:] = table[index + 1]
        one = slice(index, index + 1)
        for _, _, weight, price in bundles(problem.weights[one], problem.demands[one], prices[one], longest):
            np.maximum(row[weight:], row[:-weight] + price, out=row[weight:])
    return table


def _patterns_worth(
    problem: CuttingProblem,
    prices: Sequence[int],
    table: npt.NDArray[np.int64],
    *,
    capacity: int,
    least: int,
    most_patterns: int,
) -> list[Pattern] | None:
    """Every set of pieces that fits and is worth at least so much, grown length by length.

    Each partial pattern kept can still be completed to one that counts, so no more than the final
    number are ever held.
    """
    room = np.array([capacity], np.int64)
    worth = np.zeros(1, np.int64)
    steps: list[tuple[npt.NDArray[np.intp], npt.NDArray[np.int64]]] = []
    for index, (weight, demand) in enumerate(zip(problem.weights, problem.demands, strict=True)):
        parents, counts = [], []
        for count in range(min(demand, capacity // weight) + 1):
            fits = np.flatnonzero(room >= count * weight)
            rest = table[index + 1][room[fits] - count * weight]
            kept = fits[worth[fits] + count * prices[index] + rest >= least]
            parents.append(kept)
            counts.append(np.full(len(kept), count, np.int64))
        parent, chosen = np.concatenate(parents), np.concatenate(counts)
        if len(parent) > most_patterns:
            return None
        room = room[parent] - chosen * weight
        worth = worth[parent] + chosen * prices[index]
        steps.append((parent, chosen))
    return _read_back(steps, len(room))


def _read_back(
    steps: Sequence[tuple[npt.NDArray[np.intp], npt.NDArray[np.int64]]], number: int
) -> list[Pattern]:
    """The patterns at the ends of all chains of choices."""
    at = np.arange(number)
    patterns: list[list[tuple[int, int]]] = [[] for _ in range(number)]
    for index in reversed(range(len(steps))):
        parent, chosen = steps[index]
        counts = chosen[at]
        for pattern in np.flatnonzero(counts):
            patterns[pattern].append((index, int(counts[pattern])))
        at = parent[at]
    return [tuple(reversed(pattern)) for pattern in patterns]
