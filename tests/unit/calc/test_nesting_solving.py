"""Solving a list: relaxation, dives, exact search, limits, and what is proved."""

import itertools

import pytest

from nesting_checks import fewest_bars, packing_faults, problem_of, rack_of, random_problem, single_pieces
from sawready.calc.nesting import dive, exact, master
from sawready.calc.nesting import solve as solving
from sawready.calc.nesting.bound import material_bound, worth_of
from sawready.calc.nesting.columns import relax
from sawready.calc.nesting.cover import cover
from sawready.calc.nesting.first_fit import first_fit_decreasing
from sawready.calc.nesting.guard import Guard
from sawready.calc.nesting.master import choose_whole
from sawready.calc.nesting.problem import (
    NEW_BAR,
    CuttingProblem,
    Fill,
    Offcut,
    new_bars,
)
from sawready.calc.nesting.solve import Effort, prove, solve
from window_lists import narrow, triplets, uniform


@pytest.mark.parametrize("seed", range(120))
def test_solves_small_lists_to_the_optimum(seed: int) -> None:
    """Against trying everything, with and without old offcuts."""
    problem = random_problem(seed, most=10)
    solved = solve(problem, guard=Guard())
    assert not packing_faults(problem, solved.packing)
    assert solved.bars == fewest_bars(single_pieces(problem), problem.capacity, rack_of(problem))
    assert solved.bound <= solved.bars


ONE_MORE = CuttingProblem((15, 12, 10, 7, 6), (3, 3, 3, 3, 3), 30)
"""Needs one bar more than its relaxation, rounded up; found by trying random lists."""


def test_proves_the_bar_more_that_rounding_up_falls_short_of() -> None:
    """The relaxation says 5; the exact search proves 6 in whole numbers; trying everything agrees."""
    relaxed = relax(ONE_MORE, dive.homogeneous_columns(ONE_MORE), guard=Guard(), most_rounds=500)
    solved = solve(ONE_MORE, guard=Guard())
    assert relaxed.bound == 5
    assert (solved.bars, solved.bound, solved.searched) == (6, 6, False)
    assert fewest_bars(single_pieces(ONE_MORE), 30) == 6


