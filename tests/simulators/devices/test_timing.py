from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING

import pytest

from steepwell.errors import CommandError
from steepwell_sim.devices.timing import check_interval, live_through, moments_to_report
from steepwell_sim.start import world_on
from steepwell_sim.weather.hours import Hour, hours_of_day

if TYPE_CHECKING:
    from steepwell.garden.garden import Garden
    from steepwell_sim.weather.record import Day

# 13:00 to 14:00 in London.
START = datetime(2031, 6, 1, 12, tzinfo=UTC)
HOUR = Hour(START, START + timedelta(hours=1), 0.0, 0.0, 0.0, 15.0, 15.0)


@pytest.mark.parametrize(
    ("every", "minutes"),
    [(60, [60]), (20, [20, 40, 60]), (1, list(range(1, 61))), (120, [60]), (180, []), (1440, [])],
)
def test_moments_are_counted_from_local_midnight(
    garden: Garden, every: int, minutes: list[int]
) -> None:
    moments = moments_to_report(HOUR, every, garden.garden.zone)
    assert [(moment - START).seconds // 60 for moment in moments] == minutes


@pytest.mark.parametrize("every", [0, -5, 7, 90, 2880])
def test_an_interval_that_does_not_fit_is_refused(every: int) -> None:
    with pytest.raises(CommandError, match=f"--every {every}"):
        check_interval(every)


@pytest.mark.parametrize("every", [30, 60, 300])
def test_the_hour_passes_once_and_not_before_its_end(
    garden: Garden, dry_year: dict[date, Day], every: int
) -> None:
    day = date(2031, 6, 1)
    world = world_on(garden, dry_year, day, last=day, seed=1)
    hour = hours_of_day(dry_year, day, garden.garden, seed=1)[13]
    before_c = world.air_c
    for moment in live_through(world, hour, every, garden.garden.zone):
        assert world.air_c == (hour.end_air_c if moment == hour.end else before_c)
    assert world.air_c == hour.end_air_c
