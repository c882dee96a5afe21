"""Packs of RFC 8428, section 5.1, against the resolved records that it prints for them."""

from __future__ import annotations

import pytest

from steepwell.errors import MessageRefusedError
from steepwell.sense.senml import Record, resolve

# We keep times to the millisecond.
TOLERANCE_S = 0.0001


def measured(name: str, unit: str | None, value: float | str | bytes, time_s: float = 0) -> Record:
    return Record(name, unit, value, None, time_s)


# RFC 8428, section 5.1.1.
SINGLE = [{"n": "urn:dev:ow:10e2073a01080063", "u": "Cel", "v": 23.1}]
# RFC 8428, section 5.1.2.
NOW = [
    {"bn": "urn:dev:ow:10e2073a01080063:", "n": "voltage", "u": "V", "v": 120.1},
    {"n": "current", "u": "A", "v": 1.2},
]
# RFC 8428, section 5.1.2, second example, and section 4.6 for what it comes to.
CURRENT = [
    {
        "bn": "urn:dev:ow:10e2073a0108006:",
        "bt": 1.276020076001e09,
        "bu": "A",
        "bver": 5,
        "n": "voltage",
        "u": "V",
        "v": 120.1,
    },
    {"n": "current", "t": -5, "v": 1.2},
    {"n": "current", "t": -4, "v": 1.3},
    {"n": "current", "t": -3, "v": 1.4},
    {"n": "current", "t": -2, "v": 1.5},
    {"n": "current", "t": -1, "v": 1.6},
    {"n": "current", "v": 1.7},
]
# RFC 8428, section 5.1.3, and section 5.1.4 for what it comes to.
MOVING = [
    {"bn": "urn:dev:ow:10e2073a01080063", "bt": 1.320067464e09, "bu": "%RH", "v": 20},
    {"u": "lon", "v": 24.30621},
    {"u": "lat", "v": 60.07965},
    {"t": 60, "v": 20.3},
    {"u": "lon", "t": 60, "v": 24.30622},
    {"u": "lat", "t": 60, "v": 60.07965},
    {"t": 120, "v": 20.7},
    {"u": "lon", "t": 120, "v": 24.30623},
    {"u": "lat", "t": 120, "v": 60.07966},
    {"u": "%EL", "t": 150, "v": 98},
    {"t": 180, "v": 21.2},
    {"u": "lon", "t": 180, "v": 24.30628},
    {"u": "lat", "t": 180, "v": 60.07967},
]
# RFC 8428, section 5.1.6: another base name from the third record on, under the first base time.
COLLECTION = [
    {"bn": "2001:db8::2/", "bt": 1.320078429e09, "n": "temperature", "u": "Cel", "v": 25.2},
    {"n": "humidity", "u": "%RH", "v": 30},
    {"bn": "2001:db8::1/", "n": "temperature", "u": "Cel", "v": 12.3},
    {"n": "humidity", "u": "%RH", "v": 67},
]
# RFC 8428, section 5.1.5.
KINDS = [
    {"bn": "urn:dev:ow:10e2073a01080063:", "n": "temp", "u": "Cel", "v": 23.1},
    {"n": "label", "vs": "Machine Room"},
    {"n": "open", "vb": False},
    {"n": "nfc-reader", "vd": "aGkgCg"},
]
# RFC 8428, section 5.1.7: the first record has base fields only.
THERMOSTAT = [
    {"bn": "urn:dev:ow:10e2073a01080063:"},
    {"n": "temp", "u": "Cel", "v": 23.1},
    {"n": "heat", "u": "/", "v": 1},
    {"n": "fan", "u": "/", "v": 0},
]


