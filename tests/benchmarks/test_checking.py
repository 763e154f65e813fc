"""Openings checked, one core, from the bytes of a sheet to lines of results with full cutting lists.

Beside it, in the same run and on the same sheet: a library that merely checks the types of its cells, one
that merely checks the shape of its records, and the plain csv reader. Times are processor time. Say the
figures as ratios:

    pytest tests/benchmarks/test_checking.py --benchmark-only --benchmark-columns=min,median,ops
"""

import csv
import io
import itertools
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from order_generator import COLUMNS, sheet
from sawready.batch.run import Batch
from sawready.batch.settings import RunSettings
from sawready.catalogue.load import Catalogue
from sawready.pipeline import CallerDefaults, check_order
from sawready.readers.orders import read_orders
from sawready.readers.raw import RawOrder
from sawready.report.as_json import result_bytes

OPENINGS = 10_000

NUMBERS = frozenset(
    name
    for name in COLUMNS
    if name.startswith(
        ("width_", "height_l", "height_m", "height_r", "diagonal_", "sill_h", "sill_p", "frame_")
    )
) | {"floor_to_sill", "set_back"}
WHOLE = frozenset({"quantity", "storey"})


@pytest.fixture(scope="module")
def data() -> bytes:
    return sheet(OPENINGS)


class Lines:
    """Takes the lines of a run, as standard output would."""

    wants_told = False

    def __init__(self) -> None:
        self.written = 0

    def write(self, lines: bytes, told: Any) -> None:  # noqa: ARG002 - called as the command calls it
        """Counts what comes."""
        self.written += len(lines)

    def close(self, tally: Any, changes: Any) -> None:
        """Nothing is held back."""


def whole_check(file: Path) -> int:
    """Everything that ``sawready check`` does: reading, sizes, rules, results as JSON with their digests."""
    lines = Lines()
    settings = RunSettings.of(CallerDefaults(), systems=(), rulebooks=(), column_map=None)
    Batch((str(file),), settings).run(lines, stdin=io.BytesIO(), stderr=io.StringIO())
    return lines.written


def one_by_one(data: bytes, catalogue: Catalogue) -> int:
    """The same order by order, as the service does it, nothing learnt from the rows before."""
    caller = CallerDefaults()
    written = 0
    for item in read_orders(io.BytesIO(data), kind="csv", source="benchmark"):
        if isinstance(item, RawOrder):
            result = check_order(item.data, catalogue=catalogue, caller=caller, problems=item.problems)
            written += len(result_bytes(result, cell_of=item.cell))
    return written


@pytest.fixture(scope="module")
def file(data: bytes, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("benchmark") / "orders.csv"
    path.write_bytes(data)
    return path


@pytest.mark.benchmark(group="openings of a sheet", timer=time.process_time)
def test_the_whole_check(benchmark: Callable[..., int], file: Path) -> None:
    assert benchmark(whole_check, file) > OPENINGS * 1000


@pytest.mark.benchmark(group="openings of a sheet", timer=time.process_time)
def test_the_whole_check_of_a_sheet_never_seen(benchmark: Any, file: Path, tmp_path: Path) -> None:
    """What a run meets overnight: kinds of windows that it has met, sizes that it has not."""
    seeds = itertools.count(2)
    assert whole_check(file) > OPENINGS * 1000

    def fresh() -> tuple[tuple[Path], dict[str, Any]]:
        path = tmp_path / "orders.csv"
        path.write_bytes(sheet(OPENINGS, seed=next(seeds)))
        return (path,), {}

    assert benchmark.pedantic(whole_check, setup=fresh, rounds=5) > OPENINGS * 1000


@pytest.mark.benchmark(group="openings of a sheet", timer=time.process_time)
def test_the_whole_check_order_by_order(
    benchmark: Callable[..., int], data: bytes, catalogue: Catalogue
) -> None:
    assert benchmark(one_by_one, data, catalogue) > OPENINGS * 1000


@pytest.mark.benchmark(group="openings of a sheet", timer=time.process_time)
def test_types_of_the_cells_alone(benchmark: Callable[..., Any], file: Path) -> None:
    """What a general validator of tables takes only to look at the type of each cell."""
    frictionless = pytest.importorskip("frictionless", reason="the extra 'bench' is not installed")
    kinds = dict.fromkeys(NUMBERS, "number") | dict.fromkeys(WHOLE, "integer") | {"survey_date": "date"}
    fields = [{"name": name, "type": kinds.get(name, "string")} for name in COLUMNS]
    schema = frictionless.Schema.from_descriptor({"fields": fields})

    def types() -> Any:
        with frictionless.system.use_context(trusted=True):
            return frictionless.Resource(path=str(file), schema=schema).validate()

    assert benchmark(types).stats["tasks"] == 1


@pytest.mark.benchmark(group="openings of a sheet", timer=time.process_time)
def test_shape_of_the_records_alone(benchmark: Callable[..., int], data: bytes) -> None:
    """What a compiled validator of records takes only to turn texts into numbers."""
    pydantic = pytest.importorskip("pydantic", reason="the extra 'bench' is not installed")
    kinds: dict[str, Any] = dict.fromkeys(NUMBERS, (float | None, None))
    kinds |= dict.fromkeys(WHOLE, (int | None, None))
    model = pydantic.create_model("Row", **{name: kinds.get(name, (str | None, None)) for name in COLUMNS})

    def shapes() -> int:
        good = 0
        for row in csv.DictReader(io.StringIO(data.decode())):
            try:
                model.model_validate({name: value for name, value in row.items() if value})
                good += 1
            except pydantic.ValidationError:
                pass
        return good

    assert benchmark(shapes) > OPENINGS * 0.9


@pytest.mark.benchmark(group="openings of a sheet", timer=time.process_time)
def test_reading_rows_alone(benchmark: Callable[..., int], data: bytes) -> None:
    """The floor: rows as dicts and nothing else."""
    assert benchmark(lambda: sum(1 for _ in csv.DictReader(io.StringIO(data.decode())))) == OPENINGS
