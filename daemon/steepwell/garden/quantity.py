"""Quantities with units, read once at load; inside the program there are only floats."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Annotated, Final

from pydantic import BeforeValidator, ValidationInfo

if TYPE_CHECKING:
    import pint

_NUMBER_AND_UNIT = re.compile(
    r"^\s*([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)\s*([^\d.\s].*?)\s*$"
)
_PERCENT = re.compile(r"\s*(\d+\.?\d*|\.\d+)\s*%\s*")
_DECIMAL_COMMA = re.compile(r"^\s*[-+]?\d+,\d")
_UNIT_AND_POWER = re.compile(r"(°?[A-Za-zµμ][A-Za-zµμ_]*)\s*(?:(?:\^|\*\*)?\s*([23²³]))?")
_POWERS = {None: 1, "2": 2, "3": 3, "²": 2, "³": 3}
_CHOSEN_GALLON = re.compile(r"\b(imperial_gallon|us_gallon)s?\b", re.IGNORECASE)
_BARE_GALLON = re.compile(r"\b(gal|gals|gallon|gallons)\b", re.IGNORECASE)
_TWO_MEASURES = re.compile(r"\b(pints?|pt|quarts?|qt|cups?|fluid_ounces?|fl_?oz)\b", re.IGNORECASE)

# Validation context of a garden that has been read before and comes as plain floats.
IN_INNER_UNITS: Final = {"units": "inner"}


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of quantity: its name for people, the unit used inside, an example.

    Attributes
    ----------
    name
        What to call it in a message.
    unit
        The unit kept inside, as pint writes it.
    symbol
        The same, as people write it.
    example
        How a gardener may write one.
    """

    name: str
    unit: str
    symbol: str
    example: str


LENGTH = Kind("a length", "meter", "m", '"58 cm"')
AREA = Kind("an area", "meter ** 2", "m²", '"12 m2"')
VOLUME = Kind("a volume", "liter", "L", '"210 L"')
WATER_DEPTH = Kind("a depth of water", "millimeter", "mm", '"0.2 mm"')
TEMPERATURE = Kind("a temperature", "degree_Celsius", "°C", '"14 degC"')
DURATION = Kind("a time", "hour", "h", '"24 h"')
FLOW = Kind("a flow", "liter / minute", "L/min", '"8 L/min"')
SPEED = Kind("a speed", "meter / second", "m/s", '"3 m/s"')
CONDUCTIVITY = Kind("a conductivity", "decisiemens / meter", "dS/m", '"12 mS/cm"')
RATIO = Kind("a share", "dimensionless", "", '0.9 or "90 %"')

# How many of the units that most files are written in make one of ours. For all others there is
# pint, which takes a third of a second to load and 20 MB for as long as the daemon runs.
_USUAL: Final[dict[Kind, dict[str, float]]] = {
    LENGTH: {"m": 1.0, "cm": 100.0, "mm": 1000.0, "ft": 1 / 0.3048, "in": 1 / 0.0254},
    AREA: {"m2": 1.0, "m²": 1.0, "ft2": 1 / 0.3048**2, "ft²": 1 / 0.3048**2},
    VOLUME: {
        "L": 1.0,
        "mL": 1000.0,
        "imperial_gallon": 1 / 4.54609,
        "us_gallon": 1 / 3.785411784,
    },
    WATER_DEPTH: {"mm": 1.0, "in": 1 / 25.4},
    TEMPERATURE: {"degC": 1.0, "C": 1.0},
    DURATION: {"h": 1.0, "min": 60.0, "s": 3600.0},
    SPEED: {"m/s": 1.0, "km/h": 3.6},
    CONDUCTIVITY: {"dS/m": 1.0, "mS/cm": 1.0, "uS/cm": 1000.0, "µS/cm": 1000.0},
    FLOW: {"L/min": 1.0, "L/h": 60.0, "L/s": 1 / 60},
}


