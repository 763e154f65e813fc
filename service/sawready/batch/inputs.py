"""Finds the input of a run: files, folders, standard input, and the column map beside a sheet."""

import shutil
import tempfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import IO, BinaryIO, Final, cast

from sawready.errors import SettingsError
from sawready.readers.marks import UTF8_BOM
from sawready.readers.raw import Kind

SUFFIXES: Final[dict[str, Kind]] = {".csv": "csv", ".json": "json", ".ndjson": "ndjson", ".jsonl": "ndjson"}
MAP_SUFFIX: Final = ".columns.yaml"
STDIN: Final = "-"

MOST_HELD_STDIN: Final = 8 * 1024 * 1024
"""Standard input up to this size is held in memory, more of it in a temporary file."""

_MOST_FIRST_LINE: Final = 1024 * 1024


@dataclass(frozen=True, slots=True)
class Input:
    """One thing to read.

    Attributes:
        name: as messages name it.
        path: the file; None for standard input.
        kind: csv, json or ndjson; None where standard input has to show it.
        map_path: column map that lies beside the sheet, if any.
    """

    name: str
    path: Path | None
    kind: Kind | None
    map_path: Path | None = None

    def open(self, stdin: BinaryIO) -> tuple[BinaryIO, Kind]:
        """The bytes, and what kind they are. Standard input is kept whole, so that it can be read twice.

        Raises: OSError where the file cannot be opened.
        """
        if self.path is not None and self.kind is not None:
            return self.path.open("rb"), self.kind
        kept = held(stdin)
        return kept, self.kind or shown_kind(kept)


def held(stdin: BinaryIO) -> BinaryIO:
    """All of standard input from its beginning, in a form that can go back; a large one on disk."""
    kept = tempfile.SpooledTemporaryFile(max_size=MOST_HELD_STDIN)  # noqa: SIM115 - the caller closes it
    shutil.copyfileobj(stdin, kept)
    kept.seek(0)
    return cast("BinaryIO", kept)


def shown_kind(stream: IO[bytes]) -> Kind:
    """Tells what a stream holds by how it begins; it stands at its beginning again afterwards."""
    start = stream.tell()
    first = _next_line(stream).removeprefix(UTF8_BOM).lstrip()
    while not first and (line := _next_line(stream)):
        first = line.lstrip()
    kind: Kind = "csv"
    if first[:1] == b"[":
        kind = "json"
    elif first[:1] == b"{":
        kind = "json"
        if first.rstrip().endswith(b"}"):
            while line := _next_line(stream):
                if line.strip():
                    kind = "ndjson"
                    break
    stream.seek(start)
    return kind


def _next_line(stream: IO[bytes]) -> bytes:
    return stream.readline(_MOST_FIRST_LINE)


def find_inputs(paths: Sequence[str]) -> Iterator[Input]:
    """Everything that the paths name, folders in the order of their file names.

    A folder gives its own .csv, .json, .ndjson and .jsonl files; folders inside it are not entered. A
    sheet ``x.csv`` is read through ``x.columns.yaml`` where that lies beside it.

    Raises: SettingsError for a path that is not there, or a file whose kind its name does not tell.
    """
    for text in paths:
        if text == STDIN:
            yield Input("<stdin>", None, None)
            continue
        path = Path(text)
        if path.is_dir():
            for entry in sorted(path.iterdir()):
                if entry.is_file() and entry.suffix.lower() in SUFFIXES and not entry.name.startswith("."):
                    yield _file(entry)
        elif path.is_file():
            if path.suffix.lower() not in SUFFIXES:
                known = ", ".join(SUFFIXES)
                raise SettingsError(
                    f"{text}: the name does not tell what it holds; name it {known}, or give it as -"
                )
            yield _file(path)
        else:
            raise SettingsError(f"{text}: no such file or folder")


def passed_over(paths: Sequence[str]) -> list[str]:
    """Files of the folders named that are no input of ours, so that a forgotten spreadsheet is seen."""
    found: list[str] = []
    for text in paths:
        path = Path(text)
        if text != STDIN and path.is_dir():
            found += [
                str(entry)
                for entry in sorted(path.iterdir())
                if entry.is_file()
                and entry.suffix.lower() not in SUFFIXES
                and not entry.name.startswith(".")
                and not entry.name.endswith(MAP_SUFFIX)
            ]
    return found


def _file(path: Path) -> Input:
    beside = path.with_name(path.stem + MAP_SUFFIX)
    name = str(path).encode("utf-8", "replace").decode()  # a name of odd bytes is written with question marks
    return Input(name, path, SUFFIXES[path.suffix.lower()], beside if beside.is_file() else None)
