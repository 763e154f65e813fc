"""The tables of the store, the same on both databases.

Times are RFC 3339 text in UTC, which sorts by itself. Documents (an order as it came, a result as it was
answered, a list as it was released) are bytes of JSON and are never rewritten: every table but ``orders``,
``keys``, ``replays``, ``buckets`` and ``jobs`` only grows, and triggers of the database hold to that.
"""

from typing import Final

import sqlalchemy as sa

METADATA: Final = sa.MetaData(
    naming_convention={
        "pk": "pk_%(table_name)s",
        "fk": "fk_%(table_name)s_%(column_0_name)s",
        "uq": "uq_%(table_name)s_%(column_0_name)s",
        "ix": "ix_%(table_name)s_%(column_0_name)s",
    }
)

NUMBER: Final = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
"""A number that counts up by itself as a primary key on both databases."""

KEYS: Final = sa.Table(
    "keys",
    METADATA,
    sa.Column("key_id", sa.Text, primary_key=True),
    sa.Column("secret_sha256", sa.Text, nullable=False),
    sa.Column("role", sa.Text, nullable=False),
    sa.Column("firm", sa.Text, nullable=False),
    sa.Column("serves", sa.Text, nullable=False),
    sa.Column("note", sa.Text, nullable=False),
    sa.Column("made_at", sa.Text, nullable=False),
    sa.Column("expires_at", sa.Text),
    sa.Column("revoked_at", sa.Text),
)
"""Who may call; of a secret only its SHA-256. ``serves`` is a JSON list of firms, or ``["*"]``."""

ORDERS: Final = sa.Table(
    "orders",
    METADATA,
    sa.Column("order_id", NUMBER, primary_key=True, autoincrement=True),
    sa.Column("firm", sa.Text, nullable=False),
    sa.Column("order_ref", sa.Text, nullable=False),
    sa.Column("revision", sa.Integer, nullable=False),
    sa.Column("decision", sa.Text, nullable=False),
    sa.Column("digest", sa.Text, nullable=False),
    sa.Column("version", sa.Integer, nullable=False),
    sa.Column("received_at", sa.Text, nullable=False),
    sa.Column("changed_at", sa.Text, nullable=False),
    sa.Column("released_revision", sa.Integer),
    sa.UniqueConstraint("firm", "order_ref"),
    sa.Index("ix_orders_firm_changed", "firm", "changed_at"),
    sqlite_autoincrement=True,
)
"""One row an order: its newest revision, and a version that every change counts up."""

REVISIONS: Final = sa.Table(
    "revisions",
    METADATA,
    sa.Column("order_id", NUMBER, sa.ForeignKey(ORDERS.c.order_id), primary_key=True),
    sa.Column("revision", sa.Integer, primary_key=True),
    sa.Column("cause", sa.Text, nullable=False),
    sa.Column("decision", sa.Text, nullable=False),
    sa.Column("digest", sa.Text, nullable=False),
    sa.Column("content", sa.Text, nullable=False),
    sa.Column("document", sa.LargeBinary, nullable=False),
    sa.Column("result", sa.LargeBinary, nullable=False),
    sa.Column("cut", sa.Text, nullable=False),
    sa.Column("key_id", sa.Text, nullable=False),
    sa.Column("made_at", sa.Text, nullable=False),
)
"""What came, what was answered, and what was cut already by then; ``content`` tells the same sheet."""

FINDINGS: Final = sa.Table(
    "findings",
    METADATA,
    sa.Column("order_id", NUMBER, primary_key=True),
    sa.Column("revision", sa.Integer, primary_key=True),
    sa.Column("number", sa.Integer, primary_key=True),
    sa.Column("opening_ref", sa.Text),
    sa.Column("reason", sa.Text, nullable=False),
    sa.Column("severity", sa.Text, nullable=False),
    sa.Column("measured", sa.Float),
    sa.Column("unit", sa.Text),
    sa.ForeignKeyConstraint(["order_id", "revision"], [REVISIONS.c.order_id, REVISIONS.c.revision]),
    sa.Index("ix_findings_reason", "reason"),
)

ANSWERS: Final = sa.Table(
    "answers",
    METADATA,
    sa.Column("order_id", NUMBER, primary_key=True),
    sa.Column("revision", sa.Integer, primary_key=True),
    sa.Column("opening_ref", sa.Text, nullable=False),
    sa.Column("reason", sa.Text, nullable=False),
    sa.Column("measured", sa.Text),
    sa.Column("answered_by", sa.Text, nullable=False),
    sa.Column("answered_on", sa.Text, nullable=False),
    sa.Column("note", sa.Text),
    sa.Column("key_id", sa.Text, nullable=False),
    sa.Column("made_at", sa.Text, nullable=False),
    sa.ForeignKeyConstraint(["order_id", "revision"], [REVISIONS.c.order_id, REVISIONS.c.revision]),
)
"""Each answer made a revision of its own."""