def test_keeps_the_bound_where_only_a_search_with_rounding_says_that_there_is_no_better(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The solver's word is passed on, but not counted as proof."""
    monkeypatch.setattr(exact, "COVER_STEPS", 0)
    solved = solve(ONE_MORE, guard=Guard())
    assert (solved.bars, solved.bound, solved.searched) == (6, 5, True)


@pytest.mark.parametrize("seed", range(60))
def test_trying_all_patterns_settles_what_it_says(seed: int) -> None:
    """With all patterns and no limit on loss: the fewest bars are found, and one less is refuted."""
    problem = random_problem(seed, most=8)
    worth = worth_of(problem, problem.weights, lambda capacity: capacity)
    every = exact.candidate_columns(problem, worth, loss=10**9, most_patterns=100_000)
    assert every is not None
    fewest = fewest_bars(single_pieces(problem), problem.capacity, rack_of(problem))
    losses = [problem.capacity_of(stock) - problem.weight_of(pattern) for stock, pattern in every]
    found, packing = cover(problem, every, losses, loss=10**9, bars=fewest, most_steps=10**6)
    assert found == "found"
    assert not packing_faults(problem, packing)
    assert new_bars(packing) <= fewest
    if fewest:
        less = cover(problem, every, losses, loss=10**9, bars=fewest - 1, most_steps=10**6)
        assert less == ("none", ())


def test_trying_all_patterns_gives_up_in_time() -> None:
    """Steps are counted, and long lists are not begun."""
    columns = [(NEW_BAR, ((0, 1),))]
    long = CuttingProblem((5,), (400,), 10)
    assert cover(long, columns, [0], loss=0, bars=9, most_steps=10**6)[0] == "unsettled"
    short = CuttingProblem((5,), (4,), 10)
    assert cover(short, columns, [0], loss=0, bars=9, most_steps=2)[0] == "unsettled"


def test_heavy_methods_reach_what_the_quick_ones_miss() -> None:
    """Narrow lengths are hard for the quick methods; the bound proves the answer."""
    demand = narrow(seed=2, pieces=100).demand
    problem = CuttingProblem(tuple(demand), tuple(demand.values()), 1000)
    solved = solve(problem, guard=Guard())
    assert solved.method == "column generation"
    assert solved.bars == solved.bound
    assert solved.bars < new_bars(first_fit_decreasing(problem))


def test_without_the_extra_libraries_the_quick_methods_answer(monkeypatch: pytest.MonkeyPatch) -> None:
    """Numpy and HiGHS are an extra; without them the plan is right and its bound weaker."""
    monkeypatch.setattr(solving, "HEAVY_METHODS", False)
    demand = narrow(seed=2, pieces=100).demand
    problem = CuttingProblem(tuple(demand), tuple(demand.values()), 1000)
    solved = solve(problem, guard=Guard())
    assert not packing_faults(problem, solved.packing)
    assert solved.bound <= solved.bars
    assert solved.method in {"first-fit", "best-fit", "bar by bar"}
    assert prove(problem, bars=99, guard=Guard()) == material_bound(problem)


def test_a_work_limit_stops_at_the_same_point_and_says_so() -> None:
    """Work is counted, so the answer under a limit is the same each time."""
    demand = triplets(seed=5, bars=60).demand
    problem = CuttingProblem(tuple(demand), tuple(demand.values()), 1000)
    answers = []
    for _ in range(2):
        guard = Guard(work=30_000_000)
        answers.append(solve(problem, guard=guard).packing)
        assert guard.stopped_by == "work"
    assert answers[0] == answers[1]
    assert not packing_faults(problem, answers[0])


def test_a_clock_that_has_run_out_leaves_first_fit() -> None:
    """With no time at all there is still a whole answer."""
    demand = narrow(seed=2, pieces=100).demand
    problem = CuttingProblem(tuple(demand), tuple(demand.values()), 1000)
    guard = Guard(0)
    solved = solve(problem, guard=guard)
    assert solved.method == "first-fit"
    assert guard.stopped_by == "time"
    assert guard.left_s == 0


def test_a_guard_refuses_limits_below_zero() -> None:
    """A limit below zero is a slip."""
    with pytest.raises(ValueError, match="below zero"):
        Guard(-1)
    with pytest.raises(ValueError, match="below zero"):
        Guard(work=-1)
    assert Guard().left_s is None
    part = Guard(60).share(5)
    part.spend(6)
    assert part.expired()
    assert part.stopped_by == "work"


def test_the_exact_search_lists_every_pattern_that_an_answer_could_use() -> None:
    """All patterns of a small list that lose no more than allowed, against trying every count."""
    problem = problem_of([70, 50, 50, 40, 30, 30, 20, 10], 100, {60: 1})
    prices = tuple(problem.weights)
    worth = worth_of(problem, prices, lambda capacity: capacity)
    columns = exact.candidate_columns(problem, worth, loss=10, most_patterns=100)
    every = itertools.product(*(range(demand + 1) for demand in problem.demands))
    expected = {
        (stock, tuple((index, n) for index, n in enumerate(counts) if n))
        for counts in every
        for stock, room in ((NEW_BAR, 100), (0, 60))
        if room - 10 <= sum(w * n for w, n in zip(problem.weights, counts, strict=True)) <= room
    }
    assert columns is not None
    assert set(columns) == expected
    assert len(columns) == len(expected)
    assert exact.candidate_columns(problem, worth, loss=10, most_patterns=3) is None


def test_the_exact_search_gives_up_on_long_bars(monkeypatch: pytest.MonkeyPatch) -> None:
    """A table that would not fit into memory is not begun."""
    problem = problem_of([70, 50, 50], 100)
    worth = worth_of(problem, problem.weights, lambda capacity: capacity)
    monkeypatch.setattr(exact, "TABLE_BYTES", 100)
    verdict, _ = exact.search(problem, worth, bars=2, most_patterns=99, most_nodes=9, guard=Guard())
    assert verdict == "unsettled"


def test_the_exact_search_settles_small_lists_both_ways() -> None:
    """Two bars are found where two do, and surely not where three are needed."""
    fits = problem_of([60, 60, 40, 40], 100)
    worth = worth_of(fits, fits.weights, lambda capacity: capacity)
    verdict, packing = exact.search(fits, worth, bars=2, most_patterns=99, most_nodes=9, guard=Guard())
    assert verdict == "found"
    assert not packing_faults(fits, packing)
    assert exact.search(fits, worth, bars=1, most_patterns=99, most_nodes=9, guard=Guard())[0] == "proved"
    no = problem_of([60, 60, 41, 39], 100)
    worth = worth_of(no, no.weights, lambda capacity: capacity)
    assert exact.search(no, worth, bars=2, most_patterns=99, most_nodes=9, guard=Guard())[0] == "proved"
    assert exact.search(no, worth, bars=2, most_patterns=99, most_nodes=9, guard=Guard(0))[0] == "unsettled"


def test_choosing_among_patterns_stops_with_its_time() -> None:
    """With no time left nothing is claimed."""
    demand = triplets(seed=1, bars=40).demand
    problem = CuttingProblem(tuple(demand), tuple(demand.values()), 1000)
    columns = [(NEW_BAR, pattern) for stock, pattern in dive.homogeneous_columns(problem)]
    guard = Guard(0)
    assert choose_whole(problem, columns, bars=40, most_nodes=1, guard=guard)[0] in {"none", "unsettled"}


def test_a_relaxation_can_be_cut_short() -> None:
    """One round proves something already, and no more than is true."""
    demand = uniform(seed=1, pieces=120).demand
    problem = CuttingProblem(tuple(demand), tuple(demand.values()), 150)
    start = dive.homogeneous_columns(problem)
    once = relax(problem, start, guard=Guard(), most_rounds=1)
    fully = relax(problem, start, guard=Guard(), most_rounds=500)
    sharp = relax(problem, start, guard=Guard(), most_rounds=500, thorough=True)
    assert once.rounds == 1
    assert once.bound <= fully.bound <= sharp.bound
    assert relax(problem, start, guard=Guard(0), most_rounds=500).bound == 0
    assert relax(problem, start, guard=Guard(), most_rounds=500, enough=1).bound >= 1


def test_what_is_left_after_some_bars_keeps_its_place_in_the_whole() -> None:
    """Indices of the rest lead back to the lengths and offcuts of the whole."""
    problem = problem_of([50, 40, 40, 30, 20], 100, {60: 1, 45: 2})
    left = dive.residual(problem, [Fill(NEW_BAR, ((0, 1), (1, 1))), Fill(0, ((2, 1), (3, 1)))])
    assert left.problem.weights == (40,)
    assert left.problem.offcuts == (Offcut(45, 2),)
    assert left.outward([Fill(0, ((0, 1),))]) == [Fill(1, ((1, 1),))]
    assert left.inward([(1, ((1, 1),)), (0, ((1, 1),)), (NEW_BAR, ((1, 2),)), (NEW_BAR, ((0, 1),))]) == [
        (0, ((0, 1),))
    ]


def test_effort_bounds_the_dives() -> None:
    """No dive, no search: what the relaxation starts from is the answer."""
    demand = triplets(seed=2, bars=40).demand
    problem = CuttingProblem(tuple(demand), tuple(demand.values()), 1000)
    lazy = solve(problem, guard=Guard(), effort=Effort(stages=()))
    assert lazy.bound == 40
    assert lazy.bars > 40
    assert solve(problem, guard=Guard(), enough=lazy.bars).bars <= lazy.bars


def test_the_same_list_gives_the_same_answer() -> None:
    """Twice, through dives with shaken choices."""
    demand = triplets(seed=4, bars=83).demand
    problem = CuttingProblem(tuple(demand), tuple(demand.values()), 1000)
    assert solve(problem, guard=Guard()).packing == solve(problem, guard=Guard()).packing


def test_a_solver_that_gives_up_leaves_a_right_answer(monkeypatch: pytest.MonkeyPatch) -> None:
    """The quick methods' answer stands, and it is said."""

    def gives_up(_: master.Master) -> None:
        raise master.SolverFailedError("kUnknown")

    monkeypatch.setattr(master.Master, "solve", gives_up)
    demand = narrow(seed=2, pieces=100).demand
    problem = CuttingProblem(tuple(demand), tuple(demand.values()), 1000)
    solved = solve(problem, guard=Guard())
    assert solved.has_failed
    assert not packing_faults(problem, solved.packing)
    assert prove(problem, bars=99, guard=Guard()) == material_bound(problem)


def test_a_program_without_solution_is_no_answer() -> None:
    """A length that no pattern covers makes the linear program infeasible, and that is told."""
    program = master.Master(CuttingProblem((5, 4), (1, 1), 10))
    program.add([(NEW_BAR, ((0, 1),))])
    with pytest.raises(master.SolverFailedError, match="kInfeasible"):
        program.solve()


def test_whole_numbers_of_given_patterns_are_found() -> None:
    """Two kinds of full bars, once each; with less bars there is none."""
    problem = CuttingProblem((60, 50, 40), (1, 2, 1), 100, (Offcut(60, 1),))
    columns = [(NEW_BAR, ((0, 1), (2, 1))), (NEW_BAR, ((1, 2),)), (0, ((0, 1),)), (NEW_BAR, ((2, 1),))]
    verdict, packing = choose_whole(problem, columns, bars=2, most_nodes=100, guard=Guard(60))
    assert verdict == "found"
    assert not packing_faults(problem, packing)
    assert new_bars(packing) == 2
    assert choose_whole(problem, columns, bars=1, most_nodes=100, guard=Guard())[0] == "none"
