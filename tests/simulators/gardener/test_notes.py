from __future__ import annotations

import json
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

import pytest

from steepwell.errors import CommandError
from steepwell_sim.gardener.notes import read_notes, usual_notes

if TYPE_CHECKING:
    from pathlib import Path

    from steepwell.garden.garden import Garden


def test_vessels_are_filled_on_the_first_of_may(garden: Garden) -> None:
    notes = usual_notes(garden, date(2031, 4, 1), date(2031, 9, 30))
    assert [note.entry["vessel"] for note in notes] == ["leeks", "barrel"]
    for note in notes:
        assert note.at.isoformat() == note.entry["at"] == "2031-05-01T19:00:00+01:00"
    # Called after a crop, it gets that crop; else nettles. A tenth stays free: 100 L and 60 L.
    assert [note.entry["matter"][0]["plant"] for note in notes] == ["leek", "nettle"]
    assert [note.entry["water_l"] for note in notes] == [90.0, 54.0]
    assert all(note.entry["matter"][0]["family"] for note in notes)


@pytest.mark.parametrize(
    ("first", "last", "day"),
    [
        (date(2031, 6, 1), date(2031, 9, 30), date(2031, 6, 1)),
        (date(2031, 1, 1), date(2031, 3, 1), None),
    ],
)
def test_or_on_the_first_day_or_never(
    garden: Garden, first: date, last: date, day: date | None
) -> None:
    days = {note.at.date() for note in usual_notes(garden, first, last)}
    assert days == ({day} if day else set())


def test_reads_a_file_in_the_order_of_time(garden: Garden, tmp_path: Path) -> None:
    late = {"kind": "watered", "at": "2031-06-02T19:00:00+01:00", "bed": "beans", "litres": 9}
    early = {"kind": "vessel-emptied", "at": "2031-06-01T08:00:00Z", "vessel": "leeks"}
    path = tmp_path / "journal.jsonl"
    path.write_text(f"{json.dumps(late)}\n\n{json.dumps(early)}\n")
    assert [note.entry for note in read_notes(path, garden)] == [early, late]
    (first, _) = read_notes(path, garden)
    assert first.at == datetime.fromisoformat("2031-06-01T09:00:00+01:00")
    assert first.at.utcoffset() == timedelta(0)


@pytest.mark.parametrize(
    ("line", "message"),
    [
        ("not json", "Line 1"),
        ("[1]", "Line 1 .* an entry is a JSON object"),
        ('{"at": "2031-06-01T08:00:00Z"}', "an entry is a JSON object"),
        ('{"kind": "watered"}', "Line 1"),
        ('{"kind": "watered", "at": "2031-06-01T08:00:00"}', "needs its zone"),
        ('{"kind": "watered", "at": "2031-06-01T08:00:00Z", "bed": "peas"}', "no bed 'peas'"),
        ('{"kind": "drawn-off", "at": "2031-06-01T08:00:00Z", "vessel": "x"}', "no vessel 'x'"),
    ],
)
def test_refuses_what_is_no_entry(garden: Garden, tmp_path: Path, line: str, message: str) -> None:
    path = tmp_path / "journal.jsonl"
    path.write_text(line)
    with pytest.raises(CommandError, match=message):
        read_notes(path, garden)


def test_refuses_a_file_that_is_not_there(garden: Garden, tmp_path: Path) -> None:
    with pytest.raises(CommandError, match="cannot be read"):
        read_notes(tmp_path / "none.jsonl", garden)
