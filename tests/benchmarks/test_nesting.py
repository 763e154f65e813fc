"""Speed and quality of bar plans, beside first-fit decreasing and a constraint solver.

Run on demand: ``pytest tests/benchmarks/test_nesting.py --benchmark-only``. The constraint solver
(OR-tools CP-SAT, one worker, 60 s) is skipped where it is not installed. Every plan that is timed is
also verified. Published instances are not in the project; ``CUTTING_STOCK_DIR`` may name a folder with
files in the usual form (number of lengths, bar length, then length and count a line) to solve as well.
"""

import os
import resource
from pathlib import Path
from typing import Any

import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from nesting_checks import MM, faults_of, packing_faults
from sawready.calc.nesting import BarStock, Piece, Plan, Saw, plan_bars
from sawready.calc.nesting.first_fit import first_fit_decreasing
from sawready.calc.nesting.guard import Guard
from sawready.calc.nesting.problem import CuttingProblem, new_bars
from sawready.calc.nesting.solve import solve
from window_lists import PieceList, window_lists

SAW = Saw(kerf_nm=4 * MM, trim_nm=20 * MM, keep_nm=500 * MM, scrap_nm=100 * MM)
STOCK = {"bar": BarStock(6000 * MM)}
CP_SAT_S = 60.0


def one_list(part: str, *, windows: int, step_mm: int, seed: int = 1) -> PieceList:
    """One list of a job in one colour."""
    (found,) = [
        each
        for each in window_lists(seed=seed, windows=windows, colours=1, step_mm=step_mm)
        if each.name.startswith(part)
    ]
    return found


def pieces_of(of: PieceList) -> list[Piece]:
    """The list as pieces."""
    return [Piece("bar", length * MM, count, at=f"/{length}") for length, count in of.demand.items()]


def problem_of(of: PieceList) -> CuttingProblem:
    """The list as a bare problem: kerf on every piece, trim off the bar."""
    lengths = sorted(of.demand, reverse=True)
    return CuttingProblem(
        tuple(length + 4 for length in lengths), tuple(of.demand[length] for length in lengths), 5984
    )


TIMED = [
    pytest.param("frame", 50, 10, 5, id="200 pieces"),
    pytest.param("frame", 500, 10, 5, id="2000 pieces"),
    pytest.param("frame", 500, 1, 5, id="2000 pieces, every millimetre"),
    pytest.param("frame", 2500, 1, 1, id="10 000 pieces on some 1200 lengths"),
    pytest.param("bead", 2500, 1, 1, id="18 000 pieces on some 1300 lengths"),
    pytest.param("frame", 5000, 5, 1, id="20 000 pieces on some 400 lengths"),
]


@pytest.mark.parametrize(("part", "windows", "step_mm", "rounds"), TIMED)
def test_plan_a_list(benchmark: BenchmarkFixture, part: str, windows: int, step_mm: int, rounds: int) -> None:
    """From pieces to a plan with leftovers gathered."""
    pieces = pieces_of(one_list(part, windows=windows, step_mm=step_mm))

    def run() -> Plan:
        return plan_bars(pieces, stock=STOCK, saw=SAW)

    plan = benchmark.pedantic(run, rounds=rounds, warmup_rounds=1 if rounds > 1 else 0)
    (each,) = plan.profiles
    benchmark.extra_info.update(
        pieces=each.pieces,
        lengths=len(pieces),
        bars=each.new_bars,
        bound=each.bound,
        peak_mb=round(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024),
    )
    assert each.gap <= 1
    assert not faults_of(plan, pieces, stock=STOCK, saw=SAW)


@pytest.mark.parametrize("tenths", [False, True], ids=["whole millimetres", "tenths"])
def test_plan_tenths(benchmark: BenchmarkFixture, tenths: bool) -> None:
    """The same list with one length off the millimetre: ten times as fine."""
    pieces = pieces_of(one_list("frame", windows=500, step_mm=1))
    if tenths:
        pieces = [
            Piece("bar", piece.length_nm + (number % 7) * 100_000, piece.quantity)
            for number, piece in enumerate(pieces)
        ]
    plan = benchmark.pedantic(lambda: plan_bars(pieces, stock=STOCK, saw=SAW), rounds=1)
    benchmark.extra_info.update(bars=plan.profiles[0].new_bars, bound=plan.profiles[0].bound)
    assert plan.profiles[0].gap <= 1


