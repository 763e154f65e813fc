"""Rows of a sheet as they were written, for people: the cells that findings are about, and the first rows."""

import csv
import io
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from io import BytesIO
from typing import Final

from sawready.errors import UnreadableError
from sawready.readers.column_map import ColumnMap
from sawready.readers.columns import BY_NAME
from sawready.readers.csv_door import Sheet
from sawready.readers.raw import Unreadable

MOST_CELL: Final = 80
"""Characters of a cell that are shown."""

MOST_PREVIEW: Final = 20
"""Rows that are looked at for the preview of a sheet."""

_AROUND: Final = 1
_NAMES: Final = ("order_ref", "opening_ref")


@dataclass(frozen=True, slots=True)
class ShownCell:
    """A cell as it is shown.

    Attributes:
        heading: its column.
        text: what stands in it.
        numbers: of the findings that are about it.
        is_after_gap: columns between this and the one before it are left out.
    """

    heading: str
    text: str
    numbers: tuple[int, ...] = ()
    is_after_gap: bool = False


@dataclass(frozen=True, slots=True)
class SheetRows:
    """Rows of a sheet by their physical lines."""

    header: tuple[str, ...]
    names: tuple[int, ...]
    rows: dict[int, Sequence[str]]

    def excerpt(self, line: int, marked: dict[str, list[int]]) -> list[ShownCell]:
        """The cells of a row that findings are about, those beside them, and those that name it.

        Args:
            line: physical line of the row.
            marked: numbers of findings by heading.
        Returns: nothing where the row is not there.
        """
        cells = self.rows.get(line)
        if cells is None:
            return []
        wanted = set(self.names)
        for at, heading in enumerate(self.header):
            if heading in marked:
                wanted.update(range(max(0, at - _AROUND), min(len(cells), at + _AROUND + 1)))
        shown: list[ShownCell] = []
        before = -1
        for at in sorted(wanted):
            heading = self.header[at] or f"column {at + 1}"
            numbers = tuple(marked.get(self.header[at], ()))
            shown.append(ShownCell(heading, cut(cells[at]), numbers, at != before + 1))
            before = at
        return shown


def cut(text: str) -> str:
    """A cell's text, cut where it is long."""
    return text if len(text) <= MOST_CELL else f"{text[: MOST_CELL - 3]}..."


def open_sheet(data: bytes, column_map: ColumnMap) -> Sheet:
    """A sheet at its first row. Raises UnreadableError."""
    return Sheet(
        BytesIO(data),
        source="",
        encoding=column_map.encoding,
        delimiter=column_map.delimiter,
        skip_rows=column_map.skip_rows,
        known=column_map.headings or BY_NAME,
    )


def rows_at(data: bytes, column_map: ColumnMap | None, lines: Collection[int]) -> SheetRows:
    """Rows that begin at certain lines; nothing of a sheet that cannot be read."""
    used = column_map or ColumnMap("")
    rows: dict[int, Sequence[str]] = {}
    wanted = set(lines)
    try:
        sheet = open_sheet(data, used)
        for row in sheet:
            if not isinstance(row, Unreadable) and row[0] in wanted:
                rows[row[0]] = row[1]
                if len(rows) == len(wanted):
                    break
    except UnreadableError:
        return SheetRows((), (), rows)
    theirs = [used.columns.get(name, name) for name in _NAMES]
    names = tuple(sheet.header.index(each) for each in theirs if each in sheet.header)
    return SheetRows(sheet.header, names, rows)


@dataclass(frozen=True, slots=True)
class Preview:
    """The beginning of a sheet, for whoever says what its columns are.

    Attributes:
        skip_rows: rows before the header.
        header: the headings; empty where the sheet cannot be read so.
        header_line: physical line of the header.
        rows: lines and cells of the first rows.
        trouble: why it cannot be read so; None where it can.
    """

    skip_rows: int
    header: tuple[str, ...] = ()
    header_line: int = 0
    rows: tuple[tuple[int, tuple[str, ...]], ...] = ()
    trouble: str | None = None


def preview(data: bytes, *, skip_rows: int | None, most: int = 5) -> Preview:
    """The first rows of a sheet.

    Args:
        data: the sheet.
        skip_rows: rows before the header; None to propose the fullest of the first rows as the header.
        most: rows after the header.
    """
    skip = _proposed(data) if skip_rows is None else skip_rows
    try:
        sheet = open_sheet(data, ColumnMap("", skip_rows=skip))
        rows: list[tuple[int, tuple[str, ...]]] = []
        for row in sheet:
            if not isinstance(row, Unreadable):
                rows.append((row[0], tuple(cut(cell) for cell in row[1])))
            if len(rows) == most:
                break
    except UnreadableError as trouble:
        return Preview(skip, trouble=trouble.detail)
    return Preview(skip, sheet.header, sheet.header_line, tuple(rows))


def _proposed(data: bytes) -> int:
    """Rows before the one among the first that has the most different texts in it."""
    text = data[: 64 * 1024].decode("utf-8", "replace")
    best, most = 0, 0
    for sign in ",;\t":
        reader = csv.reader(io.StringIO(text, newline=""), delimiter=sign)
        try:
            for number, cells in enumerate(reader):
                if number >= MOST_PREVIEW:
                    break
                filled = len({cell.strip() for cell in cells if cell.strip()})
                has_figures = any(cell.strip()[:1].isdigit() for cell in cells)
                if filled > most and not has_figures:
                    best, most = number, filled
        except csv.Error:
            continue
    return best
