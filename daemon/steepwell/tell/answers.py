"""What the gardener said to notices: seen, later, no more of these until it changes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from steepwell.store.decisions import Reason
from steepwell.store.entries import Answered

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from datetime import date, datetime

    from steepwell.store.notices import StandingNotice
    from steepwell.store.store import Store

KIND = "answered"


@dataclass(frozen=True)
class Answers:
    """The last answer to each notice, and when each notice last changed.

    Attributes
    ----------
    last
        By identity of the notice.
    changed
        When it changed, by identity of the notice.
    """

    last: Mapping[str, Answered]
    changed: Mapping[str, datetime]

    def to(self, notice: str, event: str, at: datetime, today: date) -> Answered | None:
        """Return the answer that still holds for something that happened to a notice.

        Parameters
        ----------
        notice
            Its identity.
        event
            What happened.
        at
            When it happened.
        today
            The local day: a notice is put off until then.

        Returns
        -------
        Answered or None
            None where there is none or the notice has changed since.
        """
        answer = self.last.get(notice)
        if answer is None or (event in {"changed", "worsened"} and at > answer.at):
            return None
        changed = self.changed.get(notice)
        if changed is not None and changed > answer.at:
            return None
        if answer.answer == "later" and answer.until is not None and answer.until <= today:
            return None
        if answer.answer == "seen" and event == "raised" and at > answer.at:
            return None
        return answer


REASONS = {"seen": Reason.SEEN, "later": Reason.PUT_OFF, "no-more": Reason.NO_MORE}


def answers_now(store: Store, now: datetime) -> Answers:
    """Return what was answered up to now.

    Parameters
    ----------
    store
        Journal and notices.
    now
        The moment.
    """
    entries = store.journal.entries(now, kinds=(KIND,))
    if not entries:
        return Answers({}, {})
    last = {entry.notice: entry for entry in entries if isinstance(entry, Answered)}
    return Answers(last, store.notices.last_changed())


def unanswered(
    standing: Iterable[StandingNotice], answers: Answers, today: date
) -> list[StandingNotice]:
    """Return the notices that stand and were not answered, for who tells what stands."""
    return [
        notice
        for notice in standing
        if answers.to(notice.id, notice.last.event, notice.last.at, today) is None
    ]
