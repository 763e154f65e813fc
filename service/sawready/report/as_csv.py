"""Tables for spreadsheets: findings, cuts and panes, one a row.

A text cell that a spreadsheet could take for a formula gets a leading apostrophe, and every text cell
is quoted; numbers that the program wrote itself stay as they are.
"""

import csv
import io
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any, Final, TextIO

from sawready.model.finding import Cell, Finding
from sawready.pipeline import OpeningResult, OrderResult
from sawready.report.as_json import extra_pieces
from sawready.report.plan_json import ROWS, cutting_template, numbers_of, steel_levels, tenths

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
ORDERS: Final = ("file", "order_ref", "decision", "openings", "record", "settings")

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


_END: Final = "\r\n"

CellOf = Callable[[str], Cell | None]


def heading(columns: Sequence[str]) -> str:
    """The first line of a table."""
    return ",".join(map(_quoted, columns)) + _END


def finding_lines(result: OrderResult, *, file: str, cell_of: CellOf | None) -> str:
    """One line a finding of an order.

    Args:
        result: the order's result.
        file: file that the order came from.
        cell_of: finds the cell of a pointer; None for an order that came as JSON.
    """
    text = io.StringIO()
    writer = csv.writer(text, quoting=csv.QUOTE_NONNUMERIC, lineterminator=_END)
    for opening in result.openings:
        for found in opening.findings:
            cell = found.cell if cell_of is None else cell_of(found.at)
            opening_ref = opening.sized.opening.opening_ref
            writer.writerow(_finding_row(found, cell, file, result.order.order_ref, opening_ref))
    return text.getvalue()


def unreadable_line(found: Finding, *, file: str) -> str:
    """The line of a row, order or file that could not be read."""
    text = io.StringIO()
    writer = csv.writer(text, quoting=csv.QUOTE_NONNUMERIC, lineterminator=_END)
    writer.writerow(_finding_row(found, found.cell, file, None, None))
    return text.getvalue()


def _finding_row(
    found: Finding, cell: Cell | None, file: str, order_ref: str | None, opening_ref: str | None
) -> list[Any]:
    """The cells of `FINDINGS`."""
    measured, limit = found.measured, found.limit
    unit = (measured.unit if measured else None) or (limit.unit if limit else None)
    row = (
        file,
        cell and cell.line,
        cell and cell.column,
        order_ref,
        opening_ref,
        found.reason,
        found.severity,
        found.at,
        found.message,
        measured and measured.value,
        limit and limit.value,
        unit,
        "; ".join(map(str, found.candidates)),
        found.remedy,
        found.source,
    )
    return ["" if cell is None else harmless(cell) for cell in row]


def cutting_lines(result: OrderResult) -> str:
    """One line a piece or bead of every accepted opening; ``quantity`` says how many windows are alike."""
    order_ref = result.order.order_ref
    return "".join([_cuts(each, order_ref) for each in result.openings if each.decision == "accepted"])


def glass_lines(result: OrderResult) -> str:
    """One line a pane of every accepted opening."""
    order_ref = result.order.order_ref
    return "".join([_panes(each, order_ref) for each in result.openings if each.decision == "accepted"])


def _cuts(result: OpeningResult, order_ref: str | None) -> str:
    sized = result.sized
    plan = sized.plan
    if plan is None:
        return ""
    whose, values = _whose(result, order_ref), sized.values
    mark = ROWS.mark.decode()
    further = "".join(
        [
            f'{mark}"{part}",{_quoted(profile)},{tenths(length_nm, 1)!r},"90/90","","{working}"{_END}'
            for part, profile, length_nm, working in extra_pieces(sized)
        ]
    )
    fitted = tuple([values[finished] >= level for finished, level in steel_levels(plan)])
    texts = [*numbers_of(plan).texts(values), further.encode()]
    # The rows are put together once for a plan; what they all begin with is filled in at the end.
    return cutting_template(plan, fitted).filled(texts).decode().replace(mark, whose)


def _panes(result: OpeningResult, order_ref: str | None) -> str:
    sized = result.sized
    glass = sized.opening.glass
    if glass is None:
        return ""
    whose, unit = _whose(result, order_ref), _quoted(glass.text)
    return "".join(
        [
            f"{whose}{number},{glazed.glass_mm[0]},{glazed.glass_mm[1]},{unit},"
            f'"{glazed.safety}",{round(glazed.glass_kg, 2)!r}{_END}'
            for number, glazed in enumerate(sized.glazed)
        ]
    )


def _whose(result: OpeningResult, order_ref: str | None) -> str:
    """Order, opening and quantity, with which every row of them begins."""
    opening = result.sized.opening
    return f"{_quoted(order_ref or '')},{_quoted(opening.opening_ref or '')},{opening.quantity},"


def _quoted(text: str) -> str:
    """A text cell as it is written."""
    return f'"{harmless(text)}"' if '"' not in text else f'"{harmless(text).replace(chr(34), chr(34) * 2)}"'


def table_line(*cells: Any) -> str:
    """A line of any table: texts quoted and harmless, numbers as they are, None as an empty text."""
    texts = [repr(cell) if isinstance(cell, int | float) else _quoted(cell or "") for cell in cells]
    return ",".join(texts) + _END


def order_line(
    *, file: str, order_ref: str | None, decision: str, openings: int, record: str, settings: str
) -> str:
    """The line of an order in the list of all orders; there is one for each line of the results.

    Args:
        file: file that it came from.
        order_ref: its reference; None where it has none or could not be read.
        decision: what came of it, or ``unreadable``.
        openings: how many it has.
        record: short digest of the order as it was read.
        settings: short digest of what it was judged by.
    """
    return f'{_quoted(file)},{_quoted(order_ref or "")},"{decision}",{openings},"{record}","{settings}"{_END}'
