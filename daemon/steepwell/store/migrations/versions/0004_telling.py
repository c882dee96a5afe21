"""Who was told of a notice or why not, the way of a message, and the best battery of a device."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "4"
down_revision = "3"


def upgrade() -> None:
    """Make the table of decisions; what waits in the outbox already goes by mail."""
    op.create_table(
        "decision",
        sa.Column("number", sa.Integer, primary_key=True),
        sa.Column("event", sa.Integer, sa.ForeignKey("notice_event.number"), nullable=False),
        sa.Column("person", sa.String, nullable=False),
        sa.Column("reason", sa.String, nullable=False),
        sa.Column("decided_ms", sa.BigInteger, nullable=False),
        sa.Column("tell_ms", sa.BigInteger),
        sa.Column("key", sa.String),
    )
    op.add_column("outbox", sa.Column("person", sa.String))
    op.add_column("outbox", sa.Column("way", sa.String, nullable=False, server_default="mail"))
    op.add_column("outbox", sa.Column("handed_on_ms", sa.BigInteger))
    op.add_column("device", sa.Column("best_battery", sa.Float))
