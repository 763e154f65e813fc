"""Keys: who may call, bound to a firm and a role. Only the SHA-256 of a secret is ever stored.

A key reads ``saw_ID_SECRET``; the ID is public and stands in logs, the secret has 256 random bits. For
such a secret one SHA-256 is as good as any slow hash, as there is nothing to guess.
"""

import hashlib
import hmac
import json
import re
import secrets
from dataclasses import dataclass
from typing import Final, Literal, cast

import sqlalchemy as sa

from sawready.store import trail
from sawready.store.clock import now
from sawready.store.tables import KEYS

Role = Literal["installer", "factory", "integrator", "admin"]

ROLES: Final[tuple[Role, ...]] = ("installer", "factory", "integrator", "admin")
EVERY_FIRM: Final = "*"

_FORM: Final = re.compile(r"saw_([0-9a-f]{12})_([0-9a-f]{64})", re.ASCII)
_NOBODY: Final = "0" * 64


@dataclass(frozen=True, slots=True)
class Key:
    """A key without its secret.

    Attributes:
        key_id: its public part.
        role: what it may do.
        firm: firm that it belongs to.
        serves: of a factory's key, firms whose orders it sees; ``*`` for every firm.
        note: what its owner says of it.
        made_at, expires_at, revoked_at: RFC 3339 in UTC.
    """

    key_id: str
    role: Role
    firm: str
    serves: tuple[str, ...]
    note: str
    made_at: str
    expires_at: str | None
    revoked_at: str | None

    def holds(self, moment: str) -> bool:
        """Whether it may be used at a moment."""
        return self.revoked_at is None and (self.expires_at is None or moment < self.expires_at)


def split(written: str) -> tuple[str, str] | None:
    """Public part and secret of a written key; None for text that is no key."""
    match = _FORM.fullmatch(written)
    return None if match is None else (match[1], match[2])


def hashed(secret: str) -> str:
    """The SHA-256 of a secret, in hexadecimal digits."""
    return hashlib.sha256(secret.encode("ascii")).hexdigest()


def add(
    tx: sa.Connection,
    *,
    role: Role,
    firm: str,
    serves: tuple[str, ...] = (),
    note: str = "",
    expires_at: str | None = None,
) -> tuple[Key, str]:
    """Makes a key. Returns: the key, and its written form, which is shown once and stored nowhere."""
    key_id, secret = secrets.token_hex(6), secrets.token_hex(32)
    key = Key(key_id, role, firm, serves, note, now(), expires_at, None)
    tx.execute(
        KEYS.insert().values(
            key_id=key_id,
            secret_sha256=hashed(secret),
            role=role,
            firm=firm,
            serves=json.dumps(list(serves), ensure_ascii=False),
            note=note,
            made_at=key.made_at,
            expires_at=expires_at,
        )
    )
    trail.note(tx, "key-added", key_id=key_id, firm=firm, role=role)
    return key, f"saw_{key_id}_{secret}"


def revoke(tx: sa.Connection, key_id: str) -> bool:
    """Ends a key. Returns: whether there was such a key that had not ended."""
    done = tx.execute(
        KEYS.update().where(KEYS.c.key_id == key_id, KEYS.c.revoked_at.is_(None)).values(revoked_at=now())
    )
    if done.rowcount == 1:
        firm = tx.scalar(sa.select(KEYS.c.firm).where(KEYS.c.key_id == key_id)) or ""
        trail.note(tx, "key-revoked", key_id=key_id, firm=firm)
    return done.rowcount == 1


def every(tx: sa.Connection) -> list[Key]:
    """All keys, the oldest first."""
    return [_key(row) for row in tx.execute(sa.select(KEYS).order_by(KEYS.c.made_at, KEYS.c.key_id))]


def are_there(tx: sa.Connection) -> bool:
    """Whether there is any key at all, ended ones included: then nobody calls without one."""
    return tx.scalar(sa.select(KEYS.c.key_id).limit(1)) is not None


def find(tx: sa.Connection, key_id: str) -> tuple[Key | None, str]:
    """A key by its public part, with the hash of its secret; a hash that nothing has where there is none."""
    row = tx.execute(sa.select(KEYS).where(KEYS.c.key_id == key_id)).one_or_none()
    return (None, _NOBODY) if row is None else (_key(row), row.secret_sha256)


def is_right(secret: str, secret_sha256: str) -> bool:
    """Whether a secret has that hash; takes as long for a wrong one as for the right one."""
    return hmac.compare_digest(hashed(secret), secret_sha256)


def _key(row: sa.Row[tuple[object, ...]]) -> Key:
    return Key(
        row.key_id,
        cast("Role", row.role),
        row.firm,
        tuple(json.loads(row.serves)),
        row.note,
        row.made_at,
        row.expires_at,
        row.revoked_at,
    )
