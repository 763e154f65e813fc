"""One way in for every kind of file: bytes in, raw orders and refused rows out."""

from collections.abc import Collection, Iterator
from pathlib import PurePath
from typing import BinaryIO, Final

from sawready.readers.column_map import ColumnMap
from sawready.readers.csv_orders import SheetOrders
from sawready.readers.json_orders import MOST_FILE_BYTES, read_json, read_ndjson
from sawready.readers.raw import Kind, RawOrder, Unreadable

SUFFIXES: Final[dict[str, Kind]] = {".csv": "csv", ".json": "json", ".ndjson": "ndjson"}
STANDARD_INPUT: Final = "<stdin>"


def read_orders(
    stream: BinaryIO,
    *,
    kind: Kind,
    source: str,
    column_map: ColumnMap | None = None,
    supplied: Collection[str] = (),
    units: str | None = None,
    number_style: str | None = None,
) -> Iterator[RawOrder | Unreadable]:
    """Raw orders of one file, in the order of the file.

    Args:
        stream: its bytes, read forward; a large sheet is read twice where the stream can seek.
        kind: ``csv``, ``json`` or ``ndjson``.
        source: file name, or ``<stdin>``.
        column_map: how a firm's own sheet is read; of no use to JSON.
        supplied: our columns that a sheet may lack, as the caller supplies their values otherwise.
        units: the caller's unit for bare numbers; needed here only for cells with both sizes.
        number_style: the caller's, for the same.
    Returns: an iterator of orders, and of what was refused in place of one. For a sheet it is a
        `SheetOrders`, which tells what was skipped and where the lines went.
    Raises: UnreadableError, at once or while it is read, for a file that cannot be read at all.
    """
    if kind == "csv":
        return SheetOrders(
            stream,
            source=source,
            column_map=column_map,
            supplied=supplied,
            units=units,
            number_style=number_style,
        )
    if kind == "ndjson":
        return read_ndjson(stream, source=source)
    return read_json(stream.read(MOST_FILE_BYTES + 1), source=source)


def kind_of(name: str) -> Kind | None:
    """Kind of a file by the end of its name; None where it is none of ours.

    Example:
        >>> kind_of("2026/Orders.CSV"), kind_of("orders.txt")
        ('csv', None)
    """
    return SUFFIXES.get(PurePath(name).suffix.lower())
