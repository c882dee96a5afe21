"""What readings, days and outlooks look like in the mirror."""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import TYPE_CHECKING, Any

import pytest
from tests.gardens import AIR, GAUGE, hourly, level_probe, make_garden, note, put_readings

from steepwell.mirror.lines import day_lines, outlook_lines, reading_line
from steepwell.store.store import garden_store_url, open_store

if TYPE_CHECKING:
    from pathlib import Path

SHED = {
    "name": "shed",
    "measures": "temperature",
    "of": ["leek", "nettle"],
    "topic": "plum-lane/shed",
    "payload": "number",
}
SECTIONS: dict[str, Any] = {
    "sensor": [GAUGE, AIR, level_probe("north"), SHED],
    "vessel": [{"name": "leek", "volume": "60 L"}, {"name": "nettle", "volume": "30 L"}],
}


@pytest.mark.parametrize(
    ("sensor", "value", "flag", "line"),
    [
        ("gauge", 12.25, 1, "sensor=gauge flag=1i,rain_total_mm=12.25"),
        ("shade", -3.0, 2, "sensor=shade flag=2i,temperature_c=-3"),
        ("north-level", 143.5, 3, "sensor=north-level flag=3i,volume_l=143.5"),
        ("shed", 85.0, 4, "sensor=shed flag=4i,temperature_c=85"),
    ],
)
def test_a_reading_names_sensor_place_and_unit(
    sensor: str, value: float, flag: int, line: str
) -> None:
    garden = make_garden(**SECTIONS)
    places = {"gauge": "sky", "shade": "air", "north-level": "north", "shed": "leek+nettle"}
    (declared,) = (one for one in garden.sensor if one.name == sensor)
    tags, fields = line.split(" ")
    assert reading_line(garden, declared, 1_938_081_600_123, value, flag) == (
        f"reading,garden=plum-lane,of={places[sensor]},{tags} {fields} 1938081600123"
    )


def test_a_day_tells_what_was_observed_of_it(tmp_path: Path) -> None:
    garden = make_garden(tmp_path, zone="Europe/London", **SECTIONS)
    now = datetime(2031, 6, 4, 9, tzinfo=UTC)
    with open_store(garden_store_url(garden), garden) as store:
        # The second of June in London begins on the first at 23:00 UTC.
        begins = datetime(2031, 6, 1, 23, tzinfo=UTC)
        temperatures = hourly(begins, 24, 14.0) | {datetime(2031, 6, 2, 13, tzinfo=UTC): 21.5}
        put_readings(store, "shade", temperatures)
        put_readings(store, "gauge", {h: 0.5 * n for n, h in enumerate(hourly(begins, 24, 0.0))})
        put_readings(store, "north-level", {datetime(2031, 6, 2, 22, tzinfo=UTC): 120.0})
        note(
            store,
            garden,
            datetime(2031, 6, 3, 18, tzinfo=UTC),
            "level-read",
            butt="north",
            litres=90,
        )
        lines = day_lines(garden, store, date(2031, 5, 30), now)
    assert lines == [
        # 23 rises of half a millimetre.
        "day,garden=plum-lane rain_mm=11.5,stored_l=120,tmax_c=21.5,tmin_c=14 1938121200000",
        "day,garden=plum-lane stored_l=90 1938207600000",
    ]


def test_a_garden_without_a_butt_stores_nothing_to_tell_of(tmp_path: Path) -> None:
    garden = make_garden(tmp_path, **{**SECTIONS, "butt": [], "sensor": [AIR, SHED]})
    with open_store(garden_store_url(garden), garden) as store:
        put_readings(store, "shade", hourly(datetime(2031, 6, 2, tzinfo=UTC), 24, 14.0))
        lines = day_lines(garden, store, date(2031, 6, 1), datetime(2031, 6, 3, 9, tzinfo=UTC))
    assert lines == ["day,garden=plum-lane tmax_c=14,tmin_c=14 1938124800000"]


def test_an_outlook_tells_its_quantiles_by_days_ahead() -> None:
    garden = make_garden(zone="Europe/London", **SECTIONS)
    issued = datetime(2031, 6, 1, 5, 30, tzinfo=UTC)
    quantiles = {"p05": [50.0, 40.0], "p50": [100, 90.5], "p95": [150.0, 140.0]}
    document = {
        "days": ["2031-06-01", "2031-06-02"],
        "water": {"volume_l": quantiles, "p_dry": [0.0, 0.25]},
        "butts": [
            {
                "name": "north",
                "volume_l": {"p50": [80, 70]},
                "p_empty": [0, 1],
                "p_overflow": [1, 0],
            }
        ],
        "vessels": [
            {"name": "leek", "ready": {"in_d": {"p10": 5.2, "p50": 6.1, "p90": None}}},
            {"name": "nettle", "ready": None},
        ],
    }
    # 1 June 2031, 05:30 UTC.
    then = 1_938_058_200_000
    water = "outlook_water,garden=plum-lane"
    butt = "outlook_butt,butt=north,garden=plum-lane"
    vessel = "outlook_vessel,garden=plum-lane,vessel=leek"
    assert outlook_lines(garden, issued, document) == [
        f"{water},lead_d=0 p_dry=0,volume_l_p05=50,volume_l_p50=100,volume_l_p95=150 {then}",
        f"{butt},lead_d=0 p_empty=0,p_overflow=1,volume_l_p50=80 {then}",
        f"{water},lead_d=1 p_dry=0.25,volume_l_p05=40,volume_l_p50=90.5,volume_l_p95=140 {then}",
        f"{butt},lead_d=1 p_empty=1,p_overflow=0,volume_l_p50=70 {then}",
        f"{vessel} ready_in_d_p10=5.2,ready_in_d_p50=6.1 {then}",
    ]