@pytest.mark.parametrize(
    ("pack", "records"),
    [
        (SINGLE, [measured("urn:dev:ow:10e2073a01080063", "Cel", 23.1)]),
        (
            NOW,
            [
                measured("urn:dev:ow:10e2073a01080063:voltage", "V", 120.1),
                measured("urn:dev:ow:10e2073a01080063:current", "A", 1.2),
            ],
        ),
        (
            CURRENT,
            [
                measured("urn:dev:ow:10e2073a0108006:voltage", "V", 120.1, 1276020076.001),
                measured("urn:dev:ow:10e2073a0108006:current", "A", 1.2, 1276020071.001),
                measured("urn:dev:ow:10e2073a0108006:current", "A", 1.3, 1276020072.001),
                measured("urn:dev:ow:10e2073a0108006:current", "A", 1.4, 1276020073.001),
                measured("urn:dev:ow:10e2073a0108006:current", "A", 1.5, 1276020074.001),
                measured("urn:dev:ow:10e2073a0108006:current", "A", 1.6, 1276020075.001),
                measured("urn:dev:ow:10e2073a0108006:current", "A", 1.7, 1276020076.001),
            ],
        ),
        (
            MOVING,
            [
                measured("urn:dev:ow:10e2073a01080063", unit, value, time_s)
                for unit, value, time_s in [
                    ("%RH", 20.0, 1320067464),
                    ("lon", 24.30621, 1320067464),
                    ("lat", 60.07965, 1320067464),
                    ("%RH", 20.3, 1320067524),
                    ("lon", 24.30622, 1320067524),
                    ("lat", 60.07965, 1320067524),
                    ("%RH", 20.7, 1320067584),
                    ("lon", 24.30623, 1320067584),
                    ("lat", 60.07966, 1320067584),
                    ("%EL", 98.0, 1320067614),
                    ("%RH", 21.2, 1320067644),
                    ("lon", 24.30628, 1320067644),
                    ("lat", 60.07967, 1320067644),
                ]
            ],
        ),
        (
            COLLECTION,
            [
                measured("2001:db8::2/temperature", "Cel", 25.2, 1320078429),
                measured("2001:db8::2/humidity", "%RH", 30.0, 1320078429),
                measured("2001:db8::1/temperature", "Cel", 12.3, 1320078429),
                measured("2001:db8::1/humidity", "%RH", 67.0, 1320078429),
            ],
        ),
        (
            KINDS,
            [
                measured("urn:dev:ow:10e2073a01080063:temp", "Cel", 23.1),
                measured("urn:dev:ow:10e2073a01080063:label", None, "Machine Room"),
                measured("urn:dev:ow:10e2073a01080063:open", None, False),  # noqa: FBT003 - the value
                measured("urn:dev:ow:10e2073a01080063:nfc-reader", None, b"hi \n"),
            ],
        ),
        (
            THERMOSTAT,
            [
                measured("urn:dev:ow:10e2073a01080063:temp", "Cel", 23.1),
                measured("urn:dev:ow:10e2073a01080063:heat", "/", 1.0),
                measured("urn:dev:ow:10e2073a01080063:fan", "/", 0.0),
            ],
        ),
    ],
    ids=["5.1.1", "5.1.2", "5.1.2 timed", "5.1.3", "5.1.6", "5.1.5", "5.1.7"],
)
def test_a_pack_is_resolved_as_the_standard_does(pack: object, records: list[Record]) -> None:
    resolved = resolve(pack)
    times_s = [record.time_s for record in resolved]
    assert times_s == pytest.approx([record.time_s for record in records], abs=TOLERANCE_S)
    assert [record[:4] for record in resolved] == [record[:4] for record in records]


# RFC 8428, section 4.1: base value and base sum are added, base unit holds where there is none,
# and all of them hold until they are given anew.
def test_base_fields_hold_until_they_are_given_anew() -> None:
    pack = [
        {"bn": "a:", "bu": "L", "bv": 100, "bs": 7, "n": "x", "v": 20, "s": 3},
        {"n": "y"},
        {"bv": -100, "n": "x", "u": "m3", "v": 5},
        {"n": "z", "vs": "low"},
    ]
    assert resolve(pack) == [
        Record("a:x", "L", 120.0, 10.0, 0),
        Record("a:y", "L", 100.0, 7.0, 0),
        Record("a:x", "m3", -95.0, 7.0, 0),
        Record("a:z", "L", "low", 7.0, 0),
    ]


