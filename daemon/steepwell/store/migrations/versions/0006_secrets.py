"""Secrets by which the program knows its own signature again."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "6"
down_revision = "5"


def upgrade() -> None:
    """Make the table of secrets."""
    op.create_table(
        "secret",
        sa.Column("name", sa.String, primary_key=True),
        sa.Column("value", sa.LargeBinary, nullable=False),
    )
