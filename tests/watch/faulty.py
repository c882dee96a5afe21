"""Levels, rain and warmth of an invented garden, hour by hour, with whatever is wrong in it."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np
from tests.gardens import AIR, GAUGE, level_probe, make_garden, put_readings, vessel_probe

from steepwell.store.store import garden_store_url, open_store
from steepwell.watch.evidence import Evidence

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from numpy.typing import NDArray

    from steepwell.garden.garden import Garden
    from steepwell.store.store import Store

# 10 m2 at 0.8 bring 8 L a mm.
START = datetime(2031, 5, 1, 0, 0, tzinfo=UTC)
HOUR = timedelta(hours=1)
LITRES_A_MM = 8.0
NOISE_L = 0.5

Array = "NDArray[np.float64]"


@dataclass
class Hours:
    """What is so at the end of each hour since ``START``.

    Attributes
    ----------
    rain_mm
        Rain of each hour.
    change_l
        By how much the water of each butt changes in it, but for the rain.
    catches
        Which part of the rain that should come each butt gets.
    gauge
        Which part of the rain the gauge counts.
    air_c, water_c
        Temperatures.
    """

    days: int
    butts: tuple[str, ...] = ("north",)
    rain_mm: NDArray[np.float64] = field(init=False)
    change_l: dict[str, NDArray[np.float64]] = field(init=False)
    catches: dict[str, NDArray[np.float64]] = field(init=False)
    gauge: NDArray[np.float64] = field(init=False)
    air_c: NDArray[np.float64] = field(init=False)
    water_c: dict[str, NDArray[np.float64]] = field(init=False)
    start_l: float = 80.0

    def __post_init__(self) -> None:
        """Begin with a garden in which nothing happens and nothing is wrong."""
        count = 24 * self.days
        rng = np.random.default_rng(5)
        self.rain_mm = np.zeros(count)
        self.change_l = {butt: np.zeros(count) for butt in self.butts}
        self.catches = {butt: np.ones(count) for butt in self.butts}
        self.gauge = np.ones(count)
        hours = np.arange(count)
        self.air_c = 14.0 + 5.0 * np.sin(2 * np.pi * (hours - 9) / 24) + rng.normal(0, 0.1, count)
        self.water_c = {
            name: 14.0 + 0.5 * np.sin(2 * np.pi * (hours - 14) / 24) + rng.normal(0, 0.06, count)
            for name in ("leek", "nettle")
        }

    @property
    def now(self) -> datetime:
        """The moment after the last hour, half past six in the morning after."""
        return START + timedelta(days=self.days, hours=6, minutes=30)

    def rain(self, day: int, mm: float, *, hour: int = 12, hours: int = 2) -> None:
        """Let it rain on a day."""
        begin = 24 * day + hour
        self.rain_mm[begin : begin + hours] += mm / hours

    def store(self, store: Store) -> None:
        """Store what the sensors say of it."""
        moments = [START + at * HOUR for at in range(1, len(self.rain_mm) + 1)]
        rng = np.random.default_rng(11)

        def put(sensor: str, values: NDArray[np.float64]) -> None:
            put_readings(store, sensor, dict(zip(moments, values.tolist(), strict=True)))

        put("gauge", np.round(np.cumsum(self.rain_mm * self.gauge) / 0.2) * 0.2)
        put("shade", self.air_c)
        for vessel, values in self.water_c.items():
            put(f"{vessel}-temperature", values)
        for butt in self.butts:
            runs_mm = np.maximum(self.rain_mm - 0.1, 0.0)
            water = self.start_l
            levels = []
            comes = LITRES_A_MM * runs_mm * self.catches[butt] + self.change_l[butt]
            for litres in comes.tolist():
                water = min(max(water + litres, 0.0), 200.0)
                levels.append(water)
            put(f"{butt}-level", np.array(levels) + rng.normal(0, NOISE_L, len(levels)))


def garden_of(folder: Path, butts: tuple[str, ...] = ("north",)) -> Garden:
    """Return a garden with a roof and a probe for each butt, a gauge and three thermometers."""
    return make_garden(
        folder,
        roof=[{"name": f"{butt}-roof", "area": "10 m2", "into": butt} for butt in butts],
        butt=[{"name": butt, "litres": "200 L"} for butt in butts],
        vessel=[{"name": "leek", "volume": "60 L"}, {"name": "nettle", "volume": "30 L"}],
        sensor=[
            GAUGE,
            AIR,
            *(level_probe(butt) for butt in butts),
            vessel_probe("leek"),
            vessel_probe("nettle"),
        ],
    )


def told_of(
    folder: Path, hours: Hours, look: Callable[[Evidence], object], *, day: int | None = None
) -> object:
    """Store the hours, and return what a rule finds at the end or on the morning of a day."""
    garden = garden_of(folder, hours.butts)
    now = hours.now if day is None else START + timedelta(days=day, hours=6, minutes=30)
    with open_store(garden_store_url(garden), garden) as store:
        hours.store(store)
        return look(Evidence(garden, store, store.journal.entries(now), now))
