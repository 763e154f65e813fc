"""What stops the work: a budget counted in steps, and the clock as outer guard."""

import time
from typing import Final, Literal

Stop = Literal["work", "time"]
"""Which limit stopped the work: the counted budget, or the clock."""

UNITS_A_SECOND: Final = 10**9
"""Work is counted in units of roughly a nanosecond on a machine of 2025; the count is exact, the
relation to time is not."""


class Guard:
    """Asked between steps whether to go on.

    Work is counted by size (cells of a table, steps of a solver), so the same input stops at the same
    point on any machine. The clock is only there for those who must have an answer in time; a plan
    that it cut short says so, as it may differ from machine to machine.

    Attributes:
        stopped_by: which limit has stopped anything; None while none has.
    """

    def __init__(self, limit_s: float | None = None, work: int | None = None) -> None:
        """Starts the clock.

        Args:
            limit_s: seconds from now, or None for no limit. [s]
            work: units of work, or None for no limit.
        Raises: ValueError if a limit is below zero.
        """
        if limit_s is not None and not limit_s >= 0:
            raise ValueError(f"a time limit of {limit_s} s is below zero")
        if work is not None and work < 0:
            raise ValueError(f"a work limit of {work} is below zero")
        self._end = None if limit_s is None else time.monotonic() + limit_s
        self._work = work
        self.stopped_by: Stop | None = None

    def spend(self, units: float) -> None:
        """Counts work that was done."""
        if self._work is not None:
            self._work -= int(units)

    def expired(self) -> bool:
        """Whether to stop now; remembers that it said so, and why."""
        if self.stopped_by is None:
            if self._end is not None and time.monotonic() >= self._end:
                self.stopped_by = "time"
            elif self._work is not None and self._work <= 0:
                self.stopped_by = "work"
        return self.stopped_by is not None

    def share(self, work: int | None) -> "Guard":
        """A guard for a part of the work: its own budget, the same clock."""
        part = Guard(work=work)
        part._end = self._end
        return part

    @property
    def left_s(self) -> float | None:
        """Seconds left, at least zero; None where there is no limit."""
        return None if self._end is None else max(0.0, self._end - time.monotonic())
