"""Column maps: how a firm's own sheet says what our columns say.

A map is a YAML file::

    columns:                # ours: theirs
      order_ref: Job no.
      width_top: W top (mm)
    defaults:               # any of our columns, for cells that are blank or columns that are not there
      units: mm
      viewed_from: outside
    skip_rows: 2            # rows before the header
    encoding: cp1252        # utf-8 and utf-16 are told by themselves
    delimiter: semicolon    # comma, semicolon or tab
    ignore: [Price]         # their columns that are not needed; all for every other
    sizes: {column: Size, order: WxH}   # width and height in one cell
    firm: Harbour Glazing   # whose sheets they are, for the counts of a run over many
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any, Final, Literal

from sawready.catalogue.faults import Fault as FileFault
from sawready.catalogue.faults import Path, faults_text
from sawready.catalogue.yaml_door import Document, load_yaml
from sawready.errors import SettingsError
from sawready.readers.columns import BY_NAME
from sawready.readers.csv_header import heading
from sawready.readers.csv_text import ENCODINGS
from sawready.readers.fault import MOST_NAME, nearest, shown

PairOrder = Literal["WxH", "HxW"]

KEYS: Final = ("columns", "defaults", "skip_rows", "encoding", "delimiter", "ignore", "sizes", "firm")
MOST_SKIPPED: Final = 1000
PAIR_ORDERS: Final[tuple[PairOrder, ...]] = ("WxH", "HxW")
PAIR_COLUMNS: Final = ("width_top", "height_left")
"""What a cell with both sizes stands for."""

DELIMITERS: Final = {"comma": ",", "semicolon": ";", "tab": "\t", ",": ",", ";": ";", "\t": "\t"}

_CHOICES: Final = {"encoding": "utf-8, utf-16, cp1252", "delimiter": "comma, semicolon, tab"}


@dataclass(frozen=True, slots=True)
class PairColumn:
    """A firm's column that holds width and height in one cell.

    Attributes:
        heading: its heading.
        order: which of the two comes first; None where only labels in the cell can tell.
    """

    heading: str
    order: PairOrder | None


@dataclass(frozen=True, slots=True)
class ColumnMap:
    """How a firm's sheet is read.

    Attributes:
        name: the file as its user named it.
        columns: heading of the firm for each of our columns; empty where the sheet has our headings.
        defaults: text for our columns where a cell is blank or the column is not there.
        skip_rows: rows before the header.
        encoding: codec, or None to tell it by the sheet.
        delimiter: comma, semicolon or tab, or None to tell it by the header.
        ignore: headings that are left unread.
        ignores_rest: whether every heading that is not named is left unread.
        sizes: the column with both sizes, or None.
        firm: whose sheets are read by it, or None where that is not said.
    """

    name: str
    columns: Mapping[str, str] = field(default_factory=dict)
    defaults: Mapping[str, str] = field(default_factory=dict)
    skip_rows: int = 0
    encoding: str | None = None
    delimiter: str | None = None
    ignore: frozenset[str] = frozenset()
    ignores_rest: bool = False
    sizes: PairColumn | None = None
    firm: str | None = None

    @property
    def headings(self) -> dict[str, str]:
        """The firm's heading for each of our columns that it has one for."""
        if self.sizes is None:
            return dict(self.columns)
        return dict(self.columns) | dict.fromkeys(PAIR_COLUMNS, self.sizes.heading)


def load_column_map(data: bytes | str, *, name: str) -> ColumnMap:
    """Reads a column map.

    Args:
        data: content of the YAML file.
        name: the file as its user named it, for messages.
    Raises: SettingsError naming file, line, key and the nearest known name, for every mistake at once.

    Example:
        >>> load_column_map("defaults: {units: mm}", name="map.yaml").defaults["units"]
        'mm'
    """
    document = load_yaml(data, name=name, error=SettingsError)
    reader = _Reader(document)
    column_map = reader.read()
    if reader.faults:
        raise SettingsError(faults_text(reader.faults))
    return column_map


