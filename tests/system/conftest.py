"""A Mosquitto broker, and a garden that listens to it."""

from __future__ import annotations

import threading
from typing import TYPE_CHECKING

import paho.mqtt.client as mqtt
import pytest
from paho.mqtt.enums import CallbackAPIVersion, MQTTProtocolVersion
from tests.servers import mosquitto

from steepwell.garden.load import load_garden

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from tests.servers import Mosquitto

    from steepwell.garden.garden import Garden

WITHIN_S = 30.0

GARDEN = """
[garden]
name = "quince-yard"
latitude = 52.1
longitude = 0.3
timezone = "Europe/London"

[broker]
host = "127.0.0.1"
port = {port}
protocol = "{protocol}"

[[butt]]
name = "north"
litres = "200 L"

[[vessel]]
name = "leek"
volume = "60 L"

[[bed]]
name = "beans"
area = "6 m^2"

[[sensor]]
name = "leek-probe"
measures = "temperature"
of = "leek"
topic = "quince/leek"
payload = "senml"
record = "urn:dev:ow:28ff01:leek"

[[sensor]]
name = "shade"
measures = "temperature"
of = "air"
topic = "quince/shade"
payload = "number"
"""


class Publisher:
    """A client that publishes and waits until the broker has it."""

    def __init__(self, port: int) -> None:
        self._client = mqtt.Client(CallbackAPIVersion.VERSION2, protocol=MQTTProtocolVersion.MQTTv5)
        self._client.max_inflight_messages_set(200)
        self._client.connect("127.0.0.1", port)
        self._client.loop_start()

    def send(
        self, topic: str, payload: str | bytes, *, retain: bool = False
    ) -> mqtt.MQTTMessageInfo:
        """Publish, without waiting."""
        return self._client.publish(topic, payload, qos=1, retain=retain)

    def say(self, topic: str, *payloads: str | bytes, retain: bool = False) -> None:
        """Publish one after the other, and wait until the broker has all of them."""
        for sent in [self.send(topic, payload, retain=retain) for payload in payloads]:
            sent.wait_for_publish(WITHIN_S)
            assert sent.is_published()

    def close(self) -> None:
        """Hang up."""
        self._client.disconnect()
        self._client.loop_stop()


class Listener:
    """A client that remembers what it hears."""

    def __init__(self, port: int, topic: str) -> None:
        self.heard: list[tuple[str, bytes]] = []
        self._topic = topic
        self._news = threading.Condition()
        self._client = mqtt.Client(CallbackAPIVersion.VERSION2)
        self._client.on_message = self._remember
        self._client.on_connect = self._subscribe
        self._client.connect("127.0.0.1", port)
        self._client.loop_start()

    def _subscribe(self, client: mqtt.Client, *_: object) -> None:
        client.subscribe(self._topic, qos=1)

    def _remember(self, _client: mqtt.Client, _data: object, message: mqtt.MQTTMessage) -> None:
        with self._news:
            self.heard.append((message.topic, bytes(message.payload)))
            self._news.notify_all()

    def wait_for(self, topic: str, payload: bytes) -> None:
        """Wait until a message has come."""
        with self._news:
            assert self._news.wait_for(lambda: (topic, payload) in self.heard, WITHIN_S), self.heard

    def close(self) -> None:
        """Hang up."""
        self._client.disconnect()
        self._client.loop_stop()


@pytest.fixture
def broker(tmp_path: Path) -> Iterator[Mosquitto]:
    folder = tmp_path / "broker"
    folder.mkdir()
    with mosquitto(folder) as broker:
        yield broker


@pytest.fixture
def garden_file(broker: Mosquitto, tmp_path: Path) -> Path:
    file = tmp_path / "garden.toml"
    file.write_text(GARDEN.format(port=broker.port, protocol="5"), encoding="utf-8")
    return file


@pytest.fixture
def garden(garden_file: Path) -> Garden:
    return load_garden(garden_file)


@pytest.fixture
def publisher(broker: Mosquitto) -> Iterator[Publisher]:
    publisher = Publisher(broker.port)
    yield publisher
    publisher.close()


@pytest.fixture
def listen(broker: Mosquitto) -> Iterator[Callable[[str], Listener]]:
    listeners: list[Listener] = []

    def listen(topic: str) -> Listener:
        listeners.append(Listener(broker.port, topic))
        return listeners[-1]

    yield listen
    for listener in listeners:
        listener.close()
