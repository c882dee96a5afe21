"""Reads along between daemon and broker which messages the daemon acknowledged."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

PUBLISH, PUBACK = 3, 4
NUMBER = re.compile(rb'(?:"v":)?(\d+\.\d{3})(?:}]|$)')


@dataclass(slots=True)
class Acknowledged:
    """A witness of MQTT 5 at quality of service 1.

    Attributes
    ----------
    numbers
        The messages that were acknowledged, by the number each carries (see ``under_load``).
    """

    numbers: set[int] = field(default_factory=set)
    _rest: dict[tuple[int, bool], bytes] = field(default_factory=dict)
    _under_way: dict[tuple[int, int], int] = field(default_factory=dict)

    def up(self, connection: int, data: bytes) -> None:
        """Take note of what the daemon says."""
        for kind, _, body in self._packets(connection, data, is_up=True):
            if kind == PUBACK:
                number = self._under_way.pop((connection, int.from_bytes(body[:2])), None)
                if number is not None:
                    self.numbers.add(number)

    def down(self, connection: int, data: bytes) -> None:
        """Take note of what the broker says."""
        for kind, flags, body in self._packets(connection, data, is_up=False):
            if kind == PUBLISH and flags & 0b0110:
                end = 2 + int.from_bytes(body[:2])
                packet_id = int.from_bytes(body[end : end + 2])
                found = NUMBER.search(body[end + 2 :])
                if found is not None:
                    number = round(float(found[1]) * 1000)
                    self._under_way[connection, packet_id] = number

    def _packets(
        self, connection: int, data: bytes, *, is_up: bool
    ) -> list[tuple[int, int, bytes]]:
        """Return the whole packets there are: kind, flags and body."""
        rest = self._rest.get((connection, is_up), b"") + data
        packets, at = [], 0
        while (head := _length(rest, at)) is not None:
            begins, length = head
            if begins + length > len(rest):
                break
            packets.append((rest[at] >> 4, rest[at] & 15, rest[begins : begins + length]))
            at = begins + length
        self._rest[connection, is_up] = rest[at:]
        return packets


def _length(data: bytes, at: int) -> tuple[int, int] | None:
    """Return where the body of the packet at a place begins and how long it is, if that is said."""
    length = 0
    for place in range(4):
        if at + 1 + place >= len(data):
            return None
        byte = data[at + 1 + place]
        length += (byte & 127) << (7 * place)
        if byte < 128:
            return at + 2 + place, length
    return None
