"""Finds the place of the first fault in a JSON text: line, column and pointer.

A reader of its own, without recursion, that builds no values. It runs only on text that the fast door
has stopped, and decides what is refused; the fast door may only suspect.

Source: RFC 8259, sections 2 to 7, for the grammar.
"""

import json
import re
from dataclasses import dataclass, field
from typing import Final

from sawready.model.pointer import pointer_of
from sawready.readers.fault import Fault, character, shown

MOST_DEPTH: Final = 32
MOST_INTEGER_DIGITS: Final = 18
"""Fits 64 bits, which is as far as programs agree on integers."""
MOST_DECIMAL_TEXT: Final = 40
MOST_EXPONENT: Final = 30
"""Far past any size, mass or price, and short of numbers that take long to work out."""

MOST_POINTER: Final = 500

_SPACE: Final = re.compile(r"[ \t\n\r]*+")
_IN_STRING: Final = re.compile(
    r'"[^"\\\x00-\x1f\x7f-\x9f]*+(?:\\(?:["\\/bfnrt]|u[0-9a-fA-F]{4})[^"\\\x00-\x1f\x7f-\x9f]*+)*+'
)
"""A string up to its closing quote, or to what may not stand in it."""

_NUMBER: Final = re.compile(r"-?(?:0|[1-9][0-9]*+)(?:\.[0-9]++)?(?:[eE][-+]?[0-9]++)?")
_NUMBER_LIKE: Final = re.compile(r"[-+.0-9a-zA-Z]{1,80}")
_LITERAL: Final = re.compile(r"(?:true|false|null)(?![0-9A-Za-z_])")
_CONSTANT: Final = re.compile(r"-?(?:NaN|Infinity)")
_ESCAPE: Final = re.compile(r"\\(?:u([0-9a-fA-F]{4})|(.))", re.DOTALL)
_KEEP: Final = "\t\n\r"

_UNIQUE_REMEDY: Final = "Write each member once."
_TEXT_REMEDY: Final = "Take the character out; only tab and line ends may stand in a text."


@dataclass(slots=True)
class _Level:
    """One object or list that is open."""

    closing: str
    place: str | int | None
    names: set[str] = field(default_factory=set)


class _Stop(Exception):  # noqa: N818 - no error of the program: it ends the walk
    """The first fault, found."""

    def __init__(self, position: int, detail: str, remedy: str) -> None:
        self.position = position
        self.detail = detail
        self.remedy = remedy


def find_fault(text: str, *, what: str = "body") -> Fault | None:
    """The first fault of a JSON text with its place, or None where there is none.

    Args:
        text: the decoded text.
        what: its name in messages.
    """
    walk = _Walk(text, what)
    try:
        walk.whole()
    except _Stop as stop:
        end = len(text.rstrip(" \t\r\n"))
        line, column = line_and_column(text, min(stop.position, end))
        return Fault(stop.detail, stop.remedy, line=line, column=str(column), pointer=walk.pointer())
    return None


def line_and_column(text: str, position: int) -> tuple[int, int]:
    """Line and column of a position, both from 1, columns in characters."""
    return text.count("\n", 0, position) + 1, position - text.rfind("\n", 0, position)


def number_fault(text: str) -> str | None:
    """Why a number that JSON allows is out of bounds here, or None.

    Example:
        >>> number_fault("1808.5") is None
        True
        >>> number_fault("1e999999")
        'has an exponent beyond 30'
    """
    mantissa, _, exponent = text.lower().partition("e")
    if not exponent and "." not in mantissa:
        digits = len(mantissa.lstrip("-"))
        return None if digits <= MOST_INTEGER_DIGITS else f"has more than {MOST_INTEGER_DIGITS} digits"
    if len(text) > MOST_DECIMAL_TEXT:
        return f"is longer than {MOST_DECIMAL_TEXT} characters"
    if exponent and abs(int(exponent)) > MOST_EXPONENT:
        return f"has an exponent beyond {MOST_EXPONENT}"
    return None


