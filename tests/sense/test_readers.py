from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import pytest
from tests.sense.conftest import GARDEN

from steepwell.errors import MessageRefusedError
from steepwell.garden.load import garden_from
from steepwell.sense.readers import Measured, Reader, readers

if TYPE_CHECKING:
    from steepwell.garden.garden import Garden

Json = dict[str, Any]

GAUGE, NORTH, LEEK, SHADE = 1, 2, 3, 4
IDS = {"gauge": GAUGE, "north-level": NORTH, "leek-probe": LEEK, "shade": SHADE}
# 2031-06-01 12:00 UTC.
NOON_S = 1_938_081_600
NOON_MS = NOON_S * 1000


def reader(garden: Garden, topic: str) -> Reader:
    return readers(garden, IDS)[topic]


def made(*sensors: Json) -> Reader:
    """Return a reader of temperature sensors on one topic."""
    named = [
        {"name": f"s{number}", "topic": "t", "measures": "temperature", "of": place, **sensor}
        for number, (place, sensor) in enumerate(zip(("leek", "nettle"), sensors, strict=False))
    ]
    garden = garden_from({**GARDEN, "sensor": named})
    return readers(garden, {sensor["name"]: number for number, sensor in enumerate(named)})["t"]


def temperature(
    celsius: float, sensor: int = 0, time_ms: int | None = None, offset_ms: int = 0
) -> Measured:
    return Measured(sensor, time_ms, offset_ms, None, celsius, 1, None)


def test_there_is_a_reader_for_each_topic(garden: Garden) -> None:
    assert set(readers(garden, IDS)) == {"quince/rain", "quince/north", "quince/probes"}


def test_a_number_is_read_in_the_unit_of_its_sensor(garden: Garden) -> None:
    ((measured,), faults) = reader(garden, "quince/north").read(b"80.0\n")
    # 30 cm of water in a cylinder 50 cm wide.
    assert measured.value == pytest.approx(58.905, abs=0.001)
    assert (measured.sensor, measured.time_ms, faults) == (NORTH, None, [])
    ((again,), _) = reader(garden, "quince/north").read(b"800 mm")
    assert again.value == pytest.approx(measured.value)


@pytest.mark.parametrize(
    ("sensor", "payload", "expected"),
    [
        ({"payload": "number"}, b"14.5", temperature(14.5)),
        ({"payload": "json", "pointer": ""}, b"14.5", temperature(14.5)),
        ({"payload": "json", "pointer": "/a/1"}, b'{"a": [1, 14]}', temperature(14.0)),
        ({"payload": "json", "pointer": "/a"}, b'{"a": "14.5"}', temperature(14.5)),
        ({"payload": "json", "pointer": "/a"}, b'{"a": "50 degF"}', temperature(10.0)),
        (
            {"payload": "json", "pointer": "/a", "time_pointer": "/t"},
            b'{"a": 14.5, "t": "2031-06-01T12:00:00Z"}',
            temperature(14.5, time_ms=NOON_MS),
        ),
        (
            {"payload": "json", "pointer": "/a", "time_pointer": "/t"},
            b'{"a": 14.5, "t": 1938081600000}',
            temperature(14.5, time_ms=NOON_MS),
        ),
        ({"payload": "senml", "record": "a"}, b'[{"n": "a", "v": 14.5}]', temperature(14.5)),
        (
            {"payload": "senml", "record": "dev:a"},
            b'[{"bn": "dev:", "bt": 1938081600.25, "n": "a", "u": "K", "v": 283.15}]',
            temperature(10.0, time_ms=NOON_MS + 250),
        ),
        (
            {"payload": "senml", "record": "a"},
            b'[{"n": "a", "v": 14.5, "t": -5}]',
            temperature(14.5, offset_ms=-5000),
        ),
    ],
)
def test_a_message_is_read(sensor: Json, payload: bytes, expected: Measured) -> None:
    (measured,), faults = made(sensor).read(payload)
    assert measured._replace(value=expected.value) == expected
    assert measured.value == pytest.approx(expected.value)
    assert faults == []


