"""The store: units of work, each one transaction that happens as a whole or not at all."""

import contextlib
import os
import random
import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import Final, TypeVar

import sqlalchemy as sa
from sqlalchemy.exc import DBAPIError, IntegrityError, SQLAlchemyError

from sawready.errors import SettingsError, StoreError
from sawready.store.engine import open_engine, read_url, writing
from sawready.store.migrate import HEAD, migrate, step_of

Done = TypeVar("Done")
Work = Callable[[sa.Connection], Done]
"""A unit of work; it may run again, so it does nothing beside its statements."""

_TRIES: Final = 8
_AGAIN: Final = frozenset({"40001", "40P01"})
"""SQLSTATE of transactions that PostgreSQL asks to run again."""


class Store:
    """A database that orders are kept in.

    Every method that touches it raises StoreError where it is out of reach, full or cannot be written;
    nothing of the unit of work is kept then.
    """

    def __init__(self, engine: sa.Engine) -> None:
        self._engine = engine
        self._writing = writing(engine)
        self._is_sqlite = engine.dialect.name == "sqlite"
        self._file = Path(engine.url.database or "") if self._is_sqlite else None
        self._inode: int | None = None
        self._turn: contextlib.AbstractContextManager[object] = (
            threading.Lock() if self._is_sqlite else contextlib.nullcontext()
        )

    @classmethod
    def open(cls, url: str, *, may_make: bool = True) -> "Store":
        """The store at an address, which has the form that this version needs.

        Args:
            url: ``sqlite:///PATH`` or ``postgresql://...``.
            may_make: make a SQLite store where there is no file yet.
        Raises: SettingsError for an address that is none, and for a store that has another form;
            StoreError where it is out of reach.
        """
        store = cls.reach(url)
        if store.file is not None and not store.file.exists():
            if not may_make:
                store.close()
                raise SettingsError(f"{store.file} is not there. Make it with: sawready store migrate")
            store.migrate()  # two workers that start together find the other's, or make it
        step = store.step()
        if step != HEAD:
            store.close()
            has = "is empty" if step is None else f"has the form {step}"
            raise SettingsError(
                f"the store {has}; this version needs {HEAD}. Back it up, then run: sawready store migrate"
            )
        store.check_server()
        return store

    @classmethod
    def reach(cls, url: str) -> "Store":
        """The store at an address, whatever its form. Raises: SettingsError."""
        return cls(open_engine(read_url(url)))

    @property
    def file(self) -> Path | None:
        """File of a SQLite store."""
        return self._file

    @property
    def engine(self) -> sa.Engine:
        """The engine, for backups and tests."""
        return self._engine

    @property
    def is_sqlite(self) -> bool:
        """Whether it is one file."""
        return self._is_sqlite

    def step(self) -> str | None:
        """Step of the migrations that it has; None where it is empty."""
        return self.read(step_of)

    def migrate(self) -> str:
        """Takes it to the newest step. Returns: that step. Raises: StoreError."""
        if self._file is not None and not self._file.exists():
            make_private(self._file)
        return self.write(migrate)

    def check_server(self) -> None:
        """Refuses a server that acknowledges what is not on its disk. Raises: SettingsError."""
        if not self._is_sqlite and self.read(lambda tx: tx.scalar(sa.text("SHOW fsync"))) != "on":
            raise SettingsError(
                "the PostgreSQL server runs with fsync off, so it may lose what it acknowledged."
            )

    def read(self, work: Work[Done]) -> Done:
        """Does work that only reads."""
        with self._known_troubles():
            self._same_file()
            with self._engine.begin() as tx:
                return work(tx)

    def write(self, work: Work[Done]) -> Done:
        """Does work that writes; on return it is on disk.

        Work that loses a race is done again as a whole: it then sees what the other one wrote.
        """
        tries = 0
        while True:
            tries += 1
            try:
                with self._known_troubles(), self._turn:
                    self._same_file()
                    with self._writing.begin() as tx:
                        return work(tx)
            except RaceError as race:
                if tries >= _TRIES:
                    raise StoreError("the store is too busy to finish this") from race
                time.sleep(random.uniform(0, 0.005 * tries))  # noqa: S311 - only spreads tries apart

    def is_ready(self) -> bool:
        """Whether it can be written: a write is begun, made and taken back."""
        try:
            self.write(_rehearse)
        except _TakenBackError:
            return True
        except (StoreError, SettingsError):
            return False
        return False

    def close(self) -> None:
        """Lets go of its connections."""
        self._engine.dispose()

    def _same_file(self) -> None:
        """Refuses to write to a file that was moved away or replaced under the running service."""
        if self._file is None:
            return
        try:
            inode = os.stat(self._file).st_ino  # noqa: PTH116 - the quickest look, before each transaction
        except OSError:
            if self._inode is None:
                return
            self._engine.dispose()
            raise StoreError("the file of the store is gone") from None
        if self._inode is None:
            self._inode = inode
        elif self._inode != inode:
            self._engine.dispose()
            self._inode = inode

    @contextlib.contextmanager
    def _known_troubles(self):  # type: ignore[no-untyped-def] # a generator of nothing
        try:
            yield
        except IntegrityError as trouble:
            raise RaceError from trouble
        except DBAPIError as trouble:
            state = getattr(trouble.orig, "sqlstate", None)
            if state in _AGAIN:
                raise RaceError from trouble
            raise StoreError(f"the store cannot be used ({type(trouble.orig).__name__})") from trouble
        except SQLAlchemyError as trouble:
            raise StoreError(f"the store cannot be used ({type(trouble).__name__})") from trouble


def make_private(file: Path) -> None:
    """Makes an empty file that its owner alone can read, as a store or backup is to be.

    Raises: StoreError where its folder is not there or cannot be written.
    """
    try:
        os.close(os.open(file, os.O_CREAT | os.O_WRONLY, 0o600))
    except OSError as trouble:
        raise StoreError(f"{file} cannot be made ({trouble.strerror})") from None


class RaceError(Exception):
    """Another transaction came first; raised inside of work, the work is done again as a whole."""


class _TakenBackError(Exception):
    """Ends a rehearsal."""


def _rehearse(tx: sa.Connection) -> None:
    if step_of(tx) != HEAD:
        return
    tx.execute(sa.text("DELETE FROM buckets WHERE key_id = ''"))
    tx.execute(sa.text("INSERT INTO buckets (key_id, tokens, filled_at) VALUES ('', 0, 0)"))
    raise _TakenBackError
