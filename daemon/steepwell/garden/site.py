"""The place, the broker, the store, the people to tell, and when the jobs run."""

from __future__ import annotations

import difflib
import re
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal, Self
from urllib.parse import urlsplit
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError, available_timezones

from pydantic import AfterValidator, Field, model_validator

from steepwell.garden.base import MonthDay, Name, Part
from steepwell.garden.quantity import Elevation, MetresASecond, Share
from steepwell.words.saying import ENGLISH, languages

if TYPE_CHECKING:
    from datetime import date

Weekday = Literal["mon", "tue", "wed", "thu", "fri", "sat", "sun"]
MIRROR_TOKEN = "STEEPWELL_MIRROR_TOKEN"  # noqa: S105 - where the token is, not the token
BROKER_USERNAME = "STEEPWELL_BROKER_USERNAME"
BROKER_PASSWORD = "STEEPWELL_BROKER_PASSWORD"  # noqa: S105 - where the password is, not the password
WEEKDAYS: tuple[Weekday, ...] = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


def _check_zone(name: str) -> str:
    try:
        ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        near = difflib.get_close_matches(name, available_timezones(), n=1)
        hint = f"; did you mean {near[0]!r}?" if near else ""
        raise ValueError(f'a time zone, named like "Europe/London"{hint}') from None
    return name


def _check_language(name: str) -> str:
    if name not in languages():
        raise ValueError(f"a language there is a file of: {', '.join(languages())}")
    return name


def _check_hour(text: str) -> str:
    if not re.fullmatch(r"([01]\d|2[0-3]):[0-5]\d", text):
        raise ValueError('a time of day is hours and minutes, for instance "06:30"')
    return text


def _check_mail(text: str) -> str:
    if not re.fullmatch(r"[^@\s,<>]+@[^@\s,<>]+", text):
        raise ValueError('a mail address looks like "gardener@example.org"')
    return text


TimeOfDay = Annotated[str, AfterValidator(_check_hour)]
MailAddress = Annotated[str, AfterValidator(_check_mail)]
Port = Annotated[int, Field(ge=1, le=65_535)]


class Site(Part):
    """The garden itself.

    Wind and the day's least humidity are those of an ordinary day in the season of growth, from
    which crops take more water or less than the tables say. ``language`` and ``units`` are those
    of what is read; the file itself is in English words and takes any unit.
    """

    name: Name
    latitude: Annotated[float, Field(ge=-90, le=90)]
    longitude: Annotated[float, Field(ge=-180, le=180)]
    elevation: Elevation = 0.0
    wind: MetresASecond = 2.0
    least_humidity: Share = 0.45
    timezone: Annotated[str, AfterValidator(_check_zone)]
    language: Annotated[str, AfterValidator(_check_language)] = ENGLISH
    units: Literal["metric", "imperial", "us"] = "metric"

    @property
    def zone(self) -> ZoneInfo:
        """The time zone."""
        return ZoneInfo(self.timezone)

    def northern_month(self, day: date) -> int:
        """Return the month in which the season of a day comes north of the equator, 1 to 12."""
        return day.month if self.latitude >= 0.0 else (day.month + 5) % 12 + 1


class Broker(Part):
    """The MQTT broker the sensors speak to.

    User and password may also stand in the environment. With ``tls`` the broker has to prove who it
    is, to the authorities this machine trusts or to the one in ``ca_file``.
    """

    host: str
    port: Port = 1883
    protocol: Literal["5", "3.1.1"] = "5"
    client_id: str | None = None
    username: str | None = None
    password_file: Path | None = None
    tls: bool = False
    ca_file: Path | None = None
    certificate_file: Path | None = None
    key_file: Path | None = None

    @model_validator(mode="after")
    def _certificates_go_with_tls(self) -> Self:
        if not self.tls and (self.ca_file or self.certificate_file or self.key_file):
            raise ValueError("ca_file, certificate_file and key_file go with tls = true")
        if self.key_file is not None and self.certificate_file is None:
            raise ValueError("key_file goes with certificate_file")
        return self


