from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import pytest

from steepwell.clock import to_ms
from steepwell.errors import StoreError
from steepwell.garden.weather import Forecast
from steepwell.sense.inbox import Heard
from steepwell.sense.moments import Moments
from steepwell.sense.readers import Measured, readers
from steepwell.sense.settle import REMEMBERED, Settler

if TYPE_CHECKING:
    from collections.abc import Callable

    from steepwell.garden.garden import Garden
    from steepwell.sense.readers import Reader
    from steepwell.store.readings import Reading
    from steepwell.store.store import Store

    Make = Callable[..., Settler]

NOW = datetime(2031, 6, 1, 12, tzinfo=UTC)
NOW_S = NOW.timestamp()
NOW_MS = to_ms(NOW)
LATER = NOW + timedelta(hours=1)
JOURNAL = "steepwell/quince-yard/journal"
NORTH = "quince/north"
PROBES = "quince/probes"
RAIN = "quince/rain"


@pytest.fixture
def make(garden: Garden, store: Store) -> Make:
    def make(more: dict[str, Reader] | None = None) -> Settler:
        known = {**readers(garden, store.readings.ids), **(more or {})}
        offsets_ms = store.devices.clock_offsets()
        moments = Moments(store.readings.newest_times(), 0, replaying=False, clocks_ms=offsets_ms)
        return Settler(garden, store, known, moments, JOURNAL)

    return make


def heard(
    topic: str,
    payload: bytes | str,
    packet_id: int = 0,
    *,
    again: bool = False,
    retained: bool = False,
    session: int = 1,
    arrival_ms: int = NOW_MS,
) -> Heard:
    said = payload.encode() if isinstance(payload, str) else payload
    return Heard(topic, said, packet_id, again, retained, 1, session, arrival_ms)


def leek(celsius: float, time_s: float | None = None) -> str:
    record = {"n": "urn:dev:ow:28ff01:leek", "u": "Cel", "v": celsius}
    air = {"n": "urn:dev:ow:28ff01:air", "u": "Cel", "v": 19}
    timed = {} if time_s is None else {"t": time_s}
    return json.dumps([{**record, **timed}, {**air, **timed}])


def kept(store: Store, sensor: str) -> list[tuple[int, float]]:
    """Return times and values of a sensor's readings, newest first."""
    found: list[tuple[int, float]] = []
    at = LATER
    while (reading := store.readings.latest(at).get(sensor)) is not None:
        found.append((reading.time_ms, round(reading.value, 2)))
        at = datetime.fromtimestamp((reading.time_ms - 1) / 1000, UTC)
    return found


def newest(store: Store, sensor: str) -> Reading:
    return store.readings.latest(LATER)[sensor]


def reasons(store: Store) -> list[str]:
    return [refused.reason for refused in reversed(store.refused.newest(100))]


def test_every_wording_is_stored(make: Make, store: Store) -> None:
    make().settle(
        [
            heard(NORTH, "80"),
            heard(PROBES, leek(14.5, NOW_S - 60)),
            heard(RAIN, json.dumps({"rain": {"tips": 41}, "at": NOW_S - 30})),
        ]
    )
    # 30 cm of water in a cylinder 50 cm wide; 41 tips of 0.2 mm.
    assert kept(store, "north-level") == [(NOW_MS, 58.9)]
    assert kept(store, "leek-probe") == [(NOW_MS - 60_000, 14.5)]
    assert kept(store, "shade") == [(NOW_MS - 60_000, 19.0)]
    assert kept(store, "gauge") == [(NOW_MS - 30_000, 8.2)]
    assert reasons(store) == []


