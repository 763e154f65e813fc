"""A finding: what is wrong, where, by how much, and what to do about it."""

from dataclasses import dataclass, replace
from typing import Any, Final, Literal

Severity = Literal["reject", "query", "note"]

REJECT: Final[Severity] = "reject"
QUERY: Final[Severity] = "query"
NOTE: Final[Severity] = "note"

WEIGHT: Final[dict[Severity, int]] = {REJECT: 2, QUERY: 1, NOTE: 0}
"""How grave a severity is; the worst of an opening decides it."""

Decision = Literal["accepted", "queried", "rejected"]

DECISIONS: Final[tuple[Decision, ...]] = ("accepted", "queried", "rejected")
"""By the weight of the worst finding."""


@dataclass(frozen=True, slots=True)
class Quantity:
    """A number with its unit as a report writes it, such as 5.0 mm."""

    value: float | int
    unit: str

    def as_dict(self) -> dict[str, Any]:
        """The published form: value and unit."""
        return {"value": self.value, "unit": self.unit}


@dataclass(frozen=True, slots=True)
class Cell:
    """Where a value stood in a sheet: physical line (from 1) and column name."""

    line: int
    column: str | None

    def as_dict(self) -> dict[str, Any]:
        """The published form: line and column."""
        return {"line": self.line, "column": self.column}


@dataclass(frozen=True, slots=True)
class Finding:
    """One fault, question or remark about an opening.

    Attributes:
        reason: name in the catalogue of reasons; never changes its meaning.
        severity: ``reject`` (must not be cut), ``query`` (a person answers first) or ``note``.
        at: RFC 6901 pointer into the JSON order.
        message: measured value, limit and unit in one or two sentences.
        measured: the value that was judged, where it is a number.
        limit: the figure that it was judged against, where there is one.
        candidates: readings worth offering in the question: millimetres for lengths, else text.
        remedy: what to do, beginning with a verb.
        source: document or rulebook entry behind the limit.
        cell: place in the sheet, where the order came as one.
    """

    reason: str
    severity: Severity
    at: str
    message: str
    measured: Quantity | None = None
    limit: Quantity | None = None
    candidates: tuple[float | int | str, ...] = ()
    remedy: str | None = None
    source: str | None = None
    cell: Cell | None = None

    def as_dict(self) -> dict[str, Any]:
        """The published form, keys in schema order."""
        return {
            "reason": self.reason,
            "severity": self.severity,
            "at": self.at,
            "cell": None if self.cell is None else self.cell.as_dict(),
            "message": self.message,
            "measured": None if self.measured is None else self.measured.as_dict(),
            "limit": None if self.limit is None else self.limit.as_dict(),
            "candidates": list(self.candidates),
            "remedy": self.remedy,
            "source": self.source,
        }

    def with_(self, **changes: Any) -> "Finding":
        """The same finding with some members changed."""
        return replace(self, **changes)


def decision_of(findings: "list[Finding] | tuple[Finding, ...]") -> Decision:
    """Decision that follows from the worst finding; ``accepted`` where there is none above a note."""
    worst = max((WEIGHT[finding.severity] for finding in findings), default=0)
    return DECISIONS[worst]
