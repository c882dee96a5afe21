"""A short stay with the broker, beside the daemon: who it is, and what it says."""

from __future__ import annotations

import threading
from contextlib import contextmanager
from typing import TYPE_CHECKING

from steepwell.errors import BrokerError
from steepwell.sense.client import connect, make_visitor

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    import paho.mqtt.client as mqtt
    from paho.mqtt.properties import Properties
    from paho.mqtt.reasoncodes import ReasonCode

    from steepwell.garden.garden import Garden
    from steepwell.garden.site import Broker

ANSWERS_WITHIN_S = 10.0


class Visit:
    """A client with the broker, and what has become of what it asked.

    Parameters
    ----------
    client
        Not connected yet.
    where
        The broker's host and port.
    """

    def __init__(self, client: mqtt.Client, where: str) -> None:
        self.client = client
        self.where = where
        self.was_known = False
        self._answered = threading.Event()
        self._asked = threading.Event()
        self._refusal: str | None = None
        client.on_connect = self._on_connect
        client.on_subscribe = self._on_subscribe

    def await_welcome(self) -> None:
        """Wait until the broker has let us in.

        Raises
        ------
        BrokerError
            If it does not, or says nothing.
        """
        self._await(self._answered, "lets us in")

    def subscribe(self, topic: str) -> None:
        """Ask for a topic.

        Raises
        ------
        BrokerError
            If the broker does not let us hear it.
        """
        self._asked.clear()
        self.client.subscribe(topic, qos=1)
        self._await(self._asked, f"lets us hear {topic}")

    def _await(self, event: threading.Event, what: str) -> None:
        if not event.wait(ANSWERS_WITHIN_S):
            raise BrokerError(
                f"the broker at {self.where} does not say whether it {what}; see that this is the "
                "port of an MQTT broker"
            )
        if self._refusal is not None:
            raise BrokerError(
                f"the broker at {self.where} answers: {self._refusal}; see user, password and "
                "rights under [broker]"
            )

    def _on_connect(
        self,
        _client: mqtt.Client,
        _userdata: object,
        flags: mqtt.ConnectFlags,
        reason: ReasonCode,
        _properties: Properties | None,
    ) -> None:
        self.was_known = flags.session_present
        if reason.is_failure:
            self._refusal = str(reason)
        self._answered.set()

    def _on_subscribe(
        self,
        _client: mqtt.Client,
        _userdata: object,
        _packet_id: int,
        reasons: list[ReasonCode],
        _properties: Properties | None,
    ) -> None:
        if any(reason.is_failure for reason in reasons):
            self._refusal = str(reasons[0])
        self._asked.set()


@contextmanager
def visiting(
    garden: Garden,
    broker: Broker,
    hear: Callable[[mqtt.MQTTMessage], None],
    client_id: str = "",
    *,
    stays: bool = False,
) -> Iterator[Visit]:
    """Be with the broker for the length of a block.

    Parameters
    ----------
    garden
        The garden.
    broker
        Its broker.
    hear
        Called with each message, in a thread of its own.
    client_id
        Our name there; by default the broker gives one.
    stays
        Whether the broker keeps our session when we leave.

    Yields
    ------
    Visit
        Let in.

    Raises
    ------
    BrokerError
        If the broker cannot be reached, or does not let us in.
    """
    client = make_visitor(garden, broker, client_id, stays=stays)
    where = f"{broker.host}:{broker.port}"
    visit = Visit(client, where)

    def on_message(client: mqtt.Client, _userdata: object, message: mqtt.MQTTMessage) -> None:
        hear(message)
        if message.qos:
            client.ack(message.mid, message.qos)

    client.on_message = on_message
    try:
        connect(client, broker, stays=stays)
    except OSError as error:
        raise BrokerError(
            f"the broker at {where} cannot be reached: {error}; see that it runs, and host, port "
            "and certificates under [broker]"
        ) from None
    client.loop_start()
    try:
        visit.await_welcome()
        yield visit
    finally:
        client.disconnect()
        client.loop_stop()