@pytest.mark.parametrize(
    ("topic", "payload", "reason"),
    [
        (NORTH, b"", "'' is no number"),
        (NORTH, b"full", "'full' is no number"),
        (NORTH, b"nan", "'nan' is no number"),
        (NORTH, b"\xff\xfe", "this is no text: the bytes are no UTF-8"),
        (NORTH, b"8 V", "the unit is 'V'; 'north-level' is read in m, cm, mm"),
        (NORTH, b"9" * 10_000_000, "10,000,000 bytes are too much for a message"),
        (RAIN, b"", "this is no JSON"),
        (RAIN, b"{", "this is no JSON"),
        (RAIN, b"[" * 200_000, "this JSON is nested too deep to be read"),
        (RAIN, b'{"rain": {"tips": NaN}}', "NaN is no number, and no JSON"),
        (RAIN, b'{"rain": {"tips": true}}', "the value is true, and should be a number"),
        (RAIN, b'{"rain": {"tips": -1}}', "tips since start are -1, and cannot be below nothing"),
        (RAIN, b'{"rain": 5}', "there is nothing at '/rain/tips' in this message"),
        (RAIN, b'{"rain": {"tips": 1' + b"0" * 400 + b"}}", "the value is too large a number"),
        (PROBES, b"{}", "a SenML pack is a list of records, and this is none"),
        (PROBES, b'[{"n": "a", "v": 1, "x_": 2}]', "'x_' must be understood (RFC 8428)"),
        (
            PROBES,
            b'[{"bn": "urn:dev:ow:28ff01:", "n": "leek", "u": "V", "v": 1}, {"n": "air", "v": 1}]',
            "the unit is 'V'; 'leek-probe' is read in Cel, K, degF",
        ),
        (
            PROBES,
            b'[{"n": "urn:dev:ow:28ff01:leek", "v": 1}]',
            "there is no record 'urn:dev:ow:28ff01:air' in this pack",
        ),
        ("quince/other", b"1", "no sensor in the garden file speaks on this topic"),
    ],
)
def test_what_is_not_understood_is_kept_with_its_reason(
    make: Make, store: Store, topic: str, payload: bytes, reason: str
) -> None:
    before, after = heard(NORTH, "80", 1), heard(NORTH, "90", 3, arrival_ms=NOW_MS + 9)
    make().settle([before, heard(topic, payload, 2), after])
    (refused,) = store.refused.newest(9)
    assert refused.reason.startswith(reason)
    assert (refused.topic, refused.payload, refused.time_ms) == (topic, payload[:256], NOW_MS)
    assert [time_ms for time_ms, _ in kept(store, "north-level")] == [NOW_MS + 9, NOW_MS]


class Odd:
    """A reader with faults of its own."""

    passed_over = 0

    def read(self, payload: bytes) -> tuple[list[Measured], list[str]]:
        if payload == b"raise":
            raise ZeroDivisionError("division by zero")
        # The store takes whole numbers of 64 bits.
        sensor = 2**70 if payload == b"huge" else 1
        return [Measured(sensor, NOW_MS, 0, None, 1.0, 1, None)], []


@pytest.mark.parametrize(
    ("payload", "reason"),
    [
        (b"raise", "it could not be read (ZeroDivisionError: division by zero)"),
        (b"huge", "it could not be written (OverflowError"),
    ],
)
def test_a_fault_of_ours_refuses_one_message(
    make: Make, store: Store, payload: bytes, reason: str
) -> None:
    make({"t": Odd()}).settle([heard("t", b"1"), heard("t", payload), heard(NORTH, "80")])
    (told,) = reasons(store)
    assert told.startswith(reason)
    assert set(store.readings.latest(LATER)) == {"gauge", "north-level"}


def test_a_store_that_cannot_be_written_settles_nothing(make: Make, store: Store) -> None:
    with store._database.transaction() as connection:
        connection.exec_driver_sql("ALTER TABLE reading RENAME TO elsewhere")
    settler = make()
    with pytest.raises(StoreError):
        settler.settle([heard(NORTH, "80", 1), heard(NORTH, "x", 2)])
    assert store.seen.last(1) is None
    assert reasons(store) == []
    with store._database.transaction() as connection:
        connection.exec_driver_sql("ALTER TABLE elsewhere RENAME TO reading")
    settler.settle([heard(NORTH, "80", 1), heard(NORTH, "x", 2)])
    assert len(kept(store, "north-level")) == 1
    assert reasons(store) == ["'x' is no number"]


def test_two_messages_within_a_millisecond_are_two_readings(make: Make, store: Store) -> None:
    make().settle([heard(NORTH, "80", 1), heard(NORTH, "80", 2), heard(NORTH, "70", 3)])
    assert [time_ms for time_ms, _ in kept(store, "north-level")] == [
        NOW_MS + 2,
        NOW_MS + 1,
        NOW_MS,
    ]


def test_a_timed_message_that_comes_again_changes_nothing(make: Make, store: Store) -> None:
    message = heard(PROBES, leek(14.5, NOW_S), 5)
    make().settle([message])
    make().settle([message._replace(again=True), message, message._replace(packet_id=6)])
    assert kept(store, "leek-probe") == [(NOW_MS, 14.5)]
    assert reasons(store) == []


def test_another_value_for_the_same_time_is_refused(make: Make, store: Store) -> None:
    make().settle([heard(PROBES, leek(14.5, NOW_S)), heard(PROBES, leek(15.5, NOW_S))])
    assert kept(store, "leek-probe") == [(NOW_MS, 14.5)]
    assert reasons(store) == ["there is a reading of this time already, and it is 14.5, not 15.5"]


UNTIMED = heard(NORTH, "80", 5)
RELATIVE = heard(PROBES, leek(14.5, -5), 5)
LATE = heard(PROBES, leek(14.5, 1_000_000_000), 5)
WRONG = heard(NORTH, "x", 5)


