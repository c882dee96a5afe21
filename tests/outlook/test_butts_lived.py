"""What is reckoned of the butts against a simulated garden, whose physics is not the program's."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.gardens import GAUGE, flat_record, level_probe, make_garden, note
from tests.lived import live

from steepwell.outlook.butts import chain_of
from steepwell.outlook.levels import Level
from steepwell.outlook.now import state_now
from steepwell.outlook.reckoning import Reckoning
from steepwell.store.readings import DAY_MS
from steepwell_sim.weather.invent import invent_years

if TYPE_CHECKING:
    from pathlib import Path

    from tests.gardens import Open

FIRST, LAST = date(2031, 5, 10), date(2031, 7, 20)
READ_ON = date(2031, 6, 1)

GARDEN: dict[str, Any] = {
    "butt": [
        {"name": "north", "litres": "400 L", "dead_volume": "15 L", "overflow_to": "south"},
        {"name": "south", "litres": "500 L", "dead_volume": "15 L"},
    ],
    "roof": [
        {"name": "shed", "area": "12 m2", "into": "north"},
        {"name": "porch", "area": "8 m2", "into": "south", "first_flush": "6 L"},
    ],
    "bed": [
        {
            "name": "potatoes",
            "area": "6 m2",
            "butt": "north",
            "crops": [{"crop": "potato", "planted": "04-01"}],
        },
        {
            "name": "beans",
            "area": "5 m2",
            "butt": "south",
            "crops": [{"crop": "bean", "planted": "05-10"}],
        },
    ],
}


@pytest.mark.parametrize("seed", [1, 2])
def test_one_butt_with_a_probe_and_one_read_once_with_a_stick(
    tmp_path: Path, opened: Open, seed: int
) -> None:
    weather = invent_years(2030, 2031, seed=7 + seed)
    garden = make_garden(tmp_path, **GARDEN, sensor=[GAUGE, level_probe("north")])
    store = opened(garden)
    lived = live(garden, store, weather, FIRST, LAST, seed=seed)
    evening = datetime.combine(READ_ON, time(23, 59, 59), UTC)
    by_stick_l = lived.litres[READ_ON]["south"]
    note(store, garden, evening, "level-read", butt="south", litres=by_stick_l)
    for days in (0, 1, 7, 21, 42):
        north, south = state_now(garden, store, flat_record(), evening + timedelta(days=days)).butts
        truly_l = lived.litres[READ_ON + timedelta(days=days)]
        # A probe is good to 2 % of capacity; what is only reckoned, to what it says of itself.
        assert abs(north.volume_l - truly_l["north"]) < 0.02 * 400.0
        assert north.sd_l < 0.02 * 400.0
        assert abs(south.volume_l - truly_l["south"]) < 2.0 * south.sd_l + 0.01 * 500.0
        assert south.sd_l < 0.29 * 500.0


AMOUNTS = st.floats(0.0, 600.0)
STEPS = st.lists(
    st.one_of(
        st.tuples(st.just("rain"), AMOUNTS, AMOUNTS),
        st.tuples(st.just("draw"), st.floats(-300.0, 600.0), st.sampled_from([None, 0, 1])),
        st.tuples(st.just("read"), st.floats(0.0, 400.0), st.sampled_from([0, 1])),
        st.tuples(st.just("nearly"), st.floats(0.0, 400.0), st.sampled_from([0, 1])),
    ),
    max_size=12,
)


@given(steps=STEPS)
def test_whatever_happens_a_butt_holds_what_it_can(steps: list[tuple[str, float, Any]]) -> None:
    chain = chain_of(make_garden(**GARDEN))
    reckoning = Reckoning(chain, 0)
    for number, (what, amount, more) in enumerate(steps):
        reckoning.wait(number * DAY_MS)
        if what == "rain":
            reckoning.rain([amount, more], guessed=bool(number % 2))
        elif what == "draw":
            reckoning.draw(amount, more)
        else:
            at = datetime.fromtimestamp(number * 86_400, UTC)
            level = Level(at, "any", amount, 4.0, at_least=what == "nearly")
            reckoning.read(more, level)
    for volume_l, variance_l2, capacity_l in zip(
        reckoning.volume_l, reckoning.variance_l2, chain.capacity_l, strict=True
    ):
        assert 0.0 <= volume_l <= capacity_l
        # Nothing is less certain than that it is somewhere between empty and full.
        assert 0.0 <= variance_l2 <= (0.5 * capacity_l) ** 2 + 1e-6
