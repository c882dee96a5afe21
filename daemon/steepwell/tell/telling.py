"""Whether, when and why somebody is told of a notice: pure decisions, one after the other."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from steepwell.garden.daylight import is_dark_season
from steepwell.garden.site import WEEKDAYS
from steepwell.store.decisions import Decision, Reason
from steepwell.tell.answers import REASONS

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from steepwell.garden.garden import Garden
    from steepwell.garden.site import Person
    from steepwell.store.decisions import Decided
    from steepwell.store.notices import NoticeEvent
    from steepwell.tell.answers import Answers

ANY_TIME = frozenset({"leak", "frost-tonight", "running-dry", "overflow-ahead", "butts-full"})
BY_DAY = frozenset({"downpipe-blocked", "shortfall-ahead", "vessel-ready", "sensor-silent"})
KEEPER_ONLY = frozenset(
    {
        "broker-unreachable",
        "worker-failed",
        "mirror-behind",
        "garden-file-refused",
        "store-full",
        "store-restored",
        "mail-failing",
        "push-failing",
        "backup-old",
    }
)
# Told in the dark season too.
ALL_YEAR = frozenset({"leak", "frost-tonight"})
URGENT = frozenset({"Immediate", "Expected"})
# What follows from a kind that stands is not told beside it.
CAUSES = {
    "shortfall-ahead": "running-dry",
    "sensor-silent": "broker-unreachable",
    "sensor-doubtful": "broker-unreachable",
}
# With and without a forecast the same is told under two names.
ALIKE = {"overflow-ahead": "butts-full", "butts-full": "overflow-ahead"}
# How long a kind that came, went and came again is not told anew.
AGAIN_AFTER = {
    "frost-tonight": timedelta(days=14),
    "overflow-ahead": timedelta(days=14),
    "butts-full": timedelta(days=14),
    "sensor-silent": timedelta(days=7),
    "running-dry": timedelta(days=7),
    "shortfall-ahead": timedelta(days=7),
}
# A date that is told is news again when it is so much nearer.
NEWS = timedelta(days=7)
# What stands, and goes on doing harm, is told again.
REMINDED = frozenset({"leak"}) | KEEPER_ONLY
REMINDED_AFTER = timedelta(days=7)
# What can wait for the letter does when this many were told in the week before.
ENOUGH, WEEK = 2, timedelta(days=7)


@dataclass(frozen=True, slots=True)
class Circumstances:
    """What a decision goes by, beside event and person.

    Attributes
    ----------
    answers
        What the gardener said to notices.
    standing
        The kinds that stand.
    told
        What was told in the last weeks, or is going to be.
    mails
        Whether there is anything that takes mails.
    """

    answers: Answers
    standing: Collection[str]
    told: Sequence[Decided]
    mails: bool


def addressed(garden: Garden, event: NoticeEvent) -> list[Person]:
    """Return whom an event is for: gardeners, or those who keep the machine.

    Parameters
    ----------
    garden
        The garden with its people; the gardener keeps the machine where nobody else does.
    event
        What happened.
    """
    people = garden.told.people
    keepers = [person for person in people if person.role == "keeper"]
    gardeners = [person for person in people if person.role == "gardener"]
    return (keepers or gardeners) if event.kind in KEEPER_ONLY else gardeners


def decide(
    garden: Garden, person: Person, event: NoticeEvent, known: Circumstances, now: datetime
) -> Decision:
    """Decide what becomes of an event for a person it is for.

    Parameters
    ----------
    garden
        The garden.
    person
        Whom it is for.
    event
        What happened to a notice.
    known
        What the decision goes by.
    now
        The moment.

    Returns
    -------
    Decision
        With its reason.
    """
    today = now.astimezone(zone_of(garden, person)).date()
    idle = _idle(event)
    if idle is not None:
        return Decision(person.name, idle)
    answer = known.answers.to(event.id, event.event, event.at, today)
    if answer is not None and answer.until is not None:
        return Decision(person.name, Reason.PUT_OFF, begin_of(garden, person, answer.until))
    withheld = REASONS[answer.answer] if answer is not None else _withheld(person, event, known)
    if withheld is None and event.kind not in ALL_YEAR | KEEPER_ONLY:
        dark = is_dark_season(garden.garden.latitude, today)
        withheld = Reason.DARK_SEASON if dark else None
    if withheld is None and not (known.mails or any(way != "mail" for way in person.ways)):
        withheld = Reason.NO_WAY
    if withheld is not None:
        return Decision(person.name, withheld)
    return _when(garden, person, event, now)


def _idle(event: NoticeEvent) -> Reason | None:
    """Return why an event is told to nobody before the letter, by itself."""
    if event.event == "cleared":
        return Reason.OVER
    if event.event == "eased":
        return Reason.EASED
    if event.kind not in ANY_TIME | BY_DAY | KEEPER_ONLY:
        return Reason.LETTER_ONLY
    if event.kind == "vessel-ready" and not event.figures.get("wanted", True):
        return Reason.NOT_WANTED
    return None


def _withheld(person: Person, event: NoticeEvent, known: Circumstances) -> Reason | None:
    """Return why an event is not told, by other notices and what was told."""
    if CAUSES.get(event.kind) in known.standing:
        return Reason.CAUSE_STANDS
    mine = [
        one
        for one in known.told
        if one.decision.person == person.name and one.decision.reason is not Reason.PUT_OFF
    ]
    again_after = AGAIN_AFTER.get(event.kind, timedelta())
    alike = {event.kind, ALIKE.get(event.kind, event.kind)}
    if event.event in {"raised", "worsened"} and any(
        one.event.kind in alike
        and one.event.subject == event.subject
        and _within(again_after, one, event)
        for one in mine
    ):
        return Reason.TOLD_LATELY
    if event.event == "changed" and _says_the_date(mine, event):
        return Reason.TOLD_LATELY
    if event.kind in BY_DAY:
        of_week = [
            one for one in mine if one.event.kind not in KEEPER_ONLY and _within(WEEK, one, event)
        ]
        if len({one.key or one.at for one in of_week}) >= ENOUGH:
            return Reason.ENOUGH
    return None


def _says_the_date(told: Sequence[Decided], event: NoticeEvent) -> bool:
    """Return whether the date that was told last is about right: a date that went off came back."""
    dates = [one.event.figures.get("on") for one in told if one.event.id == event.id]
    on = event.figures.get("on")
    if not dates or dates[-1] is None or on is None:
        return False
    nearer = date.fromisoformat(dates[-1]) - date.fromisoformat(on)
    return nearer < NEWS


def _within(span: timedelta, one: Decided, event: NoticeEvent) -> bool:
    """Return whether something was told so long before an event; what is told later, was not."""
    return timedelta() <= event.at - one.at < span


def _when(garden: Garden, person: Person, event: NoticeEvent, now: datetime) -> Decision:
    if event.kind in ANY_TIME and event.urgency in URGENT:
        return Decision(person.name, Reason.TOLD, now)
    at = after_quiet_hours(garden, person, now)
    reason = Reason.TOLD if at == now else Reason.QUIET_HOURS
    if event.kind in ANY_TIME:
        return Decision(person.name, reason, at)
    working = on_working_day(garden, person, at)
    return Decision(person.name, reason if working == at else Reason.DAY_OFF, working)


def zone_of(garden: Garden, person: Person) -> ZoneInfo:
    """Return the time zone a person lives by: their own, else the garden's."""
    return garden.garden.zone if person.timezone is None else ZoneInfo(person.timezone)


