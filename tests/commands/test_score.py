"""``steepwell score`` as a person gives it, after some months of outlooks."""

from __future__ import annotations

from datetime import UTC, datetime, time, timedelta
from typing import TYPE_CHECKING, Any

import pytest
from tests.gardens import note

from steepwell.clock import WallClock
from steepwell.garden.days import local_day
from steepwell.garden.load import load_garden
from steepwell.outlook.quantiles import QUANTILES
from steepwell.store.store import garden_store_url, open_store

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

    from tests.commands.answers import Command

Json = dict[str, Any]
OUTLOOKS = 30
HORIZON_D = 60


def outlook(day: date, low_l: float, high_l: float) -> Json:
    fan = {name: [low_l if name < "p50" else high_l] * HORIZON_D for name in QUANTILES}
    return {
        "issued": f"{day}T06:30:00+00:00",
        "days": [(day + timedelta(days=each)).isoformat() for each in range(HORIZON_D)],
        "butts": [{"name": "north", "now_l": 150.0}],
        "water": {"volume_l": fan, "p_dry_by": [0.1] * HORIZON_D},
    }


def keep_outlooks(path: Path, *, levels: bool) -> None:
    """Keep an outlook a day that ended yesterday, and the level of each noon."""
    garden = load_garden(path)
    today = local_day(garden, WallClock().now())
    with open_store(garden_store_url(garden), garden) as store:
        for ago in range(OUTLOOKS, 0, -1):
            day = today - timedelta(days=ago)
            at = datetime.combine(day, time(6, 30), UTC)
            store.results.save("outlook", at, outlook(day, 90.0, 110.0))
            if levels:
                note(store, garden, at.replace(hour=12), "level-read", butt="north", litres=100.0)


def test_score_prints_a_line_for_each_span(garden: Path, steepwell: Command) -> None:
    keep_outlooks(garden, levels=True)
    answer = steepwell("score", str(garden))
    assert (answer.code, answer.err) == (0, "")
    lines = answer.out.splitlines()
    assert lines[0].startswith("plum-lane: 30 outlooks of ")
    # The first outlook is of 30 days ago, and the evening of yesterday is the last one known.
    assert lines[2].split()[:6] == ["7", "days", "24", "24", "of", "24"]
    assert lines[3].split()[:6] == ["14", "days", "17", "17", "of", "17"]
    assert "14 days" in answer.out
    assert max(len(line) for line in lines) <= 100


def test_score_in_json_has_the_terms_of_the_scores(garden: Path, steepwell: Command) -> None:
    keep_outlooks(garden, levels=True)
    scores = steepwell("score", str(garden), "--json").json
    week = scores["stored"][0]
    # Three quantiles are 10 L below, for 0.075, 0.1 and 0.2 of the levels, four 10 L above, for
    # 0.25, 0.2, 0.1 and 0.075: 20 L x (0.075 x 0.05 + 0.1 x 0.1 + 0.2 x 0.25 + 0.25 x 0.5 +
    # 0.2 x 0.25 + 0.1 x 0.1 + 0.075 x 0.05) = 5.05 L.
    assert week["held"] == 24
    assert week["crps_l"] == pytest.approx(5.05)
    # Today's level, 150 L, is off by 50 L.
    assert week["over_level"] == pytest.approx(1.0 - week["crps_l"] / 50.0, abs=1e-3)
    fortnight = scores["dry"][0]
    assert (fortnight["outlooks"], fortnight["came"]) == (17, 0)
    assert fortnight["brier"] == pytest.approx(0.01)
    assert fortnight["reliability"] == pytest.approx(0.01)
    assert [line["outlooks"] for line in scores["stored"][2:]] == [3, 0]


def test_outlooks_without_levels_cannot_be_judged(garden: Path, steepwell: Command) -> None:
    keep_outlooks(garden, levels=False)
    answer = steepwell("score", str(garden))
    assert answer.code == 0
    assert "None can be judged yet" in answer.out


def test_without_outlooks_there_is_nothing_to_judge(garden: Path, steepwell: Command) -> None:
    steepwell("note", "level-read", "north", "half")
    answer = steepwell("score", str(garden))
    assert (answer.code, answer.out) == (1, "")
    assert "no outlook in the store yet" in answer.err


def test_without_a_store_there_is_nothing_to_judge(garden: Path, steepwell: Command) -> None:
    answer = steepwell("score", str(garden))
    assert (answer.code, answer.out) == (1, "")
    assert "start the daemon" in answer.err