RELEASES: Final = sa.Table(
    "releases",
    METADATA,
    sa.Column("order_id", NUMBER, primary_key=True),
    sa.Column("revision", sa.Integer, primary_key=True),
    sa.Column("digest", sa.Text, nullable=False),
    sa.Column("factory", sa.Text, nullable=False),
    sa.Column("document", sa.LargeBinary, nullable=False),
    sa.Column("key_id", sa.Text, nullable=False),
    sa.Column("made_at", sa.Text, nullable=False),
    sa.ForeignKeyConstraint(["order_id", "revision"], [REVISIONS.c.order_id, REVISIONS.c.revision]),
)
"""The frozen lists; the primary key alone makes sure that a revision is released once."""

ARRIVALS: Final = sa.Table(
    "arrivals",
    METADATA,
    sa.Column("arrival_id", NUMBER, primary_key=True, autoincrement=True),
    sa.Column("order_id", NUMBER, sa.ForeignKey(ORDERS.c.order_id), nullable=False, index=True),
    sa.Column("revision", sa.Integer, nullable=False),
    sa.Column("opening_ref", sa.Text, nullable=False),
    sa.Column("verdict", sa.Text, nullable=False),
    sa.Column("taped", sa.LargeBinary, nullable=False),
    sa.Column("document", sa.LargeBinary, nullable=False),
    sa.Column("key_id", sa.Text, nullable=False),
    sa.Column("made_at", sa.Text, nullable=False),
    sqlite_autoincrement=True,
)

TRAIL: Final = sa.Table(
    "trail",
    METADATA,
    sa.Column("entry_id", NUMBER, primary_key=True, autoincrement=True),
    sa.Column("made_at", sa.Text, nullable=False),
    sa.Column("event", sa.Text, nullable=False),
    sa.Column("key_id", sa.Text, nullable=False),
    sa.Column("firm", sa.Text, nullable=False),
    sa.Column("order_id", NUMBER, index=True),
    sa.Column("revision", sa.Integer),
    sa.Column("facts", sa.Text, nullable=False),
    sqlite_autoincrement=True,
)
"""Who did what and when; without foreign keys, so that nothing can keep an entry from being made."""

REPLAYS: Final = sa.Table(
    "replays",
    METADATA,
    sa.Column("firm", sa.Text, primary_key=True),
    sa.Column("call", sa.Text, primary_key=True),
    sa.Column("replay_key", sa.Text, primary_key=True),
    sa.Column("fingerprint", sa.Text, nullable=False),
    sa.Column("status", sa.Integer, nullable=False),
    sa.Column("headers", sa.Text, nullable=False),
    sa.Column("body", sa.LargeBinary, nullable=False),
    sa.Column("made_at", sa.Text, nullable=False, index=True),
)
"""Answers by Idempotency-Key, each written in the same transaction as what it tells of."""

BUCKETS: Final = sa.Table(
    "buckets",
    METADATA,
    sa.Column("key_id", sa.Text, primary_key=True),
    sa.Column("tokens", sa.Float, nullable=False),
    sa.Column("filled_at", sa.Float, nullable=False),
)
"""Requests that each key may still make, shared by all workers."""

JOBS: Final = sa.Table(
    "jobs",
    METADATA,
    sa.Column("job_id", sa.Text, primary_key=True),
    sa.Column("kind", sa.Text, nullable=False),
    sa.Column("firm", sa.Text, nullable=False),
    sa.Column("key_id", sa.Text, nullable=False),
    sa.Column("firms", sa.Text, nullable=False),
    sa.Column("fingerprint", sa.Text, nullable=False),
    sa.Column("request", sa.LargeBinary, nullable=False),
    sa.Column("orders", sa.Integer, nullable=False),
    sa.Column("pieces", sa.Integer, nullable=False),
    sa.Column("state", sa.Text, nullable=False),
    sa.Column("attempt", sa.Integer, nullable=False),
    sa.Column("crashes", sa.Integer, nullable=False),
    sa.Column("lease_until", sa.Text),
    sa.Column("asked_at", sa.Text, nullable=False),
    sa.Column("begun_at", sa.Text),
    sa.Column("ended_at", sa.Text),
    sa.Column("kept_until", sa.Text),
    sa.Column("bars", sa.Integer),
    sa.Column("result", sa.LargeBinary),
    sa.Column("problem", sa.LargeBinary),
    sa.Index("ix_jobs_state_asked", "state", "asked_at"),
    sa.Index("ix_jobs_firm_fingerprint", "firm", "fingerprint"),
)
"""Long work that was asked for, and what came of it until ``kept_until``; ``firms`` is a JSON list of those
whose orders it is about. ``attempt`` counts who takes it up, and is what each of them must hold to end it."""

GROWING: Final = ("revisions", "findings", "answers", "releases", "arrivals", "trail")
"""Tables whose rows nobody may change or remove."""
