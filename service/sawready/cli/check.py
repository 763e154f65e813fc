"""The command that checks orders: a few on a terminal, or a million overnight."""

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Final, NoReturn, TextIO

import click
import orjson

from sawready.batch.inputs import find_inputs
from sawready.batch.run import Batch
from sawready.batch.since import Changes
from sawready.batch.tally import Tally
from sawready.batch.work import Told
from sawready.cli.options import Reading, reads_orders
from sawready.cli.order_reader import OrderReader
from sawready.errors import SettingsError
from sawready.report.as_text import Counts, TextReport
from sawready.report.questions import questions_of, questions_text

EXIT_FINE: Final = 0
EXIT_FINDINGS: Final = 1
EXIT_SETTINGS: Final = 2
EXIT_UNREADABLE: Final = 3
EXIT_STOPPED: Final = 130

_FAILING: Final = {"reject": ("reject",), "query": ("reject", "query"), "note": ("reject", "query", "note")}
_MOST_SHOWN: Final = 100
_MOST_JOBS: Final = 256


@click.command()
@click.argument("paths", nargs=-1, required=True, metavar="PATH...")
@click.option(
    "--format",
    "form",
    type=click.Choice(["text", "ndjson"]),
    help="What goes to standard output; text on a terminal, else ndjson.",
)
@click.option(
    "--most-shown",
    type=click.IntRange(0),
    default=_MOST_SHOWN,
    show_default=True,
    metavar="N",
    help="Findings of one reason, and orders without any, in the text; 0 for all.",
)
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    metavar="DIR",
    help="Also write results.ndjson, findings.csv, cutting.csv, glass.csv, orders.csv, summary.json, "
    "summary.html, manifest.json.",
)
@click.option(
    "--questions",
    is_flag=True,
    help="Instead of results, the questions to send, by surveyor; as text or one JSON object a line.",
)
@click.option("--resume", is_flag=True, help="Go on in --out where a killed run stopped.")
@click.option(
    "--since",
    type=click.Path(path_type=Path),
    metavar="DIR",
    help="Compare with an earlier run's --out, into changes.csv.",
)
@click.option(
    "--jobs",
    type=click.IntRange(1, _MOST_JOBS),
    default=1,
    show_default=True,
    metavar="N",
    help="Processes that check.",
)
@click.option("--scheduler", metavar="ADDRESS", help="Dask scheduler whose workers check instead.")
@click.option("--chunk-openings", type=click.IntRange(1), hidden=True)
@reads_orders
@click.option(
    "--fail-on",
    type=click.Choice(["reject", "query", "note"]),
    default="query",
    show_default=True,
    help="Least severity that makes the exit status 1.",
)
def check(
    paths: tuple[str, ...],
    form: str | None,
    most_shown: int,
    out: Path | None,
    questions: bool,
    resume: bool,
    since: Path | None,
    jobs: int,
    scheduler: str | None,
    chunk_openings: int | None,
    reading: Reading,
    fail_on: str,
) -> None:
    """Check orders and work out every cut, or say why not.

    PATH is a .csv, .json or .ndjson file, a folder of them, or - for standard input. Exit status: 0
    nothing at or above --fail-on; 1 something was; 2 options, settings or no input, or the run could not be
    ended and --resume goes on with it; 3 some input could not be read at all (the rest was done).
    """
    if form is None:
        form = "text" if sys.stdout.isatty() else "ndjson"
    if questions:
        if out is not None or jobs != 1 or scheduler is not None:
            raise SettingsError("--questions goes with neither --out, --jobs nor --scheduler; leave them out")
        _ask(paths, reading, form)
    batch = Batch(paths, reading.settings(), out, since, resume, jobs, scheduler)
    if chunk_openings is not None:
        batch = Batch(paths, batch.settings, out, since, resume, jobs, scheduler, chunk_openings)
    sink = _Lines() if form == "ndjson" else _Text(sys.stdout, most=most_shown or None)
    try:
        tally = batch.run(sink, stdin=sys.stdin.buffer, stderr=sys.stderr)
    except KeyboardInterrupt:
        hint = "" if out is None else "; --resume goes on from here"
        click.echo(f"sawready: stopped{hint}", err=True)
        sys.exit(EXIT_STOPPED)
    if tally.total.unreadable:
        sys.exit(EXIT_UNREADABLE)
    severities = tally.severities()
    sys.exit(EXIT_FINDINGS if any(severities[severity] for severity in _FAILING[fail_on]) else EXIT_FINE)


def _ask(paths: tuple[str, ...], reading: Reading, form: str) -> NoReturn:
    """Writes the questions and ends: 0 none, 1 some, 3 where something could not be read."""
    reader = OrderReader(reading.run())
    asked: list[dict[str, Any]] = []
    for source in find_inputs(paths):
        for result in reader.orders(source):
            own = questions_of(result)
            asked += own
            if form == "ndjson":
                for each in own:
                    sys.stdout.buffer.write(orjson.dumps(each) + b"\n")
    if form == "text":
        click.echo(questions_text(asked), nl=False)
    sys.stdout.flush()
    sys.exit(EXIT_UNREADABLE if reader.unreadable else EXIT_FINDINGS if asked else EXIT_FINE)


class _Lines:
    """Standard output with one result a line."""

    wants_told = False

    def write(self, lines: bytes, told: Sequence[Told]) -> None:
        """Writes lines as they are."""
        del told
        sys.stdout.buffer.write(lines)

    def close(self, tally: Tally, changes: Changes | None) -> None:
        """Lets the last line out."""
        del tally, changes
        sys.stdout.flush()


class _Text:
    """Standard output for people."""

    wants_told = True

    def __init__(self, stream: TextIO, *, most: int | None) -> None:
        self._stream = stream
        self._report = TextReport(stream, is_coloured=stream.isatty(), most=most)

    def write(self, lines: bytes, told: Sequence[Told]) -> None:
        """Writes the orders that are to be seen; only those are read."""
        start = 0
        for each in told:
            if self._report.wants(each.reasons):
                result = orjson.loads(lines[start : start + each.length])
                if each.is_read:
                    self._report.order(result, file=each.file)
                else:
                    self._report.unreadable(result["openings"][0]["findings"][0], file=each.file)
            start += each.length

    def close(self, tally: Tally, changes: Changes | None) -> None:
        """Writes the counts."""
        total = tally.total
        counts = Counts(
            {decision: tally.orders[decision] for decision in ("rejected", "queried", "accepted")},
            {"rejected": total.rejected, "queried": total.queried, "accepted": total.accepted},
            total.unreadable,
            tally.reason_totals(),
        )
        self._report.summary(counts)
        if total.skipped:
            kinds = ", ".join(f"{number} {kind}" for kind, number in tally.skipped.items())
            self._stream.write(f"{total.skipped} rows skipped: {kinds}\n")
        if changes is not None:
            self._stream.write(
                f"Since {changes.since}: {changes.of('new')} findings new, {changes.of('gone')} gone, "
                f"{changes.of('changed')} changed (changes.csv)\n"
            )
        self._stream.flush()