class _Walk:
    """One pass through a text; the open levels tell the pointer."""

    def __init__(self, text: str, what: str) -> None:
        self.text = text
        self.what = what
        self.at = 0
        self.levels: list[_Level] = []

    def pointer(self) -> str:
        """Pointer to where the walk stands, or to a value around it where names are beyond measure."""
        tokens: list[str | int] = []
        room = MOST_POINTER
        for level in self.levels:
            if level.place is None or (room := room - len(str(level.place))) < 0:
                break
            tokens.append(level.place)
        return pointer_of(tokens)

    def whole(self) -> None:
        """Walks one value and the end of the text. Raises: _Stop at the first fault."""
        self.space()
        if self.at == len(self.text):
            raise _Stop(0, f"The {self.what} is empty.", "Send one JSON text.")
        opened = self.value()
        while opened or self.levels:
            opened = self.member() if opened else self.after_value()
        self.space()
        if self.at < len(self.text):
            raise _Stop(
                self.at,
                f"{self.found()} stands after the end of the JSON value.",
                "Send one JSON value, or one a line as NDJSON.",
            )

    def space(self) -> None:
        """Moves past white space."""
        if match := _SPACE.match(self.text, self.at):
            self.at = match.end()

    def found(self) -> str:
        """What stands here, for a message."""
        if self.at >= len(self.text):
            return "the end of the text"
        return character(self.text[self.at])

    def value(self) -> bool:
        """Moves past a plain value, or into an object or list. Returns: whether it opened one."""
        head = self.text[self.at : self.at + 1]
        if head in ("{", "["):
            self.open(head)
            return True
        if head == '"':
            self.string()
        elif match := _LITERAL.match(self.text, self.at):
            self.at = match.end()
        else:
            self.number()
        return False

    def open(self, head: str) -> None:
        """Enters an object or list."""
        if len(self.levels) == MOST_DEPTH:
            raise _Stop(
                self.at,
                f"The {self.what} is nested deeper than {MOST_DEPTH} levels.",
                "Send an order as the schema has it; it needs fewer.",
            )
        self.at += 1
        self.levels.append(_Level("}", None) if head == "{" else _Level("]", 0))

    def member(self) -> bool:
        """Stands where a member or item begins, or where the empty object or list ends."""
        self.space()
        level = self.levels[-1]
        if self.text.startswith(level.closing, self.at):
            self.close()
            return False
        return self.item(level)

    def after_value(self) -> bool:
        """Stands behind a member or item: a comma and the next one, or the end."""
        self.space()
        level = self.levels[-1]
        if self.text.startswith(level.closing, self.at):
            self.close()
            return False
        if not self.text.startswith(",", self.at):
            raise _Stop(
                self.at,
                f"A comma or {level.closing!r} is due here, but {self.found()} stands here.",
                "Close every list and object, and set a comma between two values.",
            )
        self.at += 1
        self.space()
        if isinstance(level.place, int):
            level.place += 1
        return self.item(level)

    def close(self) -> None:
        """Leaves an object or list."""
        self.at += 1
        self.levels.pop()

    def item(self, level: _Level) -> bool:
        """Moves past one member or item, or into its value."""
        if level.closing == "}":
            self.name(level)
            self.space()
            if not self.text.startswith(":", self.at):
                raise _Stop(
                    self.at,
                    f"A colon is due after {shown(str(level.place))}, but {self.found()} stands here.",
                    "Set a colon between name and value.",
                )
            self.at += 1
            self.space()
        return self.value()

    def name(self, level: _Level) -> None:
        """Moves past the name of a member, which must be new."""
        start = self.at
        if not self.text.startswith('"', start):
            raise _Stop(
                start,
                f"A member's name in double quotes is due here, but {self.found()} stands here.",
                "Write names in double quotes, and no comma after the last member.",
            )
        self.string()
        name = str(json.loads(self.text[start : self.at]))
        level.place = name
        if name in level.names:
            raise _Stop(start, f"The member {shown(name)} stands twice in one object.", _UNIQUE_REMEDY)
        level.names.add(name)

    def string(self) -> None:
        """Moves past a string whose characters are all allowed."""
        match = _IN_STRING.match(self.text, self.at)
        end = match.end() if match else self.at
        if not self.text.startswith('"', end):
            raise self.bad_string(end)
        if "\\" in self.text[self.at : end]:
            self.escapes(self.at, end)
        self.at = end + 1

    def escapes(self, start: int, end: int) -> None:
        """Refuses escapes that stand for control characters or for half a character."""
        half: int | None = None
        half_end = -1
        for match in _ESCAPE.finditer(self.text, start, end):
            unit, short = match.groups()
            code = int(unit, 16) if unit else {"b": 8, "f": 12}.get(short, 32)
            if half is not None:
                if 0xDC00 <= code <= 0xDFFF and match.start() == half_end:
                    half = None
                    continue
                raise _lone(half)
            if 0xD800 <= code <= 0xDBFF:
                half, half_end = match.start(), match.end()
            elif 0xDC00 <= code <= 0xDFFF:
                raise _lone(match.start())
            elif is_control(chr(code)):
                raise _control(match.start(), chr(code))
        if half is not None:
            raise _lone(half)

    def bad_string(self, at: int) -> _Stop:
        """Why the string that begins here stops at a place."""
        char = self.text[at : at + 1]
        if not char:
            return _Stop(self.at, "The quote that opens here is never closed.", "Close the quote.")
        if char == "\\":
            return _Stop(at, "A backslash here begins no escape of JSON.", "Write a backslash as \\\\.")
        if char in _KEEP:
            return _Stop(
                at,
                "A text in quotes holds a bare tab or line end, or its closing quote is missing.",
                "Close the quote, or write \\t and \\n.",
            )
        return _control(at, char)

    def number(self) -> None:
        """Moves past a number, or says what stands here instead of a value."""
        constant = _CONSTANT.match(self.text, self.at)
        if constant:
            raise _Stop(
                self.at, f"{constant.group()} is no number of JSON.", "Leave the member out, or send null."
            )
        match = _NUMBER.match(self.text, self.at)
        like = _NUMBER_LIKE.match(self.text, self.at)
        found = shown(like.group()) if like else self.found()
        if match is None:
            raise _Stop(
                self.at,
                f"A value is due here, but {found} stands here.",
                "Write a number, a text in double quotes, true, false, null, an object or a list.",
            )
        if like and like.end() > match.end():
            raise _Stop(
                self.at, f"{found} is no number of JSON.", "Write it as JSON has it, such as 0.5 or -3."
            )
        fault = number_fault(match.group())
        if fault is not None:
            raise _Stop(
                self.at, f"The number {shown(match.group(), 30)} {fault}.", "Send it as it was measured."
            )
        self.at = match.end()


def is_control(char: str) -> bool:
    r"""Whether a character is a control character (C0, DEL, C1) that no text needs.

    Example:
        >>> is_control("\x00"), is_control("\x85"), is_control("\n")
        (True, True, False)
    """
    return (char < " " or "\x7f" <= char <= "\x9f") and char not in _KEEP


def _control(position: int, char: str) -> _Stop:
    return _Stop(position, f"A text holds {character(char)}.", _TEXT_REMEDY)


def _lone(position: int) -> _Stop:
    return _Stop(
        position, "An escape stands for half a character (a lone surrogate).", "Send the text as UTF-8."
    )
