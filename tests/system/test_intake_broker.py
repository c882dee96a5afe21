"""The intake against a real broker: one that is there, away, restarted, or has forgotten us."""

from __future__ import annotations

import shutil
import subprocess
import sys
import threading
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from tests.servers import mosquitto
from tests.system.conftest import Publisher

from steepwell.clock import WallClock
from steepwell.errors import BrokerError
from steepwell.sense.intake import Intake
from steepwell.store.store import Store, garden_store_url, open_store

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from tests.servers import Mosquitto
    from tests.system.conftest import Listener

    from steepwell.garden.garden import Garden

pytestmark = pytest.mark.mosquitto

WITHIN_S = 30.0
TICK_S = 0.02
LEEK, SHADE = "quince/leek", "quince/shade"
ALIVE = "steepwell/quince-yard/alive"


@contextmanager
def hearing(garden: Garden, store: Store, *, there: bool = True) -> Iterator[Intake]:
    intake = Intake(garden, store, WallClock())
    intake.start()
    try:
        assert not there or intake.connected.wait(WITHIN_S)
        yield intake
    finally:
        intake.stop()


@pytest.fixture
def store(garden: Garden) -> Iterator[Store]:
    with open_store(garden_store_url(garden), garden) as store:
        yield store


def tool(name: str) -> str:
    """Return where a program that comes with Mosquitto is."""
    found = shutil.which(name)
    if found is None:
        pytest.skip(f"{name} is not installed")
    return found


def speaking(garden: Garden, protocol: str) -> Garden:
    assert garden.broker is not None
    return garden.model_copy(
        update={"broker": garden.broker.model_copy(update={"protocol": protocol})}
    )


def pack(number: int) -> str:
    """Return a SenML pack of its own time and value."""
    time_s = 1_760_000_000 + number / 1000
    return f'[{{"n":"urn:dev:ow:28ff01:leek","u":"Cel","t":{time_s:.3f},"v":{number / 1000}}}]'


def kept(store: Store) -> list[tuple[str, float]]:
    """Return all readings in the order of time: name of the sensor and thousandths of its value."""
    names = {number: name for name, number in store.readings.ids.items()}
    with store._database.reading() as connection:
        rows = connection.exec_driver_sql("SELECT sensor, value FROM reading ORDER BY time_ms")
        return [(names[sensor], round(value * 1000)) for sensor, value in rows]


def await_that(true: Callable[[], bool]) -> None:
    """Wait for what tells nobody that it has come about."""
    waiting = threading.Event()
    for _ in range(round(WITHIN_S / TICK_S)):
        if true():
            return
        waiting.wait(TICK_S)
    pytest.fail("it did not come about")


@pytest.mark.parametrize("protocol", ["5", "3.1.1"])
def test_what_is_said_is_stored_also_what_was_said_meanwhile(
    garden: Garden, store: Store, publisher: Publisher, protocol: str
) -> None:
    garden = speaking(garden, protocol)
    with hearing(garden, store) as intake:
        publisher.say(SHADE, "0.001", "0.002")
        publisher.say(LEEK, pack(3))
        assert intake.wait_settled(3, WITHIN_S)
    publisher.say(SHADE, "0.004", "nonsense", "0.005")
    with hearing(garden, store) as intake:
        assert intake.wait_settled(3, WITHIN_S)
        publisher.say(SHADE, "0.006")
        assert intake.wait_settled(4, WITHIN_S)
    with hearing(garden, store) as intake:
        publisher.say(SHADE, "0.007")
        assert intake.wait_settled(1, WITHIN_S)
        # Nothing came again.
        assert intake.settled() == 1
    assert [value for _, value in kept(store)] == [3, 1, 2, 4, 5, 6, 7]
    assert [refused.payload for refused in store.refused.newest(9)] == [b"nonsense"]


