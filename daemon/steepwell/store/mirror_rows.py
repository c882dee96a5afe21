"""Rows of the mirror's account: spans of readings, the day to begin with, refused lines."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from sqlalchemy import func, select, update

from steepwell.clock import to_ms
from steepwell.store.tables import journal, mirror_refused, mirror_span, mirror_state

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import datetime

    from sqlalchemy import Connection

KEPT_REFUSED = 1000
KEPT_CHARACTERS = 256

ONLY = mirror_state.c.id == 1


class Span(NamedTuple):
    """Readings of one sensor that are to be sent: first and last time [ms since 1970]."""

    id: int
    sensor: int
    first_ms: int
    last_ms: int


def begin(connection: Connection, now: datetime) -> None:
    """Begin the account, unless it was begun before."""
    if connection.execute(select(mirror_state.c.id)).first() is not None:
        return
    begun = {"id": 1, "journal_id": 0, "days_from_ms": None, "issued_ms": -1}
    begun |= {"complete_ms": to_ms(now), "failures": 0, "next_try_ms": to_ms(now)}
    connection.execute(mirror_state.insert().values(**begun, lasting=False, reason=None))


def spans_of(connection: Connection, ids: tuple[int, ...]) -> list[Span]:
    """Return the spans of some sensors, oldest first."""
    question = (
        select(mirror_span)
        .where(mirror_span.c.sensor.in_(ids))
        .order_by(mirror_span.c.first_ms, mirror_span.c.id)
    )
    return [Span(*row) for row in connection.execute(question)]


def add_spans(connection: Connection, spans: Iterable[tuple[int, int, int]]) -> None:
    """Add spans by sensor, first and last time [ms since 1970]."""
    rows = [
        {"sensor": number, "first_ms": first_ms, "last_ms": last_ms}
        for number, first_ms, last_ms in spans
    ]
    if rows:
        connection.execute(mirror_span.insert(), rows)


def joined(spans: list[Span]) -> list[tuple[int, int, int]]:
    """Return sensor, first and last time of spans, those that overlap or touch made one."""
    joined: list[tuple[int, int, int]] = []
    for span in sorted(spans, key=lambda span: (span.sensor, span.first_ms)):
        if joined and joined[-1][0] == span.sensor and span.first_ms <= joined[-1][2] + 1:
            number, first_ms, last_ms = joined[-1]
            joined[-1] = number, first_ms, max(last_ms, span.last_ms)
        else:
            joined.append(span[1:])
    return joined


def reopen_days(connection: Connection, spans: Iterable[tuple[int, int, int]]) -> None:
    """Let days be sent again from the first on that readings or the journal have changed."""
    seen = select(mirror_state.c.journal_id).scalar_subquery()
    told = journal.alias("told")
    changed = select(
        func.max(journal.c.id), func.min(func.coalesce(told.c.at_ms, journal.c.at_ms))
    ).select_from(journal.outerjoin(told, told.c.id == journal.c.withdraws))
    last_id, entry_ms = connection.execute(changed.where(journal.c.id > seen)).one()
    days_ms = connection.execute(select(mirror_state.c.days_from_ms)).scalar()
    firsts = [first_ms for _, first_ms, _ in spans]
    firsts += [moment for moment in (entry_ms, days_ms) if moment is not None]
    if not firsts:
        return
    values: dict[str, Any] = {"days_from_ms": min(firsts)}
    if last_id is not None:
        values["journal_id"] = last_id
    connection.execute(update(mirror_state).where(ONLY).values(values))


def keep_refused(connection: Connection, refused: Iterable[tuple[str, str]], now: datetime) -> None:
    """Keep lines that were refused, with the reason, and drop the oldest."""
    rows = [
        {"time_ms": to_ms(now), "line": line[:KEPT_CHARACTERS], "reason": reason}
        for line, reason in refused
    ]
    connection.execute(mirror_refused.insert(), rows)
    newest = select(func.max(mirror_refused.c.id)).scalar_subquery()
    connection.execute(mirror_refused.delete().where(mirror_refused.c.id <= newest - KEPT_REFUSED))
