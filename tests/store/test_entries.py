from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

import pytest

from steepwell.errors import JournalError
from steepwell.store.entries import Entry, SteepStarted, parse_entry
from steepwell.store.steeps import next_turn, steep_in

if TYPE_CHECKING:
    from steepwell.garden.garden import Garden

Json = dict[str, Any]

NOW = datetime(2031, 6, 10, 12, tzinfo=UTC)
LEEKS: Json = {"kind": "steep-started", "vessel": "leek", "matter": [{"plant": "leek"}]}
EMPTIED: Json = {"kind": "vessel-emptied", "vessel": "leek"}


def days_ago(days: float) -> str:
    return (NOW - timedelta(days=days)).isoformat()


def journal(garden: Garden, *raws: Json) -> list[Entry]:
    """Return entries as the journal would give them, each with its number."""
    entries: list[Entry] = []
    for number, raw in enumerate(raws, start=1):
        entry = parse_entry(raw, garden, NOW, entries)
        entries.append(entry.model_copy(update={"id": number}))
    return entries


@pytest.mark.parametrize(
    "raw",
    [
        {"kind": "level-read", "butt": "north", "litres": 120},
        {"kind": "level-read", "butt": "north", "litres": 0},
        {"kind": "rain-read", "mm": 4.5},
        {"kind": "temperature-read", "place": "leek", "celsius": 14.5},
        {"kind": "temperature-read", "place": "air", "celsius": -3},
        {"kind": "watered", "bed": "beans", "litres": 20},
        {"kind": "watered", "bed": "beans", "litres": 20, "butt": "south", "by": "robin"},
        {"kind": "planted", "bed": "beans", "crop": "tomato"},
        {"kind": "cleared", "bed": "beans", "healthy": False},
        {"kind": "mulched", "bed": "beans", "material": "straw", "depth_mm": 50, "cover": 0.8},
        {"kind": "restriction", "from": "2031-07-01", "to": "2031-08-31", "bars": ["tap", "hose"]},
        {"kind": "restriction", "from": "2031-07-01", "bars": ["watering"]},
        {"kind": "away", "from": "2031-07-05", "to": "2031-07-19", "helper": "robin"},
        {"kind": "put-to-bed"},
        {"kind": "planted", "bed": "beans", "crop": "leek", "transplanted": True},
        {"kind": "picking", "bed": "beans"},
        {"kind": "looks-hungry", "bed": "beans"},
        {"kind": "sickness-seen", "sickness": "downy-mildew", "bed": "beans"},
        {"kind": "sickness-seen", "sickness": "unknown", "vessel": "leek"},
        {"kind": "tap-water-added", "butt": "north", "litres": 9},
        {"kind": "butt-emptied", "butt": "north"},
        {"kind": "not-watered"},
        {"kind": "not-watered", "butt": "south"},
        {**LEEKS, "water_l": 40},
        {"kind": "rain-read", "mm": 4.5, "at": "2031-06-09T09:00:00+01:00"},
    ],
    ids=str,
)
def test_an_entry_is_taken_as_it_is(garden: Garden, raw: Json) -> None:
    entry = parse_entry(raw, garden, NOW, [])
    kept = entry.model_dump(mode="json", by_alias=True, exclude_unset=True)
    assert {**kept, "at": None} == {**raw, "at": None, "kind": entry.kind}
    assert entry.at == datetime.fromisoformat(raw.get("at", NOW.isoformat()))


