"""The garden's calendar: jobs, vessels to see to, and days on which feeds are ready (RFC 5545)."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from typing import TYPE_CHECKING

from icalendar import Calendar, Event

from steepwell.garden.days import local_day
from steepwell.store.tasks import EVENING, FEED, WATER, half_cans
from steepwell.tell.jobs import amount_of, dose_in_cans
from steepwell.tell.skipping import skip_of
from steepwell.tell.units import in_units
from steepwell.tell.vessel_words import vessel_do, vessel_jobs, vessel_states
from steepwell.tell.wording import cans, joined_in_short, named, sentence, the_butt, the_vessel
from steepwell.words.figures import litres, spoken
from steepwell.words.saying import say

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from steepwell.garden.garden import Garden
    from steepwell.tell.documents import FeedLine, Outlook, Plan, VesselAhead, VesselLine, WaterLine

PRODUCT = "-//Steepwell//calendar//EN"
ROUND = timedelta(minutes=30)
DAY = timedelta(days=1)
ASK_AGAIN = timedelta(hours=6)
MOST_NAMED = 3
# A revision number has to rise with each plan; minutes since then do.
REVISIONS_FROM = datetime(2020, 1, 1, tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class _Entry:
    """What stands in the calendar under one name, whatever becomes of it."""

    name: str
    day: date
    summary: str
    told: tuple[str, ...] = field(default=())
    at: time | None = None


def calendar_of(garden: Garden, plan: Plan | None, outlook: Outlook | None) -> bytes:
    """Return the calendar of a garden.

    Waterings stand in the evening, as the plan means them; everything else takes a day and keeps
    nobody busy. A thing keeps its name from one plan to the next, so that a change moves it.

    Parameters
    ----------
    garden
        The garden.
    plan
        What to do, None before there is a plan.
    outlook
        The weeks ahead, or None.

    Returns
    -------
    bytes
        An iCalendar object; the same for the same facts.
    """
    calendar = Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    named_as = say("calendar.name", garden=spoken(garden.name))
    calendar.add("name", named_as)
    calendar.add("x-wr-calname", named_as)
    calendar.add("refresh-interval", ASK_AGAIN, parameters={"value": "DURATION"})
    issued = plan.issued if plan is not None else outlook.issued if outlook else REVISIONS_FROM
    events = [_event(garden, entry, issued) for entry in _entries(garden, plan, outlook)]
    for event in events or [_event(garden, _nothing_yet(issued), issued)]:
        calendar.add_component(event)
    first = local_day(garden, issued)
    calendar.add_missing_timezones(first_date=first - DAY, last_date=first + 400 * DAY)
    written: bytes = calendar.to_ical()
    return written


def _entries(garden: Garden, plan: Plan | None, outlook: Outlook | None) -> list[_Entry]:
    entries: list[_Entry] = []
    if plan is not None:
        entries += _waterings(garden, plan)
        entries += _feeds(plan.feed)
        entries += [_vessel(line, line.by) for line in plan.vessels if line.by is not None]
    if outlook is not None:
        ahead = [_ready(outlook, vessel) for vessel in outlook.vessels]
        entries += [entry for entry in ahead if entry is not None]
    return sorted(entries, key=lambda entry: (entry.day, entry.name))


def _nothing_yet(issued: datetime) -> _Entry:
    """Return what a calendar holds that would be empty: it must hold something."""
    return _Entry("nothing", issued.date(), say("calendar.nothing"))


def _waterings(garden: Garden, plan: Plan) -> list[_Entry]:
    """Return one entry for each evening of watering; what is given every day is left out."""
    rounds: dict[date, list[tuple[WaterLine, float | None]]] = {}
    for line in plan.watered:
        if line.daily_l:
            continue
        days = sorted(line.days) or [plan.week[0]]
        for day, count in zip(days, half_cans(line.cans or 0.0, len(days)), strict=True):
            rounds.setdefault(day, []).append((line, count or None))
    return [
        _Entry(
            f"{WATER}-{day.isoformat()}",
            day,
            _summary_of_water(lines),
            tuple(_watering(garden, line, count) for line, count in lines),
            at=EVENING,
        )
        for day, lines in rounds.items()
    ]


def _summary_of_water(lines: Sequence[tuple[WaterLine, float | None]]) -> str:
    beds = [
        say(
            "calendar.bed",
            bed=spoken(line.bed),
            amount=cans(count) if count else amount_of(line),
        )
        for line, count in lines
    ]
    return say("calendar.water", beds=joined_in_short(beds, MOST_NAMED))


def _watering(garden: Garden, line: WaterLine, count: float | None) -> str:
    amount = cans(count) if count else litres(line.litres)
    said = amount
    if line.butt:
        said = say("calendar.from-butt", amount=amount, butt=the_butt(line.butt))
    rule = skip_of(line, garden)
    told = (named(line.bed, said), sentence(line.reason), rule.said() if rule else "")
    return " ".join(part for part in told if part)


def _feeds(lines: Iterable[FeedLine]) -> list[_Entry]:
    by_day: dict[date, list[FeedLine]] = {}
    for line in lines:
        by_day.setdefault(line.day, []).append(line)
    return [
        _Entry(
            f"{FEED}-{day.isoformat()}",
            day,
            say(
                "calendar.feed",
                beds=joined_in_short([spoken(line.bed) for line in fed], MOST_NAMED),
            ),
            tuple(_feeding(line) for line in fed),
        )
        for day, fed in by_day.items()
    ]


def _feeding(line: FeedLine) -> str:
    parts = f"{line.dilution_parts:.0f}"
    source = say("calendar.from-vessel", vessel=the_vessel(line.vessel), parts=parts)
    return f"{named(line.bed, dose_in_cans(line))} {source} {sentence(line.reason)}"


def _vessel(line: VesselLine, by: date) -> _Entry:
    name = f"{line.do.replace(' ', '-')}-{line.name}-{by.year}"
    summary = _capital(vessel_do(line.do, [the_vessel(line.name)]))
    return _Entry(name, by, summary, tuple(vessel_jobs([line])))


def _ready(outlook: Outlook, vessel: VesselAhead) -> _Entry | None:
    """Return the day on which a steep is ready in half of the futures; the name is the steep's."""
    waits = vessel.dilution_parts is None and not vessel.ended
    day = vessel.ready.p50 if vessel.ready is not None and waits else None
    if day is None:
        return None
    started = vessel.started or outlook.issued.date()
    alone = outlook.model_copy(update={"vessels": [vessel]})
    summary = _capital(say("calendar.ready", vessel=the_vessel(vessel.name)))
    told = tuple(vessel_states(alone, outlook.days[0]))
    return _Entry(f"ready-{vessel.name}-{started.isoformat()}", day, summary, told)


def _capital(words: str) -> str:
    return words[0].upper() + words[1:]


def _event(garden: Garden, entry: _Entry, issued: datetime) -> Event:
    event = Event()
    event.add("uid", f"{entry.name}@{garden.name}.steepwell.invalid")
    stamp = issued.astimezone(UTC).replace(microsecond=0)
    event.add("dtstamp", stamp)
    event.add("last-modified", stamp)
    event.add("sequence", max(int((stamp - REVISIONS_FROM) / timedelta(minutes=1)), 0))
    units = garden.garden.units
    event.add("summary", in_units(entry.summary, units))
    if entry.told:
        event.add("description", in_units("\n".join(entry.told), units))
    if entry.at is not None:
        begins = datetime.combine(entry.day, entry.at, garden.garden.zone)
        event.add("dtstart", begins)
        event.add("dtend", begins + ROUND)
    else:
        event.add("dtstart", entry.day)
        event.add("dtend", entry.day + DAY)
    event.add("transp", "TRANSPARENT")
    return event