@pytest.mark.parametrize("first", [UNTIMED, RELATIVE, LATE, WRONG])
@pytest.mark.parametrize("is_restarted", [False, True])
def test_a_message_timed_by_arrival_that_comes_again_changes_nothing(
    make: Make, store: Store, first: Heard, *, is_restarted: bool
) -> None:
    settler = make()
    settler.settle([first])
    told = (store.readings.latest(LATER), reasons(store))
    if is_restarted:
        settler = make()
    session = 0 if is_restarted else 1
    settler.settle([first._replace(again=True, arrival_ms=NOW_MS + 50, session=session)])
    assert (store.readings.latest(LATER), reasons(store)) == told


@pytest.mark.parametrize(
    "second",
    [
        UNTIMED._replace(again=False),
        UNTIMED._replace(again=True, packet_id=6),
        UNTIMED._replace(again=True, payload=b"81"),
        UNTIMED._replace(again=True, session=2),
        UNTIMED._replace(again=True, packet_id=0),
    ],
    ids=["not again", "other identifier", "other payload", "new session", "without identifier"],
)
def test_a_message_timed_by_arrival_is_dropped_only_if_all_agrees(
    make: Make, store: Store, second: Heard
) -> None:
    settler = make()
    settler.settle([UNTIMED])
    settler.settle([second._replace(arrival_ms=NOW_MS + 50)])
    assert len(kept(store, "north-level")) == 2


def test_within_one_batch_a_message_comes_again_too(make: Make, store: Store) -> None:
    make().settle([UNTIMED, UNTIMED._replace(again=True), UNTIMED._replace(session=2)])
    assert len(kept(store, "north-level")) == 2


def test_an_identifier_used_long_ago_belongs_to_another_message(make: Make, store: Store) -> None:
    settler = make()
    settler.settle([UNTIMED])
    others = [heard(NORTH, "70", 0, arrival_ms=NOW_MS)] * (REMEMBERED - 1)
    settler.settle(others)
    again = UNTIMED._replace(again=True)
    before = newest(store, "north-level").time_ms
    settler.settle([again])
    assert newest(store, "north-level").time_ms == before
    settler.settle([again])
    assert newest(store, "north-level").time_ms > before


def test_what_the_broker_kept_is_no_reading_unless_it_is_timed(make: Make, store: Store) -> None:
    make().settle(
        [
            heard(NORTH, "80", 1, retained=True),
            heard(PROBES, leek(14.5), 2, retained=True),
            heard(PROBES, leek(15.5, 1_000_000_000), 3, retained=True),
            heard(RAIN, json.dumps({"rain": {"tips": 41}, "at": NOW_S - 30}), 4, retained=True),
        ]
    )
    assert set(store.readings.latest(LATER)) == {"gauge"}
    assert reasons(store) == []


def test_doubt_about_time_and_about_value_are_both_told(make: Make, store: Store) -> None:
    make().settle([heard(PROBES, leek(84, 1_000_000_000))])
    reading = newest(store, "leek-probe")
    assert (reading.time_ms, reading.flag) == (NOW_MS, 4)
    assert reading.reason == (
        "84 °C is outside -40 to 80 °C; its time, 2001-09-09 01:46, cannot be: time of arrival"
    )
    assert newest(store, "shade").flag == 3


def test_an_entry_goes_into_the_journal(make: Make, store: Store) -> None:
    half = json.dumps({"kind": "level-read", "butt": "north", "text": "half"})
    dated = json.dumps({"kind": "rain-read", "mm": 4, "at": "2031-06-01T09:00:00+01:00"})
    make().settle([heard(JOURNAL, half, 1), heard(JOURNAL, dated, 2)])
    rain, level = store.journal.entries(LATER)
    assert (rain.kind, rain.at) == ("rain-read", datetime(2031, 6, 1, 8, tzinfo=UTC))
    assert (level.kind, level.at) == ("level-read", NOW)
    # Half of 1 m in a cylinder 0.5 m wide.
    assert getattr(level, "litres", None) == pytest.approx(98.175, abs=0.001)
    assert getattr(level, "rough", None) is True


def test_a_job_that_is_done_says_no_more_than_its_name(make: Make, store: Store) -> None:
    day = LATER.date().isoformat()
    line = {"bed": "beans", "daily_l": None, "cans": 2, "litres": 18.0, "days": [day]}
    water = [{**line, "from": "north", "stop": False}]
    store.results.save("plan", NOW, {"week": [day, day], "water": water, "feed": []})
    done = json.dumps({"kind": "job-done", "job": "water/beans"})
    make().settle([heard(JOURNAL, done, 1), heard(JOURNAL, done, 2)])
    entries = store.journal.entries(LATER + timedelta(days=1))
    assert [entry.kind for entry in entries] == ["job-done", "watered"]


