"""What a run tells on standard error while it goes on; nothing where that is no terminal."""

import io
import time
from collections.abc import Callable
from typing import BinaryIO, Final, TextIO

_EVERY_SECONDS: Final = 0.2
_WIDTH: Final = 78


class Progress:
    """One line that is written over again: openings, rate, share of the input, time left.

    Args:
        stream: where to.
        total_bytes: all of the input; 0 where that is not known.
        clock: seconds, rising.
    """

    def __init__(
        self, stream: TextIO, *, total_bytes: int, clock: Callable[[], float] = time.monotonic
    ) -> None:
        self._stream = stream
        self._is_shown = stream.isatty()
        self._total = total_bytes
        self._clock = clock
        self._begun = self._last = clock()
        self._openings = 0
        self._done = self._done_before = 0

    def resumed(self, end_bytes: int) -> None:
        """Tells how far an earlier run had come."""
        self._done = self._done_before = end_bytes

    def reading(self, here: int) -> None:
        """Tells how far the input has been read, before the first of it is checked."""
        if self._is_shown and self._is_due():
            share = f", {here / self._total:.0%}" if self._total else ""
            self._write(f"reading ahead: {here / 1_000_000:,.0f} MB{share}")

    def done(self, openings: int, end_bytes: int) -> None:
        """Tells that more openings have been written.

        Args:
            openings: how many more.
            end_bytes: bytes of input up to the last of them.
        """
        self._openings += openings
        self._done = end_bytes
        if self._is_shown and self._is_due():
            self._write(self._line())

    def _is_due(self) -> bool:
        now = self._clock()
        if now - self._last < _EVERY_SECONDS:
            return False
        self._last = now
        return True

    def _line(self) -> str:
        seconds = max(self._clock() - self._begun, 1e-9)
        text = f"{self._openings:,} openings, {self._openings / seconds:,.0f}/s"
        if self._total:
            share = min(self._done / self._total, 1)
            text += f", {share:.0%}"
            if self._done_before < self._done < self._total:
                left = seconds * (self._total - self._done) / (self._done - self._done_before)
                text += f", about {_time(left)} left"
        return text

    def _write(self, text: str) -> None:
        self._stream.write(f"\r{text[:_WIDTH]:<{_WIDTH}}")
        self._stream.flush()

    def close(self) -> None:
        """Leaves the line clean."""
        if self._is_shown:
            self._stream.write(f"\r{'':<{_WIDTH}}\r")
            self._stream.flush()


def _time(seconds: float) -> str:
    """A span as people say it.

    Example:
        >>> _time(42), _time(200), _time(7300)
        ('42 s', '3 min', '2 h 2 min')
    """
    if seconds < 90:
        return f"{seconds:.0f} s"
    minutes = round(seconds / 60)
    return f"{minutes} min" if minutes < 90 else f"{minutes // 60} h {minutes % 60} min"


class Watched(io.RawIOBase):
    """A stream that tells how far it has been read.

    Args:
        stream: the bytes.
        told: called with the position after each piece.
        is_kept: whether the stream stays open when this is closed.
    """

    def __init__(
        self, stream: BinaryIO, told: Callable[[int], None] | None = None, *, is_kept: bool = False
    ) -> None:
        super().__init__()
        self._inner = stream
        self._told = told
        self._is_kept = is_kept

    def read(self, size: int = -1, /) -> bytes:
        """Reads, and tells."""
        data = self._inner.read(size)
        if self._told is not None:
            self._told(self._inner.tell())
        return data

    def readline(self, size: int | None = -1, /) -> bytes:
        """Reads a line."""
        return self._inner.readline(-1 if size is None else size)

    def seek(self, offset: int, whence: int = 0, /) -> int:
        """Goes to a place."""
        return self._inner.seek(offset, whence)

    def tell(self) -> int:
        """The place."""
        return self._inner.tell()

    def seekable(self) -> bool:
        """Whether it can go back."""
        return self._inner.seekable()

    def readable(self) -> bool:
        """It is read from."""
        return True

    def close(self) -> None:
        """Closes what it reads."""
        if not self._is_kept:
            self._inner.close()
        super().close()