class _Reader:
    """Reads a map's tree and collects its mistakes."""

    def __init__(self, document: Document) -> None:
        self.document = document
        self.faults: list[FileFault] = []

    def fault(self, path: Path, message: str) -> None:
        self.faults.append(self.document.fault(path, message))

    def read(self) -> ColumnMap:
        data = self.document.data
        if not isinstance(data, dict):
            self.fault((), f"a column map has keys. Use {', '.join(KEYS)}.")
            return ColumnMap(self.document.name)
        for key in data:
            if key not in KEYS:
                self.fault((key,), f"no such key{_nearest(key, KEYS)}. Use {', '.join(KEYS)}.")
        ignored, ignores_rest = self._ignore(data.get("ignore"))
        column_map = ColumnMap(
            name=self.document.name,
            columns=MappingProxyType(dict(self._columns(data.get("columns")))),
            defaults=MappingProxyType(dict(self._texts(data.get("defaults"), "defaults"))),
            skip_rows=self._skip_rows(data.get("skip_rows")),
            encoding=self._choice(data.get("encoding"), "encoding", ENCODINGS),
            delimiter=self._choice(data.get("delimiter"), "delimiter", DELIMITERS),
            ignore=ignored,
            ignores_rest=ignores_rest,
            sizes=self._sizes(data.get("sizes")),
            firm=self._firm(data.get("firm")),
        )
        self._twice(column_map)
        return column_map

    def _texts(self, data: Any, key: str) -> Iterator[tuple[str, str]]:
        """Our columns with a text each."""
        if data is None:
            return
        if not isinstance(data, dict):
            self.fault((key,), "our column names with a text each are due here. Write 'name: text' lines.")
            return
        for name, text in data.items():
            if name not in BY_NAME:
                self.fault((key, name), f"no such column of ours{_nearest(name, BY_NAME)}. Correct the name.")
            elif not isinstance(text, str) or not text.strip():
                self.fault((key, name), "a text is due here. Write one, or take the line out.")
            else:
                yield name, text.strip()

    def _columns(self, data: Any) -> Iterator[tuple[str, str]]:
        for name, text in self._texts(data, "columns"):
            yield name, heading(text)

    def _skip_rows(self, data: Any) -> int:
        if data is None:
            return 0
        if isinstance(data, str) and data.isascii() and data.isdigit() and len(data) < 6:
            rows = int(data)
            if rows <= MOST_SKIPPED:
                return rows
        self.fault(
            ("skip_rows",), f"{_seen(data)} is not a count of rows from 0 to {MOST_SKIPPED}. Correct it."
        )
        return 0

    def _choice(self, data: Any, key: str, known: Mapping[str, str]) -> str | None:
        if data is None:
            return None
        if isinstance(data, str) and (found := known.get(data.lower())):
            return found
        self.fault((key,), f"{_seen(data)} is not one of {_CHOICES[key]}. Use one of them.")
        return None

    def _firm(self, data: Any) -> str | None:
        if data is None:
            return None
        if isinstance(data, str) and data.strip() and len(data) <= MOST_NAME and data.isprintable():
            return data.strip()
        self.fault(
            ("firm",), f"{_seen(data)} is no name of a firm. Write one of up to {MOST_NAME} characters."
        )
        return None

    def _ignore(self, data: Any) -> tuple[frozenset[str], bool]:
        if data is None or data == []:
            return frozenset(), False
        if data == "all":
            return frozenset(), True
        if isinstance(data, list) and all(isinstance(item, str) and item.strip() for item in data):
            return frozenset(map(heading, data)), False
        self.fault(("ignore",), f"{_seen(data)} is not a list of the firm's headings. Write a list, or all.")
        return frozenset(), False

    def _sizes(self, data: Any) -> PairColumn | None:
        if data is None:
            return None
        if not isinstance(data, dict) or not isinstance(data.get("column"), str):
            self.fault(
                ("sizes",), "the firm's heading is missing. Write 'sizes: {column: Size, order: WxH}'."
            )
            return None
        for key in data:
            if key not in ("column", "order"):
                near = _nearest(key, ("column", "order"))
                self.fault(("sizes", key), f"no such key{near}. Use column and order.")
        order = data.get("order")
        for known in PAIR_ORDERS:
            if isinstance(order, str) and order.casefold() == known.casefold():
                return PairColumn(heading(data["column"]), known)
        if order is not None:
            self.fault(("sizes", "order"), f"{_seen(order)} is not WxH or HxW. Use one of them.")
        return PairColumn(heading(data["column"]), None)

    def _twice(self, column_map: ColumnMap) -> None:
        """Headings that are named in two ways that contradict each other."""
        for ours, theirs in column_map.columns.items():
            if theirs in column_map.ignore:
                self.fault(("columns", ours), f"{shown(theirs)} is listed under ignore as well. Choose one.")
        if column_map.sizes is not None:
            for ours in PAIR_COLUMNS:
                if ours in column_map.columns:
                    self.fault(("columns", ours), "sizes gives this column as well. Choose one.")


def _nearest(name: str, known: Any) -> str:
    near = nearest(str(name), known)
    return "" if near is None else f"; the nearest is {near}"


def _seen(data: Any) -> str:
    return shown(data) if isinstance(data, str) else "this"