BESIDE = [
    pytest.param("frame", 50, 2, id="50 windows, frame"),
    pytest.param("mullion", 50, 2, id="50 windows, mullion"),
    pytest.param("sash", 50, 4, id="50 windows, sash"),
    pytest.param("mullion", 500, 2, id="500 windows, mullion"),
    pytest.param("frame", 500, 2, id="500 windows, frame"),
]
"""Lists on which first fit takes at least a bar too many."""


@pytest.mark.parametrize(("part", "windows", "seed"), BESIDE)
def test_never_more_bars_than_a_constraint_solver(
    benchmark: BenchmarkFixture, part: str, windows: int, seed: int
) -> None:
    """The planner, first fit and CP-SAT on one list, one core each."""
    model = pytest.importorskip("ortools.sat.python.cp_model")
    problem = problem_of(one_list(part, windows=windows, step_mm=10, seed=seed))
    ours = benchmark.pedantic(lambda: solve(problem, guard=Guard()), rounds=1)
    first = new_bars(first_fit_decreasing(problem))
    theirs, proved = _cp_sat(model, problem)
    benchmark.extra_info.update(
        ours=ours.bars, bound=ours.bound, first_fit=first, cp_sat=theirs, cp_sat_proved=proved
    )
    assert not packing_faults(problem, ours.packing)
    assert ours.bars <= (first if theirs is None else min(first, theirs))


def _cp_sat(model: Any, problem: CuttingProblem) -> tuple[int | None, bool]:
    """Bars that CP-SAT finds with first fit as its hint, None for none; whether it proves them."""
    hint = [dict(fill.pattern) for fill in first_fit_decreasing(problem) for _ in range(fill.times)]
    build = model.CpModel()
    used = [build.NewBoolVar("") for _ in hint]
    rows: list[list[Any]] = []
    for index, (weight, demand) in enumerate(zip(problem.weights, problem.demands, strict=True)):
        most = min(demand, problem.capacity // weight)
        row = [build.NewIntVar(0, most, "") for _ in hint]
        build.Add(sum(row) == demand)
        for variable, bar in zip(row, hint, strict=True):
            build.AddHint(variable, bar.get(index, 0))
        rows.append(row)
    for bar, open_bar in enumerate(used):
        filled = sum(weight * row[bar] for weight, row in zip(problem.weights, rows, strict=True))
        build.Add(filled <= problem.capacity * open_bar)
        build.AddHint(open_bar, 1)
        if bar:
            build.AddImplication(open_bar, used[bar - 1])
    build.Add(sum(used) * problem.capacity >= problem.material)
    build.Minimize(sum(used))
    solver = model.CpSolver()
    solver.parameters.max_time_in_seconds = CP_SAT_S
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 1
    status = solver.Solve(build)
    if status not in {model.OPTIMAL, model.FEASIBLE}:
        return None, False
    return round(solver.ObjectiveValue()), status == model.OPTIMAL


def _instances() -> list[Path]:
    folder = os.environ.get("CUTTING_STOCK_DIR")
    return sorted(Path(folder).rglob("*.txt")) if folder else []


@pytest.mark.parametrize("path", _instances(), ids=lambda path: path.stem)
def test_solve_a_published_instance(benchmark: BenchmarkFixture, path: Path) -> None:
    """Bars and bound are noted; compare them with the published optimum."""
    numbers = [int(word) for word in path.read_text(encoding="utf-8").split()]
    demand: dict[int, int] = {}
    for length, count in zip(numbers[2::2], numbers[3::2], strict=True):
        demand[length] = demand.get(length, 0) + count
    lengths = sorted(demand, reverse=True)
    problem = CuttingProblem(tuple(lengths), tuple(demand[length] for length in lengths), numbers[1])
    solved = benchmark.pedantic(lambda: solve(problem, guard=Guard(30)), rounds=1)
    benchmark.extra_info.update(bars=solved.bars, bound=solved.bound, method=solved.method)
    assert not packing_faults(problem, solved.packing)
