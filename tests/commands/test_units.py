"""What commands print is in the units that the garden file asks for; JSON stays metric."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

import pytest
from tests.tell.conftest import outlook

from steepwell.clock import WallClock
from steepwell.garden.load import load_garden
from steepwell.store.store import garden_store_url, open_store

if TYPE_CHECKING:
    from pathlib import Path

    from tests.commands.answers import Command

__all__ = ["outlook"]

METRIC = re.compile(r"\d (?:L|mL|mm|cm|m²|kg|°C|hPa)\b")


@pytest.mark.parametrize(
    ("units", "litres_120"), [("metric", "120 L"), ("imperial", "26 gal"), ("us", "32 gal")]
)
def test_the_garden_file_says_in_which_units_is_told(
    garden: Path, steepwell: Command, outlook: dict[str, Any], units: str, litres_120: str
) -> None:
    text = garden.read_text(encoding="utf-8")
    asked = f'timezone = "Europe/London"\nunits = "{units}"'
    garden.write_text(text.replace('timezone = "Europe/London"', asked), encoding="utf-8")
    noted = steepwell("note", "level-read", "north", "3 of 5 full")
    assert f"holding {litres_120}" in noted.out
    declared = load_garden(garden)
    with open_store(garden_store_url(declared), declared) as store:
        store.results.save("outlook", WallClock().now(), outlook)
    screens = [steepwell(command, str(garden)).out for command in ("status", "check")]
    assert "of butts" in screens[1]
    # What stands in quotation marks is to be typed, in any unit.
    told = re.sub(r'"[^"]*"', "", "\n".join(screens))
    assert bool(METRIC.search(told)) == (units == "metric")
    assert steepwell("status", str(garden), "--json").json["outlook"]["butts"][0]["now_l"] == 143.2


def test_other_units_are_refused(garden: Path, steepwell: Command) -> None:
    text = garden.read_text(encoding="utf-8")
    asked = 'timezone = "Europe/London"\nunits = "cubits"'
    garden.write_text(text.replace('timezone = "Europe/London"', asked), encoding="utf-8")
    answer = steepwell("check", str(garden))
    assert answer.code == 2
    assert "garden.units" in answer.err
    assert "imperial" in answer.err
