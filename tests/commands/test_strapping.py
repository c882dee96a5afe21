"""A butt is filled can by can, and its table can be pasted."""

from __future__ import annotations

import math
import tomllib
from datetime import timedelta
from typing import TYPE_CHECKING

import pytest

from steepwell.clock import WallClock
from steepwell.garden.water import Butt

if TYPE_CHECKING:
    from tests.commands.answers import Command

# An upright cylinder of 50 cm: 9 L stand 4.58 cm high in it.
CAN_L, DIAMETER_M = 9.0, 0.5


def depth_cm(litres: float) -> float:
    return round(100 * litres / 1000 / (math.pi / 4 * DIAMETER_M**2), 2)


def at(minutes: float) -> str:
    return (WallClock().now() - timedelta(hours=2) + timedelta(minutes=minutes)).isoformat()


@pytest.mark.usefixtures("garden")
def test_a_butt_filled_can_by_can_makes_a_table(steepwell: Command) -> None:
    def pour(depth: str, minutes: float, *more: str) -> str:
        answer = steepwell("note", "filled-to", "north", depth, *more, "--at", at(minutes))
        assert (answer.code, answer.err) == (0, "")
        return answer.out.strip()

    # A first try, given up.
    pour("30 cm", -30)
    assert "is empty, and is filled to measure it" in pour("0 cm", 0)
    for can in range(1, 5):
        pour(f"{depth_cm(CAN_L * can)} cm", can)
    line = pour(f"{depth_cm(CAN_L * 7)} cm", 5, "--cans", "3").rsplit("\n", 1)[-1]
    butt = Butt.model_validate({"name": "north", **tomllib.loads(line)})
    assert butt.capacity_l == pytest.approx(7 * CAN_L)
    for litres in (9.0, 22.5, 54.0):
        found_l = butt.geometry.volume_l(depth_cm(litres) / 100)
        assert found_l == pytest.approx(litres, abs=0.1)


@pytest.mark.usefixtures("garden")
def test_water_that_stands_no_higher_is_refused(steepwell: Command) -> None:
    assert steepwell("note", "filled-to", "north", "10 cm", "--at", at(0)).code == 0
    refused = steepwell("note", "filled-to", "north", "9 cm", "--at", at(1))
    assert refused.code == 1
    assert "stood at 10 cm already" in refused.err
