"""Backups: one SQLite file, whatever the store is, taken while orders come in.

A SQLite store is copied page by page by SQLite's own online backup. A PostgreSQL store is read in one
snapshot into a new SQLite store of the same form. A backup is therefore a store of its own: it can be
served from, looked at, or restored to either kind of database.
"""

import contextlib
import os
import sqlite3
from collections.abc import Iterator
from pathlib import Path
from typing import Final

import sqlalchemy as sa

from sawready.errors import SettingsError, StoreError
from sawready.store.store import Store, make_private
from sawready.store.tables import METADATA, NUMBER

_ROWS: Final = 500
_PAGES: Final = 256


def back_up(store: Store, target: Path) -> None:
    """Writes a backup; the file appears only once it is whole, checked and on disk.

    Args:
        store: what to back up; it may be written to meanwhile.
        target: a file that is not there yet.
    Raises: SettingsError where the file is there or cannot be written; StoreError.
    """
    if target.exists():
        raise SettingsError(f"{target} is there already. Name a new file.")
    part = target.with_name(f"{target.name}.part")
    try:
        part.unlink(missing_ok=True)
        if store.file is not None:
            _copy(store.file, part)
        else:
            _read_out(store, part)
        check(part)
        _sync(part)
        part.rename(target)
        _sync(target.parent)
    except (OSError, sqlite3.Error) as trouble:
        raise SettingsError(f"{target}: the backup could not be written ({trouble}).") from None
    finally:
        with contextlib.suppress(OSError):
            part.unlink(missing_ok=True)


def check(file: Path) -> None:
    """Reads every page and reference of a SQLite file. Raises: SettingsError where anything is wrong."""
    try:
        with contextlib.closing(
            sqlite3.connect(f"{file.resolve().as_uri()}?mode=ro", uri=True)
        ) as connection:
            said = [row[0] for row in connection.execute("PRAGMA integrity_check")]
            torn = connection.execute("PRAGMA foreign_key_check").fetchall()
    except sqlite3.Error as trouble:
        raise SettingsError(f"{file} is no backup of sawready ({trouble}).") from None
    if said != ["ok"] or torn:
        raise SettingsError(f"{file} is damaged: {said[0]}, {len(torn)} broken references.")


def restore(backup: Path, url: str, *, is_replaced: bool = False) -> None:
    """Makes a store out of a backup.

    Args:
        backup: a file that ``back_up`` has written.
        url: address of the store. A SQLite file must not be there yet; a PostgreSQL database must be empty.
        is_replaced: put it in the place of a SQLite file that is there; no service may be using that.
    Raises: SettingsError, StoreError.
    """
    if not backup.is_file():
        raise SettingsError(f"{backup} is not there.")
    check(backup)
    source = Store.open(f"sqlite:///{backup}", may_make=False)  # also says whether its form is right
    target = Store.reach(url)
    try:
        if target.file is not None:
            _restore_file(backup, target.file, is_replaced=is_replaced)
        else:
            _restore_rows(source, target)
    finally:
        source.close()
        target.close()


def _restore_file(backup: Path, file: Path, *, is_replaced: bool) -> None:
    if file.exists() and not is_replaced:
        raise SettingsError(
            f"{file} is there already. Stop the service, then say --replace, or name a new file."
        )
    part = file.with_name(f"{file.name}.part")
    try:
        part.unlink(missing_ok=True)
        _copy(backup, part)
        check(part)
        _sync(part)
        for leftover in ("-journal", "-wal", "-shm"):  # they belong to what is replaced
            file.with_name(file.name + leftover).unlink(missing_ok=True)
        part.replace(file)
        _sync(file.parent)
    except (OSError, sqlite3.Error) as trouble:
        raise SettingsError(f"{file}: the store could not be written ({trouble}).") from None


def _restore_rows(source: Store, target: Store) -> None:
    if target.step() is None:
        target.migrate()

    def work(tx: sa.Connection) -> None:
        for table in METADATA.sorted_tables:
            if tx.execute(sa.select(sa.literal(1)).select_from(table).limit(1)).first() is not None:
                raise SettingsError(
                    f"the database is not empty: {table.name} has rows. Restore to an empty one."
                )
        for table, rows in _all_rows(source):
            tx.execute(table.insert(), rows)
        for table in METADATA.sorted_tables:
            for column in table.primary_key.columns:
                if column.type is NUMBER and column.autoincrement is True:
                    last = tx.scalar(sa.select(sa.func.max(column))) or 0
                    name = sa.func.pg_get_serial_sequence(table.name, column.name)
                    tx.execute(sa.select(sa.func.setval(name, last + 1, sa.false())))

    target.write(work)


def _all_rows(store: Store) -> Iterator[tuple[sa.Table, list[dict[str, object]]]]:
    """Every row of a store, table by table, those that others refer to first."""
    with store.engine.connect() as connection:
        if store.is_sqlite:
            yield from _rows(connection)
        else:
            with connection.execution_options(isolation_level="REPEATABLE READ").begin():
                yield from _rows(connection)


def _rows(connection: sa.Connection) -> Iterator[tuple[sa.Table, list[dict[str, object]]]]:
    for table in METADATA.sorted_tables:
        found = connection.execution_options(yield_per=_ROWS).execute(sa.select(table)).mappings()
        for some in found.partitions(_ROWS):
            yield table, [{str(name): value for name, value in row.items()} for row in some]


def _read_out(store: Store, part: Path) -> None:
    made = Store.open(f"sqlite:///{part}")
    try:
        with made.engine.begin() as tx:
            for table, rows in _all_rows(store):
                tx.execute(table.insert(), rows)
    except sa.exc.SQLAlchemyError as trouble:
        raise StoreError(f"the store could not be read out ({type(trouble).__name__})") from trouble
    finally:
        made.close()


def _copy(source: Path, target: Path) -> None:
    """Copies a SQLite database that may be written to meanwhile."""
    make_private(target)
    with (
        contextlib.closing(
            sqlite3.connect(f"{source.resolve().as_uri()}?mode=ro", uri=True, timeout=30)
        ) as one,
        contextlib.closing(sqlite3.connect(target)) as other,
    ):
        one.backup(other, pages=_PAGES, sleep=0.01)


def _sync(path: Path) -> None:
    """Sees to it that a file, or the names in a folder, are on disk."""
    descriptor = os.open(path, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
