"""A mistake in a settings file, told by file, line and key, and the error that carries all of them."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from sawready.errors import CatalogueError

MOST_TOLD: Final = 50
"""A file with more mistakes than this is probably another kind of file; the count is told all the same."""

Path = tuple[str | int, ...]
"""Keys and list places (from 0) that lead from the top of a file to a value."""


@dataclass(frozen=True, slots=True)
class Fault:
    """One mistake in a file.

    Attributes:
        name: the file as its user named it.
        line: line from 1; None where the fault has no place.
        path: where in the file's tree.
        message: value, limit and remedy in one or two sentences.
    """

    name: str
    line: int | None
    path: Path
    message: str

    def __str__(self) -> str:
        place = self.name if self.line is None else f"{self.name}, line {self.line}"
        key = path_text(self.path)
        return f"{place}: {key}: {self.message}" if key else f"{place}: {self.message}"


def path_text(path: Path) -> str:
    """A path as people read it, list places counted from 1.

    Example:
        >>> path_text(("beads", 2, "unit_mm"))
        'beads row 3, unit_mm'
        >>> path_text(("profiles", "frame", "face_mm"))
        'profiles.frame.face_mm'
    """
    text = ""
    after_row = False
    for step in path:
        if isinstance(step, int):
            text += f" row {step + 1}" if text else f"row {step + 1}"
            after_row = True
        else:
            joint = (", " if after_row else ".") if text else ""
            text += f"{joint}{step}"
            after_row = False
    return text


def faults_text(faults: Iterable[Fault]) -> str:
    """All mistakes of a file, one a line, in the order of their lines."""
    told = sorted(faults, key=lambda fault: (fault.line is not None, fault.line or 0))
    lines = [str(fault) for fault in told[:MOST_TOLD]]
    if len(told) > MOST_TOLD:
        lines.append(f"and {len(told) - MOST_TOLD} more mistakes in this file")
    return "\n".join(lines)


class CatalogueFileError(CatalogueError):
    """A system or rulebook file with mistakes.

    Attributes:
        faults: every mistake found, each with its line.
    """

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__(faults_text(self.faults))
