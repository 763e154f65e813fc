"""A run over many inputs: every order checked, every unreadable row kept, counts that add up."""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, BinaryIO

import orjson

from sawready.batch.inputs import Input
from sawready.catalogue.load import Catalogue
from sawready.errors import SettingsError, UnreadableError
from sawready.model.finding import Cell, Finding
from sawready.pipeline import CallerDefaults, check_order
from sawready.readers.column_map import ColumnMap, load_column_map
from sawready.readers.orders import read_orders
from sawready.readers.raw import RawOrder, Unreadable
from sawready.report.as_json import result_bytes, unreadable_bytes
from sawready.rules import intake


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of one order, or of something that could not be read.

    Attributes:
        file: where it came from.
        line: the published result, one line of JSON without its end.
        is_read: False for a row, order or file that could not be read at all.
    """

    file: str
    line: bytes
    is_read: bool

    def result(self) -> dict[str, Any]:
        """The published result as an object."""
        loaded: dict[str, Any] = orjson.loads(self.line)
        return loaded


@dataclass(frozen=True, slots=True)
class Run:
    """What every order of a run is checked with.

    Attributes:
        catalogue: systems and rulebooks on file.
        caller: options that fill in what the orders leave open.
        column_map: how sheets are read; None for our own columns, or the map beside the sheet.
        map_name: the map's name, for messages.
    """

    catalogue: Catalogue
    caller: CallerDefaults
    column_map: ColumnMap | None = None

    def outcomes(self, source: Input, stdin: BinaryIO) -> Iterator[Outcome]:
        """Everything that one input holds, in its order; nothing in it stops the rest."""
        try:
            stream, kind = source.open(stdin)
        except OSError as error:
            reason = error.strerror or "it cannot be opened"
            yield _refused_file(
                source.name, f"{source.name} cannot be read: {reason}.", "Check the file.", None, None
            )
            return
        with stream:
            column_map = self.column_map
            if kind != "csv":
                column_map = None
            elif column_map is None and source.map_path is not None:
                column_map = load_column_map(source.map_path.read_bytes(), name=str(source.map_path))
            try:
                for item in read_orders(
                    stream,
                    kind=kind,
                    source=source.name,
                    column_map=column_map,
                    supplied=self._supplied(),
                    units=self.caller.units,
                    number_style=self.caller.number_style,
                ):
                    yield self._outcome(item)
            except UnreadableError as error:
                remedy = getattr(error, "remedy", None) or "Correct the file and give it again."
                yield _refused_file(
                    source.name, error.detail, remedy, error.line, error.column, error.pointer
                )

    def _supplied(self) -> list[str]:
        """Columns that the options stand in for."""
        return [name for name in ("system", "rulebook") if getattr(self.caller, name) is not None]

    def _outcome(self, item: RawOrder | Unreadable) -> Outcome:
        if isinstance(item, Unreadable):
            cell = None if item.line is None else Cell(item.line, item.column)
            return _refused(item.source, item.detail, item.remedy, cell, item.pointer or "")
        result = check_order(item.data, catalogue=self.catalogue, caller=self.caller, problems=item.problems)
        cell_of = None if item.places is None else item.cell
        return Outcome(item.source, result_bytes(result, cell_of=cell_of), is_read=True)


def _refused_file(
    name: str, detail: str, remedy: str, line: int | None, column: str | None, pointer: str | None = None
) -> Outcome:
    return _refused(name, detail, remedy, None if line is None else Cell(line, column), pointer or "")


def _refused(file: str, detail: str, remedy: str, cell: Cell | None, at: str) -> Outcome:
    page = intake.ROW_UNREADABLE
    found = Finding(
        reason=page.name,
        severity=page.severity,
        at=at,
        message=detail,
        remedy=remedy,
        source=page.source,
        cell=cell,
    )
    return Outcome(file, unreadable_bytes(found), is_read=False)


def read_map(path: str) -> ColumnMap:
    """The column map of a file. Raises SettingsError where it cannot be used."""
    try:
        data = Path(path).read_bytes()
    except OSError as error:
        raise SettingsError(f"{path}: {error.strerror or 'it cannot be opened'}") from error
    return load_column_map(data, name=path)
