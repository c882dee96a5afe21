"""What a rule finds, and how findings become notices raised, changed and cleared."""

from __future__ import annotations

from dataclasses import asdict, dataclass, field
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

from steepwell.store.notices import (
    Certainty,
    Event,
    NoticeEvent,
    Severity,
    StandingNotice,
    Urgency,
)
from steepwell.words.saying import say, say_count

if TYPE_CHECKING:
    from collections.abc import Sequence

MOVED_D = 7
# The words of CAP 1.2, the gravest and nearest last.
GRAVITY = ("Unknown", "Minor", "Moderate", "Severe", "Extreme")
NEARNESS = ("Unknown", "Past", "Future", "Expected", "Immediate")


@dataclass(frozen=True, slots=True)
class Finding:
    """Something worth telling that is so now.

    Attributes
    ----------
    kind, subject
        What it is about; together they are its identity.
    urgency, severity, certainty
        In the words of CAP 1.2.
    headline
        The one thing, in a few words.
    text
        The figure, the date, the thing to do, and when it is over.
    figures
        The figures behind it.
    on
        The date it is about; told again when it comes nearer by a week.
    """

    kind: str
    subject: str
    urgency: Urgency
    severity: Severity
    certainty: Certainty
    headline: str
    text: str
    figures: dict[str, Any] = field(default_factory=dict)
    on: date | None = None

    @property
    def id(self) -> str:
        """Identity that stays the same from raised to cleared."""
        return f"{self.kind}/{self.subject}"

    def to_json(self) -> dict[str, Any]:
        """Return the finding for another process."""
        return {**asdict(self), "on": self.on.isoformat() if self.on else None}

    @classmethod
    def from_json(cls, raw: dict[str, Any]) -> Finding:
        """Return the finding that ``to_json`` wrote."""
        on = raw["on"]
        return cls(**{**raw, "on": date.fromisoformat(on) if on else None})


def still(notice: StandingNotice) -> Finding:
    """Return what was found when a notice was last told, for what has not ended yet."""
    last = notice.last
    figures = dict(last.figures)
    on = figures.pop("on", None)
    return Finding(
        kind=notice.kind,
        subject=notice.subject,
        urgency=last.urgency,
        severity=last.severity,
        certainty=last.certainty,
        headline=last.headline,
        text=last.text,
        figures=figures,
        on=date.fromisoformat(on) if on else None,
    )


def events_of(
    findings: Sequence[Finding],
    standing: Sequence[StandingNotice],
    kinds: frozenset[str],
    now: datetime,
) -> list[NoticeEvent]:
    """Compare what is found with what stands.

    Parameters
    ----------
    findings
        What the rules found.
    standing
        The notices that stand.
    kinds
        The kinds that were looked for; a standing notice of another kind is left alone.
    now
        The moment of the job.

    Returns
    -------
    list of NoticeEvent
        Raised, changed, worsened, eased and cleared notices, in order of their identity.
    """
    found = {finding.id: finding for finding in findings}
    stands = {notice.id: notice for notice in standing if notice.kind in kinds}
    events = []
    for id_ in sorted({*found, *stands}):
        finding, notice = found.get(id_), stands.get(id_)
        if finding is None and notice is not None:
            events.append(_cleared(notice, now))
        elif finding is not None and notice is None:
            events.append(_event(finding, "raised", say("finding.raised"), now))
        elif finding is not None and notice is not None:
            moved = _moved_d(finding, notice)
            graver = _graver(finding, notice.last)
            if moved is not None and moved <= -MOVED_D:
                reason = say_count("finding.nearer", -moved)
                events.append(_event(finding, "changed", reason, now))
            elif moved is not None and moved >= MOVED_D:
                reason = say_count("finding.further-off", moved)
                events.append(_event(finding, "eased", reason, now))
            elif graver != 0:
                event: Event = "worsened" if graver > 0 else "eased"
                last = notice.last
                was = say("finding.was", urgency=last.urgency, severity=last.severity)
                events.append(_event(finding, event, was, now))
    return events


def _graver(finding: Finding, last: NoticeEvent) -> int:
    """Return whether a finding is graver than what was told last (1), less so (-1), or alike."""
    here = (GRAVITY.index(finding.severity), NEARNESS.index(finding.urgency))
    there = (GRAVITY.index(last.severity), NEARNESS.index(last.urgency))
    return (here > there) - (here < there)


def _moved_d(finding: Finding, notice: StandingNotice) -> int | None:
    """Return by how many days its date is later than it was, None where there is none."""
    before = notice.last.figures.get("on")
    if finding.on is None or before is None:
        return None
    return (finding.on - date.fromisoformat(before)).days


def _event(finding: Finding, event: Event, reason: str, now: datetime) -> NoticeEvent:
    on = {} if finding.on is None else {"on": finding.on.isoformat()}
    return NoticeEvent(
        id=finding.id,
        kind=finding.kind,
        subject=finding.subject,
        event=event,
        at=now,
        urgency=finding.urgency,
        severity=finding.severity,
        certainty=finding.certainty,
        headline=finding.headline,
        text=finding.text,
        figures={**finding.figures, **on},
        reason=reason,
    )


def _cleared(notice: StandingNotice, now: datetime) -> NoticeEvent:
    return NoticeEvent(
        id=notice.id,
        kind=notice.kind,
        subject=notice.subject,
        event="cleared",
        at=now,
        urgency="Past",
        severity=notice.last.severity,
        certainty="Observed",
        headline=say("finding.over", headline=notice.last.headline),
        text=say("finding.nothing-to-do"),
        figures={},
        reason=say("finding.no-longer-found"),
    )
