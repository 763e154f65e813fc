"""Gathering what is left over, without ever taking a bar more."""

import pytest

from nesting_checks import packing_faults, problem_of, random_problem
from sawready.calc.nesting.first_fit import first_fit_decreasing
from sawready.calc.nesting.guard import Guard
from sawready.calc.nesting.leftovers import Limits, Rack, gather, merit
from sawready.calc.nesting.problem import (
    NEW_BAR,
    Fill,
    merged,
)
from sawready.calc.nesting.reserve import roomiest
from sawready.calc.nesting.solve import solve


@pytest.mark.parametrize("seed", range(40))
def test_gathering_keeps_the_bars_and_never_makes_it_worse(seed: int) -> None:
    """The same pieces on no more fresh bars, and no less in the longest leftover."""
    problem = random_problem(seed, most=14)
    limits = Limits(0, 2, problem.capacity // 4)
    before = solve(problem, guard=Guard()).packing
    after = roomiest(problem, before, limits, Guard())
    assert not packing_faults(problem, after)
    assert merit(problem, after, limits) <= merit(problem, before, limits)


def test_gathering_pours_small_rests_into_one() -> None:
    """Rests of 10 and 20 become one of 30: the 20 that is short of filling the first bar is on the second."""
    problem = problem_of([60, 30, 50, 20, 10], 100)
    packing = merged([Fill(NEW_BAR, ((1, 1), (3, 1))), Fill(NEW_BAR, ((0, 1), (2, 1), (4, 1)))])
    assert packing_faults(problem, packing) == []
    gathered = gather(problem, packing, Guard())
    rooms = sorted(100 - problem.weight_of(fill.pattern) for fill in gathered)
    assert rooms == [0, 30]


def test_gathering_uses_old_offcuts_that_were_left_alone() -> None:
    """A piece moves from the fresh bar to the rack, though no bar is saved by it."""
    problem = problem_of([50, 40], 100, {45: 1})
    gathered = gather(problem, (Fill(NEW_BAR, ((0, 1), (1, 1))),), Guard())
    assert gathered == (Fill(NEW_BAR, ((0, 1),)), Fill(0, ((1, 1),)))


def test_gathering_stops_with_its_guard() -> None:
    """What was there before stays."""
    problem = problem_of([60, 30, 50, 20, 10], 100)
    packing = first_fit_decreasing(problem)
    assert gather(problem, packing, Guard(0)) == packing
    limits = Limits(0, 2, 10)
    assert merit(problem, roomiest(problem, packing, limits, Guard(0)), limits) == merit(
        problem, packing, limits
    )


def test_nothing_is_poured_where_it_gains_nothing() -> None:
    """A bar stays as it is unless the other one ends with more room."""
    problem = problem_of([60, 40, 50], 100)
    rack = Rack(problem, (Fill(NEW_BAR, ((0, 1), (2, 1))), Fill(NEW_BAR, ((1, 1),))))
    assert not rack.pour([0], 1)
    assert rack.rooms == [0, 50]


def test_a_large_leftover_can_be_asked_for() -> None:
    """Of two bars with 30 left each, one ends with all of it where the pieces allow."""
    pieces = [35, 35, 25, 25, 10, 10]
    problem = problem_of(pieces, 100)
    limits = Limits(0, 5, 40)
    packing = (Fill(NEW_BAR, ((0, 1), (1, 1), (2, 1)), 2),)
    assert not packing_faults(problem, packing)
    better = roomiest(problem, packing, limits, Guard())
    assert merit(problem, better, limits)[3] == -55


def test_unusable_leftovers_count_before_the_longest_one() -> None:
    """Swarf counts as nothing; between swarf and keep is lost; the kerf comes off first."""
    limits = Limits(kerf=4, scrap=10, keep=50)
    assert [limits.is_unusable(room) for room in (0, 14, 15, 53, 54)] == [False, False, True, True, False]
    assert [limits.is_kept(room) for room in (53, 54)] == [False, True]
