"""The intake: everything between the broker and the store."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from steepwell.clock import ReplayClock, to_ms
from steepwell.errors import BrokerError
from steepwell.sense.inbox import Inbox
from steepwell.sense.link import Link, LinkState
from steepwell.sense.moments import Moments
from steepwell.sense.readers import readers
from steepwell.sense.settle import Settler
from steepwell.sense.surroundings import surroundings
from steepwell.sense.writer import Writer

if TYPE_CHECKING:
    import threading
    from datetime import datetime

    from steepwell.clock import Clock
    from steepwell.garden.garden import Garden
    from steepwell.store.store import Store

WAITING_MESSAGES = 4000
WAITING_BYTES = 8_000_000


class Intake:
    """Hears the sensors, the journal topic and a forecast, and keeps what they say.

    A message is acknowledged after the commit that holds what it says, never before.

    Parameters
    ----------
    garden
        The garden; it has a broker.
    store
        Where readings and entries go.
    clock
        Tells when messages arrive. While a past is replayed it is right by definition.
    journal_topic
        Whether to take journal entries from ``steepwell/<garden>/journal``.

    Raises
    ------
    BrokerError
        If the garden has no broker, or its password file cannot be read.
    """

    def __init__(
        self, garden: Garden, store: Store, clock: Clock, *, journal_topic: bool = True
    ) -> None:
        if garden.broker is None:
            raise BrokerError("the garden file names no broker; add a [broker] section")
        around = surroundings(garden, store)
        by_topic = readers(garden, store.readings.ids, around)
        journal = f"steepwell/{garden.name}/journal" if journal_topic else None
        self._moments = moments = Moments(
            store.readings.newest_times(),
            store.readings.newest_passed(),
            replaying=isinstance(clock, ReplayClock),
            clocks_ms=store.devices.clock_offsets(),
        )
        forecast = garden.forecast.topic if garden.forecast is not None else None
        topics = [*dict.fromkeys(topic for topic in (*by_topic, journal, forecast) if topic)]
        self._inbox = Inbox(WAITING_MESSAGES, WAITING_BYTES)
        self._link = Link(garden, garden.broker, clock, self._inbox, topics)
        settler = Settler(garden, store, by_topic, moments, journal, around=around)
        self._writer = Writer(self._inbox, settler, self._link.acknowledge)
        self._is_running = False

    @property
    def connected(self) -> threading.Event:
        """Set while we hear."""
        return self._link.connected

    def start(self) -> None:
        """Start to hear; the broker need not be there yet."""
        self._is_running = True
        self._writer.start()
        self._link.start()

    def stop(self) -> None:
        """Settle what has come, say goodbye and end."""
        if self._is_running:
            self._is_running = False
            self._inbox.close()
            self._writer.finish()
            self._link.stop()

    def state(self) -> LinkState:
        """Return how the connection stands, and what is wrong with it or with the store."""
        state = self._link.state()
        if self._writer.trouble is None:
            return state
        return LinkState(state.connected, state.since, self._writer.trouble, state.tries)

    def clock_was_set(self, by: timedelta) -> None:
        """Learn by how much our clock was wrong until now."""
        self._moments.shift_unset(round(by / timedelta(milliseconds=1)))

    def timed_anew(self) -> list[tuple[int, int, int]]:
        """Return the readings that came while our clock was not set, once each.

        Returns
        -------
        list of tuple
            Number of the sensor, the time under which it is stored, and when it came by the clock
            as it is set now [ms since 1970].
        """
        return self._moments.take_unset()

    def clock_was_ahead(self, now: datetime) -> None:
        """Learn that our clock was ahead until now, and that what it showed before was not so."""
        self._moments.forget_after(to_ms(now))

    def hangs(self) -> str | None:
        """Return what neither does its work nor tries again and again, None if nothing does."""
        if self._is_running and not self._writer.alive():
            return "what writes messages"
        if self._is_running and not self._link.alive():
            return "what listens to the broker"
        return None

    def waiting(self) -> int:
        """Return how many messages have come and are not written yet."""
        return self._inbox.waiting()

    def settled(self) -> int:
        """Return how many messages were stored, refused or dropped as repeats."""
        return self._writer.settled

    def wait_settled(self, count: int, timeout_s: float) -> bool:
        """Wait until that many messages are settled; return whether they were in time [s]."""
        return self._writer.wait_settled(count, timeout_s)

    def publish(self, topic: str, payload: bytes, *, retain: bool = True) -> None:
        """Publish at QoS 1; while there is no connection, the newest of each topic is kept.

        Parameters
        ----------
        topic
            Where.
        payload
            What.
        retain
            Whether the broker keeps it for those who listen later.
        """
        self._link.publish(topic, payload, retain=retain)