def test_a_pack_holds_several_readings_of_several_sensors(garden: Garden) -> None:
    pack = [
        {"bn": "urn:dev:ow:28ff01:", "bt": NOON_S, "bu": "Cel", "n": "leek", "t": -600, "v": 14.0},
        {"n": "battery", "u": "V", "v": 2.9},
        {"n": "leek", "v": 14.5},
        {"n": "air", "v": 19.0},
    ]
    measured, faults = reader(garden, "quince/probes").read(json.dumps(pack).encode())
    assert measured == [
        temperature(14.0, LEEK, NOON_MS - 600_000),
        temperature(14.5, LEEK, NOON_MS),
        temperature(19.0, SHADE, NOON_MS),
    ]
    assert faults == []


# RFC 8428, section 6: the pack of 5.1.1 in CBOR, by labels -2 (base name), 0, 1 and 2; 23.1 as a
# float of eight bytes, as a decimal fraction (tag 4: [-1, 231]), and an indefinite list of it.
@pytest.mark.parametrize(
    "payload",
    [
        "81a3006161016343656c02fb403719999999999a",
        "81a3006161016343656c02c4822018e7",
        "9fa3006161016343656c02fb403719999999999aff",
        "82a1216161a2016343656c02fb403719999999999a",
    ],
)
def test_a_pack_in_cbor_is_read(payload: str) -> None:
    sensor = {"payload": "senml", "record": "a"}
    (measured,), faults = made(sensor).read(bytes.fromhex(payload))
    assert measured == temperature(measured.value)
    assert measured.value == pytest.approx(23.1)
    assert faults == []


# RFC 8428, section 4.5.4: values that are no numbers have their own fields; a garden has no use for
# them, and passes them over.
def test_values_that_are_no_numbers_are_passed_over_and_counted() -> None:
    found = made({"payload": "senml", "record": "a"})
    pack = (
        b'[{"n": "a", "v": 14.5}, {"n": "b", "vs": "low"}, {"n": "c", "vb": true},'
        b' {"n": "d", "vd": "aGkgCg"}, {"n": "a", "vb": false}]'
    )
    assert found.read(pack) == ([temperature(14.5)], [])
    assert found.passed_over == 4


def rain_reader(**sensor: object) -> Reader:
    raw = {"name": "g", "topic": "t", "measures": "rain", "payload": "senml", "record": "a"}
    return readers(garden_from({**GARDEN, "sensor": [{**raw, **sensor}]}), {"g": 0})["t"]


# RFC 8428, section 4.5.4: the sum is the value over time, in its unit times seconds; of a rate of
# rain in m/s, or mm/h (RFC 8798), it is the rain since the start.
@pytest.mark.parametrize(
    ("pack", "rain_mm"),
    [
        (b'[{"n": "a", "u": "m/s", "v": 1e-6, "s": 0.0042}]', 4.2),
        (b'[{"n": "a", "u": "mm/h", "s": 15120}]', 4.2),
        (b'[{"n": "a", "bu": "mm", "v": 4.2}]', 4.2),
    ],
)
def test_a_sum_of_a_rate_of_rain_is_rain(pack: bytes, rain_mm: float) -> None:
    (measured,), faults = rain_reader(counts="mm since start").read(pack)
    assert measured.value == pytest.approx(rain_mm)
    assert faults == []


def test_a_device_may_tell_of_its_battery_and_signal() -> None:
    sensor = {
        "payload": "json",
        "pointer": "/a",
        "battery_pointer": "/cell",
        "signal_pointer": "/radio/dbm",
    }
    (measured,), _ = made(sensor).read(b'{"a": 14.5, "cell": "2.91 V", "radio": {"dbm": -71}}')
    assert (measured.battery, measured.signal) == (2.91, -71.0)
    ((without,), faults) = made(sensor).read(b'{"a": 14.5, "cell": "low"}')
    assert (without.battery, without.signal, faults) == (None, None, [])


