"""The network thread: holds the connection to the broker, hears, acknowledges, publishes."""

from __future__ import annotations

import logging
import select
import socket
import threading
from dataclasses import dataclass
from typing import TYPE_CHECKING

from steepwell.clock import to_ms
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

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    import paho.mqtt.client as mqtt
    from paho.mqtt.properties import Properties
    from paho.mqtt.reasoncodes import ReasonCode

    from steepwell.clock import Clock
    from steepwell.garden.garden import Garden
    from steepwell.garden.site import Broker

log = logging.getLogger(__name__)

FIRST_WAIT_S, LONGEST_WAIT_S = 0.5, 30.0
LOOKS_UP_AFTER_S = 1.0
FAREWELL_TRIES = 30
PACKETS_AT_ONCE = 64


@dataclass(frozen=True, slots=True)
class LinkState:
    """How the connection to the broker stands.

    Attributes
    ----------
    connected
        Whether we hear.
    since
        Since when that is so, None before the start.
    last_error
        What was wrong last, or None.
    tries
        How often we tried in vain since we last heard.
    """

    connected: bool
    since: datetime | None
    last_error: str | None
    tries: int


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
        self._client.on_socket_register_write = self._wake
        self._wake_reader, self._wake_writer = socket.socketpair()
        self._wake_reader.settimeout(0)
        self._wake_writer.settimeout(0)
        self._thread = threading.Thread(target=self._run, name="steepwell-link")
        self._stopping = threading.Event()
        self._lock = threading.Lock()
        self._connection = 0
        self._session = 0
        self._resumed = False
        self._subscribed = False
        self._listening = False
        self._unheard = 0
        self._posts: dict[tuple[str, bool], bytes] = {}
        self._state = LinkState(connected=False, since=None, last_error=None, tries=0)
        self.connected = threading.Event()

    def start(self) -> None:
        """Start the thread."""
        self._thread.start()

    def stop(self) -> None:
        """Say that we are gone, hang up and end the thread; the session stays with the broker."""
        self._stopping.set()
        self._wake()
        self._thread.join()
        self._wake_reader.close()
        self._wake_writer.close()

    def state(self) -> LinkState:
        """Return how the connection stands."""
        return self._state

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
            if self._connect():
                self._converse()
            if self.connected.is_set():
                wait_s = FIRST_WAIT_S
            if self._stopping.is_set():
                break
            self._hung_up()
            if self._stopping.wait(wait_s):
                return
            wait_s = min(2 * wait_s, LONGEST_WAIT_S)
        self._say_farewell()

    def _connect(self) -> bool:
        with self._lock:
            self._connection += 1
        self._listening = False
        try:
            connect(self._client, self._broker)
        except (OSError, ValueError) as error:
            self._failed(str(error) or type(error).__name__)
            return False
        return True

    def _converse(self) -> None:
        """Move packets until the connection ends."""
        client = self._client
        while (connection := client.socket()) is not None and not self._stopping.is_set():
            writing = [connection] if client.want_write() else []
            ready, _, _ = select.select(
                [connection, self._wake_reader], writing, [], LOOKS_UP_AFTER_S
            )
            if self._wake_reader in ready:
                self._wake_reader.recv(4096)
            if connection in ready:
                self._read()
            if self._listening and not self.connected.is_set():
                self._begin()
            if client.want_write():
                client.loop_write()
            client.loop_misc()

    def _read(self) -> None:
        """Read packets while they bring messages: a look at the socket between each is dear."""
        for _ in range(PACKETS_AT_ONCE):
            before = self._unheard
            if self._client.loop_read() or self._unheard == before:
                return

    def _begin(self) -> None:
        with self._lock:
            self._client.publish(alive_topic(self._garden), ALIVE, qos=QOS, retain=True)
            for (topic, retain), payload in self._posts.items():
                self._client.publish(topic, payload, qos=QOS, retain=retain)
            self._posts.clear()
            self.connected.set()
        last_error = self._state.last_error if self._state.tries == 0 else None
        self._state = LinkState(
            connected=True, since=self._clock.now(), last_error=last_error, tries=0
        )
        log.info("connected to the broker at %s", self._where)

    def _hung_up(self) -> None:
        with self._lock:
            self.connected.clear()
        if self._state.connected:
            self._failed("it hung up")

    def _say_farewell(self) -> None:
        if self._client.socket() is None:
            return
        self._client.publish(alive_topic(self._garden), GONE, qos=QOS, retain=True)
        self._client.disconnect()
        for _ in range(FAREWELL_TRIES):
            connection = self._client.socket()
            if connection is None or not self._client.want_write():
                break
            select.select([], [connection], [], 0.1)
            self._client.loop_write()
        self.connected.clear()
        self._state = LinkState(connected=False, since=self._clock.now(), last_error=None, tries=0)

    @property
    def _where(self) -> str:
        return f"{self._broker.host}:{self._broker.port}"

    def _failed(self, why: str) -> None:
        """Remember why there is no connection, and say so the first time."""
        before = self._state
        lost = before.connected or before.since is None
        self._state = LinkState(
            connected=False,
            since=self._clock.now() if lost else before.since,
            last_error=why,
            tries=0 if before.connected else before.tries + 1,
        )
        if lost:
            log.warning(
                "no connection to the broker at %s (%s); it is tried again until there is one",
                self._where,
                why,
            )

    def _wake(self, *_: object) -> None:
        """Break the wait for the network: something is to be written, or the end has come."""
        try:
            self._wake_writer.send(b"\0")
        except BlockingIOError:
            return

    def _on_connect(
        self,
        _client: mqtt.Client,
        _userdata: object,
        flags: mqtt.ConnectFlags,
        reason: ReasonCode,
        _properties: Properties | None,
    ) -> None:
        if reason.is_failure:
            self._failed(f"it refuses us: {reason}")
            return
        self._resumed = flags.session_present
        if not flags.session_present:
            if self._subscribed:
                log.warning(
                    "the broker at %s has forgotten our session: what was sent meanwhile is lost; "
                    "subscribing anew",
                    self._where,
                )
            self._session += 1
            self._subscribed = False
        if self._subscribed or not self._topics:
            self._listening = True
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
        self._subscribed = True
        self._listening = True

    def _on_disconnect(
        self,
        _client: mqtt.Client,
        _userdata: object,
        flags: mqtt.DisconnectFlags,
        reason: ReasonCode,
        _properties: Properties | None,
    ) -> None:
        if self._stopping.is_set():
            return
        if flags.is_disconnect_packet_from_server:
            self._failed(f"it hung up: {reason}")

    def _on_message(
        self, _client: mqtt.Client, _userdata: object, message: mqtt.MQTTMessage
    ) -> None:
        self._unheard += 1
        self._inbox.put(
            Heard(
                message.topic,
                bytes(message.payload),
                message.mid if message.qos else 0,
                bool(message.dup) and self._resumed,
                bool(message.retain),
                self._connection,
                self._session,
                to_ms(self._clock.now()),
            )
        )
