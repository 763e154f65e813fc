"""Read this first of the batch: a run over any amount of input, from its files to the morning report.

Input is found and cut into chunks (``chunks``); workers check them (``executors``, ``work``), and what comes
of each is written in the order of the input (``folder``) and counted (``tally``). Chunks are cut alike
whatever number of workers there is, so that the output is the same, byte for byte.
"""

import csv
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import ExitStack
from dataclasses import dataclass, replace
from functools import partial
from itertools import chain, islice
from pathlib import Path
from typing import IO, Any, BinaryIO, Final, Protocol, TextIO, cast

import orjson

from sawready.batch.chunks import CHUNK_OPENINGS, Chunk, CountsError, Source, cut
from sawready.batch.executors import checked_in_order, workers
from sawready.batch.folder import CHANGES, NAMES, PAGE, SUMMARY, Done, OutFolder, file_digest
from sawready.batch.inputs import Input, find_inputs, passed_over
from sawready.batch.progress import Progress, Watched
from sawready.batch.settings import RunSettings, digest_of, program_digest
from sawready.batch.since import Changes, changes_since, earlier_run
from sawready.batch.tally import Spot, Tally
from sawready.batch.work import RESULTS, Told, Wanted
from sawready.errors import SettingsError
from sawready.readers.raw import Kind
from sawready.report.summary_html import Morning, summary_page
from sawready.version import VERSION

_STEP: Final = 1024 * 1024


class Sink(Protocol):
    """Where results go besides the folder: standard output."""

    @property
    def wants_told(self) -> bool:
        """Whether it needs to know what each line is about."""

    def write(self, lines: bytes, told: Sequence[Told]) -> None:
        """Takes result lines, and what is known of each."""

    def close(self, tally: Tally, changes: Changes | None) -> None:
        """Takes the counts."""


