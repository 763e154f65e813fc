"""JSON and NDJSON: bytes in, raw orders out; one bad order or line never stops the rest."""

import json
import re
from collections.abc import Iterator
from dataclasses import replace
from typing import Any, BinaryIO, Final

from sawready.order_schema import MOST_OPENINGS
from sawready.readers.fault import MOST_EXCERPT, Fault, FaultError, excerpt, shown
from sawready.readers.json_door import loads, text_of, value_of
from sawready.readers.marks import UTF8_BOM, is_wide
from sawready.readers.raw import RawOrder, Unreadable, refused

MOST_FILE_BYTES: Final = 64 * 1024 * 1024
"""A JSON file is held in memory as a whole; NDJSON is not, and has no limit."""

MOST_LINE_BYTES: Final = 1024 * 1024
"""One order of NDJSON; an order of 500 openings takes about half of it."""

_STEP: Final = 64 * 1024
_QUOTE: Final = '"'
_SPACE: Final = b" \t\r\n"
_STRUCTURE: Final = re.compile(r'"[^"\\]*+(?:\\.[^"\\]*+)*+"|["\[\]{},]', re.DOTALL)
_NO_ORDER_REMEDY: Final = "Send one order object, or a list of them."


def order_fault(value: Any) -> Fault | None:
    """Why a JSON value is no order at all, or None: an object with a list of 1 to 500 openings is one.

    Whatever else is wrong with an order is for the checks to say.

    Example:
        >>> order_fault({"openings": []}).detail
        'The order has no openings.'
    """
    if not isinstance(value, dict):
        return Fault(f"The value is {_kind(value)} and no order.", _NO_ORDER_REMEDY, pointer="")
    openings = value.get("openings")
    if openings is None or openings == []:
        return Fault("The order has no openings.", "List one or more under openings.", pointer="/openings")
    if not isinstance(openings, list):
        return Fault(
            f"The openings of the order are {_kind(openings)} and no list.",
            "List one or more under openings.",
            pointer="/openings",
        )
    if len(openings) > MOST_OPENINGS:
        return Fault(
            f"The order has {len(openings)} openings; {MOST_OPENINGS} are the most.",
            "Part it into several orders.",
            pointer="/openings",
        )
    return None


def read_json(data: bytes, *, source: str) -> Iterator[RawOrder | Unreadable]:
    """Raw orders of one JSON text: one order object, or a list of them.

    Args:
        data: the whole text in UTF-8.
        source: its name in what comes out.
    Yields: an order, or what was refused in its place: an item of a list that is faulty or no object.
    Raises: FaultError (an UnreadableError) for a single order that `loads` refuses, for text that is
        neither an object nor a list, for an empty list, and for more than 64 MiB.
    """
    if len(data) > MOST_FILE_BYTES:
        raise FaultError(
            Fault(
                f"The file holds more than {MOST_FILE_BYTES // 1024**2} MiB of JSON.",
                "Send the orders as NDJSON, one a line, or in several files.",
            )
        )
    try:
        value = loads(data, what="file")
    except FaultError as trouble:
        text = text_of(data, what="file")
        start = len(text) - len(text.lstrip(" \t\r\n"))
        if not text.startswith("[", start):
            raise
        yield from _one_by_one(text, start, source, trouble)
        return
    if isinstance(value, list):
        if not value:
            raise FaultError(Fault("The file holds a list without orders.", _NO_ORDER_REMEDY, line=1))
        for place, item in enumerate(value):
            yield _order(item, source, place)
    elif fault := order_fault(value):
        raise FaultError(fault)
    else:
        yield RawOrder(value, source)


def read_ndjson(stream: BinaryIO, *, source: str, first_line: int = 1) -> Iterator[RawOrder | Unreadable]:
    """Raw orders of a stream of lines, one order object a line; blank lines are passed over.

    A line ends at a line feed and nowhere else; a carriage return before it is white space of JSON.

    Args:
        stream: bytes in UTF-8; a byte order mark in front is let pass.
        source: its name in what comes out.
        first_line: physical line that the stream begins with, where it is a part of a file.
    Yields: for each line that is not blank, its order, or what was refused: bad JSON, no object, or a
        line over 1 MiB, which is passed over without being held in memory.
    Raises: FaultError (an UnreadableError) where the stream is UTF-16, or holds no line at all.
    """
    number = first_line - 1
    found = False
    while line := stream.readline(MOST_LINE_BYTES + 1):
        number += 1
        is_too_long = len(line) > MOST_LINE_BYTES and not line.endswith(b"\n")
        if number == 1:
            if is_wide(line):
                raise FaultError(Fault("The stream is UTF-16 or UTF-32 text.", "Send it as UTF-8.", line=1))
            line = line.removeprefix(UTF8_BOM)
        if is_too_long:
            found = True
            _pass_over(stream)
            yield refused(
                Fault(
                    f"The line is longer than {MOST_LINE_BYTES // 1024} KiB.",
                    "Send one order a line, and openings of one firm's job only.",
                ),
                source=source,
                line=number,
                excerpt=_kept(line),
            )
        elif line.strip(_SPACE):
            found = True
            yield _line(line, source, number)
    if not found:
        raise FaultError(Fault("The stream holds no order.", "Send one order object a line.", line=1))


