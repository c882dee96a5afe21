"""The tables of the store, as SQLAlchemy sees them."""

from __future__ import annotations

from sqlalchemy import (
    JSON,
    BigInteger,
    Boolean,
    Column,
    Float,
    ForeignKey,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
    Text,
    UniqueConstraint,
)

metadata = MetaData()

sensor = Table(
    "sensor",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("garden", String, nullable=False),
    Column("name", String, nullable=False),
    Column("newest_ms", BigInteger),
    Column("mirrored_ms", BigInteger),
    Column("first_ms", BigInteger),
    UniqueConstraint("garden", "name"),
)

reading = Table(
    "reading",
    metadata,
    Column("time_ms", BigInteger, primary_key=True, autoincrement=False),
    Column("sensor", Integer, ForeignKey("sensor.id"), primary_key=True, autoincrement=False),
    Column("value", Float, nullable=False),
    Column("flag", Integer, nullable=False),
    Column("reason", Text),
    sqlite_with_rowid=False,
)

hour_fact = Table(
    "hour_fact",
    metadata,
    Column("hour_ms", BigInteger, primary_key=True, autoincrement=False),
    Column("sensor", Integer, ForeignKey("sensor.id"), primary_key=True, autoincrement=False),
    Column("count", Integer, nullable=False),
    Column("least", Float, nullable=False),
    Column("most", Float, nullable=False),
    Column("mean", Float, nullable=False),
    Column("last_ms", BigInteger, nullable=False),
    Column("last", Float, nullable=False),
    Column("rise", Float),
    sqlite_with_rowid=False,
)

device = Table(
    "device",
    metadata,
    Column("sensor", Integer, ForeignKey("sensor.id"), primary_key=True, autoincrement=False),
    Column("told_ms", BigInteger, nullable=False),
    Column("battery", Float),
    Column("signal", Float),
    Column("best_battery", Float),
)

clock = Table(
    "clock",
    metadata,
    Column("sensor", Integer, ForeignKey("sensor.id"), primary_key=True, autoincrement=False),
    Column("offset_ms", BigInteger, nullable=False),
)

tally = Table(
    "tally",
    metadata,
    Column("what", String, primary_key=True),
    Column("count", BigInteger, nullable=False),
)

seen_message = Table(
    "seen_message",
    metadata,
    Column("packet_id", Integer, primary_key=True, autoincrement=False),
    Column("digest", LargeBinary, nullable=False),
    Column("number", BigInteger, nullable=False),
)

refused = Table(
    "refused",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("time_ms", BigInteger, nullable=False),
    Column("topic", Text, nullable=False),
    Column("payload", LargeBinary, nullable=False),
    Column("reason", Text, nullable=False),
    sqlite_autoincrement=True,
)

journal = Table(
    "journal",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("at_ms", BigInteger, nullable=False),
    Column("recorded_ms", BigInteger, nullable=False),
    Column("kind", String, nullable=False),
    Column("withdraws", Integer, ForeignKey("journal.id"), unique=True),
    Column("entry", JSON, nullable=False),
    sqlite_autoincrement=True,
)

ledger = Table(
    "ledger",
    metadata,
    Column("job", String, primary_key=True),
    Column("period_ms", BigInteger, nullable=False),
)

result = Table(
    "result",
    metadata,
    Column("kind", String, primary_key=True),
    Column("issued_ms", BigInteger, primary_key=True, autoincrement=False),
    Column("document", JSON, nullable=False),
)

notice_event = Table(
    "notice_event",
    metadata,
    Column("number", Integer, primary_key=True),
    Column("id", String, nullable=False, index=True),
    Column("kind", String, nullable=False),
    Column("subject", String, nullable=False),
    Column("event", String, nullable=False),
    Column("at_ms", BigInteger, nullable=False),
    Column("urgency", String, nullable=False),
    Column("severity", String, nullable=False),
    Column("certainty", String, nullable=False),
    Column("headline", Text, nullable=False),
    Column("text", Text, nullable=False),
    Column("figures", JSON, nullable=False),
    Column("reason", Text, nullable=False),
)

outbox = Table(
    "outbox",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("key", String, nullable=False, unique=True),
    Column("to", String, nullable=False),
    Column("message", LargeBinary, nullable=False),
    Column("put_ms", BigInteger, nullable=False),
    Column("next_try_ms", BigInteger, nullable=False),
    Column("attempts", Integer, nullable=False),
    Column("last_reason", Text),
    Column("delivered_ms", BigInteger),
    Column("person", String),
    Column("way", String, nullable=False, server_default="mail"),
    Column("handed_on_ms", BigInteger),
)

decision = Table(
    "decision",
    metadata,
    Column("number", Integer, primary_key=True),
    Column("event", Integer, ForeignKey("notice_event.number"), nullable=False),
    Column("person", String, nullable=False),
    Column("reason", String, nullable=False),
    Column("decided_ms", BigInteger, nullable=False),
    Column("tell_ms", BigInteger),
    Column("key", String),
)

mirror_span = Table(
    "mirror_span",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("sensor", Integer, ForeignKey("sensor.id"), nullable=False),
    Column("first_ms", BigInteger, nullable=False),
    Column("last_ms", BigInteger, nullable=False),
    sqlite_autoincrement=True,
)

mirror_state = Table(
    "mirror_state",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("journal_id", Integer, nullable=False),
    Column("days_from_ms", BigInteger),
    Column("issued_ms", BigInteger, nullable=False),
    Column("complete_ms", BigInteger, nullable=False),
    Column("failures", Integer, nullable=False),
    Column("next_try_ms", BigInteger, nullable=False),
    Column("lasting", Boolean, nullable=False),
    Column("reason", Text),
)

mirror_refused = Table(
    "mirror_refused",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("time_ms", BigInteger, nullable=False),
    Column("line", Text, nullable=False),
    Column("reason", Text, nullable=False),
    sqlite_autoincrement=True,
)

invitation = Table(
    "invitation",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("digest", LargeBinary, nullable=False, unique=True),
    Column("made_ms", BigInteger, nullable=False),
    Column("withdrawn_ms", BigInteger),
    sqlite_autoincrement=True,
)

secret = Table(
    "secret",
    metadata,
    Column("name", String, primary_key=True),
    Column("value", LargeBinary, nullable=False),
)
