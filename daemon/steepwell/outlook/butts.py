"""Water in the butts now: the last reading carried on by what came in and went out since."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from steepwell.clock import from_ms
from steepwell.model.catchment import TO_GROUND, fill_and_spill, runoff_l
from steepwell.outlook.observed import Observed, local_day
from steepwell.outlook.state import ButtNow
from steepwell.store.entries import Entry, LevelRead, SteepStarted, TapWaterAdded, Watered

if TYPE_CHECKING:
    from collections.abc import Sequence

    from steepwell.garden.garden import Garden
    from steepwell.store.readings import Reading
    from steepwell.store.store import Store

ASSUMED_SHARE = 0.5

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Chain:
    """The butts in the order in which water passes them, and the roofs that feed them.

    Attributes
    ----------
    order
        Position in the garden file of each butt of the chain.
    capacity_l, dead_l
        What each holds, and what of it is below the tap [L].
    overflow_to
        Position in the chain of the butt that takes the overflow, -1 for the ground.
    """

    garden: Garden
    order: tuple[int, ...]
    capacity_l: tuple[float, ...]
    dead_l: tuple[float, ...]
    overflow_to: tuple[int, ...]

    def inflow_l(self, rain_mm: Array, runoff: Array | None = None) -> Array:
        """Return what the roofs deliver to each butt of the chain.

        Parameters
        ----------
        rain_mm
            Rain of the day [mm].
        runoff
            Runoff coefficient of each roof, first axis, in place of those declared [-].

        Returns
        -------
        array
            One more axis in front, the butts of the chain [L].
        """
        inflow = np.zeros((len(self.order), *np.shape(rain_mm)))
        names = [self.garden.butt[index].name for index in self.order]
        for index, roof in enumerate(self.garden.roof):
            arrives = runoff_l(
                rain_mm,
                area_m2=roof.area,
                share=roof.share,
                runoff_coefficient=1.0,
                wetting_loss_mm=roof.wetting_loss,
                filter_efficiency=roof.filter_efficiency,
            )
            arrives *= roof.runoff if runoff is None else runoff[index]
            inflow[names.index(roof.into)] += arrives
        return inflow

    def pour(self, volume_l: Array, inflow_l: Array) -> tuple[Array, Array]:
        """Let water in and return the new volumes and what was spilled [L]."""
        return fill_and_spill(
            volume_l, inflow_l, capacity_l=self.capacity_l, overflow_to=self.overflow_to
        )


def chain_of(garden: Garden) -> Chain:
    """Return the butts so that each comes before the one it overflows into."""
    position = {butt.name: index for index, butt in enumerate(garden.butt)}
    depth = [_steps_to_ground(garden, index, position) for index in range(len(garden.butt))]
    order = tuple(sorted(position.values(), key=lambda index: -depth[index]))
    place = {garden.butt[index].name: at for at, index in enumerate(order)}
    butts = [garden.butt[index] for index in order]
    return Chain(
        garden,
        order,
        tuple(butt.capacity_l for butt in butts),
        tuple(butt.dead_volume for butt in butts),
        tuple(place[b.overflow_to] if b.overflow_to else TO_GROUND for b in butts),
    )


def _steps_to_ground(garden: Garden, index: int, position: dict[str, int]) -> int:
    steps = 0
    while (following := garden.butt[index].overflow_to) is not None:
        index, steps = position[following], steps + 1
    return steps


def butts_now(
    garden: Garden,
    store: Store,
    observed: Observed,
    entries: Sequence[Entry],
    now: datetime,
) -> tuple[ButtNow, ...]:
    """Return the water in every butt.

    Parameters
    ----------
    garden
        The garden.
    store
        Where the readings are.
    observed
        The weather since the oldest last reading.
    entries
        The journal; a level read by hand goes before the probe on its day.
    now
        The moment of the job.

    Returns
    -------
    tuple of ButtNow
        In the order of the garden file.
    """
    chain = chain_of(garden)
    known = [_last_level(garden, store, butt.name, entries, now) for butt in garden.butt]
    read_at = [level[0] if level else None for level in known]
    volume = np.array(
        [
            level[1] if level else ASSUMED_SHARE * butt.capacity_l
            for level, butt in zip(known, garden.butt, strict=True)
        ]
    )
    oldest = min((at for at in read_at if at), default=now)
    day, today = local_day(garden, oldest), local_day(garden, now)
    while day <= today:
        volume = _carry_day(
            chain, observed, entries, day=day, today=today, volume=volume, read_at=read_at
        )
        day += timedelta(days=1)
    return tuple(
        ButtNow(butt.name, float(litres), at)
        for butt, litres, at in zip(garden.butt, volume, read_at, strict=True)
    )


def _last_level(
    garden: Garden, store: Store, butt: str, entries: Sequence[Entry], now: datetime
) -> tuple[datetime, float] | None:
    by_hand = [e for e in entries if isinstance(e, LevelRead) and e.butt == butt]
    sensor = garden.level_sensor(butt)
    reading: Reading | None = store.readings.last_good(sensor.name, now) if sensor else None
    if by_hand:
        hand = by_hand[-1]
        if reading is None or local_day(garden, hand.at) >= local_day(
            garden, from_ms(reading.time_ms)
        ):
            return hand.at, hand.litres
    return (from_ms(reading.time_ms), reading.value) if reading else None


def _carry_day(
    chain: Chain,
    observed: Observed,
    entries: Sequence[Entry],
    *,
    day: date,
    today: date,
    volume: Array,
    read_at: Sequence[datetime | None],
) -> Array:
    """Carry through one day those butts that were last read before it or on it.

    What overflows into a butt that was read later is in its reading already.
    """
    garden = chain.garden
    read_on = [local_day(garden, at) if at else today for at in read_at]
    order = list(chain.order)
    stale = np.array([read_on[index] < day for index in order])
    rain_mm = _rain(observed, day, today)
    inflow = np.where(stale, chain.inflow_l(np.asarray(rain_mm)), 0.0)
    poured = chain.pour(volume[order], inflow)[0]
    carried = volume.copy()
    carried[order] = np.where(stale, poured, volume[order])
    for entry in entries:
        if local_day(garden, entry.at) == day:
            _draw(garden, entry, read_at, carried)
    return np.clip(carried, 0.0, [butt.capacity_l for butt in garden.butt])


def _rain(observed: Observed, day: date, today: date) -> float:
    if day >= today:
        return observed.rain_today_mm
    index = (day - observed.first).days
    return float(np.nan_to_num(observed.rain_mm[index])) if index >= 0 else 0.0


def _draw(garden: Garden, entry: Entry, read_at: Sequence[datetime | None], volume: Array) -> None:
    litres, butt = _taken_l(entry)
    if not litres:
        return
    since_read = np.array([at is None or at < entry.at for at in read_at])
    if butt is not None:
        chosen = np.array([b.name == butt for b in garden.butt], dtype=float)
    else:
        chosen = volume / volume.sum() if volume.sum() > 0 else np.zeros(len(volume))
    volume -= litres * chosen * since_read


def _taken_l(entry: Entry) -> tuple[float, str | None]:
    """Return what an entry takes out of the butts, and of which [L]."""
    match entry:
        case Watered():
            return entry.litres, entry.butt
        case SteepStarted():
            return entry.water_l or 0.0, None
        case TapWaterAdded():
            return -entry.litres, entry.butt
        case _:
            return 0.0, None
