"""Flags of IOC/QARTOD, and the shape of what converting a value gives."""

from __future__ import annotations

from collections.abc import Callable

PASS, NOT_EVALUATED, SUSPECT, FAIL = 1, 2, 3, 4

# Value in base units, flag, reason for the flag.
Converted = tuple[float, int, str | None]
# Takes the value and the unit in the message, or None.
Converter = Callable[[float, str | None], Converted]
# Takes what a converter gave and the time of the reading [ms since 1970].
Finisher = Callable[[float, int], Converted]