def test_a_time_that_cannot_be_read_leaves_a_doubt() -> None:
    sensor = {"payload": "json", "pointer": "/a", "time_pointer": "/t"}
    ((late,), _) = made(sensor).read(b'{"a": 14.5, "t": "noon"}')
    assert (late.time_ms, late.doubt) == (None, "its time is 'noon', which is no time")
    ((without,), _) = made(sensor).read(b'{"a": 14.5}')
    assert without.doubt == "there is nothing at '/t' in this message"


def test_what_is_wrong_with_one_sensor_does_not_touch_the_others() -> None:
    both = made({"payload": "json", "pointer": "/leek"}, {"payload": "json", "pointer": "/nettle"})
    assert both.read(b'{"leek": true, "nettle": 14.5}') == (
        [temperature(14.5, 1)],
        ["the value is true, and should be a number"],
    )
    records = made({"payload": "senml", "record": "a"}, {"payload": "senml", "record": "b"})
    assert records.read(b'[{"n": "a", "vs": "hot"}, {"n": "b", "v": 14.5}]') == (
        [temperature(14.5, 1)],
        [],
    )
    assert records.passed_over == 1


@pytest.mark.parametrize(
    ("sensor", "payload", "fault"),
    [
        ({"payload": "json", "pointer": "/a"}, b"{}", "there is nothing at '/a' in this message"),
        ({"payload": "json", "pointer": "/a"}, b'{"a": "hot"}', "'hot' is no number"),
        ({"payload": "json", "pointer": "/a"}, b'{"a": null}', "the value is null"),
        ({"payload": "json", "pointer": "/a"}, b'{"a": {}}', "the value is an object"),
        ({"payload": "json", "pointer": "/a"}, b'{"a": 1e400}', "the value is too large"),
        ({"payload": "json", "pointer": "/a"}, b'{"a": "9 V"}', "the unit is 'V'"),
        ({"payload": "senml", "record": "b"}, b'[{"n": "a", "v": 1}]', "there is no record 'b'"),
        ({"payload": "senml", "record": "a"}, b'[{"n": "a", "s": 1}]', "the unit is '*s'"),
        (
            {"payload": "senml", "record": "a"},
            b'[{"n": "a", "u": "V", "v": 1}]',
            "the unit is 'V'; 's0' is read in Cel, K, degF",
        ),
    ],
)
def test_what_cannot_be_read_is_told(sensor: Json, payload: bytes, fault: str) -> None:
    measured, (told,) = made(sensor).read(payload)
    assert measured == []
    assert fault in told


@pytest.mark.parametrize(
    ("sensor", "payload"),
    [
        ({"payload": "number"}, b"hot"),
        ({"payload": "number"}, b"\xff"),
        ({"payload": "json", "pointer": "/a"}, b"14.5 Cel"),
        ({"payload": "senml", "record": "a"}, b'{"n": "a", "v": 1}'),
        # CBOR that is cut short, goes on, is nested too deep, or holds no records.
        ({"payload": "senml", "record": "a"}, bytes.fromhex("81a30061")),
        ({"payload": "senml", "record": "a"}, bytes.fromhex("81a2006161020100")),
        ({"payload": "senml", "record": "a"}, b"\x81" * 100_000),
        ({"payload": "senml", "record": "a"}, bytes.fromhex("9affffffff")),
        ({"payload": "senml", "record": "a"}, bytes.fromhex("8101")),
        ({"payload": "senml", "record": "a"}, bytes.fromhex("81a200616102c4821a7fffffff01")),
    ],
)
def test_a_message_that_cannot_be_read_at_all_is_refused(sensor: Json, payload: bytes) -> None:
    with pytest.raises(MessageRefusedError):
        made(sensor).read(payload)
