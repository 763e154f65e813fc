"""Cutting-stock lists whose fewest bars are known, each with its own proof.

The proofs do not lean on the planner: a bound comes from prices that are checked against every pattern
there is, listed by brute force (linear-programming duality, Gilmore and Gomory, Operations Research 9,
1961), and an answer is checked by adding up its bars.

Sources of the lists:

- V. Chvatal, Linear Programming, Freeman 1983, chapter 13: raws of 100 in, finals of 45, 36, 31 and 14
  in; the relaxation is 452.25 (from memory; the data compared with a public solver's model gallery).
- The paper-machine example of the encyclopaedia article "Cutting stock problem": rolls of 5600 mm, 13
  widths, 308 patterns, 73 rolls.
- W. L. Winston, Operations Research: boards of 17 ft into 9, 5 and 3 ft (from memory); 19 boards.
- J. Nitsche, G. Scheithauer, J. Terno, Mathematical Methods of Operations Research 50, 1999: capacity 132,
  lengths 44, 33, 12; the relaxation over all patterns is below 2 and three bars are needed (from memory;
  proved here by listing).
- D. S. Johnson and others, SIAM Journal on Computing 3, 1974: the family on which first-fit decreasing
  needs 11 bars for every 9 (from memory; proved here by adding up).
- The class of triplets of E. Falkenauer, Journal of Heuristics 2, 1996, by our own generator: full bars
  by construction.
"""

from collections import Counter
from collections.abc import Iterator, Sequence
from fractions import Fraction

import pytest

from sawready.calc.nesting.first_fit import first_fit_decreasing
from sawready.calc.nesting.guard import Guard
from sawready.calc.nesting.problem import CuttingProblem, Packing, new_bars
from sawready.calc.nesting.solve import solve
from window_lists import triplets

CHVATAL = CuttingProblem((45, 36, 31, 14), (97, 610, 395, 211), 100)
PAPER = CuttingProblem(
    (2200, 2150, 2140, 2100, 2050, 2000, 1930, 1880, 1820, 1710, 1560, 1520, 1380),
    (20, 18, 16, 14, 12, 10, 20, 18, 18, 14, 12, 25, 22),
    5600,
)
BOARDS = CuttingProblem((9, 5, 3), (15, 20, 25), 17)


def all_patterns(lengths: Sequence[int], room: int) -> Iterator[tuple[int, ...]]:
    """Every way to cut a bar, by how many of each length."""
    if not lengths:
        yield ()
        return
    for count in range(room // lengths[0] + 1):
        for rest in all_patterns(lengths[1:], room - count * lengths[0]):
            yield (count, *rest)


def is_right(problem: CuttingProblem, packing: Packing) -> bool:
    """Whether every piece is cut once and no bar is over its length."""
    cut: Counter[int] = Counter()
    for fill in packing:
        if sum(problem.weights[index] * count for index, count in fill.pattern) > problem.capacity:
            return False
        for index, count in fill.pattern:
            cut[index] += count * fill.times
    return cut == Counter(dict(enumerate(problem.demands)))


@pytest.mark.parametrize(
    ("problem", "prices", "patterns", "bars"),
    [
        pytest.param(CHVATAL, ("1/2", "1/2", "1/4", "0"), 37, 453, id="Chvatal"),
        pytest.param(
            PAPER,
            tuple(f"{part}/72" for part in (28, 28, 28, 27, 26, 26, 24, 24, 24, 22, 20, 20, 18)),
            308,
            73,
            id="paper machine",
        ),
        pytest.param(BOARDS, ("1/2", "1/3", "1/6"), 19, 19, id="Winston"),
    ],
)
def test_reaches_the_known_optimum_of_textbook_lists(
    problem: CuttingProblem, prices: tuple[str, ...], patterns: int, bars: int
) -> None:
    """The planner needs as many bars as the source says, and prices prove that fewer cannot do."""
    exact = [Fraction(price) for price in prices]
    every = [pattern for pattern in all_patterns(problem.weights, problem.capacity) if any(pattern)]
    assert len(every) == patterns
    dearest = max(sum(p * n for p, n in zip(exact, pattern, strict=True)) for pattern in every)
    assert dearest <= 1
    assert sum(p * d for p, d in zip(exact, problem.demands, strict=True)) > bars - 1
    solved = solve(problem, guard=Guard())
    assert is_right(problem, solved.packing)
    assert (solved.bars, solved.bound) == (bars, bars)


def test_knows_that_a_bar_cannot_hold_more_pieces_than_are_asked_for() -> None:
    """Three bars although the pieces would fill less than two: counts bound every pattern."""
    problem = CuttingProblem((44, 33, 12), (2, 3, 6), 132)
    proper = [
        pattern
        for pattern in all_patterns(problem.weights, problem.capacity)
        if all(n <= d for n, d in zip(pattern, problem.demands, strict=True))
    ]
    fullest = max(sum(w * n for w, n in zip(problem.weights, pattern, strict=True)) for pattern in proper)
    assert problem.material < 2 * problem.capacity
    assert problem.material > 2 * fullest
    solved = solve(problem, guard=Guard())
    assert (solved.bars, solved.bound) == (3, 3)


@pytest.mark.parametrize("family", [1, 2, 5])
def test_beats_first_fit_where_first_fit_is_worst(family: int) -> None:
    """Two kinds of full bars hold everything in 9 bars a family; first fit takes 11."""
    problem = CuttingProblem((51, 27, 26, 23), (6 * family, 6 * family, 6 * family, 12 * family), 100)
    assert 51 + 26 + 23 == 100
    assert 2 * 27 + 2 * 23 == 100
    assert problem.material == 9 * family * 100
    assert new_bars(first_fit_decreasing(problem)) == 11 * family
    assert solve(problem, guard=Guard()).bars == 9 * family


@pytest.mark.parametrize(("bars", "seed"), [(20, 0), (20, 1), (40, 0), (40, 1), (83, 0), (167, 0)])
def test_fills_triplets_without_a_rest(bars: int, seed: int) -> None:
    """Three pieces a bar and nothing left over: the planner finds such an answer again."""
    demand = triplets(seed=seed, bars=bars).demand
    problem = CuttingProblem(tuple(demand), tuple(demand.values()), 1000)
    solved = solve(problem, guard=Guard())
    assert is_right(problem, solved.packing)
    assert (solved.bars, solved.bound) == (bars, bars)
