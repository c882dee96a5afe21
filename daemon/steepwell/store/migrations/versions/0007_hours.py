"""Hours of readings that are no longer kept one by one."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "7"
down_revision = "6"


def upgrade() -> None:
    """Make the table of hours, and remember when a sensor was first heard."""
    op.add_column("sensor", sa.Column("first_ms", sa.BigInteger))
    op.create_table(
        "hour_fact",
        sa.Column("hour_ms", sa.BigInteger, primary_key=True, autoincrement=False),
        sa.Column(
            "sensor",
            sa.Integer,
            sa.ForeignKey("sensor.id"),
            primary_key=True,
            autoincrement=False,
        ),
        sa.Column("count", sa.Integer, nullable=False),
        sa.Column("least", sa.Float, nullable=False),
        sa.Column("most", sa.Float, nullable=False),
        sa.Column("mean", sa.Float, nullable=False),
        sa.Column("last_ms", sa.BigInteger, nullable=False),
        sa.Column("last", sa.Float, nullable=False),
        sa.Column("rise", sa.Float),
        sqlite_with_rowid=False,
    )
