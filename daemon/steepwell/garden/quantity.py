"""Quantities with units, read once at load; inside the program there are only floats."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from typing import Annotated, Any

import pint
from pydantic import BeforeValidator, Field

_NUMBER_AND_UNIT = re.compile(r"^\s*([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)\s*(\S.*?)\s*$")
_POWER_WITHOUT_CARET = re.compile(r"\b([kcm]?m|in|ft|yd)([23])\b")
_BARE_GALLON = re.compile(r"\b(gal|gals|gallon|gallons)\b", re.IGNORECASE)
_CHOSEN_GALLON = re.compile(r"\b(imperial_gallon|us_gallon)s?\b", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of quantity: its name for people, the unit used inside, an example.

    Attributes
    ----------
    name
        What to call it in a message.
    unit
        The unit kept inside, as pint writes it.
    example
        How a gardener may write one.
    """

    name: str
    unit: str
    example: str


LENGTH = Kind("a length", "meter", '"58 cm"')
AREA = Kind("an area", "meter ** 2", '"12 m^2"')
VOLUME = Kind("a volume", "liter", '"210 L"')
WATER_DEPTH = Kind("a depth of water", "millimeter", '"0.2 mm"')
TEMPERATURE = Kind("a temperature", "degree_Celsius", '"14 degC"')
DURATION = Kind("a length of time", "second", '"36 h"')
RATIO = Kind("a share", "dimensionless", '0.9 or "90 %"')


@lru_cache(maxsize=1)
def _registry() -> pint.UnitRegistry[float]:
    registry: pint.UnitRegistry[float] = pint.UnitRegistry(autoconvert_offset_to_baseunit=True)
    registry.define("us_gallon = 3.785411784 liter")
    registry.define("kitchen_teaspoon = 5 milliliter = _ = tsp = teaspoon")
    registry.define("kitchen_tablespoon = 15 milliliter = _ = tbsp = tablespoon")
    return registry


def magnitude(text: object, kind: Kind) -> float:
    """Read a quantity and return its magnitude in the unit used inside.

    Parameters
    ----------
    text
        What stands in the file, for instance ``"210 L"``.
    kind
        The kind of quantity wanted.

    Returns
    -------
    float
        Magnitude in ``kind.unit``.

    Raises
    ------
    ValueError
        If it has no unit, an unknown unit, or the wrong dimension.
    """
    if kind is RATIO:
        return _ratio(text)
    if not isinstance(text, str):
        raise ValueError(f"{kind.name} needs its unit, for instance {kind.example}")
    parts = _NUMBER_AND_UNIT.match(text)
    if parts is None:
        raise ValueError(f"{kind.name} is a number and a unit, for instance {kind.example}")
    number, unit = float(parts[1]), parts[2]
    if _BARE_GALLON.search(unit) and not _CHOSEN_GALLON.search(unit):
        raise ValueError(
            'a gallon may be two things: write "imperial_gallon" (4.546 L) or "us_gallon" (3.785 L)'
        )
    unit = _CHOSEN_GALLON.sub(lambda match: match[1].lower(), unit)
    return _convert(number, _POWER_WITHOUT_CARET.sub(r"\1**\2", unit), kind)


def _convert(number: float, unit: str, kind: Kind) -> float:
    registry = _registry()
    try:
        return float(registry.Quantity(number, registry.parse_units(unit)).to(kind.unit).magnitude)
    except pint.DimensionalityError:
        raise ValueError(f"{unit!r} is not {kind.name}; write for instance {kind.example}") from None
    except (pint.UndefinedUnitError, pint.DefinitionSyntaxError, ValueError, TypeError):
        raise ValueError(f"unknown unit {unit!r}; write for instance {kind.example}") from None


def _ratio(text: object) -> float:
    if isinstance(text, (int, float)) and not isinstance(text, bool):
        return float(text)
    if isinstance(text, str) and (match := re.fullmatch(r"\s*([\d.]+)\s*%\s*", text)):
        return float(match[1]) / 100
    raise ValueError(f"a share is a number from 0 to 1 or a percentage, for instance {RATIO.example}")


def _quantity(kind: Kind) -> Any:  # noqa: ANN401 - what pydantic's validators take
    return BeforeValidator(lambda text: magnitude(text, kind))


Metres = Annotated[float, Field(gt=0, le=100), _quantity(LENGTH)]
SquareMetres = Annotated[float, Field(gt=0, le=100_000), _quantity(AREA)]
Litres = Annotated[float, Field(gt=0, le=1_000_000), _quantity(VOLUME)]
LitresOrNone = Annotated[float, Field(ge=0, le=1_000_000), _quantity(VOLUME)]
WaterMillimetres = Annotated[float, Field(ge=0, le=100), _quantity(WATER_DEPTH)]
TipMillimetres = Annotated[float, Field(gt=0, le=10), _quantity(WATER_DEPTH)]
Elevation = Annotated[float, Field(ge=-430, le=6000), _quantity(LENGTH)]
Share = Annotated[float, Field(ge=0, le=1), _quantity(RATIO)]
Seconds = Annotated[float, Field(gt=0), _quantity(DURATION)]
