"""Makes values of what somebody answers; a ValueError says what is wanted."""

from __future__ import annotations

import math
import re
import unicodedata
from datetime import date
from pathlib import Path
from typing import NamedTuple
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from pydantic import TypeAdapter, ValidationError

from steepwell.errors import WeatherRecordError
from steepwell.garden.base import Name
from steepwell.garden.quantity import AREA, DURATION, LENGTH, VOLUME, Kind, magnitude
from steepwell.garden.site import MailAddress
from steepwell.outlook.record_file import read_rows
from steepwell.sense.hand import share_said
from steepwell.setup.places import Place, climates

SECONDS_AN_HOUR = 3600.0
ENOUGH_YEARS = 10
NONE_AT_ALL = "none"
# Degrees with a decimal comma, or with the side of the globe behind them.
_DEGREES = r"([-+]?\d+(?:[.,]\d+)?)\s*°?\s*"
_PLACE = re.compile(rf"{_DEGREES}([NS]?)\s*[;,\s]\s*{_DEGREES}([EW]?)")
_BARE = re.compile(r"\s*\d+(\.\d+)?\s*")
_PORT = re.compile(r"(.+?)(?::(\d{1,5}))?")
_MAIL: TypeAdapter[str] = TypeAdapter(MailAddress)
_NAME: TypeAdapter[str] = TypeAdapter(Name)


class Server(NamedTuple):
    """A host and the port it listens at, None where none was said."""

    host: str
    port: int | None


class DailyFile(NamedTuple):
    """A daily weather record, and how many years it spans."""

    path: Path
    years: float


def a_name(text: str) -> str:
    """Return a name as the garden file has them."""
    try:
        return _NAME.validate_python(text.lower())
    except ValidationError:
        plain = unicodedata.normalize("NFKD", text.lower()).encode("ascii", "ignore").decode()
        near = re.sub(r"[^a-z0-9]+", "-", plain.replace("'", "")).strip("-")
        like = f', like "{near}"' if near else ""
        raise ValueError(f"a name of small letters, digits and hyphens{like}") from None


def a_zone(text: str) -> str:
    """Return the name of a time zone."""
    try:
        ZoneInfo(text)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise ValueError('a time zone, named like "Europe/London"') from None
    return text


def a_place(text: str) -> Place:
    """Return latitude and longitude."""
    wanted = 'latitude and longitude in degrees with a comma between, like "52.2, -2.1"'
    try:
        latitude, longitude = (float(part) for part in text.split(","))
    except ValueError:
        found = _PLACE.fullmatch(text.strip().upper())
        if found is None:
            raise ValueError(wanted) from None
        latitude, longitude = (
            float(number.replace(",", ".")) * (-1.0 if side in {"S", "W"} else 1.0)
            for number, side in ((found[1], found[2]), (found[3], found[4]))
        )
    if not (abs(latitude) <= 90 and abs(longitude) <= 180):  # noqa: PLR2004 - degrees of the globe
        raise ValueError(f"{wanted}, at most 90 and 180")
    return Place(latitude, longitude)


def some_butts(text: str) -> tuple[float, ...]:
    """Return what each butt holds [L]."""
    return tuple(_measured(part, VOLUME, "L") for part in text.split(","))


def a_roof(text: str) -> tuple[float, float]:
    """Return length and depth of a roof [m]."""
    parts = re.split(r"\s*[x*\u00d7]\s*", text)
    if len(parts) != 2:  # noqa: PLR2004 - length and depth
        raise ValueError('length and depth in metres, like "6 x 4"')
    length, depth = (_measured(part, LENGTH, "m") for part in parts)
    return length, depth


def a_share(text: str) -> float:
    """Return a share of 0 to 1."""
    share = share_said(text.lower())
    if share is None and _BARE.fullmatch(text):
        # The question is answered in percent, but nobody means half a percent by 0.5.
        share = float(text) if float(text) <= 1.0 else float(text) / 100.0
    if share is None:
        raise ValueError('a part of the roof, for instance "50 %" or "half"')
    if not 0.0 < share <= 1.0:
        raise ValueError('more than 0 % and at most 100 %, for instance "50 %"')
    return share


def an_area(text: str) -> float:
    """Return an area [m²]."""
    return _measured(text, AREA, "m2")


def a_while(text: str) -> float:
    """Return a time [s]."""
    return SECONDS_AN_HOUR * magnitude(text, DURATION)


def _measured(text: str, kind: Kind, unit: str) -> float:
    bare = _BARE.fullmatch(text)
    found = magnitude(f"{text.strip()} {unit}" if bare else text.strip(), kind)
    if not 0.0 < found < math.inf:
        raise ValueError(f"{kind.name} of more than nothing, for instance {kind.example}")
    return found


def a_weather(text: str) -> str | DailyFile | None:
    """Return the name of a climate, a daily record, or None."""
    if text == NONE_AT_ALL:
        return None
    if text in climates():
        return text
    path = Path(text).expanduser()
    if not path.is_file():
        known = ", ".join([*climates(), NONE_AT_ALL])
        raise ValueError(f"one of {known}, or a CSV file that is there")
    try:
        days = read_rows(path).days
    except WeatherRecordError as error:
        raise ValueError(f"a weather record that can be used; {error}") from None
    first, last = date.fromordinal(min(days)), date.fromordinal(max(days))
    return DailyFile(path.resolve(), ((last - first).days + 1) / 365.25)


def a_server(text: str) -> Server | None:
    """Return host and port, None for nothing."""
    if text in {"", NONE_AT_ALL}:
        return None
    parts = _PORT.fullmatch(text)
    if parts is None or " " in text or "/" in text or int(parts[2] or 1) not in range(1, 65_536):
        raise ValueError('a host, perhaps with its port, like "192.0.2.7:1883"')
    return Server(parts[1], int(parts[2]) if parts[2] else None)


def a_mail_address(text: str) -> str:
    """Return a mail address."""
    try:
        return _MAIL.validate_python(text)
    except ValidationError:
        raise ValueError('a mail address, like "gardener@example.org"') from None


def a_text(text: str) -> str | None:
    """Return a text as it is, None for nothing."""
    return text or None


def a_reach(text: str) -> str:
    """Return from where the page can be reached."""
    if text not in ("no", "here", "home"):
        raise ValueError("no, here or home")
    return text


def a_security(text: str) -> str:
    """Return how a mail server is spoken to."""
    if text not in ("starttls", "tls", "none"):
        raise ValueError("starttls, tls or none")
    return text