def test_a_client_we_did_not_write_is_understood(
    garden: Garden, store: Store, broker: Mosquitto
) -> None:
    publish = [tool("mosquitto_pub"), "-h", "127.0.0.1", "-p", str(broker.port), "-q", "1"]
    entry = '{"kind": "level-read", "butt": "north", "text": "3 of 5 full"}'
    with hearing(garden, store) as intake:
        for topic, payload in (
            (LEEK, pack(1)),
            (SHADE, "0.002"),
            ("steepwell/quince-yard/journal", entry),
        ):
            subprocess.run([*publish, "-t", topic, "-m", payload], check=True)
        lines = "".join(f"{number / 1000}\n" for number in range(3, 100))
        subprocess.run([*publish, "-t", SHADE, "-l"], input=lines, text=True, check=True)
        assert intake.wait_settled(100, WITHIN_S)
    assert kept(store) == [("leek-probe", 1), *(("shade", number) for number in range(2, 100))]
    (level,) = store.journal.entries(WallClock().now())
    assert getattr(level, "litres", None) == pytest.approx(120)


def test_what_the_broker_retained_is_a_reading_only_if_it_is_timed(
    garden: Garden, store: Store, publisher: Publisher
) -> None:
    publisher.say(LEEK, pack(1), retain=True)
    publisher.say(SHADE, "0.002", retain=True)
    with hearing(garden, store) as intake:
        assert intake.wait_settled(2, WITHIN_S)
    assert kept(store) == [("leek-probe", 1)]
    assert store.refused.newest(1) == []


def test_nothing_is_acknowledged_before_it_is_stored(
    garden: Garden, store: Store, publisher: Publisher
) -> None:
    with hearing(garden, store) as intake:
        with store._database.transaction() as connection:
            connection.exec_driver_sql("ALTER TABLE reading RENAME TO elsewhere")
        publisher.say(SHADE, "0.001", "0.002", "0.003")
        await_that(lambda: "cannot be read or written" in (intake.state().last_error or ""))
        assert intake.state().connected
        assert intake.settled() == 0
    with store._database.transaction() as connection:
        connection.exec_driver_sql("ALTER TABLE elsewhere RENAME TO reading")
    with hearing(garden, store) as intake:
        assert intake.wait_settled(3, WITHIN_S)
        assert intake.state().last_error is None
    assert kept(store) == [("shade", 1), ("shade", 2), ("shade", 3)]


