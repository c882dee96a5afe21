from __future__ import annotations

import json
import tomllib
from datetime import UTC, datetime
from typing import Any

import pytest
from tests.sense.conftest import GARDEN

from steepwell.clock import to_ms
from steepwell.garden.load import garden_from
from steepwell.sense.heard import Topic
from steepwell.sense.listening import listening_screen, told

NOW_MS = to_ms(datetime(2031, 6, 1, 12, tzinfo=UTC))
NOW_S = NOW_MS / 1000
# {-2: "pod/", -3: 1938081600, 0: "warmth", 1: "Cel", 2: 14.5} in a list of one.
CBOR = bytes.fromhex("81a52164706f642f221a7384fb4000667761726d7468016343656c02f94b40")


def heard(
    *payloads: bytes | str, name: str = "yard/pod", every_s: float = 60, retained: bool = False
) -> Topic:
    topic = Topic(name)
    for number, payload in enumerate(payloads):
        said = payload if isinstance(payload, bytes) else payload.encode()
        topic.hear(said, NOW_S + number * every_s, retained=retained)
    return topic


def answer(topic: Topic, declared: dict[str, Any] = GARDEN) -> dict[str, Any]:
    return told(topic, garden_from(declared), NOW_MS)


@pytest.mark.parametrize(
    ("topic", "keys"),
    [
        (
            heard('{"temp": 14.5, "when": "2031-06-01T12:00:00Z", "batt": 2.9, "rssi": -70}'),
            {
                "measures": "temperature",
                "payload": "json",
                "pointer": "/temp",
                "time_pointer": "/when",
                "battery_pointer": "/batt",
                "signal_pointer": "/rssi",
            },
        ),
        (heard("14.5 Cel"), {"measures": "temperature", "payload": "number"}),
        (heard("1013.2 hPa", name="yard/b"), {"measures": "pressure", "payload": "number"}),
        (
            heard('[{"bn": "pod/", "n": "tips", "u": "count", "v": 41}]'),
            {"measures": "rain", "payload": "senml", "record": "pod/tips", "tip": "0.2 mm"},
        ),
        (heard(CBOR), {"measures": "temperature", "payload": "senml", "record": "pod/warmth"}),
        (
            heard('{"a/b": {"distance": 412}}', name="yard/butt"),
            {"measures": "level", "pointer": "/a~1b/distance", "unit": "mm", "lid": "..."},
        ),
        (heard("0.42", name="yard/north/depth"), {"measures": "level", "unit": "m"}),
        (heard("7", name="yard/thing"), {"measures": "..."}),
    ],
)
def test_a_section_is_written_for_what_is_heard(topic: Topic, keys: dict[str, str]) -> None:
    (section,) = answer(topic)["sections"]
    (sensor,) = tomllib.loads(section)["sensor"]
    assert sensor["topic"] == topic.name
    assert {key: sensor.get(key) for key in keys} == keys


def test_a_section_can_be_pasted() -> None:
    topic = heard('{"water": {"mm": 412}, "shade": "14.5 Cel", "at": 1938081600}')
    sections = "\n".join(answer(topic)["sections"])
    declared = sections.replace('measures = "level"', 'measures = "level"\nlid = "1 m"')
    declared = declared.replace('lid = "..."\n', "").replace('of = "..."', 'of = "north"')
    garden = garden_from({**GARDEN, **tomllib.loads(declared)})
    assert [sensor.measures for sensor in garden.sensor] == ["level", "temperature"]
    assert [sensor.time_pointer for sensor in garden.sensor] == ["/at", "/at"]


def test_a_topic_of_the_garden_file_needs_no_section() -> None:
    found = answer(heard("80", name="quince/north"))
    assert found["known_as"] == ["north-level"]
    assert found["sections"] == []


def test_the_interval_is_the_usual_one() -> None:
    topic = heard("1", "2", "3", "4")
    topic.hear(b"5", NOW_S + 3600, retained=False)
    assert answer(topic)["every_s"] == 60.0
    assert answer(heard("1"))["every_s"] is None


@pytest.mark.parametrize(
    ("payload", "warning"),
    [
        ("14.5", "nobody knows how old it is"),
        ('{"a": 1, "at": 1938070800}', "an old message here, of 2031-06-01 09:00 UTC"),
        ('{"a": 1, "at": 1938081540}', "it carries its time"),
    ],
)
def test_what_the_broker_keeps_is_told(payload: str, warning: str) -> None:
    (told_,) = answer(heard(payload, retained=True))["warnings"]
    assert warning in told_


@pytest.mark.parametrize(
    ("topic", "two"),
    [
        (heard(*(str(14 + number % 2 * 9) for number in range(12))), True),
        (heard(*(str(14 + number / 10) for number in range(12))), False),
        (heard(*(str(number * 5 % 3) for number in range(4))), False),
        (heard(*(["14"] * 12)), False),
        (heard(*("14.0", "14.1") * 6), True),
    ],
    ids=["two values", "one that rises", "few", "one that stays", "a hair apart"],
)
def test_two_devices_on_one_topic_are_told(topic: Topic, *, two: bool) -> None:
    assert topic.has_two_voices() is two


def test_two_devices_that_say_the_same_are_told_by_their_times() -> None:
    topic = Topic("t")
    for number in range(8):
        topic.hear(b"14.5", 60.0 * number, retained=False)
        topic.hear(b"14.5", 60.0 * number + 5, retained=False)
    assert topic.has_two_voices()


@pytest.mark.parametrize("payload", [b"\xff\xfe", b"{", b"[]", b"hello", b"", b"\x81\x01", b'"x"'])
def test_what_cannot_be_read_is_told_and_breaks_nothing(payload: bytes) -> None:
    found = answer(heard(payload))
    assert found["sections"] == []
    assert json.dumps(found)


def test_the_screen_shows_it_all() -> None:
    report = {"broker": "127.0.0.1:1883", "heard_s": 60.0, "messages": 2}
    told_ = {**report, "topics": [answer(heard("14.5 Cel", "14.6 Cel", retained=False))]}
    screen = listening_screen(told_)
    assert screen.startswith("2 messages in 60 s at 127.0.0.1:1883, on 1 topics.")
    assert 'topic = "yard/pod"' in screen
    assert "See that the devices run" in listening_screen({**report, "topics": []})
