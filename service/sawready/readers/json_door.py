"""The door for JSON: bytes in, plain values out, or a refusal that names the place.

The decoder of the standard library keeps the last of two equal members, takes NaN, recurses as deep as
it is led, and reads UTF-16 and half characters. Here it runs with strict hooks behind three cheap looks
at the bytes; whatever they stop is read again by `json_place`, which finds the place of the fault.

Source: RFC 8259; RFC 7493 (I-JSON), section 2, for unique names, whole characters and number bounds.
"""

import json
import re
from decimal import Decimal
from typing import Any, Final

from sawready.readers.fault import Fault, FaultError
from sawready.readers.json_place import (
    MOST_DEPTH,
    MOST_INTEGER_DIGITS,
    find_fault,
    number_fault,
)
from sawready.readers.marks import is_wide

_KEEP_BRACKETS: Final = bytes(code for code in range(256) if code not in b'"[]{}')
_ONE_KIND: Final = bytes.maketrans(b"{}", b"[]")
_DIGITS_ALIKE: Final = bytes.maketrans(b"123456789", b"0" * 9)
_LONG_INTEGER: Final = b"0" * (MOST_INTEGER_DIGITS + 1)
_ESCAPED_ANY: Final = re.compile(rb"\\.", re.DOTALL)
_IN_QUOTES: Final = re.compile(rb'"[^"]*+"')
_DOUBTFUL_ESCAPE: Final = re.compile(r"\\(?:[bf]|u(?:00[0189]|007[fF]|[dD][89a-fA-F]))")
_HIGH_CONTROL: Final = re.compile("[\x7f-\x9f]")


def loads(data: bytes, *, what: str = "body") -> Any:
    """The value of one JSON text.

    Integers come as int, all other numbers as Decimal with the digits that were written.

    Args:
        data: one JSON text in UTF-8; a byte order mark in front is let pass.
        what: name of the text in messages, such as ``body``.
    Returns: dict, list, str, int, Decimal, bool or None.
    Raises: FaultError (an UnreadableError) with line, column and pointer for bytes that are not UTF-8,
        bad JSON, text after the value, a member given twice, NaN and Infinity, nesting deeper than 32,
        integers over 18 digits, decimals out of bounds, half characters (lone surrogates) and control
        characters other than tab, line feed and carriage return.

    Example:
        >>> loads(b'{"widths": [1812, 1808.5]}')
        {'widths': [1812, Decimal('1808.5')]}
    """
    return value_of(text_of(data, what=what), data, what=what)


def value_of(text: str, data: bytes, *, what: str) -> Any:
    """As `loads`, for text that `text_of` made of the bytes."""
    if _is_doubtful(data, text):
        fault = find_fault(text, what=what)
        if fault is not None:
            raise FaultError(fault)
    try:
        return _DECODER.decode(text)
    except (ValueError, RecursionError):
        raise FaultError(find_fault(text, what=what) or _unplaced(what)) from None


def text_of(data: bytes, *, what: str) -> str:
    """Bytes as text: UTF-8 only, the mark in front taken off.

    Raises: FaultError naming the byte and its line, or the encoding that it is instead.
    """
    if is_wide(data):
        raise FaultError(Fault(f"The {what} is UTF-16 or UTF-32 text.", "Send it as UTF-8.", line=1))
    try:
        return data.decode("utf-8").removeprefix("\ufeff")
    except UnicodeDecodeError as trouble:
        before = data[: trouble.start]
        start_of_line = before.rfind(b"\n") + 1
        raise FaultError(
            Fault(
                f"Byte 0x{data[trouble.start]:02X} of the {what} is not UTF-8.",
                "Send the text as UTF-8.",
                line=before.count(b"\n") + 1,
                column=str(len(before[start_of_line:].decode("utf-8", "replace")) + 1),
            )
        ) from None


def _is_doubtful(data: bytes, text: str) -> bool:
    """Whether something in the bytes calls for the slow look: it may still be in order."""
    return (
        _may_be_deep(data)
        or _LONG_INTEGER in data.translate(_DIGITS_ALIKE)
        or b"\x7f" in data
        or (b"\\" in data and _DOUBTFUL_ESCAPE.search(text) is not None)
        or (not text.isascii() and _HIGH_CONTROL.search(text) is not None)
    )


def _may_be_deep(data: bytes) -> bool:
    """Whether nesting may pass the limit: never False where it does. Linear, and without recursion.

    Only brackets and quotes are kept. Two quotes side by side can go, as the brackets around them stay
    inside or outside of a string; what is left between quotes is text. Then each pass takes one level
    of innermost pairs away, so nothing is left after as many passes as the nesting is deep.
    """
    if data.count(b"[") + data.count(b"{") <= MOST_DEPTH:
        return False
    if b"\\" in data:
        data = _ESCAPED_ANY.sub(b"", data)
    brackets = data.translate(_ONE_KIND, _KEEP_BRACKETS).replace(b'""', b"")
    if b'"' in brackets:
        brackets = _IN_QUOTES.sub(b"", brackets)
    for _ in range(MOST_DEPTH):
        if not brackets:
            return False
        brackets = brackets.replace(b"[]", b"")
    return bool(brackets)


class _RefusedError(ValueError):
    """Stops the decoder; `find_fault` then says what and where."""


def _unique(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    members = dict(pairs)
    if len(members) != len(pairs):
        raise _RefusedError
    return members


def _decimal(text: str) -> Decimal:
    if number_fault(text) is not None:
        raise _RefusedError
    return Decimal(text)


def _no_constant(name: str) -> Any:
    raise _RefusedError(name)


def _unplaced(what: str) -> Fault:
    return Fault(f"The {what} is not JSON.", "Send one JSON text in UTF-8.")


_DECODER: Final = json.JSONDecoder(
    object_pairs_hook=_unique, parse_float=_decimal, parse_constant=_no_constant, strict=True
)