def test_a_broker_that_is_not_there_yet_is_waited_for(
    garden: Garden, store: Store, broker: Mosquitto, caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level("INFO", logger="steepwell")
    broker.stop()
    before = WallClock().now()
    with hearing(garden, store, there=False) as intake:
        await_that(lambda: intake.state().tries >= 2)
        state = intake.state()
        assert not state.connected
        assert "refused" in (state.last_error or "")
        assert state.since is not None
        assert before <= state.since <= WallClock().now()
        broker.start()
        assert intake.connected.wait(WITHIN_S)
        assert intake.state().tries == 0
    assert [message[:13] for message in caplog.messages] == ["no connection", "connected to "]


def test_a_broker_that_restarts_loses_and_doubles_nothing(
    garden: Garden, store: Store, broker: Mosquitto
) -> None:
    total = 0
    with hearing(garden, store):
        for _ in range(3):
            publisher = Publisher(broker.port)
            numbers = range(total, total + 1000)
            publisher.say(SHADE, *(f"{number / 1000}" for number in numbers))
            publisher.close()
            total += 1000
            broker.stop()
            broker.start()
        # What comes again is settled too, so that counting what is settled would not do.
        await_that(lambda: len(kept(store)) >= total)
    assert kept(store) == [("shade", number) for number in range(total)]


def test_a_broker_that_has_forgotten_us_is_subscribed_to_anew(
    garden: Garden, store: Store, broker: Mosquitto, caplog: pytest.LogCaptureFixture
) -> None:
    with hearing(garden, store) as intake:
        broker.stop()
        await_that(lambda: not intake.state().connected)
        broker.forget()
        broker.start()
        assert intake.connected.wait(WITHIN_S)
        publisher = Publisher(broker.port)
        publisher.say(SHADE, "0.001")
        publisher.close()
        assert intake.wait_settled(1, WITHIN_S)
    assert kept(store) == [("shade", 1)]
    assert sum("has forgotten our session" in message for message in caplog.messages) == 1


def test_figures_are_published_and_only_the_newest_waits_for_the_broker(
    garden: Garden,
    store: Store,
    broker: Mosquitto,
    listen: Callable[[str], Listener],
) -> None:
    listener = listen("steepwell/#")
    broker.stop()
    with hearing(garden, store, there=False) as intake:
        intake.publish("steepwell/quince-yard/butt/north", b'{"now_l": 1}')
        intake.publish("steepwell/quince-yard/plan", b"{}")
        intake.publish("steepwell/quince-yard/butt/north", b'{"now_l": 2}')
        broker.start()
        listener.wait_for("steepwell/quince-yard/butt/north", b'{"now_l": 2}')
        listener.wait_for("steepwell/quince-yard/plan", b"{}")
        intake.publish("steepwell/quince-yard/butt/north", b'{"now_l": 3}')
        listener.wait_for("steepwell/quince-yard/butt/north", b'{"now_l": 3}')
    assert ("steepwell/quince-yard/butt/north", b'{"now_l": 1}') not in listener.heard


def test_the_broker_tells_whether_we_are_there(
    garden: Garden,
    garden_file: Path,
    store: Store,
    listen: Callable[[str], Listener],
) -> None:
    with hearing(garden, store):
        listen(ALIVE).wait_for(ALIVE, b'{"schema": 1, "alive": true}')
    listen(ALIVE).wait_for(ALIVE, b'{"schema": 1, "alive": false}')
    command = [sys.executable, "-m", "steepwell.cli", "run", str(garden_file)]
    with subprocess.Popen(command, stderr=subprocess.DEVNULL) as process:
        watching = listen(ALIVE)
        watching.wait_for(ALIVE, b'{"schema": 1, "alive": true}')
        process.kill()
    watching.wait_for(ALIVE, b'{"schema": 1, "alive": false}')


def test_a_broker_that_asks_for_a_password(garden: Garden, store: Store, tmp_path: Path) -> None:
    folder = tmp_path / "guarded"
    folder.mkdir()
    passwords, ours = folder / "passwords", tmp_path / "broker-password"
    subprocess.run([tool("mosquitto_passwd"), "-b", "-c", passwords, "robin", "sloe"], check=True)
    passwords.chmod(0o644)
    ours.write_text("sloe\n", encoding="utf-8")
    with mosquitto(folder, {"allow_anonymous": f"false\npassword_file {passwords}"}) as guarded:
        assert garden.broker is not None
        stranger = garden.broker.model_copy(update={"port": guarded.port})
        known = stranger.model_copy(
            update={"username": "robin", "password_file": Path("broker-password")}
        )
        with hearing(garden.model_copy(update={"broker": stranger}), store, there=False) as intake:
            await_that(lambda: intake.state().last_error is not None)
            assert intake.state().last_error == "it refuses us: Not authorized"
        with hearing(garden.model_copy(update={"broker": known}), store) as intake:
            assert intake.state().connected
        ours.unlink()
        with pytest.raises(BrokerError, match=r"password cannot be read from .*/broker-password"):
            Intake(garden.model_copy(update={"broker": known}), store, WallClock())


def test_a_garden_without_a_broker_has_no_intake(garden: Garden, store: Store) -> None:
    with pytest.raises(BrokerError, match=r"names no broker; add a \[broker\] section"):
        Intake(garden.model_copy(update={"broker": None}), store, WallClock())


def test_readings_are_timed_by_the_clock_on_the_wall(
    garden: Garden, store: Store, publisher: Publisher
) -> None:
    with hearing(garden, store) as intake:
        before = WallClock().now()
        publisher.say(SHADE, "0.001")
        assert intake.wait_settled(1, WITHIN_S)
    reading = store.readings.latest(WallClock().now())["shade"]
    read_at = datetime.fromtimestamp(reading.time_ms / 1000, UTC)
    assert before - timedelta(milliseconds=1) <= read_at <= WallClock().now()
