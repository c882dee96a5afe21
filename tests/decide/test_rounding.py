"""Cans: whole and half, nothing or a proper watering, on evenings when the soil has room."""

from __future__ import annotations

import math
from typing import NamedTuple

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from steepwell.decide.rounding import (
    Evenings,
    butt_for,
    carried_l,
    days_of,
    draw,
    evenings_for,
    in_half_cans,
    least_halves,
)
from steepwell.garden.growing import Bed


class Meant(NamedTuple):
    """What some beds were meant to get."""

    meant_l: dict[str, float]
    evenings: dict[str, Evenings]
    can_l: float
    there_l: float


@st.composite
def evenings(draw_: st.DrawFn) -> Evenings:
    least = draw_(st.integers(1, 8))
    return Evenings(
        first=draw_(st.integers(0, 6)),
        rounds=1,
        least=least,
        most=draw_(st.integers(least, least + 12)),
    )


@st.composite
def meant(draw_: st.DrawFn) -> Meant:
    names = [f"bed-{number}" for number in range(draw_(st.integers(1, 6)))]
    when = {}
    for name in names:
        one = draw_(evenings())
        rounds = 3 if one.first <= 2 else 2 if one.first <= 3 else 1
        when[name] = Evenings(one.first, rounds, one.least, one.most)
    return Meant(
        {name: draw_(st.floats(0.0, 200.0)) for name in names},
        when,
        draw_(st.sampled_from([4.5, 5.0, 9.0, 10.0])),
        draw_(st.floats(0.0, 500.0)),
    )


@given(case=meant())
def test_nothing_or_a_proper_watering_and_never_more_than_was_meant_or_is_there(
    case: Meant,
) -> None:
    halves = in_half_cans(case.meant_l, case.evenings, can_l=case.can_l, there_l=case.there_l)
    half_l = case.can_l / 2
    assert set(halves) == set(case.meant_l)
    assert sum(halves.values()) * half_l <= case.there_l + 1e-6
    assert sum(halves.values()) * half_l <= sum(case.meant_l.values()) + half_l / 2 + 1e-6
    for name, given_ in halves.items():
        when, wanted = case.evenings[name], case.meant_l[name] / half_l
        assert given_ == 0 or when.least <= given_ <= when.rounds * when.most
        assert given_ <= max(math.ceil(wanted - 1e-9), when.least)
        if given_:
            assert 2 * wanted >= when.least


@given(case=meant())
def test_the_cans_of_a_bed_go_on_evenings_of_the_week_each_a_proper_watering(case: Meant) -> None:
    halves = in_half_cans(case.meant_l, case.evenings, can_l=case.can_l, there_l=case.there_l)
    for name, given_ in halves.items():
        if not given_:
            continue
        when = case.evenings[name]
        days = days_of(given_, when)
        assert days[0] == when.first
        assert days == sorted(set(days))
        assert days[-1] < 7
        assert given_ // len(days) >= when.least
        # More at a time than the soil has room for only where less would be no proper watering.
        assert math.ceil(given_ / len(days)) <= when.most or given_ < (len(days) + 1) * when.least


@given(data=st.data(), when=st.lists(evenings(), min_size=1, max_size=5))
def test_whole_half_cans_are_given_as_meant_while_there_is_plenty(
    data: st.DataObject, when: list[Evenings]
) -> None:
    by_bed = {f"bed-{number}": one for number, one in enumerate(when)}
    wanted = {
        name: data.draw(st.integers(one.least, one.rounds * one.most))
        for name, one in by_bed.items()
    }
    meant_l = {name: 4.5 * halves for name, halves in wanted.items()}
    assert in_half_cans(meant_l, by_bed, can_l=9.0, there_l=1e6) == wanted


@given(area_m2=st.floats(0.2, 20.0), can_l=st.sampled_from([4.5, 5.0, 9.0, 10.0, 12.0]))
def test_the_least_is_the_fewest_half_cans_that_make_five_litres_a_square_metre(
    area_m2: float, can_l: float
) -> None:
    least = least_halves(area_m2, can_l)
    assert least * can_l / 2 >= 5.0 * area_m2 - 1e-6
    assert (least - 1) * can_l / 2 < 5.0 * area_m2


@pytest.mark.parametrize(
    ("lacks_mm", "suffers_in_d", "expected"),
    [
        # 3 m² and cans of 9 L: half a can is 1.5 mm, and 6 mm are the least, four of them. 20 mm
        # are the most, and thirteen are 19.5 mm.
        ([20.0] * 7, 0, Evenings(0, 3, 4, 13)),
        ([20.0] * 7, 1, Evenings(0, 3, 4, 13)),
        # The evening before it suffers; from the fourth on there is no time for three rounds.
        ([20.0] * 7, 3, Evenings(2, 3, 4, 13)),
        ([20.0] * 7, 4, Evenings(3, 2, 4, 13)),
        ([20.0] * 7, 6, Evenings(5, 1, 4, 13)),
        ([20.0] * 7, 8, None),
        ([20.0] * 7, math.inf, None),
        # Not before the soil has room for as much, and no more than it has room for.
        ([2.0, 4.0, 6.0, 8.0, 10.0, 12.0, 14.0], 0, Evenings(2, 3, 4, 4)),
        ([2.0, 4.0, 5.9, 7.6, 10.0, 12.0, 14.0], 0, Evenings(3, 2, 4, 5)),
        ([1.0] * 7, 0, None),
    ],
)
def test_when_a_bed_can_be_watered(
    lacks_mm: list[float], suffers_in_d: float, expected: Evenings | None
) -> None:
    assert evenings_for(3.0, 9.0, lacks_mm, suffers_in_d) == expected


