"""Publishers that nobody here wrote, against Mosquitto: what they send is read as it was meant."""

from __future__ import annotations

import asyncio
import base64
import json
import shutil
import subprocess
from pathlib import Path
from typing import TYPE_CHECKING, Any

import aiomqtt
import cbor2
import pytest

from steepwell.clock import WallClock, to_ms
from steepwell.garden.load import garden_from
from steepwell.sense.intake import Intake
from steepwell.store.devices import Device
from steepwell.store.store import garden_store_url, open_store

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from tests.servers import Mosquitto

    from steepwell.garden.garden import Garden
    from steepwell.store.store import Store

    Publish = Callable[[int, list[tuple[str, bytes]]], None]

pytestmark = pytest.mark.mosquitto

WITHIN_S = 30.0
NPM_WITHIN_S = 120
ROOT = Path(__file__).parents[2]
NPM = ROOT / ".cache" / "npm"
BEGIN_S = 1_790_000_000
VESSELS = {
    "senml": {"payload": "senml", "record": "urn:dev:ow:28ff01:t"},
    "cbor": {"payload": "senml", "record": "urn:dev:ow:28ff01:t"},
    "json": {
        "payload": "json",
        "pointer": "/inside/t~1c",
        "time_pointer": "/at",
        "battery_pointer": "/battery",
    },
    "number": {"payload": "number"},
}


@pytest.fixture
def garden(broker: Mosquitto, tmp_path: Path) -> Garden:
    sensors = [
        {"name": name, "topic": f"yard/{name}", "measures": "temperature", "of": name, **keys}
        for name, keys in VESSELS.items()
    ]
    declared = {
        "garden": {"name": "yard", "latitude": 52.1, "longitude": 0.3, "timezone": "Europe/London"},
        "broker": {"host": "127.0.0.1", "port": broker.port},
        "vessel": [{"name": name, "volume": "60 L"} for name in VESSELS],
        "bed": [{"name": "beans", "area": "6 m^2"}],
        "sensor": sensors,
    }
    return garden_from(declared, path=tmp_path / "garden.toml")


@pytest.fixture
def store(garden: Garden) -> Iterator[Store]:
    with open_store(garden_store_url(garden), garden) as store:
        yield store


def messages() -> list[tuple[str, bytes]]:
    """Return ten messages of each format, 10.0 to 10.9 °C, a minute apart where they are timed."""
    said: list[tuple[str, bytes]] = []
    for number in range(10):
        celsius, at_s = 10 + number / 10, BEGIN_S + 60 * number
        base, moment = "urn:dev:ow:28ff01:", f"{at_s}000"
        pack = [{"bn": base, "bt": at_s, "n": "t", "u": "Cel", "v": celsius}]
        short = [{-2: base, -3: at_s, 0: "t", 1: "Cel", 2: celsius}]
        document = {"inside": {"t/c": celsius}, "at": int(moment), "battery": 2.9}
        said += [
            ("yard/senml", json.dumps(pack).encode()),
            ("yard/cbor", cbor2.dumps(short)),
            ("yard/json", json.dumps(document).encode()),
            ("yard/number", f"{celsius} Cel".encode()),
        ]
    return said


def by_mosquitto_pub(port: int, said: list[tuple[str, bytes]]) -> None:
    program = shutil.which("mosquitto_pub")
    if program is None:
        pytest.skip("mosquitto_pub is not installed")
    for topic, payload in said:
        words = [program, "-h", "127.0.0.1", "-p", str(port), "-q", "1", "-t", topic, "-s"]
        subprocess.run(words, input=payload, check=True)


def by_aiomqtt(port: int, said: list[tuple[str, bytes]]) -> None:
    async def publish() -> None:
        async with aiomqtt.Client("127.0.0.1", port) as client:
            for topic, payload in said:
                await client.publish(topic, payload, qos=1)

    asyncio.run(publish())


SCRIPT = """
const mqtt = require('mqtt')
const said = JSON.parse(require('fs').readFileSync(0))
mqtt.connectAsync(process.argv[1]).then(async client => {
  for (const [topic, payload] of said)
    await client.publishAsync(topic, Buffer.from(payload, 'base64'), { qos: 1 })
  await client.endAsync()
})
"""


def by_node(port: int, said: list[tuple[str, bytes]]) -> None:
    node, npm = shutil.which("node"), shutil.which("npm")
    if node is None or npm is None:
        pytest.skip("Node.js and npm are not installed")
    if not (NPM / "node_modules" / "mqtt").is_dir():
        NPM.mkdir(parents=True, exist_ok=True)
        words = [npm, "install", "--silent", "--no-audit", "--no-fund", "mqtt@5"]
        try:
            subprocess.run(words, cwd=NPM, check=True, capture_output=True, timeout=NPM_WITHIN_S)
        except (subprocess.SubprocessError, OSError):
            pytest.skip("npm does not give the mqtt package here")
    told = json.dumps([(topic, base64.b64encode(payload).decode()) for topic, payload in said])
    words = [node, "-e", SCRIPT, "--", f"mqtt://127.0.0.1:{port}"]
    subprocess.run(words, input=told, text=True, check=True, cwd=NPM, timeout=WITHIN_S)


@pytest.mark.parametrize("publish", [by_mosquitto_pub, by_aiomqtt, by_node])
def test_what_others_publish_is_read(
    garden: Garden, store: Store, broker: Mosquitto, publish: Publish
) -> None:
    before_ms = to_ms(WallClock().now())
    intake = Intake(garden, store, WallClock())
    intake.start()
    try:
        assert intake.connected.wait(WITHIN_S)
        publish(broker.port, messages())
        assert intake.wait_settled(len(messages()), WITHIN_S)
    finally:
        intake.stop()
    assert store.refused.newest(5) == []
    rows: dict[str, list[Any]] = {name: [] for name in VESSELS}
    with store._database.reading() as connection:
        question = "SELECT sensor, time_ms, value FROM reading ORDER BY time_ms"
        for number, time_ms, value in connection.exec_driver_sql(question):
            name = next(name for name, known in store.readings.ids.items() if known == number)
            rows[name].append((time_ms, value))
    for name, found in rows.items():
        assert [value for _, value in found] == pytest.approx([10 + n / 10 for n in range(10)])
        if name == "number":
            assert all(time_ms >= before_ms for time_ms, _ in found)
        else:
            assert [time_ms for time_ms, _ in found] == [
                1000 * (BEGIN_S + 60 * n) for n in range(10)
            ]
    assert store.devices.all() == {"json": Device(1000 * (BEGIN_S + 540), 2.9, None, 2.9)}
