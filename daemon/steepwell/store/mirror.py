"""What the mirror was sent and what it still lacks: times of readings, days, outlooks."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import timedelta
from typing import TYPE_CHECKING, Any, NamedTuple

from sqlalchemy import case, func, select, update

from steepwell.clock import from_ms, to_ms
from steepwell.store.mirror_rows import (
    ONLY,
    Span,
    add_spans,
    begin,
    joined,
    keep_refused,
    reopen_days,
    spans_of,
)
from steepwell.store.tables import mirror_refused, mirror_span, mirror_state, reading
from steepwell.store.tables import sensor as sensors

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from datetime import datetime

    from sqlalchemy import ColumnElement, Connection

    from steepwell.store.database import Database

# What is younger has hardly been judged yet, and would be sent a second time with its flag.
SETTLES = timedelta(minutes=20)
ROWS_AT_ONCE = 5000


class Line(NamedTuple):
    """A line that the other server does not take: when that was [ms since 1970], and why."""

    time_ms: int
    line: str
    reason: str


@dataclass(frozen=True, slots=True)
class MirrorState:
    """How the mirror stands.

    Attributes
    ----------
    days_from
        From when on the values of days are to be sent, None before there is a day.
    issued
        Outlooks issued up to then were sent.
    complete
        When nothing was left to send, last; before the first time, when it was begun.
    failures
        Times it failed since it last went well.
    next_try
        When to try it next.
    lasting
        Whether waiting alone does not mend it.
    reason
        Why it failed, None when it went well.
    """

    days_from: datetime | None
    issued: datetime
    complete: datetime
    failures: int
    next_try: datetime
    lasting: bool
    reason: str | None


@dataclass(frozen=True, slots=True)
class Sent:
    """What another server has taken.

    Attributes
    ----------
    spans
        Number of each span, and the time up to which it was taken [ms since 1970].
    days_to_ms
        Values of days before this midnight were taken, None if not all of them.
    issued_ms
        Outlooks issued up to then were taken, None if there was none.
    refused
        Lines that it does not take, each with the reason.
    """

    spans: list[tuple[int, int]] = field(default_factory=list)
    days_to_ms: int | None = None
    issued_ms: int | None = None
    refused: list[tuple[str, str]] = field(default_factory=list)


class Mirrored:
    """Keeps account of what was sent, in the order in which it came and not in that of time.

    Each sensor has a time up to which its readings were handed over. A span of time is handed over
    and stays until the other server has taken it. Whatever comes or is flagged later with a time
    that was handed over already becomes a span of its own, in the transaction that writes it.

    Parameters
    ----------
    database
        Where it is.
    ids
        Number of each sensor in the store, by name.
    """

    def __init__(self, database: Database, ids: Mapping[str, int]) -> None:
        self._database = database
        self._ids = tuple(ids.values())

    def state(self) -> MirrorState | None:
        """Return how it stands, None before anything was handed over."""
        with self._database.reading() as connection:
            row = connection.execute(select(mirror_state)).first()
        if row is None:
            return None
        return MirrorState(
            days_from=None if row.days_from_ms is None else from_ms(row.days_from_ms),
            issued=from_ms(row.issued_ms),
            complete=from_ms(row.complete_ms),
            failures=row.failures,
            next_try=from_ms(row.next_try_ms),
            lasting=row.lasting,
            reason=row.reason,
        )

    def hand_over(self, now: datetime) -> None:
        """Make spans of what came since the last time, and one of those of a sensor that touch.

        Parameters
        ----------
        now
            The moment of the job; readings of the last 20 minutes are left for the next time.
        """
        with self._database.transaction() as connection:
            begin(connection, now)
            self._hand_over_readings(connection, to_ms(now - SETTLES))
            spans = spans_of(connection, self._ids)
            wider = joined(spans)
            if len(wider) < len(spans):
                gone = mirror_span.c.id.in_([span.id for span in spans])
                connection.execute(mirror_span.delete().where(gone))
                add_spans(connection, wider)
            reopen_days(connection, wider)

    def _hand_over_readings(self, connection: Connection, until_ms: int) -> None:
        first_ms = connection.execute(select(func.min(reading.c.time_ms))).scalar() or 0
        question = select(sensors.c.id, sensors.c.mirrored_ms, sensors.c.newest_ms).where(
            sensors.c.id.in_(self._ids), sensors.c.newest_ms.is_not(None)
        )
        for number, mirrored_ms, newest_ms in connection.execute(question).all():
            start_ms = first_ms if mirrored_ms is None else mirrored_ms + 1
            end_ms = min(newest_ms, until_ms)
            if end_ms < start_ms:
                continue
            add_spans(connection, [(number, start_ms, end_ms)])
            connection.execute(
                update(sensors).where(sensors.c.id == number).values(mirrored_ms=end_ms)
            )

    def unsent_from(self) -> int:
        """Return the time before which everything was taken [ms since 1970]."""
        waits = select(func.min(mirror_span.c.first_ms)).where(mirror_span.c.sensor.in_(self._ids))
        passed = select(func.min(func.coalesce(sensors.c.mirrored_ms, 0))).where(
            sensors.c.id.in_(self._ids), sensors.c.newest_ms.is_not(None)
        )
        with self._database.reading() as connection:
            moments = [connection.execute(question).scalar() for question in (waits, passed)]
        return min((ms for ms in moments if ms is not None), default=0)

    def spans(self) -> list[Span]:
        """Return what is to be sent of readings, oldest first."""
        with self._database.reading() as connection:
            return spans_of(connection, self._ids)

    def readings(self, span: Span) -> Iterator[tuple[int, float, int]]:
        """Yield time [ms since 1970], value and flag of the readings of a span, in their order."""
        start_ms = span.first_ms
        while True:
            question = (
                select(reading.c.time_ms, reading.c.value, reading.c.flag)
                .where(
                    reading.c.sensor == span.sensor,
                    reading.c.time_ms.between(start_ms, span.last_ms),
                )
                .order_by(reading.c.time_ms)
                .limit(ROWS_AT_ONCE)
            )
            with self._database.reading() as connection:
                rows = connection.execute(question).all()
            for row in rows:
                yield row.time_ms, row.value, row.flag
            if len(rows) < ROWS_AT_ONCE:
                return
            start_ms = rows[-1].time_ms + 1

    def taken(self, sent: Sent, now: datetime) -> None:
        """Note what the other server has taken, and which lines it does not take."""
        state: dict[str, Any] = {}
        if sent.days_to_ms is not None:
            state["days_from_ms"] = sent.days_to_ms
        if sent.issued_ms is not None:
            state["issued_ms"] = sent.issued_ms
        with self._database.transaction() as connection:
            for number, through_ms in sent.spans:
                whole = (mirror_span.c.id == number) & (mirror_span.c.last_ms <= through_ms)
                connection.execute(mirror_span.delete().where(whole))
                connection.execute(
                    update(mirror_span)
                    .where(mirror_span.c.id == number)
                    .values(first_ms=through_ms + 1)
                )
            if state:
                connection.execute(update(mirror_state).where(ONLY).values(state))
            if sent.refused:
                keep_refused(connection, sent.refused, now)

    def went_well(self, now: datetime, *, complete: bool) -> None:
        """Note that it did not fail, and whether nothing is left to send."""
        values = {"failures": 0, "next_try_ms": to_ms(now), "lasting": False, "reason": None}
        if complete:
            values["complete_ms"] = to_ms(now)
        self._update(values)

    def failed(self, reason: str, next_try: datetime, *, lasting: bool) -> None:
        """Note why it failed, when to try again, and whether waiting alone does not mend it."""
        values = {
            "failures": mirror_state.c.failures + 1,
            "next_try_ms": to_ms(next_try),
            "lasting": lasting,
            "reason": reason,
        }
        self._update(values)

    def _update(self, values: dict[str, Any]) -> None:
        with self._database.transaction() as connection:
            connection.execute(update(mirror_state).where(ONLY).values(values))

    def send_again(self, start: datetime, now: datetime) -> None:
        """Have everything sent again that was read, worked out or issued since a moment.

        Parameters
        ----------
        start
            The moment (aware).
        now
            The present moment (aware).
        """
        start_ms = to_ms(start)
        sent = select(sensors.c.id, sensors.c.mirrored_ms).where(
            sensors.c.id.in_(self._ids), sensors.c.mirrored_ms >= start_ms
        )
        with self._database.transaction() as connection:
            begin(connection, now)
            first_ms = connection.execute(select(func.min(reading.c.time_ms))).scalar() or 0
            again = [
                (number, max(start_ms, first_ms), mirrored_ms)
                for number, mirrored_ms in connection.execute(sent).all()
            ]
            add_spans(connection, again)
            connection.execute(
                update(mirror_state)
                .where(ONLY)
                .values(
                    days_from_ms=_lesser(mirror_state.c.days_from_ms, start_ms),
                    issued_ms=_lesser(mirror_state.c.issued_ms, start_ms - 1),
                    next_try_ms=to_ms(now),
                )
            )

    def refused_count(self) -> int:
        """Return how many lines were refused, those no longer kept too."""
        with self._database.reading() as connection:
            return connection.execute(select(func.max(mirror_refused.c.id))).scalar() or 0

    def refused(self, count: int) -> list[Line]:
        """Return the newest lines that were refused, newest first."""
        question = (
            select(mirror_refused.c.time_ms, mirror_refused.c.line, mirror_refused.c.reason)
            .order_by(mirror_refused.c.id.desc())
            .limit(count)
        )
        with self._database.reading() as connection:
            return [Line(*row) for row in connection.execute(question)]


def _lesser(column: ColumnElement[Any], value: int) -> ColumnElement[Any]:
    """Return the lesser of a column and a value; nothing stays nothing."""
    return case((column > value, value), else_=column)
