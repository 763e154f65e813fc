"""The door for CSV: bytes in, rows of text with their physical lines out, memory steady.

The csv module of the standard library reads the rows, strictly. Around it: encodings, the delimiter, the
header, limits, and a place for every fault. A row that cannot be read is refused alone.

Source: RFC 4180, section 2; semicolon, tab and other encodings than ASCII are beyond it.
"""

import csv
import io
from collections.abc import Iterable, Iterator
from contextlib import suppress
from dataclasses import dataclass, replace
from itertools import chain
from typing import BinaryIO, Final

from sawready.readers.csv_faults import (
    MOST_FIELD,
    control_fault,
    field_fault,
    in_words,
    legal,
    wrong_length,
)
from sawready.readers.csv_header import delimiter_of, header_fault, heading, no_header
from sawready.readers.csv_text import PIECE_BYTES, LineTooLongError, Readable, TextPieces
from sawready.readers.fault import Fault, FaultError, excerpt
from sawready.readers.raw import Unreadable, refused

MOST_PIECES: Final = 32
"""Pieces of 64 KiB that one row may run through before a quote in it counts as never closed."""

Row = tuple[int, list[str]]
"""Physical line where the row begins, and its fields as written."""


@dataclass(slots=True)
class Tally:
    """Where the physical lines of a sheet went; their sum is all of them once it is read.

    Attributes:
        rows: rows given out.
        read: lines of those rows.
        header: lines of the header.
        above: lines before the header.
        blank: lines of blank rows.
        skipped: lines of rows that hold no opening, such as totals.
        refused: lines of rows that could not be read.
    """

    rows: int = 0
    read: int = 0
    header: int = 0
    above: int = 0
    blank: int = 0
    skipped: int = 0
    refused: int = 0

    @property
    def lines(self) -> int:
        """All lines so far."""
        return self.read + self.header + self.above + self.blank + self.skipped + self.refused


