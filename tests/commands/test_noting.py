"""What was done or read off, noted by a command and kept in the journal."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

import pytest

from steepwell.clock import WallClock
from steepwell.garden.load import load_garden
from steepwell.store.store import garden_store_url, open_store

if TYPE_CHECKING:
    from pathlib import Path

    from tests.commands.answers import Command

    from steepwell.store.entries import Entry

Json = dict[str, Any]

DAY = timedelta(days=1)
STARTED = ("steep-started", "nettle", "nettle", "comfrey", "--water", "50 L", "--at")


def entries_of(path: Path) -> list[Entry]:
    garden = load_garden(path)
    with open_store(garden_store_url(garden), garden, read_only=True) as store:
        return store.journal.entries(WallClock().now())


def ago(days: float) -> str:
    return (WallClock().now() - days * DAY).isoformat(timespec="seconds")


@pytest.mark.parametrize(
    ("words", "figures"),
    [
        (("level-read", "north", "3 of 5 full"), {"butt": "north", "litres": 120.0}),
        (("level-read", "north", "120 L"), {"litres": 120.0}),
        (("rain-read", "4 mm"), {"mm": 4.0}),
        (("temperature-read", "nettle", "14 degC"), {"place": "nettle", "celsius": 14.0}),
        # 59 °F are 15 °C.
        (("temperature-read", "air", "59 degF"), {"place": "air", "celsius": 15.0}),
        (("steep-started", "leek", "leek"), {"vessel": "leek", "water_l": None}),
        (("drawn-off", "nettle", "2 L"), {"vessel": "nettle", "litres": 2.0}),
        (("vessel-emptied", "nettle"), {"vessel": "nettle"}),
        (
            ("fed", "all", "nettle", "30 mL", "--cans", "2"),
            {"bed": "all", "vessel": "nettle", "feed_ml": 30.0, "cans": 2.0},
        ),
        # A tablespoon is 15 mL.
        (("fed", "all", "nettle", "2 tablespoon"), {"feed_ml": 30.0, "cans": 1.0}),
        (
            ("watered", "all", "20 L", "--from", "north"),
            {"bed": "all", "litres": 20.0, "butt": "north"},
        ),
        (("watered", "all", "20 L"), {"butt": None}),
        (("planted", "all", "tomato"), {"bed": "all", "crop": "tomato"}),
        (("cleared", "all"), {"bed": "all", "healthy": True}),
        (("cleared", "all", "--sick"), {"healthy": False}),
        (("planted", "all", "tomato", "--transplanted"), {"transplanted": True}),
        (("picking", "all"), {"bed": "all"}),
        (("looks-hungry", "all"), {"bed": "all"}),
        (
            ("sickness-seen", "clubroot", "--bed", "all"),
            {"sickness": "clubroot", "bed": "all", "vessel": None},
        ),
        (("sickness-seen", "unknown", "--vessel", "nettle"), {"vessel": "nettle", "bed": None}),
        (("bean-test", "nettle", "twisted"), {"vessel": "nettle", "outcome": "twisted"}),
        (("ready-confirmed", "nettle"), {"vessel": "nettle"}),
        (("too-strong", "nettle"), {"vessel": "nettle"}),
        (("conductivity-measured", "nettle", "28 mS/cm"), {"ds_m": 28.0}),
        (("conductivity-measured", "nettle", "900 uS/cm"), {"ds_m": 0.9}),
        (("decanted", "nettle", "4 L", "old can"), {"litres": 4.0, "into": "old can"}),
        (("tap-water-added", "north", "50 L"), {"butt": "north", "litres": 50.0}),
        (
            ("mulched", "all", "straw", "5 cm", "--cover", "80 %"),
            {"bed": "all", "material": "straw", "depth_mm": 50.0, "cover": 0.8},
        ),
        (("mulched", "all", "compost", "20 mm"), {"depth_mm": 20.0, "cover": 1.0}),
        (
            ("restriction", "2031-07-01", "tap", "hose", "--to", "2031-08-31"),
            {"from": "2031-07-01", "to": "2031-08-31", "bars": ["tap", "hose"]},
        ),
        (("restriction", "2031-07-01", "watering"), {"to": None, "bars": ["watering"]}),
        (
            ("away", "2031-07-05", "2031-07-19", "--helper", "robin"),
            {"from": "2031-07-05", "to": "2031-07-19", "helper": "robin"},
        ),
        (("put-to-bed",), {"by": "gardener"}),
        (("butt-emptied", "north"), {"butt": "north"}),
        (("not-watered", "north"), {"butt": "north"}),
    ],
)
def test_note_writes_into_the_journal(
    garden: Path, steepwell: Command, words: tuple[str, ...], figures: Json
) -> None:
    assert steepwell("note", *STARTED, ago(40)).code == 0
    answer = steepwell("note", *words)
    assert (answer.code, answer.err) == (0, "")
    assert "(entry 2)" in answer.out
    *_, entry = entries_of(garden)
    assert entry.kind == words[0]
    written = entry.model_dump(mode="json", by_alias=True)
    for key, value in figures.items():
        assert written[key] == (pytest.approx(value) if isinstance(value, float) else value)


@pytest.mark.parametrize(
    ("words", "figures"),
    [
        (("level-read", "North", "about half"), {"butt": "north", "litres": 100.0}),
        (("rain-read", "4,5 mm"), {"mm": 4.5}),
        (("temperature-read", "Air", "14 C"), {"place": "air", "celsius": 14.0}),
        # A can holds 9 L where the garden file says nothing, a bucket 10 L.
        (("watered", "All", "two cans"), {"bed": "all", "litres": 18.0}),
        (
            ("steep-started", "leek", "Leek", "--buckets", "2,5", "--water", "3 buckets"),
            {"water_l": 30.0},
        ),
        (("planted", "all", "Runner bean"), {"crop": "runner-bean"}),
        (("mulched", "all", "Grass Clippings", "2,5 cm"), {"material": "grass-clippings"}),
        (("restriction", "1 July 2031", "hose", "--to", "31 Aug 2031"), {"to": "2031-08-31"}),
    ],
)
def test_a_note_takes_what_comes_to_mind(
    garden: Path, steepwell: Command, words: tuple[str, ...], figures: Json
) -> None:
    answer = steepwell("note", *words)
    assert (answer.code, answer.err) == (0, "")
    (entry,) = entries_of(garden)
    written = entry.model_dump(mode="json", by_alias=True)
    assert {key: written[key] for key in figures} == figures


def test_a_note_of_yesterday_is_of_the_day_in_the_garden(garden: Path, steepwell: Command) -> None:
    assert steepwell("note", "rain-read", "4 mm", "--at", "yesterday").code == 0
    (entry,) = entries_of(garden)
    here = entry.at.astimezone(ZoneInfo("Europe/London"))
    assert (here.date(), here.hour) == (
        (WallClock().now() - DAY).astimezone(here.tzinfo).date(),
        12,
    )


def test_rain_noted_twice_in_a_day_is_added_up_for_who_notes_it(
    garden: Path, steepwell: Command
) -> None:
    assert garden.is_file()
    assert "in all" not in steepwell("note", "rain-read", "4 mm", "--at", "yesterday").out
    assert (
        "10.0 mm in all for that day"
        in steepwell("note", "rain-read", "6 mm", "--at", "yesterday").out
    )


def test_a_day_that_is_far_off_is_told_with_its_year(garden: Path, steepwell: Command) -> None:
    assert garden.is_file()
    assert (
        "from 5 July 2999 to 19 July 2999"
        in steepwell("note", "away", "2999-07-05", "2999-07-19").out
    )
    assert f" {WallClock().now().year}" not in steepwell("note", "away", "today", "today").out


def test_who_waters_without_a_mail_is_given_the_sheet(garden: Path, steepwell: Command) -> None:
    assert garden.is_file()
    answer = steepwell("note", "away", "2031-07-05", "2031-07-19", "--helper", "robin")
    assert "names no helper robin" in answer.out
    assert "plan --sheet" in answer.out


def test_note_in_json_gives_the_entry_and_its_number(garden: Path, steepwell: Command) -> None:
    when = ago(2)
    answer = steepwell("note", "rain-read", "4 mm", "--at", when, "--garden", str(garden), "--json")
    assert set(answer.json) == {"number", "entry", "changed"}
    assert answer.json["number"] == 1
    assert answer.json["entry"]["kind"] == "rain-read"
    assert datetime.fromisoformat(answer.json["entry"]["at"]) == datetime.fromisoformat(when)


def test_a_wrong_note_is_withdrawn_by_its_number(garden: Path, steepwell: Command) -> None:
    steepwell("note", "watered", "all", "20 L")
    steepwell("note", "watered", "all", "30 L")
    answer = steepwell("note", "corrected", "1")
    assert (answer.code, answer.err) == (0, "")
    assert "entry 1 is withdrawn" in answer.out
    assert [entry.id for entry in entries_of(garden)] == [2]
    again = steepwell("note", "corrected", "1")
    assert again.code == 1
    assert "withdrawn already" in again.err


@pytest.mark.parametrize(
    ("code", "words", "told"),
    [
        (
            1,
            ("level-read", "nort", "half"),
            "no butt 'nort' in the garden file; did you mean 'north'?",
        ),
        (1, ("level-read", "north", "300 L"), "above the top of 'north'; read it again"),
        (1, ("level-read", "north", "some"), "'some' is no level; say for instance"),
        (1, ("level-read", "north", "18 cm from the lid"), "only the litres are known"),
        (1, ("temperature-read", "shed", "14 degC"), "no vessel 'shed'"),
        (1, ("watered", "beans", "20 L"), "no bed 'beans'"),
        (1, ("watered", "all", "20 L", "--from", "south"), "no butt 'south'"),
        (1, ("planted", "all", "tomatoe"), "did you mean 'tomato'?"),
        (1, ("drawn-off", "leek", "2 L"), "'leek' holds no steep"),
        (1, ("vessel-emptied", "leek"), "'leek' holds no steep"),
        (1, ("fed", "all", "leek", "30 mL"), "'leek' holds no steep"),
        (1, ("fed", "all", "nettle", "30 mL", "--cans", "nan"), "cans should be a finite number"),
        (1, ("drawn-off", "nettle", "70 L"), "more than stands above the solids in 'nettle'"),
        (1, ("steep-started", "nettle", "leek"), "note that it was emptied first"),
        (1, ("steep-started", "leek", "leek", "--sick"), "sick 'leek' stays out of a vessel"),
        (1, ("steep-started", "leek", "foxglove"), "it is poisonous"),
        (1, ("sickness-seen", "clubrot", "--bed", "all"), "did you mean 'clubroot'?"),
        (1, ("sickness-seen", "clubroot"), "in a bed, or in a vessel"),
        (1, ("bean-test", "leek", "healthy"), "'leek' holds no steep"),
        (1, ("bean-test", "nettle", "fine"), "outcome should be 'healthy' or 'twisted'"),
        (1, ("drawn-off", "nettle", "-2 L"), "litres should be greater than 0"),
        (1, ("corrected", "7"), "there is no entry 7 to withdraw"),
        (1, ("rain-read", "4 mm", "--at", ago(-1)), "is in the future"),
        (2, ("rain-read", "4 mm", "--at", "lately"), "'lately' is no time; write"),
        (2, ("restriction", "in summer", "hose"), "'in summer' is no day; write"),
        (2, ("rain-read", "4 L"), "'4 L': 'L' is not the unit of a depth of water"),
        (2, ("rain-read", "a lot"), "'a lot': a depth of water is a number and a unit"),
        (2, ("watered", "all", "2 gallon"), "us_gallon"),
        (2, ("corrected", "last"), "'last' is no number of an entry"),
        (2, ("corrected", "²"), "'²' is no number of an entry"),
    ],
)
def test_a_note_that_cannot_be_is_refused(
    garden: Path,
    steepwell: Command,
    code: int,
    words: tuple[str, ...],
    told: str,
) -> None:
    steepwell("note", *STARTED, ago(40))
    answer = steepwell("note", *words)
    assert (answer.code, answer.out) == (code, "")
    assert answer.err.startswith("steepwell: ")
    assert told in answer.err
    assert len(answer.err.splitlines()) == 1
    assert [entry.kind for entry in entries_of(garden)] == ["steep-started"]


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("steep-started", "leek", "leek"), "Healthy, roots clean?"),
        (("cleared", "all"), "Healthy, roots clean?"),
        (("cleared", "all", "--sick"), "never into a vessel"),
        (("picking", "all"), "no feed there for a fortnight"),
        (("sickness-seen", "rust", "--bed", "all"), "which vessel is locked"),
    ],
)
def test_a_note_asks_what_matters_next(
    garden: Path, steepwell: Command, words: tuple[str, ...], told: str
) -> None:
    assert garden.is_file()
    assert told in steepwell("note", *words).out


def test_what_was_cleared_sick_stays_out_of_a_vessel(garden: Path, steepwell: Command) -> None:
    steepwell("note", "planted", "all", "leek", "--at", ago(90))
    steepwell("note", "cleared", "all", "--sick", "--at", ago(2))
    refused = steepwell("note", "steep-started", "leek", "leek")
    assert refused.code == 1
    assert "was cleared sick" in refused.err
    assert "burn it or put it in the bin" in refused.err
    assert [entry.kind for entry in entries_of(garden)] == ["planted", "cleared"]
    assert steepwell("note", "steep-started", "leek", "nettle").code == 0
