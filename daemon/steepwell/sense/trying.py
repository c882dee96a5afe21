"""Tries the broker: whether it lets us in and hear, and how much it keeps while we are away."""

from __future__ import annotations

import threading
from typing import TYPE_CHECKING, Any

from steepwell.errors import BrokerError
from steepwell.sense.visit import ANSWERS_WITHIN_S, visiting

if TYPE_CHECKING:
    import paho.mqtt.client as mqtt

    from steepwell.garden.garden import Garden
    from steepwell.garden.site import Broker

Json = dict[str, Any]

# More than the 1,000 that brokers keep who were not told otherwise, and sent in a second.
TRIED_WITH = 3000
# So long nothing comes when all has come: a busy machine or network may pause for a second.
SETTLES_S = 3.0


def try_broker(garden: Garden) -> Json:
    """Connect to the broker, leave, have it keep messages for us, and count them.

    Parameters
    ----------
    garden
        The garden; it has a broker.

    Returns
    -------
    dict
        Where it is, how many messages it kept of how many, and remarks.

    Raises
    ------
    BrokerError
        If there is none, it cannot be reached, or it does not let us in or hear.
    """
    broker = garden.broker
    if broker is None:
        raise BrokerError("the garden file names no broker; add a [broker] section")
    name = f"{broker.client_id or f'steepwell-{garden.name}'}-check"
    topic = f"steepwell/{garden.name}/check"
    with visiting(garden, broker, _pass_over, name, stays=True) as visit:
        where = visit.where
        for heard in dict.fromkeys([topic, *(sensor.topic for sensor in garden.sensor)]):
            visit.subscribe(heard)
        for sensor in garden.sensor:
            visit.client.unsubscribe(sensor.topic)
    with visiting(garden, broker, _pass_over) as visit:
        sent = [visit.client.publish(topic, str(number), qos=1) for number in range(TRIED_WITH)]
        for one in sent:
            one.wait_for_publish(ANSWERS_WITHIN_S)
    kept, knew = _count_kept(garden, broker, name, topic)
    # The session of this try is of no more use.
    with visiting(garden, broker, _pass_over, name):
        pass
    return {
        "broker": where,
        "protocol": broker.protocol,
        "encrypted": broker.tls,
        "kept": kept,
        "tried_with": TRIED_WITH,
        "remarks": _remarks(garden, kept, knew=knew),
    }


def _count_kept(garden: Garden, broker: Broker, name: str, topic: str) -> tuple[int, bool]:
    """Return how many messages the broker kept, and whether it still knew us."""
    kept = 0
    news = threading.Event()

    def count(message: mqtt.MQTTMessage) -> None:
        nonlocal kept
        if message.topic == topic:
            kept += 1
            news.set()

    with visiting(garden, broker, count, name, stays=True) as visit:
        while kept < TRIED_WITH and news.wait(SETTLES_S):
            news.clear()
        return kept, visit.was_known


def _remarks(garden: Garden, kept: int, *, knew: bool) -> list[str]:
    if not knew:
        forgets = "The broker forgets us when we leave: what is sent meanwhile is lost."
        return [f"{forgets} Have it keep persistent sessions."]
    if kept >= TRIED_WITH:
        return []
    topics = max(len({sensor.topic for sensor in garden.sensor}), 1)
    keeps = f"The broker keeps {kept:,} messages while we are away, and drops the rest unsaid."
    lasts = f"At one a minute on each of {topics} topics, these are {kept / topics:.0f} minutes."
    wanted = "Have max_queued_messages 60000 and max_inflight_messages 1000 in its settings."
    return [f"{keeps} {lasts} {wanted}"]


def _pass_over(_message: mqtt.MQTTMessage) -> None:
    """Hear nothing."""
