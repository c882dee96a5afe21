"""Writes answers down as a garden file, with comments for who reads it a year later."""

from __future__ import annotations

import re
import textwrap
from typing import TYPE_CHECKING

from steepwell.setup.places import climates
from steepwell.setup.questions import NO_FORECAST

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from pathlib import Path

    from steepwell.setup.questions import Ahead, Ground, Post, Spoken

BROKER_PORT, SECURE_BROKER_PORT = 1883, 8883
MAIL_PORTS = {"starttls": 587, "tls": 465, "none": 25}
HEAD = """\
# The garden file of {name}, written by steepwell init. Change it as the garden changes, and ask
# steepwell check, which lists every fault at once. config/README.md tells every key there is.
"""


def quoted(text: str) -> str:
    """Return a text as TOML writes it."""
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return '"' + "".join(c if c.isprintable() else f"\\u{ord(c):04x}" for c in escaped) + '"'


def ground_text(ground: Ground, folder: Path) -> str:
    """Return place, roof, butts, bed and weather; paths begin at the folder where they can."""
    length, depth = ground.roof_m
    blocks = [
        HEAD.format(name=ground.name),
        _section(
            "[garden]",
            name=quoted(ground.name),
            latitude=f"{ground.place.latitude:g}",
            longitude=f"{ground.place.longitude:g}",
            timezone=quoted(ground.zone),
        ),
        f"# {length:g} m by {depth:g} m, as seen from above.\n"
        + _section(
            "[[roof]]",
            name='"roof"',
            area=quoted(f"{length * depth:.4g} m2"),
            share=quoted(f"{100 * ground.share:.4g} %"),
            into=quoted(butt_name(0, ground.butts_l)),
        ),
        *_butts(ground.butts_l),
        "# Give each bed a section of its own, with what grows in it, and it is watered by its\n"
        '# own need: crops = [{ crop = "tomato", planted = "05-20" }]\n'
        + _section("[[bed]]", name='"all-of-it"', area=quoted(f"{ground.bed_m2:g} m2")),
        *_weather(ground, folder),
    ]
    return "\n".join(blocks)


def butt_name(index: int, butts_l: Sequence[float]) -> str:
    """Return what a butt is called."""
    return "butt" if len(butts_l) == 1 else f"butt-{index + 1}"


def _butts(butts_l: Sequence[float]) -> Iterable[str]:
    for index, litres in enumerate(butts_l):
        keys = {"name": quoted(butt_name(index, butts_l)), "litres": quoted(f"{litres:.4g} L")}
        if index + 1 < len(butts_l):
            keys["overflow_to"] = quoted(butt_name(index + 1, butts_l))
        yield _section("[[butt]]", **keys)


def _weather(ground: Ground, folder: Path) -> Iterable[str]:
    if ground.daily is not None:
        path = ground.daily.path
        beside = path.relative_to(folder) if path.is_relative_to(folder) else path
        yield _section("[weather_record]", daily=quoted(str(beside)))
    if ground.climate is not None:
        climate = climates()[ground.climate]
        why = "ten years of days" if ground.daily is None else "the file has ten years"
        yield (
            f"# Until there are {why}: {climate.says},\n# {climate.source}.\n"
            + _section(
                "[weather_record.normals]",
                **{
                    key: f"[{', '.join(f'{value:g}' for value in getattr(climate, key))}]"
                    for key in ("rain_mm", "wet_days", "tmin_c", "tmax_c")
                },
            )
        )
    if ground.daily is None and ground.climate is None:
        yield (
            "# There is no outlook until one of these is here: a daily record, or twelve numbers\n"
            "# of the weather service from January on.\n"
            '# [weather_record]\n# daily = "weather.csv"\n# [weather_record.normals]\n'
            "# rain_mm = []\n# wet_days = []\n# tmin_c = []\n# tmax_c = []\n"
        )


def broker_text(spoken: Spoken) -> str:
    """Return the section of the broker."""
    port = spoken.server.port or BROKER_PORT
    keys = {"host": quoted(spoken.server.host), "port": str(port)}
    if spoken.user is not None:
        keys |= {"username": quoted(spoken.user), "password_file": '"broker-password"'}
    if port == SECURE_BROKER_PORT:
        keys["tls"] = "true"
    return _section("[broker]", **keys)


def post_text(post: Post) -> str:
    """Return the mail server, and who gets the letter."""
    keys = {
        "server": quoted(post.server.host),
        "port": str(post.server.port or MAIL_PORTS[post.security]),
        "security": quoted(post.security),
        "sender": quoted(post.to),
    }
    if post.user is not None:
        keys |= {"username": quoted(post.user), "password_file": '"mail-password"'}
    name = re.sub(r"[^a-z0-9]+", "-", post.to.partition("@")[0].lower()).strip("-")[:40]
    person = _section("[[told.people]]", name=quoted(name or "gardener"), mail=quoted(post.to))
    return f"{_section('[told.mail]', **keys)}\n{person}"


def page_text(reach: str) -> str:
    """Return the section of the page, nothing where there is to be none."""
    return {"no": "", "here": _section("[page]"), "home": _section("[page]", host='"0.0.0.0"')}[
        reach
    ]


def ahead_text(ahead: Ahead | None) -> str:
    """Return the section of the forecast, or what is lost without one."""
    if ahead is None:
        words = textwrap.wrap(f"There is no [forecast]. {NO_FORECAST}.", 97)
        return "".join(f"# {line}\n" for line in words)
    key = "url" if ahead.source.startswith(("http://", "https://")) else "topic"
    days, date, rain, low, high = map(quoted, ahead.pointers)
    return _section(
        "[forecast]",
        **{key: quoted(ahead.source)},
        days=days,
        date=date,
        rain=rain,
        tmin=low,
        tmax=high,
    )


def commented(section: str) -> str:
    """Return a section that has to be filled in first, so that it is read over."""
    lines = [f"# {line}".rstrip() for line in section.splitlines()]
    return "\n".join(['# Fill in where "..." stands, and take away the # signs.', *lines, ""])


def _section(heading: str, **keys: str) -> str:
    return "\n".join([heading, *(f"{key} = {value}" for key, value in keys.items()), ""])