@dataclass(frozen=True, slots=True)
class Batch:
    """A run as it was asked for.

    Attributes:
        paths: files, folders, or ``-``.
        settings: what orders are checked with.
        out: folder for everything that is kept; None for none.
        since: folder of an earlier run to compare with.
        is_resumed: go on with a run that was killed.
        jobs: processes.
        scheduler: address of a cluster.
        chunk_openings: openings of a chunk.
    """

    paths: tuple[str, ...]
    settings: RunSettings
    out: Path | None = None
    since: Path | None = None
    is_resumed: bool = False
    jobs: int = 1
    scheduler: str | None = None
    chunk_openings: int = CHUNK_OPENINGS

    def run(self, sink: Sink, *, stdin: BinaryIO, stderr: TextIO) -> Tally:
        """Does it.

        Args:
            sink: takes results and counts.
            stdin: standard input.
            stderr: for progress, where it is a terminal.
        Returns: the counts.
        Raises: ServiceError: SettingsError for what cannot be begun; OutputError or WorkersLostError where
            it has to stop, to be resumed; CountsError where something was lost on the way.
        """
        inputs = self._inputs()
        earlier = None if self.since is None else earlier_run(self.since)
        sources = [Source.of(given, self.settings, stdin) for given in inputs]
        progress = Progress(stderr, total_bytes=sum(source.size for source in sources))
        sources = list(_watched(sources, progress))
        wanted = Wanted(tables=self.out is not None, told=sink.wants_told)
        try:
            with ExitStack() as stack:
                for source in sources:
                    stack.callback(source.close)
                folder, done = None, Done()
                if self.out is not None:
                    folder = stack.enter_context(OutFolder(self.out, self._header(sources)))
                    done = folder.begin(resume=self.is_resumed)
                    _replay(folder, done, sink)
                tally = done.tally
                if not done.is_whole:
                    chunks = cut(sources, self.settings, chunk_openings=self.chunk_openings)
                    pieces = _after(chunks, done, progress)
                    self._check(pieces, wanted, tally, folder=folder, sink=sink, progress=progress)
                _refuse_lost(tally)
                changes = None
                if folder is not None and not done.is_whole:
                    changes = self._finish(folder, tally, earlier)
                progress.close()
                sink.close(tally, changes)
        finally:
            progress.close()
        return tally

    def _inputs(self) -> list[Input]:
        inputs = list(find_inputs(self.paths))
        if not inputs:
            raise SettingsError(f"no .csv, .json or .ndjson file in {', '.join(self.paths)}")
        if self.out is None:
            if self.since is not None or self.is_resumed:
                raise SettingsError("--since and --resume need --out, the folder that a run leaves.")
            return inputs
        if self.since is not None and self.since.resolve() == self.out.resolve():
            raise SettingsError("--since names the folder of an earlier run, --out another one for this run.")
        own = {(self.out / name).resolve() for name in NAMES}
        for given in inputs:
            if given.path is not None and given.path.resolve() in own:
                raise SettingsError(
                    f"{given.name} is what a run leaves in {self.out}. Give --out a folder of its own."
                )
        return inputs

    def _header(self, sources: Iterable[Source]) -> dict[str, Any]:
        """What the output depends on; a run is resumed only under the same."""
        inputs = []
        for source in sources:
            try:
                with source.open()[0] as stream:
                    size, digest = file_digest(stream)
            except OSError:
                size, digest = 0, None
            column_map = None if source.column_map is None else digest_of(source.column_map.data)
            inputs.append({"file": source.name, "bytes": size, "sha256": digest, "columns": column_map})
        return {
            "program": {"version": VERSION, "sha256": program_digest()},
            "settings": self.settings.as_dict(),
            "chunk_openings": self.chunk_openings,
            "inputs": inputs,
        }

    def _check(
        self,
        chunks: Iterator[Chunk],
        wanted: Wanted,
        tally: Tally,
        *,
        folder: OutFolder | None,
        sink: Sink,
        progress: Progress,
    ) -> None:
        """Has every chunk checked, and writes and counts what comes of each in turn."""
        own = program_digest()
        first = list(islice(chunks, 2))
        # One chunk is done sooner here than processes begin.
        jobs = self.jobs if len(first) > 1 else 1
        with workers(jobs=jobs, scheduler=self.scheduler) as force:
            chunks = chain(first, chunks)
            for chunk, checked in checked_in_order(chunks, self.settings, wanted, force):
                if checked.program != own:
                    raise SettingsError(
                        "a worker runs another version of the program. Install the same everywhere."
                    )
                counted = sum(
                    each.accepted + each.queried + each.rejected for each in checked.tally.files.values()
                )
                if counted < chunk.rows:
                    raise CountsError(
                        f"of {chunk.rows} openings in chunk {chunk.number} only {counted} came back. "
                        "Use nothing of this run, and report it."
                    )
                tally.add(checked.tally)
                sink.write(checked.outputs[RESULTS], checked.told)
                if folder is not None:
                    folder.write(checked)
                progress.done(counted, chunk.end_bytes)

    def _finish(self, folder: OutFolder, tally: Tally, earlier: Any) -> Changes | None:
        """Writes the reports, and gives everything its name."""
        folder.commit()
        changes = None
        more: dict[str, Any] = {}
        if self.since is not None:
            changes_file = folder.part(CHANGES)
            with changes_file.open("wb") as stream:
                changes = changes_since(
                    self.since,
                    earlier,
                    header=folder.header,
                    orders=folder.part("orders.csv"),
                    findings=folder.part("findings.csv"),
                    stream=stream,
                )
            more[CHANGES] = changes_file
        over = passed_over(self.paths)
        with folder.part(RESULTS).open("rb") as results:
            morning = _morning(tally, results, over, changes, folder.header)
        summary = summary_of(tally, over, changes)
        more[SUMMARY] = orjson.dumps(summary, option=orjson.OPT_INDENT_2) + b"\n"
        more[PAGE] = summary_page(morning)
        folder.finish(tally, more)
        return changes


def _watched(sources: Iterable[Source], progress: Progress) -> Iterator[Source]:
    """The same sources, telling how far they have been read."""
    before = 0
    for source in sources:
        yield replace(source, open=partial(_open_watched, source, progress, before))
        before += source.size


def _open_watched(source: Source, progress: Progress, before: int) -> tuple[BinaryIO, Kind]:
    stream, kind = source.open()
    return cast("BinaryIO", Watched(stream, lambda here: progress.reading(before + here))), kind


