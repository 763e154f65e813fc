"""Many orders in, one answer out: a line each, or one object with a summary."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import replace
from itertools import chain
from typing import Any, Final

import orjson
from marshmallow import fields

from sawready.catalogue.load import Catalogue
from sawready.errors import UnreadableError
from sawready.model.finding import Cell
from sawready.pipeline import CallerDefaults, OrderResult, check_order
from sawready.readers.raw import RawOrder, Unreadable
from sawready.report.as_json import result_bytes
from sawready.report.as_text import Counts
from sawready.report.result_schema import ResultSchema, Written, many, some, whole
from sawready.web.metrics import Metrics
from sawready.web.problems import (
    PROBLEMS,
    ErrorItem,
    Problem,
    ProblemError,
    ProblemSchema,
    of_refused,
    of_unreadable,
)
from sawready.web.requests import told

MOST_LISTED: Final = 1000
"""Problems that one object lists; beyond them they are counted. A stream of lines gives them all."""


class DecisionCountsSchema(Written):
    """How many came to which decision."""

    read = whole("All of them.")
    accepted = whole("May be cut.")
    queried = whole("A person answers first.")
    rejected = whole("Must not be cut.")


class SummarySchema(Written):
    """What became of everything that was sent."""

    orders = some(DecisionCountsSchema, "Orders by decision.")
    openings = some(DecisionCountsSchema, "Openings by decision.")
    unreadable = whole("Rows, lines and orders that could not be read.")
    reasons = fields.Dict(
        required=True,
        metadata={
            "description": "How often each reason was found, the most frequent first.",
            "additionalProperties": {"type": "integer"},
        },
    )
    skipped_rows = fields.Dict(
        required=True,
        metadata={
            "description": "Rows of a sheet that hold no opening and were passed over, by kind.",
            "additionalProperties": {"type": "integer"},
        },
    )


class BatchSchema(Written):
    """What came of many orders."""

    results = many(ResultSchema, "One for each order that could be read, in their order.")
    problems = many(ProblemSchema, f"What could not be read, with its place; the first {MOST_LISTED}.")
    summary = some(SummarySchema, "Counts.")


class Checker:
    """Checks orders for one request and counts what comes of them.

    Attributes:
        counts: what has come of the orders so far.
    """

    def __init__(
        self,
        *,
        catalogue: Catalogue,
        caller: CallerDefaults,
        metrics: Metrics,
        instance: str,
        on_trouble: Callable[[Any], None],
    ) -> None:
        """Begins.

        Args:
            catalogue: profile systems and rulebooks on file.
            caller: what the request says for what orders leave open.
            metrics: counts for operators.
            instance: number of the request.
            on_trouble: told what a failure of our own was, for the log.
        """
        self._catalogue = catalogue
        self._caller = caller
        self._metrics = metrics
        self._instance = instance
        self._on_trouble = on_trouble
        self.counts = Counts()

    def one(self, raw: RawOrder) -> bytes:
        """The published result of one order."""
        result = check_order(raw.data, catalogue=self._catalogue, caller=self._caller, problems=raw.problems)
        written = result_bytes(result, cell_of=None if raw.places is None else raw.cell)
        self._count(result)
        return written

    def each(self, records: Iterable[RawOrder | Unreadable]) -> Iterator[tuple[bytes, bool]]:
        """The result or the problem of each record, and whether it is a result.

        One that cannot be read, or on which the program fails, never stops the rest.
        """
        supply = iter(records)
        while True:
            try:
                record = next(supply)
            except StopIteration:
                return
            except UnreadableError as trouble:
                yield self._problem(of_unreadable(trouble))
                return
            if isinstance(record, Unreadable):
                yield self._problem(of_refused(record))
                continue
            try:
                yield self.one(record), True
            except ProblemError as trouble:
                yield self._problem(_placed(trouble.problem, record))
            except Exception as trouble:  # noqa: BLE001 - one order must not stop the rest; it is logged and told
                self._on_trouble(told(trouble))
                yield self._problem(_failed(record))

    @property
    def defaults(self) -> CallerDefaults:
        """What the request says for what orders leave open."""
        return self._caller

    def _problem(self, problem: Problem) -> tuple[bytes, bool]:
        reason = next((error.reason for error in problem.errors if error.reason), problem.kind.name)
        self.counts.add_unreadable(reason)
        self._metrics.unreadable.inc()
        return orjson.dumps(problem.as_dict(self._instance)), False

    def _count(self, result: OrderResult) -> None:
        counts, metrics = self.counts, self._metrics
        counts.orders[result.decision] += 1
        metrics.orders.labels(result.decision).inc()
        for opening in result.openings:
            counts.openings[opening.decision] += 1
            metrics.openings.labels(opening.decision).inc()
            for found in opening.findings:
                counts.reasons[found.reason] = counts.reasons.get(found.reason, 0) + 1
                metrics.findings.labels(found.reason).inc()


def _placed(problem: Problem, record: RawOrder) -> Problem:
    """A problem of one order among many, with the line where the order begins."""
    if record.line is None:
        return problem
    cell = Cell(record.line, None)
    errors = tuple(replace(error, cell=cell) for error in problem.errors) or (
        ErrorItem(problem.detail, cell=cell),
    )
    return Problem(problem.kind, f"Line {record.line}: {problem.detail}", errors)


def _failed(record: RawOrder) -> Problem:
    """A failure of our own on one order among many, with the line where the order begins."""
    detail = "The service failed on this order; what was sent is not at fault."
    cell = None if record.line is None else Cell(record.line, None)
    return Problem(PROBLEMS["internal-error"], detail, (ErrorItem(detail, "Send it once more.", cell=cell),))


def as_lines(items: Iterable[tuple[bytes, bool]]) -> Iterator[bytes]:
    """A line for each record: its result, or its problem."""
    for written, _ in items:
        yield written + b"\n"


def as_object(
    items: Iterable[tuple[bytes, bool]], counts: Counts, skipped: Callable[[], Mapping[str, int]]
) -> Iterator[bytes]:
    """One object with results, problems and a summary, piece by piece.

    Args:
        items: results and problems.
        counts: what has come of them once they are through.
        skipped: rows of a sheet that were passed over, by kind; asked once the items are through.
    """
    problems: list[bytes] = []
    yield b'{"results":['
    is_first = True
    for written, is_result in items:
        if is_result:
            yield written if is_first else b"," + written
            is_first = False
        elif len(problems) < MOST_LISTED:
            problems.append(written)
    summary = {**counts.as_dict(), "skipped_rows": dict(skipped())}
    yield b'],"problems":[%b],"summary":%b}' % (b",".join(problems), orjson.dumps(summary))


def begun(records: Iterable[RawOrder | Unreadable]) -> Iterator[RawOrder | Unreadable]:
    """The same records, the first of them read already, so that a body that is none at all shows at once.

    Raises: UnreadableError where the body as a whole cannot be read.
    """
    supply = iter(records)
    try:
        first = next(supply)
    except StopIteration:
        return iter(())
    return chain((first,), supply)
