"""What the garden file says of the weather: what it has been, and who forecasts it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, NamedTuple, Self
from urllib.parse import urlsplit

from pydantic import AfterValidator, Field, model_validator

from steepwell.garden.base import Part
from steepwell.garden.sensors import Pointer, Topic

if TYPE_CHECKING:
    from collections.abc import Iterator

MONTHS = (
    *("January", "February", "March", "April", "May", "June"),
    *("July", "August", "September", "October", "November", "December"),
)
LONGEST_D = (31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
# The least that makes a wet day, as climate normals count them.
WET_DAY_MM = 1.0


def _check_twelve(values: tuple[float, ...]) -> tuple[float, ...]:
    if len(values) != len(MONTHS):
        raise ValueError(f"twelve numbers, one for each month from January on, not {len(values)}")
    return values


def _check_url(url: str) -> str:
    parts = urlsplit(url)
    if parts.scheme not in {"http", "https"} or not parts.hostname:
        raise ValueError('an address of the web, for instance "https://weather.example/days.json"')
    return url


_Rain = Annotated[float, Field(ge=0, le=3000, allow_inf_nan=False)]
_Days = Annotated[float, Field(ge=0, le=31, allow_inf_nan=False)]
_Celsius = Annotated[float, Field(ge=-80, le=60, allow_inf_nan=False)]
_Twelve = AfterValidator(_check_twelve)


class Impossible(NamedTuple):
    """A monthly normal that cannot be: its key, its month from 0 on, and what is wrong."""

    key: str
    month: int
    found: str
    wanted: str


class Normals(Part):
    """Monthly normals of the place, January first.

    Rain is that of the whole month [mm], a wet day has 1 mm or more [d], and temperatures are
    the means of the days' extremes [°C].
    """

    rain_mm: Annotated[tuple[_Rain, ...], _Twelve]
    wet_days: Annotated[tuple[_Days, ...], _Twelve]
    tmin_c: Annotated[tuple[_Celsius, ...], _Twelve]
    tmax_c: Annotated[tuple[_Celsius, ...], _Twelve]

    def impossible(self) -> Iterator[Impossible]:
        """Yield what cannot be true together."""
        for month, name in enumerate(MONTHS):
            rain_mm, wet_d = self.rain_mm[month], self.wet_days[month]
            if wet_d > LONGEST_D[month]:
                found, wanted = f"{wet_d:g} wet days in {name}", f"at most {LONGEST_D[month]}"
                yield Impossible("wet_days", month, found, wanted)
            elif wet_d == 0.0 and rain_mm >= WET_DAY_MM:
                found = f"no wet day for the {rain_mm:g} mm of {name}"
                yield Impossible("wet_days", month, found, "how many days it rains on")
            elif rain_mm < wet_d * WET_DAY_MM:
                found = f"{rain_mm:g} mm on {wet_d:g} wet days in {name}"
                wanted = "the rain of the month; a wet day has 1 mm or more"
                yield Impossible("rain_mm", month, found, wanted)
            if self.tmin_c[month] >= self.tmax_c[month]:
                found = f"{self.tmin_c[month]:g} °C in {name}, where tmax_c has "
                found += f"{self.tmax_c[month]:g} °C"
                yield Impossible("tmin_c", month, found, "the mean of the nights, below tmax_c")


class WeatherRecord(Part):
    """What the weather of this place has been: a daily record, monthly normals, or both."""

    daily: Path | None = None
    normals: Normals | None = None

    @model_validator(mode="after")
    def _says_something(self) -> Self:
        if self.daily is None and self.normals is None:
            raise ValueError(
                "daily, a file with one row a day, or [weather_record.normals], or both"
            )
        return self


class Forecast(Part):
    """A short-range forecast that somebody publishes: its topic or address, and what stands where.

    What stands at an address is fetched every hour. Without ``days``, each pointer leads to a list
    with one value a day. With it, that pointer leads to a list with one object a day, and the
    others to the values in each of them. Rain is in mm, temperatures are in °C.
    """

    topic: Topic | None = None
    url: Annotated[str, AfterValidator(_check_url)] | None = None
    days: Pointer | None = None
    date: Pointer
    rain: Pointer
    tmin: Pointer
    tmax: Pointer

    @model_validator(mode="after")
    def _comes_one_way(self) -> Self:
        if (self.topic is None) == (self.url is None):
            raise ValueError("either topic, if the broker carries it, or url, to fetch it from")
        return self
