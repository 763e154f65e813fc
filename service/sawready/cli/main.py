"""The command line: check, reasons, serve."""

import os
import sys
from contextlib import ExitStack
from pathlib import Path
from typing import Any, BinaryIO, Final

import click
import orjson

from sawready.catalogue.load import Catalogue
from sawready.cli.bars import bars
from sawready.cli.batch import Run, read_map
from sawready.cli.backup import store
from sawready.batch.inputs import find_inputs
from sawready.cli.sheet import COMMANDS
from sawready.cli.keys import keys
from sawready.errors import ServiceError, SettingsError
from sawready.pipeline import CallerDefaults
from sawready.report.as_csv import CUTTING, FINDINGS, GLASS, Table, cutting_rows, finding_rows, glass_rows
from sawready.report.as_text import Counts, TextReport
from sawready.report.pages import reason_list, reason_page
from sawready.version import VERSION

EXIT_FINE: Final = 0
EXIT_FINDINGS: Final = 1
EXIT_SETTINGS: Final = 2
EXIT_UNREADABLE: Final = 3

_FAILING: Final = {"reject": {"reject"}, "query": {"reject", "query"}, "note": {"reject", "query", "note"}}


class _Group(click.Group):
    """Turns our own exceptions into a sentence and exit status 2."""

    def invoke(self, ctx: click.Context) -> Any:
        """Runs a command."""
        try:
            return super().invoke(ctx)
        except ServiceError as error:
            click.echo(f"sawready: {error}", err=True)
            ctx.exit(EXIT_SETTINGS)


@click.group(cls=_Group, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(VERSION, prog_name="sawready", message="%(prog)s %(version)s")
def main() -> None:
    """Checks surveyed orders for replacement windows before anything is cut."""


def _catalogue(systems: tuple[str, ...], rulebooks: tuple[str, ...]) -> Catalogue:
    catalogue = Catalogue.load_builtin()
    for path in systems:
        catalogue = catalogue.with_system_file(path)
    for path in rulebooks:
        catalogue = catalogue.with_rulebook_file(path)
    return catalogue


_SYSTEM = click.option("--system", "systems", multiple=True, metavar="FILE.yaml", help="Add a profile system; may be given again.")
_RULEBOOK_FILE = click.option(
    "--rulebook-file", "rulebooks", multiple=True, metavar="FILE.yaml", help="Add a rulebook; may be given again."
)


@main.command()
@click.argument("paths", nargs=-1, required=True, metavar="PATH...")
@click.option(
    "--format",
    "form",
    type=click.Choice(["text", "ndjson"]),
    help="What goes to standard output; text on a terminal, else ndjson.",
)
@click.option("--out", metavar="DIR", help="Also write results.ndjson, findings.csv, cutting.csv, glass.csv, summary.json.")
@click.option("--columns", metavar="MAP.yaml", help="Column map for sheets; else x.columns.yaml beside x.csv.")
@click.option("--units", type=click.Choice(["mm", "cm", "m", "in", "ft"]), help="Unit of bare numbers where an order states none.")
@click.option("--number-style", type=click.Choice(["en", "eu", "ch", "unknown"]), help="How numbers are written where an order does not say.")
@click.option("--viewed-from", type=click.Choice(["outside", "inside"]), help="View of left and right where an order states none.")
@click.option("--rulebook", metavar="NAME", help="Rulebook where an order names none.")
@click.option("--profile-system", metavar="NAME", help="Profile system where an order names none.")
@_SYSTEM
@_RULEBOOK_FILE
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
    out: str | None,
    columns: str | None,
    units: str | None,
    number_style: str | None,
    viewed_from: str | None,
    rulebook: str | None,
    profile_system: str | None,
    systems: tuple[str, ...],
    rulebooks: tuple[str, ...],
    fail_on: str,
) -> None:
    """Check orders and work out every cut, or say why not.

    PATH is a .csv, .json or .ndjson file, a folder of them, or - for standard input. Exit status: 0
    nothing at or above --fail-on; 1 something was; 2 options, settings or no input; 3 some input could
    not be read at all (the rest was done).
    """
    caller = CallerDefaults(
        units=units, number_style=number_style, viewed_from=viewed_from, system=profile_system, rulebook=rulebook
    )
    run = Run(_catalogue(systems, rulebooks), caller, None if columns is None else read_map(columns))
    inputs = list(find_inputs(paths))
    if not inputs:
        raise SettingsError(f"no .csv, .json or .ndjson file in {', '.join(paths)}")
    if form is None:
        form = "text" if sys.stdout.isatty() else "ndjson"
    counts = Counts()
    failing = _FAILING[fail_on]
    has_failed = False
    with ExitStack() as stack:
        sinks = [_Stdout(form)]
        if out is not None:
            sinks.append(stack.enter_context(_Folder(Path(out))))
        for source in inputs:
            for outcome in run.outcomes(source, _stdin()):
                result = outcome.result()
                if outcome.is_read:
                    counts.add(result)
                else:
                    counts.add_unreadable(result["openings"][0]["findings"][0]["reason"])
                has_failed = has_failed or any(
                    found["severity"] in failing for opening in result["openings"] for found in opening["findings"]
                )
                for sink in sinks:
                    sink.write(outcome.line, result, file=outcome.file, is_read=outcome.is_read)
        for sink in sinks:
            sink.close(counts)
    if counts.unreadable:
        sys.exit(EXIT_UNREADABLE)
    sys.exit(EXIT_FINDINGS if has_failed else EXIT_FINE)


