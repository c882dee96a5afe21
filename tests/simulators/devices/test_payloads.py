from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone

import pytest

from steepwell_sim.devices.payloads import Figure, as_json, as_number, as_senml

NOON = datetime(2031, 6, 1, 12, tzinfo=UTC)  # 1938081600 s since 1970


@pytest.mark.parametrize(
    ("figures", "message"),
    [
        (
            [Figure(17, "count", record="gauge")],
            b'[{"bt":1938081600,"n":"gauge","u":"count","v":17}]',
        ),
        # Names are joined to the base name: RFC 8428, section 4.5.1.
        (
            [Figure(15.25, "Cel", record="shed:t1"), Figure(16, "Cel", record="shed:t2")],
            (
                b'[{"bn":"shed:t","bt":1938081600,"n":"1","u":"Cel","v":15.25},'
                b'{"n":"2","u":"Cel","v":16}]'
            ),
        ),
        (
            [Figure(15.25, "Cel", record="a"), Figure(0.582, "m", record="ab")],
            b'[{"bn":"a","bt":1938081600,"u":"Cel","v":15.25},{"n":"b","u":"m","v":0.582}]',
        ),
        # A percentage is a ratio there, and a litre has no name: RFC 8428, section 12.1.
        (
            [Figure(55.5, "%", record="n"), Figure(120.5, "L", record="s")],
            b'[{"bt":1938081600,"n":"n","u":"/","v":0.555},{"n":"s","u":"m3","v":0.1205}]',
        ),
    ],
)
def test_senml(figures: list[Figure], message: bytes) -> None:
    assert as_senml(figures, NOON) == message


def test_senml_of_a_fraction_of_a_second() -> None:
    moment = NOON + timedelta(milliseconds=250)
    assert as_senml([Figure(1, "m", record="r")], moment).startswith(b'[{"bt":1938081600.25,')


@pytest.mark.parametrize(
    ("figures", "message"),
    [
        (
            [Figure(582, "mm", pointer="/water/distance", time_pointer="/at")],
            b'{"at":"2031-06-01T12:00:00.000Z","water":{"distance":582}}',
        ),
        # Escapes of a pointer: RFC 6901, section 4.
        ([Figure(1.5, "Cel", pointer="/a~1b/m~0n")], b'{"a/b":{"m~n":1.5}}'),
        ([Figure(1.5, "Cel", pointer="/list/1/v")], b'{"list":[null,{"v":1.5}]}'),
        ([Figure(1.5, "Cel", pointer="")], b"1.5"),
        (
            [
                Figure(1, "Cel", pointer="/in", time_pointer="/t"),
                Figure(2, "Cel", pointer="/out", time_pointer="/t"),
            ],
            b'{"t":"2031-06-01T12:00:00.000Z","in":1,"out":2}',
        ),
    ],
)
def test_json(figures: list[Figure], message: bytes) -> None:
    assert as_json(figures, NOON) == message


def test_json_tells_the_time_in_utc() -> None:
    local = NOON.astimezone(timezone(timedelta(hours=2)))
    figure = Figure(1, "Cel", pointer="/v", time_pointer="/t")
    assert b'"2031-06-01T12:00:00.000Z"' in as_json([figure], local)


@pytest.mark.parametrize(
    ("value", "message"), [(15.25, b"15.25"), (-3.0, b"-3"), (0.0, b"0"), (0.00001, b"0.00001")]
)
def test_number(value: float, message: bytes) -> None:
    assert as_number(Figure(value, "Cel")) == message
