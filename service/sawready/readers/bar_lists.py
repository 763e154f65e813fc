"""Lists for the saw as sheets: pieces to cut, and old offcuts on the rack.

    pieces:   profile* length_mm* quantity   ends colour order_ref opening_ref part
    offcuts:  profile* length_mm* quantity   colour

One row a length; quantity is 1 where the cell is blank or the column is missing, ends are 90/90. Rows
that cannot be read are refused alone, by line and column, and the rest of the sheet goes on.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import BinaryIO, Final, Generic, TypeVar

from sawready.calc.nesting import ENDS, OldOffcut, Piece
from sawready.calc.nesting.pieces import NM_PER_TENTH
from sawready.lengths import Count, Length, read_length, read_quantity
from sawready.model.finding import REJECT, Cell, Finding
from sawready.readers.csv_door import Sheet
from sawready.readers.fault import Fault, FaultError, nearest, shown
from sawready.readers.raw import Unreadable

PIECE_COLUMNS: Final = (
    "profile", "length_mm", "quantity", "ends", "colour", "order_ref", "opening_ref", "part",
)  # fmt: skip
OFFCUT_COLUMNS: Final = ("profile", "length_mm", "quantity", "colour")
NEEDED: Final = ("profile", "length_mm")

MOST_PIECES_A_ROW: Final = 100_000
"""More pieces of one length than this are a slip; it is some thirty lorries of bars."""

_T = TypeVar("_T", Piece, OldOffcut)


@dataclass(slots=True)
class BarList(Generic[_T]):
    """What a sheet holds.

    Attributes:
        rows: what could be read, in order.
        findings: what could not, each with its line.
    """

    rows: list[_T] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)


def read_pieces(stream: BinaryIO, *, source: str = "<stdin>") -> BarList[Piece]:
    """Pieces of a sheet.

    Args:
        stream: bytes of the sheet.
        source: its name in messages.
    Raises: FaultError (an UnreadableError) where the sheet as a whole cannot be read: no header, a column
        missing, unknown or given twice, bytes of no known encoding.
    """

    def piece(row: Mapping[str, str], length_nm: int, quantity: int, line: int) -> Piece | Finding:
        ends = row.get("ends") or "90/90"
        if ends not in ENDS:
            return _refused(
                line, "ends", f"ends {shown(ends)} are none of {', '.join(ENDS)}.", "State one of these."
            )
        return Piece(
            profile=row["profile"],
            length_nm=length_nm,
            quantity=quantity,
            ends=ends,
            colour=row.get("colour") or None,
            order_ref=row.get("order_ref") or None,
            opening_ref=row.get("opening_ref") or None,
            part=row.get("part") or None,
            cell=Cell(line, "length_mm"),
        )

    return _read(Sheet(stream, source=source, known=PIECE_COLUMNS), PIECE_COLUMNS, piece)


def read_offcuts(stream: BinaryIO, *, source: str = "<stdin>") -> BarList[OldOffcut]:
    """Old offcuts of a sheet; as ``read_pieces``."""

    def offcut(row: Mapping[str, str], length_nm: int, quantity: int, line: int) -> OldOffcut:  # noqa: ARG001 - called alike
        return OldOffcut(row["profile"], length_nm, quantity, row.get("colour") or None)

    return _read(Sheet(stream, source=source, known=OFFCUT_COLUMNS), OFFCUT_COLUMNS, offcut)


def _read(
    sheet: Sheet, columns: tuple[str, ...], make: Callable[[Mapping[str, str], int, int, int], _T | Finding]
) -> BarList[_T]:
    """All rows of a sheet, each made into its thing or a finding."""
    _check_header(sheet, columns)
    read: BarList[_T] = BarList()
    for made in _rows(sheet, make):
        if isinstance(made, Finding):
            read.findings.append(made)
        else:
            read.rows.append(made)
    return read


def _check_header(sheet: Sheet, columns: tuple[str, ...]) -> None:
    """Raises FaultError for a column that is missing or that nothing is known of."""
    for name in sheet.header:
        if name and name not in columns:
            meant = nearest(name, columns)
            remedy = f"Call it {meant}." if meant else f"Take it out; known are {', '.join(columns)}."
            raise FaultError(
                Fault(f"Column {shown(name)} is not known.", remedy, line=sheet.header_line, column=name)
            )
    for name in NEEDED:
        if name not in sheet.header:
            raise FaultError(
                Fault(f"Column {name} is missing.", f"Add a column {name}.", line=sheet.header_line)
            )


def _rows(
    sheet: Sheet, make: Callable[[Mapping[str, str], int, int, int], _T | Finding]
) -> Iterator[_T | Finding]:
    for row in sheet:
        if isinstance(row, Unreadable):
            yield Finding(
                reason=row.reason,
                severity=REJECT,
                at="",
                message=row.detail,
                remedy=row.remedy,
                cell=None if row.line is None else Cell(row.line, row.column),
            )
            continue
        line, cells = row
        named = {name: cell.strip() for name, cell in zip(sheet.header, cells, strict=True) if name}
        length = _length(named["length_mm"], line)
        quantity = _quantity(named.get("quantity", ""), line)
        if not named["profile"]:
            yield _refused(
                line, "profile", "no profile is stated.", "Name the profile of the pieces.", "value-missing"
            )
        elif isinstance(length, Finding):
            yield length
        elif isinstance(quantity, Finding):
            yield quantity
        else:
            yield make(named, length, quantity, line)


def _length(text: str, line: int) -> int | Finding:
    """A length in millimetres. [nm]."""
    read = read_length(text, unit="mm", least_nm=NM_PER_TENTH)
    if isinstance(read, Length):
        return read.nm
    if read is None or not text:
        return _refused(
            line, "length_mm", "no length is stated.", "State it in millimetres.", "value-missing"
        )
    return _refused(line, "length_mm", read.because, read.remedy or "State it in millimetres.", read.reason)


def _quantity(text: str, line: int) -> int | Finding:
    """How many; 1 where nothing is said."""
    if not text:
        return 1
    read = read_quantity(text, most=MOST_PIECES_A_ROW)
    if isinstance(read, Count):
        return read.count
    if read is None:
        return 1
    return _refused(line, "quantity", read.because, "State a whole number of pieces, such as 2.", read.reason)


def _refused(line: int, column: str, because: str, remedy: str, reason: str = "value-unreadable") -> Finding:
    return Finding(
        reason=reason,
        severity=REJECT,
        at="",
        message=because,
        remedy=remedy,
        cell=Cell(line, column),
    )
