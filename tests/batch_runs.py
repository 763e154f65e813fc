"""A run of the command in this process, and what its folder holds; shared by the tests of the batch."""

import hashlib
import io
import json
from pathlib import Path
from typing import Any

from sawready.batch.run import Batch
from sawready.batch.settings import RunSettings
from sawready.batch.tally import Tally
from sawready.cli.check import _Lines
from sawready.normalise import CallerDefaults


class Kept(_Lines):
    """Standard output that is kept."""

    def __init__(self) -> None:
        self.lines = b""
        self.changes: Any = None

    def write(self, lines: bytes, told: Any) -> None:  # noqa: ARG002 - called as the folder is
        """Keeps lines."""
        self.lines += lines

    def close(self, tally: Tally, changes: Any) -> None:  # noqa: ARG002 - called as the folder is
        """Keeps the changes."""
        self.changes = changes


def run(*paths: Path, out: Path | None = None, settings: RunSettings | None = None, **options: Any) -> Kept:
    """A run over some files, in chunks of few openings."""
    options.setdefault("chunk_openings", 7)
    kept = Kept()
    batch = Batch(tuple(map(str, paths)), settings or RunSettings(CallerDefaults()), out, **options)
    batch.run(kept, stdin=io.BytesIO(), stderr=io.StringIO())
    return kept


def content(folder: Path) -> dict[str, str]:
    """Digest of each file of a folder."""
    return {path.name: hashlib.sha256(path.read_bytes()).hexdigest() for path in sorted(folder.iterdir())}


def summary(folder: Path) -> dict[str, Any]:
    """The counts of a run."""
    return json.loads((folder / "summary.json").read_text(encoding="utf-8"))
