"""What is wrong with one row of a sheet: a scan of its text by RFC 4180, for rows under suspicion.

The csv module reads the rows; it takes quotes inside bare fields, and its errors name no place. So a row
that it refuses, or whose quotes look odd, is scanned here.

Source: RFC 4180, section 2, rules 5 to 7.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final, Literal

from sawready.readers.csv_text import CONTROL
from sawready.readers.fault import Fault, character, shown

MOST_FIELD: Final = 64 * 1024
"""Characters of one field; a page of notes has three thousand."""

NAMES: Final = {",": "comma", ";": "semicolon", "\t": "tab"}
"""Delimiters that are recognised, and what they are called."""

_QUOTED: Final = re.compile(r'"[^"]*+(?:""[^"]*+)*+"')

FieldFault = Literal["open", "after", "bare", "return", "long"]


@dataclass(frozen=True, slots=True)
class Spot:
    """A fault in a row's text.

    Attributes:
        kind: ``open`` a quote that is not closed, ``after`` text behind a closing quote, ``bare`` a quote
            inside a field without quotes, ``return`` a carriage return that ends no line, ``long`` more
            than 64 KiB.
        field: number of the field, from 0.
        begun: lines from the row's first to where the field begins.
        line: lines from the row's first to the fault.
        found: the text behind the quote.
    """

    kind: FieldFault
    field: int
    begun: int
    line: int
    found: str = ""


@lru_cache(maxsize=8)
def legal(delimiter: str) -> re.Pattern[str]:
    """Matches whole lines whose quotes all open and close a field. One pass, nothing tried twice."""
    part = re.escape(delimiter)
    return re.compile(
        rf'[^"]*+(?:(?<![^{part}\n])"[^"]*+(?:""[^"]*+)*+"(?=[{part}\r\n]|\Z)[^"]*+)*+', re.DOTALL
    )


@lru_cache(maxsize=8)
def _bare(delimiter: str) -> re.Pattern[str]:
    return re.compile(rf'[^"{re.escape(delimiter)}\r\n]*+')


def field_fault(raw: str, delimiter: str) -> Spot | None:
    """The first fault of quoting or length in one row's text, or None.

    Args:
        raw: the row with its line ends.
        delimiter: what parts its fields.

    Example:
        >>> spot = field_fault('W1,47 1/4",1050', ",")
        >>> spot.kind, spot.field
        ('bare', 1)
    """
    bare = _bare(delimiter)
    at = field = line = 0
    while True:
        begun, start = line, at
        if raw.startswith('"', at):
            match = _QUOTED.match(raw, at)
            if match is None:
                return Spot("open", field, begun, begun)
            line += raw.count("\n", at, match.end())
            at = match.end()
            if at < len(raw) and raw[at] not in (delimiter, "\r", "\n"):
                return Spot("after", field, begun, line, raw[at : at + 20])
        elif match := bare.match(raw, at):
            at = match.end()
            if raw.startswith('"', at):
                return Spot("bare", field, line, line)
        if at - start > MOST_FIELD:
            return Spot("long", field, begun, begun)
        if not raw.startswith(delimiter, at):
            return Spot("return", field, line, line) if raw[at:].strip("\r\n") else None
        at += 1
        field += 1


def in_words(spot: Spot, *, line: int, column: str) -> Fault:
    """A fault that `field_fault` found, in words.

    Args:
        spot: where and what.
        line: physical line where the row begins.
        column: heading of the field, or its number.
    """
    where = line + spot.line
    match spot.kind:
        case "open":
            return Fault(
                f"The quote that opens in column {column} is not closed; no row from here on was read.",
                "Close the quote.",
                line=where,
                column=column,
            )
        case "after":
            begun = f" It opens on line {line + spot.begun}." if spot.begun != spot.line else ""
            return Fault(
                f"Text stands after a closing quote in column {column}: {shown(spot.found)}.{begun}",
                "Close the quote where the field ends, and double a quote that belongs to the text.",
                line=where,
                column=column,
            )
        case "bare":
            return Fault(
                f"A quote stands inside a field without quotes in column {column}.",
                'Put the field in quotes and double the one inside, such as "a ""b"" c".',
                line=where,
                column=column,
            )
        case "return":
            return Fault(
                f"A carriage return that ends no line stands in column {column}.",
                "Save the sheet with CRLF or LF line ends, and put fields with line breaks in quotes.",
                line=where,
                column=column,
            )
        case "long":
            return Fault(
                f"The field in column {column} is longer than {MOST_FIELD // 1024} KiB.",
                "Shorten it, or close the quote that makes it run on.",
                line=where,
                column=column,
            )


def control_fault(cells: Sequence[str], names: Sequence[str]) -> Fault | None:
    """The first cell with a control character, or None."""
    for name, cell in zip(names, cells, strict=True):
        if found := CONTROL.search(cell):
            return Fault(
                f"Column {name} holds {character(found.group())}.", "Take the character out.", column=name
            )
    return None


def wrong_length(cells: Sequence[str], width: int, *, delimiter: str, lines: int) -> Fault:
    """A row with more or fewer fields than the header: its sizes may have shifted."""
    name = NAMES[delimiter]
    detail = f"The row has {len(cells)} fields, the header {width}."
    remedy = f"Give the row {width} fields."
    if len(cells) > width:
        example = " such as 1,200" if delimiter == "," else ""
        detail += f" A {name} inside a value without quotes{example} parts it in two."
        remedy = f"Put a value that holds a {name} in double quotes."
    if lines > 1:
        detail += f" It runs over {lines} lines."
        remedy += " Check that its quotes close."
    return Fault(detail, remedy)
