"""The bare methods: problems, filling, first fit, the knapsack, bounds."""

import itertools
import random

import numpy as np
import pytest

from nesting_checks import fewest_bars, packing_faults, problem_of, rack_of, random_problem, single_pieces
from sawready.calc.nesting import knapsack
from sawready.calc.nesting.bound import Worth, halves_bound, material_bound, worth_of
from sawready.calc.nesting.exact_fill import fill_in_turn, fullest
from sawready.calc.nesting.first_fit import best_fit_decreasing, first_fit_decreasing
from sawready.calc.nesting.guard import Guard
from sawready.calc.nesting.knapsack import PriceTable
from sawready.calc.nesting.problem import (
    NEW_BAR,
    CuttingProblem,
    Fill,
    trimmed,
)
from sawready.calc.nesting.solve import prove


@pytest.mark.parametrize(
    ("weights", "demands", "capacity", "said"),
    [
        ((5,), (1, 2), 10, "counts"),
        ((0,), (1,), 10, "above zero"),
        ((5,), (0,), 10, "above zero"),
        ((3, 5), (1, 1), 10, "fall"),
        ((5, 5), (1, 1), 10, "differ"),
        ((11,), (1,), 10, "over the capacity"),
    ],
)
def test_refuses_a_problem_that_is_none(
    weights: tuple[int, ...], demands: tuple[int, ...], capacity: int, said: str
) -> None:
    """Figures that the methods do not expect are named before they do harm."""
    with pytest.raises(ValueError, match=said):
        CuttingProblem(weights, demands, capacity)


def test_an_answer_that_cuts_too_much_is_brought_down_to_what_is_asked_for() -> None:
    """Covering patterns may cut a piece twice; the bars stay, the piece goes."""
    problem = CuttingProblem((6, 4), (1, 3), 10)
    packing = trimmed(problem, [Fill(NEW_BAR, ((0, 1), (1, 1)), 2), Fill(NEW_BAR, ((1, 2),))])
    assert not packing_faults(problem, packing)
    with pytest.raises(ValueError, match="1 pieces are on no bar"):
        trimmed(problem, [Fill(NEW_BAR, ((1, 2),), 2)])


@pytest.mark.parametrize("seed", range(40))
def test_fullest_finds_the_best_sum_and_says_how(seed: int) -> None:
    """Compared with trying every count."""
    rng = random.Random(seed)
    weights = sorted(rng.sample(range(3, 60), 5), reverse=True)
    left = [rng.randint(0, 3) for _ in weights]
    room = rng.randint(0, 120)
    over, counts = fullest(weights, left, room, range(5))
    sums = (
        sum(w * n for w, n in zip(weights, tried, strict=True))
        for tried in itertools.product(*(range(count + 1) for count in left))
    )
    assert over == room - max(total for total in sums if total <= room)
    assert sum(weights[index] * count for index, count in counts.items()) == room - over
    assert all(count <= left[index] for index, count in counts.items())


def test_fullest_prefers_what_comes_first() -> None:
    """Of two ways to fill a bar exactly it takes the one named first."""
    assert fullest([6, 5, 4], [1, 2, 1], 10, [0, 2, 1])[1] == {0: 1, 2: 1}
    assert fullest([6, 5, 4], [1, 2, 1], 10, [1, 0, 2])[1] == {1: 2}


@pytest.mark.parametrize("seed", range(60))
def test_quick_answers_are_right(seed: int) -> None:
    """Every quick method cuts every piece once, on nothing that is not there."""
    problem = random_problem(seed, most=14)
    for answer in (
        first_fit_decreasing(problem),
        best_fit_decreasing(problem),
        fill_in_turn(problem),
        fill_in_turn(problem, spread=True),
    ):
        assert not packing_faults(problem, answer)


