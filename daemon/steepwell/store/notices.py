"""What was told when: the history of notices, and those that stand."""

from __future__ import annotations

from dataclasses import asdict, dataclass, fields
from typing import TYPE_CHECKING, Any, Literal

from sqlalchemy import func, select

from steepwell.clock import from_ms, to_ms
from steepwell.store.tables import notice_event

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from sqlalchemy import Row

    from steepwell.store.database import Database

Event = Literal["raised", "changed", "worsened", "eased", "reminded", "cleared"]
Urgency = Literal["Immediate", "Expected", "Future", "Past", "Unknown"]
Severity = Literal["Extreme", "Severe", "Moderate", "Minor", "Unknown"]
Certainty = Literal["Observed", "Likely", "Possible", "Unlikely", "Unknown"]

_NEWEST = select(func.max(notice_event.c.number)).group_by(notice_event.c.id)
_STANDING = (
    select(notice_event)
    .where(notice_event.c.number.in_(_NEWEST), notice_event.c.event != "cleared")
    .order_by(notice_event.c.id)
)
_RAISED = (
    select(notice_event.c.id, func.max(notice_event.c.at_ms))
    .where(notice_event.c.event == "raised")
    .group_by(notice_event.c.id)
)


@dataclass(frozen=True, slots=True)
class NoticeEvent:
    """One thing told about one subject; urgency, severity and certainty in CAP 1.2 words.

    Attributes
    ----------
    id
        Kind and subject, for instance ``shortfall-ahead/water``.
    kind, subject
        What it is about.
    event
        What happened to the notice.
    at
        When, an aware datetime.
    urgency, severity, certainty
        How soon, how bad, how sure.
    headline, text
        For people.
    figures
        The numbers behind it, with the unit in each name.
    reason
        Why it was told or not told.
    """

    id: str
    kind: str
    subject: str
    event: Event
    at: datetime
    urgency: Urgency
    severity: Severity
    certainty: Certainty
    headline: str
    text: str
    figures: dict[str, Any]
    reason: str


@dataclass(frozen=True, slots=True)
class StandingNotice:
    """A notice that is not over: since when, and what was told last."""

    id: str
    kind: str
    subject: str
    since: datetime
    last: NoticeEvent


_NAMES = [each.name for each in fields(NoticeEvent) if each.name != "at"]


class Notices:
    """The history of notices.

    Parameters
    ----------
    database
        Where it is.
    """

    def __init__(self, database: Database) -> None:
        self._database = database

    def record(self, events: Sequence[NoticeEvent]) -> list[int]:
        """Add events to the history; return the number of each."""
        if not events:
            return []
        added = notice_event.insert().returning(notice_event.c.number)
        with self._database.transaction() as connection:
            return [connection.execute(added, _columns(event)).scalar_one() for event in events]

    def last_changed(self) -> dict[str, datetime]:
        """Return when each notice last changed or grew worse, by its identity."""
        question = (
            select(notice_event.c.id, func.max(notice_event.c.at_ms))
            .where(notice_event.c.event.in_(("changed", "worsened")))
            .group_by(notice_event.c.id)
        )
        with self._database.reading() as connection:
            return {id_: from_ms(at_ms) for id_, at_ms in connection.execute(question)}

    def standing(self) -> list[StandingNotice]:
        """Return the notices that are not cleared, ordered by identity."""
        with self._database.reading() as connection:
            rows = connection.execute(_STANDING).all()
            since = {row[0]: row[1] for row in connection.execute(_RAISED)} if rows else {}
        return [
            StandingNotice(
                id=row.id,
                kind=row.kind,
                subject=row.subject,
                since=from_ms(since.get(row.id, row.at_ms)),
                last=event_of(row),
            )
            for row in rows
        ]

    def history(self, now: datetime) -> list[NoticeEvent]:
        """Return everything told up to ``now``, oldest first."""
        question = (
            select(notice_event)
            .where(notice_event.c.at_ms <= to_ms(now))
            .order_by(notice_event.c.number)
        )
        with self._database.reading() as connection:
            return [event_of(row) for row in connection.execute(question)]


def _columns(event: NoticeEvent) -> dict[str, Any]:
    columns = asdict(event)
    columns["at_ms"] = to_ms(columns.pop("at"))
    return columns


def event_of(row: Row[Any]) -> NoticeEvent:
    """Return the event that stands in a row, which may hold more."""
    columns = {name: row._mapping[name] for name in _NAMES}  # noqa: SLF001 - SQLAlchemy's public name for it
    return NoticeEvent(at=from_ms(row.at_ms), **columns)
