"""Exceptions of the service: our own trouble, never a fault of an order."""


class ServiceError(Exception):
    """Base of every exception that sawready raises on purpose; never raised itself."""


class CatalogueError(ServiceError):
    """A profile system or rulebook file cannot be used; the text names file, line, value and remedy."""


class SettingsError(ServiceError):
    """An option, setting or column map cannot be used; the text says which and what would do."""


class StoreError(ServiceError):
    """The store is out of reach, full, or cannot be written; nothing of what was begun is kept."""


class UnreadableError(ServiceError):
    """Bytes that are no readable order, row or file; carries the place and the reason.

    Attributes:
        reason: a reason of the catalogue, such as ``row-unreadable``.
        detail: one sentence that names place, value and remedy.
        line: physical line, from 1, where known.
        column: column name or number, where known.
        pointer: RFC 6901 pointer, where known.
    """

    def __init__(
        self,
        detail: str,
        *,
        reason: str = "row-unreadable",
        line: int | None = None,
        column: str | None = None,
        pointer: str | None = None,
    ) -> None:
        super().__init__(detail)
        self.reason = reason
        self.detail = detail
        self.line = line
        self.column = column
        self.pointer = pointer
