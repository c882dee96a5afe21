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
from steepwell.tell.wording import joined, litres, spoken, the_butt, the_vessel

if TYPE_CHECKING:
    from collections.abc import Callable

_HEALTHY = "Healthy, roots clean? If not, note it: sickness-seen unknown --vessel"


def _cleared(entry: Cleared) -> str:
    if entry.healthy:
        return "Healthy, roots clean? If not, withdraw this and note it again with --sick"
    return (
        "Sick plants and roots go to the fire or the bin, never into a vessel. Sick of what is not "
        f"known, unless it was noted before: sickness-seen blight --bed {entry.bed}"
    )


def _job_done(entry: JobDone) -> str:
    told = [_CHANGED[type(part)](part) for part in entry.parts()]
    return "; ".join(told) or f"{spoken(entry.bed)} had its {entry.what} on {entry.day:%-d %B}"


_CHANGED: dict[type[Entry], Callable[[Any], str]] = {
    LevelRead: lambda e: f"{the_butt(e.butt)} now counts as holding {litres(e.litres)}",
    RainRead: lambda e: f"{e.mm:.1f} mm of rain noted for {e.at:%-d %B}",
    TemperatureRead: lambda e: f"{e.celsius:.1f} °C noted for {e.place}",
    SteepStarted: lambda e: (
        f"{the_vessel(e.vessel)} is steeping {joined([m.plant for m in e.matter])} since "
        f"{e.at:%-d %B}; it will be called ready by its temperature. {_HEALTHY} {e.vessel}"
    ),
    DrawnOff: lambda e: f"{litres(e.litres)} less in {the_vessel(e.vessel)}",
    ToppedUp: lambda e: (
        f"{litres(e.litres)} more in {the_vessel(e.vessel)}"
        f"{f' on more {joined([m.plant for m in e.matter])}' if e.matter else ''}"
    ),
    Decanted: lambda e: f"{litres(e.litres)} of {the_vessel(e.vessel)} kept in {e.into}",
    ReadyConfirmed: lambda e: f"{the_vessel(e.vessel)} counts as ready since {e.at:%-d %B}",
    TooStrong: lambda e: f"{the_vessel(e.vessel)} is told a step thinner from now on",
    ConductivityMeasured: lambda e: (
        f"{e.ds_m:g} dS/m noted for {the_vessel(e.vessel)}; it can only make it thinner"
    ),
    VesselEmptied: lambda e: f"{the_vessel(e.vessel)} is empty",
    Fed: lambda e: f"{spoken(e.bed)} fed on {e.at:%-d %B}; its next feed is counted from there",
    Watered: lambda e: f"{spoken(e.bed)} got {litres(e.litres)} on {e.at:%-d %B}",
    Planted: lambda e: f"{spoken(e.bed)} holds {spoken(e.crop)} since {e.at:%-d %B}",
    Cleared: lambda e: f"{spoken(e.bed)} is cleared since {e.at:%-d %B}. {_cleared(e)}",
    Picking: lambda e: f"{spoken(e.bed)} is being picked; no feed there for a fortnight",
    LooksHungry: lambda e: f"{spoken(e.bed)} comes first when feed is shared out next",
    SicknessSeen: lambda e: (
        f"{spoken(e.sickness)} noted for {joined([spoken(w) for w in (e.bed, e.vessel) if w])}; "
        "the plan says which vessel is locked for it"
    ),
    BeanTest: lambda e: (
        f"no weedkiller shows in {the_vessel(e.vessel)}"
        if e.outcome == "healthy"
        else f"weedkiller is in {the_vessel(e.vessel)}: nothing of it for any bed"
    ),
    Mulched: lambda e: (
        f"{spoken(e.bed)} has {e.depth_mm / 10:g} cm of {spoken(e.material)} since {e.at:%-d %B}"
    ),
    Restriction: lambda e: (
        f"{joined(e.bars)} barred from {e.first:%-d %B}"
        f"{f' to {e.last:%-d %B}' if e.last else ' until this entry is withdrawn'}"
    ),
    Away: lambda e: (
        f"away from {e.first:%-d %B} to {e.last:%-d %B}; "
        f"{f'{e.helper} waters' if e.helper else 'nobody waters'}, and no fall of a butt is taken "
        "for a watering of yours"
    ),
    PutToBed: lambda _: (
        "the garden rests: three lines a month, and no word of silent sensors, until you note woken"
    ),
    Woken: lambda _: "the garden is awake; the weekly letter comes again",
    FilledTo: lambda e: (
        f"{the_butt(e.butt)} is empty, and is filled to measure it"
        if e.depth_mm == 0
        else f"{litres(e.litres)} more bring {the_butt(e.butt)} to {e.depth_mm / 10:g} cm"
    ),
    ButtEmptied: lambda e: (
        f"{the_butt(e.butt)} counts as empty since {e.at:%-d %B}, and nothing that left it on that "
        "day as a watering"
    ),
    NotWatered: lambda e: (
        f"What left {the_butt(e.butt) if e.butt else 'the butts'} on {e.at:%-d %B} counts as a "
        "watering no longer"
    ),
    JobDone: _job_done,
    JobNotDone: lambda e: (
        f"{spoken(e.bed)} had no {e.what} on {e.day:%-d %B}"
        f"{f'; it was {spoken(e.instead)}' if e.instead else ''}; what was taken for it is undone"
    ),
    TapWaterAdded: lambda e: f"{litres(e.litres)} of tap water more in {the_butt(e.butt)}",
    Answered: lambda e: {
        "seen": f"{e.notice} is seen, and is not told again while it stands",
        "later": f"{e.notice} is put off to {e.until:%-d %B}" if e.until else "",
        "no-more": f"no more of {e.notice} until it changes",
    }[e.answer],
    Corrected: lambda e: f"entry {e.withdraws} is withdrawn",
}


def what_changed(entry: Entry) -> str:
    """Return what an entry changed, for who wrote it."""
    return _CHANGED[type(entry)](entry)