def _check_store(url: str) -> str:
    if urlsplit(url).password is not None:
        raise ValueError(
            "the address of a store without its password: that goes into password_file, or into "
            "PGPASSWORD or a file of PGPASSFILE in the environment"
        )
    return url


class StorePlace(Part):
    """Where readings and journal are kept, and the copies of them.

    A file of SQLite or a database of PostgreSQL. Copies go into ``backups``; left out, into a
    folder of that name beside the store, or beside the garden file. With ``backups = false`` none
    are made.
    """

    url: Annotated[str, AfterValidator(_check_store)] = "sqlite:///steepwell.db"
    password_file: Path | None = None
    backups: Path | Literal[False] | None = None


class Hours(Part):
    """When the daily and the weekly work runs, in local time."""

    daily: TimeOfDay = "06:30"
    weekly_on: Weekday = "fri"
    weekly: TimeOfDay = "17:00"


class FeedDays(Part):
    """When no vessel is opened, for the smell: days of the week, or of the year."""

    smell_free: tuple[Weekday | MonthDay, ...] = ()


class MailServer(Part):
    """The mail server that takes our letters."""

    server: str
    port: Port = 25
    security: Literal["none", "starttls", "tls"] = "none"
    sender: MailAddress
    username: str | None = None
    password_file: Path | None = None


def _check_way(text: str) -> str:
    if not re.fullmatch(r"mail|file:[^+\s]+|env:[A-Za-z_][A-Za-z0-9_]*", text):
        raise ValueError(
            '"mail", or where the address of a push stands: "file:" with a path or "env:" with '
            "the name of a variable; not the address itself, which holds secrets"
        )
    return text


Way = Annotated[str, AfterValidator(_check_way)]


class Person(Part):
    """Somebody to tell.

    What cannot wait for the letter goes by the first of the ways, and by the next where that fails.
    """

    name: Name
    role: Literal["gardener", "keeper", "helper"] = "gardener"
    mail: MailAddress
    ways: Annotated[tuple[Way, ...], Field(min_length=1)] = ("mail",)
    timezone: Annotated[str, AfterValidator(_check_zone)] | None = None
    quiet_from: TimeOfDay = "21:00"
    quiet_to: TimeOfDay = "07:00"
    working_days: tuple[Weekday, ...] = WEEKDAYS


class Told(Part):
    """Who is told, and by which mail server; the letter brings the calendar along if asked to."""

    mail: MailServer | None = None
    people: tuple[Person, ...] = ()
    attach_calendar: bool = False


def _check_server(url: str) -> str:
    wanted = 'the address of a server, for instance "http://192.0.2.7:8086"'
    try:
        parts = urlsplit(url)
        usable = parts.scheme in {"http", "https"} and parts.hostname and parts.port != 0
    except ValueError:
        usable = False
    if not usable:
        raise ValueError(wanted)
    if parts.username is not None or parts.query or parts.fragment:
        raise ValueError(f"{wanted}; a password or token has no place in it")
    return url


class Mirror(Part):
    """A copy of readings, days and outlooks for other programs (InfluxDB v2 API).

    Without a token file the token is taken from the environment; without either, none is sent.
    """

    url: Annotated[str, AfterValidator(_check_server)]
    organisation: Annotated[str, Field(min_length=1)]
    bucket: Annotated[str, Field(min_length=1)]
    token_file: Path | None = None


def _check_address(url: str) -> str:
    wanted = 'the address phones reach the page by, for instance "http://192.0.2.7:8088"'
    parts = urlsplit(_check_server(url))
    if parts.path not in {"", "/"}:
        raise ValueError(f"{wanted}; nothing follows the port")
    return url.rstrip("/")


class Page(Part):
    """The page for the phone.

    It is there for this machine alone until ``host`` says otherwise, for instance "0.0.0.0" for
    all of the home network; anybody beyond this machine needs an invitation.
    """

    host: Annotated[str, Field(min_length=1)] = "127.0.0.1"
    port: Port = 8088
    address: Annotated[str, AfterValidator(_check_address)] | None = None