@pytest.mark.parametrize(
    ("raw", "message"),
    [
        ({}, "an entry names its kind; kinds are level-read, rain-read"),
        ({"kind": "danced"}, "an entry names its kind; kinds are level-read, rain-read"),
        ({"kind": "rain-read"}, "mm is missing; an entry of this kind needs it"),
        ({"kind": "rain-read", "mm": "4"}, "mm should be a valid number, and is '4'"),
        ({"kind": "rain-read", "mm": True}, "mm should be a valid number, and is 'True'"),
        ({"kind": "rain-read", "mm": float("nan")}, "mm should be a finite number"),
        ({"kind": "rain-read", "mm": -1}, "mm should be greater than or equal to 0"),
        ({"kind": "rain-read", "mm": 1, "inch": 2}, "'inch' is no part of an entry of this kind"),
        ({"kind": "rain-read", "mm": 1, "id": 3}, "leave 'id' out"),
        ({"kind": "rain-read", "mm": 1, "at": "2031-06-09T09:00"}, "at needs its time zone"),
        ({"kind": "rain-read", "mm": 1, "at": days_ago(-1)}, "2031-06-11 12:00 is in the future"),
        (
            {"kind": "level-read", "butt": "nort", "litres": 3},
            "there is no butt 'nort' in the garden file; did you mean 'north'?",
        ),
        (
            {"kind": "level-read", "butt": "x", "litres": 3},
            "there is no butt 'x' in the garden file; there are north, south",
        ),
        (
            {"kind": "level-read", "butt": "north", "litres": 240},
            r"240 L is more than 'north' holds \(210 L\); read it again",
        ),
        ({"kind": "watered", "bed": "bean", "litres": 9}, "did you mean 'beans'?"),
        ({"kind": "watered", "bed": "beans", "litres": 9, "butt": "xx"}, "there is no butt 'xx'"),
        ({"kind": "temperature-read", "place": "shed", "celsius": 9}, "there is no vessel 'shed'"),
        ({"kind": "planted", "bed": "beans", "crop": "tomatoe"}, "did you mean 'tomato'?"),
        ({**LEEKS, "matter": []}, "matter is empty; an entry of this kind needs it"),
        (
            {**LEEKS, "matter": [{"kg": 2}]},
            "the name of a plant, such as leek or nettle, is missing",
        ),
        ({**LEEKS, "vessel": "leak"}, "did you mean 'leek'?"),
        (
            {**LEEKS, "matter": [{"plant": "leek", "healthy": False}]},
            "sick 'leek' stays out of a vessel: .* take healthy plants with clean roots",
        ),
        ({**LEEKS, "matter": [{"plant": "Lily of the valley"}]}, "it is poisonous"),
        ({**LEEKS, "matter": [{"plant": "horse manure"}]}, "stays out of a vessel: it carries"),
        ({**LEEKS, "matter": [{"plant": "leek"}, {"plant": "yews"}]}, "'yews' stays out"),
        ({"kind": "sickness-seen", "sickness": "rust"}, "in a bed, or in a vessel"),
        (
            {"kind": "sickness-seen", "sickness": "gloom", "bed": "beans"},
            'if it is not known, write "unknown"',
        ),
        (
            {"kind": "bean-test", "vessel": "leek", "outcome": "healthy"},
            "'leek' holds no steep on 2031-06-10",
        ),
        (EMPTIED, "'leek' holds no steep on 2031-06-10; note first, with its date"),
        (
            {"kind": "drawn-off", "vessel": "leek", "litres": 2},
            "'leek' holds no steep on 2031-06-10",
        ),
        (
            {"kind": "fed", "bed": "beans", "vessel": "leek", "feed_ml": 30, "cans": 1},
            "'leek' holds no steep on 2031-06-10",
        ),
        ({"kind": "corrected", "withdraws": 1}, "there is no entry 1 to withdraw"),
        (
            {"kind": "mulched", "bed": "beans", "material": "strow", "depth_mm": 50},
            "did you mean 'straw'?",
        ),
        (
            {"kind": "mulched", "bed": "beans", "material": "straw", "depth_mm": 50, "cover": 1.5},
            "cover should be less than or equal to 1",
        ),
        ({"kind": "restriction", "from": "2031-07-01", "bars": []}, "bars is empty"),
        ({"kind": "restriction", "bars": ["tap"]}, "from is missing"),
        (
            {"kind": "restriction", "from": "tomorrow", "bars": ["tap"]},
            "from should be a day like 2031-07-01, and is 'tomorrow'",
        ),
        (
            {"kind": "restriction", "from": "2031-07-01", "to": "2031-06-01", "bars": ["tap"]},
            "2031-06-01 is before 2031-07-01; give the later day last",
        ),
        ({"kind": "away", "from": "2031-07-05"}, "to is missing"),
        (
            {"kind": "away", "from": "2031-07-05", "to": "2031-07-04"},
            "2031-07-04 is before 2031-07-05; give the later day last",
        ),
        ({"kind": "woken"}, "the garden is awake already"),
        (
            {"kind": "restriction", "from": "2031-07-01", "bars": ["can"]},
            "bars.0 should be 'tap', 'hose' or 'watering', and is 'can'",
        ),
    ],
)
def test_what_cannot_be_is_refused(garden: Garden, raw: Json, message: str) -> None:
    with pytest.raises(JournalError, match=message):
        parse_entry(raw, garden, NOW, [])


