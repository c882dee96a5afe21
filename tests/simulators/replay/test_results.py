from __future__ import annotations

import json
from contextlib import closing
from typing import TYPE_CHECKING

from steepwell_sim.replay.results import Results

if TYPE_CHECKING:
    from pathlib import Path


def test_what_an_earlier_replay_left_is_replaced(tmp_path: Path) -> None:
    folder = tmp_path / "out"
    for day in (1, 2):
        with closing(Results(folder)) as results:
            assert list(results.mail_folder.iterdir()) == []
            (results.mail_folder / f"{day}.eml").write_text("a mail")
            results.line("truth", {"date": f"day {day}"})
            results.whole("summary", {"litres": "für morgen"})
    assert (folder / "truth.jsonl").read_text() == '{"date": "day 2"}\n'
    assert json.loads((folder / "summary.json").read_text()) == {"litres": "für morgen"}
    assert {path.name for path in folder.iterdir()} == {
        "mail",
        "notices.jsonl",
        "outlooks.jsonl",
        "plans.jsonl",
        "summary.json",
        "truth.jsonl",
    }
