"""What one store exports, another takes in: once, whole, and nothing that does not belong there."""

from __future__ import annotations

import shutil
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from tests.gardens import put_readings

from steepwell.garden.load import load_garden
from steepwell.store.entries import (
    Corrected,
    Matter,
    PutToBed,
    RainRead,
    SteepStarted,
    Watered,
)
from steepwell.store.store import garden_store_url, open_store

if TYPE_CHECKING:
    from tests.commands.answers import Command

    from steepwell.store.entries import Entry
    from steepwell.store.readings import Reading

NOON = datetime(2025, 6, 10, 11, tzinfo=UTC)
HOUR, DAY = timedelta(hours=1), timedelta(days=1)
LONG_AFTER = datetime(2030, 1, 1, tzinfo=UTC)
READ = '{"time": "2025-06-10T11:00Z", "sensor": "gauge", "flag": 1, %s}\n'
NOTED = '{"number": 1, "at": "2025-06-10T11:00Z", "recorded": "", "kind": %s}\n'
ENTRIES = (Watered(at=NOON, bed="all", litres=18.0), RainRead(at=NOON + DAY, mm=3.5))


@pytest.fixture
def exported(garden: Path, steepwell: Command, request: pytest.FixtureRequest) -> list[Path]:
    """Return the files of a garden with four readings and two entries, and one withdrawn."""
    declared = load_garden(garden)
    with open_store(garden_store_url(declared), declared) as store:
        values = {0: 2.0, 24: 2.4, 24.5: 3.0, 48: 3.0}
        put_readings(store, "gauge", {NOON + hours * HOUR: mm for hours, mm in values.items()})
        for entry in ENTRIES:
            store.journal.append(entry, NOON + DAY)
        wrong = store.journal.append(RainRead(at=NOON, mm=20.0), NOON)
        store.journal.append(Corrected(at=NOON + HOUR, withdraws=wrong), NOON + HOUR)
    into, form = garden.parent / "out", request.param
    words = ("--of", "readings", "journal", "--as", form, "--into", str(into))
    assert steepwell("export", str(garden), *words).code == 0
    return [into / f"readings.{form}", into / f"journal.{form}"]


@pytest.fixture
def other(garden: Path, tmp_path: Path) -> Path:
    """Return the same garden on another board, whose store knows nothing."""
    board = tmp_path / "other-board"
    board.mkdir()
    shutil.copy(garden.parent / "weather.csv", board)
    return Path(shutil.copy(garden, board))


def held(garden: Path) -> tuple[list[Reading], list[Entry]]:
    declared = load_garden(garden)
    with open_store(garden_store_url(declared), declared) as store:
        entries = [e.model_copy(update={"id": None}) for e in store.journal.entries(LONG_AFTER)]
        return list(store.raw.readings(NOON - DAY, LONG_AFTER)), entries


@pytest.mark.parametrize("exported", ["csv", "jsonl"], indirect=True)
def test_another_store_holds_the_same_and_a_second_time_changes_nothing(
    garden: Path, other: Path, exported: list[Path], steepwell: Command
) -> None:
    words = ("import", str(other), "--from", *map(str, exported))
    first, second = steepwell(*words), steepwell(*words)
    assert (first.code, second.code) == (0, 0)
    assert held(other) == held(garden)
    assert held(other)[1] == list(ENTRIES)
    assert [line.partition(": ")[2] for line in first.out.splitlines()] == [
        "4 new, 0 there already",
        "2 new, 0 there already",
    ]
    assert [line.partition(": ")[2] for line in second.out.splitlines()] == [
        "0 new, 4 there already",
        "0 new, 2 there already",
    ]


def test_what_could_not_be_noted_twice_is_taken_in_twice_all_the_same(
    garden: Path, other: Path, steepwell: Command
) -> None:
    steep = SteepStarted(at=NOON, vessel="nettle", matter=(Matter(plant="nettle"),), water_l=40.0)
    declared = load_garden(garden)
    with open_store(garden_store_url(declared), declared) as store:
        for entry in (steep, PutToBed(at=NOON + DAY)):
            store.journal.append(entry, NOON + DAY)
    assert steepwell("export", "--of", "journal", "--into", "out").code == 0
    words = ("import", str(other), "--from", "out/journal.csv")
    assert "2 new, 0 there already" in steepwell(*words).out
    assert "0 new, 2 there already" in steepwell(*words).out


@pytest.mark.parametrize("exported", ["jsonl"], indirect=True)
def test_a_reading_that_is_told_otherwise_here_stays(
    other: Path, exported: list[Path], steepwell: Command
) -> None:
    declared = load_garden(other)
    with open_store(garden_store_url(declared), declared) as store:
        put_readings(store, "gauge", {NOON: 7.0})
    answer = steepwell("import", str(other), "--from", str(exported[0]))
    assert "3 new, 0 there already, 1 refused" in answer.out
    assert [each.value for each in held(other)[0]] == [7.0, 2.4, 3.0, 3.0]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ("", "neither the readings nor the journal"),
        ("date,rain_mm\n2025-06-10,3\n", "neither the readings nor the journal"),
        ("{nonsense\n", "line 1"),
        ('{"time": "2025-06-10T11:00Z", "sensor": "moon", "value": 1, "flag": 1}\n', "moon"),
        ('{"time": "today", "sensor": "gauge", "value": 1, "flag": 1}\n', "line 1"),
        (READ % '"value": 1' + "5\n", "line 2"),
        (READ % '"value": 1' + '{"time": "2025-06-10T12:00Z", "value": 1, "flag": 1}\n', "without"),
        (READ % '"value": NaN', "line 1"),
        (READ.replace("2025", "2925") % '"value": 1', "line 1"),
        (READ.replace('"flag": 1', '"flag": 7') % '"value": 1', "line 1"),
        (NOTED % '"watered", "bed": "moon", "litres": 9', "moon"),
        (NOTED % '"sung"', "line 1"),
    ],
)
def test_what_is_no_export_of_this_garden_is_refused_whole(
    garden: Path, steepwell: Command, words: str, said: str
) -> None:
    file = garden.parent / "strange.txt"
    file.write_text(words, "utf-8")
    answer = steepwell("import", str(garden), "--from", str(file))
    assert answer.code != 0
    assert said in answer.err
    assert held(garden) == ([], [])
