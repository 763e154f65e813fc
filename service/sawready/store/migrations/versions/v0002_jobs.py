"""Jobs: long work that is answered later, such as bars for many orders."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def _text(name: str, *, is_null: bool = False) -> sa.Column[str]:
    return sa.Column(name, sa.Text, nullable=is_null)


def upgrade() -> None:
    """Makes the table."""
    op.create_table(
        "jobs",
        *(_text(name) for name in ("job_id", "kind", "firm", "key_id", "firms", "fingerprint")),
        sa.Column("request", sa.LargeBinary, nullable=False),
        sa.Column("orders", sa.Integer, nullable=False),
        sa.Column("pieces", sa.Integer, nullable=False),
        _text("state"),
        sa.Column("attempt", sa.Integer, nullable=False),
        sa.Column("crashes", sa.Integer, nullable=False),
        _text("lease_until", is_null=True),
        _text("asked_at"),
        *(_text(name, is_null=True) for name in ("begun_at", "ended_at", "kept_until")),
        sa.Column("bars", sa.Integer),
        sa.Column("result", sa.LargeBinary),
        sa.Column("problem", sa.LargeBinary),
        sa.PrimaryKeyConstraint("job_id", name="pk_jobs"),
    )
    op.create_index("ix_jobs_state_asked", "jobs", ["state", "asked_at"])
    op.create_index("ix_jobs_firm_fingerprint", "jobs", ["firm", "fingerprint"])


def downgrade() -> None:
    """Takes it away again, with all jobs."""
    op.drop_table("jobs")
