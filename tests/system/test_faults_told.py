"""What breaks in a simulated garden is told by the real daemon, over a real broker."""

from __future__ import annotations

import json
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, Any

import pytest
from tests.gardens import flat_record, write_record

from steepwell_sim.replay.driver import replay
from steepwell_sim.replay.options import Options

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.mosquitto

FIRST, LAST = date(2031, 5, 1), date(2031, 6, 1)

GARDEN = """
[garden]
name = "plum-lane"
latitude = 50.8
longitude = 4.35
timezone = "UTC"

[broker]
host = "127.0.0.1"

[weather_record]
daily = "record.csv"
{butts}
[[vessel]]
name = "leek"
volume = "60 L"

[[vessel]]
name = "nettle"
volume = "60 L"

[[bed]]
name = "beans"
area = "12 m2"
crops = [{{ crop = "bean", planted = "04-15" }}]

[[sensor]]
name = "gauge"
measures = "rain"
topic = "plum-lane/gauge"
payload = "senml"
record = "tips"
tip = "0.2 mm"
{probes}
"""
BUTT = """
[[roof]]
name = "{name}-roof"
area = "12 m2"
into = "{name}"

[[butt]]
name = "{name}"
shape = {{ kind = "box", length = "70 cm", width = "70 cm", height = "100 cm" }}

[[sensor]]
name = "{name}-level"
measures = "level"
of = "{name}"
reads = "distance from lid"
lid = "130 cm"
blind = "20 cm"
unit = "mm"
topic = "plum-lane/{name}"
payload = "number"
"""
PROBE = """
[[sensor]]
name = "{name}-probe"
measures = "temperature"
of = "{name}"
topic = "plum-lane/{name}"
payload = "number"
"""
# One of each kind. A blocked pipe is mended before the gauge is blocked: of two butts one that
# rises alone says nothing of a gauge.
SCRIPT = """
[[fault]]
kind = "blocked downpipe"
roof = "north-roof"
after_h = 24
for_h = 408

[[fault]]
kind = "leak"
butt = "south"
after_h = 168
size = 8

[[fault]]
kind = "drift"
sensor = "leek-probe"
size = 0.15

[[fault]]
kind = "freeze"
sensor = "nettle-probe"
after_h = 120
for_h = 240

[[fault]]
kind = "blocked gauge"
after_h = 504

[[fault]]
kind = "drop"
sensor = "south-level"
chance = 0.1

[[fault]]
kind = "spike"
sensor = "north-level"
size = -200
chance = 0.02

[[fault]]
kind = "garbage"
sensor = "air-probe"
chance = 0.03
"""


def weather(path: Path) -> Path:
    """Write two months without rain, then 7 mm every third day."""
    record = flat_record(date(2031, 3, 1), date(2031, 6, 12), tmin_c=7.0, tmax_c=19.0)
    record.rain_mm[(FIRST - record.first).days :: 3] = 7.0
    return write_record(path, record)


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> list[dict[str, Any]]:
    folder = tmp_path_factory.mktemp("faults")
    garden, script = folder / "garden.toml", folder / "faults.toml"
    garden.write_text(
        GARDEN.format(
            butts="".join(BUTT.format(name=name) for name in ("north", "south")),
            probes="".join(PROBE.format(name=name) for name in ("leek", "nettle", "air")),
        ),
        encoding="utf-8",
    )
    script.write_text(SCRIPT, encoding="utf-8")
    options = Options(
        garden=garden,
        weather=weather(folder / "weather.csv"),
        first=FIRST,
        last=LAST,
        out=folder / "out",
        record=write_record(folder / "record.csv", flat_record(rain_mm=2.0)),
        faults=script,
    )
    replay(options, lambda _day, _world: None)
    lines = (folder / "out" / "notices.jsonl").read_text(encoding="utf-8").splitlines()
    return [json.loads(line) for line in lines]


def days(told: list[dict[str, Any]], id_: str, event: str) -> list[int]:
    """Return on which mornings something of a notice was told, counted from the first."""
    return [
        (datetime.fromisoformat(line["at"]).date() - FIRST) // timedelta(days=1)
        for line in told
        if line["id"] == id_ and line["event"] == event
    ]


@pytest.mark.parametrize(
    ("id_", "begins", "within"),
    [
        # Rain on days 0, 3, 6 and so on; two of them tell a pipe, and so with a gauge.
        ("downpipe-blocked/north-roof", 1, 7),
        ("leak/south", 7, 7),
        ("sensor-doubtful/nettle-probe", 5, 4),
        ("probe-drifts/leek-probe", 0, 30),
        ("gauge-blocked/gauge", 21, 8),
    ],
)
def test_what_breaks_is_told_in_time(
    told: list[dict[str, Any]], id_: str, begins: int, within: int
) -> None:
    (raised,) = days(told, id_, "raised")
    assert begins < raised <= begins + within


@pytest.mark.parametrize(
    ("id_", "mended", "within"),
    # A rain comes through; a day of sound readings.
    [("downpipe-blocked/north-roof", 18, 4), ("sensor-doubtful/nettle-probe", 15, 3)],
)
def test_what_is_mended_is_over(
    told: list[dict[str, Any]], id_: str, mended: int, within: int
) -> None:
    (cleared,) = days(told, id_, "cleared")
    assert mended <= cleared <= mended + within


def test_nothing_else_is_called_broken(told: list[dict[str, Any]]) -> None:
    sound = {"shortfall-ahead", "running-dry", "vessel-ready", "next-rung"}
    raised = {line["id"] for line in told if line["event"] == "raised"}
    assert {id_ for id_ in raised if id_.split("/")[0] not in sound} == {
        "downpipe-blocked/north-roof",
        "leak/south",
        "sensor-doubtful/nettle-probe",
        "probe-drifts/leek-probe",
        "gauge-blocked/gauge",
    }
