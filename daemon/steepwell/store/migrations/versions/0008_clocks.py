"""By how much clocks of devices are wrong."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "8"
down_revision = "7"


def upgrade() -> None:
    """Make the table of what is to be added to the times of a sensor."""
    op.create_table(
        "clock",
        sa.Column(
            "sensor",
            sa.Integer,
            sa.ForeignKey("sensor.id"),
            primary_key=True,
            autoincrement=False,
        ),
        sa.Column("offset_ms", sa.BigInteger, nullable=False),
    )
