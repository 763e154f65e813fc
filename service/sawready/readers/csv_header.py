"""The header of a sheet: which delimiter parts it, and what is wrong with it whatever its names mean."""

import csv
import io
from collections.abc import Sequence
from typing import Final

from sawready.readers.csv_faults import NAMES, control_fault, field_fault
from sawready.readers.fault import Fault, FaultError, shown

MOST_COLUMNS: Final = 120

_INVISIBLE: Final = dict.fromkeys(map(ord, "\ufeff\u200b\u200e\u200f\u2060"))


def heading(text: str) -> str:
    r"""A heading as it is compared and shown: invisible signs out, white space single.

    Example:
        >>> heading("\ufeff Width\n(mm) ")
        'Width (mm)'
    """
    return " ".join(text.translate(_INVISIBLE).split())


def no_header(line: int) -> Fault:
    """A sheet that ends before its header."""
    return Fault("The sheet has no header row.", "Put the names of the columns in its first row.", line=line)


def header_fault(cells: Sequence[str], header: Sequence[str]) -> Fault | None:
    """Too many columns, a heading given twice, or a hidden character in one; None where all is well.

    Args:
        cells: the header as written.
        header: the same, tidied by `heading`.
    """
    if len(header) > MOST_COLUMNS:
        return Fault(
            f"The header has {len(header)} columns; {MOST_COLUMNS} are the most.",
            "Take out columns that are not needed.",
        )
    seen: dict[str, int] = {}
    for number, name in enumerate(header, 1):
        if name and name in seen:
            return Fault(
                f"The heading {shown(name)} stands twice, in columns {seen[name]} and {number}.",
                "Name each column once.",
                column=name,
            )
        seen[name] = number
    return control_fault(cells, [str(number) for number in range(1, len(cells) + 1)])


def delimiter_of(text: str, *, skip_rows: int, known: frozenset[str]) -> str:
    r"""Which of comma, semicolon and tab parts the header.

    Args:
        text: the beginning of the sheet.
        skip_rows: rows before the header.
        known: headings that may be expected; they decide where more than one delimiter parts the header.
    Raises: FaultError where none or more than one does, or the sheet has no header.

    Example:
        >>> delimiter_of("Ref;Width, mm\nW1;1200,5\n", skip_rows=0, known=frozenset({"Ref"}))
        ';'
    """
    headers = {sign: found for sign in NAMES if (found := _header_by(text, sign, skip_rows)) is not None}
    parting = [sign for sign, (_, cells) in headers.items() if len(cells) > 1]
    if len(parting) > 1 and known:
        told = {sign: sum(heading(cell) in known for cell in headers[sign][1]) for sign in parting}
        parting = [sign for sign in parting if told[sign]] or parting
    if len(parting) == 1 or not headers:
        return parting[0] if parting else next(iter(NAMES))
    line, cells = headers[parting[0]] if parting else next(iter(headers.values()))
    if not cells:
        raise FaultError(no_header(line))
    if not parting:
        raise FaultError(
            Fault(
                f"The header has one column, {shown(heading(cells[0]))}: no comma, semicolon or tab in it.",
                "Put the headings first, or state 'skip_rows' in the column map for rows above them.",
                line=line,
            )
        )
    names = " and ".join(NAMES[sign] for sign in parting)
    raise FaultError(
        Fault(
            f"Both {names} part the header; which one is meant cannot be told.",
            "Declare 'delimiter' in the column map.",
            line=line,
        )
    )


def _header_by(text: str, delimiter: str, skip_rows: int) -> tuple[int, list[str]] | None:
    """Line and fields of the header as a delimiter parts it.

    Returns: no fields where there is no header; None where its quotes do not suit the delimiter.
    """
    lines = list(io.StringIO(text, newline="\n"))
    reader = csv.reader(lines, delimiter=delimiter, doublequote=True, strict=True)
    skipped = 0
    while True:
        before = reader.line_num
        try:
            cells = next(reader, None)
        except csv.Error:
            if skipped >= skip_rows:
                return None
            cells = []
        if cells is None:
            return max(before, 1), []
        if skipped >= skip_rows and any(map(str.strip, cells)):
            raw = "".join(lines[before : reader.line_num])
            return None if field_fault(raw, delimiter) else (before + 1, cells)
        skipped += 1
