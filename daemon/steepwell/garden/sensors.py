"""Sensors: the topic each speaks on, what it measures, and how its message is read."""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import AfterValidator, BeforeValidator, Field, model_validator

from steepwell.garden.base import Name, Part
from steepwell.garden.quantity import Celsius, Metres, TipMillimetres

LONGEST_TOPIC_BYTES = 65_535


def _check_topic(topic: str) -> str:
    if "+" in topic or "#" in topic:
        raise ValueError("a sensor's topic is one topic, without the wildcards + and #")
    if not topic or "\0" in topic or len(topic.encode()) > LONGEST_TOPIC_BYTES:
        raise ValueError("a topic has at least one character and at most 65,535 bytes")
    if topic.startswith("$"):
        raise ValueError("topics that begin with $ belong to the broker")
    return topic


def _check_pointer(pointer: str) -> str:
    escapes_are_whole = all(part[:1] in {"0", "1"} for part in pointer.split("~")[1:])
    if (pointer and not pointer.startswith("/")) or not escapes_are_whole:
        raise ValueError('a JSON pointer begins with "/" (RFC 6901), for instance "/water/level"')
    return pointer


def _one_or_several(of: object) -> object:
    return [of] if isinstance(of, str) else of


Topic = Annotated[str, AfterValidator(_check_topic)]
Pointer = Annotated[str, AfterValidator(_check_pointer)]


class _Spoken(Part):
    """What every sensor has: a name, a topic, and how its message is written."""

    name: Name
    topic: Topic
    payload: Literal["senml", "json", "number"]
    record: str | None = None
    pointer: Pointer | None = None
    time_pointer: Pointer | None = None
    battery_pointer: Pointer | None = None
    signal_pointer: Pointer | None = None
    unit: str | None = None

    @model_validator(mode="after")
    def _is_read_one_way(self) -> Self:
        if self.record is not None and self.pointer is not None:
            raise ValueError(
                "a SenML sensor names its record, a JSON sensor its pointer: give one, not both"
            )
        if (self.payload == "senml") != (self.record is not None):
            raise ValueError('record goes with payload = "senml", and is needed there')
        if (self.payload == "json") != (self.pointer is not None):
            raise ValueError('pointer goes with payload = "json", and is needed there')
        for key in ("time_pointer", "battery_pointer", "signal_pointer"):
            if getattr(self, key) is not None and self.payload != "json":
                raise ValueError(f'{key} goes with payload = "json"')
        if self.unit is not None and self.unit not in self.units_understood():
            raise ValueError(f"unit is one of {', '.join(self.units_understood())}")
        return self

    @classmethod
    def units_understood(cls) -> tuple[str, ...]:
        """Return the units a message of this sensor may come in."""
        raise NotImplementedError


class RainSensor(_Spoken):
    """A gauge: a bucket that tips, or one that tells millimetres.

    In heavy rain a bucket catches less, for while it tips rain falls on the full side. With
    ``heavy_rain_corrected`` what is lost so is put back (Duchon, Fiebrich and Grimsley 2014, see
    ``model.probes``); by default readings are taken as they are.
    """

    measures: Literal["rain"]
    counts: Literal[
        "tips since start", "tips since last message", "mm since last message", "mm since start"
    ] = "tips since start"
    tip: TipMillimetres | None = None
    heavy_rain_corrected: bool = False

    @model_validator(mode="after")
    def _tip_goes_with_tips(self) -> Self:
        if self.counts.startswith("tips") != (self.tip is not None):
            raise ValueError(
                'tip goes with counts = "tips since start" or "tips since last message", '
                "and is needed there"
            )
        if self.heavy_rain_corrected and self.tip is None:
            raise ValueError("heavy_rain_corrected goes with a bucket that tips, and its tip")
        return self

    @property
    def is_cumulative(self) -> bool:
        """Whether it counts on and on, so that a lost message loses no rain."""
        return self.counts.endswith("since start")

    @classmethod
    def units_understood(cls) -> tuple[str, ...]:
        """Return the units a message of this sensor may come in."""
        return ("count", "mm", "m")


class LevelSensor(_Spoken):
    """A probe for the water in a butt.

    ``sound_at`` is the temperature for which a probe that listens to echoes turns time into
    distance; where the air is measured, its distances are put right. A probe that reads the
    ``absolute`` pressure also feels the air, and needs a barometer beside it.
    """

    measures: Literal["level"]
    of: Name
    reads: Literal["distance from lid", "depth", "pressure", "percent", "litres"]
    lid: Metres | None = None
    blind: Metres | None = None
    sound_at: Celsius | None = None
    absolute: bool = False

    @model_validator(mode="after")
    def _lid_goes_with_distance(self) -> Self:
        if (self.reads == "distance from lid") != (self.lid is not None):
            raise ValueError(
                "lid, the height of the probe above the floor of the butt, goes with "
                'reads = "distance from lid", and is needed there'
            )
        if self.blind is not None and (self.lid is None or self.blind >= self.lid):
            raise ValueError("blind, the nearest distance the probe can tell, is less than lid")
        if self.sound_at is not None and self.lid is None:
            raise ValueError('sound_at goes with reads = "distance from lid"')
        if self.absolute and self.reads != "pressure":
            raise ValueError('absolute goes with reads = "pressure"')
        return self

    @property
    def needs_surroundings(self) -> bool:
        """Whether the air has a part in what it reads."""
        return self.absolute or self.sound_at is not None

    @classmethod
    def units_understood(cls) -> tuple[str, ...]:
        """Return the units a message of this sensor may come in."""
        return ("mm", "cm", "m", "%", "L", "m3", "Pa", "hPa", "kPa", "mbar", "bar")


class TemperatureSensor(_Spoken):
    """A probe in a vessel, or one in the shade for the air."""

    measures: Literal["temperature"]
    of: Annotated[tuple[Name, ...], Field(min_length=1), BeforeValidator(_one_or_several)]

    @property
    def places(self) -> tuple[str, ...]:
        """The vessels it stands for, or ``("air",)``."""
        return self.of

    @classmethod
    def units_understood(cls) -> tuple[str, ...]:
        """Return the units a message of this sensor may come in."""
        return ("Cel", "degF", "K")


class Barometer(_Spoken):
    """A probe for the pressure of the air as it is here, not reduced to the level of the sea."""

    measures: Literal["pressure"]
    of: Literal["air"] = "air"

    @classmethod
    def units_understood(cls) -> tuple[str, ...]:
        """Return the units a message of this sensor may come in."""
        return ("hPa", "Pa", "kPa", "mbar", "bar")


Sensor = Annotated[
    RainSensor | LevelSensor | TemperatureSensor | Barometer, Field(discriminator="measures")
]

SKY = "sky"


def measured_by(sensor: Sensor) -> tuple[str, str]:
    """Return of what a sensor tells, and what, with its unit, is stored of it.

    Parameters
    ----------
    sensor
        The sensor.

    Returns
    -------
    of, measures : str
        A butt, vessels joined by ``+``, ``air`` or ``sky``; such as ``volume_l``.
    """
    match sensor:
        case RainSensor():
            return SKY, "rain_total_mm" if sensor.is_cumulative else "rain_mm"
        case LevelSensor():
            return sensor.of, "volume_l"
        case TemperatureSensor():
            return "+".join(sensor.places), "temperature_c"
        case Barometer():
            return sensor.of, "pressure_pa"
