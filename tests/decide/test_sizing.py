"""Sizing, by what can be reckoned by hand in years without rain and years of endless rain."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
from tests.gardens import flat_record, make_garden

from steepwell.decide.sizing import (
    bed_to_leave_out,
    bigger_roof,
    mulch_everywhere,
    one_more_butt,
    size,
)
from steepwell.errors import SteepwellError, WeatherRecordError

if TYPE_CHECKING:
    from steepwell.garden.garden import Garden
    from steepwell.outlook.record import Record

Json = dict[str, Any]

ROOF = {"name": "shed", "area": "10 m2", "into": "north", "wetting_loss": "0 mm"}
TWO_BEDS = [{"name": "beans", "area": "6 m2"}, {"name": "leeks", "area": "4 m2"}]
# Without rain, and with an ET0 of 3 mm a day on average.
NO_RAIN = flat_record(et0_mm=3.0)


def given_l(variant: Json) -> list[float]:
    """Return what was given in each summer [L]."""
    return [summer["wanted_l"] - summer["short_l"] for summer in variant["by_summer"]]


def sized(garden: Garden, record: Record = NO_RAIN) -> dict[str, Json]:
    return {variant["name"]: variant for variant in size(garden, record)["variants"]}


def test_a_year_without_rain_by_hand() -> None:
    """A full butt of 600 L, 591 L of them above a can of 9 L.

    A bed of 10 m² in full growth draws between Kcb 0.95 and Kc max 1.2 times ET0, so from 28.5 to
    36 L a day, and asks for water when 0.35 + 0.04 (5 - 3.15) of 52 mm are lacking (FAO-56,
    p. 162), 220 L, on the seventh or eighth day. So the first round, on 7 March, takes 36 L at
    most, and each later one from 199 to 252: at most 540 L by 21 March, and more than 591 L on
    28 March, which leaves the butt dry, and all that was given is 600 L.
    """
    garden = make_garden(butt=[{"name": "north", "litres": "600 L"}])
    as_it_is = sized(garden)["as-it-is"]
    assert as_it_is["dry"] == 11
    assert as_it_is["first_dry"] == {"p50": "03-28", "earliest": "03-28"}
    assert given_l(as_it_is) == pytest.approx([600.0] * 11, abs=0.2)


def test_a_butt_more_is_its_litres_more_in_a_year_without_rain() -> None:
    """All 410 L are given, and less is short, if not by 210 L: a bed that has more wants more."""
    found = sized(make_garden(butt=[{"name": "north", "litres": "200 L"}]))
    as_it_is, more = found["as-it-is"], found["one-more-butt"]
    assert more["capacity_l"] == as_it_is["capacity_l"] + 210.0
    assert given_l(as_it_is) == pytest.approx([200.0] * 11, abs=0.2)
    assert given_l(more) == pytest.approx([410.0] * 11, abs=0.2)
    for key in ("p50", "worst"):
        assert 0.0 < as_it_is["short_l"][key] - more["short_l"][key] <= 210.0


def test_a_bigger_roof_is_no_use_in_a_year_without_rain() -> None:
    found = sized(make_garden(roof=[ROOF]))
    as_it_is, bigger = found["as-it-is"], found["bigger-roof"]
    assert bigger["roof_m2"] == 15.0
    for key in ("dry", "first_dry", "short_l"):
        assert bigger[key] == as_it_is[key]


@pytest.mark.parametrize(("rain_mm", "dry"), [(0.5, 11), (9.0, 0)])
def test_half_as_much_roof_again_brings_half_as_much_water_again(rain_mm: float, dry: int) -> None:
    """A bed under glass takes 28.5 to 36 L a day.

    With 0.5 mm a day the roof of 10 m² brings 4.25 L a day, 1,041 in the season; half as much
    again is 521 L more that are given, but for what fell since the last round and is still there
    at the end. With 9 mm it brings 76 L a day, and nothing is ever short.
    """
    bed = [{"name": "border", "area": "10 m2", "kind": "greenhouse"}]
    found = sized(make_garden(roof=[ROOF], bed=bed), flat_record(rain_mm=rain_mm, et0_mm=3.0))
    as_it_is, bigger = found["as-it-is"], found["bigger-roof"]
    assert as_it_is["dry"] == dry
    if dry:
        more_l = given_l(bigger)[0] - given_l(as_it_is)[0]
        assert more_l == pytest.approx(521.0, abs=7 * 2.2)
    else:
        assert as_it_is["first_dry"] == {"p50": None, "earliest": None}


def test_a_bed_fewer_wants_its_share_less() -> None:
    found = sized(make_garden(bed=TWO_BEDS))
    fewer = found["one-bed-fewer"]
    assert fewer["bed_m2"] == 4.0
    assert "beans" in fewer["says"]
    for all_beds, one in zip(found["as-it-is"]["by_summer"], fewer["by_summer"], strict=True):
        assert one["wanted_l"] < all_beds["wanted_l"]


def test_mulch_helps_and_half_at_most() -> None:
    # Mulch takes at most half of what the soil evaporates, which is less than half of all use.
    found = sized(make_garden())
    open_l, mulched_l = (
        found[name]["by_summer"][0]["wanted_l"] for name in ("as-it-is", "mulch-everywhere")
    )
    assert 0.5 * open_l < mulched_l < open_l


def test_the_worst_summer_is_named() -> None:
    record = flat_record(rain_mm=9.0, et0_mm=3.0)
    record.rain_mm[366 + 365 : 366 + 2 * 365] = 0.0  # 2002
    found = sized(make_garden(roof=[ROOF]), record)["as-it-is"]
    assert (found["dry"], found["worst_year"]) == (1, 2002)
    assert found["short_l"]["p50"] == 0.0
    assert [each["year"] for each in found["by_summer"] if each["first_dry"]] == [2002]


# --- What a garden might be -----------------------------------------------------------------------


def test_one_more_butt_takes_the_overflow_of_the_most_roof() -> None:
    butts = [
        {"name": "north", "litres": "200 L", "overflow_to": "south", "dead_volume": "20 L"},
        {"name": "south", "litres": "300 L", "dead_volume": "30 L"},
        {"name": "one-more", "litres": "100 L"},
    ]
    roofs = [
        {**ROOF, "area": "12 m2"},
        {"name": "porch", "area": "11 m2", "into": "one-more"},
    ]
    garden = one_more_butt(make_garden(butt=butts, roof=roofs))
    *_, south, _, more = garden.butt
    assert (south.name, south.overflow_to) == ("south", more.name)
    assert len({butt.name for butt in garden.butt}) == 4
    assert more.overflow_to is None
    assert (more.capacity_l, more.dead_volume) == (210.0, 21.0)
    assert garden.capacity_l == 810.0


def test_mulch_lies_everywhere_but_on_trays() -> None:
    beds = [
        {"name": "ground", "area": "3 m2"},
        {"name": "half", "area": "3 m2", "mulch": {"material": "straw", "cover": "50 %"}},
        {"name": "sowings", "area": "1 m2", "kind": "tray"},
    ]
    ground, half, sowings = mulch_everywhere(make_garden(bed=beds)).bed
    assert ground.mulch is not None
    assert half.mulch is not None
    assert (ground.mulch.cover, half.mulch.cover, sowings.mulch) == (1.0, 1.0, None)


def test_a_bigger_roof_is_bigger_everywhere() -> None:
    roofs = [ROOF, {**ROOF, "name": "porch", "area": "4 m2"}]
    assert [roof.area for roof in bigger_roof(make_garden(roof=roofs)).roof] == [15.0, 6.0]


@pytest.mark.parametrize(
    ("priorities", "left_out"),
    [((1.0, 1.0), "beans"), ((1.0, 0.9), "leeks"), ((0.9, 1.2), "beans")],
)
def test_the_last_by_priority_is_left_out_and_of_equals_the_largest(
    priorities: tuple[float, float], left_out: str
) -> None:
    beds = [
        {**bed, "priority": priority} for bed, priority in zip(TWO_BEDS, priorities, strict=True)
    ]
    assert bed_to_leave_out(make_garden(bed=beds)) == left_out


# --- What cannot be told --------------------------------------------------------------------------


def test_a_garden_without_a_roof_and_with_one_mulched_bed_is_told_so() -> None:
    bed = [{"name": "all", "area": "0.1 m2", "mulch": {"material": "straw"}}]
    document = size(make_garden(bed=bed), NO_RAIN)
    assert [variant["name"] for variant in document["variants"]] == ["as-it-is", "one-more-butt"]
    for words in ("no roof", "mulched already", "only one bed"):
        assert any(words in remark for remark in document["remarks"]), words


@pytest.mark.parametrize(
    ("sections", "record", "words"),
    [
        ({"butt": [], "vessel": [{"name": "nettle", "volume": "60 L"}]}, NO_RAIN, "no butt"),
        ({}, None, "without a weather record"),
    ],
)
def test_what_is_missing_is_named(sections: Json, record: Record | None, words: str) -> None:
    with pytest.raises(SteepwellError, match=words):
        size(make_garden(**sections), record)


def test_a_garden_without_beds_is_told_so() -> None:
    with pytest.raises(SteepwellError, match="no bed"):
        size(make_garden().model_copy(update={"bed": ()}), NO_RAIN)


def test_a_record_of_less_than_a_season_is_refused() -> None:
    short = flat_record(NO_RAIN.first, NO_RAIN.first.replace(month=9))
    with pytest.raises(WeatherRecordError, match="whole from spring to autumn"):
        size(make_garden(), short)
