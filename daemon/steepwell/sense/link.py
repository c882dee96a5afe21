"""The network thread: holds the connection to the broker, hears, acknowledges, publishes."""

from __future__ import annotations

import logging
import select
import ssl
import threading
import time
from typing import TYPE_CHECKING

from steepwell.clock import to_ms
from steepwell.sense.bell import Bell
from steepwell.sense.client import (
    ALIVE,
    GONE,
    QOS,
    alive_topic,
    connect,
    make_client,
    subscribe,
)
from steepwell.sense.inbox import Heard, Inbox
from steepwell.sense.standing import LinkState, Standing

if TYPE_CHECKING:
    from collections.abc import Sequence

    import paho.mqtt.client as mqtt
    from paho.mqtt.properties import Properties
    from paho.mqtt.reasoncodes import ReasonCode

    from steepwell.clock import Clock
    from steepwell.garden.garden import Garden
    from steepwell.garden.site import Broker

__all__ = ["Link", "LinkState"]

log = logging.getLogger(__name__)

FIRST_WAIT_S, LONGEST_WAIT_S = 0.5, 30.0
STEADY_AFTER_S = 10.0
LOOKS_UP_AFTER_S = 1.0
FAREWELL_TRIES = 30
# To find a broker by its name and to be let in takes a minute or two at most.
LONGEST_S = 300.0
PACKETS_AT_ONCE = 64


