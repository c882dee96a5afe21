"""A daemon whose mirror is away for a day, then catches up; its token stays out of sight."""

from __future__ import annotations

import json
import logging
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any
from urllib.parse import urlencode
from urllib.request import urlopen

import pytest
from tests.gardens import AIR, flat_record, level_probe, put_readings, vessel_probe, write_record
from tests.mirrors import TOKEN, FaultyServer, require_victoria_metrics, victoria_metrics
from tests.servers import free_port

from steepwell.app import Daemon
from steepwell.clock import ReplayClock, to_ms
from steepwell.garden.load import garden_from
from steepwell.screens import status_report, status_screen
from steepwell.store.store import garden_store_url, open_store

if TYPE_CHECKING:
    from collections.abc import Iterator

    from steepwell.garden.garden import Garden
    from steepwell.store.store import Store

NOON = datetime(2025, 6, 18, 12, 6, tzinfo=UTC)
HOUR = timedelta(hours=1)
NOT_EVALUATED = 2
SENSORS = ("shade", "north-level", "leek-temperature")
FIELDS = {"shade": "temperature_c", "leek-temperature": "temperature_c", "north-level": "volume_l"}

# Sensor and time [ms since 1970].
Key = tuple[str, int]


@pytest.fixture
def garden(tmp_path: Path) -> Garden:
    write_record(tmp_path / "weather.csv", flat_record(rain_mm=2.0))
    (tmp_path / "token").write_text(TOKEN, encoding="utf-8")
    raw = {
        "garden": {
            "name": "plum-lane",
            "latitude": 51.5,
            "longitude": -0.9,
            "timezone": "Europe/London",
        },
        "weather_record": {"daily": "weather.csv"},
        "butt": [{"name": "north", "litres": "200 L"}],
        "vessel": [{"name": "leek", "volume": "60 L"}],
        "bed": [{"name": "all", "area": "10 m2"}],
        "sensor": [AIR, level_probe("north"), vessel_probe("leek")],
        "mirror": {
            "url": f"http://127.0.0.1:{free_port()}",
            "organisation": "plum",
            "bucket": "garden",
            "token_file": "token",
        },
        "told": {
            "people": [
                {"name": "kim", "role": "keeper", "mail": "kim@plum-lane.example"},
                {"name": "pat", "mail": "pat@plum-lane.example"},
            ]
        },
    }
    return garden_from(raw, path=tmp_path / "garden.toml")


class Life:
    """A daemon and its sensors, an hour at a time."""

    def __init__(self, garden: Garden, folder: Path) -> None:
        self.garden = garden
        self.mails = folder / "mail"
        self.clock = ReplayClock(NOON)
        self.daemon = Daemon(garden, self.clock, mail_folder=self.mails, warm_worker=True)
        self.daemon.start()

    def live(self, hours: int, *, silent: str | None = None) -> None:
        """Let hours pass, a reading every five minutes from each sensor that is not silent."""
        for _ in range(hours):
            begin = self.clock.now()
            with self.store() as store:
                for number, sensor in enumerate(SENSORS):
                    if sensor != silent:
                        readings(store, sensor, begin, 12, 14.0 + number)
            self.clock.set(begin + HOUR)
            self.daemon.run_due()

    def store(self) -> Store:
        return open_store(garden_store_url(self.garden), self.garden)

    def notices(self) -> list[str]:
        return [n["id"] for n in status_report(self.garden, self.clock.now())["notices"]]

    def kept(self) -> dict[Key, tuple[float, int]]:
        """Return value and flag of every reading in the store."""
        with self.store() as store:
            points = store.judged.series(SENSORS, 0, to_ms(self.clock.now()))
        return {
            (sensor, point.time_ms): (point.value, point.flag)
            for sensor, series in points.items()
            for point in series
        }


def readings(store: Store, sensor: str, begin: datetime, count: int, value: float) -> None:
    moments = [begin + n * timedelta(minutes=5) for n in range(count)]
    values = {moment: value + 0.01 * n for n, moment in enumerate(moments)}
    put_readings(store, sensor, values, flag=NOT_EVALUATED)


@pytest.fixture
def life(garden: Garden, tmp_path: Path) -> Iterator[Life]:
    life = Life(garden, tmp_path)
    yield life
    life.daemon.stop()


def port_of(garden: Garden) -> int:
    assert garden.mirror is not None
    return int(garden.mirror.url.rpartition(":")[2])


def taken_by(server: FaultyServer) -> dict[Key, tuple[float, int]]:
    found = {}
    for (series, at), fields in server.measured("reading").items():
        tags = dict(tag.split("=") for tag in series.split(",")[1:])
        values = dict(field.split("=") for field in fields.split(","))
        flag = int(values.pop("flag").removesuffix("i"))
        found[tags["sensor"], at] = (float(values.popitem()[1]), flag)
    return found


