"""The ration of a week: plenty is not rationed, what is short goes where it saves most."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from tests.gardens import flat_record, make_garden, state_of

from steepwell.decide.plan import make_plan
from steepwell.decide.ration import Ration, ration
from steepwell.decide.watering import share_water
from steepwell.outlook.outlook import make_outlook
from steepwell.outlook.state import SteepNow
from steepwell.store.entries import parse_entry
from steepwell.tell import documents

if TYPE_CHECKING:
    from collections.abc import Sequence

    from steepwell.garden.garden import Garden
    from steepwell.outlook.outlook import Outlook
    from steepwell.outlook.state import State
    from steepwell.store.entries import Entry

# A Tuesday, 06:30 in London: beans of 20 May are in flower, onions of March ripen.
NOW = datetime(2031, 7, 15, 5, 30, tzinfo=UTC)
CROPS = {
    "beans": {"crop": "bean", "planted": "05-20", "cleared": "08-25"},
    "onions": {"crop": "onion", "planted": "03-20", "cleared": "08-31"},
    "lettuces": {"crop": "lettuce", "planted": "06-20", "cleared": "09-10"},
}


def bed(name: str, **more: object) -> dict[str, object]:
    crop = CROPS.get(name, CROPS["lettuces"])
    return {"name": name, "area": "3 m2", "crops": [crop], **more}


def garden_of(*beds: dict[str, object], litres: float = 200.0, **more: object) -> Garden:
    sections: dict[str, Any] = {
        "butt": [{"name": "north", "litres": f"{litres} L"}],
        "bed": list(beds) or [bed(name) for name in CROPS],
        **more,
    }
    return make_garden(zone="Europe/London", **sections)


def state(garden: Garden, litres: float, depletion_mm: Sequence[float] | float = 20.0) -> State:
    lacks = [depletion_mm] * len(garden.bed) if isinstance(depletion_mm, float) else depletion_mm
    return state_of(garden, NOW, litres=[litres], depletion_mm=lacks, crop="bean")


def outlook_of(garden: Garden, now: State, *, rain_mm: float = 0.0, days: int = 56) -> Outlook:
    record = flat_record(rain_mm=rain_mm)
    return make_outlook(garden, now, record, [], seed=1, days=days, members=20)


def wanted_of(garden: Garden, outlook: Outlook) -> dict[str, float]:
    medians = np.median(outlook.futures.bed_wanted_l, axis=1).tolist()
    return {one.name: litres for one, litres in zip(garden.bed, medians, strict=True)}


def shared(
    garden: Garden,
    litres: float,
    *,
    depletion_mm: Sequence[float] | float = 20.0,
    rain_mm: float = 0.0,
    entries: Sequence[Entry] = (),
    time_limit_s: float = 60.0,
) -> Ration:
    now = state(garden, litres, depletion_mm)
    outlook = outlook_of(garden, now, rain_mm=rain_mm)
    wanted = wanted_of(garden, outlook)
    return ration(garden, now, outlook, entries, wanted, time_limit_s=time_limit_s)


def test_where_there_is_plenty_everybody_gets_what_simple_sharing_gives() -> None:
    garden = garden_of(litres=5000.0)
    now = state(garden, 5000.0)
    outlook = outlook_of(garden, now)
    wanted = wanted_of(garden, outlook)
    found = ration(garden, now, outlook, [], wanted)
    assert found == Ration(share_water(garden, now, wanted))
    assert {line.bed for line in found.lines if line.litres} == set(CROPS)
    assert not any("lose" in line.reason or line.stop for line in found.lines)


def test_without_an_outlook_water_is_shared_simply() -> None:
    garden = garden_of()
    now = state(garden, 50.0)
    wanted = dict.fromkeys(CROPS, 40.0)
    assert ration(garden, now, None, [], wanted) == Ration(share_water(garden, now, wanted))


def test_in_flower_comes_before_salad_and_ripening_onions_stop() -> None:
    found = {line.bed: line for line in shared(garden_of(), 45.0).lines}
    assert list(found) == ["beans", "lettuces", "onions"]
    beans, onions = found["beans"], found["onions"]
    assert beans.litres > found["lettuces"].litres
    assert beans.reason == "in flower, and dry already; it has most to lose"
    assert (onions.litres, onions.stop, onions.days, onions.butt) == (0.0, True, (), None)
    assert onions.reason == "ripening, and keeps better for being dry"


def test_the_gardeners_own_priority_comes_on_top() -> None:
    beans = [CROPS["beans"]]
    beds = [bed("first", crops=beans), bed("second", crops=beans, priority=2.0)]
    found = {line.bed: line.litres for line in shared(garden_of(*beds), 45.0).lines}
    assert found["second"] > found["first"]


@pytest.mark.parametrize("litres", [20.0, 60.0, 150.0])
def test_the_lines_are_cans_on_evenings_of_the_week(litres: float) -> None:
    found = shared(garden_of(), litres)
    assert sum(line.litres for line in found.lines) <= litres + 1e-6
    for line in found.lines:
        assert (2 * line.cans).is_integer()
        assert line.litres == pytest.approx(9.0 * line.cans)
        assert line.litres == 0.0 or line.litres >= 15.0
        assert (line.butt == "north") == bool(line.litres) == bool(line.days)
        assert all(date(2031, 7, 15) <= day < date(2031, 7, 22) for day in line.days)
        assert not (line.stop and line.litres)


def test_what_is_moist_can_wait() -> None:
    found = {line.bed: line for line in shared(garden_of(), 45.0, depletion_mm=[20.0, 0, 0]).lines}
    assert found["beans"].days[0] == date(2031, 7, 15)
    later = found["lettuces"]
    assert later.litres == 0.0 or later.days[0] > date(2031, 7, 15)
    assert not later.stop


def test_while_water_is_short_every_bed_with_a_crop_has_a_line() -> None:
    garden = garden_of(*(bed(name) for name in CROPS), bed("pot", kind="pot"))
    now = state(garden, 45.0, [20.0, 0.0, 20.0, 0.0])
    outlook = outlook_of(garden, now)
    told = {line.bed: line for line in ration(garden, now, outlook, [], {"beans": 60.0}).lines}
    assert set(told) == {*CROPS, "pot"}
    assert told["onions"].cans == 0.0
    assert told["pot"].reason == "holds out through the week"
    assert [name for name, line in told.items() if line.enough] == ["pot"]
    told_of = make_plan(garden, now, outlook, [])["water"]
    assert {line["bed"] for line in told_of} == {*CROPS, "pot"}


def test_the_time_being_up_water_is_shared_by_priority_and_says_so() -> None:
    garden = garden_of()
    found = shared(garden, 45.0, time_limit_s=0.0)
    now = state(garden, 45.0)
    simple = share_water(garden, now, wanted_of(garden, outlook_of(garden, now)))
    told = [(line.bed, line.litres, line.days, line.butt) for line in found.lines]
    assert told == [(line.bed, line.litres, line.days, line.butt) for line in simple]
    assert all("by priority alone" in line.reason for line in found.lines)
    assert not found.spare


def test_daily_water_comes_off_the_top() -> None:
    garden = garden_of(bed("beans"), bed("peppers", kind="pot", area="1 m2"), litres=300.0)
    found = {line.bed: line for line in shared(garden, 40.0).lines}
    assert found["peppers"].daily_l is not None
    assert found["peppers"].litres == 7 * found["peppers"].daily_l
    assert found["peppers"].litres + found["beans"].litres <= 40.0
    dry = {line.bed: line for line in shared(garden, 2.0).lines}
    assert "so are the butts" in dry["peppers"].reason
    assert "so are the butts" in dry["beans"].reason


def test_trays_have_tap_water_where_there_is_a_tap() -> None:
    beds = [bed("beans"), bed("seedlings", kind="tray", area="0.5 m2")]
    with_tap = garden_of(*beds, tap={"available": "yes"})
    now = state(with_tap, 20.0)
    plan = make_plan(with_tap, now, outlook_of(with_tap, now), [])
    told = {line["bed"]: line for line in plan["water"]}
    seedlings = told["seedlings"]
    assert seedlings["from"] is None
    assert seedlings["daily_l"] > 0
    assert plan["tap_l"] == round(seedlings["litres"])
    assert "this week's rain" in seedlings["reason"]
    # All that is in hand is for the beans.
    assert told["beans"]["litres"] > 20.0 - 9.0
    assert {line.bed: line.butt for line in shared(garden_of(*beds), 20.0).lines} == {
        "seedlings": "north",
        "beans": None,
    }


def test_how_long_it_lasts_is_what_the_share_out_leaves() -> None:
    garden = garden_of()
    found = shared(garden, 60.0)
    assert found.lasts_to is not None
    days = [date.fromisoformat(day) for day in found.lasts_to.values() if day]
    assert set(found.lasts_to) == {"p10", "p50", "p90"}
    assert days == sorted(days)
    # Without rain 60 L last three beds of 3 m² for days, not for weeks.
    assert date(2031, 7, 15) <= days[0] <= date(2031, 8, 5)
    empty = shared(garden, 4.0).lasts_to
    assert empty is not None
    assert set(empty.values()) == {"2031-07-15"}


def test_a_plan_that_rations_has_the_same_keys_and_fills_no_vessel() -> None:
    vessels = [{"name": "spare", "volume": "20 L"}]
    garden = garden_of(vessel=vessels, litres=300.0)
    steep = SteepNow("spare", 18.0, None, 0.0, 0.0, 0.0, ())
    lacks = [20.0] * 3
    now = state_of(garden, NOW, litres=[150.0], depletion_mm=lacks, steeps=[steep], crop="bean")
    outlook = outlook_of(garden, now)
    plan = make_plan(garden, now, outlook, [])
    documents.Plan.model_validate(plan)
    keys = "bed daily_l cans litres days from skip_after_mm stop enough reason"
    assert {frozenset(line) for line in plan["water"]} == {frozenset(keys.split())}
    assert any(line["stop"] for line in plan["water"])
    assert plan["lasts_to"] != outlook.document["water"]["dry_by"]
    # 150 L would do for its 18 L, but a bed needs them later.
    assert plan["vessels"] == []


def test_a_bed_that_was_cleared_is_not_spoken_of() -> None:
    garden = garden_of()
    raw = {"kind": "cleared", "at": (NOW - timedelta(days=1)).isoformat(), "bed": "beans"}
    cleared = parse_entry(raw, garden, NOW, [])
    assert "beans" not in {line.bed for line in shared(garden, 45.0, entries=[cleared]).lines}


def test_a_garden_without_butts_is_left_dry() -> None:
    garden = garden_of(butt=[], vessel=[{"name": "nettle", "volume": "60 L"}])
    steep = SteepNow("nettle", 18.0, None, 0.0, 0.0, 0.0, ())
    now = state_of(garden, NOW, litres=[], depletion_mm=[20.0] * 3, steeps=[steep], crop="bean")
    outlook = outlook_of(garden, now)
    found = ration(garden, now, outlook, [], wanted_of(garden, outlook))
    assert {line.bed for line in found.lines} == set(CROPS)
    assert not any(line.litres or line.butt for line in found.lines)


def test_a_bed_of_a_tenth_of_a_square_metre_has_its_half_can() -> None:
    tiny = bed("tiny", area="0.1 m2", crops=[CROPS["beans"]])
    found = {line.bed: line for line in shared(garden_of(bed("beans"), tiny), 45.0).lines}
    assert found["tiny"].cans == 0.5
    assert found["beans"].cans > 0.5


def test_a_garden_of_one_tiny_bed_is_shared_out_too() -> None:
    garden = garden_of(bed("tiny", area="0.1 m2", crops=[CROPS["beans"]]))
    (line,) = shared(garden, 6.0, depletion_mm=30.0).lines
    assert line.litres in {0.0, 4.5}
    assert line.reason


def test_a_garden_without_beds_has_a_plan_without_water() -> None:
    garden = garden_of(bed("beans")).model_copy(update={"bed": ()})
    now = state_of(garden, NOW, litres=[100.0], depletion_mm=[])
    plan = make_plan(garden, now, outlook_of(garden, now, rain_mm=1.0), [])
    documents.Plan.model_validate(plan)
    assert (plan["water"], plan["in_hand_l"]) == ([], 100)


def test_a_garden_without_a_roof_shares_out_what_it_has() -> None:
    garden = garden_of()
    assert garden.roof == ()
    found = shared(garden, 45.0, rain_mm=0.2)
    assert 0.0 < sum(line.litres for line in found.lines) <= 45.0
