"""What devices say of themselves, and counts of what intake passes over."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "3"
down_revision = "2"


def upgrade() -> None:
    """Make the tables of devices and tallies."""
    op.create_table(
        "device",
        sa.Column("sensor", sa.Integer, sa.ForeignKey("sensor.id"), primary_key=True),
        sa.Column("told_ms", sa.BigInteger, nullable=False),
        sa.Column("battery", sa.Float),
        sa.Column("signal", sa.Float),
    )
    op.create_table(
        "tally",
        sa.Column("what", sa.String, primary_key=True),
        sa.Column("count", sa.BigInteger, nullable=False),
    )
