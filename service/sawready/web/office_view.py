"""What the pages of the office show: counts, openings worst first, findings by what is to be done."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Final

from sawready.model.finding import DECISIONS, Decision, Finding, Severity
from sawready.model.pointer import resolve
from sawready.pipeline import OpeningResult
from sawready.readers.raw import Skipped, Unreadable
from sawready.report.as_text import Counts, candidate_in_words, place_in_words
from sawready.report.order_view import mm_text
from sawready.web.office_rows import ShownCell, cut, rows_at
from sawready.web.office_upload import Check, Outcome, Upload

MOST_SHOWN: Final = 200
"""Openings that a page shows, the worst first; the lists have them all."""

DECIDED: Final[dict[Decision, str]] = {
    "rejected": "Must not be cut",
    "queried": "Ask first",
    "accepted": "May be cut",
}
GROUPS: Final[dict[Severity, tuple[str, str]]] = {
    "reject": ("Must not be cut", "Correct these in the survey and upload it again. No answer settles them."),
    "query": ("Ask first", "A named person looks at each and answers it here, or corrects the survey."),
    "note": ("Notes", "Said for information; nothing has to be done."),
}
WORDS: Final[dict[Severity, str]] = {"reject": "must not be cut", "query": "ask first", "note": "note"}


@dataclass(frozen=True, slots=True)
class ShownFinding:
    """A finding with what its page needs.

    Attributes:
        number: from 1, on its page.
        index: its place among the findings of its opening, from 0.
        found: as published.
        where: its place in words.
        value: what stands there, where it is a single value.
        candidates: readings worth offering, in words.
        measured: the value that an answer is about, as its form carries it.
    """

    number: int
    index: int
    found: Finding
    where: str
    value: str | None
    candidates: str
    measured: str


@dataclass(slots=True)
class ShownOpening:
    """An opening with what its page needs.

    Attributes:
        order, index: number of its order in the file, and its own in the order.
        order_ref, name: what people call them.
        decision: its own.
        size: its frame in words.
        findings: all of them.
        is_answerable: whether its queries can be answered: not while it is rejected.
        excerpts: cells of its row that findings are about, by severity; empty for JSON.
        line: physical line of its row; None for JSON.
    """

    order: int
    index: int
    order_ref: str
    name: str
    decision: Decision
    size: str
    findings: list[ShownFinding]
    is_answerable: bool
    excerpts: dict[Severity, list[ShownCell]] = field(default_factory=dict)
    line: int | None = None

    @property
    def anchor(self) -> str:
        """Its name in addresses."""
        return f"{self.order}-{self.index}"

    def of(self, severity: Severity) -> list[ShownFinding]:
        """Its findings of a severity."""
        return [each for each in self.findings if each.found.severity == severity]


@dataclass(slots=True)
class Shown:
    """What came of an upload, for its page.

    Attributes:
        counts: orders and openings by decision.
        outcomes: what came of each order that could be read.
        openings: the worst first, the first of them.
        left_out: openings that are not shown.
        unreadable: what could not be read at all, the first of it.
        skipped: rows that hold no opening.
    """

    counts: Counts
    outcomes: list[Outcome]
    openings: list[ShownOpening]
    left_out: int
    unreadable: list[Unreadable]
    skipped: list[Skipped]

    def group(self, severity: Severity) -> list[ShownOpening]:
        """Openings that have findings of a severity."""
        return [each for each in self.openings if each.of(severity)]


def shown(check: Check) -> Shown:
    """What came of an upload.

    Raises: SettingsError for a column map that cannot be used.
    """
    upload, outcomes = check.upload, []
    counts = Counts()
    found: dict[Decision, list[tuple[Outcome, int, OpeningResult]]] = {each: [] for each in DECISIONS}
    unreadable: list[Unreadable] = []
    for outcome in check.outcomes():
        if isinstance(outcome, Unreadable):
            counts.add_unreadable(outcome.reason)
            if len(unreadable) < MOST_SHOWN:
                unreadable.append(outcome)
            continue
        counts.orders[outcome.result.decision] += 1
        outcomes.append(outcome)
        for index, opening in enumerate(outcome.result.openings):
            counts.openings[opening.decision] += 1
            if len(found[opening.decision]) < MOST_SHOWN:
                found[opening.decision].append((outcome, index, opening))
    worst_first = [each for decision in reversed(DECISIONS) for each in found[decision]][:MOST_SHOWN]
    openings: list[ShownOpening] = []
    number = 0
    for outcome, index, opening in worst_first:
        openings.append(shown_opening(outcome, index, opening, number))
        number += len(opening.findings)
    if upload.kind == "csv":
        _add_excerpts(openings, upload)
    left_out = sum(counts.openings.values()) - len(openings)
    return Shown(counts, outcomes, openings, left_out, unreadable, check.skipped)


def shown_opening(outcome: Outcome, index: int, opening: OpeningResult, first: int = 0) -> ShownOpening:
    """One opening, its findings numbered after the first so many."""
    cell_of, own = outcome.cell_of, opening.sized.opening
    findings = []
    line: int | None = None
    for at, plain in enumerate(opening.findings):
        found = plain if cell_of is None else plain.with_(cell=cell_of(plain.at))
        findings.append(
            ShownFinding(
                number=first + at + 1,
                index=at,
                found=found,
                where=place_in_words(found.as_dict()),
                value=_value(outcome.raw.data, found.at),
                candidates=", ".join(map(candidate_in_words, found.candidates)),
                measured="" if found.measured is None else repr(found.measured.value),
            )
        )
    if cell_of is not None:
        cell = cell_of(f"/openings/{index}")
        line = None if cell is None else cell.line
    name = own.opening_ref or f"opening {index + 1}, without a reference"
    return ShownOpening(
        order=outcome.number,
        index=index,
        order_ref=outcome.result.order.order_ref or "without a reference",
        name=f"{name}, {own.room}" if own.room else name,
        decision=opening.decision,
        size=_size(opening),
        findings=findings,
        is_answerable=opening.decision == "queried" and own.opening_ref is not None,
        line=line,
    )


def one_opening(check: Check, order: int, index: int) -> tuple[Outcome, int] | None:
    """The order of one opening, and the place of the opening in it; None where there is no such."""
    for outcome in check.outcomes(only=order):
        if isinstance(outcome, Outcome) and index < len(outcome.result.openings):
            return outcome, index
    return None


def _size(opening: OpeningResult) -> str:
    sized = opening.sized
    if sized.width is None or sized.height is None:
        return "no size"
    width, height = (axis.size_nm / 1_000_000 for axis in (sized.width, sized.height))
    return f"{mm_text(width)} × {mm_text(height)} mm"


def _value(data: Mapping[str, Any], at: str) -> str | None:
    """What stands at a place of an order, where it is a single value."""
    try:
        value = resolve(data, at)
    except (LookupError, ValueError):
        return None
    return None if value is None or isinstance(value, dict | list) else cut(str(value))


def _add_excerpts(openings: list[ShownOpening], upload: Upload) -> None:
    """Adds the cells that findings are about."""
    lines = {each.found.cell.line for opening in openings for each in opening.findings if each.found.cell}
    rows = rows_at(upload.data, upload.column_map(), lines)
    for opening in openings:
        for severity in GROUPS:
            marked: dict[str, list[int]] = {}
            lines_here: list[int] = []
            for each in opening.of(severity):
                if each.found.cell is not None:
                    lines_here.append(each.found.cell.line)
                    if each.found.cell.column is not None:
                        marked.setdefault(each.found.cell.column, []).append(each.number)
            if lines_here:
                line = opening.line or lines_here[0]
                opening.line = line
                opening.excerpts[severity] = rows.excerpt(line, marked)
