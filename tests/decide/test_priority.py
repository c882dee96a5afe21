"""What a lack of water costs: by priority, area, crop and growth period."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest
from tests.gardens import make_garden

from steepwell.decide.priority import growth_words, loss_per_mm, stop_words
from steepwell.outlook.calendar import Stay
from steepwell.outlook.et0 import radiation_of

LATITUDE = 51.5


def bed(name: str, crop: str, planted: str, cleared: str, **more: object) -> dict[str, object]:
    grown = [{"crop": crop, "planted": planted, "cleared": cleared}]
    return {"name": name, "area": "3 m2", "crops": grown, **more}


def et0_of(first: date, days: int) -> np.ndarray:
    """Return evapotranspiration in proportion to the radiation, about 4 mm in June."""
    return 0.1 * radiation_of(first, days, LATITUDE)


def lost_at_a_share(crop: str, planted: date, days: int, share: float) -> float:
    """Return what one bed loses that lacks the same share of its water every day."""
    cleared = planted.fromordinal(planted.toordinal() + days - 1)
    one = bed("all", crop, f"{planted:%m-%d}", f"{cleared:%m-%d}")
    et0 = et0_of(planted, days)
    loss = loss_per_mm(make_garden(bed=[one]), planted, et0)[:, 0]
    stay = Stay(crop, planted, cleared)
    etc = et0 * stay.table.curve.kc_on(np.arange(float(days)))
    return float(loss @ (share * etc))


@pytest.mark.parametrize(
    ("crop", "days", "ky"),
    [
        # FAO-56, Table 24, p. 181; the days are those of Table 11, p. 104 to 106.
        ("bean", 91, 1.15),
        ("sweet-corn", 81, 1.25),
        ("potato", 146, 1.1),
        # Without growth periods of its own; 1 where it is not known (p. 177).
        ("lettuce", 76, 1.0),
    ],
)
def test_the_same_lack_all_season_loses_what_the_published_value_says(
    crop: str, days: int, ky: float
) -> None:
    # Eq. 90, p. 176: a fifth of the water missing loses a fifth of Ky.
    assert lost_at_a_share(crop, date(2031, 4, 10), days, 0.2) == pytest.approx(0.2 * ky)


def test_a_lack_in_flower_costs_most() -> None:
    # Beans planted on 20 May are full grown after 50 days, flower for 15, fill for 15 (FAO-56,
    # Table 11: 20, 30, 30 and 10 days).
    garden = make_garden(bed=[bed("beans", "bean", "05-20", "08-18")])
    first = date(2031, 5, 20)
    loss = loss_per_mm(garden, first, et0_of(first, 90))[:, 0]
    growing, flower, filling, past = loss[25], loss[57], loss[72], loss[85]
    assert flower > filling > past
    assert flower > 2 * growing


def test_beds_weigh_by_area_and_priority() -> None:
    beds = [
        bed("one", "leek", "05-01", "10-31"),
        bed("two", "leek", "05-01", "10-31", priority=2.0),
        bed("large", "leek", "05-01", "10-31", area="9 m2"),
    ]
    first = date(2031, 6, 1)
    loss = loss_per_mm(make_garden(bed=beds), first, et0_of(first, 30))
    # 3, 6 and 9 of 18; a millimetre is as many litres as there are square metres.
    assert loss[:, 1] == pytest.approx(2 * loss[:, 0])
    assert loss[:, 2] == pytest.approx(3 * loss[:, 0])


def test_a_bed_without_a_crop_loses_nothing() -> None:
    garden = make_garden(bed=[bed("spinach", "spinach", "03-25", "05-29")])
    first = date(2031, 5, 20)
    loss = loss_per_mm(garden, first, et0_of(first, 30))[:, 0]
    assert (loss[:10] > 0).all()
    assert (loss[10:] == 0).all()


def test_crops_that_follow_each_other_share_the_weight_of_their_bed() -> None:
    both = {
        "name": "both",
        "area": "3 m2",
        "crops": [
            {"crop": "spinach", "planted": "03-25", "cleared": "05-29"},
            {"crop": "lettuce", "planted": "06-05", "cleared": "08-20"},
        ],
    }
    first, days = date(2031, 3, 25), 160
    et0 = et0_of(first, days)
    loss = loss_per_mm(make_garden(bed=[both]), first, et0)[:, 0]
    # Both have Ky 1 and no growth periods: a millimetre costs the same all year.
    assert len(np.unique(loss[loss > 0].round(12))) == 1


def test_a_bed_of_which_no_crops_are_known_weighs_the_same_all_year() -> None:
    first = date(2031, 4, 1)
    loss = loss_per_mm(make_garden(), first, et0_of(first, 100))[:, 0]
    assert loss.min() == pytest.approx(loss.max())
    assert loss.min() > 0


@pytest.mark.parametrize(
    ("crop", "age_d", "words"),
    [
        ("bean", 10, "still growing"),
        ("bean", 57, "in flower"),
        ("bean", 72, "filling its pods"),
        ("sweet-corn", 50, "in tassel"),
        ("potato", 70, "setting its tubers"),
        # Who stands longer than the table says ripens on.
        ("tomato", 200, "ripening"),
        ("lettuce", 40, None),
    ],
)
def test_what_a_crop_is_doing(crop: str, age_d: int, words: str | None) -> None:
    planted = date(2031, 4, 1)
    day = planted.fromordinal(planted.toordinal() + age_d)
    assert growth_words(Stay(crop, planted, date(2031, 12, 31)), day) == words


@pytest.mark.parametrize(
    ("crop", "age_d", "stops"),
    [
        # Onions ripen after 15, 25 and 70 days (FAO-56, Table 11); common practice, no source.
        ("onion", 109, False),
        ("onion", 110, True),
        # Carrots are full grown after 30 and 40 days, leeks past their first stage after 30.
        ("carrot", 69, False),
        ("carrot", 70, True),
        ("leek", 29, False),
        ("leek", 30, True),
        ("bean", 85, False),
    ],
)
def test_who_is_among_the_first_to_be_left_dry(crop: str, age_d: int, *, stops: bool) -> None:
    planted = date(2031, 4, 1)
    day = planted.fromordinal(planted.toordinal() + age_d)
    assert (stop_words(Stay(crop, planted, date(2031, 12, 31)), day) is not None) == stops
