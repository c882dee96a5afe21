"""Broken messages in every format: none stops the intake, none becomes a reading nobody sent.

Run ``python -m tests.faults.garbage [--quick]``.
"""

from __future__ import annotations

import argparse
import gc
import json
import logging
import random
import re
import sys
import tempfile
from collections import Counter
from dataclasses import dataclass, field
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING, Any

import cbor2

from steepwell.garden.load import garden_from
from steepwell.sense.inbox import Heard
from steepwell.sense.moments import Moments
from steepwell.sense.readers import readers
from steepwell.sense.settle import Settler
from steepwell.sense.surroundings import surroundings
from steepwell.store.store import garden_store_url, open_store

if TYPE_CHECKING:
    from collections.abc import Iterator

    from steepwell.garden.garden import Garden

MANY, FEW = 200_000, 10_000
IN_A_BATCH = 500
ARRIVAL_MS = 1_938_081_600_000
# How much more may be held at the end than after the first quarter: noise of the collector.
MOST_GROWN_BYTES = 8_000_000
# What is said of a message at which our own code broke.
BROKE = re.compile(r"could not be (read|written) \(")

NAME = "urn:dev:ow:28ff01:t"
SHAPE = {
    "kind": "cone frustum",
    "bottom_diameter": "45 cm",
    "top_diameter": "55 cm",
    "height": "90 cm",
}
PACK = {"payload": "senml", "record": NAME}
JSON_KEYS = {"payload": "json", "pointer": "/a/t", "time_pointer": "/at", "battery_pointer": "/b"}
TEMPERATURES = {
    "number": {"payload": "number"},
    "json": JSON_KEYS,
    "senml": PACK,
    "cbor": PACK,
}
OTHERS: dict[str, dict[str, Any]] = {
    "tips": {"measures": "rain", "tip": "0.2 mm", "payload": "number"},
    "fall": {"measures": "rain", "counts": "mm since last message", **JSON_KEYS},
    "sum": {"measures": "rain", "counts": "mm since start", **PACK},
    "echo": {
        "measures": "level",
        "of": "b0",
        "reads": "distance from lid",
        "lid": "1 m",
        "blind": "20 cm",
        "sound_at": "20 degC",
        "payload": "number",
    },
    "depth": {"measures": "level", "of": "b1", "reads": "depth", **JSON_KEYS},
    "weight": {"measures": "level", "of": "b2", "reads": "pressure", "absolute": True, **JSON_KEYS},
    "full": {
        "measures": "level",
        "of": "b3",
        "reads": "percent",
        "payload": "senml",
        "record": NAME,
    },
    "air": {"measures": "temperature", "of": "air", **JSON_KEYS},
    "barometer": {"measures": "pressure", "payload": "number"},
}


def garden_in(folder: Path) -> Garden:
    """Return a garden with a sensor for every format and kind."""
    sensors = [
        {"name": name, "topic": name, "measures": "temperature", "of": name, **keys}
        for name, keys in TEMPERATURES.items()
    ]
    sensors += [{"name": name, "topic": name, **keys} for name, keys in OTHERS.items()]
    rains = [sensor for sensor in sensors if sensor["measures"] == "rain"]
    declared = {
        "garden": {"name": "g", "latitude": 52.1, "longitude": 0.3, "timezone": "Europe/London"},
        "butt": [{"name": f"b{number}", "shape": SHAPE} for number in range(4)],
        "vessel": [{"name": name, "volume": "60 L"} for name in TEMPERATURES],
        "bed": [{"name": "beans", "area": "6 m^2"}],
        # A garden has one gauge.
        "sensor": [sensor for sensor in sensors if sensor not in rains[1:]],
    }
    return garden_from(declared, path=folder / "garden.toml")


