"""The linear program over the patterns found so far, and the whole-number choice among given patterns."""

from collections.abc import Sequence
from typing import Any, Final, Literal

import highspy
import numpy as np
from highspy.highs import _Highs  # type: ignore[attr-defined]  # see _solver

from .guard import Guard
from .problem import NEW_BAR, CuttingProblem, Fill, Packing, Pattern, trimmed

Column = tuple[int, Pattern]
"""A stock index and what it is cut into."""

Verdict = Literal["found", "none", "unsettled"]
"""Outcome of a whole-number search: an answer, surely none among the patterns, or stopped before."""


class SolverFailedError(ArithmeticError):
    """The solver of the linear program gave up; whoever asked goes on with what is known."""


_SAME_EVERYWHERE: Final[tuple[tuple[str, bool | int | str], ...]] = (
    ("output_flag", False),
    ("threads", 1),
    ("parallel", "off"),
    ("random_seed", 1),
)
"""One thread and one seed, so that the same input takes the same path."""


TREE_FACTOR: Final = 6
"""How much more a simplex step costs inside a search tree, with all that goes on around it."""


def _solver() -> Any:
    """A quiet solver.

    The class meant for users writes a line to standard output when it is made, before it can be told
    not to; its base does not, and nothing more than the base is needed here.
    """
    solver = _Highs()
    for option, value in _SAME_EVERYWHERE:
        solver.setOptionValue(option, value)
    return solver


def _work(steps: int, columns: int, rows: int) -> int:
    """Units of the guard for so many simplex steps on a program of this size; fitted to measured times."""
    return (max(0, steps) + 20) * (100 * rows + 10 * columns + 5000)


def _add_rows(solver: Any, lower: Sequence[float], upper: Sequence[float]) -> None:
    """Adds rows without entries; columns bring their own."""
    starts, none = np.zeros(len(lower), np.int32), np.zeros(0, np.int32)
    solver.addRows(len(lower), np.array(lower), np.array(upper), 0, starts, none, np.zeros(0))


def _add_columns(
    solver: Any, problem: CuttingProblem, columns: Sequence[Column], *, bars_row: int | None = None
) -> None:
    """Adds a column a pattern: rows by length, then by offcut, then the row that counts fresh bars."""
    starts: list[int] = []
    rows: list[int] = []
    counts: list[float] = []
    costs = [1.0 if stock == NEW_BAR else 0.0 for stock, _ in columns]
    for stock, pattern in columns:
        starts.append(len(rows))
        for index, count in pattern:
            rows.append(index)
            counts.append(float(count))
        extra = bars_row if stock == NEW_BAR else len(problem.weights) + stock
        if extra is not None:
            rows.append(extra)
            counts.append(1.0)
    solver.addCols(
        len(columns),
        np.array(costs),
        np.zeros(len(columns)),
        np.full(len(columns), highspy.kHighsInf),
        len(rows),
        np.array(starts, np.int32),
        np.array(rows, np.int32),
        np.array(counts),
    )


class Master:
    """The linear program over the columns so far, kept warm in HiGHS.

    Attributes:
        work: what the last solution cost, in units of the guard.
    """

    def __init__(self, problem: CuttingProblem) -> None:
        """Sets up a row a length (cut at least so many) and a row an offcut (use at most so many)."""
        self._problem = problem
        self._solver = _solver()
        self._columns = 0
        self.work = 0
        self._solver.setOptionValue("presolve", "off")
        self._solver.setOptionValue("solver", "simplex")
        self._solver.setOptionValue("simplex_strategy", 4)  # primal: columns come, rows stay
        free = highspy.kHighsInf
        _add_rows(
            self._solver,
            [float(demand) for demand in problem.demands] + [-free] * len(problem.offcuts),
            [free] * len(problem.weights) + [float(offcut.quantity) for offcut in problem.offcuts],
        )

    def add(self, columns: Sequence[Column]) -> None:
        """Adds patterns."""
        self._columns += len(columns)
        if columns:
            _add_columns(self._solver, self._problem, columns)

    def solve(self) -> tuple[float, list[float], list[float], list[float]]:
        """Value, amount of each column, price of each length (>= 0), price of each offcut (<= 0).

        Raises: SolverFailedError where the solver does not reach the optimum.
        """
        self._solver.run()
        status = self._solver.getModelStatus()
        if status != highspy.HighsModelStatus.kOptimal:
            raise SolverFailedError(f"the linear program ended as {status.name}")
        solution = self._solver.getSolution()
        duals = list(solution.row_dual)
        lengths = [max(0.0, dual) for dual in duals[: len(self._problem.weights)]]
        offcuts = [min(0.0, dual) for dual in duals[len(self._problem.weights) :]]
        info = self._solver.getInfo()
        self.work = _work(info.simplex_iteration_count, self._columns, len(duals))
        value = float(info.objective_function_value)
        return value, list(solution.col_value), lengths, offcuts


def choose_whole(
    problem: CuttingProblem, columns: Sequence[Column], *, bars: int, most_nodes: int, guard: Guard
) -> tuple[Verdict, Packing]:
    """Whole numbers of the given patterns that cut exactly what is asked for from so many fresh bars.

    Args:
        problem: what to cut.
        columns: the only patterns to choose from.
        bars: fresh bars at most.
        most_nodes: nodes of the search tree at most.
        guard: its time left is handed on as outer limit.
    """
    solver = _solver()
    solver.setOptionValue("mip_max_nodes", most_nodes)
    if guard.left_s is not None:
        solver.setOptionValue("time_limit", guard.left_s)
    rows = [float(demand) for demand in problem.demands]
    none = [0.0] * len(problem.offcuts)
    _add_rows(
        solver,
        [*rows, *none, 0.0],
        [*rows, *(float(offcut.quantity) for offcut in problem.offcuts), float(bars)],
    )
    _add_columns(solver, problem, columns, bars_row=len(rows) + len(none))
    every = np.arange(len(columns), dtype=np.int32)
    whole = np.full(len(columns), highspy.HighsVarType.kInteger)
    solver.changeColsIntegrality(len(columns), every, whole)
    solver.run()
    info = solver.getInfo()
    steps = _work(info.simplex_iteration_count, len(columns), len(rows))
    guard.spend(TREE_FACTOR * steps + 10**6 * len(columns))
    guard.expired()
    status = solver.getModelStatus()
    if status == highspy.HighsModelStatus.kInfeasible:
        return "none", ()
    if info.primal_solution_status != highspy.SolutionStatus.kSolutionStatusFeasible:
        return "unsettled", ()
    amounts = [round(amount) for amount in solver.getSolution().col_value]
    fills = [
        Fill(stock, pattern, times) for (stock, pattern), times in zip(columns, amounts, strict=True) if times
    ]
    return "found", trimmed(problem, fills)
