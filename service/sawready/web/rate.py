"""Requests that a key may make, shared by all workers.

A worker leases a share of the quota from the store, so that few requests write to it. Together the workers
never spend more than the bucket holds; a worker that ends leaves its unspent lease unused.

Source of the header fields: draft-ietf-httpapi-ratelimit-headers.
"""

import threading
import time
from dataclasses import dataclass
from typing import Final

from sawready.store import buckets
from sawready.store.store import Store

WINDOW_S: Final = 60
"""What a quota is for. [s]"""

_SHARE: Final = 20
"""A lease is the quota over this."""

_LEASE_S: Final = 10.0
"""How long a lease is good: what is left of it then flows in anew. [s]"""


@dataclass(slots=True)
class _Lease:
    left: float = 0.0
    in_bucket: float = 0.0
    until_s: float = 0.0


@dataclass(frozen=True, slots=True)
class Spent:
    """What became of a request: whether it may go on, and what is left."""

    is_allowed: bool
    left: int
    wait_s: int


class Rates:
    """The quota of each key.

    Args:
        store: where the buckets stand.
        per_minute: requests that a key may make in a minute.
    """

    def __init__(self, store: Store, per_minute: int) -> None:
        self._store = store
        self.per_minute = per_minute
        self._leases: dict[str, _Lease] = {}
        self._lock = threading.Lock()

    def spend(self, key_id: str) -> Spent:
        """Spends one request of a key. Raises: StoreError."""
        with self._lock:
            lease = self._leases.setdefault(key_id, _Lease())
            now_s = time.time()
            if lease.left < 1 or now_s > lease.until_s:
                taken, lease.in_bucket = self._store.write(
                    lambda tx: buckets.take(
                        tx,
                        key_id=key_id,
                        wanted=max(1.0, self.per_minute // _SHARE),
                        most=self.per_minute,
                        per_second=self.per_minute / WINDOW_S,
                        now_s=now_s,
                    )
                )
                lease.left, lease.until_s = taken, now_s + _LEASE_S
            if lease.left < 1:
                lease.until_s = 0.0
                wait_s = max(1, round(WINDOW_S / self.per_minute))
                return Spent(is_allowed=False, left=0, wait_s=wait_s)
            lease.left -= 1
            return Spent(is_allowed=True, left=int(lease.left + lease.in_bucket), wait_s=0)

    def headers(self, spent: Spent) -> dict[str, str]:
        """The header fields that tell a client where it stands."""
        fields = {
            "RateLimit-Policy": f'"default";q={self.per_minute};w={WINDOW_S}',
            "RateLimit": f'"default";r={spent.left};t={spent.wait_s or WINDOW_S}',
        }
        if not spent.is_allowed:
            fields["Retry-After"] = str(spent.wait_s)
        return fields
