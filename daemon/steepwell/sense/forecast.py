"""A short-range forecast as somebody publishes it: from a message to a few days of figures."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

from steepwell.errors import MessageRefusedError
from steepwell.sense.text import JsonPointer, finite, json_of, shown

if TYPE_CHECKING:
    from steepwell.garden.weather import Forecast

MOST_DAYS = 60
MOST_RAIN_MM = 500.0
COLDEST_C, WARMEST_C = -80.0, 60.0


@dataclass(frozen=True, slots=True)
class ForecastDay:
    """What is forecast for one day.

    Attributes
    ----------
    day
        The local day.
    rain_mm
        Its rain [mm].
    tmin_c, tmax_c
        Its extremes [°C].
    """

    day: date
    rain_mm: float
    tmin_c: float
    tmax_c: float


@dataclass(frozen=True, slots=True)
class ForecastDays:
    """A forecast: when it came, and its days in the order of time.

    Attributes
    ----------
    issued
        Local day on which it came.
    days
        From that day on.
    """

    issued: date
    days: tuple[ForecastDay, ...]

    def to_json(self) -> dict[str, Any]:
        """Return the forecast as it can be stored."""
        days = [{**asdict(day), "day": day.day.isoformat()} for day in self.days]
        return {"issued": self.issued.isoformat(), "days": days}

    @classmethod
    def from_json(cls, data: dict[str, Any]) -> ForecastDays:
        """Return the forecast that ``to_json`` wrote."""
        days = [{**day, "day": date.fromisoformat(day["day"])} for day in data["days"]]
        return cls(date.fromisoformat(data["issued"]), tuple(ForecastDay(**day) for day in days))


def parse_forecast(
    payload: bytes, section: Forecast, today: date, last: ForecastDays | None = None
) -> ForecastDays:
    """Read a forecast from a message.

    Parameters
    ----------
    payload
        The message, in JSON; rain in mm, temperatures in °C.
    section
        Where in it things stand.
    today
        Local day on which it came; earlier days in it are passed over.
    last
        The forecast before it, or None.

    Returns
    -------
    ForecastDays
        At least one day. It ends where the first value is null, as the last ones often are. A
        message that says the same as the last one is that one again, and as old.

    Raises
    ------
    MessageRefusedError
        If it cannot be understood, or says what cannot be.
    """
    days = _all_days(payload, section)
    if last is not None and _from(days, last.issued) == last.days:
        return last
    ahead = _from(days, today)
    if not ahead:
        raise MessageRefusedError(f"this forecast has no whole day from {today} on")
    return ForecastDays(today, ahead)


def _from(days: list[ForecastDay], first: date) -> tuple[ForecastDay, ...]:
    return tuple(day for day in days if day.day >= first)


def _all_days(payload: bytes, section: Forecast) -> list[ForecastDay]:
    days: list[ForecastDay] = []
    for values in _rows(json_of(payload), section):
        day = _day(values[0])
        if days and day <= days[-1].day:
            raise MessageRefusedError(f"{day} comes after {days[-1].day}; days go in order")
        if any(value is None for value in values):
            break
        days.append(_sane(day, *(finite(value, f"a value of {day}") for value in values[1:])))
    return days


def _rows(document: object, section: Forecast) -> list[tuple[object, ...]]:
    """Return date, rain, Tmin and Tmax of each day as they stand there."""
    names = ("date", "rain", "tmin", "tmax")
    pointers = [JsonPointer(getattr(section, name)) for name in names]
    if section.days is not None:
        listed = _list(JsonPointer(section.days).find(document), "days")
        return [tuple(pointer.find(day) for pointer in pointers) for day in listed]
    columns = [
        _list(pointer.find(document), name) for pointer, name in zip(pointers, names, strict=True)
    ]
    if len({len(column) for column in columns}) > 1:
        counts = ", ".join(
            f"{len(column)} of {name}" for column, name in zip(columns, names, strict=True)
        )
        raise MessageRefusedError(f"the lists of this forecast are not equally long: {counts}")
    return list(zip(*columns, strict=True))


def _list(found: object, name: str) -> list[object]:
    if not isinstance(found, list):
        raise MessageRefusedError(f"{name} leads to {shown(found)}, and should lead to a list")
    if len(found) > MOST_DAYS:
        raise MessageRefusedError(
            f"{name} has {len(found)} values; a forecast of days has at most {MOST_DAYS}"
        )
    return found


def _day(found: object) -> date:
    """Return a date, also from a time that begins with one."""
    try:
        if isinstance(found, str) and found[10:11] in {"", "T", " "}:
            return date.fromisoformat(found[:10])
    except ValueError:
        pass
    raise MessageRefusedError(f"{shown(found)} is no date; wanted one like 2031-06-01")


def _sane(day: date, rain_mm: float, tmin_c: float, tmax_c: float) -> ForecastDay:
    if not 0.0 <= rain_mm <= MOST_RAIN_MM:
        raise MessageRefusedError(
            f"{rain_mm:g} mm of rain on {day} cannot be; wanted 0 to {MOST_RAIN_MM:g}"
        )
    if not COLDEST_C <= tmin_c <= tmax_c <= WARMEST_C:
        raise MessageRefusedError(
            f"{tmin_c:g} to {tmax_c:g} °C on {day} cannot be; wanted the lower first, in °C"
        )
    return ForecastDay(day, rain_mm, tmin_c, tmax_c)
