"""What differs from an earlier run: findings that are new, gone or changed, by order or by settings.

Both runs are put into a temporary database, so that neither has to be held in memory.
"""

import csv
import re
import sqlite3
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path
from typing import IO, Any, Final

import orjson

from sawready.batch.folder import MANIFEST
from sawready.errors import SettingsError
from sawready.report.as_csv import heading, table_line

CHANGED: Final = (
    "change", "because", "order_ref", "opening_ref", "reason", "severity", "severity_before", "message",
    "message_before", "file", "line", "column",
)  # fmt: skip

_OPENING: Final = re.compile(r"^/openings/\d+")

_TABLES: Final = """
CREATE TABLE item (run INTEGER, name TEXT, record TEXT, settings TEXT);
CREATE TABLE found (
    run INTEGER, number INTEGER, name TEXT, opening_ref TEXT, reason TEXT, at TEXT, severity TEXT,
    message TEXT, measured TEXT, bound TEXT, file TEXT, line TEXT, cell TEXT);
"""

# An order that stands more than once in a run counts as one; its findings are told apart by their turn.
_SORTED_OUT: Final = """
CREATE TABLE known AS
  SELECT run, name, group_concat(record) AS record, group_concat(DISTINCT settings) AS settings
  FROM (SELECT * FROM item ORDER BY run, name, record) GROUP BY run, name;
CREATE INDEX known_by ON known (name, run);
CREATE TABLE turn AS
  SELECT *, row_number() OVER (PARTITION BY run, name, opening_ref, reason, at ORDER BY number) AS turn
  FROM found;
CREATE INDEX turn_by ON turn (name, opening_ref, reason, at, turn, run);
"""

_DIFFERENT: Final = """
SELECT CASE WHEN other.run IS NULL THEN 'new' ELSE 'changed' END, this.*, other.severity, other.message
  FROM turn AS this LEFT JOIN turn AS other ON other.run = 0 AND other.name = this.name
    AND other.opening_ref = this.opening_ref AND other.reason = this.reason AND other.at = this.at
    AND other.turn = this.turn
  WHERE this.run = 1 AND (other.run IS NULL OR other.severity <> this.severity
    OR other.message <> this.message OR other.measured <> this.measured OR other.bound <> this.bound)
UNION ALL
SELECT 'gone', this.*, this.severity, this.message
  FROM turn AS this LEFT JOIN turn AS other ON other.run = 1 AND other.name = this.name
    AND other.opening_ref = this.opening_ref AND other.reason = this.reason AND other.at = this.at
    AND other.turn = this.turn
  WHERE this.run = 0 AND other.run IS NULL
ORDER BY 2 DESC, 3
"""


@dataclass(slots=True)
class Changes:
    """Counts of what differs.

    Attributes:
        since: the folder of the earlier run.
        settings: what of program, options and files of settings differs.
        counts: findings by kind of change and cause.
    """

    since: str
    settings: list[str] = field(default_factory=list)
    counts: Counter[tuple[str, str]] = field(default_factory=Counter)

    def of(self, change: str) -> int:
        """Findings of one kind of change."""
        return sum(number for (kind, _), number in self.counts.items() if kind == change)

    def as_dict(self) -> dict[str, Any]:
        """The published form."""
        causes = sorted({cause for _, cause in self.counts})
        return {
            **{change: self.of(change) for change in ("new", "gone", "changed")},
            "rows": [
                {
                    "because": cause,
                    **{change: self.counts[change, cause] for change in ("new", "gone", "changed")},
                }
                for cause in causes
            ],
            "settings": self.settings,
        }


def earlier_run(folder: Path) -> Mapping[str, Any]:
    """The manifest of a finished run.

    Raises: SettingsError where the folder holds none.
    """
    try:
        manifest: dict[str, Any] = orjson.loads((folder / MANIFEST).read_bytes())
        outputs = manifest["outputs"]
        is_whole = all((folder / name).stat().st_size == outputs[name]["bytes"] for name in outputs)
    except (OSError, orjson.JSONDecodeError, KeyError, TypeError):
        is_whole = False
    if not is_whole:
        raise SettingsError(f"{folder}: no finished run lies there. Name the --out folder of one.")
    return manifest


