"""The commands for paper and pictures: fitter's sheets, labels for pieces, drawings."""

import re
import sys
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, Final

import click

from sawready.batch.inputs import Input, find_inputs
from sawready.cli.options import Reading, reads_orders
from sawready.cli.order_reader import OrderReader
from sawready.cli.results import matched, results_in
from sawready.errors import SettingsError
from sawready.pipeline import OrderResult

EXIT_FINE: Final = 0
EXIT_NOT_ALL: Final = 1
EXIT_UNREADABLE: Final = 3

_TRIANGLE = click.option(
    "--triangle",
    type=click.Choice(["apex-at-hinge", "apex-at-handle"]),
    default="apex-at-hinge",
    show_default=True,
    envvar="SAWREADY_TRIANGLE",
    help="Where the point of the opening triangle is; the legend says which. SAWREADY_TRIANGLE sets another "
    "default.",
)
_ORDERS = click.option(
    "--orders",
    multiple=True,
    metavar="PATH",
    help="Orders that the results were made from; may be given again.",
)
_FONT = click.option(
    "--font",
    "fonts",
    multiple=True,
    metavar="FILE.ttf",
    help="A font for letters that ours lack, such as Chinese; may be given again.",
)
_PDF = click.option("--out", required=True, metavar="FILE.pdf", help="The document; - for standard output.")


def _split(paths: tuple[str, ...]) -> tuple[list[Input], list[dict[str, Any]]]:
    """Inputs that hold orders, and the results of those that hold results."""
    orders: list[Input] = []
    results: list[dict[str, Any]] = []
    for source in find_inputs(paths):
        found = None if source.path is None else results_in(source.path)
        if found is None:
            orders.append(source)
        else:
            results.extend(found)
    if not orders and not results:
        raise SettingsError(f"no .csv, .json or .ndjson file in {', '.join(paths)}")
    return orders, results


def _checked(reader: OrderReader, paths: tuple[str, ...], orders: tuple[str, ...]) -> Iterator[OrderResult]:
    """Orders as given, and those of the results as given, each with the digest that its result has."""
    from sawready.report.as_json import digest_of  # noqa: PLC0415 - only where results are matched

    inputs, results = _split(paths)
    if results and not orders:
        raise SettingsError(
            "A result says what is cut, but not where each light lies: give the orders that the results "
            "were made from with --orders, or the orders instead of the results."
        )
    for source in inputs:
        yield from reader.orders(source)
    if not results:
        return
    anew: dict[str, list[tuple[str, OrderResult]]] = {}
    for source in find_inputs(orders):
        for result in reader.orders(source):
            anew.setdefault(result.order.order_ref or "", []).append((digest_of(result), result))
    for published in results:
        if published["order_ref"] is None:
            reader.unreadable += 1
            continue
        yield matched(published, anew)


@click.command()
@click.argument("paths", nargs=-1, required=True, metavar="PATH...")
@_PDF
@_ORDERS
@_TRIANGLE
@click.option(
    "--link",
    metavar="URL",
    help="Address that orders are found under, for the code on each page; else it holds name and digest.",
)
@_FONT
@reads_orders
def sheet(
    *,
    paths: tuple[str, ...],
    out: str,
    orders: tuple[str, ...],
    triangle: Any,
    link: str | None,
    fonts: tuple[str, ...],
    reading: Reading,
) -> None:
    """Write the fitter's sheets, a page for each opening.

    PATH is a .csv, .json or .ndjson file of orders, a folder of them, or - for standard input; the orders
    are checked as `sawready check` does. PATH may also be a file of results (results.ndjson of `check
    --out`): then --orders names the orders that they were made from, and a sheet is written only where the
    order still gives the same digest.

    An opening that is rejected or queried gets a page that says so, and why. Exit status: 0 every opening is
    to be fitted; 1 some are not; 2 options, settings or no input, or an order that no longer fits its
    result; 3 some input could not be read.
    """
    from sawready.report.order_places import order_view  # noqa: PLC0415 - as below
    from sawready.report.sheet import SheetStyle, SheetWriter  # noqa: PLC0415 - its extra may be absent

    reader = OrderReader(reading.run())
    writer = SheetWriter(SheetStyle(triangle, link, tuple(map(Path, fonts))))
    is_all_accepted = True
    for result in _checked(reader, paths, orders):
        writer.add(order_view(result))
        is_all_accepted = is_all_accepted and result.decision == "accepted"
    if not writer.pages:
        raise SettingsError("no order could be read, so there is nothing to write")
    _write(out, writer.finish())
    sys.exit(EXIT_UNREADABLE if reader.unreadable else EXIT_FINE if is_all_accepted else EXIT_NOT_ALL)


