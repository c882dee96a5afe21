"""The whole garden as one frozen object."""

from __future__ import annotations

from functools import cached_property
from pathlib import Path
from typing import Any

from pydantic import Field

from steepwell.garden.base import Part
from steepwell.garden.growing import Bed, Vessel
from steepwell.garden.quantity import IN_INNER_UNITS
from steepwell.garden.sensors import (
    Barometer,
    LevelSensor,
    RainSensor,
    Sensor,
    TemperatureSensor,
)
from steepwell.garden.site import Broker, FeedDays, Hours, Mirror, Page, Site, StorePlace, Told
from steepwell.garden.water import Butt, Can, Lawn, Roof, Tap
from steepwell.garden.weather import Forecast, WeatherRecord

AIR = "air"


class Garden(Part):
    """One garden: what its file declares, with every quantity in the units used inside.

    Lengths are in m, areas in m², volumes in L, depths of water in mm, temperatures in °C.
    """

    garden: Site
    broker: Broker | None = None
    store: StorePlace = StorePlace()
    weather_record: WeatherRecord | None = None
    forecast: Forecast | None = None
    roof: tuple[Roof, ...] = ()
    butt: tuple[Butt, ...] = ()
    vessel: tuple[Vessel, ...] = ()
    bed: tuple[Bed, ...] = ()
    sensor: tuple[Sensor, ...] = ()
    can: Can = Can()
    tap: Tap = Tap()
    lawn: Lawn | None = None
    told: Told = Told()
    hours: Hours = Hours()
    feed: FeedDays = FeedDays()
    mirror: Mirror | None = None
    page: Page | None = None
    folder: Path = Field(default=Path(), exclude=True)

    @property
    def name(self) -> str:
        """The garden's name."""
        return self.garden.name

    @cached_property
    def capacity_l(self) -> float:
        """What all butts hold when full [L]."""
        return sum(butt.capacity_l for butt in self.butt)

    @cached_property
    def dry_line_l(self) -> float:
        """Water above the taps below which the garden counts as dry [L].

        One can, or 2 % of capacity, whichever is more.
        """
        return max(self.can.size, 0.02 * self.capacity_l)

    def level_sensor(self, butt: str) -> LevelSensor | None:
        """Return the probe of a butt, or None."""
        levels = (s for s in self.sensor if isinstance(s, LevelSensor))
        return next((s for s in levels if s.of == butt), None)

    def temperature_sensor(self, place: str) -> TemperatureSensor | None:
        """Return the probe of a vessel or of the air, or None."""
        probes = (s for s in self.sensor if isinstance(s, TemperatureSensor))
        return next((s for s in probes if place in s.places), None)

    def butt_named(self, name: str) -> Butt:
        """Return a butt of the garden."""
        return next(butt for butt in self.butt if butt.name == name)

    @property
    def barometer(self) -> Barometer | None:
        """The barometer, or None."""
        return next((s for s in self.sensor if isinstance(s, Barometer)), None)

    @property
    def rain_sensor(self) -> RainSensor | None:
        """The rain gauge, or None."""
        return next((s for s in self.sensor if isinstance(s, RainSensor)), None)

    def to_json(self) -> dict[str, Any]:
        """Return the garden in the units used inside, for another process."""
        return {**self.model_dump(mode="json"), "folder": str(self.folder)}

    @classmethod
    def from_json(cls, data: dict[str, Any]) -> Garden:
        """Return the garden that ``to_json`` wrote."""
        return cls.model_validate(data, context=IN_INNER_UNITS)

    def path(self, path: Path) -> Path:
        """Return a path of the file as seen from the file's own folder."""
        return path if path.is_absolute() else self.folder / path
