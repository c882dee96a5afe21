"""What is to be done with vessels: filled, topped up, tested, kept shut."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

import pytest
from tests.gardens import flat_record, make_garden, state_of

from steepwell.decide.vessel_lines import vessel_lines
from steepwell.outlook.outlook import make_outlook
from steepwell.outlook.state import SteepNow
from steepwell.store.entries import Matter, SicknessSeen, SteepStarted

if TYPE_CHECKING:
    from collections.abc import Sequence

    from steepwell.garden.garden import Garden
    from steepwell.store.entries import Entry

Json = dict[str, Any]
NOW = datetime(2031, 7, 1, 5, 30, tzinfo=UTC)
DAY = timedelta(days=1)
PEAS = {"crop": "runner-bean", "planted": "04-20", "cleared": "07-12"}
LATER = {"crop": "runner-bean", "planted": "07-20", "cleared": "11-20"}


def garden_of(*crops: Json, **more: Any) -> Garden:  # noqa: ANN401 - sections of a garden file
    return make_garden(
        bed=[{"name": "long-bed", "area": "4 m2", "crops": list(crops)}],
        vessel=[{"name": "one", "volume": "60 L"}],
        **more,
    )


def lines(
    garden: Garden,
    steep: SteepNow | None = None,
    *,
    entries: Sequence[Entry] = (),
    spare_l: float = 100.0,
) -> list[Json]:
    steeps = [steep or SteepNow("one", 17.0, None, 0.0, 0.0, 0.0, ())]
    state = state_of(garden, NOW, depletion_mm=[0.0], steeps=steeps)
    return vessel_lines(garden, state, None, entries, spare_l=spare_l, record=flat_record())


def steep(litres: float, *plants: str, age_d: float = 30.0, solids_l: float = 10.0) -> SteepNow:
    """Return a steep in the vessel, which holds 54 L when it is full."""
    started = NOW - age_d * DAY
    return SteepNow("one", 17.0, started, age_d, litres, 54.0 - litres, plants, solids_l)


def test_what_no_longer_recovers_is_emptied_and_begun_anew() -> None:
    spent = replace(steep(30.0, "runner-bean"), ended=True)
    (line,) = lines(garden_of(PEAS, LATER), spent)
    assert (line["do"], line["rainwater_l"]) == ("empty", 0)
    assert "never to a drain; then begin it anew with about 5 pressed buckets" in line["reason"]


def test_a_vessel_is_filled_on_the_day_its_matter_is_cleared() -> None:
    # The beans come out on 12 July; the next ones want feed 42 days after 20 July (crop table).
    (line,) = lines(garden_of(PEAS, LATER))
    assert (line["name"], line["do"], line["by"]) == ("one", "fill", "2031-07-12")
    assert line["rainwater_l"] == 54
    # 54 L at a bucket to ten litres, 2.5 kg each (table of buckets).
    pressed = "about 5 pressed buckets of runner bean, about 14 kg, healthy, roots clean"
    assert line["matter"] == pressed
    assert "matter comes out of long bed about 12 July" in line["reason"]
    assert "first feed about 31 August" in line["reason"]


def test_water_for_it_may_still_come_until_then() -> None:
    assert lines(garden_of(PEAS, LATER), spare_l=0.0)
    soon = {**PEAS, "cleared": "07-04"}
    assert lines(garden_of(soon, LATER), spare_l=0.0) == []


@pytest.mark.parametrize(
    ("now", "spare_l", "told"),
    [
        # More than a tenth of 54 L is gone; nettles can be cut in July.
        (steep(40.0, "nettle"), 100.0, ("more nettle, healthy, roots clean", "14 of the 54 L")),
        (steep(50.0, "nettle"), 100.0, None),
        (steep(40.0, "nettle"), 13.0, None),
        # Beans stand in the bed and have leaves to spare.
        (
            steep(40.0, "runner-bean"),
            100.0,
            ("more runner bean, healthy, roots clean", "14 of the 54 L"),
        ),
        # No leeks anywhere: a young feed waits, an old one bears rainwater alone.
        (steep(40.0, "leek"), 100.0, None),
        (steep(40.0, "leek", age_d=300.0), 100.0, (None, "old enough for rainwater alone")),
        # 5 L above the solids of 54.
        (steep(50.0, "nettle", solids_l=45.0), 100.0, ("more nettle", "about to show")),
    ],
)
def test_a_vessel_is_topped_up_when_it_is_worth_it(
    now: SteepNow, spare_l: float, told: tuple[str | None, str] | None
) -> None:
    found = lines(garden_of(PEAS), now, spare_l=spare_l)
    assert [line["do"] for line in found] == ([] if told is None else ["top up"])
    if told is not None:
        (line,) = found
        assert line["rainwater_l"] == round(54.0 - now.liquid_l)
        assert (line["matter"] or "").startswith(told[0] or "")
        assert told[1] in line["reason"]


def begun(*plants: str) -> SteepStarted:
    matter = tuple(Matter(plant=plant) for plant in plants)
    return SteepStarted(at=NOW - 3 * DAY, vessel="one", matter=matter)


def test_a_doubtful_vessel_is_tested_and_a_sick_one_kept_shut() -> None:
    now = steep(54.0, "hay", age_d=3.0)
    (line,) = lines(garden_of(PEAS), now, entries=[begun("hay")])
    assert (line["do"], line["by"]) == ("test", "2031-07-05")
    assert "three pots of beans that are given it and three that are not" in line["reason"]
    sick = SicknessSeen(at=NOW - DAY, sickness="clubroot", vessel="one")
    (line,) = lines(garden_of(PEAS), steep(30.0, "nettle"), entries=[begun("nettle"), sick])
    assert (line["do"], line["by"]) == ("keep shut", None)
    # Nothing goes into it any more.
    assert lines(garden_of(PEAS), entries=[sick]) == []


def test_what_would_overflow_goes_into_vessels_now() -> None:
    roof = [{"name": "shed", "area": "20 m2", "into": "north"}]
    garden = garden_of(roof=roof)
    state = state_of(
        garden, NOW, litres=(195.0,), depletion_mm=[0.0], steeps=[steep(40.0, "nettle")]
    )
    outlook = make_outlook(garden, state, flat_record(rain_mm=8.0), [], seed=1, days=20, members=20)
    (line,) = vessel_lines(garden, state, outlook, [], spare_l=0.0, record=None)
    assert (line["do"], line["by"], line["rainwater_l"]) == ("top up", "2031-07-01", 14)
    assert "about to overflow" in line["reason"]
