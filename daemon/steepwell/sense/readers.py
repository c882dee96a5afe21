"""Readers: made once for each topic, they find every sensor's values in a message."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple, Protocol

from steepwell.errors import MessageRefusedError
from steepwell.sense.convert import converter
from steepwell.sense.moments import moment_of
from steepwell.sense.senml import FIRST_ABSOLUTE_S, Record, resolve
from steepwell.sense.text import JsonPointer, finite, json_of, number_and_unit, shown, text_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from steepwell.garden.garden import Garden
    from steepwell.garden.sensors import Sensor
    from steepwell.sense.convert import Converter


class Measured(NamedTuple):
    """A value found in a message.

    Attributes
    ----------
    sensor
        Number of the sensor in the store.
    time_ms
        Its own time [ms since 1970], or None where only its arrival tells.
    offset_ms
        How long after its arrival it was measured, mostly nothing or negative [ms].
    doubt
        Why a time in the message cannot be used, or None.
    value, flag, reason
        In base units.
    """

    sensor: int
    time_ms: int | None
    offset_ms: int
    doubt: str | None
    value: float
    flag: int
    reason: str | None


class Reader(Protocol):
    """Finds the values of the sensors on one topic."""

    def read(self, payload: bytes) -> tuple[list[Measured], list[str]]:
        """Return what was measured, and why some of it could not be read.

        Raises
        ------
        MessageRefusedError
            If the message cannot be read at all.
        """
        ...


def readers(garden: Garden, ids: Mapping[str, int]) -> dict[str, Reader]:
    """Return a reader for each topic of a garden.

    Parameters
    ----------
    garden
        The garden.
    ids
        Number of each sensor in the store, by name.
    """
    by_topic: dict[str, list[Sensor]] = {}
    for sensor in garden.sensor:
        by_topic.setdefault(sensor.topic, []).append(sensor)
    return {
        topic: NumberReader(sensors[0], garden, ids)
        if sensors[0].payload == "number"
        else JsonReader(sensors, garden, ids)
        for topic, sensors in by_topic.items()
    }


class NumberReader:
    """A message that is a number, perhaps with a unit."""

    def __init__(self, sensor: Sensor, garden: Garden, ids: Mapping[str, int]) -> None:
        self._sensor = ids[sensor.name]
        self._convert = converter(sensor, garden)

    def read(self, payload: bytes) -> tuple[list[Measured], list[str]]:
        """Return what was measured."""
        value, unit = number_and_unit(text_of(payload))
        return [Measured(self._sensor, None, 0, None, *self._convert(value, unit))], []


class JsonReader:
    """A message in JSON, in which one or several sensors have their place."""

    def __init__(self, sensors: Sequence[Sensor], garden: Garden, ids: Mapping[str, int]) -> None:
        self._pointed = [
            _Pointed(sensor, ids[sensor.name], converter(sensor, garden))
            for sensor in sensors
            if sensor.pointer is not None
        ]
        self._recorded = {
            sensor.record: (ids[sensor.name], converter(sensor, garden))
            for sensor in sensors
            if sensor.record is not None
        }

    def read(self, payload: bytes) -> tuple[list[Measured], list[str]]:
        """Return what was measured, and why some of it could not be read."""
        document = json_of(payload)
        measured: list[Measured] = []
        faults: list[str] = []
        for pointed in self._pointed:
            try:
                measured.append(pointed.read(document))
            except MessageRefusedError as error:
                faults.append(str(error))
        if self._recorded:
            self._read_records(resolve(document), measured, faults)
        return measured, faults

    def _read_records(
        self, records: list[Record], measured: list[Measured], faults: list[str]
    ) -> None:
        missing = set(self._recorded)
        for record in records:
            ours = self._recorded.get(record.name)
            if ours is None:
                continue
            missing.discard(record.name)
            try:
                measured.append(_measured(record, *ours))
            except MessageRefusedError as error:
                faults.append(str(error))
        faults += [f"there is no record {name!r} in this pack" for name in sorted(missing)]


def _measured(record: Record, sensor: int, convert: Converter) -> Measured:
    value = record.value
    if type(value) is not float:
        raise MessageRefusedError(f"the value of {record.name!r} is {shown(value)}, and no number")
    converted = convert(value, record.unit)
    time_ms = round(record.time_s * 1000)
    if record.time_s < FIRST_ABSOLUTE_S:
        return Measured(sensor, None, time_ms, None, *converted)
    return Measured(sensor, time_ms, 0, None, *converted)


class _Pointed:
    """A sensor whose value, and perhaps time, stand at certain places."""

    def __init__(self, sensor: Sensor, number: int, convert: Converter) -> None:
        self._number = number
        self._convert = convert
        self._value = JsonPointer(sensor.pointer or "")
        self._time = None if sensor.time_pointer is None else JsonPointer(sensor.time_pointer)

    def read(self, document: object) -> Measured:
        found = self._value.find(document)
        if isinstance(found, str):
            value, unit = number_and_unit(found)
        else:
            value, unit = finite(found, "the value"), None
        converted = self._convert(value, unit)
        if self._time is None:
            return Measured(self._number, None, 0, None, *converted)
        try:
            time_ms = moment_of(self._time.find(document))
        except MessageRefusedError as error:
            return Measured(self._number, None, 0, str(error), *converted)
        return Measured(self._number, time_ms, 0, None, *converted)