@lru_cache(maxsize=1)
def _registry() -> pint.UnitRegistry[float]:
    import pint  # noqa: PLC0415 - most garden files do without

    registry: pint.UnitRegistry[float] = pint.UnitRegistry(
        autoconvert_offset_to_baseunit=True, on_redefinition="ignore"
    )
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
        raise ValueError(  # noqa: TRY004 - pydantic makes a fault of a ValueError only
            f"{kind.name} needs its unit, for instance {kind.example}"
        )
    if _DECIMAL_COMMA.match(text):
        raise ValueError(f"a decimal has a point, not a comma, for instance {kind.example}")
    parts = _NUMBER_AND_UNIT.match(text)
    if parts is None:
        raise ValueError(f"{kind.name} is a number and a unit, for instance {kind.example}")
    return _convert(float(parts[1]), _one_meaning(parts[2]), kind)


def _one_meaning(unit: str) -> str:
    """Refuse a unit that differs from country to country, and return it as pint reads it."""
    if _BARE_GALLON.search(unit) and not _CHOSEN_GALLON.search(unit):
        raise ValueError(
            'a gallon may be two things: write "imperial_gallon" (4.546 L) or "us_gallon" (3.785 L)'
        )
    if _TWO_MEASURES.search(unit):
        raise ValueError(f"{unit!r} is not the same everywhere; write it in L or mL")
    return _CHOSEN_GALLON.sub(lambda match: match[1].lower(), unit)


def _convert(number: float, unit: str, kind: Kind) -> float:
    if (usual := _USUAL[kind].get(unit)) is not None:
        return number / usual
    if kind is TEMPERATURE and unit == "F":
        unit = "degF"
    import pint  # noqa: PLC0415 - the same

    parts = _UNIT_AND_POWER.fullmatch(unit)
    if parts is None:
        raise ValueError(f"unknown unit {unit!r}; write for instance {kind.example}")
    power = _POWERS[parts[2]]
    registry = _registry()
    try:
        return float(
            registry.Quantity(number, registry.parse_units(parts[1]) ** power)
            .to(kind.unit)
            .magnitude
        )
    except pint.DimensionalityError:
        wanted = f"write for instance {kind.example}"
        raise ValueError(f"{unit!r} is not the unit of {kind.name}; {wanted}") from None
    except (pint.UndefinedUnitError, pint.DefinitionSyntaxError, ValueError, TypeError):
        raise ValueError(f"unknown unit {unit!r}; write for instance {kind.example}") from None


def _ratio(text: object) -> float:
    if isinstance(text, (int, float)) and not isinstance(text, bool):
        return float(text)
    if isinstance(text, str) and (match := _PERCENT.fullmatch(text)):
        return float(match[1]) / 100
    raise ValueError(f"a share is a number or a percentage, for instance {RATIO.example}")


def _quantity(
    kind: Kind, *, above: float | None = None, least: float = -math.inf, most: float
) -> BeforeValidator:
    lowest = f"{least:g}" if above is None else f"more than {above:g}"

    def read(value: object, info: ValidationInfo) -> object:
        if info.context is IN_INNER_UNITS:
            return value
        found = magnitude(value, kind)
        if not least <= found <= most or (above is not None and found <= above):
            raise ValueError(f"{kind.name} from {lowest} to {most:,.0f} {kind.symbol}".rstrip())
        return found

    return BeforeValidator(read)


Metres = Annotated[float, LENGTH, _quantity(LENGTH, above=0, most=100)]
SquareMetres = Annotated[float, AREA, _quantity(AREA, above=0, most=100_000)]
Litres = Annotated[float, VOLUME, _quantity(VOLUME, above=0, most=1_000_000)]
LitresOrNone = Annotated[float, VOLUME, _quantity(VOLUME, least=0, most=1_000_000)]
WaterMillimetres = Annotated[float, WATER_DEPTH, _quantity(WATER_DEPTH, least=0, most=100)]
TipMillimetres = Annotated[float, WATER_DEPTH, _quantity(WATER_DEPTH, above=0, most=10)]
Hours = Annotated[float, DURATION, _quantity(DURATION, least=0, most=1000)]
LitresAMinute = Annotated[float, FLOW, _quantity(FLOW, above=0, most=10_000)]
MetresASecond = Annotated[float, SPEED, _quantity(SPEED, least=0, most=20)]
Elevation = Annotated[float, LENGTH, _quantity(LENGTH, least=-430, most=6000)]
Celsius = Annotated[float, TEMPERATURE, _quantity(TEMPERATURE, least=-40, most=60)]
Share = Annotated[float, RATIO, _quantity(RATIO, least=0, most=1)]