def _line(line: bytes, source: str, number: int) -> RawOrder | Unreadable:
    """The order of one line, or why there is none."""
    try:
        value = loads(line.rstrip(b"\r\n"), what="line")
    except FaultError as trouble:
        return refused(
            trouble.fault.moved(lines=number - 1, columns=0),
            source=source,
            line=number,
            excerpt=_kept(line),
        )
    fault = order_fault(value)
    if fault is None:
        return RawOrder(value, source, number)
    return refused(fault, source=source, line=number, excerpt=_kept(line))


def _kept(line: bytes) -> str:
    """What is kept of a refused line."""
    return excerpt(line[: 4 * MOST_EXCERPT].decode("utf-8", "replace"))


def _pass_over(stream: BinaryIO) -> None:
    """Reads to the end of the line, a step at a time."""
    while step := stream.readline(_STEP):
        if step.endswith(b"\n"):
            return


def _order(item: Any, source: str, place: int) -> RawOrder | Unreadable:
    """One item of a list, which has to be an order."""
    fault = order_fault(item)
    if fault is None:
        return RawOrder(item, source)
    fault = replace(fault, detail=f"Item {place + 1} of the list: {fault.detail}")
    kept = json.dumps(item, default=str, ensure_ascii=False) if not isinstance(item, dict | list) else ""
    return refused(fault, source=source, line=None, excerpt=excerpt(kept))


def _one_by_one(text: str, start: int, source: str, whole: FaultError) -> Iterator[RawOrder | Unreadable]:
    """Items of a list of which at least one is faulty, each read by itself.

    Brackets and quotes tell where an item ends. Where they do not close, the items before are read and
    the rest is refused as one.
    """
    spot = _Spot(text)
    begin, open_, place = start + 1, 0, 0
    for match in _STRUCTURE.finditer(text, start + 1):
        sign = match.group()
        if sign in ("[", "{"):
            open_ += 1
        elif sign == _QUOTE:
            break
        elif sign in ("]", "}") and open_:
            open_ -= 1
        elif sign in ("]", "}", ",") and not open_:
            part = text[begin : match.start()]
            if sign != "]" or place or part.strip():
                yield _item(part, spot.at(begin), source, place)
            begin, place = match.end(), place + 1
            if sign == ",":
                continue
            if sign == "}" or text[begin:].strip():
                break
            return
    begin = len(text) - len(text[begin:].lstrip())
    line, column = spot.at(begin)
    yield refused(
        _tail(line, column, whole.fault),
        source=source,
        line=line,
        excerpt=excerpt(text[begin : begin + _STEP].strip()),
        lines=text.rstrip().count("\n", begin) + 1,
    )


class _Spot:
    """Line and column of ever later places in a text, each character counted once."""

    def __init__(self, text: str) -> None:
        self._text = text
        self._counted = 0
        self._line = 1
        self._line_start = 0

    def at(self, position: int) -> tuple[int, int]:
        """Line and column, from 1, of a place that is not before the last one asked for."""
        newest = self._text.rfind("\n", self._counted, position)
        if newest >= 0:
            self._line += self._text.count("\n", self._counted, position)
            self._line_start = newest + 1
        self._counted = position
        return self._line, position - self._line_start + 1


def _tail(line: int, column: int, first: Fault) -> Fault:
    """The fault of what follows a list's last whole item: the file's first fault where it lies there."""
    if first.line and first.column and (first.line, int(first.column)) >= (line, column):
        return first
    return Fault(
        "From here on brackets or quotes do not close; no order after this place was read.",
        "Close every quote, list and object.",
        line=line,
        column=str(column),
    )


def _item(part: str, where: tuple[int, int], source: str, place: int) -> RawOrder | Unreadable:
    """One item of a list from its own text, places counted in the whole file."""
    try:
        value = value_of(part, part.encode("utf-8"), what=f"item {place + 1}")
    except FaultError as trouble:
        line, column = where
        return refused(
            trouble.fault.moved(lines=line - 1, columns=column - 1),
            source=source,
            line=line,
            excerpt=excerpt(part.strip()),
            lines=part.strip().count("\n") + 1,
        )
    return _order(value, source, place)


def _kind(value: Any) -> str:
    """What a value is, in words, for one that should have been an order."""
    match value:
        case None:
            return "null"
        case bool():
            return "true" if value else "false"
        case str():
            return f"the text {shown(value)}"
        case list():
            return "a list"
        case dict():
            return "an object"
        case _:
            return f"the number {value}"