def begin_of(garden: Garden, person: Person, day: date) -> datetime:
    """Return when the quiet hours of a day are over for a person (aware)."""
    return datetime.combine(day, time.fromisoformat(person.quiet_to), zone_of(garden, person))


def after_quiet_hours(garden: Garden, person: Person, now: datetime) -> datetime:
    """Return now, or the end of the quiet hours if now falls into them.

    Parameters
    ----------
    garden
        The garden, for its time zone.
    person
        Whose quiet hours.
    now
        The moment.

    Returns
    -------
    datetime
        Aware.
    """
    local = now.astimezone(zone_of(garden, person))
    begin, end = time.fromisoformat(person.quiet_from), time.fromisoformat(person.quiet_to)
    here = local.time()
    over_midnight = begin > end
    quiet = (here >= begin or here < end) if over_midnight else begin <= here < end
    if not quiet:
        return now
    day = local.date() + timedelta(days=1 if over_midnight and here >= begin else 0)
    return begin_of(garden, person, day)


def on_working_day(garden: Garden, person: Person, at: datetime) -> datetime:
    """Return a moment, or the end of the quiet hours of the next working day.

    Parameters
    ----------
    garden
        The garden, for its time zone.
    person
        Whose working days.
    at
        The moment.

    Returns
    -------
    datetime
        Aware.
    """
    local = at.astimezone(zone_of(garden, person))
    if not person.working_days or WEEKDAYS[local.weekday()] in person.working_days:
        return at
    ahead = (local.date() + timedelta(days=step) for step in range(1, len(WEEKDAYS) + 1))
    day = next(day for day in ahead if WEEKDAYS[day.weekday()] in person.working_days)
    return begin_of(garden, person, day)
