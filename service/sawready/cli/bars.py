"""``sawready bars``: accepted pieces, or a list of pieces, onto stock bars."""

import csv
import io
import sys
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from pathlib import Path
from typing import Any, Final

import click
import orjson

from sawready.bars import idle_offcuts, longer_than_trim, pieces_of, saw, short_pieces, stock_for
from sawready.batch.inputs import find_inputs
from sawready.calc.nesting import OldOffcut, Piece, Plan
from sawready.cli.batch import Run
from sawready.cli.options import Reading, reads_orders
from sawready.cli.order_reader import OrderReader
from sawready.cli.results import matched, results_in
from sawready.errors import SettingsError, UnreadableError
from sawready.model.finding import Finding
from sawready.pipeline import OrderResult
from sawready.readers.bar_lists import NEEDED, read_offcuts, read_pieces
from sawready.report import bar_plan
from sawready.report.as_json import digest_of, result_dict
from sawready.report.bar_drawing import bars_svg, saw_list_html

_PEEK: Final = 65_536

_NO_COLOURS: Final = (
    "Colours are not told apart, as results do not state them: pieces of different colours may share a bar. "
    "Give the orders that the results were made from with --orders."
)


@dataclass(slots=True)
class Work:
    """What there is to cut.

    Attributes:
        pieces: the pieces.
        findings: rows that could not be read, each with its file.
        unreadable: how many files, rows and orders could not be read at all; each has been told.
        left_out: openings that are not accepted.
        is_colourless: whether pieces came from results, which do not state their colours.
    """

    pieces: list[Piece] = field(default_factory=list)
    findings: list[tuple[str, Finding]] = field(default_factory=list)
    unreadable: int = 0
    left_out: int = 0
    is_colourless: bool = False


def _is_piece_list(path: Path, *, is_mapped: bool) -> bool:
    """Whether a sheet is a list of pieces: its header names a profile or a length, which ours of orders do not.

    Args:
        path: the sheet.
        is_mapped: a column map says how it is read, so its headings may be anything.
    """
    with path.open("rb") as stream:
        start = stream.read(_PEEK).decode("utf-8-sig", errors="replace")
    header = next(csv.reader(io.StringIO(start)), [])
    for sign in ";\t":
        if len(header) == 1:
            header = header[0].split(sign)
    names = {cell.strip().strip('"') for cell in header}
    if is_mapped:
        return names >= set(NEEDED)
    return any(name.casefold().replace(" ", "_") in NEEDED for name in names)


def _colour_of(checked: OrderResult) -> Callable[[str], str | None]:
    """Colour of each opening's profiles, by its reference."""
    by_ref: dict[str, str | None] = {}
    for each in checked.openings:
        opening = each.sized.opening
        outside, inside = opening.colour_outside, opening.colour_inside
        both = f"{outside}/{inside}" if outside and inside and outside != inside else outside or inside
        by_ref[opening.opening_ref or ""] = both
    return by_ref.get


def gather(paths: Sequence[str], run: Run, orders: Sequence[str] = ()) -> Work:
    """Pieces of results, of lists of pieces, and of orders, which are checked on the way.

    Args:
        paths: files and folders, as for ``check``.
        run: what orders are checked with.
        orders: files and folders of the orders that the results were made from, for their colours.
    Raises: SettingsError for a path that cannot be used, and for a result whose order is not among those
        orders or now gives another result.
    """
    work = Work()
    anew = _checked_anew(orders, run, work)
    for source in find_inputs(paths):
        path = source.path
        is_mapped = run.column_map is not None or source.map_path is not None
        if path is not None and source.kind == "csv" and _is_piece_list(path, is_mapped=is_mapped):
            _take_list(path, work)
            continue
        results = None if path is None else results_in(path)
        if results is not None:
            for result in results:
                _take(result, work, _colours_from(result, anew, work))
            continue
        reader = OrderReader(run)
        for checked in reader.orders(source):
            _take(result_dict(checked), work, _colour_of(checked))
        work.unreadable += reader.unreadable
    return work


