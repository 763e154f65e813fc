"""An order as it came, as the store keeps it: JSON that reads back to the very same values."""

import hashlib
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from decimal import Decimal
from typing import Any

import orjson

from sawready.model.finding import Cell, Finding, Quantity
from sawready.pipeline import CallerDefaults
from sawready.readers.json_door import loads
from sawready.readers.raw import RawOrder


@dataclass(frozen=True, slots=True)
class Upload:
    """An order as it came.

    Attributes:
        data: what a door read.
        caller: what the caller said for what the order leaves open.
        problems: findings of the door.
        cells: cells of the places that findings name, for an order that came as a sheet.
    """

    data: dict[str, Any]
    caller: CallerDefaults
    problems: tuple[Finding, ...] = ()
    cells: Mapping[str, tuple[int, str | None]] | None = None

    def cell(self, pointer: str) -> Cell | None:
        """The cell of a place, where it is known."""
        place = (self.cells or {}).get(pointer)
        return None if place is None else Cell(*place)


def _exact(value: Any) -> Any:
    """A number with the digits that were written."""
    if isinstance(value, Decimal):
        return orjson.Fragment(str(value))
    raise TypeError(type(value).__name__)


def written(value: Any, *, is_sorted: bool = False) -> bytes:
    """A door's value as JSON.

    Example:
        >>> written({"widths": [1812, Decimal("1808.50")]})
        b'{"widths":[1812,1808.50]}'
    """
    return orjson.dumps(value, default=_exact, option=orjson.OPT_SORT_KEYS if is_sorted else None)


def fingerprint(value: Any, *more: str) -> str:
    """SHA-256 of a value, whatever the order of its members, and of some texts."""
    made = hashlib.sha256(written(value, is_sorted=True))
    for text in more:
        made.update(b"\0" + text.encode())
    return made.hexdigest()


def content_of(raw: RawOrder, caller: CallerDefaults) -> str:
    """Tells whether two uploads are the same sheet."""
    problems = [found.as_dict() for found in raw.problems]
    return fingerprint([raw.data, asdict(caller), problems])


def stored(upload: Upload) -> bytes:
    """An upload as the store keeps it."""
    return written(
        {
            "data": upload.data,
            "caller": asdict(upload.caller),
            "problems": [found.as_dict() for found in upload.problems],
            "cells": upload.cells,
        }
    )


def read_back(document: bytes) -> Upload:
    """An upload as the store kept it."""
    # the wrapping adds a level to what may be nested as deep as the door lets it, so each part is read alone
    parts = orjson.loads(document)
    exact = _exact_data(document)
    cells = parts["cells"]
    return Upload(
        data=exact,
        caller=CallerDefaults(**parts["caller"]),
        problems=tuple(_finding(found) for found in parts["problems"]),
        cells=None if cells is None else {at: (place[0], place[1]) for at, place in cells.items()},
    )


def _exact_data(document: bytes) -> dict[str, Any]:
    """The data of a stored upload, decimals with the digits that were written."""
    end = document.rindex(b',"caller":{')
    data: dict[str, Any] = loads(document[len(b'{"data":') : end], what="order")
    return data


def _finding(kept: Mapping[str, Any]) -> Finding:
    quantities = {
        name: None if kept[name] is None else Quantity(kept[name]["value"], kept[name]["unit"])
        for name in ("measured", "limit")
    }
    cell = kept["cell"]
    return Finding(
        reason=kept["reason"],
        severity=kept["severity"],
        at=kept["at"],
        message=kept["message"],
        candidates=tuple(kept["candidates"]),
        remedy=kept["remedy"],
        source=kept["source"],
        cell=None if cell is None else Cell(cell["line"], cell["column"]),
        **quantities,
    )