def sound_messages(topic: str) -> list[bytes]:
    """Return messages that can be read, by which broken ones are made."""
    here: dict[str, Any] = {"bn": "urn:dev:ow:28ff01:", "bt": 1_938_081_600}
    pack = [{**here, "n": "t", "u": "Cel", "v": 14.5}]
    long = [*pack, {"n": "label", "vs": "low"}, {"n": "t", "t": -60, "v": 14.25, "s": 3}]
    based = [{"bn": NAME, "bu": "K", "bv": 273.15, "bver": 10, "v": 14.5, "vd_": 1}]
    document = {"a": {"t": 14.5}, "at": "2031-06-01T12:00:00Z", "b": 2.9}
    sound: dict[str, list[bytes]] = {
        "number": [b"14.5", b"58.1 degF", b" -3 ", b"287.65 K", b"1e1"],
        "json": [json.dumps(document).encode(), b'{"a":{"t":"14.5 Cel"},"at":1938081600000}'],
        "senml": [json.dumps(each).encode() for each in (pack, long, based)],
    }
    labels = {"bn": -2, "bt": -3, "bu": -4, "bv": -5, "bver": -1, "n": 0, "u": 1, "v": 2}
    labels |= {"vs": 3, "s": 5, "t": 6}
    sound["cbor"] = [
        cbor2.dumps([{labels.get(key, key): value for key, value in one.items()} for one in each])
        for each in (pack, long, based)
    ]
    if topic in sound:
        return sound[topic]
    keys = OTHERS[topic]
    if keys["payload"] == "senml":
        return sound["senml"] + sound["cbor"]
    return sound[str(keys["payload"])]


def broken(rng: random.Random, message: bytes) -> bytes:
    """Return a message with one to four things wrong with it."""
    for _ in range(rng.randint(1, 4)):
        message = _BREAK[rng.randrange(len(_BREAK))](rng, bytearray(message))
    return message


def _flip(rng: random.Random, said: bytearray) -> bytes:
    if said:
        said[rng.randrange(len(said))] ^= 1 << rng.randrange(8)
    return bytes(said)


def _cut(rng: random.Random, said: bytearray) -> bytes:
    return bytes(said[: rng.randint(0, len(said))])


def _drop(rng: random.Random, said: bytearray) -> bytes:
    start = rng.randint(0, len(said))
    return bytes(said[:start] + said[start + rng.randint(1, 4) :])


def _insert(rng: random.Random, said: bytearray) -> bytes:
    at = rng.randint(0, len(said))
    return bytes(said[:at]) + rng.choice(_ODD) + bytes(said[at:])


def _repeat(rng: random.Random, said: bytearray) -> bytes:
    start = rng.randint(0, len(said))
    part = bytes(said[start : start + rng.randint(1, 30)])
    return bytes(said[:start]) + part * rng.randint(2, 5) + bytes(said[start:])


_BREAK = (_flip, _flip, _cut, _drop, _insert, _repeat)
_ODD = (
    b"null", b"true", b"NaN", b"-Infinity", b"1e999", b"-0", b"9" * 400, b'"', b"\\ud800", b"\x00",
    b"\xff", b"[", b"]", b"{", b"}", b",", b":", b"[" * 500, b"\x9f", b"\xff\xff", b"\xf9\x7e\x00",
    b"\xc4\x82\x1a\x7f\xff\xff\xff\x01", b"\xc2\x5a\xff\xff\xff\xff", b'"bver":11,', b'"x_":1,',
    b"%", b" mm", b"1,5", b"\xef\xbb\xbf", b"0x10", b"1_000",
)  # fmt: skip


