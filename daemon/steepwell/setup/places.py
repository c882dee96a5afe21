"""Where a garden may be: the time zone of this machine, its place, the climate nearest to it."""

from __future__ import annotations

import math
import re
import tomllib
from importlib.resources import files
from pathlib import Path
from typing import NamedTuple

from pydantic import BaseModel, ConfigDict

from steepwell.garden.tables import config_dir
from steepwell.garden.weather import Normals

LOCALTIME = Path("/etc/localtime")
# Of a machine that keeps UTC nothing can be guessed.
USUAL_ZONE = "Europe/London"
EARTH_KM = 6371.0

_DEGREES = re.compile(r"([+-])(\d{2,3})(\d{2})(\d{2})?(?=[+-]|$)")


class Place(NamedTuple):
    """A place in degrees, north and east positive."""

    latitude: float
    longitude: float


class Climate(BaseModel):
    """Monthly normals of a region, and where they hold."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    says: str
    latitude: float
    longitude: float
    reaches_km: float
    rain_mm: tuple[float, ...]
    wet_days: tuple[float, ...]
    tmin_c: tuple[float, ...]
    tmax_c: tuple[float, ...]
    source: str

    @property
    def normals(self) -> Normals:
        """The normals as a garden file has them."""
        return Normals(
            rain_mm=self.rain_mm, wet_days=self.wet_days, tmin_c=self.tmin_c, tmax_c=self.tmax_c
        )


def climates() -> dict[str, Climate]:
    """Return the climates that are shipped, by name."""
    with (config_dir() / "tables" / "climates.toml").open("rb") as file:
        return {name: Climate.model_validate(row) for name, row in tomllib.load(file).items()}


def nearest_climate(place: Place) -> tuple[str, float]:
    """Return the climate whose record was taken nearest to a place, and how far that is [km]."""
    far = {
        name: distance_km(place, Place(climate.latitude, climate.longitude))
        for name, climate in climates().items()
    }
    name = min(far, key=far.__getitem__)
    return name, far[name]


def distance_km(one: Place, other: Place) -> float:
    """Return the great-circle distance of two places [km], by the haversine formula."""
    (lat1, lon1), (lat2, lon2) = (map(math.radians, place) for place in (one, other))
    half = math.sin((lat2 - lat1) / 2) ** 2
    half += math.cos(lat1) * math.cos(lat2) * math.sin((lon2 - lon1) / 2) ** 2
    return 2 * EARTH_KM * math.asin(math.sqrt(half))


def zone_of_machine(localtime: Path = LOCALTIME) -> str:
    """Return the time zone this machine keeps, or the usual one where it keeps none."""
    _, found, zone = str(localtime.resolve()).partition("zoneinfo/")
    return zone if found and place_of_zone(zone) is not None else USUAL_ZONE


def place_of_zone(zone: str) -> Place | None:
    """Return the town a time zone is named after, None where it is named after none."""
    table = (files("tzdata") / "zoneinfo" / "zone.tab").read_text(encoding="utf-8")
    for line in table.splitlines():
        columns = line.split("\t")
        if not line.startswith("#") and columns[2] == zone:
            latitude, longitude = (
                math.copysign(
                    int(degrees) + int(minutes) / 60 + int(seconds or 0) / 3600,
                    -1.0 if sign == "-" else 1.0,
                )
                for sign, degrees, minutes, seconds in _DEGREES.findall(columns[1])
            )
            return Place(round(latitude, 2), round(longitude, 2))
    return None