def test_a_mirror_that_was_away_for_a_day_catches_up(life: Life) -> None:
    life.live(7)
    assert "mirror-behind/mirror" in life.notices()
    life.live(17, silent="leek-temperature")
    server = FaultyServer(port_of(life.garden))
    try:
        server.faults = ["deafen", 503]
        life.live(3, silent="leek-temperature")
        assert "mirror-behind/mirror" not in life.notices()
        with life.store() as store:
            readings(store, "leek-temperature", NOON + 7 * HOUR, 12 * 17, 11.0)
        life.live(2, silent="leek-temperature")
        kept = life.kept()
        assert len(kept) == 2 * 12 * 29 + 12 * 24
        # What came in the last minutes goes with the next flush.
        sent_until = to_ms(life.clock.now() - timedelta(minutes=20))
        assert taken_by(server) == {key: kept[key] for key in kept if key[1] <= sent_until}
        assert {series for series, _ in server.measured("day")} == {"day,garden=plum-lane"}
        assert len(server.measured("outlook_water")) > 100
        assert {request[2]["Authorization"] for request in server.requests} == {f"Token {TOKEN}"}
    finally:
        server.close()
    told = [mail.read_text() for mail in sorted(life.mails.iterdir())]
    behind = [mail for mail in told if "The mirror is behind" in mail]
    assert len(behind) == 1
    assert "To: kim@plum-lane.example" in behind[0]


@pytest.mark.victoria_metrics
def test_victoria_metrics_has_every_reading_after_a_day_away(life: Life, tmp_path: Path) -> None:
    require_victoria_metrics()
    life.live(24, silent="leek-temperature")
    folder = tmp_path / "victoria-metrics"
    folder.mkdir()
    with victoria_metrics(folder, port_of(life.garden)) as server:
        life.live(2)
        with life.store() as store:
            readings(store, "leek-temperature", NOON, 12 * 24, 11.0)
        life.live(2)
        kept = life.kept()
        sent_until = to_ms(life.clock.now() - timedelta(minutes=20))
        expected = {key: value for key, (value, _) in kept.items() if key[1] <= sent_until}
        end_ms = to_ms(life.clock.now())
        found = {
            (series["metric"]["sensor"], at): value
            for field in sorted(set(FIELDS.values()))
            for series in server.stored(f"reading_{field}", to_ms(NOON), end_ms)
            for at, value in zip(series["timestamps"], series["values"], strict=True)
        }
        # It keeps 15 digits or so.
        assert found == pytest.approx(expected, rel=1e-12)
        assert counted(server.url, "reading_flag", life.clock.now()) == {
            sensor: sum(key[0] == sensor for key in expected) for sensor in SENSORS
        }
        (stored,) = server.stored("day_stored_l", 0, end_ms)
        # 18 June 2025 begins in London on the 17th at 23:00 UTC.
        assert stored["timestamps"] == [to_ms(datetime(2025, 6, 17, 23, tzinfo=UTC))]
        outlook = status_report(life.garden, life.clock.now())["outlook"]
        ahead = server.stored("outlook_water_volume_l_p50", 0, end_ms)
        assert len(ahead) == len(outlook["days"])
        last = {series["metric"]["lead_d"]: series["values"][-1] for series in ahead}
        assert last["14"] == outlook["water"]["volume_l"]["p50"][14]


def counted(url: str, name: str, now: datetime) -> dict[str, int]:
    """Return how many samples each sensor's series has, by the query language."""
    asked = {"query": f"count_over_time({name}[3d])", "time": now.timestamp()}
    with urlopen(f"{url}/api/v1/query?{urlencode(asked)}", timeout=30) as answer:  # noqa: S310 - our own
        result: list[dict[str, Any]] = json.load(answer)["data"]["result"]
    return {one["metric"]["sensor"]: int(one["value"][1]) for one in result}


def test_a_token_is_nowhere_to_be_seen(life: Life, caplog: pytest.LogCaptureFixture) -> None:
    server = FaultyServer(port_of(life.garden))
    try:
        server.faults = [401]
        server.says = f'{{"code": "unauthorized", "message": "{TOKEN} is nobody"}}'
        with caplog.at_level(logging.DEBUG):
            life.live(1)
    finally:
        server.close()
    # Waiting does not mend it, so it is told at once.
    assert "mirror-behind/mirror" in life.notices()
    report = status_report(life.garden, life.clock.now())
    worker = life.daemon._workshop._process
    assert worker is not None
    command = Path(f"/proc/{worker.pid}/cmdline").read_text(encoding="utf-8")
    for shown in (json.dumps(report), status_screen(report), caplog.text, command):
        assert TOKEN not in shown
    assert "401" in report["mirror"]["reason"]
    assert all(TOKEN not in mail.read_text() for mail in life.mails.iterdir())


def test_the_keeper_is_told_while_a_server_asks_to_be_left_alone(life: Life) -> None:
    server = FaultyServer(port_of(life.garden))
    try:
        server.faults = [503]
        server.headers = {"Retry-After": "86400"}
        life.live(6)
        assert "mirror-behind/mirror" not in life.notices()
        life.live(1)
        assert "mirror-behind/mirror" in life.notices()
        assert len(server.requests) == 1
    finally:
        server.close()


def test_a_server_that_asks_for_two_hours_gets_them(life: Life) -> None:
    server = FaultyServer(port_of(life.garden))
    try:
        server.faults = [503]
        server.headers = {"Retry-After": "7200"}
        life.live(2)
        assert len(server.requests) == 1
        life.live(1)
        assert len(server.requests) > 1
        assert status_report(life.garden, life.clock.now())["mirror"]["reason"] is None
    finally:
        server.close()
