"""What the doors hand out: raw orders with their places, and what could not be read."""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any, Final, Literal

from sawready.model.finding import Cell, Finding
from sawready.readers.fault import Fault

Kind = Literal["csv", "json", "ndjson"]

KINDS: Final[tuple[Kind, ...]] = ("csv", "json", "ndjson")


@dataclass(slots=True)
class RawOrder:
    """One order as its door read it, before its values are understood.

    Attributes:
        data: the nested order of the JSON form; from a sheet, every value is text and blanks are absent.
        source: file name, or ``<stdin>``.
        line: physical line where the order begins; None inside a JSON file.
        problems: findings of the door itself, such as rows of one order that contradict each other. The
            value that a problem points at is left out of ``data``, so that nothing is chosen.
        places: finds the cell of a pointer; None where there are no cells.
    """

    data: dict[str, Any]
    source: str
    line: int | None = None
    problems: list[Finding] = field(default_factory=list)
    places: Callable[[str], Cell | None] | None = field(default=None, repr=False)

    def cell(self, pointer: str) -> Cell | None:
        """Line and column of the value at a pointer; None for JSON.

        The column is None where no column of the sheet holds the value.
        """
        return None if self.places is None else self.places(pointer)


@dataclass(frozen=True, slots=True)
class Unreadable:
    """A row, line or order that a door refused; the rest of its file goes on.

    Attributes:
        source: file name, or ``<stdin>``.
        line: physical line of the fault, from 1.
        column: column name of the fault in a sheet, its number in JSON, where known.
        reason: name in the catalogue of reasons.
        detail: place and value in one sentence.
        remedy: what to do.
        excerpt: the refused text, cut where it is long.
        first_line: physical line where the refused text begins.
        lines: how many physical lines are refused with it.
        pointer: RFC 6901 pointer of the fault inside a JSON order, where known.
    """

    source: str
    line: int | None
    column: str | None
    reason: str
    detail: str
    remedy: str
    excerpt: str = ""
    first_line: int | None = None
    lines: int = 1
    pointer: str | None = None


@dataclass(frozen=True, slots=True)
class Skipped:
    """Lines of a sheet that hold no opening and were passed over.

    Attributes:
        line: physical line, from 1.
        kind: ``blank``, ``heading``, ``total``, ``section`` or ``above`` (before the header).
        excerpt: its text, cut where it is long.
        lines: how many physical lines it takes.
    """

    line: int
    kind: str
    excerpt: str = ""
    lines: int = 1


def refused(fault: Fault, *, source: str, line: int | None, excerpt: str = "", lines: int = 1) -> Unreadable:
    """A fault as a refused row that begins at a line; that line where the fault has none."""
    return Unreadable(
        source=source,
        line=line if fault.line is None else fault.line,
        column=fault.column,
        reason="row-unreadable",
        detail=fault.detail,
        remedy=fault.remedy,
        excerpt=excerpt,
        first_line=line,
        lines=lines,
        pointer=fault.pointer,
    )
