"""A steep as a balance: exact dilution algebra, nothing made or lost, all doubt towards thinner."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from steepwell.model.dilution import dilution_parts
from steepwell.model.steep import (
    Contents,
    aged,
    drawn,
    evaporated,
    filled,
    is_feed,
    is_spent,
    told_parts,
    topped_up,
)


def of_age(age_d: float, liquid_l: float = 50.0) -> Contents:
    return aged(filled(liquid_l, None), (age_d,))


@pytest.mark.parametrize("age_d", [0.0, 14.0, 60.0, 200.0, 400.0])
def test_an_untouched_steep_is_as_thick_as_its_age_says(age_d: float) -> None:
    assert of_age(age_d).parts == pytest.approx(float(dilution_parts(age_d)))


@pytest.mark.parametrize(
    ("parts", "left_l", "water_l", "exact"),
    # By hand. A litre at 1:30 makes 31 L: half of it in as much water again makes 15.5 L a litre.
    [(30.0, 25.0, 25.0, 14.5), (30.0, 40.0, 10.0, 23.8), (30.0, 50.0, 0.0, 30.0)],
)
def test_water_thins_by_the_rule_of_mixing(
    parts: float, left_l: float, water_l: float, exact: float
) -> None:
    steep = of_age(14.0)
    assert steep.parts == pytest.approx(parts)
    left, _ = drawn(steep, 50.0 - left_l)
    assert topped_up(left, water_l, 0.0).parts == pytest.approx(exact)


def test_what_is_drawn_is_no_thinner_than_what_stays() -> None:
    left, taken_l = drawn(of_age(100.0), 20.0)
    assert left.parts == pytest.approx(of_age(100.0).parts)
    assert taken_l / 20.0 == pytest.approx(1.0 + left.parts)


def test_evaporation_thickens() -> None:
    # 50 L at 1:30 make 1550 L; in 40 L that is 1:37.75.
    assert evaporated(of_age(14.0), 10.0).parts == pytest.approx(37.75)


def test_matter_that_stays_while_liquid_goes_thickens_what_is_left() -> None:
    half, _ = drawn(of_age(30.0), 25.0)
    assert aged(half, (60.0,)).parts > of_age(60.0).parts


def test_fresh_matter_ripens_on_its_own() -> None:
    steep = topped_up(drawn(of_age(100.0), 25.0)[0], 25.0, 6.25)
    later = aged(steep, (130.0, 30.0))
    # By hand, each litre that matter steeps gives off D(age) + 1 by the thinning curve; 6.25
    # kg at 2.5 kg to 10 L steep 25 L.
    d100, d130, d30 = (float(dilution_parts(age)) for age in (100.0, 130.0, 30.0))
    made = 25.0 * (1 + d100) + 50.0 * (d130 - d100) + 25.0 * (1 + d30)
    assert later.parts == pytest.approx(made / 50.0 - 1.0)


@pytest.mark.parametrize(("kg", "times"), [(None, 1.0), (5.0, 1.0), (12.5, 1.0), (25.0, 2.0)])
def test_more_matter_makes_a_thicker_feed_and_less_not_a_thinner_one(
    kg: float | None, times: float
) -> None:
    steep = aged(filled(50.0, kg), (30.0,))
    assert 1.0 + steep.parts == pytest.approx(times * (1.0 + float(dilution_parts(30.0))))


@given(
    steps=st.lists(
        st.tuples(st.sampled_from(["draw", "top up", "evaporate", "age"]), st.floats(0.0, 30.0)),
        max_size=30,
    )
)
def test_nothing_is_made_or_lost(steps: list[tuple[str, float]]) -> None:
    steep = filled(50.0, 5.0)
    water_in_l, water_out_l, feed_out_l = 50.0, 0.0, 0.0
    for step, amount in steps:
        before_l = steep.liquid_l
        if step == "draw":
            steep, taken_l = drawn(steep, amount)
            feed_out_l += taken_l
            water_out_l += before_l - steep.liquid_l
        elif step == "evaporate":
            steep = evaporated(steep, amount)
            water_out_l += before_l - steep.liquid_l
        elif step == "top up":
            steep = topped_up(steep, amount, amount / 10.0)
            water_in_l += amount
        else:
            ages = tuple(cohort.age_d + 10.0 * amount for cohort in steep.cohorts)
            steep = aged(steep, ages)
    given_l = sum(cohort.given_l for cohort in steep.cohorts)
    assert steep.makes_l + feed_out_l == pytest.approx(given_l, rel=1e-9, abs=1e-9)
    assert steep.liquid_l + water_out_l == pytest.approx(water_in_l, rel=1e-9, abs=1e-9)
    # All that matter can give is what it gave and what it still holds: 1 + 500 by the litre.
    whole_l = 501.0 * sum(cohort.steeps_l for cohort in steep.cohorts)
    left_l = sum(cohort.left_l for cohort in steep.cohorts)
    assert given_l + left_l == pytest.approx(whole_l, rel=1e-9, abs=1e-9)


@pytest.mark.parametrize(
    ("age_d", "ds_m", "parts"),
    [
        (14.0, None, 30.0),
        # 33 dS/m against the 0.7 that harm nothing (FAO-29, Table 1): 33 / 0.7 - 1.
        (14.0, 33.0, 46.1),
        (14.0, 5.0, 30.0),
        # A year-old feed of 25 dS/m would be told at 1:50 if a meter had its way.
        (230.0, 25.0, float(dilution_parts(230.0))),
    ],
)
def test_a_meter_may_only_thin(age_d: float, ds_m: float | None, parts: float) -> None:
    assert told_parts(of_age(age_d), ds_m) == pytest.approx(parts, abs=0.05)


def test_water_on_a_feed_is_no_feed_until_its_matter_has_given_more() -> None:
    thin = topped_up(drawn(of_age(14.0), 30.0)[0], 30.0, 0.0)
    assert not is_feed(thin, 14.0)
    assert told_parts(thin) == 30.0  # never stronger than practice has it
    assert not is_spent(thin, 14.0)
    assert is_feed(aged(thin, (40.0,)), 14.0)


def test_a_vessel_that_was_washed_out_no_longer_recovers() -> None:
    steep = of_age(400.0)
    for _ in range(6):
        steep = topped_up(drawn(steep, 45.0)[0], 45.0, 0.0)
    assert is_spent(steep, 14.0)
    assert not is_spent(topped_up(steep, 0.0, 5.0), 14.0)


def test_what_cannot_be_is_refused() -> None:
    steep = of_age(20.0)
    with pytest.raises(ValueError, match="no steep"):
        filled(0.0, 1.0)
    for act in (drawn, evaporated):
        with pytest.raises(ValueError, match="cannot"):
            act(steep, -1.0)
    with pytest.raises(ValueError, match="cannot be put in"):
        topped_up(steep, 1.0, -1.0)
    with pytest.raises(ValueError, match="zip"):
        aged(steep, (1.0, 2.0))
