"""What the mirror has been sent, and what it has not."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "2"
down_revision = "1"


def upgrade() -> None:
    """Make the tables of the mirror."""
    op.add_column("sensor", sa.Column("mirrored_ms", sa.BigInteger))
    op.create_table(
        "mirror_span",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("sensor", sa.Integer, sa.ForeignKey("sensor.id"), nullable=False),
        sa.Column("first_ms", sa.BigInteger, nullable=False),
        sa.Column("last_ms", sa.BigInteger, nullable=False),
        sqlite_autoincrement=True,
    )
    op.create_table(
        "mirror_state",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("journal_id", sa.Integer, nullable=False),
        sa.Column("days_from_ms", sa.BigInteger),
        sa.Column("issued_ms", sa.BigInteger, nullable=False),
        sa.Column("complete_ms", sa.BigInteger, nullable=False),
        sa.Column("failures", sa.Integer, nullable=False),
        sa.Column("next_try_ms", sa.BigInteger, nullable=False),
        sa.Column("lasting", sa.Boolean, nullable=False),
        sa.Column("reason", sa.Text),
    )
    op.create_table(
        "mirror_refused",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("time_ms", sa.BigInteger, nullable=False),
        sa.Column("line", sa.Text, nullable=False),
        sa.Column("reason", sa.Text, nullable=False),
        sqlite_autoincrement=True,
    )