@pytest.mark.parametrize(
    ("halves", "days"),
    [
        (4, [1]),
        (8, [1]),
        # Nine half cans are more than eight, and two rounds of four or five.
        (9, [1, 4]),
        (16, [1, 4]),
        (17, [1, 3, 5]),
        (24, [1, 3, 5]),
        # Half as much again as the least is not enough for two rounds.
        (6, [1]),
    ],
)
def test_as_few_evenings_as_the_soil_allows(halves: int, days: list[int]) -> None:
    assert days_of(halves, Evenings(1, 3, 4, 8)) == days


@pytest.mark.parametrize(
    ("meant_l", "there_l", "halves"),
    [
        # Cans of 9 L, four half cans are the least. 36 L are eight of them, 18 L four.
        ({"first": 36.0, "second": 18.0}, 99.0, {"first": 8, "second": 4}),
        # Half of the least becomes the least, less becomes nothing.
        ({"first": 9.0, "second": 8.9}, 99.0, {"first": 4, "second": 0}),
        # Not enough for both: who comes first has it.
        ({"first": 36.0, "second": 18.0}, 40.0, {"first": 8, "second": 0}),
        ({"first": 18.0, "second": 36.0}, 40.0, {"first": 4, "second": 4}),
        ({"first": 36.0, "second": 18.0}, 17.9, {"first": 0, "second": 0}),
        # 20 L are four half cans and 2 L; what two such beds lose in rounding makes one more.
        ({"first": 20.0, "second": 20.0}, 99.0, {"first": 5, "second": 4}),
        # No more than the evenings can take.
        ({"first": 360.0}, 999.0, {"first": 24}),
    ],
)
def test_litres_become_half_cans(
    meant_l: dict[str, float], there_l: float, halves: dict[str, int]
) -> None:
    when = dict.fromkeys(meant_l, Evenings(0, 3, 4, 8))
    assert in_half_cans(meant_l, when, can_l=9.0, there_l=there_l) == halves


@pytest.mark.parametrize(
    ("own", "left_l", "litres", "butt"),
    [
        ("north", {"north": 30.0, "south": 200.0}, 27.0, "north"),
        ("north", {"north": 20.0, "south": 200.0}, 27.0, "south"),
        (None, {"north": 30.0, "south": 20.0}, 9.0, "north"),
        # None has enough: the fullest gives first.
        ("north", {"north": 10.0, "south": 12.0}, 27.0, "south"),
    ],
)
def test_the_beds_own_butt_while_it_has_enough_else_the_fullest(
    own: str | None, left_l: dict[str, float], litres: float, butt: str
) -> None:
    bed = Bed.model_validate({"name": "all", "area": "3 m2", "butt": own})
    assert butt_for(bed, left_l, litres) == butt


@given(
    left=st.lists(st.floats(0.0, 300.0), min_size=1, max_size=4),
    litres=st.floats(0.0, 600.0),
)
def test_what_is_drawn_is_gone_from_the_butts(left: list[float], litres: float) -> None:
    assume(litres <= sum(left))
    butts = {f"butt-{number}": volume for number, volume in enumerate(left)}
    draw(butts, "butt-0", litres)
    assert sum(butts.values()) == pytest.approx(sum(left) - litres, abs=1e-6)
    assert min(butts.values()) >= 0.0
    assert butts["butt-0"] == pytest.approx(max(left[0] - litres, 0.0))


@pytest.mark.parametrize(
    ("meant_mm", "area_m2", "litres"),
    [
        (10.0, 3.0, 30.0),
        (1.0, 3.0, 3.0),
        # Half a can of 9 L is 45 mm on 0.1 m².
        (2.5, 0.1, 4.5),
        (2.4, 0.1, 0.24),
        (0.0, 0.1, 0.0),
        # 4.5 L on 0.9 m² are 5 mm.
        (3.0, 0.9, 2.7),
    ],
)
def test_a_tiny_bed_has_half_a_can_or_nothing(
    meant_mm: float, area_m2: float, litres: float
) -> None:
    assert carried_l(meant_mm, area_m2, 9.0) == pytest.approx(litres)


def test_a_tiny_bed_is_watered_though_half_a_can_is_more_than_it_holds() -> None:
    assert evenings_for(0.1, 9.0, [20.0] * 7, 0) == Evenings(0, 3, 1, 1)
    assert evenings_for(0.1, 9.0, [4.0] * 7, 0) is None
