"""Who may see the page from beyond this machine."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "5"
down_revision = "4"


def upgrade() -> None:
    """Make the table of invitations; a token stands in it only as its digest."""
    op.create_table(
        "invitation",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("digest", sa.LargeBinary, nullable=False, unique=True),
        sa.Column("made_ms", sa.BigInteger, nullable=False),
        sa.Column("withdrawn_ms", sa.BigInteger),
        sqlite_autoincrement=True,
    )
