"""Where the network thread leaves messages for the writer, and waits when there are too many."""

from __future__ import annotations

import threading
from collections import deque
from typing import NamedTuple

ENOUGH = 500


class Heard(NamedTuple):
    """A message as it came.

    Attributes
    ----------
    topic, payload
        What was said.
    packet_id
        By which it is acknowledged; 0 for a message that is not.
    again
        Whether the broker says, in a resumed session, that it may have delivered it before.
    retained
        Whether it was kept by the broker, so that its arrival tells nothing about its time.
    connection
        Number of the connection it came by.
    session
        Number of the session it belongs to.
    arrival_ms
        When it came [ms since 1970].
    """

    topic: str
    payload: bytes
    packet_id: int
    again: bool
    retained: bool
    connection: int
    session: int
    arrival_ms: int


class Inbox:
    """A queue that makes the sender wait when it holds too many messages or too many bytes.

    Parameters
    ----------
    most
        Messages it holds at most.
    most_bytes
        Bytes of payload it holds at most; one message always fits.
    """

    def __init__(self, most: int, most_bytes: int) -> None:
        self._most = most
        self._most_bytes = most_bytes
        self._bytes = 0
        self._messages: deque[Heard] = deque()
        self._closed = False
        lock = threading.Lock()
        self._filled = threading.Condition(lock)
        self._emptied = threading.Condition(lock)

    def put(self, message: Heard) -> bool:
        """Leave a message; wait for room. Return False if the inbox was closed instead."""
        with self._filled:
            while not self._closed and self._messages and self._is_full():
                self._emptied.wait()
            if self._closed:
                return False
            self._messages.append(message)
            self._bytes += len(message.payload)
            if len(self._messages) in {1, ENOUGH} or self._is_full():
                self._filled.notify()
            return True

    def _has_enough(self) -> bool:
        return self._closed or len(self._messages) >= ENOUGH or self._is_full()

    def _is_full(self) -> bool:
        return len(self._messages) >= self._most or self._bytes >= self._most_bytes

    def take(self, patience_s: float = 0.0) -> list[Heard]:
        """Wait for messages and take all there are; nothing means closed and empty.

        Parameters
        ----------
        patience_s
            How long to let more of them gather once there is one [s]; 500 are enough at once.
        """
        with self._filled:
            while not self._messages and not self._closed:
                self._filled.wait()
            if patience_s:
                self._filled.wait_for(self._has_enough, patience_s)
            messages = list(self._messages)
            self._messages.clear()
            self._bytes = 0
            self._emptied.notify()
            return messages

    def waiting(self) -> int:
        """Return how many messages are in it."""
        return len(self._messages)

    def close(self) -> None:
        """Take no more messages in; what is inside can still be taken out."""
        with self._filled:
            self._closed = True
            self._filled.notify_all()
            self._emptied.notify_all()
