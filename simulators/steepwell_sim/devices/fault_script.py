"""What goes wrong with devices and garden, and when: a script in TOML, read and checked."""

from __future__ import annotations

import tomllib
from datetime import timedelta
from typing import TYPE_CHECKING, Annotated, Literal, Self

from pydantic import BaseModel, ConfigDict, Field, ValidationError, model_validator

from steepwell.errors import CommandError

if TYPE_CHECKING:
    from pathlib import Path

    from steepwell.garden.garden import Garden

Kind = Literal[
    "drift",
    "spike",
    "freeze",
    "reset",
    "battery",
    "drop",
    "repeat",
    "late",
    "burst",
    "clock",
    "garbage",
    "reconnect",
    "leak",
    "blocked downpipe",
    "blocked gauge",
]
# What a fault befalls, other than a sensor.
_BEFALLS: dict[Kind, str] = {"leak": "butt", "blocked downpipe": "roof"}
# What its size is, where it needs one: of the value in the message, unless it says otherwise.
SIZES: dict[Kind, str] = {
    "drift": "how much it moves a day",
    "spike": "how far it leaps",
    "late": "how many hours late a message comes",
    "clock": "how many hours its clock is wrong",
    "repeat": "how often a message is said again",
    "leak": "litres a day",
}
# Only some of the messages, by chance, for these.
_BY_CHANCE: tuple[Kind, ...] = ("spike", "drop", "garbage", "repeat", "reconnect")
FOR_EVER_H = 24.0 * 36_500

_Hours = Annotated[float, Field(ge=0, le=FOR_EVER_H, allow_inf_nan=False)]


class Fault(BaseModel):
    """One fault: of which kind, of what, from when, for how long, how great and how often.

    The times are hours of the devices' time after they started [h].
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    kind: Kind
    sensor: str | None = None
    butt: str | None = None
    roof: str | None = None
    after_h: _Hours = 0.0
    for_h: Annotated[float, Field(gt=0, le=FOR_EVER_H, allow_inf_nan=False)] = FOR_EVER_H
    size: Annotated[float, Field(allow_inf_nan=False)] | None = None
    chance: Annotated[float, Field(gt=0, le=1)] = 1.0

    @model_validator(mode="after")
    def _says_what_it_needs(self) -> Self:
        befalls = _BEFALLS.get(self.kind, "sensor")
        if self.kind == "blocked gauge":
            befalls = ""
        for key in ("sensor", "butt", "roof"):
            if (getattr(self, key) is not None) != (key == befalls):
                wanted = f"{self.kind!r} befalls {f'a {befalls}' if befalls else 'the garden'}"
                raise ValueError(f"{wanted}: {'give' if key == befalls else 'leave out'} {key}")
        if (self.size is None) == (self.kind in SIZES):
            told = f"size, {SIZES[self.kind]}" if self.kind in SIZES else "no size"
            raise ValueError(f"{self.kind!r} takes {told}")
        if self.chance < 1.0 and self.kind not in _BY_CHANCE:
            raise ValueError(f"{self.kind!r} takes no chance")
        return self

    @property
    def after(self) -> timedelta:
        """When it begins, after the devices started."""
        return timedelta(hours=self.after_h)

    @property
    def until(self) -> timedelta:
        """When it is over, after the devices started."""
        return timedelta(hours=self.after_h + self.for_h)


def read_script(path: Path, garden: Garden) -> list[Fault]:
    """Read a fault script.

    Parameters
    ----------
    path
        A TOML file of ``[[fault]]`` tables.
    garden
        Names sensors, butts and roofs.

    Returns
    -------
    list of Fault
        In the order of the file.

    Raises
    ------
    CommandError
        If it cannot be read, or names what is not there; the message says which fault.
    """
    try:
        raw = tomllib.loads(path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise CommandError(f"{path}: cannot be read as TOML ({error})") from None
    tables = raw.pop("fault", None)
    if raw or not isinstance(tables, list):
        raise CommandError(f"{path}: wanted [[fault]] tables and nothing else")
    return [_fault(path, number, table, garden) for number, table in enumerate(tables, start=1)]


def _fault(path: Path, number: int, table: object, garden: Garden) -> Fault:
    try:
        fault = Fault.model_validate(table)
    except ValidationError as error:
        detail = error.errors(include_url=False)[0]
        where = ".".join(str(step) for step in detail["loc"])
        said = detail["msg"].removeprefix("Value error, ")
        raise CommandError(
            f"{path}: fault {number}: {f'{where}: ' if where else ''}{said}"
        ) from None
    known = {
        "sensor": [sensor.name for sensor in garden.sensor],
        "butt": [butt.name for butt in garden.butt],
        "roof": [roof.name for roof in garden.roof],
    }
    for key, names in known.items():
        name = getattr(fault, key)
        if name is not None and name not in names:
            there = ", ".join(names) or "none"
            raise CommandError(f"{path}: fault {number}: no {key} {name!r}; there are {there}")
    return fault
