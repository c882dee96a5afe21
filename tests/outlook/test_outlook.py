"""The outlook as a document: its keys, its figures, and that it is what others were told."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING, Any

import jsonschema
import numpy as np
import pytest
from tests.gardens import crop_alone, flat_record, make_garden, state_of

from steepwell.errors import WeatherRecordError
from steepwell.outlook.draws import certain
from steepwell.outlook.futures import run_futures
from steepwell.outlook.outlook import Outlook, make_outlook
from steepwell.outlook.record import Record
from steepwell.outlook.state import SteepNow
from steepwell.outlook.summary import chance_of_dry, outlook_document
from steepwell.outlook.weather import Weather
from steepwell.tell import documents

if TYPE_CHECKING:
    from steepwell.garden.garden import Garden
    from steepwell.outlook.state import State

Json = dict[str, Any]

NOW = datetime(2031, 5, 20, 5, 30, tzinfo=UTC)
DAYS, MEMBERS = 45, 60
QUANTILES = ("p05", "p10", "p25", "p50", "p75", "p90", "p95")


def changing_record() -> Record:
    """Return eleven invented years of wet and dry weeks."""
    first, last = date(2000, 1, 1), date(2010, 12, 31)
    days = (last - first).days + 1
    rng = np.random.default_rng(7)
    season = np.cos(2 * np.pi * (np.arange(days) - 200) / 365.25)
    mean = 10.0 + 8.0 * season + rng.normal(0.0, 2.0, days)
    wet = np.repeat(rng.random(days // 7 + 1), 7)[:days] > 0.5
    rain = np.where(wet, rng.gamma(0.7, 6.0, days), 0.0)
    return Record(first, rain, mean - 5.0, mean + 5.0, np.full(days, np.nan))


RECORD = changing_record()


def steep(name: str, began: datetime | None, thermal_age_d: float) -> SteepNow:
    return SteepNow(name, 15.24, began, thermal_age_d, 54.0, 0.0, (name,))


def whole_garden() -> tuple[Garden, State]:
    garden = make_garden(
        zone="Europe/London",
        roof=[{"name": "shed", "area": "12 m2", "into": "north"}],
        butt=[
            {"name": "north", "litres": "210 L", "dead_volume": "12 L", "overflow_to": "south"},
            {"name": "south", "litres": "210 L"},
        ],
        bed=[{"name": "beans", "area": "6 m2"}, {"name": "leeks", "area": "3 m2"}],
        vessel=[{"name": name, "volume": "60 L"} for name in ("young", "old", "empty")],
    )
    steeps = [
        steep("young", NOW - timedelta(days=9), 7.125),
        steep("old", NOW - timedelta(days=200), 140.0),
        steep("empty", None, 0.0),
    ]
    state = state_of(garden, NOW, litres=[143.24, 80.0], depletion_mm=[21.04, 3.0], steeps=steeps)
    return garden, state


def outlook_of(seed: int = 1) -> Outlook:
    garden, state = whole_garden()
    return make_outlook(garden, state, RECORD, [], seed=seed, days=DAYS, members=MEMBERS)


@pytest.fixture(scope="module")
def outlook() -> Outlook:
    return outlook_of()


@pytest.fixture(scope="module")
def document(outlook: Outlook) -> Json:
    return outlook.document


def test_the_document_has_its_keys_and_no_others(document: Json) -> None:
    assert set(document) == {
        *("schema", "issued", "garden", "members", "days", "butts", "water", "beds", "vessels"),
    }
    assert {frozenset(butt) for butt in document["butts"]} == {
        frozenset({"name", "capacity_l", "now_l", "volume_l", "p_empty", "p_overflow"})
    }
    assert set(document["water"]) == {
        *("volume_l", "p_dry", "p_dry_by", "dry_by", "wanted_l", "shortfall_l", "spilled_l"),
    }
    assert {frozenset(bed) for bed in document["beds"]} == {
        frozenset({"name", "depletion_mm", "readily_available_mm", "p_stress"})
    }
    keys = {"name", "temperature_c", "thermal_age_d", "dilution_parts", "ready", "dilution_on"}
    keys |= {"rung_on", "started", "ready_since", "usable_l", "usable_most_l", "ended"}
    assert {frozenset(vessel) for vessel in document["vessels"]} == {frozenset(keys)}
    for fan in (document["water"]["volume_l"], document["butts"][0]["volume_l"]):
        assert tuple(fan) == QUANTILES
    for spread in (document["water"]["dry_by"], document["water"]["shortfall_l"]):
        assert tuple(spread) == ("p10", "p50", "p90")
    assert tuple(document["vessels"][0]["ready"]) == ("p10", "p50", "p90", "in_d")


def test_the_document_says_when_and_of_what(document: Json) -> None:
    assert document["schema"] == 1
    assert document["issued"] == "2031-05-20T06:30:00+01:00"
    assert document["garden"] == "plum-lane"
    assert document["members"] == MEMBERS
    assert document["days"][0] == "2031-05-20"
    assert document["days"][-1] == "2031-07-03"
    assert [butt["name"] for butt in document["butts"]] == ["north", "south"]
    assert [butt["now_l"] for butt in document["butts"]] == [143.2, 80.0]
    assert [bed["name"] for bed in document["beds"]] == ["beans", "leeks"]
    assert document["beds"][0]["depletion_mm"] == 21.0
    assert document["beds"][0]["readily_available_mm"] == 18.2


def test_every_array_is_as_long_as_the_days(document: Json) -> None:
    butts, water = document["butts"], document["water"]
    arrays = [
        document["days"],
        water["p_dry"],
        water["p_dry_by"],
        water["wanted_l"]["p50"],
        *water["volume_l"].values(),
        *(values for butt in butts for values in butt["volume_l"].values()),
        *(butt[key] for butt in butts for key in ("p_empty", "p_overflow")),
        *(bed["p_stress"] for bed in document["beds"]),
    ]
    assert {len(values) for values in arrays} == {DAYS}


def test_quantiles_are_ordered(document: Json) -> None:
    for part in (document["water"], *document["butts"]):
        fan = np.array([part["volume_l"][name] for name in QUANTILES])
        assert (np.diff(fan, axis=0) >= 0.0).all()
        assert (fan[0] < fan[-1]).any()
    for spread in (
        document["water"]["shortfall_l"],
        document["vessels"][0]["ready"]["in_d"],
        *document["vessels"][1]["dilution_on"].values(),
    ):
        assert spread["p10"] <= spread["p50"] <= spread["p90"]


def test_shares_lie_between_none_and_all(document: Json) -> None:
    shares = [
        *document["water"]["p_dry"],
        *(share for butt in document["butts"] for share in butt["p_empty"] + butt["p_overflow"]),
        *(share for bed in document["beds"] for share in bed["p_stress"]),
    ]
    assert min(shares) == 0.0
    assert max(shares) <= 1.0
    assert any(0.0 < share < 1.0 for share in shares)


def test_quantiles_are_those_of_the_members(outlook: Outlook) -> None:
    stored = outlook.futures.volume_l.sum(axis=1)
    for name, share in zip(QUANTILES, (0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95), strict=True):
        told = outlook.document["water"]["volume_l"][name]
        np.testing.assert_allclose(told, np.quantile(stored, share, axis=1), atol=0.051)


def test_the_document_is_what_was_agreed(document: Json) -> None:
    read = documents.Outlook.model_validate(document)
    # How dry it has been is told with it, and known only where the readings are.
    told = {*document, "dryness"}
    assert read.model_dump(mode="json", by_alias=True).keys() == told
    schema = documents.Outlook.model_json_schema()
    jsonschema.validate(document, schema, format_checker=jsonschema.FormatChecker())
    assert json.loads(json.dumps(document, allow_nan=False)) == document


def test_equal_seeds_give_equal_outlooks(document: Json) -> None:
    assert outlook_of(seed=1).document == document
    assert outlook_of(seed=2).document["water"] != document["water"]


def test_vessels_are_told_by_what_they_hold(document: Json) -> None:
    young, old, empty = document["vessels"]
    assert (young["temperature_c"], young["thermal_age_d"]) == (15.2, 7.12)
    assert young["dilution_parts"] is None
    assert young["ready"]["p50"] > "2031-05-20"
    # Ready long ago; the thinner of 140 days of warmth and 200 of the calendar:
    # 30 (1 - exp(-0.2)) / (1 - exp(-0.014)) = 391, on the next rung 400 (common practice).
    assert old["dilution_parts"] == 400
    assert old["ready"]["in_d"] == {"p10": 0.0, "p50": 0.0, "p90": 0.0}
    assert old["ready"]["p50"] == "2031-05-20"
    assert set(old["dilution_on"]) == {"2031-06-01", "2031-07-01"}
    assert empty["ready"] is empty["thermal_age_d"] is empty["dilution_parts"] is None
    assert empty["dilution_on"] == {}


def test_beds_that_cannot_be_estimated_stop_an_outlook() -> None:
    garden = make_garden()
    state = state_of(garden, NOW)
    unknown = replace(state, beds=())
    with pytest.raises(WeatherRecordError, match="the beds cannot be estimated; fill the gaps"):
        make_outlook(garden, unknown, flat_record(), [], seed=1)


# --- Members whose figures can be told beforehand -------------------------------------------------

SUMMER = datetime(2031, 6, 1, tzinfo=UTC)
# Without losses 1 mm of rain is 10 L.
ROOF = {"name": "shed", "area": "10 m2", "into": "north", "runoff": 1.0, "wetting_loss": "0 mm"}


def ahead(
    *,
    days: int = 12,
    litres: float = 200.0,
    rain_mm: dict[tuple[int, int], float] | None = None,
    et0_mm: dict[tuple[int, int], float] | None = None,
    members: int = 1,
    butt: dict[str, str] | None = None,
) -> Outlook:
    """Return an outlook of one butt and a bed of 4 m²; rain and ET0 are by day and member."""
    garden = make_garden(
        butt=[{"name": "north", "litres": "200 L", **(butt or {})}],
        roof=[ROOF],
        bed=[{"name": "all", "area": "4 m2", "kind": "greenhouse"}],
    )
    shape = (days, members)
    weather = Weather(np.zeros(shape), np.full(shape, 15.0), np.zeros(shape))
    for at, value in (rain_mm or {}).items():
        weather.rain_mm[at] = value
    for at, value in (et0_mm or {}).items():
        weather.et0_mm[at] = value
    asked = crop_alone(days)
    state = state_of(garden, SUMMER, litres=[litres])
    draws = certain(garden, state, members)
    futures = run_futures(garden, state, weather, asked, draws)
    return Outlook(outlook_document(garden, state, futures), futures, weather, asked, draws)


def drying(*first_dry: int | None) -> Json:
    """Return what is told of members that run dry on some day, or never.

    A loss of 52 mm on 4 m² asks for 208 L, which is more than all 200 L.
    """
    thirst = {(day, member): 52.0 for member, day in enumerate(first_dry) if day is not None}
    water: Json = ahead(et0_mm=thirst, members=len(first_dry)).document["water"]
    return water


@pytest.mark.parametrize(
    ("first_dry", "expected"),
    [
        # Ten members: the first, the fifth and the ninth to run dry.
        ((1, 2, 3, 4, 5, 6, 7, 8, 9, 10), ("2031-06-02", "2031-06-06", "2031-06-10")),
        ((3, *[None] * 9), ("2031-06-04", None, None)),
        ((*[0] * 5, *[None] * 5), ("2031-06-01", "2031-06-01", None)),
        ((*[0] * 4, *[None] * 6), ("2031-06-01", None, None)),
        ((*[11] * 9, None), ("2031-06-12", "2031-06-12", "2031-06-12")),
        ((*[None] * 10,), (None, None, None)),
        ((5, *[None] * 19), (None, None, None)),
    ],
)
def test_dry_by_is_the_day_by_which_a_share_has_run_dry(
    first_dry: tuple[int | None, ...], expected: tuple[str | None, ...]
) -> None:
    dry_by = drying(*first_dry)["dry_by"]
    assert (dry_by["p10"], dry_by["p50"], dry_by["p90"]) == expected


def test_the_chance_of_a_day_is_the_share_of_members_dry_on_it() -> None:
    p_dry = drying(2, 2, 5, None)["p_dry"]
    assert p_dry == [0.0, 0.0, 0.5, 0.5, 0.5, *[0.75] * 7]


def test_dry_by_stays_on_the_first_day_though_rain_comes_later() -> None:
    outlook = ahead(days=3, et0_mm={(1, 0): 52.0}, rain_mm={(2, 0): 15.0})
    water = outlook.document["water"]
    assert water["volume_l"]["p50"] == [200.0, 0.0, 150.0]
    assert water["dry_by"]["p10"] == "2031-06-02"
    assert water["p_dry"] == [0.0, 1.0, 0.0]
    assert water["p_dry_by"] == [0.0, 1.0, 1.0]
    garden = make_garden()
    chances = [chance_of_dry(garden, outlook.futures, days) for days in (0, 1, 2)]
    assert chances == [0.0, 1.0, 1.0]


@pytest.mark.parametrize(
    ("butt", "litres", "dry"),
    [
        # Less than one can of 9 L above the tap, or 2 % of what all butts hold, if that is more.
        ({"litres": "200 L"}, 9.0, False),
        ({"litres": "200 L"}, 8.9, True),
        ({"litres": "200 L", "dead_volume": "20 L"}, 29.0, False),
        ({"litres": "200 L", "dead_volume": "20 L"}, 28.9, True),
        ({"litres": "1000 L"}, 20.0, False),
        ({"litres": "1000 L"}, 19.9, True),
    ],
)
def test_dry_means_less_than_a_can_above_the_tap(
    butt: dict[str, str], litres: float, *, dry: bool
) -> None:
    document = ahead(days=1, litres=litres, butt=butt).document
    assert document["water"]["p_dry"] == [float(dry)]


def test_a_butt_is_told_by_its_members() -> None:
    rain = {(0, 0): 20.0, (0, 1): 15.0, (1, 1): 10.0, (1, 2): 0.2}
    document = ahead(days=2, litres=0.0, rain_mm=rain, members=4).document
    (butt,) = document["butts"]
    # 200, 150, 0 and 0 L; then 200, 200 and 50 L over the rim, 2 and 0 L.
    assert butt["p_overflow"] == [0.25, 0.5]
    assert butt["p_empty"] == [0.5, 0.5]
    assert butt["volume_l"]["p50"] == [75.0, 101.0]
    assert document["water"]["p_dry"] == [0.5, 0.5]
    assert document["water"]["spilled_l"] == {"p50": 0.0}


def test_what_is_wanted_and_not_given_is_the_shortfall() -> None:
    water = ahead(days=1, litres=10.0, et0_mm={(0, 0): 6.0}).document["water"]
    # 6 mm on 4 m² are 24 L, of which 10 are there.
    assert water["wanted_l"] == {"p50": [24.0]}
    assert water["shortfall_l"] == {"p10": 14.0, "p50": 14.0, "p90": 14.0}


def test_the_chance_of_stress_is_the_share_of_members_whose_bed_suffers() -> None:
    # On days that ask for 7.25 mm on average 0.35 + 0.04 (5 - 7.25) of 52 mm can be spared (FAO-56,
    # p. 162), 13.5 mm; with water in the butt what was lost is given back in the evening.
    loss = {(0, 0): 20.0, (0, 1): 9.0, (1, 1): 19.0, (1, 2): 10.0}
    (bed,) = ahead(days=3, et0_mm=loss, members=4).document["beds"]
    assert bed["p_stress"] == [0.25, 0.25, 0.0]


def test_a_single_member_is_its_own_quantiles() -> None:
    fan = ahead(days=2, et0_mm={(1, 0): 35.0}).document["water"]["volume_l"]
    assert fan == {key: [200.0, 60.0] for key in QUANTILES}
