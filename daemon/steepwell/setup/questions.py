"""What ``steepwell init`` asks, and what each answer is for."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from steepwell.setup.interview import Question
from steepwell.setup.places import (
    climates,
    nearest_climate,
    place_of_zone,
    zone_of_machine,
)
from steepwell.setup.reading import (
    ENOUGH_YEARS,
    NONE_AT_ALL,
    DailyFile,
    a_mail_address,
    a_name,
    a_place,
    a_reach,
    a_roof,
    a_security,
    a_server,
    a_share,
    a_text,
    a_weather,
    a_while,
    a_zone,
    an_area,
    some_butts,
)

if TYPE_CHECKING:
    from steepwell.setup.interview import Interview
    from steepwell.setup.places import Place
    from steepwell.setup.reading import Server

NO_PAGE = "no"
NO_FORECAST = (
    "Without one the weeks ahead are drawn from past years alone: tomorrow's rain or frost is not "
    "known, and butts about to overflow are told late"
)
# Every option of the command, in the order of the questions, and what its help says.
OPTIONS = {
    "name": "a short name for the garden",
    "zone": "its time zone, like Europe/London",
    "place": "latitude and longitude in degrees, like '52.2, -2.1'",
    "butts": "litres on the label of each butt, like '210, 190'",
    "roof": "length and depth of the roof in metres, like '6 x 4'",
    "share": "the part of that roof that drains to the butts, like '50 %%'",
    "bed": "square metres of bed, like 12",
    "weather": "a climate that is shipped, a daily CSV file, or none",
    "broker": "host or host:port of an MQTT broker, or none",
    "broker-user": "the user there",
    "listen": "how long to hear what the broker carries, like '60 s'",
    "mail": "host or host:port of a mail server, or none",
    "security": "how the mail server is spoken to: starttls, tls or none",
    "mail-user": "the user there",
    "to": "the address the letter goes to",
    "page": "a page for the phone: no, here (this machine alone) or home (the home network)",
    "forecast": "topic or web address of a forecast in JSON, or none",
    "forecast-pointers": "where in it days, date, rain, low and high stand",
}


@dataclass(frozen=True, slots=True)
class Ground:
    """What is needed: a place, butts, a roof and a bed."""

    name: str
    zone: str
    place: Place
    butts_l: tuple[float, ...]
    roof_m: tuple[float, float]
    share: float
    bed_m2: float
    daily: DailyFile | None
    climate: str | None


@dataclass(frozen=True, slots=True)
class Spoken:
    """The broker, and how long to listen to it [s]."""

    server: Server
    user: str | None
    listen_s: float


@dataclass(frozen=True, slots=True)
class Post:
    """The mail server, and who gets the letter."""

    server: Server
    security: str
    user: str | None
    to: str


@dataclass(frozen=True, slots=True)
class Ahead:
    """A forecast: its topic or address, and where in it what stands."""

    source: str
    pointers: tuple[str, ...]


def ask_ground(interview: Interview) -> Ground:
    """Ask for what is needed.

    Raises
    ------
    CommandError
        If answers end, or are wrong where nobody can be asked again.
    """
    ask = interview.ask
    name = ask(Question("name", "A short name for the garden.", "garden", a_name))
    says = "The time zone, so that work is done and told at the right hour."
    zone = ask(Question("zone", says, zone_of_machine(), a_zone))
    town = place_of_zone(zone)
    says = "Latitude and longitude in degrees, for sun and weather; a map shows them. North and "
    says += "east are positive. A tenth of a degree is near enough."
    place = ask(
        Question(
            "place", says, f"{town.latitude}, {town.longitude}" if town else "51.5, -0.1", a_place
        )
    )
    says = "The litres on the label of each butt, the one under the downpipe first. What does not "
    says += "fit into one is taken to run into the next."
    butts = ask(Question("butts", says, "200", some_butts))
    says = "The roof over it: length x depth in metres, as seen from above, for one mm of rain on "
    says += "one square metre is one litre."
    roof = ask(Question("roof", says, "6 x 4", a_roof))
    says = "The part of that roof whose water comes down this downpipe."
    share = ask(Question("share", says, "50 %", a_share))
    says = "Square metres of bed that are watered from the butts, all together. They can be told "
    says += "apart in the file later, with what grows in each."
    bed = ask(Question("bed", says, "10", an_area))
    daily, climate = _ask_weather(interview, place)
    return Ground(name, zone, place, butts, roof, share, bed, daily, climate)


def _ask_weather(interview: Interview, place: Place) -> tuple[DailyFile | None, str | None]:
    near, far_km = nearest_climate(place)
    fits = far_km <= climates()[near].reaches_km
    says = "What the weather of your place has been; the weeks ahead are drawn from it. Best is a "
    says += "daily CSV file of ten years or more, as your weather service publishes it or with "
    says += "date,rain_mm,tmin_c,tmax_c. Until there is one, the monthly means of a region will do"
    says += (
        f"; the nearest is {near}, {far_km:.0f} km away."
        if fits
        else f", but the nearest, {near}, is {far_km:,.0f} km away and would mislead. With none "
        "there is no outlook until you put the twelve numbers of your own weather service under "
        "[weather_record.normals]."
    )
    found = interview.ask(
        Question("weather", says, near if fits else NONE_AT_ALL, a_weather),
    )
    if isinstance(found, DailyFile):
        return found, near if fits and found.years < ENOUGH_YEARS else None
    return None, found


def ask_broker(interview: Interview) -> Spoken | None:
    """Ask for the broker that sensors speak to, if there is one."""
    says = "The MQTT broker your sensors speak to, host or host:port. Without sensors a stick and "
    says += "a plastic gauge will do, and this can wait."
    server = interview.ask(Question("broker", says, "", a_server))
    if server is None:
        return None
    says = "The user there, if the broker asks for one. Its password goes into the file "
    says += "broker-password beside the garden file, or stands in STEEPWELL_BROKER_PASSWORD."
    user = interview.ask(Question("broker-user", says, "", a_text))
    says = "How long to hear what it carries, so that sensors can be written down. Most devices "
    says += "speak once in ten minutes or oftener."
    return Spoken(server, user, interview.ask(Question("listen", says, "60 s", a_while)))


def ask_post(interview: Interview) -> Post | None:
    """Ask for the mail server that takes the letter, if there is one."""
    says = "The mail server that takes the weekly letter, host or host:port. Without one you look "
    says += "with steepwell status and steepwell plan."
    server = interview.ask(Question("mail", says, "", a_server))
    if server is None:
        return None
    says = "How it is spoken to: starttls (port 587), tls (port 465) or none (a server of this "
    says += "machine)."
    security = interview.ask(Question("security", says, "starttls", a_security))
    says = "The user there, if the server asks for one. Its password goes into the file "
    says += "mail-password beside the garden file."
    user = interview.ask(Question("mail-user", says, "", a_text))
    says = "The address the letter goes to, and comes from."
    to = interview.ask(Question("to", says, "gardener@example.org", a_mail_address))
    return Post(server, security, user, to)


def ask_page(interview: Interview) -> str:
    """Ask whether there is to be a page for the phone, and who may reach it."""
    says = "A page for the phone, with what to do and two taps to note it: no; here, for this "
    says += "machine alone; or home, for the home network, where each phone is let in by "
    says += "steepwell page --invite."
    return interview.ask(Question("page", says, NO_PAGE, a_reach))


def ask_ahead(interview: Interview) -> Ahead | None:
    """Ask for a short-range forecast, if there is one."""
    says = "A forecast of the next days in JSON: the topic of the broker that carries it, or its "
    says += f"web address. {NO_FORECAST}."
    source = interview.ask(Question("forecast", says, "", a_text))
    if source is None or source == NONE_AT_ALL:
        return None
    says = "Where in it what stands, as JSON pointers: the list of days, and in each of them its "
    says += "date, rain in mm, low and high in degrees Celsius."
    pointers = interview.ask(
        Question("forecast-pointers", says, "/days /date /rain_mm /low /high", _five_pointers)
    )
    return Ahead(source, pointers)


def _five_pointers(text: str) -> tuple[str, ...]:
    pointers = tuple(text.split())
    if len(pointers) != 5 or not all(one.startswith("/") for one in pointers):  # noqa: PLR2004 - five places
        raise ValueError('five pointers, like "/days /date /rain_mm /low /high"')
    return pointers
