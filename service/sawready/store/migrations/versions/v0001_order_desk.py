"""Orders with revisions, findings, answers, releases and arrivals; keys; the trail; replays; buckets."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

_NUMBER = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
_GROWING = ("revisions", "findings", "answers", "releases", "arrivals", "trail")


def _text(name: str, *, is_null: bool = False) -> sa.Column[str]:
    return sa.Column(name, sa.Text, nullable=is_null)


def _of_revision(table: str) -> sa.ForeignKeyConstraint:
    return sa.ForeignKeyConstraint(
        ["order_id", "revision"], ["revisions.order_id", "revisions.revision"], name=f"fk_{table}_order_id"
    )


def upgrade() -> None:
    """Makes the tables and the triggers that keep them from being rewritten."""
    op.create_table(
        "keys",
        *(_text(name) for name in ("key_id", "secret_sha256", "role", "firm", "serves", "note", "made_at")),
        *(_text(name, is_null=True) for name in ("expires_at", "revoked_at")),
        sa.PrimaryKeyConstraint("key_id", name="pk_keys"),
    )
    op.create_table(
        "orders",
        sa.Column("order_id", _NUMBER, autoincrement=True, nullable=False),
        *(_text(name) for name in ("firm", "order_ref")),
        sa.Column("revision", sa.Integer, nullable=False),
        *(_text(name) for name in ("decision", "digest")),
        sa.Column("version", sa.Integer, nullable=False),
        *(_text(name) for name in ("received_at", "changed_at")),
        sa.Column("released_revision", sa.Integer),
        sa.PrimaryKeyConstraint("order_id", name="pk_orders"),
        sa.UniqueConstraint("firm", "order_ref", name="uq_orders_firm"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_orders_firm_changed", "orders", ["firm", "changed_at"])
    op.create_table(
        "revisions",
        sa.Column("order_id", _NUMBER, nullable=False),
        sa.Column("revision", sa.Integer, nullable=False),
        *(_text(name) for name in ("cause", "decision", "digest", "content")),
        sa.Column("document", sa.LargeBinary, nullable=False),
        sa.Column("result", sa.LargeBinary, nullable=False),
        *(_text(name) for name in ("cut", "key_id", "made_at")),
        sa.PrimaryKeyConstraint("order_id", "revision", name="pk_revisions"),
        sa.ForeignKeyConstraint(["order_id"], ["orders.order_id"], name="fk_revisions_order_id"),
    )
    op.create_table(
        "findings",
        sa.Column("order_id", _NUMBER, nullable=False),
        sa.Column("revision", sa.Integer, nullable=False),
        sa.Column("number", sa.Integer, nullable=False),
        _text("opening_ref", is_null=True),
        *(_text(name) for name in ("reason", "severity")),
        sa.Column("measured", sa.Float),
        _text("unit", is_null=True),
        sa.PrimaryKeyConstraint("order_id", "revision", "number", name="pk_findings"),
        _of_revision("findings"),
    )
    op.create_index("ix_findings_reason", "findings", ["reason"])
    op.create_table(
        "answers",
        sa.Column("order_id", _NUMBER, nullable=False),
        sa.Column("revision", sa.Integer, nullable=False),
        *(_text(name) for name in ("opening_ref", "reason")),
        _text("measured", is_null=True),
        *(_text(name) for name in ("answered_by", "answered_on")),
        _text("note", is_null=True),
        *(_text(name) for name in ("key_id", "made_at")),
        sa.PrimaryKeyConstraint("order_id", "revision", name="pk_answers"),
        _of_revision("answers"),
    )
    op.create_table(
        "releases",
        sa.Column("order_id", _NUMBER, nullable=False),
        sa.Column("revision", sa.Integer, nullable=False),
        *(_text(name) for name in ("digest", "factory")),
        sa.Column("document", sa.LargeBinary, nullable=False),
        *(_text(name) for name in ("key_id", "made_at")),
        sa.PrimaryKeyConstraint("order_id", "revision", name="pk_releases"),
        _of_revision("releases"),
    )
    op.create_table(
        "arrivals",
        sa.Column("arrival_id", _NUMBER, autoincrement=True, nullable=False),
        sa.Column("order_id", _NUMBER, nullable=False),
        sa.Column("revision", sa.Integer, nullable=False),
        *(_text(name) for name in ("opening_ref", "verdict")),
        sa.Column("taped", sa.LargeBinary, nullable=False),
        sa.Column("document", sa.LargeBinary, nullable=False),
        *(_text(name) for name in ("key_id", "made_at")),
        sa.PrimaryKeyConstraint("arrival_id", name="pk_arrivals"),
        sa.ForeignKeyConstraint(["order_id"], ["orders.order_id"], name="fk_arrivals_order_id"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_arrivals_order_id", "arrivals", ["order_id"])
    op.create_table(
        "trail",
        sa.Column("entry_id", _NUMBER, autoincrement=True, nullable=False),
        *(_text(name) for name in ("made_at", "event", "key_id", "firm")),
        sa.Column("order_id", _NUMBER),
        sa.Column("revision", sa.Integer),
        _text("facts"),
        sa.PrimaryKeyConstraint("entry_id", name="pk_trail"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_trail_order_id", "trail", ["order_id"])
    op.create_table(
        "replays",
        *(_text(name) for name in ("firm", "call", "replay_key", "fingerprint")),
        sa.Column("status", sa.Integer, nullable=False),
        _text("headers"),
        sa.Column("body", sa.LargeBinary, nullable=False),
        _text("made_at"),
        sa.PrimaryKeyConstraint("firm", "call", "replay_key", name="pk_replays"),
    )
    op.create_index("ix_replays_made_at", "replays", ["made_at"])
    op.create_table(
        "buckets",
        _text("key_id"),
        sa.Column("tokens", sa.Float, nullable=False),
        sa.Column("filled_at", sa.Float, nullable=False),
        sa.PrimaryKeyConstraint("key_id", name="pk_buckets"),
    )
    _forbid_changes(op.get_bind().dialect.name)


def _forbid_changes(dialect: str) -> None:
    """Rows of the growing tables can be added, never changed or removed."""
    if dialect == "postgresql":
        op.execute(
            "CREATE FUNCTION sawready_keep() RETURNS trigger LANGUAGE plpgsql AS "
            "$$ BEGIN RAISE EXCEPTION 'rows of this table are never changed'; END $$"
        )
        for table in _GROWING:
            op.execute(
                f"CREATE TRIGGER {table}_keep BEFORE UPDATE OR DELETE OR TRUNCATE ON {table} "
                "FOR EACH STATEMENT EXECUTE FUNCTION sawready_keep()"
            )
        return
    for table in _GROWING:
        for event in ("UPDATE", "DELETE"):
            op.execute(
                f"CREATE TRIGGER {table}_keep_{event.lower()} BEFORE {event} ON {table} "
                "BEGIN SELECT RAISE(ABORT, 'rows of this table are never changed'); END"
            )


def downgrade() -> None:
    """There is no way back from the first step: what was acknowledged would be lost."""
    raise NotImplementedError
