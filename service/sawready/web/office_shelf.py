"""Where the office page lays what it needs from one page to the next: private, small, short-lived.

A service may run in several processes, so it lies in a folder of its own under the machine's temporary one,
which only the service's own account can read. Names on disk are digests of random numbers that only the
visitor has; nothing that a visitor sends becomes a name.
"""

import hashlib
import os
import re
import secrets
import stat
import tempfile
import threading
import time
from contextlib import suppress
from pathlib import Path
from typing import Final, Literal

from sawready.errors import StoreError

Kind = Literal["upload", "session"]

MOST_KEPT: Final[dict[Kind, int]] = {"upload": 200, "session": 2000}
"""Entries of a kind; beyond them the oldest goes."""

MOST_BYTES: Final = 256 * 1024 * 1024
"""Bytes of all entries of a kind together."""

KEPT_S: Final = 8 * 3600.0
"""How long an entry is kept after it was laid down or changed: a day at the office. [s]"""

_TOKEN: Final = re.compile(r"[A-Za-z0-9_-]{32}", re.ASCII)
_UNFINISHED: Final = ".part"
_TOKEN_BYTES: Final = 24


def new_token() -> str:
    """A random name of 192 bits."""
    return secrets.token_urlsafe(_TOKEN_BYTES)


def is_token(text: str) -> bool:
    """Whether a text has the form of such a name."""
    return _TOKEN.fullmatch(text) is not None


def temporary_folder() -> Path:
    """The temporary folder of the machine."""
    return Path(tempfile.gettempdir())


class Shelf:
    """Entries by random names.

    Args:
        mark: tells services on the same machine apart, such as the address of their store.
        folder: where the entries lie; None for a folder of the service's account and mark.
    """

    def __init__(self, mark: str, folder: Path | None = None) -> None:
        if folder is None:
            account = str(os.getuid()) if hasattr(os, "getuid") else "own"
            digest = hashlib.sha256(mark.encode("utf-8", "replace")).hexdigest()[:12]
            folder = temporary_folder() / f"sawready-office-{account}-{digest}"
        self._folder = folder
        self._lock = threading.Lock()

    def put(self, kind: Kind, content: bytes, token: str | None = None) -> str:
        """Lays an entry down, or lays other content in its place.

        Args:
            kind: what it is.
            content: its bytes.
            token: its name; None for a new one.
        Returns: its name.
        Raises: StoreError where the folder cannot be used.
        """
        name = new_token() if token is None else token
        try:
            with self._lock:
                self._make_folder()
                self._make_room(kind, len(content))
                path = self._path(kind, name)
                handle, unfinished = tempfile.mkstemp(dir=self._folder, suffix=_UNFINISHED)
                with os.fdopen(handle, "wb") as stream:
                    stream.write(content)
                Path(unfinished).replace(path)
        except OSError as trouble:
            raise StoreError("the folder of the office page cannot be written") from trouble
        return name

    def get(self, kind: Kind, token: str) -> bytes | None:
        """The content of an entry; None where there is none of that name, or no longer."""
        if not is_token(token):
            return None
        path = self._path(kind, token)
        try:
            if time.time() - path.stat().st_mtime > KEPT_S:
                path.unlink(missing_ok=True)
                return None
            return path.read_bytes()
        except FileNotFoundError:
            return None
        except OSError as trouble:
            raise StoreError("the folder of the office page cannot be read") from trouble

    def drop(self, kind: Kind, token: str) -> None:
        """Removes an entry, if it is there."""
        if is_token(token):
            with suppress(OSError):
                self._path(kind, token).unlink(missing_ok=True)

    def _path(self, kind: Kind, token: str) -> Path:
        return self._folder / f"{hashlib.sha256(token.encode('ascii')).hexdigest()}.{kind}"

    def _make_folder(self) -> None:
        """Makes the folder, and refuses one that others could have put there."""
        self._folder.mkdir(mode=0o700, exist_ok=True)
        found = self._folder.lstat()
        if not stat.S_ISDIR(found.st_mode):
            raise NotADirectoryError(str(self._folder))
        if hasattr(os, "getuid") and (found.st_uid != os.getuid() or found.st_mode & 0o077):
            raise PermissionError(str(self._folder))

    def _make_room(self, kind: Kind, size: int) -> None:
        """Removes what is over its time, then the oldest while there is too much."""
        now = time.time()
        kept: list[tuple[float, int, Path]] = []
        for path in self._folder.iterdir():
            with suppress(FileNotFoundError):  # another process may remove it meanwhile
                found = path.stat()
                if now - found.st_mtime > KEPT_S:
                    path.unlink(missing_ok=True)
                elif path.suffix == f".{kind}":
                    kept.append((found.st_mtime, found.st_size, path))
        kept.sort()
        total = size + sum(each[1] for each in kept)
        while kept and (len(kept) >= MOST_KEPT[kind] or total > MOST_BYTES):
            _, length, path = kept.pop(0)
            path.unlink(missing_ok=True)
            total -= length