FED: Json = {"kind": "fed", "bed": "beans", "vessel": "leek", "feed_ml": 30, "cans": 1}


@pytest.mark.parametrize(
    ("before", "raw", "message"),
    [
        ([{**LEEKS, "at": days_ago(9)}], LEEKS, "'leek' holds a steep started on 2031-06-01"),
        (
            [{**LEEKS, "at": days_ago(2)}],
            {**LEEKS, "at": days_ago(9)},
            "'leek' was filled again on 2031-06-08",
        ),
        (
            [{**LEEKS, "at": days_ago(2)}],
            {"kind": "drawn-off", "vessel": "leek", "litres": 2, "at": days_ago(3)},
            "'leek' holds no steep on 2031-06-07",
        ),
        (
            [LEEKS],
            {"kind": "drawn-off", "vessel": "leek", "litres": 70},
            # 60 L less a tenth for the headspace; at 2.5 kg to 10 L half a litre a kg settles.
            r"70 L is more than stands above the solids in 'leek' \(47 of 54 L\)",
        ),
        (
            [LEEKS, {"kind": "drawn-off", "vessel": "leek", "litres": 45}],
            {"kind": "decanted", "vessel": "leek", "litres": 5, "into": "old can"},
            r"5 L is more than stands above the solids in 'leek' \(2 of 9 L\)",
        ),
        (
            [LEEKS, {"kind": "drawn-off", "vessel": "leek", "litres": 4}],
            {"kind": "topped-up", "vessel": "leek", "litres": 8},
            r"8 L is more than 'leek' has room for \(4 L below its headspace",
        ),
        (
            [{**LEEKS, "at": days_ago(9)}, {**EMPTIED, "at": days_ago(1)}],
            {"kind": "drawn-off", "vessel": "leek", "litres": 2},
            "holds no steep on 2031-06-10, for it was emptied on 2031-06-09; if this was before",
        ),
        (
            [{**LEEKS, "at": days_ago(3)}],
            {"kind": "topped-up", "vessel": "leek", "litres": 2, "at": days_ago(4)},
            "'leek' holds no steep on 2031-06-06",
        ),
        (
            [LEEKS],
            {"kind": "topped-up", "vessel": "leek", "litres": 0.1, "matter": [{"plant": "yew"}]},
            "'yew' stays out of a vessel: it is poisonous",
        ),
        (
            [],
            {**LEEKS, "water_l": 80},
            r"80 L is more than 'leek' holds \(60 L\)",
        ),
        (
            [{**LEEKS, "at": days_ago(9)}],
            FED,
            "the feed in 'leek' is not ready: .* 10 days at least, to 2031-06-11",
        ),
        (
            [],
            {"kind": "too-strong", "vessel": "leek"},
            "'leek' holds no steep on 2031-06-10",
        ),
        ([LEEKS], {"kind": "corrected", "withdraws": 2}, "there is no entry 2 to withdraw"),
        # It all fits on its day, and not what was drawn since.
        (
            [
                {**LEEKS, "water_l": 54, "at": days_ago(9)},
                {"kind": "drawn-off", "vessel": "leek", "litres": 40, "at": days_ago(2)},
            ],
            {"kind": "drawn-off", "vessel": "leek", "litres": 20, "at": days_ago(5)},
            r"then drawn-off of 2031-06-08 \(entry 2\) cannot be: 40 L is more than stands above",
        ),
        (
            [
                {**LEEKS, "at": days_ago(9)},
                {"kind": "drawn-off", "vessel": "leek", "litres": 2, "at": days_ago(2)},
            ],
            {**EMPTIED, "at": days_ago(5)},
            r"then drawn-off of 2031-06-08 \(entry 2\) cannot be: 'leek' holds no steep",
        ),
    ],
)
def test_what_contradicts_the_journal_is_refused(
    garden: Garden, before: list[Json], raw: Json, message: str
) -> None:
    with pytest.raises(JournalError, match=message):
        parse_entry(raw, garden, NOW, journal(garden, *before))


