from __future__ import annotations

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import pytest

from steepwell.garden.quantity import LENGTH, TEMPERATURE, VOLUME, WATER_DEPTH, Kind
from steepwell.sense.said import amount_said, as_named, day_said, moment_said, with_points

CAN_L = 9.0
TODAY = date(2031, 11, 26)
LONDON = ZoneInfo("Europe/London")
# British Summer Time is an hour ahead.
NOW = datetime(2031, 6, 10, 8, 30, tzinfo=UTC)


@pytest.mark.parametrize(
    ("text", "kind", "amount"),
    [
        ("4,5 mm", WATER_DEPTH, 4.5),
        ("4.5 mm", WATER_DEPTH, 4.5),
        ("2,54 cm", LENGTH, 0.0254),
        ("two cans", VOLUME, 18.0),
        ("2 cans", VOLUME, 18.0),
        ("a can", VOLUME, 9.0),
        ("half a can", VOLUME, 4.5),
        ("2,5 Cans", VOLUME, 22.5),
        ("Three buckets", VOLUME, 30.0),
        ("20 L", VOLUME, 20.0),
        ("14 C", TEMPERATURE, 14.0),
        # 59 °F are 15 °C.
        ("59 F", TEMPERATURE, 15.0),
        ("59 °F", TEMPERATURE, 15.0),
    ],
)
def test_an_amount_as_it_comes_to_mind(text: str, kind: Kind, amount: float) -> None:
    assert amount_said(text, kind, CAN_L) == pytest.approx(amount)


@pytest.mark.parametrize(
    "text", ["1,500 L", "two", "cans", "many cans", "1,5,2 L", "", "\U0001f331"]
)
def test_what_may_be_two_things_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="for instance"):
        amount_said(text, VOLUME, CAN_L)


def test_cans_are_no_millimetres() -> None:
    with pytest.raises(ValueError, match="unknown unit 'cans'"):
        amount_said("2 cans", WATER_DEPTH, CAN_L)


@pytest.mark.parametrize(("text", "told"), [("1,5", "1.5"), ("1,500", "1,500"), ("1,2,3", "1,2,3")])
def test_a_comma_of_decimals(text: str, told: str) -> None:
    assert with_points(text) == told


def test_a_name_as_the_files_have_it() -> None:
    assert as_named(" All of  it ") == "all-of-it"


@pytest.mark.parametrize(
    ("text", "past", "day"),
    [
        ("2031-05-03", False, "2031-05-03"),
        ("3 May 2031", False, "2031-05-03"),
        ("3rd of May 2031", False, "2031-05-03"),
        ("May 3, 2031", False, "2031-05-03"),
        ("3.5.2031", False, "2031-05-03"),
        ("today", False, "2031-11-26"),
        ("Yesterday", True, "2031-11-25"),
        # The next one, but for what has just been.
        ("3 May", False, "2032-05-03"),
        ("1 nov", False, "2031-11-01"),
        ("1 Oct", False, "2032-10-01"),
        ("3 may", True, "2031-05-03"),
        ("27 Nov", True, "2030-11-27"),
        ("29 Feb", False, "2032-02-29"),
        ("29 Feb", True, "2028-02-29"),
    ],
)
def test_a_day(text: str, day: str, *, past: bool) -> None:
    assert day_said(text, TODAY, past=past) == date.fromisoformat(day)


@pytest.mark.parametrize("text", ["", "3", "may", "31 June", "3 Mai", "3/5", "32.1.", "1.13.2031"])
def test_what_is_no_day(text: str) -> None:
    assert day_said(text, TODAY) is None


@pytest.mark.parametrize(
    ("text", "moment"),
    [
        ("2031-06-09", "2031-06-09T11:00+00:00"),
        ("9 June", "2031-06-09T11:00+00:00"),
        ("2031-06-09 18:00", "2031-06-09T17:00+00:00"),
        ("2031-06-09T18:00+02:00", "2031-06-09T16:00+00:00"),
        ("2031-06-09T18:00Z", "2031-06-09T18:00+00:00"),
        # Noon has not come yet.
        ("today", "2031-06-10T08:30+00:00"),
        ("11 June", "2030-06-11T11:00+00:00"),
    ],
)
def test_a_moment_is_of_the_garden(text: str, moment: str) -> None:
    assert moment_said(text, NOW, LONDON) == datetime.fromisoformat(moment)


def test_what_is_no_moment() -> None:
    assert moment_said("last week", NOW, LONDON) is None
