from __future__ import annotations

from itertools import product
from typing import TYPE_CHECKING, Any

import pytest

from steepwell.garden.load import garden_from
from steepwell.tell.documents import Plan
from steepwell.tell.jobs import MOST_JOBS, Job, jobs

if TYPE_CHECKING:
    from collections.abc import Callable

    from steepwell.garden.garden import Garden

    Change = Callable[..., dict[str, Any]]

Json = dict[str, Any]


def the_jobs(garden: Garden, document: Json) -> list[Job]:
    return jobs(Plan.model_validate(document), garden)


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        (
            {"days": ["2031-06-08"]},
            ("Water beans, 5 cans", "On Sunday 8 June, from the north butt."),
        ),
        (
            {},
            (
                "Water beans, 2½ cans each time",
                "On Sunday 8 and Wednesday 11 June, from the north butt.",
            ),
        ),
        (
            {"cans": 5.5, "litres": 49.5},
            (
                "Water beans, 3, then 2½ cans",
                "On Sunday 8 and Wednesday 11 June, from the north butt.",
            ),
        ),
        (
            {"cans": None, "litres": 12, "days": [], "from": None},
            ("Water beans, 12 L", "This week."),
        ),
    ],
)
def test_the_water_of_a_bed_is_told_by_the_can_and_the_day(
    garden: Garden, plan: Change, water: Change, changes: Json, told: tuple[str, str]
) -> None:
    (job,) = the_jobs(garden, plan(water=[water(**changes)], feed=[]))
    assert (job.do, job.how) == told


def test_pots_are_told_by_the_day(garden: Garden, plan: Change, water: Change) -> None:
    daily = {"days": [], "cans": 0, "skip_after_mm": None}
    lines = [
        water(bed="seedlings", daily_l=2, litres=14, reason="they dry out in a day", **daily),
        water(bed="under-glass", daily_l=6, litres=42, reason="no rain reaches it", **daily),
    ]
    (job,) = the_jobs(garden, plan(water=lines, feed=[]))
    assert (job.do, job.how) == ("Water seedlings 2 L and under glass 6 L daily", "")
    assert job.lines == (
        "Seedlings: they dry out in a day.",
        "Under glass: no rain reaches it.",
    )


def test_each_line_keeps_its_own_rule_for_rain(garden: Garden, plan: Change, water: Change) -> None:
    beds = [f"bed-{number}" for number in range(8)]
    lines = [water(bed=bed, skip_after_mm=8 if bed == "bed-3" else 10) for bed in beds]
    (job,) = the_jobs(garden, plan(water=lines, feed=[]))
    assert job.skip == ""
    others, own = job.lines
    assert others.startswith("Bed 0, bed 1, bed 2, bed 4, ")
    assert others.endswith("Skip it if your gauge catches more than 10 mm first.")
    assert own.startswith("Bed 3: ")
    assert own.endswith("Skip it if your gauge catches more than 8 mm first.")


@pytest.mark.parametrize("bed", ["under-glass", "seedlings"])
def test_rain_excuses_nobody_from_a_bed_it_does_not_reach(
    garden: Garden, plan: Change, water: Change, bed: str
) -> None:
    (job,) = the_jobs(garden, plan(water=[water(bed=bed)], feed=[]))
    assert job.skip == ""


def test_a_garden_without_a_gauge_is_not_told_to_read_one(
    garden_raw: Json, plan: Change, water: Change
) -> None:
    del garden_raw["sensor"]
    (job,) = the_jobs(garden_from(garden_raw), plan(water=[water()], feed=[]))
    assert job.skip == "Skip it if more than 10 mm of rain falls first."


