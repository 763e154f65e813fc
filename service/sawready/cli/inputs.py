"""Finds the input of a check: files, folders, standard input, and the column map beside a sheet."""

import io
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO, Final

from sawready.errors import SettingsError
from sawready.readers.raw import Kind

SUFFIXES: Final[dict[str, Kind]] = {".csv": "csv", ".json": "json", ".ndjson": "ndjson", ".jsonl": "ndjson"}
MAP_SUFFIX: Final = ".columns.yaml"
STDIN: Final = "-"
_PEEK: Final = 4096


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
        """The bytes, and what kind they are.

        Raises: OSError where the file cannot be opened.
        """
        if self.path is not None and self.kind is not None:
            return self.path.open("rb"), self.kind
        stream = io.BufferedReader(stdin) if isinstance(stdin, io.RawIOBase) else stdin
        return _shown_kind(stream, self.kind)


def _shown_kind(stream: BinaryIO, kind: Kind | None) -> tuple[BinaryIO, Kind]:
    """Tells what standard input holds by how it begins."""
    data = stream.read()
    if kind is None:
        start = data[:_PEEK].removeprefix(b"\xef\xbb\xbf").lstrip()
        if start[:1] not in (b"{", b"["):
            kind = "csv"
        else:
            first_line = data.lstrip().split(b"\n", 1)
            is_lines = len(first_line) > 1 and first_line[0].rstrip().endswith(b"}") and first_line[1].strip()
            kind = "ndjson" if start[:1] == b"{" and is_lines else "json"
    return io.BytesIO(data), kind


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
                raise SettingsError(f"{text}: the name does not tell what it holds; name it {known}, or give it as -")
            yield _file(path)
        else:
            raise SettingsError(f"{text}: no such file or folder")


def _file(path: Path) -> Input:
    beside = path.with_name(path.stem + MAP_SUFFIX)
    return Input(str(path), path, SUFFIXES[path.suffix.lower()], beside if beside.is_file() else None)
