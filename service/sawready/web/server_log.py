"""What a server program says of itself, in the form of our own log: one JSON object a line.

Its warnings may repeat what a client sent (a request line, an address, a header), so of those only the
fixed words are kept.
"""

import logging
from datetime import UTC, datetime
from typing import Any, Final

import orjson

_LONGEST: Final = 200


class Lines(logging.Formatter):
    """One JSON object for each record.

    Example:
        >>> import logging
        >>> record = logging.makeLogRecord({"msg": "Invalid request from ip=::1: GET /x", "levelno": 30})
        >>> fixed_words(record)
        'Invalid request from ip=::1'
    """

    def format(self, record: logging.LogRecord) -> str:
        """The line; of an exception its kind alone, as its message may quote."""
        entry: dict[str, Any] = {
            "level": record.levelname.lower(),
            "event": record.getMessage() if record.levelno < logging.WARNING else fixed_words(record),
            "of": record.name,
            "timestamp": datetime.fromtimestamp(record.created, UTC).isoformat().replace("+00:00", "Z"),
        }
        if record.exc_info and record.exc_info[0] is not None:
            entry["kind"] = record.exc_info[0].__name__
        return orjson.dumps(entry).decode()


def fixed_words(record: logging.LogRecord) -> str:
    """What a record says, up to where it begins to quote."""
    words = str(record.msg).partition("%")[0] if record.args else str(record.msg).partition(": ")[0]
    return words.strip()[:_LONGEST]


def config() -> dict[str, Any]:
    """Configuration for ``logging`` under which everything goes to standard error in this form."""
    return {
        "version": 1,
        "disable_existing_loggers": False,
        "formatters": {"lines": {"()": "sawready.web.server_log.Lines"}},
        "handlers": {
            "lines": {"class": "logging.StreamHandler", "formatter": "lines", "stream": "ext://sys.stderr"}
        },
        "root": {"level": "WARNING", "handlers": ["lines"]},
        "loggers": {
            "gunicorn.error": {"level": "INFO", "handlers": ["lines"], "propagate": False},
            "gunicorn.access": {"level": "WARNING", "handlers": ["lines"], "propagate": False},
        },
    }
