"""Who calls: reads the key, holds it against the store, and lets a role do what it may.

A key is remembered for two seconds once its secret was right, so a revoked one ends everywhere soon after.
A wrong secret is never answered from memory: an unknown key and a wrong secret take the same path.
"""

import ipaddress
import threading
import time
from typing import Final

from flask import Flask, Response, g, request

from sawready.desk.caller import LOCAL, Caller, caller_of
from sawready.store import keys
from sawready.store.clock import now
from sawready.store.store import Store
from sawready.web.access import ACCESS, OPEN, Access
from sawready.web.parts import Parts
from sawready.web.problems import ProblemError
from sawready.web.rate import Rates

REMEMBERED_S: Final = 2.0
"""How long a right key is remembered. [s]"""

_MOST_REMEMBERED: Final = 4096
_CHALLENGE: Final = {"WWW-Authenticate": 'Bearer realm="sawready"'}
_FORWARDED: Final = (
    "Forwarded", "Via", "X-Forwarded-For", "X-Forwarded-Host", "X-Forwarded-Proto", "X-Forwarded-By", "X-Real-IP",
)  # fmt: skip
"""Headers by which proxies tell that they hand a request on."""


class Doorkeeper:
    """Knows the keys of a store; None for a service that keeps nothing and so has none."""

    def __init__(self, store: Store | None) -> None:
        self._store = store
        self._known: dict[str, tuple[float, str, keys.Key]] = {}
        self._has_keys = False
        self._looked_at = 0.0
        self._lock = threading.Lock()

    def has_keys(self) -> bool:
        """Whether there are keys, so that nobody calls without one. Raises: StoreError."""
        if self._store is None or self._has_keys:
            return self._has_keys
        if time.monotonic() - self._looked_at > REMEMBERED_S or not self._looked_at:
            self._has_keys = self._store.read(keys.are_there)
            self._looked_at = time.monotonic()
        return self._has_keys

    def who(self, written: str) -> Caller | None:
        """Whom a written key stands for; None for one that is wrong, ended or unknown."""
        parts = keys.split(written)
        if parts is None or self._store is None:
            return None
        key_id, secret = parts
        known = self._known.get(key_id)
        if known is not None and time.monotonic() < known[0] and keys.is_right(secret, known[1]):
            key = known[2]
        else:
            found, secret_sha256 = self._store.read(lambda tx: keys.find(tx, key_id))
            is_right = keys.is_right(secret, secret_sha256)
            if found is None or not is_right:
                return None
            key = found
            with self._lock:
                if len(self._known) >= _MOST_REMEMBERED:
                    self._known.clear()
                self._known[key_id] = (time.monotonic() + REMEMBERED_S, secret_sha256, key)
        return caller_of(key) if key.holds(now()) else None


def is_here() -> bool:
    """Whether the request comes from the machine itself, and was not handed on by a proxy on it."""
    if any(name in request.headers for name in _FORWARDED):
        return False
    try:
        return ipaddress.ip_address(request.remote_addr or "").is_loopback
    except ValueError:
        return False


def guard_calls(app: Flask, shared: Parts) -> None:
    """Holds every call against the key that it comes with, and against the quota of that key."""
    doorkeeper = Doorkeeper(shared.store)
    rates = None if shared.store is None else Rates(shared.store, shared.settings.requests_per_minute)

    @app.before_request
    def guard() -> None:
        if request.url_rule is None or request.method == "OPTIONS":
            return
        access = ACCESS.get(request.endpoint or "", OPEN)
        if access.is_open or (access.is_open_here and is_here()):
            return
        g.caller = _caller(doorkeeper, access)
        if rates is not None and g.caller is not LOCAL:
            spent = rates.spend(g.caller.key_id)
            g.rate_headers = rates.headers(spent)
            if not spent.is_allowed:
                raise ProblemError(
                    "too-many-requests",
                    f"The key may make {rates.per_minute} requests a minute.",
                    headers=g.rate_headers,
                )

    @app.after_request
    def tell_rate(response: Response) -> Response:
        for name, value in g.get("rate_headers", {}).items():
            response.headers.setdefault(name, value)
        return response


def _caller(doorkeeper: Doorkeeper, access: Access) -> Caller:
    """Who calls. Raises ProblemError, status 401 or 403."""
    if not doorkeeper.has_keys():
        if not is_here():
            raise ProblemError("forbidden", "There are no keys, so only the machine itself is answered.")
        return LOCAL
    scheme, _, written = request.headers.get("Authorization", "").partition(" ")
    caller = doorkeeper.who(written.strip()) if scheme.lower() == "bearer" else None
    if caller is None:
        raise ProblemError(
            "key-needed", "The call needs a key that is known and has not ended.", headers=_CHALLENGE
        )
    if not caller.roles & access.roles:
        role = ", ".join(sorted(caller.roles))
        raise ProblemError("forbidden", f"{access.words} This one has the role {role}.")
    return caller
