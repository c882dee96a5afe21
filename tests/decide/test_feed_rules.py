"""What holds for every feed of every garden and every journal."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING, Any

from hypothesis import given
from hypothesis import strategies as st
from tests.gardens import make_garden, state_of

from steepwell.decide.feeding import share_feed
from steepwell.decide.locks import locks_on, plant_family
from steepwell.garden.tables import reference_tables
from steepwell.outlook.calendar import standing_on
from steepwell.outlook.state import SteepNow
from steepwell.store.entries import (
    BeanTest,
    Entry,
    Fed,
    LooksHungry,
    Matter,
    Picking,
    SicknessSeen,
    SteepStarted,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from steepwell.decide.feed_due import Unfed
    from steepwell.decide.feeding import Feed
    from steepwell.garden.garden import Garden
    from steepwell.outlook.state import State

Json = dict[str, Any]
NOW = datetime(2031, 7, 15, 5, 30, tzinfo=UTC)
TODAY = date(2031, 7, 15)
DAY = timedelta(days=1)
CROPS = ("tomato", "potato", "leek", "lettuce", "carrot", "courgette", "kale", "strawberry")
TENDER = ("lettuce", "carrot", "strawberry")
PLANTS = ("tomato", "leek", "nettle", "comfrey", "grass-clippings", "kale")
DAYS_OF_WEEK = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")

Case = tuple["Garden", "State", "list[Entry]", "list[str]", float]


@st.composite
def cases(draw: st.DrawFn) -> Case:
    """Return a garden with its state and journal, the beds that are watered, and water to spare."""
    beds = draw(st.lists(st.tuples(st.sampled_from(CROPS), st.integers(0, 130)), max_size=6))
    kinds = draw(st.lists(st.sampled_from(("ground", "pot", "tray")), min_size=6, max_size=6))
    steeps = draw(
        st.lists(
            st.tuples(
                st.lists(st.sampled_from(PLANTS), min_size=1, max_size=2, unique=True),
                st.integers(5, 500),
                st.floats(0.0, 5.0),
                st.floats(0.0, 3.0),
            ),
            min_size=1,
            max_size=4,
        )
    )
    garden = make_garden(
        bed=[_bed(k, crop, age_d, kinds[k]) for k, (crop, age_d) in enumerate(beds)],
        vessel=[{"name": f"vessel-{k}", "volume": "60 L"} for k in range(len(steeps))],
        can={"size": f"{draw(st.sampled_from((1.5, 4.5, 9.0, 12.0)))} L"},
        feed={"smell_free": draw(st.lists(st.sampled_from(DAYS_OF_WEEK), max_size=4))},
    )
    nows = [
        SteepNow(f"vessel-{k}", 17.0, NOW - age * DAY, float(age), litres, 0.0, tuple(plants), low)
        for k, (plants, age, litres, low) in enumerate(steeps)
    ]
    dry = draw(st.lists(st.floats(0.0, 40.0), min_size=len(beds), max_size=len(beds)))
    entries: list[Entry] = [
        SteepStarted(
            at=NOW - age * DAY,
            vessel=f"vessel-{k}",
            matter=tuple(Matter(plant=plant) for plant in plants),
        )
        for k, (plants, age, _, _) in enumerate(steeps)
    ]
    places = [bed.name for bed in garden.bed]
    for number in draw(st.lists(st.integers(0, 5), max_size=8)) if places else []:
        entries += [_noted(draw, number, places, len(steeps))]
    entries.sort(key=lambda entry: entry.at)
    watered = draw(st.lists(st.sampled_from(places), unique=True)) if places else []
    state = state_of(garden, NOW, depletion_mm=dry, steeps=nows)
    return garden, state, entries, watered, draw(st.floats(0.0, 60.0))


def _bed(number: int, crop: str, age_d: int, kind: str) -> Json:
    planted = TODAY - age_d * DAY
    return {
        "name": f"bed-{number}",
        "area": "2 m2",
        "kind": kind,
        "crops": [{"crop": crop, "planted": f"{planted:%m-%d}"}],
    }


def _noted(draw: st.DrawFn, number: int, beds: list[str], vessels: int) -> Entry:
    at = NOW - draw(st.integers(0, 40)) * DAY
    bed = draw(st.sampled_from(beds))
    vessel = f"vessel-{draw(st.integers(0, vessels - 1))}"
    sickness = draw(st.sampled_from(("clubroot", "rust", "unknown", "blight")))
    kinds: tuple[Entry, ...] = (
        Fed(at=at, bed=bed, vessel=vessel, feed_ml=30.0, cans=1.0),
        Picking(at=at, bed=bed),
        LooksHungry(at=at, bed=bed),
        SicknessSeen(at=at, sickness=sickness, vessel=vessel),
        SicknessSeen(at=at, sickness=sickness, bed=bed),
        BeanTest(at=at, vessel=vessel, outcome=draw(st.sampled_from(("healthy", "twisted")))),
    )
    return kinds[number]


def shared(case: Case) -> tuple[list[Feed], list[Unfed]]:
    garden, state, entries, watered, spare_l = case
    evenings: dict[str, Sequence[date]] = dict.fromkeys(watered, ())
    return share_feed(garden, state, entries, watered=evenings, spare_l=spare_l)


@given(cases())
def test_no_rule_is_ever_broken(case: Case) -> None:
    garden, state, entries, watered, spare_l = case
    fed, unfed = shared(case)
    beds = {bed.name: bed for bed in garden.bed}
    standing = {name: standing_on(garden, bed, TODAY, entries) for name, bed in beds.items()}
    told = [line.bed for line in fed] + [line.bed for line in unfed]
    assert sorted(told) == sorted(name for name, stay in standing.items() if stay)
    assert len({(line.vessel, line.dilution_parts, line.day) for line in fed}) <= 5
    locks = locks_on(garden, entries, TODAY)
    for line in fed:
        stay = standing[line.bed]
        assert stay is not None
        steep = next(steep for steep in state.vessels if steep.vessel == line.vessel)
        family = stay.table.family
        # Lock-out, and whom the feed is for.
        assert not any(k.keeps_from(family) for k in locks if k.vessel == line.vessel)
        general = set(steep.plants) <= set(reference_tables().plants)
        assert general or {plant_family(plant) for plant in steep.plants} == {family}
        # The window, and what is due.
        feeding = stay.table.feeding
        assert feeding.first_day is not None
        assert feeding.last_day is not None
        assert feeding.first_day <= stay.age_d(line.day) <= feeding.last_day
        assert TODAY <= line.day < TODAY + 7 * DAY
        assert DAYS_OF_WEEK[line.day.weekday()] not in garden.feed.smell_free
        last = [e.at.date() for e in entries if isinstance(e, Fed) and e.bed == line.bed]
        assert all((line.day - day).days >= 14 for day in last if day >= stay.planted)
        # The waiting time, before and after.
        waiting = reference_tables().waiting.get(stay.crop)
        if waiting is not None:
            picked = [e.at.date() for e in entries if isinstance(e, Picking) and e.bed == line.bed]
            picked.append(stay.last)
            assert all(abs((line.day - day).days) >= waiting.waits_d for day in picked)
        # Not on dry soil before water.
        now = next(bed for bed in state.beds if bed.name == line.bed)
        assert now.depletion_mm <= now.raw_mm or line.bed in watered
    cans = [line.dose.cans for line in fed if line.bed not in watered]
    assert garden.can.size * sum(cans) <= spare_l + 1e-6
    for steep in state.vessels:
        drawn_l = sum(line.dose.feed_ml for line in fed if line.vessel == steep.vessel) / 1000.0
        assert drawn_l <= steep.liquid_l - steep.solids_l + 1e-6 or not drawn_l


@given(cases())
def test_no_dose_is_stronger_than_its_rung_or_weaker_by_more_than_a_fifth(case: Case) -> None:
    garden, state, _, _, _ = case
    fed, _ = shared(case)
    for line in fed:
        steep = next(steep for steep in state.vessels if steep.vessel == line.vessel)
        # One part in 1 + D parts; a level spoon is not truer than a hundredth.
        exact_ml = 1000.0 * line.dose.cans * garden.can.size / (1.0 + line.dilution_parts)
        assert 0.8 * exact_ml <= line.dose.feed_ml + 1e-9 <= 1.01 * exact_ml + 2e-9
        bed = next(bed for bed in garden.bed if bed.name == line.bed)
        tender = bed.kind == "tray" or bed.crops[0].crop in TENDER
        # 1:30 at two weeks and thinner from there on; one rung thinner for seedlings and for what
        # is tender to salt (FAO-56, Table 23).
        assert line.dilution_parts >= (60 if tender else 30)
        if steep.calendar_age_d(NOW) >= 365:
            # Practice ends at a year: 1:400 to 1:500.
            assert line.dilution_parts >= 400
