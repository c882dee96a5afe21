"""What the columns of a daily weather record are called, here and in national open data."""

from __future__ import annotations

import re
import unicodedata
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

COLUMNS = ("date", "rain_mm", "tmin_c", "tmax_c")

# From memory: what national weather services call the columns of their daily files, the likelier
# ones first; small letters and digits alone, without the unit.
DATES = (
    *("date", "datetime", "yyyymmdd", "aaaammjj", "messdatum", "datum", "fecha", "data", "dato"),
    "obsdate",
)
# Dates too, where the file has no column of its own for the year.
DATES_OR_LESS = ("day", "dag", "time")
YEARS = ("year", "jahr", "annee", "ano", "anno", "jaar")
MONTHS = ("month", "monat", "mois", "mes", "mese", "maand")
DAYS = ("day", "tag", "jour", "dia", "giorno", "dag")
RAINS = (
    *("rain", "rainfall", "precipitation", "precip", "prcp", "rainfallamount", "totalprecip"),
    *("totalprecipitation", "precipitationamount", "rr", "rsk", "prec", "prep", "rain24h"),
    *("rre150d0", "regen", "niederschlag", "neerslag", "pluie", "precipitations", "precipitacion"),
    *("pioggia", "precipitazione", "precipitacao", "nederbord", "nedbor", "opad", "rh"),
)
LOWS = (
    *("tmin", "tempmin", "mintemp", "minimumtemperature", "mintemperature", "temperaturemin"),
    *("minimumtemp", "temperatureminimum", "minairtemp", "mintp", "tn", "tnk", "tlmin", "tmini"),
    *("tre200dn", "temperaturaminima", "tempminima", "minimumairtemperature"),
)
HIGHS = (
    *(name.replace("min", "max") for name in LOWS if name not in {"tn", "tnk", "tre200dn"}),
    *("tx", "txk", "tre200dx", "tmassima"),
)
ET0S = ("et0", "eto")

_UNIT_IN_BRACKETS = re.compile(r"[(\[]([^)\]]*)[)\]]")
_UNIT_BEHIND = re.compile(r"_(0\.1mm|0\.1c|mm|cm|inches|inch|in|degc|degf|c|f)$")
_MILLIMETRES = {"mm": 1.0, "millimetres": 1.0, "millimeters": 1.0, "l/m2": 1.0}
_OTHER_RAIN = {"0.1mm": 0.1, "cm": 10.0, "in": 25.4, "inch": 25.4, "inches": 25.4}
RAIN_UNITS = _MILLIMETRES | _OTHER_RAIN
_CELSIUS = ("c", "degc", "°c", "celsius", "degreec", "degreescelsius", "degreesc")
_FAHRENHEIT = ("f", "degf", "°f", "fahrenheit", "degreef", "degreesf")


class Heading(NamedTuple):
    """A column: what it is called in the file, the name without its unit, and the unit."""

    says: str
    name: str
    unit: str


class Places(NamedTuple):
    """Which column is which; of the day one, or those of year, month and day."""

    day: tuple[int, ...]
    rain: int
    tmin: int
    tmax: int
    et0: int | None


def heading(text: str) -> Heading:
    """Return a heading with its unit taken off.

    Parameters
    ----------
    text
        As it stands in the file.

    Returns
    -------
    Heading
        ``Max Temp (°C)`` is ``maxtemp`` in ``°c``.
    """
    said = text.strip().strip('#"').strip()
    plain = _plain(said)
    bracket = _UNIT_IN_BRACKETS.search(plain)
    behind = _UNIT_BEHIND.search(plain)
    unit = (bracket[1] if bracket else behind[1] if behind else "").replace(" ", "")
    if bracket:
        plain = _UNIT_IN_BRACKETS.sub("", plain)
    elif behind:
        plain = plain[: behind.start()]
    return Heading(said, re.sub(r"[^a-z0-9]", "", plain), unit)


def _plain(text: str) -> str:
    """Return a text in small letters without accents."""
    parts = unicodedata.normalize("NFD", text.lower())
    return "".join(sign for sign in parts if not unicodedata.combining(sign)).replace("ø", "o")


def places(headings: Sequence[Heading]) -> Places | tuple[str, ...]:
    """Return which column is which, or what none was found for.

    Parameters
    ----------
    headings
        Of all columns, in their order.

    Returns
    -------
    Places or tuple of str
        What is missing by its own names, or which columns say the same.
    """
    apart = tuple(_first(headings, names) for names in (YEARS, MONTHS, DAYS))
    whole = _first(headings, DATES if apart[0] is not None else DATES + DATES_OR_LESS)
    day = (whole,) if whole is not None else apart
    found = [_first(headings, names) for names in (RAINS, LOWS, HIGHS)]
    missing = [name for name, at in zip(COLUMNS[1:], found, strict=True) if at is None]
    if any(at is None for at in day):
        missing.insert(0, COLUMNS[0])
    if missing:
        return tuple(missing)
    rain, tmin, tmax = (at for at in found if at is not None)
    known = tuple(at for at in day if at is not None)
    return Places(known, rain, tmin, tmax, _first(headings, ET0S))


def _first(headings: Sequence[Heading], names: Iterable[str]) -> int | None:
    """Return the column of the likeliest name that is there."""
    here = {one.name: at for at, one in reversed(list(enumerate(headings)))}
    return next((here[name] for name in names if name in here), None)


def to_celsius(unit: str) -> tuple[float, float] | None:
    """Return factor and offset from a unit of temperature to °C, None if it is not known."""
    if unit in _CELSIUS:
        return 1.0, 0.0
    if unit in _FAHRENHEIT:
        return 5.0 / 9.0, -32.0 * 5.0 / 9.0
    return (0.1, 0.0) if unit in {f"0.1{sign}" for sign in _CELSIUS} else None
