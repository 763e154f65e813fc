"""The folder of a run: unfinished under names that say so, resumed after a kill, whole or not there.

While a run goes on, its files end in ``.part`` and a journal says how much of them counts. A commit first
brings the files to disk and then adds a line to the journal; whatever lies beyond the last whole line is cut
off by the next run. At the end every file takes its name, and the manifest takes its own last: a folder
with a manifest is whole.
"""

import hashlib
import os
import time
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from types import TracebackType
from typing import IO, Any, Final

import orjson

from sawready.batch.locks import locked
from sawready.batch.settings import digest_of
from sawready.batch.tally import Tally
from sawready.batch.work import RESULTS, TABLES, Checked
from sawready.errors import ServiceError, SettingsError
from sawready.report.as_csv import CUTTING, FINDINGS, GLASS, ORDERS, heading

MANIFEST: Final = "manifest.json"
SUMMARY: Final = "summary.json"
PAGE: Final = "summary.html"
CHANGES: Final = "changes.csv"
JOURNAL: Final = "journal.part"
PART: Final = ".part"

DATA: Final = (RESULTS, *TABLES)
NAMES: Final = (*DATA, SUMMARY, PAGE, CHANGES, MANIFEST)
"""Every file that a run leaves."""

COMMIT_SECONDS: Final = 1.0
COMMIT_BYTES: Final = 64 * 1024 * 1024
_STEP: Final = 1024 * 1024

_HEADINGS: Final[Mapping[str, Sequence[str]]] = {
    "findings.csv": FINDINGS,
    "cutting.csv": CUTTING,
    "glass.csv": GLASS,
    "orders.csv": ORDERS,
}


class OutputError(ServiceError):
    """The folder cannot be written; what it holds stays unfinished and can be resumed."""


@dataclass(slots=True)
class Done:
    """How far an earlier run had come.

    Attributes:
        chunks: chunks whose results are on disk.
        tally: their counts.
        is_whole: nothing is left to do.
    """

    chunks: int = 0
    tally: Tally = field(default_factory=Tally)
    is_whole: bool = False


