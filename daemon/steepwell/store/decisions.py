"""What was decided about telling people of notices, and why."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from enum import StrEnum
from typing import TYPE_CHECKING, Any

from sqlalchemy import bindparam, select, update

from steepwell.clock import from_ms, to_ms
from steepwell.store.notices import event_of
from steepwell.store.tables import decision, notice_event
from steepwell.words.saying import say

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from sqlalchemy import Select

    from steepwell.store.database import Database
    from steepwell.store.notices import NoticeEvent

CLOCK_AHEAD = timedelta(minutes=10)

_DECIDED = select(
    notice_event,
    decision.c.number.label("decision"),
    decision.c.person,
    decision.c.reason.label("why"),
    decision.c.decided_ms,
    decision.c.tell_ms,
    decision.c.key,
).join(notice_event, notice_event.c.number == decision.c.event)
_DUE = _DECIDED.where(
    decision.c.tell_ms.is_not(None),
    (decision.c.tell_ms <= bindparam("now")) | (decision.c.decided_ms > bindparam("ahead")),
    decision.c.key.is_(None),
).order_by(decision.c.number)


class Reason(StrEnum):
    """Why somebody is told of a notice, at once or later, or is not."""

    TOLD = "told"
    QUIET_HOURS = "quiet-hours"
    DAY_OFF = "day-off"
    PUT_OFF = "put-off"
    LETTER_ONLY = "letter-only"
    EASED = "eased"
    NOT_WANTED = "not-wanted"
    OVER = "over"
    SUPERSEDED = "superseded"
    SEEN = "seen"
    NO_MORE = "no-more"
    CAUSE_STANDS = "cause-stands"
    DARK_SEASON = "dark-season"
    TOLD_LATELY = "told-lately"
    ENOUGH = "enough-this-week"
    NO_WAY = "no-way"

    def in_words(self) -> str:
        """Return it as a person reads it, after a name and a colon."""
        return say(f"decisions.{self.value}")


@dataclass(frozen=True, slots=True)
class Decision:
    """What becomes of one event for one person.

    Attributes
    ----------
    person
        Their name.
    reason
        Why.
    tell_at
        When to tell, None if it is not told.
    """

    person: str
    reason: Reason
    tell_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Decided:
    """A decision in the store, with the event it is about and the message it went with."""

    number: int
    decision: Decision
    event: NoticeEvent
    at: datetime
    key: str | None


class Decisions:
    """Decisions about telling; one that waits is settled when its time comes.

    Parameters
    ----------
    database
        Where they are.
    """

    def __init__(self, database: Database) -> None:
        self._database = database

    def record(self, event: int, decisions: Sequence[Decision], now: datetime) -> None:
        """Keep what was decided about an event, by its number."""
        rows = [
            {
                "event": event,
                "person": one.person,
                "reason": one.reason.value,
                "decided_ms": to_ms(now),
                "tell_ms": None if one.tell_at is None else to_ms(one.tell_at),
            }
            for one in decisions
        ]
        if rows:
            with self._database.transaction() as connection:
                connection.execute(decision.insert(), rows)

    def due(self, now: datetime) -> list[Decided]:
        """Return what is to be told by ``now`` and was not settled, oldest first.

        What was decided later than now, while the clock was ahead, waits no longer.
        """
        return self._found(_DUE, {"now": to_ms(now), "ahead": to_ms(now + CLOCK_AHEAD)})

    def settle(self, number: int, reason: Reason, key: str) -> None:
        """Note what became of a decision that waited, and the message it went with, if any."""
        with self._database.transaction() as connection:
            connection.execute(
                update(decision)
                .where(decision.c.number == number)
                .values(reason=reason.value, key=key)
            )

    def put_off(self, number: int, until: datetime) -> None:
        """Let a decision wait for longer."""
        with self._database.transaction() as connection:
            connection.execute(
                update(decision)
                .where(decision.c.number == number)
                .values(reason=Reason.PUT_OFF.value, tell_ms=to_ms(until))
            )

    def told_since(self, since: datetime) -> list[Decided]:
        """Return what was told since a moment, or is going to be."""
        told = decision.c.key.is_(None) | (decision.c.reason == Reason.TOLD.value)
        question = _DECIDED.where(decision.c.tell_ms >= to_ms(since), told)
        return self._found(question.order_by(decision.c.number))

    def newest(self, count: int, now: datetime) -> list[Decided]:
        """Return what was decided last, newest first."""
        question = _DECIDED.where(decision.c.decided_ms <= to_ms(now))
        return self._found(question.order_by(decision.c.number.desc()))[:count]

    def _found(self, question: Select[Any], asked: dict[str, int] | None = None) -> list[Decided]:
        with self._database.reading() as connection:
            rows = connection.execute(question, asked or {}).all()
        return [
            Decided(
                row.decision,
                Decision(
                    row.person,
                    Reason(row.why),
                    None if row.tell_ms is None else from_ms(row.tell_ms),
                ),
                event_of(row),
                from_ms(row.decided_ms),
                row.key,
            )
            for row in rows
        ]
