"""Tables for spreadsheets: findings, cuts and panes, one a row.

A text cell that a spreadsheet could take for a formula gets a leading apostrophe, and every text cell
is quoted; numbers that the program wrote itself stay as they are.
"""

import csv
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Final, TextIO

FINDINGS: Final = (
    "file",
    "line",
    "column",
    "order_ref",
    "opening_ref",
    "reason",
    "severity",
    "at",
    "message",
    "measured",
    "limit",
    "unit",
    "candidates",
    "remedy",
    "source",
)
CUTTING: Final = (
    "order_ref",
    "opening_ref",
    "quantity",
    "part",
    "profile",
    "length_mm",
    "ends",
    "light",
    "working",
)
GLASS: Final = (
    "order_ref",
    "opening_ref",
    "quantity",
    "light",
    "width_mm",
    "height_mm",
    "unit",
    "safety",
    "kg",
)

_FORMULA_STARTS: Final = frozenset("=+-@\t\r\n\0＝＋－＠")
"""Signs that make a spreadsheet take a text for a formula, their full-width forms too (OWASP)."""


def harmless(value: Any) -> Any:
    """A cell that no spreadsheet takes for a formula; numbers and empty cells as they are.

    Example:
        >>> harmless("=1+1"), harmless("W1"), harmless(-3.5)
        ("'=1+1", 'W1', -3.5)
    """
    if isinstance(value, str) and value and value[0] in _FORMULA_STARTS:
        return f"'{value}"
    return value


class Table:
    """Writes rows of one kind under their heading.

    Args:
        stream: text stream opened without newline translation.
        columns: the heading, in order.
    """

    def __init__(self, stream: TextIO, columns: Sequence[str]) -> None:
        self._columns = columns
        self._writer = csv.writer(stream, quoting=csv.QUOTE_NONNUMERIC, lineterminator="\r\n")
        self._writer.writerow(columns)

    def write(self, rows: Iterable[Mapping[str, Any]]) -> None:
        """Writes rows; what a row does not have stays blank."""
        self._writer.writerows(
            [harmless("" if row.get(name) is None else row[name]) for name in self._columns] for row in rows
        )


def finding_rows(result: Mapping[str, Any], *, file: str) -> Iterable[dict[str, Any]]:
    """One row a finding of a published result.

    Args:
        result: the published result.
        file: file that the order came from.
    """
    for opening in result["openings"]:
        for found in opening["findings"]:
            cell = found["cell"] or {}
            measured, limit = found["measured"] or {}, found["limit"] or {}
            yield {
                "file": file,
                "line": cell.get("line"),
                "column": cell.get("column"),
                "order_ref": result["order_ref"],
                "opening_ref": opening["opening_ref"],
                "reason": found["reason"],
                "severity": found["severity"],
                "at": found["at"],
                "message": found["message"],
                "measured": measured.get("value"),
                "limit": limit.get("value"),
                "unit": measured.get("unit") or limit.get("unit"),
                "candidates": "; ".join(map(str, found["candidates"])),
                "remedy": found["remedy"],
                "source": found["source"],
            }


def cutting_rows(result: Mapping[str, Any]) -> Iterable[dict[str, Any]]:
    """One row a piece or bead of every accepted opening; ``quantity`` says how many windows are alike."""
    for opening in result["openings"]:
        if opening["decision"] == "accepted":
            for piece in (*opening["pieces"], *opening["beads"]):
                yield {**piece, **_whose(result, opening)}


def glass_rows(result: Mapping[str, Any]) -> Iterable[dict[str, Any]]:
    """One row a pane of every accepted opening."""
    for opening in result["openings"]:
        if opening["decision"] == "accepted":
            for pane in opening["glass"]:
                yield {**pane, **_whose(result, opening)}


def _whose(result: Mapping[str, Any], opening: Mapping[str, Any]) -> dict[str, Any]:
    return {
        "order_ref": result["order_ref"],
        "opening_ref": opening["opening_ref"],
        "quantity": opening["quantity"],
    }
