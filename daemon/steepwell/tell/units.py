"""Turns the amounts in what a gardener reads into the units of his choice.

Inside, everything is metric, and so are the sentences that are made, stored and posted. They are
turned where they are read, and nowhere else. What stands in quotation marks is to be typed, and may
be typed in any unit; it stays.
"""

from __future__ import annotations

import re
from functools import lru_cache
from typing import TYPE_CHECKING, Literal, NamedTuple

from steepwell.words.saying import language, say

if TYPE_CHECKING:
    from collections.abc import Callable

Units = Literal["metric", "imperial", "us"]

# NIST Handbook 44 (2023), appendix C, tables of units of measurement; all exact but the ounce of
# mercury, which is that of 0 °C.
IMPERIAL_GALLON_L, US_GALLON_L = 4.54609, 3.785411784
IMPERIAL_OUNCE_ML, US_OUNCE_ML = 28.4130625, 29.5735295625
INCH_MM, FOOT_M, POUND_KG = 25.4, 0.3048, 0.45359237
INCH_OF_MERCURY_HPA = 33.86389
FREEZING_F, DEGREES_F_A_KELVIN = 32.0, 1.8
FIGURES = 2
FEWEST_SPACES = 2
# An inch is told with one figure where that is so near: nobody lays mulch 0.98 in deep.
AS_GOOD = 0.03

_NUMBER = r"[-\u2212]?\d[\d,]*(?:\.\d+)?"
_UNIT = r"L/m²|L|mL|mm|cm|m²|m2|m|kg|°C|hPa"


class _Unit(NamedTuple):
    """What one metric unit becomes: so much of it is one of the other."""

    name: str
    size: float


def _units_of(units: Units) -> dict[str, _Unit]:
    gallon_l = US_GALLON_L if units == "us" else IMPERIAL_GALLON_L
    ounce_ml = US_OUNCE_ML if units == "us" else IMPERIAL_OUNCE_ML
    foot2_m2 = FOOT_M * FOOT_M
    return {
        "L": _Unit("gal", gallon_l),
        "mL": _Unit("fl oz", ounce_ml),
        "mm": _Unit("in", INCH_MM),
        "cm": _Unit("in", INCH_MM / 10.0),
        "m": _Unit("ft", FOOT_M),
        "m²": _Unit("sq ft", foot2_m2),
        "m2": _Unit("sq ft", foot2_m2),
        "L/m²": _Unit("gal/sq ft", gallon_l / foot2_m2),
        "kg": _Unit("lb", POUND_KG),
        "hPa": _Unit("inHg", INCH_OF_MERCURY_HPA),
    }


def in_units(text: str, units: Units) -> str:
    """Return a text with its amounts in the units of a gardener's choice.

    Parameters
    ----------
    text
        What he reads, with metric amounts such as "310 of 630 L", "4 mm" or "17.5 °C".
    units
        His units.

    Returns
    -------
    str
        Amounts to two figures, or as many as they came with; what stands in quotation marks is as
        it was.
    """
    return text if units == "metric" else _amounts(language()).sub(_turning(units), text)


def turned(value: object, *, units: Units) -> object:
    """Return what a template puts into a page: text in the units of choice, all else as it is.

    What a part of a template made is markup, and its amounts were turned when it was made.
    """
    return in_units(value, units) if type(value) is str else value


def screen_in_units(text: str, units: Units) -> str:
    """Return a screen with its amounts in the units of choice and its columns where they were.

    Parameters
    ----------
    text
        Lines, some of which are rows of tables with two spaces or more between columns.
    units
        The units.

    Returns
    -------
    str
        As ``in_units``.
    """
    if units == "metric":
        return text
    turn = _turning(units)
    lines = []
    for line in text.split("\n"):
        told, end = "", 0
        for match in _amounts(language()).finditer(line):
            told += line[end : match.start()]
            end = match.end()
            new = turn(match)
            wider = len(new) - len(match.group())
            before = len(told) - len(told.rstrip(" "))
            after = len(line[end:]) - len(line[end:].lstrip(" "))
            if before >= FEWEST_SPACES and told.strip():
                kept = max(before - wider, 1)
                told = told.rstrip(" ") + " " * kept
            elif after >= FEWEST_SPACES:
                new += " " * max(-wider, 0)
                end += min(max(wider, 0), after - 1)
            told += new
        lines.append(told + line[end:])
    return "\n".join(lines)


