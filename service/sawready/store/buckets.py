"""How many requests each key may still make: one bucket a key, shared by every worker.

A worker takes a few at a time, so that not each request writes; together they never take more than the
bucket held.
"""

import sqlalchemy as sa

from sawready.store.tables import BUCKETS


def take(
    tx: sa.Connection, *, key_id: str, wanted: float, most: float, per_second: float, now_s: float
) -> tuple[float, float]:
    """Takes requests out of a bucket.

    Args:
        tx: a transaction that writes.
        key_id: whose bucket.
        wanted: how many to take at most.
        most: how many a full bucket holds.
        per_second: how many flow in. [1/s]
        now_s: the time. [s]
    Returns: how many were taken, whole ones only, and how many are left.
    """
    row = tx.execute(sa.select(BUCKETS).where(BUCKETS.c.key_id == key_id).with_for_update()).one_or_none()
    # a clock that steps back lets nothing flow in, and nothing out
    flowed = 0.0 if row is None else max(0.0, now_s - row.filled_at) * per_second
    tokens = most if row is None else min(most, row.tokens + flowed)
    taken = float(int(min(wanted, tokens)))
    values = {"tokens": tokens - taken, "filled_at": now_s}
    if row is None:
        tx.execute(BUCKETS.insert().values(key_id=key_id, **values))
    else:
        tx.execute(BUCKETS.update().where(BUCKETS.c.key_id == key_id).values(**values))
    return taken, tokens - taken