def test_an_entry_that_comes_again_is_in_the_journal_once(make: Make, store: Store) -> None:
    entry = heard(JOURNAL, json.dumps({"kind": "rain-read", "mm": 4}), 7)
    settler = make()
    settler.settle([entry])
    settler.settle([entry._replace(again=True, arrival_ms=NOW_MS + 50)])
    assert len(store.journal.entries(LATER)) == 1


def test_entries_of_one_batch_know_of_one_another(make: Make, store: Store) -> None:
    started = {"kind": "steep-started", "vessel": "leek", "matter": [{"plant": "leek"}]}
    drawn = {"kind": "drawn-off", "vessel": "leek", "litres": 2}
    undone = {"kind": "corrected", "withdraws": 2}
    entries = [heard(JOURNAL, json.dumps(raw)) for raw in (started, drawn, started, undone)]
    make().settle(entries)
    assert [entry.kind for entry in store.journal.entries(LATER)] == ["steep-started"]
    assert reasons(store) == [
        "'leek' holds a steep started on 2031-06-01; note that it was emptied first"
    ]


@pytest.mark.parametrize(
    ("message", "reason"),
    [
        (heard(JOURNAL, "{"), "this is no JSON"),
        (heard(JOURNAL, "[]"), "a journal entry is one JSON object"),
        (heard(JOURNAL, '{"kind": "level-read", "butt": "nort", "text": "half"}'), "there is no"),
        (heard(JOURNAL, '{"kind": "level-read", "butt": "north", "text": "lots"}'), "'lots' is no"),
        (
            heard(JOURNAL, '{"kind": "level-read", "butt": "north", "text": "half", "litres": 3}'),
            "a level is read in words or in litres",
        ),
        (
            heard(JOURNAL, '{"kind": "rain-read", "mm": 4}', retained=True),
            "a journal entry is said",
        ),
    ],
)
def test_an_entry_that_cannot_be_is_refused(
    make: Make, store: Store, message: Heard, reason: str
) -> None:
    make().settle([heard(NORTH, "80"), message, heard(NORTH, "81")])
    (told,) = reasons(store)
    assert told.startswith(reason)
    assert store.journal.entries(LATER) == []
    assert len(kept(store, "north-level")) == 2


def test_a_forecast_is_kept_and_leaves_its_topic_to_sensors_too(
    garden: Garden, store: Store
) -> None:
    pointers = {"date": "/day", "rain": "/mm", "tmin": "/low", "tmax": "/high"}
    hears = garden.model_copy(update={"forecast": Forecast(topic=RAIN, **pointers)})
    known = readers(garden, store.readings.ids)
    moments = Moments(store.readings.newest_times(), 0, replaying=False)
    said = {"day": ["2031-06-01"], "mm": [3], "low": [9], "high": [19], "rain": {"tips": 41}}
    Settler(hears, store, known, moments, JOURNAL).settle([heard(RAIN, json.dumps(said))])
    kept_forecast = store.results.latest("forecast", NOW)
    assert kept_forecast is not None
    assert [day["rain_mm"] for day in kept_forecast["days"]] == [3.0]
    assert newest(store, "gauge").value == pytest.approx(8.2)
    assert reasons(store) == []


def test_a_stored_day_is_told_to_those_who_work_with_it(make: Make, store: Store) -> None:
    settler = make()
    settler.settle([heard(PROBES, leek(14.0, NOW_S)), heard(PROBES, leek(14.0, NOW_S - 7200))])
    assert store.ledger.last("late-readings") is None
    later_ms = NOW_MS + 60_000
    settler.settle([heard(PROBES, leek(13.0, NOW_S - 86_400), arrival_ms=later_ms)])
    assert store.ledger.last("late-readings") == datetime.fromtimestamp(later_ms / 1000, UTC)
    # Coming again, it changes nothing.
    settler.settle([heard(PROBES, leek(13.0, NOW_S - 86_400), arrival_ms=later_ms + 60_000)])
    assert store.ledger.last("late-readings") == datetime.fromtimestamp(later_ms / 1000, UTC)


def test_a_wrong_clock_is_still_known_after_a_restart(make: Make, store: Store) -> None:
    ahead_s, quarter_s = 3 * 3600, 900

    def say(settler: Settler, number: int, off_s: float) -> int:
        at_s = NOW_S + (number - 6) * quarter_s
        message = leek(14.0 + number / 10, at_s + off_s)
        settler.settle([heard(PROBES, message, number + 1, arrival_ms=round(at_s * 1000))])
        return round(at_s * 1000)

    settler = make()
    for number in range(6):
        say(settler, number, ahead_s)
    at_ms = say(make(), 6, ahead_s)
    reading = newest(store, "leek-probe")
    assert (reading.time_ms, reading.flag) == (at_ms, 2)
    assert reading.reason == "its clock is 3.0 hours ahead, and was put right"
    # Then somebody sets it.
    say(make(), 7, 0)
    assert store.devices.clock_offsets() == {}