@pytest.mark.parametrize("counts", list(product((0, 1, 4, 5, 12, 30), (0, 1, 5, 9), (0, 3))))
def test_there_are_at_most_five_jobs_and_no_bed_is_lost(
    garden: Garden, plan: Change, water: Change, feed: Change, counts: tuple[int, int, int]
) -> None:
    watered, fed, daily = counts
    lines = [
        *(
            water(
                bed=f"bed-{number}",
                days=[f"2031-06-{6 + number % 4:02}"],
                **{"from": ("north", "south")[number % 2]},
            )
            for number in range(watered)
        ),
        *(water(bed=f"pot-{number}", daily_l=1 + number, cans=0) for number in range(daily)),
    ]
    feeds = [
        feed(
            bed=f"fed-{number}",
            vessel=f"leek-{number}",
            day=f"2031-06-{6 + number % 3:02}",
        )
        for number in range(fed)
    ]
    found = the_jobs(garden, plan(water=lines, feed=feeds))
    assert len(found) <= MOST_JOBS
    assert bool(found) == bool(lines or feeds)
    told = " ".join(" ".join((job.do, job.how, *job.lines)).lower() for job in found) + " "
    for line in [*lines, *feeds]:
        name = line["bed"].replace("-", " ")
        assert any(f"{name}{end}" in told for end in (",", ":", " "))
    for line in lines:
        if not line["daily_l"]:
            assert f"from the {line['from']} butt" in told
            assert f"{int(line['days'][0][-2:])} june" in told
    for line in feeds:
        assert f"from the {line['vessel'].replace('-', ' ')} vessel" in told


def test_beds_of_other_days_or_butts_stay_apart_while_jobs_are_few(
    garden: Garden, plan: Change, water: Change
) -> None:
    lines = [
        water(bed="beans"),
        water(bed="leeks", days=["2031-06-09"]),
        water(bed="onions", **{"from": "south"}),
    ]
    found = the_jobs(garden, plan(water=lines))
    assert len(found) == 4
    assert all(len(job.lines) == 1 for job in found)


def test_in_short_what_is_watered_on_many_days_is_told_by_the_day(
    garden: Garden, plan: Change, water: Change
) -> None:
    lines = [
        water(bed="beans"),
        water(bed="kale", days=["2031-06-07"]),
        water(bed="leeks", days=["2031-06-09"], **{"from": "south"}),
        water(bed="peas", cans=5.5, litres=49.5),
        water(bed="squash", days=["2031-06-10"]),
        water(bed="salad", days=["2031-06-12"]),
        water(bed="corn", days=["2031-06-11"]),
    ]
    (job,) = jobs(Plan.model_validate(plan(water=lines, feed=[])), garden, in_short=True)
    assert (job.do, job.how) == ("Water this week", "")
    assert job.lines == (
        "On Saturday 7, from the north butt: kale 5 cans.",
        (
            "On Sunday 8 and Wednesday 11, from the north butt: beans 2½ cans each time; "
            "peas 3, then 2½ cans."
        ),
        "On Monday 9, from the south butt: leeks 5 cans.",
        "On Tuesday 10, from the north butt: squash 5 cans.",
        "On Wednesday 11, from the north butt: corn 5 cans.",
        "On Thursday 12, from the north butt: salad 5 cans.",
    )


def test_in_short_a_job_is_the_same_without_its_reasons(
    garden: Garden, plan: Change, water: Change, feed: Change
) -> None:
    heed = "pick nothing there before 21 June"
    lines = [water(bed="beans"), water(bed="kale"), water(bed="pots", cans=0, daily_l=2)]
    feeds = [feed(), feed(bed="kale", day="2031-06-09", reason=f"due; {heed}", heed=heed)]
    week = Plan.model_validate(plan(water=lines, feed=feeds))
    short, full = jobs(week, garden, in_short=True), jobs(week, garden)
    assert [job.id for job in short] == [job.id for job in full]
    assert [(job.do, job.lines) for job in short] == [
        ("Water pots 2 L daily", ()),
        # How much is in the first lines, for it is the same for both.
        ("Feed leeks", ()),
        (
            "Water on Sunday 8 and Wednesday 11, from the north butt",
            ("Beans and kale, each: 2½ cans each time.",),
        ),
        ("Feed kale", ("Pick nothing there before 21 June.",)),
    ]


def test_beds_of_the_same_evening_and_butt_are_one_walk(
    garden: Garden, plan: Change, water: Change
) -> None:
    lines = [
        water(bed=f"bed-{number}", cans=5 + number, **{"from": "north" if number < 4 else "south"})
        for number in range(6)
    ]
    north, south = the_jobs(garden, plan(water=lines, feed=[]))
    assert (north.do, len(north.lines)) == ("Water bed 0, bed 1 and 2 more", 4)
    assert north.how == "On Sunday 8 and Wednesday 11 June, from the north butt."
    assert north.lines[0] == ("Bed 0: 2½ cans each time. In flower, when dryness costs pods.")
    assert north.skip == "Skip it if your gauge catches more than 10 mm first."
    assert south.how == "On Sunday 8 and Wednesday 11 June, from the south butt."


