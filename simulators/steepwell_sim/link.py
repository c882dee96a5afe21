"""A real MQTT client: what every simulated device and the gardener speak through."""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import TYPE_CHECKING, Self

import paho.mqtt.client as mqtt
from paho.mqtt.enums import CallbackAPIVersion

from steepwell.errors import BrokerError

if TYPE_CHECKING:
    from types import TracebackType

    from paho.mqtt.reasoncodes import ReasonCode

CONNECT_WITHIN_S = 10.0
_KEEPALIVE_S = 300
_MOST_IN_FLIGHT = 100

Heard = Callable[[str, bytes], None]


class Link:
    """One client of the broker, speaking MQTT 3.1.1 at QoS 1.

    Parameters
    ----------
    client_id
        Its own identifier.
    host, port
        The broker.
    """

    def __init__(self, client_id: str, host: str, port: int) -> None:
        self._where = (host, port)
        self._connected = threading.Event()
        self._topics: dict[str, Heard] = {}
        self._client = mqtt.Client(CallbackAPIVersion.VERSION2, client_id=client_id)
        self._client.max_inflight_messages_set(_MOST_IN_FLIGHT)
        self._client.on_connect = self._on_connect
        self._client.on_message = self._on_message

    def listen(self, topic: str, heard: Heard) -> None:
        """Hand every message on a topic to a function; call before ``open``."""
        self._topics[topic] = heard

    def open(self) -> None:
        """Connect.

        Raises
        ------
        BrokerError
            If nobody answers.
        """
        host, port = self._where
        try:
            self._client.connect(host, port, keepalive=_KEEPALIVE_S)
        except OSError as error:
            raise BrokerError(
                f"No broker answers at {host}:{port} ({error.strerror or error}). "
                "Start one there or give another address."
            ) from None
        self._client.loop_start()
        if not self._connected.wait(CONNECT_WITHIN_S):
            self.close()
            raise BrokerError(
                f"The broker at {host}:{port} does not let a device in. See what it logs."
            )

    def close(self) -> None:
        """Disconnect."""
        self._client.disconnect()
        self._client.loop_stop()

    def publish(self, topic: str, payload: bytes) -> None:
        """Send a message; while the broker is away it is kept and sent later."""
        self._client.publish(topic, payload, qos=1)

    def __enter__(self) -> Self:
        """Connect."""
        self.open()
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Disconnect."""
        self.close()

    def _on_connect(
        self,
        client: mqtt.Client,
        _data: object,
        _flags: object,
        reason: ReasonCode,
        _properties: object,
    ) -> None:
        if reason.is_failure:
            return
        for topic in self._topics:
            client.subscribe(topic, qos=1)
        self._connected.set()

    def _on_message(self, _client: mqtt.Client, _data: object, message: mqtt.MQTTMessage) -> None:
        self._topics[message.topic](message.topic, bytes(message.payload))