@click.command()
@click.argument("paths", nargs=-1, required=True, metavar="PATH...")
@_PDF
@click.option(
    "--grid",
    metavar="NAME",
    help="How the sheet of stickers is cut; a4-24 where it is not given: three by eight on A4.",
)
@click.option("--first", default=1, show_default=True, help="First sticker to use, where a sheet is begun.")
@click.option("--beads/--no-beads", default=True, show_default=True, help="Stickers for beads too.")
@_FONT
@reads_orders
def labels(
    *,
    paths: tuple[str, ...],
    out: str,
    grid: str | None,
    first: int,
    beads: bool,
    fonts: tuple[str, ...],
    reading: Reading,
) -> None:
    """Write a sticker for each piece of each accepted opening.

    PATH is a file or folder of orders or of results, or - for orders on standard input. A result that does
    not fit its digest is refused. Exit status: 0 every opening has its labels; 1 some are rejected or
    queried and have none; 2 options, settings or no input; 3 some input could not be read.
    """
    from sawready.report.as_json import result_dict  # noqa: PLC0415 - as below
    from sawready.report.labels import LabelStyle, labels_pdf  # noqa: PLC0415 - its extra may be absent

    reader = OrderReader(reading.run())
    inputs, results = _split(paths)
    left_out: list[str] = []

    def every() -> Iterator[Mapping[str, Any]]:
        for source in inputs:
            for result in reader.orders(source):
                yield result_dict(result)
        for published in results:
            if published["order_ref"] is None:
                reader.unreadable += 1
            else:
                yield published

    def noting() -> Iterator[Mapping[str, Any]]:
        for result in every():
            left_out.extend(
                f"{result['order_ref']}, {opening['opening_ref']}: {opening['decision']}"
                for opening in result["openings"]
                if opening["decision"] != "accepted"
            )
            yield result

    style = LabelStyle(grid, first, beads, tuple(map(Path, fonts)))
    data = labels_pdf(noting(), style)
    for each in left_out:
        click.echo(f"no labels: {each}", err=True)
    _write(out, data)
    sys.exit(EXIT_UNREADABLE if reader.unreadable else EXIT_NOT_ALL if left_out else EXIT_FINE)


@click.command()
@click.argument("paths", nargs=-1, required=True, metavar="PATH...")
@click.option(
    "--out", required=True, metavar="DIR", help="Folder for the drawings; made where it is missing."
)
@click.option(
    "--view",
    type=click.Choice(["outside", "inside", "both"]),
    default="outside",
    show_default=True,
    help="Side that the openings are seen from.",
)
@_TRIANGLE
@reads_orders
def drawing(*, paths: tuple[str, ...], out: str, view: str, triangle: Any, reading: Reading) -> None:
    """Write an elevation of each opening as SVG, faults marked where they are.

    PATH is a .csv, .json or .ndjson file of orders, a folder of them, or - for standard input. Exit status:
    0 every opening is accepted; 1 some are not; 2 options, settings or no input; 3 some input could not be
    read.
    """
    from sawready.report.drawing import DrawingStyle  # noqa: PLC0415 - a command that few calls need
    from sawready.report.drawing_svg import drawing_svg  # noqa: PLC0415 - likewise
    from sawready.report.order_places import order_view  # noqa: PLC0415 - likewise

    reader = OrderReader(reading.run())
    folder = Path(out)
    views: tuple[Any, ...] = ("outside", "inside") if view == "both" else (view,)
    is_all_accepted = True
    for source in _only_orders(paths):
        for result in reader.orders(source):
            is_all_accepted = is_all_accepted and result.decision == "accepted"
            for number, opening in enumerate(order_view(result).openings, 1):
                for side in views:
                    names = (opening.order_ref, str(number), opening.opening_ref, side)
                    path = folder / f"{'-'.join(map(file_part, names))}.svg"
                    _written(path, drawing_svg(opening, DrawingStyle(side, triangle)).encode())
    sys.exit(EXIT_UNREADABLE if reader.unreadable else EXIT_FINE if is_all_accepted else EXIT_NOT_ALL)


def _only_orders(paths: tuple[str, ...]) -> list[Input]:
    inputs, results = _split(paths)
    if results:
        raise SettingsError("A result does not say where each light lies: give the orders instead.")
    return inputs


_NOT_IN_NAMES: Final = re.compile(r"[^A-Za-z0-9._-]+")


def file_part(text: str | None) -> str:
    """A firm's name as a part of a file name: letters, digits, hyphens, points, underscores, 60 at most.

    Example:
        >>> file_part("../W 1/é"), file_part(None)
        ('W_1', 'unnamed')
    """
    return _NOT_IN_NAMES.sub("_", text or "").strip("._-")[:60] or "unnamed"


def _write(out: str, data: bytes) -> None:
    if out == "-":
        sys.stdout.buffer.write(data)
        sys.stdout.buffer.flush()
        return
    _written(Path(out), data)


def _written(path: Path, data: bytes) -> None:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
    except OSError as error:
        raise SettingsError(f"{path}: {error.strerror or 'it cannot be written'}") from error


COMMANDS: Final[tuple[click.Command, ...]] = (sheet, labels, drawing)
"""The commands of this module."""