def explained(topic: str, payload: bytes, celsius: float) -> bool:
    """Return whether a temperature may have been said in a message, by reading it another way.

    Any number in it will do, or the sum of two (base and value), in any unit of temperature.
    """
    numbers = set(_cbor_numbers(payload) if topic == "cbor" else ())
    text = payload.decode(errors="replace")
    found = re.findall(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?", text)
    numbers |= {float(each) for each in found}
    sums = numbers | {one + other for one in numbers for other in numbers}
    said = (
        converted
        for number in sums
        for converted in (number, number - 273.15, (number - 32) * 5 / 9)
    )
    return any(abs(celsius - one) <= 1e-6 * max(1.0, abs(one)) for one in said)


def _cbor_numbers(payload: bytes) -> Iterator[float]:
    try:
        stack = [cbor2.loads(payload)]
    except Exception:  # noqa: BLE001 - it is garbage
        return
    while stack:
        here = stack.pop()
        if isinstance(here, dict):
            stack += here.values()
        elif isinstance(here, (list, tuple)):
            stack += here
        elif not isinstance(here, (str, bytes, bool)):
            try:
                yield float(here)
            except (TypeError, ValueError, OverflowError):
                continue


@dataclass
class Found:
    """What came of it: messages, readings, what was broken or invented, and bytes held."""

    messages: int = 0
    readings: int = 0
    broke: list[tuple[bytes, str]] = field(default_factory=list)
    invented: list[tuple[str, bytes, float]] = field(default_factory=list)
    by_topic: Counter[str] = field(default_factory=Counter)
    held_bytes: list[int] = field(default_factory=list)

    @property
    def grown_bytes(self) -> int:
        """How much more is held at the end than after the first quarter."""
        return self.held_bytes[-1] - self.held_bytes[len(self.held_bytes) // 4]


def garbage(count: int, seed: int, folder: Path) -> Found:
    """Send broken messages to the intake, and look at what it makes of them."""
    rng = random.Random(seed)  # noqa: S311 - a simulation
    found = Found()
    garden = garden_in(folder)
    topics = [sensor.topic for sensor in garden.sensor]
    with open_store(garden_store_url(garden), garden) as store:
        around = surroundings(garden, store)
        known = readers(garden, store.readings.ids, around)
        moments = Moments({}, 0, replaying=False)
        settler = Settler(garden, store, known, moments, None, around=around)
        sound = {topic: sound_messages(topic) for topic in topics}
        while found.messages < count:
            chosen = rng.choices(topics, k=IN_A_BATCH)
            said = [(topic, broken(rng, rng.choice(sound[topic]))) for topic in chosen]
            for topic, payload in said:
                if topic in TEMPERATURES:
                    _judge(found, known[topic], topic, payload)
            arrival_ms = ARRIVAL_MS + found.messages
            settler.settle(
                [
                    Heard(topic, payload, number % 65_535 + 1, False, False, 1, 1, arrival_ms)  # noqa: FBT003 - as it is made
                    for number, (topic, payload) in enumerate(said)
                ]
            )
            newest = store.refused.newest(IN_A_BATCH)
            found.broke += [(one.payload, one.reason) for one in newest if BROKE.search(one.reason)]
            found.messages += len(said)
            gc.collect()
            found.held_bytes.append(_held_bytes())
    return found


def _judge(found: Found, reader: Any, topic: str, payload: bytes) -> None:  # noqa: ANN401 - a reader
    try:
        measured, _ = reader.read(payload)
    except Exception as error:  # noqa: BLE001 - what may not be is noted by the settler
        if type(error).__name__ != "MessageRefusedError":
            found.broke.append((payload, repr(error)))
        return
    for one in measured:
        found.readings += 1
        found.by_topic[topic] += 1
        if not explained(topic, payload, one.value):
            found.invented.append((topic, payload, one.value))


def _held_bytes() -> int:
    pages = Path("/proc/self/statm").read_text(encoding="ascii").split()[1]
    return int(pages) * 4096


def missed(found: Found) -> list[str]:
    """Return what should not have come about."""
    told = [f"our code broke at {payload!r}: {why}" for payload, why in islice(found.broke, 5)]
    told += [f"{value} °C out of {said!r} on {topic}" for topic, said, value in found.invented[:5]]
    if found.grown_bytes > MOST_GROWN_BYTES:
        told.append(f"{found.grown_bytes:,} bytes more at the end than after a quarter")
    return told


def main() -> int:
    """Run the campaign and print its table; 1 where a mark is missed."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--quick", action="store_true", help=f"{FEW:,} messages, not {MANY:,}")
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    logging.disable(logging.ERROR)
    with tempfile.TemporaryDirectory() as folder:
        found = garbage(FEW if options.quick else MANY, options.seed, Path(folder))
    rows = [
        ("broken messages settled", f"{found.messages:,}"),
        (
            "of those for temperatures, still a reading",
            f"{found.readings:,} {dict(found.by_topic)}",
        ),
        ("at which our code broke (none)", f"{len(found.broke)}"),
        ("readings nobody sent (none)", f"{len(found.invented)}"),
        ("memory, end over first quarter (8 MB at most)", f"{found.grown_bytes / 1e6:.1f} MB"),
    ]
    for what, figure in rows:
        print(f"{what:48} {figure}")  # noqa: T201 - the report
    for fault in missed(found):
        print(fault)  # noqa: T201 - the report
    return 1 if missed(found) else 0


if __name__ == "__main__":
    sys.exit(main())
