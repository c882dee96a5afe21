from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from steepwell.errors import CommandError, WeatherRecordError
from steepwell_sim.broker import RunningBroker
from steepwell_sim.replay.options import Options, Place, check, record_for_daemon, replayed_garden
from steepwell_sim.weather.record import Day, read_record

if TYPE_CHECKING:
    from steepwell.garden.garden import Garden

ASKED = Options(
    garden=Path("garden.toml"),
    weather=Path("weather.csv"),
    first=date(1976, 11, 1),
    last=date(1977, 2, 1),
    out=Path("out"),
)


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"last": date(1976, 10, 31)}, "--to 1976-10-31 is before --from 1976-11-01"),
        ({"outlook_every_days": 0}, "--outlook-every"),
        ({"every_minutes": 7}, "--every 7"),
    ],
)
def test_refuses_what_makes_no_sense(change: dict[str, Any], message: str) -> None:
    check(ASKED)
    with pytest.raises(CommandError, match=message):
        check(replace(ASKED, **change))


def test_the_daemon_does_not_know_the_years_replayed(tmp_path: Path) -> None:
    asked = replace(ASKED, out=tmp_path)
    weather = {date(year, 6, 1): Day(0.0, 8.0, 20.0) for year in range(1975, 1979)}
    record = record_for_daemon(asked, weather)
    assert record == tmp_path.resolve() / "record.csv"
    assert [day.year for day in read_record(record)] == [1975, 1978]


def test_another_record_is_taken_as_it_is(tmp_path: Path) -> None:
    other = tmp_path / "other.csv"
    asked = replace(ASKED, out=tmp_path, record=other)
    assert record_for_daemon(asked, {}) == other.resolve()


def test_a_record_of_nothing_but_the_years_replayed_is_refused(tmp_path: Path) -> None:
    weather = {date(1976, 6, 1): Day(0.0, 8.0, 20.0)}
    with pytest.raises(WeatherRecordError, match="--record"):
        record_for_daemon(replace(ASKED, out=tmp_path), weather)


def test_the_garden_is_moved_and_its_outlets_are_closed(garden: Garden) -> None:
    broker = RunningBroker("127.0.0.1", 12345, "3.1.1")
    moved = replayed_garden(
        garden,
        Place(50.8, 4.35, 100.0),
        broker,
        Path("/place/x.db"),
        Path("/place/r.csv"),
    )
    assert (moved.garden.latitude, moved.garden.longitude) == (50.8, 4.35)
    assert moved.garden.elevation == 100.0
    assert moved.broker is not None
    assert (moved.broker.port, moved.broker.protocol) == (12345, "3.1.1")
    assert moved.store.url == "sqlite:////place/x.db"
    assert moved.page is None
    assert moved.bed == garden.bed
