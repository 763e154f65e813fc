"""Answers by Idempotency-Key, written in the same transaction as what they tell of."""

import json
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Final

import sqlalchemy as sa

from sawready.store.clock import now, written
from sawready.store.tables import REPLAYS

KEPT_HOURS: Final = 48
"""How long an answer is kept at least. [h]"""


@dataclass(frozen=True, slots=True)
class Replay:
    """What a call with an Idempotency-Key answered."""

    fingerprint: str
    status: int
    headers: dict[str, str]
    body: bytes


def find(tx: sa.Connection, *, firm: str, call: str, replay_key: str) -> Replay | None:
    """The answer that was given already, if any."""
    row = tx.execute(
        sa.select(REPLAYS).where(
            REPLAYS.c.firm == firm, REPLAYS.c.call == call, REPLAYS.c.replay_key == replay_key
        )
    ).one_or_none()
    return None if row is None else Replay(row.fingerprint, row.status, json.loads(row.headers), row.body)


def keep(tx: sa.Connection, replay: Replay, *, firm: str, call: str, replay_key: str) -> None:
    """Keeps an answer, and lets go of those whose time is over."""
    over = written(datetime.now(UTC) - timedelta(hours=KEPT_HOURS))
    tx.execute(REPLAYS.delete().where(REPLAYS.c.made_at < over))
    tx.execute(
        REPLAYS.insert().values(
            firm=firm,
            call=call,
            replay_key=replay_key,
            fingerprint=replay.fingerprint,
            status=replay.status,
            headers=json.dumps(replay.headers),
            body=replay.body,
            made_at=now(),
        )
    )
