"""A forecast as a message: what is understood, and what is refused in a sentence."""

from __future__ import annotations

import json
from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from steepwell.errors import MessageRefusedError
from steepwell.garden.weather import Forecast
from steepwell.sense.forecast import ForecastDay, ForecastDays, parse_forecast

Json = dict[str, Any]

ISSUED = date(2031, 6, 1)
IN_LISTS = Forecast(
    topic="plum-lane/forecast",
    date="/daily/day",
    rain="/daily/rain",
    tmin="/daily/low",
    tmax="/daily/high",
)
BY_DAY = Forecast(
    topic="plum-lane/forecast",
    days="/ahead",
    date="/date",
    rain="/water/mm",
    tmin="/air/0",
    tmax="/air/1",
)
LISTS: Json = {
    "day": ["2031-06-01", "2031-06-02", "2031-06-03"],
    "rain": [0, 4.5, 12.25],
    "low": [9.5, 11, 10],
    "high": [24, 19.5, 17],
}
EXPECTED = ForecastDays(
    ISSUED,
    (
        ForecastDay(date(2031, 6, 1), 0.0, 9.5, 24.0),
        ForecastDay(date(2031, 6, 2), 4.5, 11.0, 19.5),
        ForecastDay(date(2031, 6, 3), 12.25, 10.0, 17.0),
    ),
)


def lists(**changes: object) -> bytes:
    return json.dumps({"daily": {**LISTS, **changes}}).encode()


def test_a_forecast_in_lists_is_read() -> None:
    assert parse_forecast(lists(), IN_LISTS, ISSUED) == EXPECTED


def test_a_forecast_of_objects_is_read() -> None:
    ahead = [
        {"date": day, "water": {"mm": rain}, "air": [low, high]}
        for day, rain, low, high in zip(*LISTS.values(), strict=True)
    ]
    assert parse_forecast(json.dumps({"ahead": ahead}).encode(), BY_DAY, ISSUED) == EXPECTED


def test_a_time_that_begins_with_a_date_is_its_day() -> None:
    days = ["2031-06-01T00:00", "2031-06-02 00:00:00", "2031-06-03T00:00:00+01:00"]
    assert parse_forecast(lists(day=days), IN_LISTS, ISSUED) == EXPECTED


def test_days_gone_by_are_passed_over() -> None:
    forecast = parse_forecast(lists(), IN_LISTS, date(2031, 6, 2))
    assert forecast == ForecastDays(date(2031, 6, 2), EXPECTED.days[1:])


def test_a_forecast_ends_where_a_value_is_missing() -> None:
    forecast = parse_forecast(lists(high=[24, 19.5, None]), IN_LISTS, ISSUED)
    assert forecast.days == EXPECTED.days[:2]


@pytest.mark.parametrize(
    ("payload", "words"),
    [
        (b"\xff", "no text"),
        (b"21.5", "nothing at '/daily/day'"),
        (lists(day="2031-06-01"), "date leads to '2031-06-01', and should lead to a list"),
        (lists(rain=[0, 1]), "not equally long: 3 of date, 2 of rain, 3 of tmin, 3 of tmax"),
        (lists(rain=[0] * 61), "rain has 61 values"),
        (lists(day=["1 June", "2 June", "3 June"]), "'1 June' is no date; wanted one like 2031-"),
        (lists(day=["2031-06-31", *LISTS["day"][1:]]), "'2031-06-31' is no date"),
        (lists(day=["2031-06-0123", *LISTS["day"][1:]]), "is no date"),
        (lists(day=[1938124800, *LISTS["day"][1:]]), "1938124800 is no date"),
        (lists(day=[None, *LISTS["day"][1:]]), "null is no date"),
        (lists(day=["2031-06-01"] * 3), "2031-06-01 comes after 2031-06-01; days go in order"),
        (lists(day=LISTS["day"][::-1]), "2031-06-02 comes after 2031-06-03"),
        (lists(rain=[0, -1, 0]), "-1 mm of rain on 2031-06-02 cannot be; wanted 0 to 500"),
        (lists(rain=[0, 501, 0]), "501 mm of rain on 2031-06-02"),
        (lists(rain=[0, "wet", 0]), "a value of 2031-06-02 is 'wet', and should be a number"),
        (lists(rain=[0, True, 0]), "a value of 2031-06-02 is true, and should be a number"),
        (lists(low=[9, 20, 9]), "20 to 19.5 °C on 2031-06-02 cannot be; wanted the lower first"),
        (lists(high=[75, 68, 62]), "9.5 to 75 °C on 2031-06-01 cannot be"),
        (lists(low=[-81, 9, 9]), "-81 to 24 °C"),
        (lists(rain=[None, 0, 0]), "no whole day from 2031-06-01 on"),
        (lists(**{key: [] for key in LISTS}), "no whole day from 2031-06-01 on"),
    ],
)
def test_nonsense_is_refused_in_a_sentence(payload: bytes, words: str) -> None:
    with pytest.raises(MessageRefusedError) as refused:
        parse_forecast(payload, IN_LISTS, ISSUED)
    assert words in str(refused.value)


def test_an_old_forecast_is_refused() -> None:
    with pytest.raises(MessageRefusedError, match="no whole day from 2031-06-04 on"):
        parse_forecast(lists(), IN_LISTS, ISSUED + timedelta(days=3))


def test_a_forecast_survives_being_stored() -> None:
    stored = json.loads(json.dumps(EXPECTED.to_json()))
    assert ForecastDays.from_json(stored) == EXPECTED


anything = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(max_size=12)
    | st.sampled_from(["2031-06-01", "2031-06-02"]),
    lambda inner: st.lists(inner, max_size=4),
    max_leaves=6,
)


@given(st.dictionaries(st.sampled_from(sorted(LISTS)), anything))
def test_whatever_comes_is_understood_or_refused(changes: Json) -> None:
    try:
        forecast = parse_forecast(lists(**changes), IN_LISTS, ISSUED)
    except MessageRefusedError as refused:
        assert str(refused)  # noqa: PT017 - what is not refused is checked below
    else:
        assert forecast.days[0].day >= ISSUED
