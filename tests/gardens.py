"""Small invented gardens with weather records and readings, for tests of what is worked out."""

from __future__ import annotations

import csv
from dataclasses import replace
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, Any

import numpy as np

from steepwell.clock import to_ms
from steepwell.garden.load import garden_from
from steepwell.model.ageing import is_ready
from steepwell.model.dilution import rung, told_dilution
from steepwell.outlook.demand import BedDays
from steepwell.outlook.record import Record
from steepwell.outlook.state import BedNow, ButtNow, State
from steepwell.store.arrivals import Batch
from steepwell.store.entries import parse_entry

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from pathlib import Path

    from steepwell.garden.garden import Garden
    from steepwell.outlook.state import SteepNow
    from steepwell.store.entries import Entry
    from steepwell.store.store import Store

    Open = Callable[[Garden], Store]

Json = dict[str, Any]

PASS = 1

SITE: Json = {"name": "plum-lane", "latitude": 51.5, "longitude": -0.9, "timezone": "Europe/London"}
GAUGE: Json = {
    "name": "gauge",
    "measures": "rain",
    "topic": "plum-lane/gauge",
    "payload": "number",
    "counts": "mm since start",
}
AIR: Json = {
    "name": "shade",
    "measures": "temperature",
    "of": "air",
    "topic": "plum-lane/shade",
    "payload": "number",
}


def level_probe(butt: str) -> Json:
    """Return a probe that tells litres in a butt."""
    return {
        "name": f"{butt}-level",
        "measures": "level",
        "of": butt,
        "reads": "litres",
        "topic": f"plum-lane/{butt}",
        "payload": "number",
    }


def vessel_probe(vessel: str) -> Json:
    """Return a thermometer in a vessel."""
    return {
        "name": f"{vessel}-temperature",
        "measures": "temperature",
        "of": vessel,
        "topic": f"plum-lane/{vessel}",
        "payload": "number",
    }


def make_garden(folder: Path | None = None, *, zone: str = "UTC", **sections: object) -> Garden:
    """Return a garden of one butt and one bed, but for the sections given."""
    raw: dict[str, object] = {
        "garden": {**SITE, "timezone": zone},
        "butt": [{"name": "north", "litres": "200 L"}],
        "bed": [{"name": "all", "area": "10 m2"}],
        **sections,
    }
    if folder is None:
        return garden_from(raw)
    return garden_from(raw, path=folder / "garden.toml")


def flat_record(
    first: date = date(2000, 1, 1),
    last: date = date(2010, 12, 31),
    *,
    rain_mm: float = 0.0,
    tmin_c: float = 10.0,
    tmax_c: float = 20.0,
    et0_mm: float = float("nan"),
) -> Record:
    """Return a record of which every day is like the other."""
    days = (last - first).days + 1
    rain, tmin, tmax, et0 = (np.full(days, value) for value in (rain_mm, tmin_c, tmax_c, et0_mm))
    return Record(first, rain, tmin, tmax, et0)


def write_record(path: Path, record: Record) -> Path:
    """Write a record as the CSV file a gardener would have."""
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file)
        writer.writerow(("date", "rain_mm", "tmin_c", "tmax_c"))
        columns = (record.rain_mm, record.tmin_c, record.tmax_c)
        for index, values in enumerate(zip(*columns, strict=True)):
            day = record.first + timedelta(days=index)
            writer.writerow((day.isoformat(), *(f"{value:.1f}" for value in values)))
    return path


def put_readings(
    store: Store, sensor: str, values: Mapping[datetime, float], *, flag: int = PASS
) -> None:
    """Store readings of one sensor, in base units, as the writer of messages does."""
    number = store.readings.ids[sensor]
    batch = Batch()
    for at, value in values.items():
        batch.timed.append((to_ms(at), number, value, flag, None))
        batch.origins.append((to_ms(at), "", b""))
    assert store.readings.write(batch).stored == len(values)


def hourly(start: datetime, hours: int, value: float) -> dict[datetime, float]:
    """Return one and the same value for every hour from a moment on."""
    return {start + timedelta(hours=hour): value for hour in range(hours)}


def note(store: Store, garden: Garden, at: datetime, kind: str, **words: object) -> Entry:
    """Check an entry and write it into the journal, at the moment that it tells of."""
    raw: dict[str, object] = {"kind": kind, "at": at, **words}
    entry = parse_entry(raw, garden, at, store.journal.entries(at))
    store.journal.append(entry, at)
    return entry


def state_of(
    garden: Garden,
    now: datetime,
    *,
    litres: Sequence[float] = (200.0,),
    depletion_mm: Sequence[float] = (0.0,),
    steeps: Sequence[SteepNow] = (),
    crop: str | None = "mixed-vegetables",
    rain_today_mm: float = 0.0,
) -> State:
    """Return a garden's state by its figures; beds have 52 mm to give, 18.2 mm readily.

    The gardener waters a bed as soon as it lacks 1 mm. Steeps are told by their ages.
    """
    butts = zip(garden.butt, litres, strict=True)
    beds = zip(garden.bed, depletion_mm, strict=True)
    return State(
        now=now,
        today=now.astimezone(garden.garden.zone).date(),
        rain_today_mm=rain_today_mm,
        watered_today_mm=tuple(0.0 for _ in garden.bed),
        watered_tonight_mm=tuple(0.0 for _ in garden.bed),
        butts=tuple(ButtNow(butt.name, volume_l, None) for butt, volume_l in butts),
        beds=tuple(BedNow(bed.name, lacks_mm, 52.0, 18.2, crop) for bed, lacks_mm in beds),
        vessels=tuple(told_by_age(steep, now) for steep in steeps),
        asks_share=0.0,
    )


def told_by_age(steep: SteepNow, now: datetime) -> SteepNow:
    """Return a steep with the dilution that its ages ask for, if none is told and it is ready."""
    if steep.started is None or steep.dilution_parts is not None or steep.ended:
        return steep
    calendar_d = steep.calendar_age_d(now)
    if not is_ready(steep.thermal_age_d, calendar_d):
        return steep
    parts = rung(float(told_dilution(steep.thermal_age_d, calendar_d)))
    return replace(steep, dilution_parts=parts)


def crop_alone(
    days: int, beds: int = 1, *, grows: bool = True, taw_mm: float = 52.0, p: float = 0.35
) -> BedDays:
    """Return beds whose crop draws ET0 as it is, and whose surface loses nothing."""
    shape = (days, beds)
    one, half, none = (np.full(shape, value) for value in (1.0, 0.5, 0.0))
    return BedDays(
        kc=one,
        kcb=one,
        kc_max=one,
        exposed=half,
        cover=none,
        tew_mm=np.full(shape, 20.0),
        rew_mm=np.full(shape, 9.0),
        taw_mm=np.full(shape, taw_mm),
        p=np.full(shape, p),
        grows=np.full(shape, grows),
        claim=one,
        barred=np.zeros(days, dtype=bool),
    )
