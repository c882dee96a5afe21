"""Which crop stands in a bed on a day, and what it asks of the soil."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np
import pytest
from tests.gardens import SITE, make_garden

from steepwell.garden.tables import reference_tables
from steepwell.outlook.calendar import MIXED, bed_stays, standing_on
from steepwell.outlook.demand import bed_days
from steepwell.store.entries import Cleared, Planted

if TYPE_CHECKING:
    from steepwell.garden.garden import Garden
    from steepwell.store.entries import Entry

LEEKS = {"crop": "leek", "planted": "07-02", "cleared": "03-10"}
TOMATOES = {"crop": "tomato", "planted": "05-20", "cleared": "10-01"}


def one_bed(*crops: dict[str, str], zone: str = "UTC", **more: object) -> Garden:
    bed = {"name": "all", "area": "10 m2", "crops": list(crops), **more}
    return make_garden(zone=zone, bed=[bed])


def in_air(crop: str, planted: str, *, wind: str, least_humidity: str) -> Garden:
    site = {**SITE, "wind": wind, "least_humidity": least_humidity}
    bed = {"name": "all", "area": "10 m2", "crops": [{"crop": crop, "planted": planted}]}
    return make_garden(garden=site, bed=[bed])


def crop_on(garden: Garden, day: date, *entries: Entry) -> str | None:
    standing = standing_on(garden, garden.bed[0], day, entries)
    return standing.crop if standing else None


def planted(crop: str, at: str, bed: str = "all") -> Planted:
    return Planted(at=moment(at), bed=bed, crop=crop)


def cleared(at: str, bed: str = "all") -> Cleared:
    return Cleared(at=moment(at), bed=bed)


def moment(at: str) -> datetime:
    return datetime.fromisoformat(f"2031-{at}").replace(tzinfo=UTC)


@pytest.mark.parametrize(
    ("day", "expected"),
    [
        (date(2031, 3, 10), "leek"),
        (date(2031, 3, 11), None),
        (date(2031, 7, 1), None),
        (date(2031, 7, 2), "leek"),
        (date(2031, 12, 31), "leek"),
        (date(2032, 1, 1), "leek"),
        (date(2032, 2, 29), "leek"),
        (date(2032, 3, 10), "leek"),
        (date(2032, 3, 11), None),
    ],
)
def test_a_crop_stands_over_the_turn_of_the_year(day: date, expected: str | None) -> None:
    assert crop_on(one_bed(LEEKS), day) == expected


def test_age_counts_from_planting_over_the_turn_of_the_year() -> None:
    garden = one_bed(LEEKS)
    standing = standing_on(garden, garden.bed[0], date(2032, 1, 15))
    assert standing is not None
    # 182 days from 2 July to 31 December (29 + 31 + 30 + 31 + 30 + 31), and 15 of January.
    assert standing.age_d(date(2032, 1, 15)) == 182 + 15


def test_a_crop_without_a_last_day_stands_for_the_length_of_its_stages() -> None:
    # FAO-56, Table 11, p. 105: tomato 30, 40, 45 and 30 days; 145 days from 20 May are 12 October.
    garden = one_bed({"crop": "tomato", "planted": "05-20"})
    assert crop_on(garden, date(2031, 5, 20) + timedelta(days=145)) == "tomato"
    assert date(2031, 5, 20) + timedelta(days=145) == date(2031, 10, 12)
    assert crop_on(garden, date(2031, 10, 13)) is None


def test_planting_on_29_february_is_on_1_march_in_other_years() -> None:
    garden = one_bed({"crop": "broad-bean", "planted": "02-29"})
    assert crop_on(garden, date(2031, 2, 28)) is None
    assert crop_on(garden, date(2031, 3, 1)) == "broad-bean"
    assert crop_on(garden, date(2032, 2, 29)) == "broad-bean"


def test_crops_follow_one_another() -> None:
    salad = {"crop": "lettuce", "planted": "04-20", "cleared": "07-01"}
    garden = one_bed(LEEKS, salad)
    stays = bed_stays(garden, garden.bed[0], date(2031, 1, 1), date(2031, 12, 31))
    assert [(stay.crop, stay.planted, stay.last) for stay in stays] == [
        ("leek", date(2030, 7, 2), date(2031, 3, 10)),
        ("lettuce", date(2031, 4, 20), date(2031, 7, 1)),
        ("leek", date(2031, 7, 2), date(2032, 3, 10)),
    ]


def test_what_was_planted_goes_before_what_was_declared() -> None:
    garden, entry = one_bed(TOMATOES), planted("lettuce", "06-10T12:00")
    assert crop_on(garden, date(2031, 6, 9), entry) == "tomato"
    assert crop_on(garden, date(2031, 6, 10), entry) == "lettuce"


def test_what_was_cleared_ends_what_stands() -> None:
    garden, entry = one_bed(TOMATOES), cleared("08-20T12:00")
    assert crop_on(garden, date(2031, 8, 20), entry) == "tomato"
    assert crop_on(garden, date(2031, 8, 21), entry) is None
    # Next year's are another stay.
    assert crop_on(garden, date(2032, 6, 1), entry) == "tomato"


def test_a_bed_is_planted_cleared_and_planted_again() -> None:
    garden = one_bed()
    entries = (
        planted("radish", "04-01T12:00"),
        cleared("04-30T12:00"),
        planted("lettuce", "05-02T12:00"),
    )
    days = (date(2031, 3, 31), date(2031, 4, 1), date(2031, 5, 1), date(2031, 5, 2))
    assert [crop_on(garden, day, *entries) for day in days] == [None, "radish", None, "lettuce"]


def test_entries_of_other_beds_are_passed_over() -> None:
    entries = (planted("lettuce", "06-10T12:00", "other"), cleared("06-01T12:00", "other"))
    assert crop_on(one_bed(TOMATOES), date(2031, 6, 11), *entries) == "tomato"


def test_the_day_of_planting_is_that_of_the_garden() -> None:
    # 23:30 UTC on 9 June is 00:30 on 10 June in London.
    garden, entry = one_bed(zone="Europe/London"), planted("lettuce", "06-09T23:30")
    assert crop_on(garden, date(2031, 6, 9), entry) is None
    assert crop_on(garden, date(2031, 6, 10), entry) == "lettuce"


@pytest.mark.parametrize("day", [date(2031, 1, 1), date(2031, 6, 1), date(2032, 2, 29)])
def test_a_bed_without_crops_is_mixed_vegetables_all_year(day: date) -> None:
    assert crop_on(one_bed(), day) == MIXED


def test_a_bed_without_crops_stays_in_full_growth() -> None:
    asked = bed_days(one_bed(), date(2031, 3, 1), 200)
    assert asked.grows.all()
    # From memory, as cabbage (FAO-56, Table 12, p. 110): 1.05 in mid-season. Roots of 0.4 m, from
    # memory, in loam of 130 mm/m (Table 19, p. 144, middle of the ranges): 52 mm.
    assert asked.kc == pytest.approx(np.full((200, 1), 1.05))
    assert asked.taw_mm == pytest.approx(np.full((200, 1), 52.0))


def test_crop_coefficient_and_roots_follow_the_stages() -> None:
    garden = one_bed({**TOMATOES, "planted": "05-01"})
    asked = bed_days(garden, date(2031, 5, 1), 120)
    # FAO-56, Table 12, p. 110: 0.6 and 1.15; Table 11, p. 105: 30 and 40 days; eq. 66, p. 132,
    # half-way through the second stage; no change in the third.
    assert asked.kc[[0, 30, 50, 70, 115], 0] == pytest.approx([0.6, 0.6, 0.875, 1.15, 1.15])
    # Roots of 0.2 m (from memory) to 0.7 m (Table 22, p. 163) over 70 days, loam of 130 mm/m
    # (Table 19, p. 144), p = 0.4 (Table 22).
    assert asked.taw_mm[[0, 35, 70, 100], 0] == pytest.approx([26.0, 58.5, 91.0, 91.0])
    assert asked.raw_mm[70, 0] == pytest.approx(0.4 * 91.0)


@pytest.mark.parametrize(
    ("wind", "least_humidity", "gain"),
    [
        # FAO-56, eq. 62 and 70, p. 123 and 136, for tomatoes of 0.6 m (Table 12, p. 110).
        ("4 m/s", "30 %", (0.04 * 2.0 - 0.004 * -15.0) * 0.2**0.3),
        ("1 m/s", "80 %", (0.04 * -1.0 - 0.004 * 35.0) * 0.2**0.3),
        ("2 m/s", "45 %", 0.0),
    ],
)
def test_crops_take_more_in_a_dry_wind(wind: str, least_humidity: str, gain: float) -> None:
    garden = in_air("tomato", "05-20", wind=wind, least_humidity=least_humidity)
    asked = bed_days(garden, date(2031, 5, 20), 90)
    assert asked.kc[[0, 80], 0] == pytest.approx([0.6, 1.15 + gain])
    assert asked.kcb[[0, 80], 0] == pytest.approx([0.15, 1.10 + gain])


def test_in_damp_still_air_no_crop_takes_less_than_its_basal_part() -> None:
    for crop, row in reference_tables().crops.items():
        garden = in_air(crop, "05-01", wind="1 m/s", least_humidity="80 %")
        asked = bed_days(garden, date(2031, 5, 1), sum(row.stage_days))
        assert (asked.kcb <= asked.kc + 1e-12).all(), crop


def test_nothing_grows_before_planting_and_after_clearing() -> None:
    asked = bed_days(one_bed(TOMATOES), date(2031, 5, 18), 5)
    assert asked.grows[:, 0].tolist() == [False, False, True, True, True]
    asked = bed_days(one_bed(TOMATOES), date(2031, 9, 29), 5)
    assert asked.grows[:, 0].tolist() == [True, True, True, False, False]
    # Open ground loses what a crop in its first stage does: 0.7 (FAO-56, Table 12, p. 110).
    assert asked.kc[3:, 0] == pytest.approx([0.7, 0.7])


@pytest.mark.parametrize(
    ("cover", "initial", "middle"),
    [
        # FAO-56, ch. 10, p. 196 to 198: half the surface covered takes 25 % off Kc in the first
        # stage, and 25 % off Kc - Kcb in mid-season; tomato 0.6, 1.15 and 1.10 (Tables 12, 17).
        ("50 %", 0.75 * 0.6, 1.15 - 0.25 * 0.05),
        ("100 %", 0.5 * 0.6, 1.15 - 0.5 * 0.05),
        ("0 %", 0.6, 1.15),
    ],
)
def test_mulch_lowers_the_crop_coefficient(cover: str, initial: float, middle: float) -> None:
    garden = one_bed(TOMATOES, mulch={"material": "straw", "cover": cover})
    asked = bed_days(garden, date(2031, 5, 20), 90)
    assert asked.kc[[0, 20, 80], 0] == pytest.approx([initial, initial, middle])


def test_beds_stand_in_the_order_of_the_file() -> None:
    beds = [
        {"name": "sand", "area": "1 m2", "soil": "sand"},
        {"name": "loam", "area": "1 m2", "soil": "loam"},
    ]
    asked = bed_days(make_garden(bed=beds), date(2031, 6, 1), 3)
    # 0.4 m of 75 and 130 mm/m: FAO-56, Table 19, p. 144, middle of the ranges.
    assert asked.taw_mm == pytest.approx(np.tile([30.0, 52.0], (3, 1)))
