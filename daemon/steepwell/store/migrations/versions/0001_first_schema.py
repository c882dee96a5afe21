"""The first schema."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "1"
down_revision = None


def upgrade() -> None:
    """Make all tables, and hold the journal append-only."""
    _make_reading_tables()
    _make_journal()
    _make_job_tables()


def _make_reading_tables() -> None:
    op.create_table(
        "sensor",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("garden", sa.String, nullable=False),
        sa.Column("name", sa.String, nullable=False),
        sa.Column("newest_ms", sa.BigInteger),
        sa.UniqueConstraint("garden", "name"),
    )
    op.create_table(
        "reading",
        sa.Column("time_ms", sa.BigInteger, primary_key=True, autoincrement=False),
        sa.Column(
            "sensor",
            sa.Integer,
            sa.ForeignKey("sensor.id"),
            primary_key=True,
            autoincrement=False,
        ),
        sa.Column("value", sa.Float, nullable=False),
        sa.Column("flag", sa.Integer, nullable=False),
        sa.Column("reason", sa.Text),
        sqlite_with_rowid=False,
    )
    op.create_table(
        "seen_message",
        sa.Column("packet_id", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("digest", sa.LargeBinary, nullable=False),
        sa.Column("number", sa.BigInteger, nullable=False),
    )
    op.create_table(
        "refused",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("time_ms", sa.BigInteger, nullable=False),
        sa.Column("topic", sa.Text, nullable=False),
        sa.Column("payload", sa.LargeBinary, nullable=False),
        sa.Column("reason", sa.Text, nullable=False),
        sqlite_autoincrement=True,
    )


def _make_journal() -> None:
    op.create_table(
        "journal",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("at_ms", sa.BigInteger, nullable=False),
        sa.Column("recorded_ms", sa.BigInteger, nullable=False),
        sa.Column("kind", sa.String, nullable=False),
        sa.Column("withdraws", sa.Integer, sa.ForeignKey("journal.id"), unique=True),
        sa.Column("entry", sa.JSON, nullable=False),
        sqlite_autoincrement=True,
    )
    words = "the journal is append-only: withdraw an entry by another"
    if op.get_bind().dialect.name == "postgresql":
        op.execute(
            "CREATE FUNCTION journal_refuses() RETURNS trigger LANGUAGE plpgsql AS "
            f"$$ BEGIN RAISE EXCEPTION '{words}'; END $$"
        )
        op.execute(
            "CREATE TRIGGER journal_refuses_change BEFORE UPDATE OR DELETE ON journal "
            "FOR EACH ROW EXECUTE FUNCTION journal_refuses()"
        )
        return
    for change in ("UPDATE", "DELETE"):
        op.execute(
            f"CREATE TRIGGER journal_refuses_{change.lower()} BEFORE {change} ON journal BEGIN "
            f"SELECT RAISE(ABORT, '{words}'); END"
        )


def _make_job_tables() -> None:
    op.create_table(
        "ledger",
        sa.Column("job", sa.String, primary_key=True),
        sa.Column("period_ms", sa.BigInteger, nullable=False),
    )
    op.create_table(
        "result",
        sa.Column("kind", sa.String, primary_key=True),
        sa.Column("issued_ms", sa.BigInteger, primary_key=True, autoincrement=False),
        sa.Column("document", sa.JSON, nullable=False),
    )
    op.create_table(
        "notice_event",
        sa.Column("number", sa.Integer, primary_key=True),
        sa.Column("id", sa.String, nullable=False, index=True),
        sa.Column("kind", sa.String, nullable=False),
        sa.Column("subject", sa.String, nullable=False),
        sa.Column("event", sa.String, nullable=False),
        sa.Column("at_ms", sa.BigInteger, nullable=False),
        sa.Column("urgency", sa.String, nullable=False),
        sa.Column("severity", sa.String, nullable=False),
        sa.Column("certainty", sa.String, nullable=False),
        sa.Column("headline", sa.Text, nullable=False),
        sa.Column("text", sa.Text, nullable=False),
        sa.Column("figures", sa.JSON, nullable=False),
        sa.Column("reason", sa.Text, nullable=False),
    )
    op.create_table(
        "outbox",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("key", sa.String, nullable=False, unique=True),
        sa.Column("to", sa.String, nullable=False),
        sa.Column("message", sa.LargeBinary, nullable=False),
        sa.Column("put_ms", sa.BigInteger, nullable=False),
        sa.Column("next_try_ms", sa.BigInteger, nullable=False),
        sa.Column("attempts", sa.Integer, nullable=False),
        sa.Column("last_reason", sa.Text),
        sa.Column("delivered_ms", sa.BigInteger),
    )