@pytest.mark.parametrize(
    ("before", "raw"),
    [
        ([{**LEEKS, "at": days_ago(9)}, EMPTIED], LEEKS),
        ([{**LEEKS, "at": days_ago(9)}], EMPTIED),
        ([{**LEEKS, "at": days_ago(9)}], {**LEEKS, "vessel": "nettle"}),
        ([LEEKS], {"kind": "drawn-off", "vessel": "leek", "litres": 2}),
        ([{**LEEKS, "at": days_ago(10)}], FED),
        ([{**LEEKS, "at": days_ago(8)}, {"kind": "ready-confirmed", "vessel": "leek"}], FED),
        ([LEEKS], {"kind": "ready-confirmed", "vessel": "leek"}),
        ([LEEKS], {"kind": "conductivity-measured", "vessel": "leek", "ds_m": 28.0}),
        (
            [LEEKS, {"kind": "drawn-off", "vessel": "leek", "litres": 4}],
            {"kind": "topped-up", "vessel": "leek", "litres": 4, "matter": [{"plant": "leek"}]},
        ),
        ([LEEKS], {"kind": "corrected", "withdraws": 1}),
    ],
)
def test_what_follows_from_the_journal_is_taken(
    garden: Garden, before: list[Json], raw: Json
) -> None:
    entry = parse_entry(raw, garden, NOW, journal(garden, *before))
    assert entry.kind == raw["kind"]


def test_another_clock_may_be_a_little_ahead(garden: Garden) -> None:
    ahead = (NOW + timedelta(minutes=9)).isoformat()
    assert parse_entry({"kind": "rain-read", "mm": 1, "at": ahead}, garden, NOW, []).at == NOW


def test_the_steep_of_a_moment(garden: Garden) -> None:
    first = {**LEEKS, "at": days_ago(30)}
    entries = journal(garden, first, {**EMPTIED, "at": days_ago(20)}, {**LEEKS, "at": days_ago(9)})
    held = [steep_in(entries, "leek", NOW - timedelta(days=days)) for days in (31, 25, 15, 1)]
    assert [steep and steep.id for steep in held] == [None, 1, None, 3]
    assert steep_in(entries, "nettle", NOW) is None
    following = next_turn(entries, "leek", NOW - timedelta(days=15))
    assert isinstance(following, SteepStarted)
    assert next_turn(entries, "leek", NOW) is None


CLEARED: Json = {"kind": "cleared", "bed": "beans"}
PLANTED: Json = {"kind": "planted", "bed": "beans", "crop": "leek", "at": days_ago(90)}


@pytest.mark.parametrize(
    ("before", "refused"),
    [
        ([PLANTED, {**CLEARED, "healthy": False, "at": days_ago(3)}], True),
        ([PLANTED, {**CLEARED, "healthy": True, "at": days_ago(3)}], False),
        # After a fortnight it does not lie about any more.
        ([PLANTED, {**CLEARED, "healthy": False, "at": days_ago(15)}], False),
        # Other leeks, cleared healthy since then.
        (
            [
                PLANTED,
                {**CLEARED, "healthy": False, "at": days_ago(3)},
                {**CLEARED, "healthy": True, "at": days_ago(1)},
            ],
            False,
        ),
        ([{**CLEARED, "healthy": False, "at": days_ago(3)}], False),
    ],
)
def test_what_was_cleared_sick_is_refused(
    garden: Garden, before: list[Json], *, refused: bool
) -> None:
    entries = journal(garden, *before)
    if not refused:
        assert isinstance(parse_entry(LEEKS, garden, NOW, entries), SteepStarted)
        return
    with pytest.raises(JournalError, match=r"'beans' was cleared sick on 2031-06-07 .* burn it"):
        parse_entry(LEEKS, garden, NOW, entries)
