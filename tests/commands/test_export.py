"""What is stored, written for other programs: as CSV or JSON Lines, to a folder or a pipe."""

from __future__ import annotations

import csv
import io
import json
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

import jsonschema
import pytest
from tests.gardens import put_readings
from tests.tell.conftest import PLAN

from steepwell.garden.load import load_garden
from steepwell.store.entries import Corrected, JobDone, RainRead
from steepwell.store.store import garden_store_url, open_store

if TYPE_CHECKING:
    from pathlib import Path

    from tests.commands.answers import Command

Json = dict[str, Any]

# Three days of the summer of 2025, in a garden an hour ahead of UTC.
NOON = datetime(2025, 6, 10, 11, tzinfo=UTC)
DAY = timedelta(days=1)
HOUR = timedelta(hours=1)


@pytest.fixture
def kept(garden: Path) -> Path:
    """Return a garden with three days of a gauge that counts, three entries and an outlook."""
    declared = load_garden(garden)
    with open_store(garden_store_url(declared), declared) as store:
        # 2.0, then 2.4 and 3.0 within one hour a day later, then 3.0 again.
        values = {0: 2.0, 24: 2.4, 24.5: 3.0, 48: 3.0}
        put_readings(store, "gauge", {NOON + hours * HOUR: mm for hours, mm in values.items()})
        wrong = store.journal.append(RainRead(at=NOON, mm=20.0), NOON)
        store.journal.append(Corrected(at=NOON + HOUR, withdraws=wrong), NOON + HOUR)
        done = JobDone(at=NOON + DAY, job="water/all/2025-06-11", litres=18.0, by="robin")
        store.journal.append(done, NOON + DAY)
        for days in (0, 1):
            store.results.save("outlook", NOON + days * DAY, outlook(days))
    return garden


def outlook(ahead: int) -> Json:
    quantiles = ("p05", "p10", "p25", "p50", "p75", "p90", "p95")
    return {
        "schema": 1,
        "issued": (NOON + ahead * DAY).isoformat(),
        "days": ["2025-06-10", "2025-06-11"],
        "water": {"volume_l": {name: [100.0, 90.0] for name in quantiles}, "p_dry": [0.0, 0.25]},
    }


def rows_of(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text)))


def test_readings_come_as_they_are_stored(kept: Path, steepwell: Command) -> None:
    answer = steepwell("export", str(kept), "--of", "readings")
    assert (answer.code, answer.err) == (0, "")
    rows = rows_of(answer.out)
    assert [row["value"] for row in rows] == ["2.0", "2.4", "3.0", "3.0"]
    assert rows[0] == {
        "time": "2025-06-10T11:00:00.000Z",
        "sensor": "gauge",
        "measures": "rain_total_mm",
        "value": "2.0",
        "flag": "1",
        "reason": "",
    }


def test_hours_say_what_fell_in_them(kept: Path, steepwell: Command) -> None:
    answer = steepwell("export", str(kept), "--of", "hours", "--as", "jsonl")
    told = [json.loads(line) for line in answer.out.splitlines()]
    fell = {row["hour"]: row["value"] for row in told if row["value"]}
    assert fell == {"2025-06-11T11:00:00.000Z": pytest.approx(1.0)}
    assert {row["measures"] for row in told} == {"rain_mm"}


def test_the_journal_tells_what_was_withdrawn_too(kept: Path, steepwell: Command) -> None:
    lines = steepwell("export", str(kept), "--of", "journal", "--as", "jsonl").out.splitlines()
    wrong, corrected, done = (json.loads(line) for line in lines)
    assert (wrong["number"], wrong["mm"], wrong["withdrawn_by"]) == (1, 20.0, 2)
    assert (corrected["kind"], corrected["withdraws"]) == ("corrected", 1)
    assert (done["kind"], done["litres"], done["by"]) == ("job-done", 18.0, "robin")
    table = rows_of(steepwell("export", str(kept), "--of", "journal").out)
    assert [row["kind"] for row in table] == ["rain-read", "corrected", "job-done"]
    assert json.loads(table[0]["entry"]) == {"mm": 20.0}


def test_outlooks_come_whole_or_by_their_days(kept: Path, steepwell: Command) -> None:
    whole = steepwell("export", str(kept), "--of", "outlooks", "--as", "jsonl").out.splitlines()
    assert [json.loads(line) for line in whole] == [outlook(0), outlook(1)]
    table = rows_of(steepwell("export", str(kept), "--of", "outlooks").out)
    assert [(row["day"], row["volume_l_p50"], row["p_dry"]) for row in table][1] == (
        "2025-06-11",
        "90.0",
        "0.25",
    )
    assert len(table) == 4


def test_a_span_is_of_the_garden_s_days(kept: Path, steepwell: Command) -> None:
    span = ("--from", "2025-06-11", "--to", "2025-06-11")
    answer = steepwell("export", str(kept), "--of", "readings", *span)
    assert [row["value"] for row in rows_of(answer.out)] == ["2.4", "3.0"]


def test_into_a_folder_go_all_and_it_is_said_how_many(
    kept: Path, steepwell: Command, tmp_path: Path
) -> None:
    into = tmp_path / "out" / "there"
    answer = steepwell("export", str(kept), "--into", str(into), "--json")
    assert {path.name for path in into.iterdir()} == {"hours.csv", "journal.csv", "outlooks.csv"}
    counts = {each["file"].rpartition("/")[2]: each["lines"] for each in answer.json["files"]}
    assert (counts["journal.csv"], counts["outlooks.csv"]) == (3, 4)
    assert "journal.csv: 3 lines" in steepwell("export", str(kept), "--into", str(into)).out


def test_the_schemas_are_those_of_what_is_posted(
    kept: Path, steepwell: Command, tmp_path: Path
) -> None:
    printed = steepwell("export", str(kept), "--schemas").json
    assert set(printed) == {"butt", "vessel", "bed", "outlook", "plan", "notice", "alive"}
    for schema in printed.values():
        jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.validate(PLAN, printed["plan"])
    steepwell("export", str(kept), "--schemas", "--into", str(tmp_path / "schemas"))
    written = (tmp_path / "schemas" / "plan.schema.json").read_text(encoding="utf-8")
    assert json.loads(written) == printed["plan"]


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ((), "only one thing at a time"),
        (("--of", "journal", "--from", "June"), "no date"),
        (("--of", "journal", "--from", "2025-06-11", "--to", "2025-06-10"), "before"),
        (("--of", "journal", "--into", "/proc/nowhere"), "cannot be written"),
    ],
)
def test_what_cannot_be_is_said(
    kept: Path, steepwell: Command, words: tuple[str, ...], says: str
) -> None:
    answer = steepwell("export", str(kept), *words)
    assert answer.code == 2
    assert says in answer.err
