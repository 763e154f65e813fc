"""Asking for one large leftover outright: a make-believe piece of its length goes into the list.

If the list with the make-believe piece still needs no more bars, the bar that holds it has a leftover
of at least that length. Halving the interval finds the longest for which this works.
"""

from dataclasses import replace
from typing import Final

from .exact_fill import fill_in_turn, fullest
from .guard import Guard
from .leftovers import Limits, gather, merit
from .problem import NEW_BAR, CuttingProblem, Fill, Packing, merged, new_bars
from .solve import Effort, solve

LIGHT: Final = Effort(rounds=300, stages=((2, 0),))
"""Work put into one question."""

TRIES: Final = 6
"""How many lengths to ask for at most."""

GOOD_ENOUGH: Final = (19, 20)
"""No more questions once the longest leftover holds this share of all the room."""


def roomiest(problem: CuttingProblem, packing: Packing, limits: Limits, guard: Guard) -> Packing:
    """The best answer with equally few bars that gathering and asking for a large leftover find.

    Args:
        problem: what to cut.
        packing: an answer.
        limits: what counts as a leftover.
        guard: limits the questions; what has been found by then counts.
    """
    best = gather(problem, packing, guard)
    bars = new_bars(best)
    others = [packing]
    if problem.offcuts:  # which of them are used, and how full, is still open
        others += [fill_in_turn(problem), fill_in_turn(problem, spread=True)]
        others += [gather(problem, other, guard) for other in others[1:]]
    best = min([best, *others], key=lambda other: merit(problem, other, limits))
    least, most = _longest(problem, best), _all_room(problem, best)
    most = min(most, problem.capacity - problem.weights[-1]) if problem.weights else 0
    goal = most
    for _ in range(TRIES):
        enough = least * GOOD_ENOUGH[1] >= most * GOOD_ENOUGH[0]
        if not bars or enough or not limits.is_kept(goal) or goal <= least or guard.expired():
            break
        answer = _with_leftover(problem, goal, bars, guard)
        if answer is None:
            most = goal - 1
        else:
            answer = gather(problem, answer, guard)
            if merit(problem, answer, limits) < merit(problem, best, limits):
                best = answer
            least = max(least, goal, _longest(problem, answer))
        goal = (least + most + 1) // 2
    return best


def _longest(problem: CuttingProblem, packing: Packing) -> int:
    """The most room on one fresh bar."""
    return max(
        (problem.capacity - problem.weight_of(fill.pattern) for fill in packing if fill.stock == NEW_BAR),
        default=0,
    )


def _all_room(problem: CuttingProblem, packing: Packing) -> int:
    """Room on all fresh bars that could be in one place: what no set of pieces can fill is left out."""
    over, _ = fullest(problem.weights, problem.demands, problem.capacity, range(len(problem.weights)))
    on_fresh = sum(problem.weight_of(fill.pattern) * fill.times for fill in packing if fill.stock == NEW_BAR)
    return new_bars(packing) * (problem.capacity - over) - on_fresh + over


def _with_leftover(problem: CuttingProblem, room: int, bars: int, guard: Guard) -> Packing | None:
    """An answer with so many bars, one of which has so much room; None where none was found."""
    if room in problem.weights:
        place = problem.weights.index(room)
        demands = list(problem.demands)
        demands[place] += 1
        asked = replace(problem, demands=tuple(demands))
        added = False
    else:
        place = sum(weight > room for weight in problem.weights)
        weights, demands = list(problem.weights), list(problem.demands)
        weights.insert(place, room)
        demands.insert(place, 1)
        asked = replace(problem, weights=tuple(weights), demands=tuple(demands))
        added = True
    solved = solve(asked, guard=guard, effort=LIGHT, enough=bars)
    if solved.bars > bars:
        return None
    return _without(solved.packing, place, added=added)


def _without(packing: Packing, place: int, *, added: bool) -> Packing:
    """The answer without one piece of an index; the index itself goes where it was added."""
    holders = [fill for fill in packing if any(index == place for index, _ in fill.pattern)]
    holder = min(holders, key=lambda fill: fill.stock)  # a fresh bar where there is one
    fills: list[Fill] = []
    for fill in packing:
        if fill is holder:
            less = tuple((index, count - (index == place)) for index, count in fill.pattern)
            fills.append(replace(fill, times=fill.times - 1))
            fills.append(replace(fill, pattern=tuple((i, count) for i, count in less if count), times=1))
        else:
            fills.append(fill)
    if added:
        fills = [
            replace(fill, pattern=tuple((index - (index > place), count) for index, count in fill.pattern))
            for fill in fills
        ]
    return merged(fills)