def _checked_anew(
    paths: Sequence[str], run: Run, work: Work
) -> dict[str, list[tuple[str, OrderResult]]] | None:
    """The orders of the results, checked anew, each with its digest; None where none are given."""
    if not paths:
        return None
    anew: dict[str, list[tuple[str, OrderResult]]] = {}
    reader = OrderReader(run)
    for source in find_inputs(paths):
        for checked in reader.orders(source):
            anew.setdefault(checked.order.order_ref or "", []).append((digest_of(checked), checked))
    work.unreadable += reader.unreadable
    return anew


def _colours_from(
    result: Mapping[str, Any], anew: Mapping[str, list[tuple[str, OrderResult]]] | None, work: Work
) -> Callable[[str], str | None] | None:
    """Colours of the openings of a result, by its order. Raises SettingsError where that does not fit."""
    if all(opening["decision"] != "accepted" for opening in result["openings"]):
        return None
    if anew is None:
        work.is_colourless = True
        return None
    return _colour_of(matched(result, anew))


def _take_list(path: Path, work: Work) -> None:
    try:
        with path.open("rb") as stream:
            listed = read_pieces(stream, source=str(path))
    except UnreadableError as error:
        click.echo(f"not read: {path}: {error.detail}", err=True)
        work.unreadable += 1
        return
    work.pieces += listed.rows
    work.findings += [(str(path), finding) for finding in listed.findings]


def _take(result: Mapping[str, Any], work: Work, colour_of: Callable[[str], str | None] | None) -> None:
    work.left_out += sum(opening["decision"] != "accepted" for opening in result["openings"])
    work.pieces += pieces_of(result, colour_of=colour_of)


def _millimetres(context: click.Context, parameter: click.Parameter, text: str | None) -> Fraction | None:
    del context
    if text is None:
        return None
    plain = text.replace(".", "", 1)
    if not (plain.isascii() and plain.isdigit() and len(text) <= 10):
        raise click.BadParameter(
            f"{text!r} is no plain number of millimetres, such as 4 or 3.2", param=parameter
        )
    return Fraction(text)


@click.command()
@click.argument("paths", nargs=-1, required=True, metavar="PATH...")
@click.option("--bar", callback=_millimetres, metavar="MM", help="Stock bar length, over the system's.")
@click.option("--kerf", callback=_millimetres, metavar="MM", help="Thickness of the saw's cut.")
@click.option("--trim", callback=_millimetres, metavar="MM", help="Taken off each bar, both ends together.")
@click.option("--keep", callback=_millimetres, metavar="MM", help="Least offcut worth keeping.")
@click.option(
    "--offcuts", metavar="STOCK.csv", help="Old offcuts to use up first: profile, length_mm, quantity."
)
@click.option(
    "--format",
    "form",
    type=click.Choice(["text", "csv", "json"]),
    help="What goes to standard output; text on a terminal, else csv.",
)
@click.option(
    "--orders",
    multiple=True,
    metavar="PATH",
    help="Orders that the results were made from, for their colours; may be given again.",
)
@click.option("--limit", type=click.FloatRange(0), metavar="SECONDS", help="Stop searching after so long.")
@click.option("--drawings", metavar="DIR", help="Also write one SVG a profile, and a saw list to print.")
@reads_orders
def bars(
    paths: tuple[str, ...],
    bar: Fraction | None,
    kerf: Fraction | None,
    trim: Fraction | None,
    keep: Fraction | None,
    offcuts: str | None,
    form: str | None,
    orders: tuple[str, ...],
    limit: float | None,
    drawings: str | None,
    reading: Reading,
) -> None:
    """Plan every accepted piece onto stock bars, close to the proved bound.

    PATH holds results of sawready check (.ndjson), a list of pieces (.csv with the columns profile,
    length_mm, quantity), or orders, which are checked first. Only accepted openings are planned, times
    their quantity, and colours are kept apart. Results do not state colours: --orders names the orders that
    they were made from; without it the plan says that colours are not told apart. Exit status: 0 planned; 1
    some pieces cannot be cut, or some openings were left out; 2 options or no pieces; 3 some input could not
    be read.
    """
    try:
        from sawready.calc.nesting import plan_bars  # noqa: PLC0415 - its extra may be absent
    except ImportError as error:
        raise SettingsError("planning bars needs the extra: pip install 'sawready[bars]'") from error
    run = reading.run()
    work = gather(paths, run, orders)
    with_saw = saw(kerf_mm=kerf, trim_mm=trim, keep_mm=keep)
    longer_than_trim(bar, with_saw)
    rack = _rack(offcuts, work)
    if not work.pieces and not work.unreadable and not work.findings:
        raise SettingsError("there is no accepted opening and no piece to plan")
    catalogue = run.catalogue
    known = [system for name in catalogue.systems if (system := catalogue.system(name)) is not None]
    stock = stock_for({piece.profile for piece in work.pieces}, known, bar_mm=bar)
    plan = plan_bars(
        work.pieces,
        stock=stock,
        saw=with_saw,
        offcuts=rack,
        limit_s=limit,
    )
    remarks = [*([_NO_COLOURS] if work.is_colourless else []), *idle_offcuts(work.pieces, rack)]
    remarks += short_pieces(piece for piece in work.pieces if piece.cell is not None)
    plan = replace(plan, remarks=tuple(remarks))
    _say(plan, work, form or ("text" if sys.stdout.isatty() else "csv"))
    if drawings is not None:
        _draw(plan, Path(drawings))
    if work.unreadable or work.findings:
        sys.exit(3)
    sys.exit(1 if plan.findings or work.left_out else 0)