# RFC 8428, section 4.5.4: a record may have a sum and no value.
def test_a_record_may_have_a_sum_only() -> None:
    assert resolve([{"n": "a", "s": 12.5}]) == [Record("a", None, None, 12.5, 0)]


# RFC 8428, section 4.5.3: from 2^28 on a time is absolute, below it counts from now.
@pytest.mark.parametrize(
    ("base", "time", "is_relative"),
    [
        (0, -5, True),
        (0, 0, True),
        (0, 268_435_455, True),
        (0, 268_435_456, False),
        (1_276_020_076, -5, False),
        (268_435_450, 5, True),
        (268_435_450, 6, False),
    ],
)
def test_small_times_count_from_now(base: float, time: float, *, is_relative: bool) -> None:
    (record,) = resolve([{"bn": "a", "bt": base, "t": time, "v": 1}])
    assert record.is_relative is is_relative


# RFC 8428, section 4.4: a label that ends in "_" must be understood; others may be ignored, and
# so may a version up to our own, which is 10; a higher one must not be used.
def test_what_need_not_be_understood_is_ignored() -> None:
    pack = [{"bver": 10, "n": "a", "v": 1, "colour": "green", "_x": 2}]
    assert resolve(pack) == [Record("a", None, 1.0, None, 0)]


@pytest.mark.parametrize(
    ("pack", "message"),
    [
        ({"n": "a", "v": 1}, "a SenML pack is a list of records"),
        ([], "a SenML pack is a list of records"),
        ([1], "a SenML record is an object, and this is 1"),
        ([{"n": "a", "v": 1, "must_": 2}], "'must_' must be understood"),
        ([{"n": "a", "v": 1}, {"n": "b", "v": 1, "bver": 11}], "version 11; up to 10"),
        ([{"bver": "10", "n": "a", "v": 1}], "bver is '10', and should be a positive whole number"),
        ([{"bver": 0, "n": "a", "v": 1}], "bver is 0, and should be a positive whole number"),
        ([{"n": "a", "v": 1, "vs": "x"}], "has one value, and this has v and vs"),
        ([{"n": "a", "u": "Cel"}], "has a value or a sum, and this has neither"),
        ([{"v": 1}], "'' is no name of a SenML record"),
        ([{"n": "-a", "v": 1}], "'-a' is no name of a SenML record"),
        ([{"n": "a b", "v": 1}], "'a b' is no name of a SenML record"),
        ([{"n": "ä", "v": 1}], "'ä' is no name of a SenML record"),
        ([{"n": 5, "v": 1}], "n is 5, and should be a text"),
        ([{"n": "a", "u": 5, "v": 1}], "u is 5, and should be a text"),
        ([{"n": "a", "v": "1"}], "v is '1', and should be a number"),
        ([{"n": "a", "v": True}], "v is true, and should be a number"),
        ([{"n": "a", "vb": 1}], "vb is 1, and should be true or false"),
        ([{"n": "a", "vs": 1}], "vs is 1, and should be a text"),
        ([{"n": "a", "vd": "a+b/"}], "vd is 'a[+]b/', and should be base64 data"),
        ([{"n": "a", "v": 1, "t": "now"}], "t is 'now', and should be a number"),
        ([{"n": "a", "v": 1, "bt": None}], "bt is null, and should be a number"),
        ([{"n": "a", "v": 1, "s": []}], "s is a list, and should be a number"),
    ],
)
def test_a_pack_that_breaks_the_standard_is_refused(pack: object, message: str) -> None:
    with pytest.raises(MessageRefusedError, match=message):
        resolve(pack)