def _after(chunks: Iterator[Chunk], done: Done, progress: Progress) -> Iterator[Chunk]:
    """Those chunks that an earlier run has not done; the others are cut to find where these begin."""
    for chunk in chunks:
        if chunk.number < done.chunks:
            progress.resumed(chunk.end_bytes)
        else:
            yield chunk


def _replay(folder: OutFolder, done: Done, sink: Sink) -> None:
    """Gives standard output what an earlier run had written to the folder."""
    left = done.tally.size
    if not left:
        return
    results = folder.path / RESULTS if done.is_whole else folder.part(RESULTS)
    orders = folder.path / "orders.csv" if done.is_whole else folder.part("orders.csv")
    with results.open("rb") as stream:
        if not sink.wants_told:
            while left and (data := stream.read(min(_STEP, left))):
                left -= len(data)
                sink.write(data, ())
            return
        for line, (file, decision) in zip(stream, _files_of(orders), strict=False):
            reasons = [
                found["reason"] for opening in orjson.loads(line)["openings"] for found in opening["findings"]
            ]
            sink.write(line, (Told(file, len(line), decision != "unreadable", tuple(reasons)),))
            left -= len(line)
            if not left:
                return


def _files_of(orders: Path) -> Iterator[tuple[str, str]]:
    """File and decision of each result line."""
    with orders.open(newline="", encoding="utf-8") as stream:
        rows = csv.reader(stream)
        next(rows, None)
        for row in rows:
            yield row[0], row[2]


def _refuse_lost(tally: Tally) -> None:
    """Raises CountsError where a record has come to nothing."""
    for name, counts in tally.files.items():
        if not counts.adds_up:
            raise CountsError(f"{name}: the counts do not add up. Use nothing of this run, and report it.")


def summary_of(tally: Tally, over: Sequence[str], changes: Changes | None) -> dict[str, Any]:
    """The counts as summary.json holds them."""
    total = tally.total
    return {
        "orders": {"read": sum(tally.orders.values()), **tally.orders},
        "openings": {
            "read": total.accepted + total.queried + total.rejected,
            "accepted": total.accepted,
            "queried": total.queried,
            "rejected": total.rejected,
        },
        "unreadable": total.unreadable,
        "records": counts_of(total),
        "skipped_rows": tally.skipped,
        "severities": tally.severities(),
        "reasons": tally.reason_totals(),
        "not_applied": dict(sorted(tally.not_applied.items())),
        "firms": {name: counts_of(counts) for name, counts in sorted(tally.by_firm().items())},
        "files": {
            name: {"firm": tally.firms[name], **counts_of(counts)} for name, counts in tally.files.items()
        },
        "passed_over": list(over),
        "changes": None if changes is None else changes.as_dict(),
    }


def counts_of(counts: Any) -> dict[str, int]:
    """Counts of records as they are published: the first is the sum of the others."""
    return {
        name: getattr(counts, name)
        for name in ("read", "accepted", "queried", "rejected", "unreadable", "skipped")
    }


def _morning(
    tally: Tally, results: IO[bytes], over: Sequence[str], changes: Changes | None, header: Mapping[str, Any]
) -> Morning:
    return Morning(
        total=counts_of(tally.total),
        orders=tally.orders,
        severities=tally.severities(),
        reasons=tally.reasons,
        skipped=tally.skipped,
        not_applied=tally.not_applied,
        firms={name: counts_of(counts) for name, counts in tally.by_firm().items()},
        files={name: counts_of(counts) for name, counts in tally.files.items()},
        worst=_lines_at(tally.worst, results),
        refused=_lines_at(tally.refused, results),
        version=VERSION,
        program=header["program"]["sha256"],
        settings=digest_of(orjson.dumps(header["settings"])),
        passed_over=over,
        changes=None if changes is None else changes.as_dict(),
    )


def _lines_at(spots: Iterable[Spot], results: IO[bytes]) -> list[tuple[dict[str, Any], str]]:
    """Results with their files, read where they stand."""
    found = []
    for spot in spots:
        results.seek(spot.start)
        found.append((orjson.loads(results.read(spot.length)), spot.file))
    return found
