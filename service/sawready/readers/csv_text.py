"""Bytes of a sheet as text, in pieces of whole lines: encodings, hidden characters, long lines."""

import codecs
import re
from collections.abc import Iterator
from typing import BinaryIO, Final, Protocol

from sawready.readers.fault import Fault, FaultError
from sawready.readers.marks import UTF8_BOM, UTF16_MARKS, UTF32_MARKS, is_wide

PIECE_BYTES: Final = 64 * 1024
MOST_LINE: Final = 1024 * 1024
"""Bytes of one physical line; a row of the widest sheet takes a hundredth of it."""

ENCODINGS: Final = {
    "utf-8": "utf-8",
    "utf8": "utf-8",
    "utf-8-sig": "utf-8",
    "utf-16": "utf-16",
    "utf16": "utf-16",
    "cp1252": "cp1252",
    "windows-1252": "cp1252",
}
"""Names that a column map may declare, and the codec of each."""

CONTROL: Final = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f]")
"""Control characters (C0, DEL, C1) other than tab, line feed and carriage return."""

_CONTROL_BYTES: Final = bytes(code for code in (*range(32), 127) if code not in b"\t\n\r")


class LineTooLongError(FaultError):
    """A line beyond measure: what comes before it stands, the rest of the sheet is not read."""


class Readable(Protocol):
    """What a sheet is read from: a file, standard input, or a request's body."""

    def read(self, size: int, /) -> bytes:
        """At most so many bytes; none at the end."""


class TextPieces:
    """The text of a sheet, piece by piece, each of whole lines (the last one may lack its end).

    Attributes:
        encoding: the codec in use, ``utf-8``, ``utf-16`` or ``cp1252``.
        line: physical line, from 1, where the piece given last begins.
        piece: the piece given last.
        has_control: whether it holds a control character that no text needs.
    """

    def __init__(self, stream: BinaryIO | Readable, *, encoding: str | None = None) -> None:
        """Looks at the first bytes.

        Args:
            stream: bytes; read forward only.
            encoding: declared codec, a value of `ENCODINGS`; None to go by the mark, else UTF-8.
        Raises: FaultError for an empty sheet, and for a mark that contradicts the declared codec.
        """
        head = _read_full(stream, PIECE_BYTES)
        if not head:
            raise FaultError(
                Fault("The sheet is empty.", "Send a sheet with a header row and openings.", line=1)
            )
        self.encoding = _encoding(head, encoding)
        self.line = 1
        self.piece = ""
        self.has_control = False
        self._lines = 0
        self._rest = b""
        self._stream: Readable = stream
        if self.encoding == "utf-16":
            self._stream = _Utf16(head, stream)
            head = self._stream.read(PIECE_BYTES)
        self._head = head.removeprefix(UTF8_BOM) if self.encoding != "cp1252" else head
        self._codec = "utf-8" if self.encoding == "utf-16" else self.encoding

    def __iter__(self) -> Iterator[str]:
        """Gives each piece.

        Raises: FaultError naming line, column and byte where the bytes are not of the encoding, and
            the line for one of more than 1 MiB.
        """
        chunk = self._head
        while chunk:
            cut = chunk.rfind(b"\n") + 1
            if cut:
                yield self._piece(self._rest + chunk[:cut])
                self._rest = chunk[cut:]
            else:
                self._rest += chunk
            if len(self._rest) > MOST_LINE:
                raise LineTooLongError(
                    Fault(
                        f"The line is longer than {MOST_LINE // 1024} KiB; no row from here on was read.",
                        "Check that the file is a sheet with one opening a line.",
                        line=self._lines + 1,
                    )
                )
            chunk = self._stream.read(PIECE_BYTES)
        if self._rest:
            rest, self._rest = self._rest, b""
            yield self._piece(rest)

    def lines_to_end(self) -> int:
        """Reads to the end without a look, and tells how many physical lines the whole sheet has."""
        lines, chunk = self._lines, self._rest
        last = b"\n"
        while chunk:
            lines += chunk.count(b"\n")
            last = chunk[-1:]
            chunk = self._stream.read(PIECE_BYTES)
        return lines + (last != b"\n")

    def _piece(self, data: bytes) -> str:
        """Whole lines as text; keeps count of lines and an eye on hidden characters."""
        try:
            text = data.decode(self._codec)
        except UnicodeDecodeError as trouble:
            raise FaultError(self._bad_byte(data, trouble)) from None
        self.line = self._lines + 1
        self._lines += data.count(b"\n")
        self.has_control = len(data) != len(data.translate(None, _CONTROL_BYTES)) or (
            not text.isascii() and CONTROL.search(text) is not None
        )
        self.piece = text
        return text

    def _bad_byte(self, data: bytes, trouble: UnicodeDecodeError) -> Fault:
        before = data[: trouble.start]
        line_start = before.rfind(b"\n") + 1
        wanted = "Windows-1252" if self._codec == "cp1252" else "UTF-8"
        remedy = "Save the sheet as UTF-8"
        if self._codec == "utf-8":
            remedy += ", or declare 'encoding: cp1252' in the column map if it is Windows-1252"
        place = len(before[line_start:].decode(self._codec, "replace")) + 1
        return Fault(
            f"Byte 0x{data[trouble.start]:02X} at character {place} is not {wanted}; the sheet is refused, "
            "as none of its signs can be trusted.",
            f"{remedy}.",
            line=self._lines + before.count(b"\n") + 1,
        )


