"""A part that was called otherwise keeps its past, in the journal and in what was worked out."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

from steepwell.garden.load import garden_from
from steepwell.store.entries import parse_entry
from steepwell.store.renames import Renames
from steepwell.store.store import garden_store_url, open_store

if TYPE_CHECKING:
    from pathlib import Path

    from steepwell.garden.garden import Garden

NOW = datetime(2031, 6, 1, 12, 0, tzinfo=UTC)
NOTED: tuple[dict[str, Any], ...] = (
    {"kind": "level-read", "butt": "north", "litres": 120.0},
    {"kind": "watered", "bed": "beans", "butt": "south", "litres": 9.0},
    {"kind": "watered", "bed": "beans", "butt": "north", "litres": 9.0},
    {"kind": "temperature-read", "place": "leek", "celsius": 14.0},
    {"kind": "planted", "bed": "onions", "crop": "onion"},
)
OUTLOOK = {
    "garden": "north",
    "butts": [{"name": "north", "now_l": 120.0}, {"name": "south", "now_l": 60.0}],
    "beds": [{"name": "beans"}],
}


def garden(folder: Path, declared: dict[str, Any], **renamed: str) -> Garden:
    """Return the garden with parts renamed."""
    raw = {
        kind: [
            {**part, "name": renamed[part["name"]], "was": part["name"]}
            if part["name"] in renamed
            else part
            for part in parts
        ]
        for kind, parts in declared.items()
        if kind in {"butt", "vessel", "bed"}
    }
    return garden_from({"garden": declared["garden"], **raw}, path=folder / "garden.toml")


def test_a_renamed_part_keeps_its_past(tmp_path: Path, declared: dict[str, Any]) -> None:
    before = garden(tmp_path, declared)
    with open_store(garden_store_url(before), before) as store:
        for raw in NOTED:
            entry = parse_entry(raw, before, NOW, [])
            store.journal.append(entry, NOW)
        store.results.save("outlook", NOW, OUTLOOK)
    after = garden(tmp_path, declared, north="pump", beans="long-bed", leek="barrel")
    with open_store(garden_store_url(after), after) as store:
        level, *watered, warmth, planted = store.journal.entries(NOW)
        document = store.results.latest("outlook", NOW)
        (same,) = store.results.between("outlook", NOW, NOW.replace(day=2))
    told = level.model_dump()["butt"], [one.model_dump()["butt"] for one in watered]
    assert told == ("pump", ["south", "pump"])
    assert warmth.model_dump()["place"] == "barrel"
    assert planted.model_dump()["bed"] == "onions"
    assert document is not None
    assert document == same
    assert [butt["name"] for butt in document["butts"]] == ["pump", "south"]
    assert [bed["name"] for bed in document["beds"]] == ["long-bed"]
    # What the garden itself is called is another matter.
    assert document["garden"] == "north"


def test_names_of_one_kind_say_nothing_of_another(tmp_path: Path, declared: dict[str, Any]) -> None:
    renames = Renames(garden(tmp_path, declared, north="pump"))
    read = renames.read({"bed": "north", "from": "north", "beds": [{"name": "north"}]})
    assert read == {"bed": "north", "from": "pump", "beds": [{"name": "north"}]}


def test_a_job_is_named_after_its_bed(tmp_path: Path, declared: dict[str, Any]) -> None:
    renames = Renames(garden(tmp_path, declared, beans="long-bed"))
    done = {"job": "water/beans/2031-06-01", "litres": 9.0}
    assert renames.read(done) == {"job": "water/long-bed/2031-06-01", "litres": 9.0}