def _stdin() -> BinaryIO:
    return sys.stdin.buffer


class _Stdout:
    """Standard output, as text for people or one result a line."""

    def __init__(self, form: str) -> None:
        self._form = form
        self._text = TextReport(sys.stdout, is_coloured=sys.stdout.isatty())

    def write(self, line: bytes, result: dict[str, Any], *, file: str, is_read: bool) -> None:
        """Writes one outcome."""
        if self._form == "ndjson":
            sys.stdout.buffer.write(line + b"\n")
        elif is_read:
            self._text.order(result, file=file)
        else:
            self._text.unreadable(result["openings"][0]["findings"][0], file=file)

    def close(self, counts: Counts) -> None:
        """Writes the counts for people."""
        if self._form == "text":
            self._text.summary(counts)
        sys.stdout.flush()


class _Folder:
    """The files of ``--out``."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._stack = ExitStack()

    def __enter__(self) -> "_Folder":
        try:
            self._folder.mkdir(parents=True, exist_ok=True)
            self._results = self._stack.enter_context((self._folder / "results.ndjson").open("wb"))
            tables = []
            for name, columns in (("findings.csv", FINDINGS), ("cutting.csv", CUTTING), ("glass.csv", GLASS)):
                stream = self._stack.enter_context((self._folder / name).open("w", newline="", encoding="utf-8"))
                tables.append(Table(stream, columns))
        except OSError as error:
            raise SettingsError(f"{self._folder}: {error.strerror or 'it cannot be written'}") from error
        self._findings, self._cutting, self._glass = tables
        return self

    def __exit__(self, *details: object) -> None:
        self._stack.close()

    def write(self, line: bytes, result: dict[str, Any], *, file: str, is_read: bool) -> None:
        """Writes one outcome to every file that it belongs in."""
        del is_read
        self._results.write(line + b"\n")
        self._findings.write(finding_rows(result, file=file))
        self._cutting.write(cutting_rows(result))
        self._glass.write(glass_rows(result))

    def close(self, counts: Counts) -> None:
        """Writes the counts."""
        data = orjson.dumps(counts.as_dict(), option=orjson.OPT_INDENT_2)
        (self._folder / "summary.json").write_bytes(data + b"\n")


@main.command()
@click.argument("reason", required=False)
def reasons(reason: str | None) -> None:
    """List the reasons, or show the page of one."""
    if reason is None:
        click.echo(reason_list())
        return
    click.echo(reason_page(reason))


@main.command()
@click.option("--host", metavar="ADDRESS", help="Address to listen on; else SAWREADY_HOST, else 127.0.0.1.")
@click.option("--port", type=click.IntRange(0, 65535), help="Port to listen on; else SAWREADY_PORT, else 8080.")
@_SYSTEM
@_RULEBOOK_FILE
def serve(host: str | None, port: int | None, systems: tuple[str, ...], rulebooks: tuple[str, ...]) -> None:
    """Answer over HTTP until stopped."""
    from sawready.settings import Settings
    from sawready.web.serve import serve as run_service

    settings = Settings.from_environ(os.environ)
    changes: dict[str, Any] = {}
    if host is not None:
        changes["host"] = host
    if port is not None:
        changes["port"] = port
    if systems:
        changes["system_files"] = (*settings.system_files, *map(Path, systems))
    if rulebooks:
        changes["rulebook_files"] = (*settings.rulebook_files, *map(Path, rulebooks))
    run_service(settings.with_(**changes))


for _command in (bars, *COMMANDS, keys, store):
    main.add_command(_command)