def _rack(offcuts: str | None, work: Work) -> list[OldOffcut]:
    if offcuts is None:
        return []
    try:
        with Path(offcuts).open("rb") as stream:
            listed = read_offcuts(stream, source=offcuts)
    except OSError as error:
        raise SettingsError(f"{offcuts}: {error.strerror or 'it cannot be opened'}") from error
    except UnreadableError as error:
        raise SettingsError(f"{offcuts}: {error.detail}") from error
    work.findings += [(offcuts, finding) for finding in listed.findings]
    return listed.rows


def _say(plan: Plan, work: Work, form: str) -> None:
    if form == "json":
        click.echo(orjson.dumps(bar_plan.as_json(plan), option=orjson.OPT_INDENT_2).decode())
    elif form == "csv":
        text = io.StringIO(newline="")
        bar_plan.write_csv(plan, text)
        sys.stdout.write(text.getvalue())
    else:
        click.echo(bar_plan.as_text(plan))
    for line in bar_plan.summary_lines(plan):
        click.echo(line, err=True)
    for file, finding in work.findings:
        _tell(finding, file)
    for finding in plan.findings if form == "csv" else ():
        _tell(finding, None)
    if work.left_out:
        are = "opening is" if work.left_out == 1 else "openings are"
        click.echo(f"{work.left_out} {are} not accepted and left out", err=True)


def _tell(finding: Finding, file: str | None) -> None:
    """A finding on standard error: what, where, and what to do."""
    cell = finding.cell
    place = [file, None if cell is None else f"line {cell.line}"]
    if file is not None and cell is not None:
        place.append(cell.column)
    where = ", ".join(each for each in place if each)
    text = f"{finding.reason}: {where}{': ' if where else ''}{finding.message} {finding.remedy or ''}"
    click.echo(text.rstrip(), err=True)


def _draw(plan: Plan, folder: Path) -> None:
    """One SVG a profile and colour, and the saw list."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for number, profile in enumerate(plan.profiles, start=1):
            name = "".join(sign if sign.isalnum() else "-" for sign in bar_plan.named(profile)).strip("-")
            svg = bars_svg(profile, trim_nm=plan.saw.trim_nm)
            (folder / f"{number:02d}-{name}.svg").write_text(svg, "utf-8", newline="\n")
        (folder / "saw-list.html").write_text(saw_list_html(plan), "utf-8", newline="\n")
    except OSError as error:
        raise SettingsError(f"{folder}: {error.strerror or 'it cannot be written'}") from error
