"""The MQTT client as this program needs it: a session that lasts, acknowledgement by hand."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

import paho.mqtt.client as mqtt
from paho.mqtt.enums import CallbackAPIVersion, MQTTProtocolVersion
from paho.mqtt.packettypes import PacketTypes
from paho.mqtt.properties import Properties
from paho.mqtt.subscribeoptions import SubscribeOptions

from steepwell.errors import BrokerError, SecretError
from steepwell.garden.secrets import read_secret
from steepwell.garden.site import BROKER_PASSWORD, BROKER_USERNAME

if TYPE_CHECKING:
    from collections.abc import Sequence

    from steepwell.garden.garden import Garden
    from steepwell.garden.site import Broker

KEEPALIVE_S = 60
NEVER_EXPIRES = 0xFFFFFFFF
UNDER_WAY = 1000
QOS = 1
ONLY_WHEN_NEW = 1
ALIVE, GONE = b'{"schema": 1, "alive": true}', b'{"schema": 1, "alive": false}'


def alive_topic(garden: Garden) -> str:
    """Return the topic that tells whether the daemon of a garden is there."""
    return f"steepwell/{garden.name}/alive"


def make_client(garden: Garden, broker: Broker) -> mqtt.Client:
    """Return a client, not connected yet, whose will says that it is gone.

    Parameters
    ----------
    garden
        The garden.
    broker
        Its broker.

    Raises
    ------
    BrokerError
        If password file or certificates cannot be read.
    """
    client = _client(
        garden, broker, broker.client_id or f"steepwell-{garden.name}", clean_session=False
    )
    client.will_set(alive_topic(garden), GONE, qos=QOS, retain=True)
    return client


def make_visitor(
    garden: Garden, broker: Broker, client_id: str = "", *, stays: bool = False
) -> mqtt.Client:
    """Return a client, not connected yet, for a visit beside the daemon.

    Parameters
    ----------
    garden
        The garden.
    broker
        Its broker.
    client_id
        Its name; by default the broker gives it one.
    stays
        Whether the broker is to keep its session when it leaves.

    Raises
    ------
    BrokerError
        If password file or certificates cannot be read.
    """
    return _client(garden, broker, client_id, clean_session=not stays)


def _client(garden: Garden, broker: Broker, client_id: str, *, clean_session: bool) -> mqtt.Client:
    is_v5 = broker.protocol == "5"
    client = mqtt.Client(
        CallbackAPIVersion.VERSION2,
        client_id=client_id,
        clean_session=None if is_v5 else clean_session,
        protocol=MQTTProtocolVersion.MQTTv5 if is_v5 else MQTTProtocolVersion.MQTTv311,
        reconnect_on_failure=False,
        manual_ack=True,
    )
    username = broker.username or os.environ.get(BROKER_USERNAME)
    if username is not None:
        client.username_pw_set(username, _password(garden, broker))
    if broker.tls:
        _secure(client, garden, broker)
    return client


def _password(garden: Garden, broker: Broker) -> str | None:
    if broker.password_file is None:
        return os.environ.get(BROKER_PASSWORD)
    try:
        return read_secret("the broker's password", broker.password_file, garden.folder)
    except SecretError as error:
        raise BrokerError(str(error)) from None


def _secure(client: mqtt.Client, garden: Garden, broker: Broker) -> None:
    ca, certificate, key = (
        str(garden.path(file)) if file is not None else None
        for file in (broker.ca_file, broker.certificate_file, broker.key_file)
    )
    try:
        client.tls_set(ca_certs=ca, certfile=certificate, keyfile=key)
    except (OSError, ValueError) as error:
        named = ", ".join(file for file in (ca, certificate, key) if file is not None)
        raise BrokerError(
            f"the certificates for the broker ({named}) cannot be used: {error}; see that the "
            "files are there, in PEM, that the daemon may read them, and that the key has no "
            "password"
        ) from None


def connect(client: mqtt.Client, broker: Broker, *, stays: bool = True) -> None:
    """Connect, and take up the session the broker keeps for this client.

    Parameters
    ----------
    client
        The client.
    broker
        Where.
    stays
        Whether there is a session to take up and to keep; else it begins and ends here.

    Raises
    ------
    OSError
        If nothing answers.
    """
    if broker.protocol == "5":
        properties = Properties(PacketTypes.CONNECT)  # type: ignore[no-untyped-call]
        properties.SessionExpiryInterval = NEVER_EXPIRES if stays else 0
        properties.ReceiveMaximum = UNDER_WAY
        client.connect(
            broker.host, broker.port, KEEPALIVE_S, clean_start=not stays, properties=properties
        )
    else:
        client.connect(broker.host, broker.port, KEEPALIVE_S)


def subscribe(client: mqtt.Client, broker: Broker, topics: Sequence[str]) -> None:
    """Ask for topics; what the broker retains on them comes only with a new subscription."""
    if broker.protocol == "5":
        options = SubscribeOptions(qos=QOS, retainHandling=ONLY_WHEN_NEW)
        client.subscribe([(topic, options) for topic in topics])
    else:
        client.subscribe([(topic, QOS) for topic in topics])
