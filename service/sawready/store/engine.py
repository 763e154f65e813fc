"""Opens a database so that what it acknowledges is on disk, and refuses one that cannot promise that.

SQLite before 3.51.3 can lose a write-ahead log that is reset at the wrong moment, so the older rollback
journal is used there. Writers begin IMMEDIATE: a transaction that reads first and then wants to write is
else refused at once, whatever the waiting time.

Source: SQLite documentation, pages "Write-Ahead Logging" and "PRAGMA synchronous"; PostgreSQL manual,
section 13.5 (retry of 40001 and 40P01).
"""

import os
import sqlite3
from pathlib import Path
from typing import Any, Final

import sqlalchemy as sa
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError

from sawready.errors import SettingsError

WAL_SAFE_FROM: Final = (3, 51, 3)
"""Version of the SQLite library from which its write-ahead log is safe."""

WAIT_MS: Final = 10_000
"""How long a writer waits for another. [ms]"""

NETWORK: Final = frozenset(
    {"nfs", "nfs4", "cifs", "smb3", "smbfs", "afs", "ncpfs", "ceph", "lustre", "glusterfs", "beegfs", "gfs2"}
    | {"fuse.sshfs", "fuse.glusterfs", "fuse.ceph", "fuse.s3fs", "fuse.rclone", "drvfs"}
)
"""File systems that do not keep SQLite's locks, or not across machines."""

_WRITES: Final = "sawready_writes"
_POSTGRES_OPTIONS: Final = (
    "-c synchronous_commit=on -c statement_timeout=20000 -c lock_timeout=10000 "
    "-c idle_in_transaction_session_timeout=30000 -c timezone=UTC"
)


def read_url(text: str) -> URL:
    """The address of a store.

    Raises: SettingsError for one that is neither SQLite nor PostgreSQL; the text does not repeat it, as it
        may hold a password.

    Example:
        >>> read_url("sqlite:///orders.sqlite3").database
        'orders.sqlite3'
    """
    try:
        url = make_url(text)
    except ArgumentError:
        raise SettingsError(
            "the store is no address of a database. Write sqlite:///PATH or postgresql://..."
        ) from None
    if url.get_backend_name() == "sqlite":
        if not url.database or url.database == ":memory:" or url.query:
            raise SettingsError("the store is SQLite without a file. Write sqlite:///PATH.")
        return url.set(drivername="sqlite+pysqlite")
    if url.get_backend_name() == "postgresql":
        return url.set(drivername="postgresql+psycopg")
    raise SettingsError(
        f"the store is a database of the kind {url.get_backend_name()[:20]!r}. Use SQLite or PostgreSQL."
    )


def open_engine(url: URL) -> sa.Engine:
    """An engine with the safe settings; opens nothing yet.

    Raises: SettingsError for a file on a network file system, and where psycopg is not installed.
    """
    if url.get_backend_name() == "sqlite":
        path = Path(url.database or "")
        kind = file_system(path)
        if kind in NETWORK:
            raise SettingsError(
                f"{path} lies on a network file system ({kind}), which does not keep SQLite's locks. "
                "Put the store on a disk of this machine, or use PostgreSQL."
            )
        engine = sa.create_engine(
            url, connect_args={"timeout": WAIT_MS / 1000, "check_same_thread": False}, pool_timeout=10
        )
        sa.event.listen(engine, "connect", _prepare_sqlite)
        sa.event.listen(engine, "begin", _begin_sqlite)
        return engine
    try:
        return sa.create_engine(
            url,
            connect_args={"connect_timeout": 5, "options": _POSTGRES_OPTIONS},
            pool_pre_ping=True,
            pool_size=8,
            pool_timeout=10,
        )
    except ImportError:
        raise SettingsError(
            "PostgreSQL needs the extra 'postgres': pip install 'sawready[postgres]'."
        ) from None


def writing(engine: sa.Engine) -> sa.Engine:
    """The same engine for transactions that write."""
    return engine.execution_options(**{_WRITES: True})


def journal_mode(version: tuple[int, int, int] = sqlite3.sqlite_version_info) -> str:
    """The journal that is safe with a version of the SQLite library.

    Example:
        >>> journal_mode((3, 40, 1)), journal_mode((3, 51, 3))
        ('TRUNCATE', 'WAL')
    """
    return "WAL" if version >= WAL_SAFE_FROM else "TRUNCATE"


def _prepare_sqlite(connection: Any, record: Any) -> None:
    """Settings that SQLite keeps by connection. Raises SettingsError where one of them does not hold."""
    del record
    connection.isolation_level = None  # transactions begin where we say so
    for statement in (
        f"PRAGMA busy_timeout = {WAIT_MS}",
        f"PRAGMA journal_mode = {journal_mode()}",
        "PRAGMA synchronous = FULL",
        "PRAGMA foreign_keys = ON",
        "PRAGMA trusted_schema = OFF",
    ):
        connection.execute(statement).close()
    held = (
        connection.execute("PRAGMA foreign_keys").fetchone()[0],
        connection.execute("PRAGMA synchronous").fetchone()[0],
    )
    if held != (1, 2):
        raise SettingsError("this SQLite library does not keep foreign keys or full synchronisation.")


def _begin_sqlite(connection: sa.Connection) -> None:
    connection.exec_driver_sql(
        "BEGIN IMMEDIATE" if connection.get_execution_options().get(_WRITES) else "BEGIN"
    )


def file_system(path: Path, *, mounts: str | None = None) -> str:
    r"""Kind of the file system that a path lies on; empty where the system does not say.

    Args:
        path: a file, or where one is to be.
        mounts: table of mounts as Linux gives it; that of this machine where None.
    Example:
        >>> from pathlib import Path
        >>> file_system(Path("/srv/x"), mounts="/dev/a / ext4 rw 0 0\nbox:/b /srv nfs4 rw 0 0")
        'nfs4'
    """
    if mounts is None:
        try:
            mounts = Path("/proc/self/mounts").read_text("utf-8", "replace")
        except OSError:
            return ""
    whole = os.path.realpath(path)
    best, kind = "", ""
    for line in mounts.splitlines():
        parts = line.split(" ")
        if len(parts) < 3:
            continue
        at = parts[1].replace("\\040", " ")
        inside = whole == at or whole.startswith(at if at.endswith("/") else f"{at}/")
        if inside and len(at) >= len(best):
            best, kind = at, parts[2]
    return kind