def test_a_bed_under_cover_does_not_hide_the_rule_of_the_others(
    garden: Garden, plan: Change, water: Change
) -> None:
    beds = ("beans", "leeks", "onions", "kale", "peas", "under-glass")
    (job,) = the_jobs(garden, plan(water=[water(bed=bed) for bed in beds], feed=[]))
    assert job.skip == "Outdoors, skip it if your gauge catches more than 10 mm first."
    assert not any("kip it" in line for line in job.lines)


def test_water_and_feed_are_brought_together_by_turns(
    garden: Garden, plan: Change, water: Change, feed: Change
) -> None:
    lines = [
        water(bed="beans"),
        water(bed="kale"),
        water(bed="leeks"),
        water(bed="peas", **{"from": "south"}),
        water(bed="pots", cans=0.5, litres=4.5, days=["2031-06-09"]),
    ]
    feeds = [feed(bed=f"bed-{number}", vessel=f"leek-{number}") for number in range(3)]
    found = the_jobs(garden, plan(water=lines, feed=feeds))
    assert [job.do for job in found] == [
        "Feed bed 0, 2 tablespoons (30 mL) in 1 can",
        "Feed bed 1, 2 tablespoons (30 mL) in 1 can",
        "Feed bed 2, 2 tablespoons (30 mL) in 1 can",
        "Water beans, kale and 2 more",
        "Water pots, half a can",
    ]


def test_an_amount_within_a_line_begins_small(garden: Garden, plan: Change, water: Change) -> None:
    beds = [water(bed="beans", cans=1, litres=9), water(bed="leeks")]
    (job,) = the_jobs(garden, plan(water=beds, feed=[]))
    assert job.lines[0].startswith("Beans: half a can each time.")


def test_what_is_fed_from_one_mixing_is_one_job(garden: Garden, plan: Change, feed: Change) -> None:
    feeds = [feed(bed="leeks"), feed(bed="onions", reason="due, and of the same family")]
    (job,) = the_jobs(garden, plan(water=[], feed=feeds))
    assert (job.do, job.how) == (
        "Feed leeks and onions",
        "On Saturday 7 June, from the leek vessel, 1:300.",
    )
    assert job.lines[1] == ("Onions: 2 tablespoons (30 mL) in 1 can. Due, and of the same family.")


def test_beds_of_one_dose_and_one_reason_are_one_line(
    garden: Garden, plan: Change, feed: Change
) -> None:
    feeds = [feed(bed="leeks"), feed(bed="onions"), feed(bed="garlic", reason="due, and hungry")]
    (job,) = the_jobs(garden, plan(water=[], feed=feeds))
    assert job.lines == (
        (
            "Leeks and onions, each: 2 tablespoons (30 mL) in 1 can. "
            "Due, and the leek vessel is its own crop."
        ),
        "Garlic: 2 tablespoons (30 mL) in 1 can. Due, and hungry.",
    )


def test_two_cans_mixed_together_are_said_once(garden: Garden, plan: Change, feed: Change) -> None:
    line = feed(
        cans=2, feed_ml=2.5, spoons="half a teaspoon in two cans together", measure="two-cans"
    )
    (job,) = the_jobs(garden, plan(water=[], feed=[line]))
    assert job.do == "Feed leeks, half a teaspoon in two cans together"


def test_jobs_come_in_the_order_of_their_days(
    garden: Garden, plan: Change, water: Change, feed: Change
) -> None:
    document = plan(
        water=[water(bed="beans", days=["2031-06-09"]), water(bed="pots", daily_l=1, cans=0)],
        feed=[feed(day="2031-06-08")],
    )
    assert [job.do.split()[1].rstrip(",") for job in the_jobs(garden, document)] == [
        "pots",
        "leeks",
        "beans",
    ]


def test_that_a_bed_is_due_is_no_reason_to_tell(garden: Garden, plan: Change, feed: Change) -> None:
    lines = [
        feed(bed="leeks", reason="due", only_due=True),
        feed(bed="kale", reason="looks hungry"),
    ]
    (job,) = the_jobs(garden, plan(water=[], feed=lines))
    told = " ".join(job.lines)
    assert "ooks hungry" in told
    assert "due" not in told.lower()
    (alone,) = the_jobs(garden, plan(water=[], feed=lines[:1]))
    assert alone.lines == ()