def unit_told(unit: str, units: Units) -> str:
    """Return what a metric unit becomes in the units of choice: "gal" for "L"."""
    if units == "metric" or unit not in {*_units_of(units), "°C"}:
        return unit
    return "°F" if unit == "°C" else _units_of(units)[unit].name


def amount_told(amount: float, unit: str, units: Units) -> float:
    """Return an amount in a metric unit as one in the unit it becomes."""
    if unit_told(unit, units) == unit:
        return amount
    if unit == "°C":
        return DEGREES_F_A_KELVIN * amount + FREEZING_F
    return amount / _units_of(units)[unit].size


def amount_meant(amount: float, unit: str, units: Units) -> float:
    """Return an amount in the unit that a metric one becomes as one in the metric unit."""
    if unit_told(unit, units) == unit:
        return amount
    if unit == "°C":
        return (amount - FREEZING_F) / DEGREES_F_A_KELVIN
    return amount * _units_of(units)[unit].size


def gallons_a_litre(units: Units) -> float:
    """Return by what litres are multiplied to be told in the units of choice, 1 for metric [-]."""
    return {"imperial": 1 / IMPERIAL_GALLON_L, "us": 1 / US_GALLON_L}.get(units, 1.0)


def volume_word(units: Units) -> str:
    """Return the word for the unit of volumes at an axis."""
    return say("units.litres" if units == "metric" else "units.gallons")


@lru_cache(maxsize=2)
def _amounts(_language: str) -> re.Pattern[str]:
    """Return what finds amounts in a text, also two with one unit, and differences."""
    between, by = (
        "|".join(map(re.escape, words.split())) for words in (say("units.between"), say("units.by"))
    )
    about = re.escape(say("units.about"))
    return re.compile(
        rf"(?P<typed>\"[^\"\n]*\")|(?P<by>\b(?:{by}) (?:{about} )?)?(?<![\w.:/-])"
        rf"(?P<first>{_NUMBER})"
        rf"(?:(?P<between>[\s\u00a0](?:{between})[\s\u00a0]|\u2013)(?P<second>{_NUMBER}))?"
        rf"(?P<gap>[\s\u00a0])(?P<unit>{_UNIT})(?![\w²/°])"
    )


def _turning(units: Units) -> Callable[[re.Match[str]], str]:
    known = _units_of(units)

    def turned(match: re.Match[str]) -> str:
        if match["typed"] is not None:
            return match.group()
        first, second, gap = match["first"], match["second"], match["gap"]
        if match["unit"] == "°C":
            difference = match["by"] is not None
            amounts = [_fahrenheit(each, difference=difference) for each in (first, second) if each]
            name = "°F"
        else:
            unit = known[match["unit"]]
            name, size = unit
            if name == "gal" and max(map(_value, filter(None, (first, second)))) < 1.0:
                name, size = known["mL"].name, known["mL"].size / 1000.0
            amounts = [
                _told(_value(each) / size, _figures(each), name=name)
                for each in (first, second)
                if each
            ]
        return f"{match['by'] or ''}{(match['between'] or '').join(amounts)}{gap}{name}"

    return turned


def _value(text: str) -> float:
    return float(text.replace(",", "").replace("\u2212", "-"))


def _figures(text: str) -> int:
    """Return how many figures a number is told with: two at least."""
    return max(FIGURES, len(re.sub(r"\D", "", text).strip("0")))


def _told(value: float, figures: int, *, name: str) -> str:
    if name == "in" and abs(float(f"{value:.1g}") - value) <= AS_GOOD * abs(value):
        figures = 1
    rounded = float(f"{value:.{figures}g}")
    if rounded == int(rounded):
        return f"{rounded:,.0f}"
    return f"{rounded:,.{figures}g}"


def _fahrenheit(text: str, *, difference: bool) -> str:
    decimals = len(text.partition(".")[2])
    shifted = 0.0 if difference else FREEZING_F
    return f"{DEGREES_F_A_KELVIN * _value(text) + shifted:z.{decimals}f}"
