"""CSV: rows in, raw orders out, grouped by order over the whole sheet and in the order of its rows."""

from collections.abc import Collection, Iterator, Sequence
from contextlib import closing
from typing import BinaryIO, Final

from sawready.model.finding import Cell, Finding
from sawready.model.pointer import pointer
from sawready.order_schema import MOST_OPENINGS
from sawready.readers.column_map import ColumnMap
from sawready.readers.columns import BY_NAME
from sawready.readers.csv_apart import ApartRows, Entry, Spread
from sawready.readers.csv_door import Sheet, Tally
from sawready.readers.csv_firm import FirmRows, Told, split_pair, struck_out
from sawready.readers.csv_plan import SOURCE, Group, PairPlaces, Plan, Values
from sawready.readers.fault import Fault, FaultError, excerpt, shown
from sawready.readers.raw import RawOrder, Skipped, Unreadable, refused

MOST_HELD_BYTES: Final = 8 * 1024 * 1024
"""A sheet up to this size is held, compactly, to its end; a larger one is read twice where it can be."""

MOST_LISTED: Final = 1000
"""Skipped rows that are kept with their text; beyond it they are only counted."""


class SheetOrders(Iterator[RawOrder | Unreadable]):
    """The orders of one sheet, once.

    A sheet may spread an order's rows anywhere, so an order is complete only when its last row is read.
    A small sheet is held to its end. A large one that can be read twice is: first to see which orders
    have rows apart from each other, which are then brought together on disk, and then for the orders, of
    which one at a time is held.

    Attributes:
        source: its name in what comes out.
        skipped: rows that hold no opening: headings repeated and, in a firm's own sheet, totals and titles.
        skipped_rows: how many, by kind.
        rows_too_many: rows of orders that were refused because they have too many.
        groups: the rows of each order as they are held, and refused rows; what the sheet is iterated for
            comes from it, so that either is taken, not both.
    """

    def __init__(
        self,
        stream: BinaryIO,
        *,
        source: str,
        column_map: ColumnMap | None = None,
        supplied: Collection[str] = (),
        units: str | None = None,
        number_style: str | None = None,
    ) -> None:
        """Reads the header.

        Args:
            stream: bytes of the sheet.
            source: its name in what comes out.
            column_map: how a firm's own sheet is read.
            supplied: our columns whose values the caller supplies by other means.
            units: the caller's unit for bare numbers, for cells with both sizes.
            number_style: the caller's, for the same.
        Raises: FaultError (an UnreadableError) for a sheet that cannot be read at all.
        """
        self.source = source
        self._stream = stream
        self._map = column_map
        self._supplied = supplied
        self._caller = {"units": units, "number_style": number_style}
        self._start = stream.tell() if stream.seekable() else None
        self._open()
        self.groups: Iterator[Group | Unreadable] = self._read()

    @property
    def tally(self) -> Tally:
        """Where the lines of the sheet went."""
        return self._sheet.tally

    @property
    def plan(self) -> Plan:
        """How rows become orders."""
        return self._plan

    def __next__(self) -> RawOrder | Unreadable:
        """The next order or refused row."""
        item = next(self.groups)
        return item if isinstance(item, Unreadable) else self._plan.order(item, self.source)

    def _read(self) -> Iterator[Group | Unreadable]:
        """Gives the rows of each order, and each refused row, in the order of their first lines.

        Raises: FaultError (an UnreadableError) for bytes that are not of the encoding, and for a sheet
            without a row that could be an opening.
        """
        groups = self._read_twice() if self._is_large() else self._read_once()
        is_empty = True
        for item in groups:
            is_empty = False
            if isinstance(item, Group) and item.count > MOST_OPENINGS:
                yield self._too_many(item)
            else:
                yield item
        if is_empty:
            line = self._sheet.header_line
            raise FaultError(Fault("The sheet has a header, but no openings.", "Add them.", line=line))

    def _read_once(self) -> Iterator[Group | Unreadable]:
        """Holds the sheet to its end."""
        found: list[Group | Unreadable] = []
        groups: dict[str, Group] = {}
        for entry in self._entries():
            if isinstance(entry, Unreadable):
                found.append(entry)
                continue
            group = groups.get(entry[1][0])
            if group is None:
                group = groups[entry[1][0]] = Group()
                found.append(group)
            self._join(group, entry)
        yield from found

    def _read_twice(self) -> Iterator[Group | Unreadable]:
        """Holds one order at a time; those whose rows lie apart come from disk."""
        spread = Spread()
        for entry in self._entries():
            spread.add(None if isinstance(entry, Unreadable) else entry[1][0])
        apart = spread.apart()
        self._open_again()
        if not apart:
            yield from self._in_passing()
            return
        with closing(ApartRows(entry for entry in self._rows() if hash(entry[1][0]) in apart)) as rows:
            self._open_again()
            yield from self._in_passing(apart, rows)

    def _in_passing(
        self, apart: Collection[int] = (), rows: ApartRows | None = None
    ) -> Iterator[Group | Unreadable]:
        """Gives each order when something else begins; one with rows apart where its first row is."""
        nothing = (0, "")
        firsts = iter(()) if rows is None else rows.first_lines()
        first_line, order_ref = next(firsts, nothing)
        group = Group()
        for entry in self._entries():
            if isinstance(entry, Unreadable):
                if group.count:
                    yield group
                    group = Group()
                yield entry
                continue
            name = entry[1][0]
            if group.count and group.head[0] == name:
                if entry[0] > group.lines[-1]:  # else it was brought together with the others
                    self._join(group, entry)
                continue
            if group.count:
                yield group
                group = Group()
            if rows is None or hash(name) not in apart:
                self._join(group, entry)
            elif entry[0] == first_line:
                for each in rows.of(order_ref):
                    self._join(group, each)
                first_line, order_ref = next(firsts, nothing)
        if group.count:
            yield group

    def _join(self, group: Group, entry: Entry) -> None:
        """Adds a row to its order."""
        line, values, told = entry
        if told:
            self._say(group, line, told)
        group.add(line, *self._plan.parted(values))

    def _rows(self) -> Iterator[Entry]:
        """Rows that hold openings, without those that are refused."""
        return (entry for entry in self._entries() if not isinstance(entry, Unreadable))

    def _open_again(self) -> None:
        """Goes back to the sheet's beginning."""
        self._stream.seek(self._start or 0)
        self._open()

    def _open(self) -> None:
        """Begins the sheet, or begins it again."""
        self.skipped: list[Skipped] = []
        self.skipped_rows: dict[str, int] = {}
        self.rows_too_many = 0
        column_map = self._map or ColumnMap("")
        self._sheet = Sheet(
            self._stream,
            source=self.source,
            encoding=column_map.encoding,
            delimiter=column_map.delimiter,
            skip_rows=column_map.skip_rows,
            known=column_map.headings or BY_NAME,
        )
        self._plan = Plan(
            self._sheet.header,
            line=self._sheet.header_line,
            column_map=self._map,
            supplied=self._supplied,
        )
        self._firm = FirmRows(self._sheet.header, column_map.headings) if column_map.columns else None

    def _is_large(self) -> bool:
        """Whether the sheet can be read twice, and is too large to be held."""
        if self._start is None:
            return False
        here = self._stream.tell()
        end = self._stream.seek(0, 2)
        self._stream.seek(here)
        return end - self._start > MOST_HELD_BYTES

    def _entries(self) -> Iterator[Entry | Unreadable]:
        """Rows that hold openings, as values."""
        values_of, unnamed, firm = self._plan.values, self._plan.unnamed, self._firm
        pair, header = self._plan.pair, self._sheet.header_cells
        for row in self._sheet:
            if isinstance(row, Unreadable):
                yield row
                continue
            line, cells = row
            if cells == header:
                self._skip(line, "heading", cells)
                continue
            told: tuple[Told, ...] = ()
            if unnamed and (number := next((at for at in unnamed if cells[at].strip()), None)) is not None:
                yield self._refused(_unnamed(number, cells[number]), line, cells)
                continue
            if firm is not None:
                kind = firm.kind(cells)
                if kind == "note":
                    yield self._refused(_note(cells), line, cells)
                    continue
                if kind == "struck":
                    told = (struck_out(*self._plan.reference(cells)),)
                elif kind != "data":
                    self._skip(line, kind, cells)
                    continue
            values = values_of(cells)
            if not values[0]:
                yield self._refused(_no_order(self._plan.headings[0]), line, cells)
                continue
            if pair is not None:
                values, more = self._split(values, pair)
                told += more
            yield line, values, told

    def _split(self, values: Values, pair: PairPlaces) -> tuple[Values, tuple[Told, ...]]:
        """Values with both sizes, which stand in one cell, in their own places."""
        width, height, told = split_pair(
            values[pair.width],
            order=pair.order,
            units=self._plan.value("units", values) or self._caller["units"],
            number_style=self._plan.value("number_style", values) or self._caller["number_style"],
            column=pair.heading,
        )
        parted = list(values)
        parted[pair.width], parted[pair.height] = width, height
        return tuple(parted), told

    def _say(self, group: Group, line: int, told: tuple[Told, ...]) -> None:
        """Adds what is said of a row to the order that it begins or joins."""
        for item in told:
            group.problems.append(
                Finding(
                    reason=item.reason,
                    severity=item.severity,
                    at=pointer("openings", group.count, *item.path),
                    message=item.message,
                    candidates=item.candidates,
                    remedy=item.remedy,
                    source=SOURCE,
                    cell=Cell(line, item.column),
                )
            )

    def _too_many(self, group: Group) -> Unreadable:
        self.rows_too_many += group.count
        fault = Fault(
            f"Order {shown(group.head[0])} has {group.count} rows; {MOST_OPENINGS} openings are the most.",
            "Part it into several orders.",
            column=self._plan.headings[0],
        )
        return refused(fault, source=self.source, line=group.lines[0], lines=group.count)

    def _refused(self, fault: Fault, line: int, cells: Sequence[str]) -> Unreadable:
        """A row that the sheet read, but that is no opening of any order."""
        lines = self._take_back(cells)
        self.tally.refused += lines
        kept = excerpt(self._sheet.delimiter.join(cells))
        return refused(fault, source=self.source, line=line, excerpt=kept, lines=lines)

    def _skip(self, line: int, kind: str, cells: Sequence[str]) -> None:
        """Notes a row that holds no opening."""
        lines = self._take_back(cells)
        self.tally.skipped += lines
        self.skipped_rows[kind] = self.skipped_rows.get(kind, 0) + 1
        if len(self.skipped) < MOST_LISTED:
            text = " ".join(cell.strip() for cell in cells if cell.strip())
            self.skipped.append(Skipped(line, kind, excerpt(text), lines))

    def _take_back(self, cells: Sequence[str]) -> int:
        """Takes a row that the sheet gave out from its rows. Returns: how many lines it has."""
        lines = 1 + sum(cell.count("\n") for cell in cells)
        self.tally.rows -= 1
        self.tally.read -= lines
        return lines


def _unnamed(number: int, cell: str) -> Fault:
    return Fault(
        f"Column {number + 1} has no heading, but the row has {shown(cell)} in it.",
        "Give the column a heading, or clear the cell.",
        column=str(number + 1),
    )


def _no_order(heading: str | None) -> Fault:
    return Fault(
        f"Column {heading} is blank, so the row belongs to no order.",
        "State the order in every row; it is not carried down.",
        column=heading,
    )


def _note(cells: Sequence[str]) -> Fault:
    text = " ".join(cell.strip() for cell in cells if cell.strip())
    return Fault(
        f"The row is a note, {shown(text)}, and may change the sizes of other rows.",
        "Put what it says into the rows that it is about, and take it out.",
    )
