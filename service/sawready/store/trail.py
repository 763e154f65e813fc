"""The trail: who did what and when. Entries are added in the transaction of what they tell of."""

import json
from dataclasses import dataclass
from typing import Any, Final

import sqlalchemy as sa

from sawready.store.clock import now
from sawready.store.tables import TRAIL

_NEW_ENTRY: Final = TRAIL.insert()


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry of the trail."""

    made_at: str
    event: str
    key_id: str
    firm: str
    revision: int | None
    facts: dict[str, Any]


def note(
    tx: sa.Connection,
    event: str,
    *,
    key_id: str,
    firm: str,
    order_id: int | None = None,
    revision: int | None = None,
    **facts: Any,
) -> None:
    """Adds an entry.

    Args:
        tx: the transaction of what it tells of.
        event: such as ``order-kept``.
        key_id: public part of the key that did it.
        firm: firm whose work it is.
        order_id: order that it is about.
        revision: its revision.
        facts: what else there is to say.
    """
    tx.execute(
        _NEW_ENTRY,
        {
            "made_at": now(),
            "event": event,
            "key_id": key_id,
            "firm": firm,
            "order_id": order_id,
            "revision": revision,
            "facts": json.dumps(facts, ensure_ascii=False, sort_keys=True),
        },
    )


def entries_of(tx: sa.Connection, order_id: int) -> list[Entry]:
    """The trail of one order, oldest first."""
    rows = tx.execute(sa.select(TRAIL).where(TRAIL.c.order_id == order_id).order_by(TRAIL.c.entry_id))
    return [
        Entry(row.made_at, row.event, row.key_id, row.firm, row.revision, json.loads(row.facts))
        for row in rows
    ]