def _read_full(stream: Readable, size: int) -> bytes:
    """So many bytes, or all there are; a pipe may give them in drops."""
    parts: list[bytes] = []
    while size > 0 and (part := stream.read(size)):
        parts.append(part)
        size -= len(part)
    return b"".join(parts)


def _encoding(head: bytes, declared: str | None) -> str:
    """The codec of a sheet from its first bytes and what its owner says."""
    if head.startswith(UTF32_MARKS):
        raise FaultError(Fault("The sheet is UTF-32 text.", "Save it as UTF-8.", line=1))
    marked = None
    if head.startswith(UTF16_MARKS):
        marked = "utf-16"
    elif head.startswith(UTF8_BOM):
        marked = "utf-8"
    if declared is not None and marked is not None and declared != marked:
        raise FaultError(
            Fault(
                f"The sheet begins with the byte order mark of {marked.upper()}, but {declared} is declared.",
                "Correct 'encoding' in the column map, or leave it out.",
                line=1,
            )
        )
    if declared == "utf-16" and marked is None:
        raise FaultError(
            Fault("The sheet is declared UTF-16, but has no byte order mark.", "Save it as UTF-8.", line=1)
        )
    if marked is None and is_wide(head):
        raise FaultError(
            Fault(
                "The sheet looks like UTF-16 text without its byte order mark.", "Save it as UTF-8.", line=1
            )
        )
    return marked or declared or "utf-8"


class _Utf16:
    """UTF-16 bytes read as UTF-8 bytes, so that lines are cut alike in every encoding."""

    def __init__(self, head: bytes, stream: Readable) -> None:
        self._decoder = codecs.getincrementaldecoder("utf-16")("strict")
        self._head = head
        self._stream = stream
        self._lines = 1

    def read(self, size: int, /) -> bytes:
        """At least one character unless the stream has ended."""
        while True:
            data, self._head = self._head or self._stream.read(size), b""
            try:
                text = self._decoder.decode(data, final=not data)
                out = text.encode("utf-8")
            except UnicodeDecodeError as trouble:
                before = trouble.object[: trouble.start].decode(trouble.encoding, "replace")
                raise FaultError(
                    Fault(
                        "The sheet is UTF-16 with half a character in it.",
                        "Save the sheet as UTF-8.",
                        line=self._lines + before.count("\n"),
                    )
                ) from None
            self._lines += text.count("\n")
            if out or not data:
                return out