class Link:
    """The connection to the broker; it is tried again for as long as it takes.

    Parameters
    ----------
    garden
        The garden.
    broker
        Its broker.
    clock
        Tells when messages arrive.
    inbox
        Where they are left.
    topics
        What to listen to.
    """

    def __init__(
        self, garden: Garden, broker: Broker, clock: Clock, inbox: Inbox, topics: Sequence[str]
    ) -> None:
        self._garden = garden
        self._broker = broker
        self._clock = clock
        self._inbox = inbox
        self._topics = tuple(topics)
        self._client = make_client(garden, broker)
        self._client.on_connect = self._on_connect
        self._client.on_disconnect = self._on_disconnect
        self._client.on_subscribe = self._on_subscribe
        self._client.on_message = self._on_message
        self._client.on_socket_register_write = self._on_something_to_write
        self._standing = Standing(clock, f"{broker.host}:{broker.port}")
        self._bell = Bell()
        self._thread = threading.Thread(target=self._run, name="steepwell-link", daemon=True)
        self._stopping = threading.Event()
        self._lock = threading.Lock()
        self._connection = 0
        self._session = 0
        self._is_resumed = False
        self._has_subscribed = False
        self._may_begin = False
        self._heard = 0
        self._moved_s = time.monotonic()
        self._waits_for_room = False
        self._why = ""
        self._posts: dict[tuple[str, bool], bytes] = {}
        self.connected = threading.Event()

    def start(self) -> None:
        """Start the thread."""
        self._moved_s = time.monotonic()
        self._thread.start()

    def alive(self, longest_s: float = LONGEST_S) -> bool:
        """Return whether the thread runs and does not hang, unless until the inbox has room."""
        may_wait = self._waits_for_room or time.monotonic() - self._moved_s < longest_s
        return self._thread.is_alive() and may_wait

    def stop(self) -> None:
        """Say that we are gone, hang up and end the thread; the session stays with the broker."""
        self._stopping.set()
        self._bell.ring()
        self._thread.join()
        self._bell.close()

    def state(self) -> LinkState:
        """Return how the connection stands."""
        return self._standing.state

    def acknowledge(self, messages: Sequence[Heard]) -> None:
        """Acknowledge settled messages in order; those of an earlier connection come again."""
        with self._lock:
            acknowledge, connection = self._client.ack, self._connection
            for message in messages:
                if message.packet_id and message.connection == connection:
                    acknowledge(message.packet_id, QOS)

    def publish(self, topic: str, payload: bytes, *, retain: bool) -> None:
        """Publish, or keep the newest of each topic until there is a connection."""
        with self._lock:
            if self.connected.is_set():
                self._client.publish(topic, payload, qos=QOS, retain=retain)
            else:
                self._posts.pop((topic, retain), None)
                self._posts[topic, retain] = payload

    def _run(self) -> None:
        wait_s = FIRST_WAIT_S
        while not self._stopping.is_set():
            self._moved_s = begun_s = time.monotonic()
            self._talk()
            if self._stopping.is_set():
                break
            with self._lock:
                self.connected.clear()
            self._standing.lost(self._why)
            if time.monotonic() - begun_s > STEADY_AFTER_S:
                wait_s = FIRST_WAIT_S
            self._stopping.wait(wait_s)
            wait_s = min(2 * wait_s, LONGEST_WAIT_S)
        self._say_farewell()

    def _talk(self) -> None:
        """Connect, and move packets until the connection ends."""
        self._why = "it hung up"
        self._may_begin = False
        with self._lock:
            self._connection += 1
        try:
            connect(self._client, self._broker)
            self._converse(self._client)
        except (OSError, ValueError) as error:
            self._why = str(error) or type(error).__name__
        except Exception as error:  # a fault of ours or of the library is no reason to go deaf
            log.exception("the conversation with the broker broke off")
            self._why = f"{type(error).__name__}: {error}"

    def _converse(self, client: mqtt.Client) -> None:
        while (connection := client.socket()) is not None and not self._stopping.is_set():
            self._moved_s = time.monotonic()
            here, bell = connection.fileno(), self._bell.fileno()
            writing = [here] if client.want_write() else []
            # What has been deciphered waits in the connection, and the system knows nothing of it.
            waits = isinstance(connection, ssl.SSLSocket) and connection.pending() > 0
            patience_s = 0.0 if waits else LOOKS_UP_AFTER_S
            ready, _, _ = select.select([here, bell], writing, [], patience_s)
            if bell in ready:
                self._bell.hush()
            if here in ready or waits:
                self._read(client)
            if self._may_begin and not self.connected.is_set():
                self._begin(client)
            if client.want_write():
                client.loop_write()
            client.loop_misc()

    def _read(self, client: mqtt.Client) -> None:
        """Read packets as long as they bring messages: asking the system in between is dear."""
        for _ in range(PACKETS_AT_ONCE):
            before = self._heard
            if client.loop_read() or self._heard == before:
                return

    def _begin(self, client: mqtt.Client) -> None:
        with self._lock:
            client.publish(alive_topic(self._garden), ALIVE, qos=QOS, retain=True)
            for (topic, retain), payload in self._posts.items():
                client.publish(topic, payload, qos=QOS, retain=retain)
            self._posts.clear()
            self._standing.heard()
            self.connected.set()

    def _say_farewell(self) -> None:
        client = self._client
        with self._lock:
            self.connected.clear()
        if client.socket() is not None:
            client.publish(alive_topic(self._garden), GONE, qos=QOS, retain=True)
            client.disconnect()
            for _ in range(FAREWELL_TRIES):
                connection = client.socket()
                if connection is None:
                    break
                select.select([], [connection.fileno()], [], 0.1)
                client.loop_write()
        self._standing.ended()

    def _on_something_to_write(self, *_: object) -> None:
        self._bell.ring()

    def _on_connect(
        self,
        _client: mqtt.Client,
        _userdata: object,
        flags: mqtt.ConnectFlags,
        reason: ReasonCode,
        _properties: Properties | None,
    ) -> None:
        if reason.is_failure:
            self._why = f"it refuses us: {reason}"
            return
        self._is_resumed = flags.session_present
        if not flags.session_present:
            if self._has_subscribed:
                log.warning(
                    "the broker has forgotten our session, and what was sent meanwhile is lost; "
                    "subscribing anew"
                )
            self._session += 1
            self._has_subscribed = False
        if self._has_subscribed or not self._topics:
            self._may_begin = True
        else:
            subscribe(self._client, self._broker, self._topics)

    def _on_subscribe(
        self,
        _client: mqtt.Client,
        _userdata: object,
        _packet_id: int,
        reasons: list[ReasonCode],
        _properties: Properties | None,
    ) -> None:
        for topic, reason in zip(self._topics, reasons, strict=False):
            if reason.is_failure:
                log.error("the broker does not let us hear %s: %s", topic, reason)
        self._has_subscribed = True
        self._may_begin = True

    def _on_disconnect(
        self,
        _client: mqtt.Client,
        _userdata: object,
        flags: mqtt.DisconnectFlags,
        reason: ReasonCode,
        _properties: Properties | None,
    ) -> None:
        if flags.is_disconnect_packet_from_server:
            self._why = f"it hung up: {reason}"

    def _on_message(
        self, _client: mqtt.Client, _userdata: object, message: mqtt.MQTTMessage
    ) -> None:
        self._heard += 1
        self._waits_for_room = True
        self._inbox.put(
            Heard(
                message.topic,
                bytes(message.payload),
                message.mid if message.qos else 0,
                bool(message.dup) and self._is_resumed,
                bool(message.retain),
                self._connection,
                self._session,
                to_ms(self._clock.now()),
            )
        )
        self._moved_s = time.monotonic()
        self._waits_for_room = False