class Sheet:
    """A sheet whose header has been read; iterate for its rows, once.

    Attributes:
        source: its name in what comes out.
        header: the headings, white space tidied; unnamed columns are ``""``.
        header_line: physical line of the header.
        header_cells: the headings as written.
        delimiter: comma, semicolon or tab.
        encoding: the codec of its text.
        tally: where its lines went.
    """

    def __init__(
        self,
        stream: BinaryIO | Readable,
        *,
        source: str,
        encoding: str | None = None,
        delimiter: str | None = None,
        skip_rows: int = 0,
        known: Iterable[str] = (),
    ) -> None:
        """Reads up to the header.

        Args:
            stream: bytes; read forward only.
            source: its name in what comes out.
            encoding: declared codec, a value of ``csv_text.ENCODINGS``.
            delimiter: declared delimiter; None to tell it by the header.
            skip_rows: rows before the header, blank ones counted.
            known: headings that may be expected; they settle which delimiter it is.
        Raises: FaultError (an UnreadableError) for an empty sheet, bytes that are not of the encoding, no
            header, a delimiter that cannot be told, headings given twice and more than 120 columns.
        """
        self.source = source
        self.tally = Tally()
        self.header: tuple[str, ...] = ()
        self.header_cells: list[str] = []
        self._pieces = TextPieces(stream, encoding=encoding)
        self.encoding = self._pieces.encoding
        self._supply = iter(self._pieces)
        self._held: list[_Held] = []
        self._row_line = 1
        self._doubt = False
        first = next(self._supply, "")
        self.delimiter = delimiter or delimiter_of(first, skip_rows=skip_rows, known=frozenset(known))
        self._legal = legal(self.delimiter)
        self._hold(first)
        self._reader = csv.reader(
            chain.from_iterable(self._texts(first)), delimiter=self.delimiter, doublequote=True, strict=True
        )
        for _ in range(skip_rows):
            self._pass_over()
        self.header_line = self._read_header()

    def __iter__(self) -> Iterator[Row | Unreadable]:
        """Gives each row that is not blank, or what was refused in its place.

        Raises: FaultError (an UnreadableError) for bytes that are not of the encoding.
        """
        while True:
            try:
                yield from self._rows()
            except csv.Error:
                self._doubt = True  # what was judged of the piece took the row for whole
                first, last = self._row_line, self._reader.line_num
                fault, is_end = self._csv_fault(first, last)
            except LineTooLongError as trouble:
                first = last = self._row_line
                fault, is_end = trouble.fault, True
            else:
                return
            yield self._refuse(fault, first, last, to_end=is_end)
            if is_end:
                return

    def raw(self, first: int, last: int) -> str:
        """The text of lines that were read last, as far as it is still held."""
        return "".join("".join(held.lines(first, last)) for held in self._held)

    def _rows(self) -> Iterator[Row | Unreadable]:
        """Rows up to the next one that the csv module refuses."""
        reader, tally, width, strip = self._reader, self.tally, len(self.header), str.strip
        line = self._row_line
        for cells in reader:
            last = reader.line_num
            if not any(map(strip, cells)):
                tally.blank += last - line + 1
            elif (self._doubt or last != line) and (doubt := self._doubtful(cells, line, last)):
                yield self._refuse(doubt, line, last)
            elif len(cells) != width:
                lines = last - line + 1
                fault = wrong_length(cells, width, delimiter=self.delimiter, lines=lines)
                yield self._refuse(fault, line, last)
            else:
                tally.rows += 1
                tally.read += last - line + 1
                yield line, cells
            self._row_line = line = last + 1

    def _refuse(self, fault: Fault, first: int, last: int, *, to_end: bool = False) -> Unreadable:
        """A refused row, with all lines to the sheet's end where they are lost with it."""
        kept = excerpt(self.raw(first, last))
        if to_end:
            last = max(last, self._pieces.lines_to_end())
        self.tally.refused += last - first + 1
        self._row_line = last + 1
        return refused(fault, source=self.source, line=first, excerpt=kept, lines=last - first + 1)

    def _doubtful(self, cells: list[str], first: int, last: int) -> Fault | None:
        """What is wrong with a row that may be: its quotes, long fields, hidden characters."""
        spot = field_fault(self.raw(first, last), self.delimiter)
        if spot is not None:
            return in_words(spot, line=first, column=self._column(spot.field))
        return control_fault(cells, [self._column(number) for number in range(len(cells))])

    def _csv_fault(self, first: int, last: int) -> tuple[Fault, bool]:
        """Why the csv module refuses a row, and whether the rest of the sheet is lost with it."""
        spot = field_fault(self.raw(first, last), self.delimiter)
        if spot is None:
            return Fault("The row cannot be read as CSV.", "Check its quotes and line ends."), False
        return in_words(spot, line=first, column=self._column(spot.field)), spot.kind == "open"

    def _column(self, number: int) -> str:
        """Heading of a column, or its number where it has none."""
        name = self.header[number] if number < len(self.header) else ""
        return name or str(number + 1)

    def _texts(self, first: str) -> Iterator[io.StringIO]:
        """The text piece by piece, to be cut at line feeds and nowhere else."""
        yield io.StringIO(first, newline="\n")
        for piece in self._supply:
            self._hold(piece)
            yield io.StringIO(piece, newline="\n")

    def _hold(self, piece: str) -> None:
        """Keeps the text of the row at hand, and looks at a new piece as a whole."""
        while self._held and self._held[0].end <= self._row_line:
            self._held.pop(0)
        self._held.append(_Held(self._pieces.line, piece))
        if len(self._held) > MOST_PIECES:
            raise LineTooLongError(
                Fault(
                    f"The row is longer than {MOST_PIECES * PIECE_BYTES // 1024**2} MiB; "
                    "no row from here on was read.",
                    "Close the quote that makes it run on.",
                    line=self._row_line,
                )
            )
        newline = piece.find("\n")
        self._doubt = (
            self._row_line != self._pieces.line
            or self._pieces.has_control
            or (len(piece) if newline < 0 else newline) > MOST_FIELD
            or ('"' in piece and self._legal.fullmatch(piece) is None)
        )

    def _pass_over(self) -> None:
        """Passes over one row before the header, whatever is in it."""
        self._doubt = True
        with suppress(csv.Error):
            next(self._reader, None)
        last = self._reader.line_num
        self.tally.above += last - self._row_line + 1
        self._row_line = last + 1

    def _read_header(self) -> int:
        """Reads past blank rows and the header. Returns: its physical line."""
        while True:
            line = self._row_line
            try:
                cells = next(self._reader, None)
            except csv.Error:
                raise FaultError(self._csv_fault(line, self._reader.line_num)[0]) from None
            last = self._reader.line_num
            self._row_line = last + 1
            if cells is None:
                raise FaultError(no_header(max(last, 1)))
            if any(map(str.strip, cells)):
                break
            self.tally.blank += last - line + 1
        spot = field_fault(self.raw(line, last), self.delimiter)
        if spot is not None:
            raise FaultError(in_words(spot, line=line, column=str(spot.field + 1)))
        self.header_cells = cells
        self.header = tuple(heading(cell) for cell in cells)
        fault = header_fault(cells, self.header)
        if fault is not None:
            raise FaultError(replace(fault, line=line))
        self.tally.header += last - line + 1
        return line


class _Held:
    """A piece of text whose lines may still be asked for; cut into lines only when they are."""

    __slots__ = ("_lines", "begin", "end", "piece")

    def __init__(self, begin: int, piece: str) -> None:
        self.begin = begin
        self.end = begin + piece.count("\n")
        self.piece = piece
        self._lines: list[str] | None = None

    def lines(self, first: int, last: int) -> list[str]:
        """Those of the lines that lie in this piece."""
        if last < self.begin or first > self.end:
            return []
        if self._lines is None:
            self._lines = list(io.StringIO(self.piece, newline="\n"))
        return self._lines[max(first - self.begin, 0) : last - self.begin + 1]
