"""Orders of files, checked one by one, for the commands that need more than the published result."""

import sys
from collections.abc import Iterator

import click

from sawready.batch.inputs import Input
from sawready.cli.batch import Run
from sawready.errors import UnreadableError
from sawready.pipeline import OrderResult, check_order
from sawready.readers.column_map import load_column_map
from sawready.readers.orders import read_orders
from sawready.readers.raw import Unreadable


class OrderReader:
    """Orders of files, checked one by one; what cannot be read is told and counted."""

    def __init__(self, run: Run) -> None:
        self._run = run
        self.unreadable = 0

    def orders(self, source: Input) -> Iterator[OrderResult]:
        """Every order of an input."""
        try:
            stream, kind = source.open(sys.stdin.buffer)
        except OSError as error:
            self._refuse(f"{source.name}: {error.strerror or 'it cannot be opened'}")
            return
        run = self._run
        column_map = run.column_map if kind == "csv" else None
        if kind == "csv" and column_map is None and source.map_path is not None:
            column_map = load_column_map(source.map_path.read_bytes(), name=str(source.map_path))
        supplied = [name for name in ("system", "rulebook") if getattr(run.caller, name) is not None]
        with stream:
            try:
                for item in read_orders(
                    stream,
                    kind=kind,
                    source=source.name,
                    column_map=column_map,
                    supplied=supplied,
                    units=run.caller.units,
                    number_style=run.caller.number_style,
                ):
                    if isinstance(item, Unreadable):
                        place = "" if item.line is None else f", line {item.line}"
                        self._refuse(f"{item.source}{place}: {item.detail}")
                        continue
                    yield check_order(
                        item.data, catalogue=run.catalogue, caller=run.caller, problems=item.problems
                    )
            except UnreadableError as error:
                self._refuse(f"{source.name}: {error.detail}")

    def _refuse(self, what: str) -> None:
        self.unreadable += 1
        click.echo(f"not read: {what}", err=True)