class OutFolder:
    """The folder of ``--out``.

    Args:
        path: the folder.
        header: what the run depends on: program, settings, input; a run is resumed only under the same.

    Attributes:
        path, header: as given.
    """

    def __init__(self, path: Path, header: Mapping[str, Any]) -> None:
        self.path = path
        self.header = header
        self._files: dict[str, IO[bytes]] = {}
        self._digests = {name: hashlib.sha256() for name in DATA}
        self._sizes = dict.fromkeys(DATA, 0)
        self._journal: IO[bytes] | None = None
        self._pending = Tally()
        self._pending_bytes = 0
        self._chunks = 0
        self._committed_at = time.monotonic()

    def __enter__(self) -> "OutFolder":
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        try:
            # After a failure what has been written so far still counts, as far as the disk takes it.
            if kind is not None and self._journal is not None:
                with suppress(ServiceError):
                    self.commit()
        finally:
            for stream in (*self._files.values(), *([self._journal] if self._journal else [])):
                with suppress(OSError):
                    stream.close()

    def part(self, name: str) -> Path:
        """A file of the run while it goes on."""
        return self.path / f"{name}{PART}"

    def begin(self, *, resume: bool) -> Done:
        """Begins the run, or goes on with the one that was killed.

        Args:
            resume: go on where the same run stopped; begin where there is none.
        Returns: how far it had come.
        Raises: SettingsError where the folder cannot be written, another run is at work in it, or the run
            in it was another one.
        """
        try:
            self.path.mkdir(parents=True, exist_ok=True)
            stream = (self.path / JOURNAL).open("a+b")
        except OSError as error:
            raise SettingsError(f"{self.path}: {error.strerror or 'it cannot be written'}") from error
        if not locked(stream):
            stream.close()
            raise SettingsError(f"{self.path}: another run is writing there. Choose another folder, or wait.")
        self._journal = stream
        with _told(self.path):
            lines = _whole_lines(stream)
            if resume and lines:
                return self._resume(lines)
            if resume and (whole := self._whole()) is not None:
                stream.close()
                self._journal = None
                (self.path / JOURNAL).unlink()
                return whole
            self._begin_anew(stream)
        return Done()

    def _begin_anew(self, stream: IO[bytes]) -> None:
        for name in NAMES:
            self.part(name).unlink(missing_ok=True)
        stream.truncate(0)
        for name in DATA:
            self._files[name] = self.part(name).open("wb")
        for name, columns in _HEADINGS.items():
            self._append(name, heading(columns).encode())
        _append_line(stream, {"run": self.header})
        _sync_folder(self.path)

    def _resume(self, lines: list[dict[str, Any]]) -> Done:
        """Goes on after the last commit of the journal."""
        first, rest = lines[0], lines[1:]
        _refuse_other_run(self.path, first.get("run", {}), self.header)
        done = Done()
        sizes = dict.fromkeys(DATA, 0)
        is_finished = False
        for line in rest:
            if "finished" in line:
                is_finished = True
                continue
            done.chunks = line["chunks"]
            done.tally.add(Tally.of(line["tally"]))
            sizes = line["sizes"]
        if is_finished:
            self._publish()
            return Done(done.chunks, done.tally, is_whole=True)
        if not rest:
            assert self._journal is not None  # noqa: S101 - it holds the lines
            self._begin_anew(self._journal)
            return done
        for name in DATA:
            path, size = self.part(name), sizes[name]
            if not path.exists() or path.stat().st_size < size:
                raise SettingsError(
                    f"{self.path} cannot be resumed: {path.name} is shorter than its journal says. "
                    "Run without --resume."
                )
            stream = self._files[name] = path.open("r+b")
            left = size
            while left and (data := stream.read(min(_STEP, left))):
                self._digests[name].update(data)
                left -= len(data)
            stream.truncate(size)
            stream.seek(size)
            self._sizes[name] = size
        self._chunks = done.chunks
        return done

    def _whole(self) -> Done | None:
        """The counts of a finished run of the same kind that lies here, where its files are all there."""
        try:
            manifest = orjson.loads((self.path / MANIFEST).read_bytes())
        except (OSError, orjson.JSONDecodeError):
            return None
        if manifest.get("run") != self.header:
            return None
        for name, output in manifest["outputs"].items():
            path = self.path / name
            if not path.is_file() or path.stat().st_size != output["bytes"]:
                return None
        return Done(manifest["chunks"], Tally.of(manifest["tally"]), is_whole=True)

    def write(self, checked: Checked) -> None:
        """Adds the outputs of the next chunk; commits now and then.

        Raises: OutputError where the disk does not take them.
        """
        with _told(self.path):
            for name, data in checked.outputs.items():
                self._append(name, data)
        self._pending.add(checked.tally)
        self._chunks = checked.number + 1
        late = time.monotonic() - self._committed_at > COMMIT_SECONDS
        if late or self._pending_bytes > COMMIT_BYTES:
            self.commit()

    def _append(self, name: str, data: bytes) -> None:
        self._files[name].write(data)
        self._digests[name].update(data)
        self._sizes[name] += len(data)
        self._pending_bytes += len(data)

    def commit(self) -> None:
        """Brings everything to disk, and then says so in the journal."""
        if self._journal is None or not self._pending_bytes:
            return
        with _told(self.path):
            for stream in self._files.values():
                _sync(stream)
            _append_line(
                self._journal,
                {"chunks": self._chunks, "sizes": self._sizes, "tally": self._pending.as_dict()},
            )
        self._pending = Tally(size=0)
        self._pending_bytes = 0
        self._committed_at = time.monotonic()

    def finish(self, tally: Tally, more: Mapping[str, bytes | Path]) -> None:
        """Writes what comes last, and gives every file its name.

        Args:
            tally: counts of the whole run.
            more: further files by name: their bytes, or the path where they are written already.
        Raises: OutputError where the disk does not take them.
        """
        self.commit()
        journal = self._journal
        assert journal is not None  # noqa: S101 - the run has begun
        with _told(self.path):
            for stream in self._files.values():
                stream.close()
            outputs = {
                name: {"bytes": self._sizes[name], "sha256": self._digests[name].hexdigest()} for name in DATA
            }
            for name, content in more.items():
                with self.part(name).open("w+b" if isinstance(content, bytes) else "r+b") as stream:
                    if isinstance(content, bytes):
                        stream.write(content)
                    _sync(stream)
                    stream.seek(0)
                    digest = hashlib.file_digest(stream, "sha256")
                    outputs[name] = {"bytes": stream.tell(), "sha256": digest.hexdigest()}
            manifest = {
                "run": self.header,
                "chunks": self._chunks,
                "outputs": outputs,
                "tally": tally.as_dict(),
            }
            with self.part(MANIFEST).open("wb") as stream:
                stream.write(orjson.dumps(manifest, option=orjson.OPT_INDENT_2) + b"\n")
                _sync(stream)
            _append_line(journal, {"finished": sorted(outputs)})
            self._publish()

    def _publish(self) -> None:
        """Gives the files their names; done again after a kill, it ends the same."""
        journal = self._journal
        assert journal is not None  # noqa: S101 - the run has begun
        if self.part(MANIFEST).exists():
            (self.path / MANIFEST).unlink(missing_ok=True)
            _sync_folder(self.path)
            for name in NAMES:
                if name == MANIFEST:
                    continue
                if self.part(name).exists():
                    self.part(name).replace(self.path / name)
                elif name == CHANGES and name not in self._named_in_manifest():
                    (self.path / name).unlink(missing_ok=True)
            _sync_folder(self.path)
            self.part(MANIFEST).replace(self.path / MANIFEST)
            _sync_folder(self.path)
        journal.close()
        self._journal = None
        (self.path / JOURNAL).unlink(missing_ok=True)

    def _named_in_manifest(self) -> set[str]:
        return set(orjson.loads(self.part(MANIFEST).read_bytes())["outputs"])


