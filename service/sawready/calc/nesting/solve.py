"""One list of lengths onto the fewest fresh bars: quick methods first, heavy ones where they fall short."""

import random
from contextlib import suppress
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Final

from .bound import halves_bound, material_bound
from .exact_fill import fill_in_turn, filling_work
from .first_fit import best_fit_decreasing, first_fit_decreasing
from .guard import Guard
from .problem import CuttingProblem, Packing, new_bars

if TYPE_CHECKING:
    from collections.abc import Callable

try:
    from . import columns as _columns
    from . import dive as _dive
    from . import exact as _exact
    from . import master as _master
except ImportError:  # numpy or highspy is not installed: quick methods and their bounds only
    HEAVY_METHODS = False
else:
    HEAVY_METHODS = True


@dataclass(frozen=True, slots=True)
class Effort:
    """How much work to put in; counted in steps, so that it is the same on any machine.

    Attributes:
        rounds: pricings of the first relaxation.
        plain_dives: dives that do not search their rest exactly.
        stages: how many dives to make, then up to how many patterns to list in an exact search; in turn.
        nodes: nodes that an exact search may look at.
        search_lengths: no exact search for lists of more lengths than this.
    """

    rounds: int = 2000
    plain_dives: int = 4
    stages: tuple[tuple[int, int], ...] = ((4, 2000), (6, 12_000), (40, 0))
    nodes: int = 300
    search_lengths: int = 400


SHARES: Final = (0.12, 0.04, 0.0, 0.3)
"""How much of the remaining bars a dive fixes at once, in turn. Chosen on the measured lists."""


@dataclass(slots=True)
class Solved:
    """An answer and what is known about it.

    Attributes:
        packing: pieces on bars.
        bound: fewest fresh bars, proved in whole numbers.
        method: what found the answer.
        searched: the exact search found that the patterns allow no bar less; rests on floating point,
            so the bound does not count it.
        has_failed: the solver of the linear program gave up, so the answer may be one of the quick methods.
    """

    packing: Packing
    bound: int
    method: str
    searched: bool = False
    has_failed: bool = False

    @property
    def bars(self) -> int:
        """Fresh bars used."""
        return new_bars(self.packing)

    def offer(self, packing: Packing, method: str) -> None:
        """Takes a better answer."""
        if new_bars(packing) < self.bars:
            self.packing, self.method = packing, method


def solve(
    problem: CuttingProblem, *, guard: Guard, effort: Effort | None = None, enough: int | None = None
) -> Solved:
    """The fewest fresh bars that can be found, and the fewest that there can be.

    Args:
        problem: what to cut.
        guard: outer limit; the answer so far stands when it fires.
        effort: how much work to put in.
        enough: stop when the answer has so many fresh bars, or when that is proved impossible.
    """
    effort = effort or Effort()
    bound = max(material_bound(problem), halves_bound(problem))
    solved = Solved(first_fit_decreasing(problem), bound, "first-fit")
    starts = [solved.packing]
    quick: tuple[tuple[str, Callable[[CuttingProblem], Packing]], ...] = (
        ("best-fit", best_fit_decreasing),
        ("bar by bar", fill_in_turn),
        ("bar by bar", partial(fill_in_turn, spread=True)),
    )
    for method, answer in quick:
        if _is_done(solved, enough) or guard.expired():
            return solved
        starts.append(answer(problem))
        if method == "bar by bar":
            guard.spend(filling_work(problem, solved.bars))
        solved.offer(starts[-1], method)
    if HEAVY_METHODS and not _is_done(solved, enough) and not guard.expired():
        try:
            _improve(problem, solved, starts, guard=guard, effort=effort, enough=enough)
        except _master.SolverFailedError:
            solved.has_failed = True
    return solved


def _is_done(solved: Solved, enough: int | None) -> bool:
    """Whether the answer is proved best, is as good as asked for, or can be proved never to be."""
    if solved.bars <= solved.bound or solved.searched:
        return True
    return enough is not None and (solved.bars <= enough or solved.bound > enough)


def _improve(
    problem: CuttingProblem,
    solved: Solved,
    starts: list[Packing],
    *,
    guard: Guard,
    effort: Effort,
    enough: int | None,
) -> None:
    """Relaxation, dives, exact search, more dives, until the bound is met."""
    columns = [(fill.stock, fill.pattern) for packing in starts for fill in packing]
    columns += _dive.homogeneous_columns(problem)
    state = _columns.relax(problem, columns, guard=guard, most_rounds=effort.rounds)
    solved.bound = max(solved.bound, state.bound)
    chance = random.Random(1)  # noqa: S311 - the same shakes every time; nothing secret

    def dive_on(number: int) -> None:
        _dive.dive(
            problem,
            state.columns,
            state.amounts,
            share=SHARES[number % len(SHARES)],
            chance=chance if number else None,
            searching=number >= effort.plain_dives,
            best=solved.bars,
            target=solved.bound,
            guard=guard,
            found=lambda packing: solved.offer(packing, "column generation"),
        )

    done = 0
    for dives, most_patterns in effort.stages:
        for number in range(done, done + dives):
            if _is_done(solved, enough) or guard.expired():
                return
            dive_on(number)
        done += dives
        if most_patterns and not _is_done(solved, enough) and len(problem.weights) <= effort.search_lengths:
            _search(problem, solved, state, guard=guard, effort=effort, most_patterns=most_patterns)


def prove(problem: CuttingProblem, *, bars: int, guard: Guard) -> int:
    """The fewest fresh bars that there can be, without looking for an answer.

    Args:
        problem: what to cut.
        bars: more need not be proved.
        guard: outer limit; what is proved by then counts.
    """
    bound = max(material_bound(problem), halves_bound(problem))
    if bound < bars and HEAVY_METHODS and not guard.expired():
        columns = [(fill.stock, fill.pattern) for fill in first_fit_decreasing(problem)]
        columns += _dive.homogeneous_columns(problem)
        with suppress(_master.SolverFailedError):
            state = _columns.relax(problem, columns, guard=guard, most_rounds=Effort().rounds, enough=bars)
            bound = max(bound, state.bound)
    return bound


def _search(
    problem: CuttingProblem,
    solved: Solved,
    state: "_columns.Relaxation",
    *,
    guard: Guard,
    effort: Effort,
    most_patterns: int,
) -> None:
    """The exact search for one bar less, as long as it finds one."""
    while solved.bars > solved.bound and not guard.expired():
        sharp = _columns.relax(problem, state.columns, guard=guard, most_rounds=effort.rounds, thorough=True)
        solved.bound = max(solved.bound, sharp.bound)
        if solved.bars <= solved.bound or sharp.worth is None:
            return
        verdict, packing = _exact.search(
            problem,
            sharp.worth,
            bars=solved.bars - 1,
            most_patterns=most_patterns,
            most_nodes=effort.nodes,
            guard=guard,
        )
        if verdict == "proved":
            solved.bound = solved.bars
        solved.searched = verdict == "none"
        if verdict != "found":
            return
        solved.offer(packing, "exact search")
