"""What a note changed, in words: the answer of ``steepwell note``."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from steepwell.store.entries import (
    Answered,
    Away,
    BeanTest,
    ButtEmptied,
    Cleared,
    ConductivityMeasured,
    Corrected,
    Decanted,
    DrawnOff,
    Entry,
    Fed,
    FilledTo,
    JobDone,
    JobNotDone,
    LevelRead,
    LooksHungry,
    Mulched,
    NotWatered,
    Picking,
    Planted,
    PutToBed,
    RainRead,
    ReadyConfirmed,
    Restriction,
    SicknessSeen,
    SteepStarted,
    TapWaterAdded,
    TemperatureRead,
    TooStrong,
    ToppedUp,
    VesselEmptied,
    Watered,
    Woken,
)
from steepwell.tell.wording import the_butt, the_vessel
from steepwell.words.figures import day, joined, litres, spoken, strung
from steepwell.words.saying import say

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import date

FAR_D = 180


def _cleared(entry: Cleared) -> str:
    bed, since = spoken(entry.bed), day(entry.at)
    if entry.healthy:
        return say("changed.cleared", bed=bed, day=since)
    return say("changed.cleared-sick", bed=bed, day=since, name=entry.bed)


def _topped_up(entry: ToppedUp) -> str:
    more, vessel = litres(entry.litres), the_vessel(entry.vessel)
    if not entry.matter:
        return say("changed.topped-up", litres=more, vessel=vessel)
    plants = joined([each.plant for each in entry.matter])
    return say("changed.topped-up-on-matter", litres=more, vessel=vessel, plants=plants)


def _dated(when: date, entry: Entry) -> str:
    """Return a day, with its year if it is so far off that another may be meant."""
    if abs((when - entry.at.date()).days) <= FAR_D:
        return day(when)
    return say("changed.day-of-year", day=day(when), year=f"{when.year}")


def _restriction(entry: Restriction) -> str:
    barred, first = joined(entry.bars), _dated(entry.first, entry)
    if entry.last is None:
        return say("changed.restriction", barred=barred, first=first)
    return say("changed.restriction-to", barred=barred, first=first, last=_dated(entry.last, entry))


def _away(entry: Away) -> str:
    first, last = _dated(entry.first, entry), _dated(entry.last, entry)
    if not entry.helper:
        return say("changed.away", first=first, last=last)
    return say("changed.away-with-helper", first=first, last=last, helper=entry.helper)


def _filled_to(entry: FilledTo) -> str:
    butt = the_butt(entry.butt)
    if entry.depth_mm == 0:
        return say("changed.filled-from-empty", butt=butt)
    height = f"{entry.depth_mm / 10:g}"
    return say("changed.filled-to", litres=litres(entry.litres), butt=butt, centimetres=height)


def _not_watered(entry: NotWatered) -> str:
    if entry.butt is None:
        return say("changed.not-watered", day=day(entry.at))
    return say("changed.not-watered-from", butt=the_butt(entry.butt), day=day(entry.at))


def _job_done(entry: JobDone) -> str:
    told = [_CHANGED[type(part)](part) for part in entry.parts()]
    if told:
        return strung(told)
    return say(f"changed.job-done-{entry.what}", bed=spoken(entry.bed), day=day(entry.day))


def _job_not_done(entry: JobNotDone) -> str:
    bed, when = spoken(entry.bed), day(entry.day)
    if entry.instead is None:
        return say(f"changed.job-not-done-{entry.what}", bed=bed, day=when)
    return say("changed.job-instead", bed=bed, day=when, instead=spoken(entry.instead))


def _answered(entry: Answered) -> str:
    if entry.until is not None:
        return say("changed.answered-later", notice=entry.notice, day=_dated(entry.until, entry))
    return say(
        "changed.answered-seen" if entry.answer == "seen" else "changed.answered-no-more",
        notice=entry.notice,
    )


_CHANGED: dict[type[Entry], Callable[[Any], str]] = {
    LevelRead: lambda e: say("changed.level-read", butt=the_butt(e.butt), litres=litres(e.litres)),
    RainRead: lambda e: say("changed.rain-read", mm=f"{e.mm:.1f}", day=day(e.at)),
    TemperatureRead: lambda e: say(
        "changed.temperature-read", celsius=f"{e.celsius:.1f}", place=e.place
    ),
    SteepStarted: lambda e: say(
        "changed.steep-started",
        vessel=the_vessel(e.vessel),
        plants=joined([m.plant for m in e.matter]),
        day=day(e.at),
        name=e.vessel,
    ),
    DrawnOff: lambda e: say(
        "changed.drawn-off", litres=litres(e.litres), vessel=the_vessel(e.vessel)
    ),
    ToppedUp: _topped_up,
    Decanted: lambda e: say(
        "changed.decanted", litres=litres(e.litres), vessel=the_vessel(e.vessel), into=e.into
    ),
    ReadyConfirmed: lambda e: say(
        "changed.ready-confirmed", vessel=the_vessel(e.vessel), day=day(e.at)
    ),
    TooStrong: lambda e: say("changed.too-strong", vessel=the_vessel(e.vessel)),
    ConductivityMeasured: lambda e: say(
        "changed.conductivity-measured", salt=f"{e.ds_m:g}", vessel=the_vessel(e.vessel)
    ),
    VesselEmptied: lambda e: say("changed.vessel-emptied", vessel=the_vessel(e.vessel)),
    Fed: lambda e: say("changed.fed", bed=spoken(e.bed), day=day(e.at)),
    Watered: lambda e: say(
        "changed.watered", bed=spoken(e.bed), litres=litres(e.litres), day=day(e.at)
    ),
    Planted: lambda e: say(
        "changed.planted", bed=spoken(e.bed), crop=spoken(e.crop), day=day(e.at)
    ),
    Cleared: _cleared,
    Picking: lambda e: say("changed.picking", bed=spoken(e.bed)),
    LooksHungry: lambda e: say("changed.looks-hungry", bed=spoken(e.bed)),
    SicknessSeen: lambda e: say(
        "changed.sickness-seen",
        sickness=spoken(e.sickness),
        where=joined([spoken(w) for w in (e.bed, e.vessel) if w]),
    ),
    BeanTest: lambda e: say(
        "changed.beans-healthy" if e.outcome == "healthy" else "changed.beans-twisted",
        vessel=the_vessel(e.vessel),
    ),
    Mulched: lambda e: say(
        "changed.mulched",
        bed=spoken(e.bed),
        centimetres=f"{e.depth_mm / 10:g}",
        material=spoken(e.material),
        day=day(e.at),
    ),
    Restriction: _restriction,
    Away: _away,
    PutToBed: lambda _: say("changed.put-to-bed"),
    Woken: lambda _: say("changed.woken"),
    FilledTo: _filled_to,
    ButtEmptied: lambda e: say("changed.butt-emptied", butt=the_butt(e.butt), day=day(e.at)),
    NotWatered: _not_watered,
    JobDone: _job_done,
    JobNotDone: _job_not_done,
    TapWaterAdded: lambda e: say(
        "changed.tap-water-added", litres=litres(e.litres), butt=the_butt(e.butt)
    ),
    Answered: _answered,
    Corrected: lambda e: say("changed.corrected", number=e.withdraws),
}


def what_changed(entry: Entry) -> str:
    """Return what an entry changed, for who wrote it."""
    return _CHANGED[type(entry)](entry)