def _refuse_other_run(path: Path, was: Mapping[str, Any], now: Mapping[str, Any]) -> None:
    """Says what has changed since the run that is to be resumed.

    Raises: SettingsError where anything has.
    """
    changed = [name for name in now if was.get(name) != now[name]]
    if not changed:
        return
    words = []
    if "program" in changed:
        words.append("the program")
    if "settings" in changed:
        words.append("the options or files of settings")
    if "chunk_openings" in changed:
        words.append("the size of its chunks")
    if "inputs" in changed:
        before = {each["file"]: each for each in was.get("inputs", [])}
        files = [each["file"] for each in now["inputs"] if before.pop(each["file"], None) != each] + [*before]
        words.append(f"the input ({', '.join(files[:3]) or 'its order'}{' and others' * (len(files) > 3)})")
    raise SettingsError(
        f"{path} cannot be resumed: {' and '.join(words)} changed since. Run without --resume to begin anew."
    )


def file_digest(stream: IO[bytes]) -> tuple[int, str]:
    """Bytes and SHA-256 of a stream from where it stands to its end."""
    whole = hashlib.sha256()
    size = 0
    while data := stream.read(_STEP):
        whole.update(data)
        size += len(data)
    return size, f"sha256:{whole.hexdigest()}"


def _whole_lines(stream: IO[bytes]) -> list[dict[str, Any]]:
    """Lines of a journal up to the first that is not whole, which is cut off with all after it."""
    stream.seek(0)
    found: list[dict[str, Any]] = []
    good = 0
    for line in stream.read().splitlines(keepends=True):
        text, _, digest = line.rstrip(b"\n").rpartition(b"\t")
        if not line.endswith(b"\n") or digest_of(text).encode() != digest:
            break
        found.append(orjson.loads(text))
        good += len(line)
    stream.truncate(good)
    stream.seek(good)
    return found


def _append_line(stream: IO[bytes], data: Mapping[str, Any]) -> None:
    """Adds a line with its digest behind it, so that a torn one shows."""
    text = orjson.dumps(data)
    stream.write(text + b"\t" + digest_of(text).encode() + b"\n")
    _sync(stream)


def _sync(stream: IO[bytes]) -> None:
    stream.flush()
    os.fsync(stream.fileno())


def _sync_folder(path: Path) -> None:
    """Brings names to disk, where the system can be asked to."""
    if os.name != "posix":
        return
    descriptor = os.open(path, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


class _told:  # noqa: N801 - reads as the statement that it is used in
    """Turns an error of the disk into our own, which says that the run can be resumed."""

    def __init__(self, path: Path) -> None:
        self._path = path

    def __enter__(self) -> None:
        pass

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if isinstance(error, OSError):
            raise OutputError(
                f"{self._path}: {error.strerror or error}. What is written so far counts; "
                "make room, and go on with --resume."
            ) from error