def changes_since(
    folder: Path, manifest: Mapping[str, Any], *, header: Mapping[str, Any], orders: Path, findings: Path,
    stream: IO[bytes],
) -> Changes:  # fmt: skip
    """Compares two runs and writes every difference.

    Args:
        folder: of the earlier run.
        manifest: its manifest.
        header: of this run.
        orders: table of the orders of this run.
        findings: table of its findings.
        stream: where the differences go, as a table.
    """
    changes = Changes(str(folder), _settings_that_differ(manifest["run"], header))
    stream.write(heading(CHANGED).encode())
    with closing(sqlite3.connect("")) as database:
        database.executescript(_TABLES)
        pairs = ((folder / "orders.csv", folder / "findings.csv"), (orders, findings))
        for run, (orders_table, findings_table) in enumerate(pairs):
            database.executemany("INSERT INTO item VALUES (?, ?, ?, ?)", _items(run, orders_table))
            insert = "INSERT INTO found VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)"
            database.executemany(insert, _found(run, findings_table))
        database.executescript(_SORTED_OUT)
        known: dict[str, str] = {}
        last = None
        for row in database.execute(_DIFFERENT):
            change, (name, opening_ref, reason) = row[0], row[3:6]
            if name != last:
                last = name
                known = {"because": _because(database, name)}
            because = known["because"]
            changes.counts[change, because] += 1
            severity, message = row[7:9]
            before = row[15:17] if change != "new" else ("", "")
            if change == "gone":
                severity = message = ""
            file, line, cell = row[11], int(row[12]) if row[12] else None, row[13]
            order_ref = "" if name.startswith("\x1f") else name
            stream.write(
                table_line(
                    change, because, order_ref, opening_ref, reason, severity, before[0], message, before[1],
                    file, line, cell,
                ).encode()
            )  # fmt: skip
    return changes


def _because(database: sqlite3.Connection, name: str) -> str:
    """What has changed about an order."""
    rows = {
        run: (record, settings)
        for run, record, settings in database.execute(
            "SELECT run, record, settings FROM known WHERE name = ?", (name,)
        )
    }
    if 0 not in rows:
        return "order is new"
    if 1 not in rows:
        return "order is gone"
    is_other_order, is_otherwise_judged = (was != now for was, now in zip(rows[0], rows[1], strict=True))
    if is_other_order and is_otherwise_judged:
        return "order and settings changed"
    return "order changed" if is_other_order else "settings changed"


def _name(order_ref: str, file: str, number: str) -> str:
    """What an order is known by in both runs; without a reference by its file, a refused row by itself."""
    return order_ref or f"\x1f{file}\x1f{number}"


def _items(run: int, table: Path) -> Iterator[tuple[int, str, str, str]]:
    for file, order_ref, decision, _, record, settings in _rows(table):
        if decision == "unreadable":
            yield run, _name("", file, "refused"), record, settings
        else:
            yield run, _name(order_ref, file, ""), record, settings


def _found(run: int, table: Path) -> Iterator[tuple[Any, ...]]:
    for number, row in enumerate(_rows(table)):
        file, line, column, order_ref, opening_ref, reason, severity, at, message, measured, limit = row[:11]
        is_refused = not order_ref and not opening_ref and reason == "row-unreadable"
        # The place of a refused row says nothing of which it is, and two are told apart by what is wrong.
        at = message if is_refused else _OPENING.sub("/openings", at)
        name = _name(order_ref, file, "refused" if is_refused else "")
        yield (
            run, number, name, opening_ref, reason, at, severity, message, measured, limit, file, line, column
        )  # fmt: skip


def _rows(table: Path) -> Iterator[list[str]]:
    with table.open(newline="", encoding="utf-8") as stream:
        rows: Iterable[list[str]] = csv.reader(stream)
        iterator = iter(rows)
        next(iterator, None)
        yield from iterator


def _settings_that_differ(was: Mapping[str, Any], now: Mapping[str, Any]) -> list[str]:
    """Program, options and files of settings that are not the same in both runs."""
    found = []
    if was["program"] != now["program"]:
        versions = was["program"]["version"], now["program"]["version"]
        is_other = versions[0] != versions[1]
        found.append(f"program ({versions[0]}, now {versions[1]})" if is_other else "program")
    before, after = was["settings"], now["settings"]
    found += [name.replace("_", " ") for name in after if before.get(name) != after[name]]
    return found
