"""Orders whose rows lie apart in a large sheet: found in steady memory, and brought together on disk."""

import pickle
import sqlite3
from array import array
from collections.abc import Iterable, Iterator
from typing import Final

from sawready.readers.csv_firm import Told
from sawready.readers.csv_plan import SEPARATOR, Values

Entry = tuple[int, Values, tuple[Told, ...]]
"""Line, values, and what is to be said of them."""

_HEAPS: Final = 64
"""Heaps that the runs are parted into, so that few of them are compared at a time."""


class Spread:
    """Tells which orders of a sheet have rows apart from each other.

    Eight bytes are kept for each run of rows of one order, whatever the order is called. Two orders whose
    names share a hash count as apart, which costs time and changes nothing.
    """

    def __init__(self) -> None:
        self._heaps = [array("q") for _ in range(_HEAPS)]
        self._last: str | None = None

    def add(self, order_ref: str | None) -> None:
        """Takes in the order of the next row; None for a refused row, which parts the rows around it."""
        if order_ref != self._last:
            self._last = order_ref
            if order_ref is not None:
                key = hash(order_ref)
                self._heaps[key % _HEAPS].append(key)

    def apart(self) -> frozenset[int]:
        """Hashes of the names of those orders."""
        found: set[int] = set()
        for heap in self._heaps:
            seen: set[int] = set()
            for key in heap:
                if key in seen:
                    found.add(key)
                seen.add(key)
        return frozenset(found)


class ApartRows:
    """Rows of such orders, kept in a database that lives on disk and goes when it is closed."""

    def __init__(self, rows: Iterable[Entry]) -> None:
        """Takes in all of them, in the order of the sheet."""
        # An unnamed database is private and temporary; SQLite holds two MiB of it in memory.
        self._database = sqlite3.connect("", check_same_thread=False)
        self._database.execute("CREATE TABLE row (order_ref TEXT, line INTEGER, cells TEXT, told BLOB)")
        self._database.executemany("INSERT INTO row VALUES (?, ?, ?, ?)", map(_kept, rows))
        self._database.execute("CREATE INDEX row_of ON row (order_ref, line)")

    def close(self) -> None:
        """Lets them go."""
        self._database.close()

    def first_lines(self) -> Iterator[tuple[int, str]]:
        """Line where each order begins, with its name, in the order of the sheet."""
        query = "SELECT min(line) AS first, order_ref FROM row GROUP BY order_ref ORDER BY first"
        yield from self._database.execute(query)

    def of(self, order_ref: str) -> Iterator[Entry]:
        """All rows of one order."""
        query = "SELECT line, cells, told FROM row WHERE order_ref = ? ORDER BY line"
        for line, cells, told in self._database.execute(query, (order_ref,)):
            # Nobody but this object has written what is loaded here.
            yield line, tuple(cells.split(SEPARATOR)), () if told is None else pickle.loads(told)  # noqa: S301


def _kept(entry: Entry) -> tuple[str, int, str, bytes | None]:
    line, values, told = entry
    return values[0], line, SEPARATOR.join(values), pickle.dumps(told) if told else None
