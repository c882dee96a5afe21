"""What the page says of each butt, vessel, bed and sensor."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from steepwell.clock import from_ms
from steepwell.garden.days import local_day
from steepwell.page.tally import Tally, tally_of
from steepwell.store.entries import Cleared, Fed, LevelRead, Planted, VesselEmptied, Watered
from steepwell.store.steeps import steep_in
from steepwell.tell.jobs import amount_of, when_of
from steepwell.tell.sensor_words import reading_told
from steepwell.tell.vessel_words import vessel_states
from steepwell.tell.wording import cans, in_hand, sentence, the_butt, the_vessel
from steepwell.words.figures import day, litres, spoken
from steepwell.words.saying import say, say_count

if TYPE_CHECKING:
    from datetime import datetime

    from steepwell.garden.growing import Bed, Vessel
    from steepwell.garden.sensors import Sensor
    from steepwell.garden.water import Butt
    from steepwell.page.facts import Facts
    from steepwell.tell.documents import VesselAhead

Json = dict[str, Any]

GOOD_FLAGS = (1, 2)
MINUTE, HOUR, DAY = timedelta(minutes=1), timedelta(hours=1), timedelta(days=1)
FEW_HOURS, FEW_DAYS = 48, 14


@dataclass(frozen=True, slots=True)
class ButtSaid:
    """How full a butt is, and how that is known."""

    name: str
    said: str
    amount: str
    known: str
    tally: Tally | None = None


@dataclass(frozen=True, slots=True)
class VesselSaid:
    """How to use what is in a vessel, before all else the dose."""

    name: str
    said: str
    dose: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class BedSaid:
    """What grows in a bed, and what it gets."""

    name: str
    said: str
    crop: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SensorSaid:
    """What a sensor read last, how long ago, and whether to believe it."""

    said: str
    value: str
    age: str
    doubt: str


Said = ButtSaid | VesselSaid | BedSaid


def ago(moment: datetime, now: datetime) -> str:
    """Return how long ago something was, for instance "12 minutes ago"."""
    passed = now - moment
    for unit, name, most in ((MINUTE, "minutes", 60), (HOUR, "hours", FEW_HOURS)):
        count = passed // unit
        if count < 1:
            return say("ago.just-now")
        if count < most:
            return say_count(f"ago-in.{name}", count)
    count = passed // DAY
    return (
        say_count("ago-in.days", count)
        if count <= FEW_DAYS
        else say("ago.on", day=day(moment.date()))
    )


def butts_said(facts: Facts) -> tuple[ButtSaid, ...]:
    """Return how full each butt is, by what was read last or else as it is reckoned."""
    return tuple(_butt(facts, butt) for butt in facts.garden.butt)


def _butt(facts: Facts, butt: Butt) -> ButtSaid:
    said = sentence(the_butt(butt.name)).removesuffix(".")
    found = _level(facts, butt)
    if found is None:
        return ButtSaid(butt.name, said, say("things.not-known"), "")
    litres_l, known = found
    most_l = butt.capacity_l - butt.dead_volume
    above_l = min(max(litres_l - butt.dead_volume, 0.0), most_l)
    tally = tally_of(above_l / facts.garden.can.size)
    if tally is not None and tally.each > 1:
        known = say("things.stroke", known=known, cans=cans(tally.each))
    return ButtSaid(butt.name, said, in_hand(above_l, most_l), known, tally)


def _level(facts: Facts, butt: Butt) -> tuple[float, str] | None:
    """Return the litres in a butt and how they are known; None if nobody can say."""
    known: list[tuple[datetime, float, str]] = []
    ahead = facts.outlook
    if ahead is not None:
        found = next((each for each in ahead.butts if each.name == butt.name), None)
        if found is not None:
            known.append(
                (
                    ahead.issued,
                    found.now_l,
                    say("things.reckoned", ago=ago(ahead.issued, facts.now)),
                )
            )
    probe = facts.garden.level_sensor(butt.name)
    reading = facts.latest.get(probe.name) if probe is not None else None
    if reading is not None and reading.flag in GOOD_FLAGS:
        at = from_ms(reading.time_ms)
        known.append((at, reading.value, say("things.by-probe", ago=ago(at, facts.now))))
    known += [
        (entry.at, entry.litres, say("things.by-hand", ago=ago(entry.at, facts.now)))
        for entry in facts.entries
        if isinstance(entry, LevelRead) and entry.butt == butt.name
    ]
    if not known:
        return None
    _, litres_l, how = max(known, key=lambda each: each[0])
    return litres_l, how


def vessels_said(facts: Facts) -> tuple[VesselSaid, ...]:
    """Return how to use each vessel, the dose first."""
    return tuple(_vessel(facts, vessel) for vessel in facts.garden.vessel)


def _vessel(facts: Facts, vessel: Vessel) -> VesselSaid:
    said = sentence(the_vessel(vessel.name)).removesuffix(".")
    ahead = next(
        (v for v in (facts.outlook.vessels if facts.outlook else ()) if v.name == vessel.name), None
    )
    noted = _as_noted(facts, vessel, ahead)
    if ahead is None or facts.outlook is None or noted:
        return VesselSaid(vessel.name, said, "", (noted or say("things.empty"),))
    found = (each for each in facts.beside.get("vessels", ()) if each["name"] == vessel.name)
    beside: Json = next(found, {"locks": [], "dose": None})
    locks = [say("things.locked", why=sentence(why)) for why in beside["locks"]]
    if ahead.dilution_parts is None or ahead.ended:
        alone = facts.outlook.model_copy(update={"vessels": [ahead]})
        return VesselSaid(vessel.name, said, "", (*locks, *vessel_states(alone, facts.today)))
    left = [say("things.left", litres=litres(ahead.usable_l))] if ahead.usable_l else []
    since = [say("things.ready-since", day=day(ahead.ready_since))] if ahead.ready_since else []
    return VesselSaid(vessel.name, said, _dose(ahead, beside), (*locks, *left, *since))


def _as_noted(facts: Facts, vessel: Vessel, ahead: VesselAhead | None) -> str:
    """Return what the journal says of a vessel, nothing where the outlook has it and says more."""
    known = ahead is not None and (ahead.ready is not None or ahead.ended)
    start = steep_in(facts.turns, vessel.name, facts.now)
    if start is None:
        emptied = any(
            isinstance(turn, VesselEmptied) and turn.vessel == vessel.name for turn in facts.turns
        )
        return say("things.empty") if emptied or not known else ""
    began = local_day(facts.garden, start.at)
    if known and ahead is not None and ahead.started is not None and ahead.started >= began:
        return ""
    if facts.garden.weather_record is None:
        return say("things.started-unreckoned", day=day(began))
    return say("things.started", day=day(began))


def _dose(ahead: VesselAhead, beside: Json) -> str:
    """Return the dilution and what that is in a can."""
    parts = f"{ahead.dilution_parts:.0f}"
    if beside["dose"] is None:
        return say("things.use", parts=parts)
    return say(
        "things.use-of-cans" if beside["cans"] > 1 else "things.use-a-can",
        parts=parts,
        dose=beside["dose"],
    )


def beds_said(facts: Facts) -> tuple[BedSaid, ...]:
    """Return what grows in each bed, what it got last and what it gets this week."""
    return tuple(_bed(facts, bed) for bed in facts.garden.bed)


def _bed(facts: Facts, bed: Bed) -> BedSaid:
    return BedSaid(
        bed.name,
        sentence(spoken(bed.name)).removesuffix("."),
        _crop(facts, bed),
        tuple(line for line in (_this_week(facts, bed), _last(facts, bed)) if line),
    )


def _crop(facts: Facts, bed: Bed) -> str:
    """Return what grows in a bed: what was noted last, else what was worked out last."""
    found = next((b for b in facts.beside.get("beds", ()) if b["name"] == bed.name), None)
    said = ""
    if found is not None and found["crop"] is not None:
        said = spoken(found["crop"])
        if found["planted"]:
            said = _since(said, date.fromisoformat(found["planted"]))
    zone = facts.garden.garden.zone
    for entry in facts.entries:
        if isinstance(entry, Planted) and entry.bed == bed.name:
            said = _since(spoken(entry.crop), entry.at.astimezone(zone).date())
        if isinstance(entry, Cleared) and entry.bed == bed.name:
            said = say("things.cleared", day=day(entry.at.astimezone(zone).date()))
    return said


def _since(crop: str, planted: date) -> str:
    return say("things.since", crop=crop, day=day(planted))


def _this_week(facts: Facts, bed: Bed) -> str:
    lines = facts.plan.water if facts.plan is not None else []
    line = next((each for each in lines if each.bed == bed.name), None)
    if line is None or (not line.litres and not line.daily_l):
        return ""
    if line.daily_l:
        return say("things.a-day", litres=litres(line.daily_l))
    return sentence(f"{amount_of(line)}, {when_of(line)}")


def _last(facts: Facts, bed: Bed) -> str:
    got: list[str] = []
    for kind, verb in ((Watered, "watered-ago"), (Fed, "fed-ago")):
        here = [e for e in facts.entries if isinstance(e, kind) and e.bed == bed.name]
        if here:
            got.append(say(f"things-got.{verb}", ago=ago(here[-1].at, facts.now)))
    return sentence(", ".join(got)) if got else ""


def sensors_said(facts: Facts) -> tuple[SensorSaid, ...]:
    """Return what each sensor read last."""
    return tuple(_sensor(facts, sensor) for sensor in facts.garden.sensor)


def _sensor(facts: Facts, sensor: Sensor) -> SensorSaid:
    reading = facts.latest.get(sensor.name)
    said = spoken(sensor.name)
    if reading is None:
        return SensorSaid(said, "", say("things.never-heard"), "")
    age = ago(from_ms(reading.time_ms), facts.now)
    doubt = "" if reading.flag in GOOD_FLAGS else sentence(reading.reason or say("things.in-doubt"))
    return SensorSaid(said, reading_told(sensor, reading, facts.rain_today_mm), age, doubt)
