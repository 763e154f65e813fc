"""What a worker does: one chunk in, its share of every output file out."""

import hashlib
import json
from dataclasses import dataclass, field
from typing import Final

import orjson

from sawready.batch.chunks import Chunk, Item
from sawready.batch.settings import RunSettings, program_digest
from sawready.batch.tally import FileCounts, Tally
from sawready.model.finding import Cell, Finding
from sawready.pipeline import OrderResult, check_order, check_rows
from sawready.readers.csv_plan import SheetOrder
from sawready.readers.raw import RawOrder, Unreadable
from sawready.report.as_csv import cutting_lines, finding_lines, glass_lines, order_line, unreadable_line
from sawready.report.as_json import CellOf, result_bytes, unreadable_bytes
from sawready.rules import intake
from sawready.version import VERSION

RESULTS: Final = "results.ndjson"
TABLES: Final = ("findings.csv", "cutting.csv", "glass.csv", "orders.csv")


@dataclass(frozen=True, slots=True)
class Told:
    """What is known of a result line without reading it again.

    Attributes:
        file: where its order came from.
        length: bytes of the line, its end included.
        is_read: False for what could not be read at all.
        reasons: the reason of each finding.
    """

    file: str
    length: int
    is_read: bool
    reasons: tuple[str, ...]


@dataclass(slots=True)
class Checked:
    """What came of a chunk.

    Attributes:
        number: the chunk's.
        outputs: bytes for each output file, whole lines; only the results where no tables are wanted.
        tally: its counts.
        told: about each result line in turn, where that is wanted.
        program: digest of the program that did the work.
    """

    number: int
    outputs: dict[str, bytes]
    tally: Tally
    told: list[Told] = field(default_factory=list)
    program: str = ""


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a run needs of each chunk besides its results.

    Attributes:
        tables: the tables of ``--out``.
        told: what each line is about, for a report to people.
    """

    tables: bool = False
    told: bool = False


def check_chunk(settings: RunSettings, chunk: Chunk, wanted: Wanted) -> Checked:
    """Checks everything in a chunk. The same in every process, and on every machine with the same program.

    Args:
        settings: what the orders are checked with.
        chunk: the work.
        wanted: what is needed besides results.
    """
    worker = _Worker(settings, wanted)
    for part in chunk.parts:
        counts = worker.tally.file(part.file, part.firm)
        for item in part.items(settings):
            worker.take(item, part.file, counts)
        worker.tally.add_skipped(part.skipped, counts)
    worker.tally.cut()
    return Checked(chunk.number, worker.outputs(), worker.tally, worker.told, program_digest())


class _Worker:
    """Collects the outputs of a chunk."""

    def __init__(self, settings: RunSettings, wanted: Wanted) -> None:
        self._settings = settings
        self._catalogue = settings.catalogue()
        self._wanted = wanted
        self._lines: list[bytes] = []
        self._tables: dict[str, list[str]] = {name: [] for name in TABLES}
        self._settings_keys: dict[tuple[str | None, str | None], str] = {}
        self.tally = Tally()
        self.told: list[Told] = []

    def outputs(self) -> dict[str, bytes]:
        """Bytes for each output file."""
        self._lines.append(b"")
        found = {RESULTS: b"\n".join(self._lines)}
        if self._wanted.tables:
            found |= {name: "".join(lines).encode() for name, lines in self._tables.items()}
        return found

    def take(self, item: Item, file: str, counts: FileCounts) -> None:
        """Checks an order, or keeps what was refused."""
        if isinstance(item, Unreadable):
            counts.read += 1
            self._refuse(item, file, counts)
            return
        result, cell_of, openings = self._checked(item)
        counts.read += openings
        line = result_bytes(result, cell_of=cell_of)
        self._lines.append(line)
        self.tally.add_order(result, counts, file=file, length=len(line) + 1)
        if self._wanted.told:
            reasons = [found.reason for opening in result.openings for found in opening.findings]
            self.told.append(Told(file, len(line) + 1, True, tuple(reasons)))
        if self._wanted.tables:
            tables = self._tables
            tables["findings.csv"].append(finding_lines(result, file=file, cell_of=cell_of))
            tables["cutting.csv"].append(cutting_lines(result))
            tables["glass.csv"].append(glass_lines(result))
            tables["orders.csv"].append(
                order_line(
                    file=file,
                    order_ref=result.order.order_ref,
                    decision=result.decision,
                    openings=len(result.openings),
                    record=_record_digest(item),
                    settings=self._settings_key(result),
                )
            )

    def _checked(self, item: RawOrder | SheetOrder) -> tuple[OrderResult, CellOf | None, int]:
        """What comes of an order, how its cells are found, and how many openings it has."""
        catalogue, caller = self._catalogue, self._settings.caller
        if isinstance(item, SheetOrder):
            result = check_rows(item, catalogue=catalogue, caller=caller)
            if result is None:
                raw = item.raw()
                result = check_order(raw.data, catalogue=catalogue, caller=caller, problems=raw.problems)
            return result, item.cell, item.count
        result = check_order(item.data, catalogue=catalogue, caller=caller, problems=item.problems)
        return result, None if item.places is None else item.cell, len(item.data["openings"])

    def _refuse(self, item: Unreadable, file: str, counts: FileCounts) -> None:
        found = refusal(item)
        line = unreadable_bytes(found)
        self._lines.append(line)
        self.tally.add_refused(found.reason, found.severity, counts, file=file, length=len(line) + 1)
        if self._wanted.told:
            self.told.append(Told(file, len(line) + 1, False, (found.reason,)))
        if self._wanted.tables:
            self._tables["findings.csv"].append(unreadable_line(found, file=file))
            record = _short(f"{item.excerpt}\0{item.detail}".encode("utf-8", "replace"))
            self._tables["orders.csv"].append(
                order_line(
                    file=file, order_ref=None, decision="unreadable", openings=0, record=record, settings=""
                )
            )

    def _settings_key(self, result: OrderResult) -> str:
        """Short digest of what the order was judged by; the same for most orders of a run."""
        system = None if result.system is None else result.system.reference
        rulebook = None if result.rulebook is None else result.rulebook.reference
        key = self._settings_keys.get((system, rulebook))
        if key is None:
            judged_by = [VERSION, program_digest(), system, rulebook, self._settings.as_dict()]
            key = self._settings_keys[system, rulebook] = _short(orjson.dumps(judged_by))
        return key


def refusal(item: Unreadable) -> Finding:
    """The finding of what could not be read at all."""
    page = intake.ROW_UNREADABLE
    return Finding(
        reason=page.name,
        severity=page.severity,
        at=item.pointer or "",
        message=item.detail,
        remedy=item.remedy,
        source=page.source,
        cell=None if item.line is None else Cell(item.line, item.column),
    )


def _record_digest(item: RawOrder | SheetOrder) -> str:
    """Short digest of an order as it was read, so that a later run can tell whether it has changed."""
    if isinstance(item, SheetOrder):
        return _short(item.content().encode("utf-8", "replace"))
    try:
        content = orjson.dumps(item.data, option=orjson.OPT_SORT_KEYS, default=str)
    except TypeError:  # half characters and huge numbers, which an order may hold and orjson refuses
        content = json.dumps(item.data, sort_keys=True, default=str).encode("ascii")
    if item.problems:
        content += orjson.dumps([(found.reason, found.at, found.message) for found in item.problems])
    return _short(content)


def _short(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()[:16]
