"""The invented garden that is measured: as many butts, vessels, beds and sensors as one wants."""

from __future__ import annotations

import json
import tomllib
from typing import TYPE_CHECKING

from steepwell.garden.load import garden_from

if TYPE_CHECKING:
    from pathlib import Path

    from steepwell.garden.garden import Garden

CROPS = (
    ("runner-bean", "05-25", "09-30"),
    ("courgette", "05-20", "09-25"),
    ("tomato", "05-15", "09-30"),
    ("leek", "05-01", "10-31"),
    ("cabbage", "04-15", "08-10"),
    ("sweet-corn", "05-20", "08-31"),
)
LID_M, BLIND_M = 1.2, 0.25
SITE = """
[garden]
name = "bench"
latitude = 50.8
longitude = 4.35
elevation = "100 m"
timezone = "Europe/Brussels"

[[roof]]
name = "house"
area = "60 m2"
into = "butt-0"
"""


def garden_text(
    *,
    beds: int = 12,
    butts: int = 6,
    vessels: int = 8,
    port: int | None = None,
    page: int | None = None,
    record: Path | None = None,
    with_sensors: bool = False,
) -> str:
    """Return a garden file; with sensors: one a butt, one a vessel, a gauge, and one in the air."""
    parts = [SITE]
    if port is not None:
        parts.append(f'[broker]\nhost = "127.0.0.1"\nport = {port}')
    if page is not None:
        parts.append(f"[page]\nport = {page}")
    if record is not None:
        parts.append(f"[weather_record]\ndaily = {json.dumps(str(record))}")
    parts += [_butt(number, last=number == butts - 1) for number in range(butts)]
    parts += [f'[[vessel]]\nname = "vessel-{number}"\nvolume = "60 L"' for number in range(vessels)]
    parts += [_bed(number) for number in range(beds)]
    if with_sensors:
        parts.append(_senml("gauge", 'measures = "rain"\ncounts = "mm since start"'))
        parts.append(_senml("air", 'measures = "temperature"\nof = "air"'))
        parts += [_level(number) for number in range(butts)]
        parts += [
            _senml(f"vessel-{number}", f'measures = "temperature"\nof = "vessel-{number}"')
            for number in range(vessels)
        ]
    return "\n\n".join(parts) + "\n"


def garden_in(folder: Path, text: str) -> Garden:
    """Write a garden file into a folder and return the garden."""
    path = folder / "garden.toml"
    path.write_text(text, encoding="utf-8")
    return garden_from(tomllib.loads(text), text=text, path=path)


def message(garden: Garden, index: int, time_ms: int, step: int) -> tuple[str, bytes]:
    """Return the topic and payload of one reading, now and then of a butt full to its probe."""
    sensor = garden.sensor[index]
    if sensor.measures == "level":
        distance_mm = 200 if step % 20 == 0 else 400 + 7 * step % 500
        return sensor.topic, b'{"distance":%d,"time":%d}' % (distance_mm, time_ms)
    value = step * 0.01 if sensor.measures == "rain" else 10.0 + step % 137 / 10
    unit = "mm" if sensor.measures == "rain" else "Cel"
    record = {"n": sensor.record, "u": unit, "t": time_ms / 1000, "v": value}
    return sensor.topic, json.dumps([record]).encode()


def _butt(number: int, *, last: bool) -> str:
    shape = '{ kind = "upright cylinder", diameter = "58 cm", height = "90 cm" }'
    lines = ["[[butt]]", f'name = "butt-{number}"', f"shape = {shape}", 'dead_volume = "12 L"']
    if not last:
        lines.append(f'overflow_to = "butt-{number + 1}"')
    return "\n".join(lines)


def _bed(number: int) -> str:
    crop, planted, cleared = CROPS[number % len(CROPS)]
    grown = f'[{{ crop = "{crop}", planted = "{planted}", cleared = "{cleared}" }}]'
    return f'[[bed]]\nname = "bed-{number}"\narea = "3 m2"\ncrops = {grown}'


def _level(number: int) -> str:
    return (
        f'[[sensor]]\nname = "butt-{number}"\ntopic = "bench/butt-{number}"\n'
        f'measures = "level"\nof = "butt-{number}"\nreads = "distance from lid"\n'
        f'lid = "{LID_M} m"\nblind = "{BLIND_M} m"\npayload = "json"\n'
        'pointer = "/distance"\ntime_pointer = "/time"\nunit = "mm"'
    )


def _senml(name: str, measures: str) -> str:
    return (
        f'[[sensor]]\nname = "{name}"\ntopic = "bench/{name}"\n{measures}\n'
        f'payload = "senml"\nrecord = "urn:bench:{name}"'
    )