def test_first_fit_takes_the_longest_piece_first_and_old_offcuts_before_bars() -> None:
    """7 and 3 go together, 6 takes the offcut, 5 and 5 share a bar."""
    problem = problem_of([7, 6, 5, 5, 3], 10, {6: 1})
    assert first_fit_decreasing(problem) == (
        Fill(0, ((1, 1),)),
        Fill(NEW_BAR, ((0, 1), (3, 1))),
        Fill(NEW_BAR, ((2, 2),)),
    )


@pytest.mark.parametrize("packed", [False, True])
@pytest.mark.parametrize("seed", range(25))
def test_knapsack_finds_the_dearest_pattern(seed: int, packed: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    """Compared with trying every count, for every capacity; bits and bytes give the same."""
    if packed:
        monkeypatch.setattr(knapsack, "PACK_ABOVE_BYTES", 0)
    rng = random.Random(seed)
    weights = sorted(rng.sample(range(3, 40), 4), reverse=True)
    demands = [rng.randint(1, 4) for _ in weights]
    prices = [
        rng.choice((0, rng.randint(1, 100), 2**33)) if seed % 5 == 0 else rng.randint(0, 100) for _ in weights
    ]
    table = PriceTable(weights, demands, prices, 60)
    tried = list(itertools.product(*(range(demand + 1) for demand in demands)))
    for capacity in range(61):
        best = max(
            sum(p * n for p, n in zip(prices, counts, strict=True))
            for counts in tried
            if sum(w * n for w, n in zip(weights, counts, strict=True)) <= capacity
        )
        pattern = table.pattern(capacity)
        assert table.value(capacity) == best
        assert sum(prices[index] * count for index, count in pattern) == best
        assert sum(weights[index] * count for index, count in pattern) <= capacity
        assert all(count <= demands[index] for index, count in pattern)


@pytest.mark.parametrize("seed", range(60))
def test_bounds_never_pass_the_fewest_bars(seed: int) -> None:
    """Every bound against the answer of trying everything."""
    problem = random_problem(seed)
    fewest = fewest_bars(single_pieces(problem), problem.capacity, rack_of(problem))
    assert material_bound(problem) <= fewest
    assert halves_bound(problem) <= fewest
    assert prove(problem, bars=fewest + 5, guard=Guard()) <= fewest


@pytest.mark.parametrize("seed", range(20))
def test_any_prices_give_a_bound_that_holds(seed: int) -> None:
    """Random prices prove little, but never too much."""
    rng = random.Random(seed)
    problem = random_problem(seed)
    prices = [rng.randint(0, 1000) for _ in problem.weights]
    longest = max([problem.capacity, *rack_of(problem)])
    table = PriceTable(problem.weights, problem.demands, prices, longest)
    fewest = fewest_bars(single_pieces(problem), problem.capacity, rack_of(problem))
    assert worth_of(problem, prices, table.value).bound <= fewest


def test_prices_are_compared_without_division() -> None:
    """A third proves more than 0.333."""
    third = Worth((1,), 3, (), 100)
    assert third > Worth((1,), 1000, (), 33_333)
    assert not Worth((1,), 1000, (), 33_333) > third
    assert Worth((0,), 0, (), 0).bound == 0


def test_halves_bound_counts_long_pieces_and_what_cannot_lie_beside_them() -> None:
    """Three of 60 need a bar each, and pieces of 45 find no room beside them."""
    assert halves_bound(problem_of([60, 60, 60, 45, 45], 100)) == 4
    assert material_bound(problem_of([60, 60, 60, 45, 45], 100)) == 3
    assert halves_bound(problem_of([60, 60], 100, {50: 1})) == 0
    assert halves_bound(CuttingProblem((), (), 100)) == material_bound(CuttingProblem((), (), 100)) == 0


def test_values_stay_exact_where_prices_are_large() -> None:
    """Sums beyond 32 bits are kept in 64."""
    table = PriceTable([3, 2], [2, 2], [2**40 + 1, 2**40], 10)
    assert table.value(10) == 4 * 2**40 + 2
    assert isinstance(table.value(10), int)
    assert np.iinfo(np.int32).max < table.value(10)
