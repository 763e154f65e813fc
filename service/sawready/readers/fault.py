"""What a door refuses: one fault with its place, and the exception that carries it out."""

import difflib
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Final

from sawready.errors import UnreadableError

MOST_EXCERPT: Final = 400
"""Characters of refused text that are kept: enough to find the row again, too few to fill a report."""

MOST_NAME: Final = 60
"""Characters of a name that a message repeats."""


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that a door cannot read.

    Attributes:
        detail: place and value in one sentence.
        remedy: what to do, beginning with a verb.
        line: physical line, from 1.
        column: column name or number.
        pointer: RFC 6901 pointer.
    """

    detail: str
    remedy: str
    line: int | None = None
    column: str | None = None
    pointer: str | None = None

    def moved(self, *, lines: int, columns: int) -> "Fault":
        """The same fault of a part, as seen in the whole: its text began that far down and along."""
        line, column = self.line, self.column
        if column is not None and line == 1:
            column = str(int(column) + columns)
        return replace(self, line=None if line is None else line + lines, column=column)


class FaultError(UnreadableError):
    """Bytes that a door refuses.

    Attributes:
        fault: fact and remedy apart; the ``detail`` of the base class holds both.
    """

    def __init__(self, fault: Fault) -> None:
        super().__init__(
            f"{placed(fault)} {fault.remedy}", line=fault.line, column=fault.column, pointer=fault.pointer
        )
        self.fault = fault


def placed(fault: Fault) -> str:
    """The detail with its line in front, where there is one."""
    if fault.line is None:
        return fault.detail
    return f"Line {fault.line}: {fault.detail}"


def nearest(name: str, known: Iterable[str]) -> str | None:
    """The known name that a misspelt one most likely means, or None.

    Example:
        >>> nearest("Frame-Width", ["frame_width", "frame_height"])
        'frame_width'
    """
    folded = {_folded(word): word for word in known}
    wanted = _folded(name[:MOST_NAME])
    if wanted in folded:
        return folded[wanted]
    found = difflib.get_close_matches(wanted, folded, n=1, cutoff=0.6)
    return folded[found[0]] if found else None


def shown(text: str, most: int = MOST_NAME) -> str:
    r"""A piece of input as a message repeats it: quoted, control characters escaped, long text cut.

    Example:
        >>> shown("a\tb")
        "'a\\tb'"
    """
    return repr(text if len(text) <= most else text[: most - 3] + "...")


def excerpt(text: str) -> str:
    """Refused text as it is kept, cut to a length that a report bears."""
    text = text.rstrip("\r\n")
    return text if len(text) <= MOST_EXCERPT else text[: MOST_EXCERPT - 3] + "..."


def character(text: str) -> str:
    r"""Name of one character for a message.

    Example:
        >>> character("\x00"), character("]")
        ('the control character U+0000', "']'")
    """
    return repr(text) if text.isprintable() else f"the control character U+{ord(text):04X}"


def _folded(name: str) -> str:
    return "_".join(name.casefold().replace("-", " ").replace("_", " ").split())
