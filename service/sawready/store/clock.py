"""The time as the store writes it."""

from datetime import UTC, datetime
from typing import Final

FORM: Final = "%Y-%m-%dT%H:%M:%S.%fZ"


def now() -> str:
    """Now, RFC 3339 in UTC; texts of this form sort by time."""
    return written(datetime.now(UTC))


def written(moment: datetime) -> str:
    """A moment as the store writes it.

    Example:
        >>> written(datetime(2026, 11, 25, 9, 0, tzinfo=UTC))
        '2026-11-25T09:00:00.000000Z'
    """
    return moment.astimezone(UTC).strftime(FORM)
