"""Real MQTT clients, many in one thread: what simulated devices and gardener speak through."""

from __future__ import annotations

import contextlib
import threading
from collections.abc import Callable, Sequence
from selectors import EVENT_READ, DefaultSelector
from time import monotonic
from typing import TYPE_CHECKING, NamedTuple, Self

import paho.mqtt.client as mqtt
from paho.mqtt.enums import CallbackAPIVersion

from steepwell.errors import BrokerError

if TYPE_CHECKING:
    from types import TracebackType
    from typing import Any

    from paho.mqtt.reasoncodes import ReasonCode

CONNECTED_WITHIN_S = 10.0
_TEND_EVERY_S = 0.5

Heard = Callable[[bytes], None]


class Message(NamedTuple):
    """A payload on a topic, and the client that sends it."""

    client_id: str
    topic: str
    payload: bytes


class Client:
    """One client of a broker, speaking MQTT 3.1.1 at QoS 1.

    Parameters
    ----------
    client_id
        Its own identifier.
    """

    def __init__(self, client_id: str) -> None:
        self.connected = threading.Event()
        self.watched: Any = None
        self.mqtt = mqtt.Client(CallbackAPIVersion.VERSION2, client_id=client_id)
        self.mqtt.on_connect = self._on_connect
        self.mqtt.on_subscribe = lambda *_: self.connected.set()
        self.mqtt.on_message = self._on_message
        self._heard: dict[str, Heard] = {}

    def listen(self, topic: str, heard: Heard) -> None:
        """Hand every payload on a topic to a function; to be called before it connects."""
        self._heard[topic] = heard

    def publish(self, topic: str, payload: bytes) -> None:
        """Send a message; while the broker is away it is kept and sent later."""
        self.mqtt.publish(topic, payload, qos=1)

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
        if self._heard:
            client.subscribe([(topic, 1) for topic in self._heard])
        else:
            self.connected.set()

    def _on_message(self, _client: mqtt.Client, _data: object, message: mqtt.MQTTMessage) -> None:
        self._heard[message.topic](bytes(message.payload))


class Network:
    """All clients of a simulated garden; a context that connects and disconnects them.

    One thread reads for all of them and brings back those that lost the broker.

    Parameters
    ----------
    host, port
        The broker.
    """

    def __init__(self, host: str, port: int) -> None:
        self._where = (host, port)
        self._clients: dict[str, Client] = {}
        self._selector = DefaultSelector()
        self._ended = threading.Event()
        self._thread = threading.Thread(target=self._serve, name="simulated-network")

    def add(self, client_id: str) -> Client:
        """Return a new client that connects when the context is entered."""
        self._clients[client_id] = Client(client_id)
        return self._clients[client_id]

    def send(self, messages: Sequence[Message]) -> None:
        """Let each client send its message; while the broker is away they are kept."""
        for message in messages:
            self._clients[message.client_id].publish(message.topic, message.payload)

    def hang_up(self, client_id: str) -> None:
        """Let a client lose its connection; it comes back by itself."""
        self._clients[client_id].mqtt.disconnect()

    def __enter__(self) -> Self:
        """Connect every client.

        Raises
        ------
        BrokerError
            If nobody answers, or a client is not let in.
        """
        host, port = self._where
        try:
            for client in self._clients.values():
                client.mqtt.connect(host, port)
        except OSError as error:
            self._hang_up()
            raise BrokerError(
                f"No broker answers at {host}:{port} ({error.strerror or error}). "
                "Start one there or give another address."
            ) from None
        self._thread.start()
        until = monotonic() + CONNECTED_WITHIN_S
        waits = (
            client.connected.wait(max(0.0, until - monotonic()))
            for client in self._clients.values()
        )
        if not all(waits):
            self._close()
            raise BrokerError(
                f"The broker at {host}:{port} does not let a device in; see what it logs."
            )
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Disconnect every client."""
        self._close()

    def _close(self) -> None:
        self._ended.set()
        self._thread.join()
        self._hang_up()

    def _hang_up(self) -> None:
        for client in self._clients.values():
            client.mqtt.disconnect()
        self._selector.close()

    def _serve(self) -> None:
        tend_at = monotonic()
        while not self._ended.is_set():
            if monotonic() >= tend_at:
                self._tend()
                tend_at = monotonic() + _TEND_EVERY_S
            for key, _ in self._selector.select(_TEND_EVERY_S):
                key.data.mqtt.loop_read()
                key.data.mqtt.loop_write()

    def _tend(self) -> None:
        """Keep connections alive, bring back lost ones, and watch the sockets they have now."""
        for client in self._clients.values():
            if client.watched is not None and client.mqtt.socket() is not client.watched:
                self._selector.unregister(client.watched)
                client.watched = None
        for client in self._clients.values():
            if client.mqtt.socket() is None:
                with contextlib.suppress(OSError):
                    client.mqtt.reconnect()
            else:
                client.mqtt.loop_misc()
                client.mqtt.loop_write()
            found = client.mqtt.socket()
            if found is not None and client.watched is None:
                self._selector.register(found, EVENT_READ, client)
                client.watched = found
