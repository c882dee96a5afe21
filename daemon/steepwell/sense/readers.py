"""Readers: made once for each topic, they find every sensor's values in a message."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple, Protocol

from steepwell.errors import MessageRefusedError
from steepwell.sense.convert import converter, finisher
from steepwell.sense.moments import moment_of
from steepwell.sense.senml import FIRST_ABSOLUTE_S, Record, resolve
from steepwell.sense.senml_cbor import is_cbor_pack, pack_of
from steepwell.sense.text import JsonPointer, finite, json_of, number_and_unit, text_of
from steepwell.sense.units import SUMMED

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from steepwell.garden.garden import Garden
    from steepwell.garden.sensors import Sensor
    from steepwell.sense.flags import Converter, Finisher
    from steepwell.sense.surroundings import Surroundings


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
    finish
        What is left to be done with the value when the time is known, mostly nothing.
    battery, signal
        What the device said of itself, in its own units, or None.
    """

    sensor: int
    time_ms: int | None
    offset_ms: int
    doubt: str | None
    value: float
    flag: int
    reason: str | None
    finish: Finisher | None = None
    battery: float | None = None
    signal: float | None = None


class Reader(Protocol):
    """Finds the values of the sensors on one topic.

    Attributes
    ----------
    passed_over
        How many values that are no numbers it has passed over.
    """

    passed_over: int

    def read(self, payload: bytes) -> tuple[list[Measured], list[str]]:
        """Return what was measured, and why some of it could not be read.

        Raises
        ------
        MessageRefusedError
            If the message cannot be read at all.
        """
        ...


def readers(
    garden: Garden, ids: Mapping[str, int], around: Surroundings | None = None
) -> dict[str, Reader]:
    """Return a reader for each topic of a garden.

    Parameters
    ----------
    garden
        The garden.
    ids
        Number of each sensor in the store, by name.
    around
        The air, for probes that cannot do without; else None.
    """
    by_topic: dict[str, list[_Ear]] = {}
    for sensor in garden.sensor:
        ear = _Ear(
            sensor, ids[sensor.name], converter(sensor, garden), finisher(sensor, garden, around)
        )
        by_topic.setdefault(sensor.topic, []).append(ear)
    return {
        topic: NumberReader(ears[0]) if ears[0].sensor.payload == "number" else JsonReader(ears)
        for topic, ears in by_topic.items()
    }


class _Ear(NamedTuple):
    """A sensor, its number in the store, and how its values are brought to base units."""

    sensor: Sensor
    number: int
    convert: Converter
    finish: Finisher | None


class NumberReader:
    """A message that is a number, perhaps with a unit."""

    def __init__(self, ear: _Ear) -> None:
        self._ear = ear
        self.passed_over = 0

    def read(self, payload: bytes) -> tuple[list[Measured], list[str]]:
        """Return what was measured."""
        _, number, convert, finish = self._ear
        value, unit = number_and_unit(text_of(payload))
        return [Measured(number, None, 0, None, *convert(value, unit), finish)], []


class JsonReader:
    """A message in JSON, in which one or several sensors have their place."""

    def __init__(self, ears: Sequence[_Ear]) -> None:
        self._pointed = [_Pointed(ear) for ear in ears if ear.sensor.pointer is not None]
        self._recorded = {ear.sensor.record: ear for ear in ears if ear.sensor.record is not None}
        self.passed_over = 0

    def read(self, payload: bytes) -> tuple[list[Measured], list[str]]:
        """Return what was measured, and why some of it could not be read."""
        is_cbor = is_cbor_pack(payload) and not self._pointed
        document = pack_of(payload) if is_cbor else json_of(payload)
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
            value = record.value
            if value is not None and type(value) is not float:
                self.passed_over += 1
            ours = self._recorded.get(record.name)
            if ours is None:
                continue
            missing.discard(record.name)
            try:
                one = _measured(record, ours)
            except MessageRefusedError as error:
                faults.append(str(error))
            else:
                if one is not None:
                    measured.append(one)
        faults += [f"there is no record {name!r} in this pack" for name in sorted(missing)]


def _measured(record: Record, ear: _Ear) -> Measured | None:
    """Return what a record says, None if that is no number."""
    sensor, number, convert, finish = ear
    value, unit = record.value, record.unit
    if record.total is not None and (value is None or sensor.measures == "rain"):
        # The sum of a rate of rain is rain since the start.
        value, unit = record.total, f"{unit or ''}{SUMMED}"
    if type(value) is not float:
        return None
    converted = convert(value, unit)
    time_ms = round(record.time_s * 1000)
    if record.time_s < FIRST_ABSOLUTE_S:
        return Measured(number, None, time_ms, None, *converted, finish)
    return Measured(number, time_ms, 0, None, *converted, finish)


class _Pointed:
    """A sensor whose value, and perhaps time, battery and signal, stand at certain places."""

    def __init__(self, ear: _Ear) -> None:
        sensor = ear.sensor
        self._ear = ear
        self._value = JsonPointer(sensor.pointer or "")
        self._time = _pointer(sensor.time_pointer)
        self._battery = _pointer(sensor.battery_pointer)
        self._signal = _pointer(sensor.signal_pointer)

    def read(self, document: object) -> Measured:
        _, number, convert, finish = self._ear
        found = self._value.find(document)
        if isinstance(found, str):
            value, unit = number_and_unit(found)
        else:
            value, unit = finite(found, "the value"), None
        converted = convert(value, unit)
        time_ms, doubt = None, None
        if self._time is not None:
            try:
                time_ms = moment_of(self._time.find(document))
            except MessageRefusedError as error:
                doubt = str(error)
        measured = Measured(number, time_ms, 0, doubt, *converted, finish)
        if self._battery is None and self._signal is None:
            return measured
        return measured._replace(
            battery=_told(self._battery, document), signal=_told(self._signal, document)
        )


def _pointer(pointer: str | None) -> JsonPointer | None:
    return None if pointer is None else JsonPointer(pointer)


def _told(pointer: JsonPointer | None, document: object) -> float | None:
    """Return what a device says of itself, None if it does not, or not so that it can be read."""
    if pointer is None:
        return None
    try:
        found = pointer.find(document)
        return number_and_unit(found)[0] if isinstance(found, str) else finite(found, "it")
    except MessageRefusedError:
        return None
