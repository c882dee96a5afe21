"""Invents weather: a record of many years of a mild lowland climate, and one dry summer."""

from __future__ import annotations

import math
import random
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from steepwell_sim.weather.record import Day, write_record

if TYPE_CHECKING:
    from pathlib import Path

RECORD_YEARS = 30
DRY_SUMMER_EVERY = 6

_WET_AFTER_DRY = (0.40, 0.36, 0.34, 0.30, 0.29, 0.28, 0.28, 0.28, 0.29, 0.35, 0.40, 0.41)
_WET_AFTER_WET = (0.70, 0.67, 0.65, 0.60, 0.58, 0.57, 0.57, 0.58, 0.60, 0.65, 0.69, 0.70)
_MEAN_RAIN_OF_WET_DAY_MM = (4.2, 3.8, 3.9, 3.8, 4.6, 5.2, 5.6, 5.6, 5.1, 5.1, 4.8, 4.6)
_RAIN_SHAPE = 0.75
_YEAR_MEAN_C, _YEAR_SWING_C, _COLDEST_DAY = 10.4, 7.3, 20
_DAILY_RANGE_C, _RANGE_SWING_C, _SHORTEST_DAY = 7.8, 2.6, 355
_MEMORY, _SCATTER_C = 0.75, 2.1
_WET_DAY_COOLER_C, _WET_DAY_RANGE = 0.9, 0.75


@dataclass(frozen=True, slots=True)
class _Spell:
    """How a stretch of the year differs from the climate."""

    wet_share: float = 1.0
    rain_share: float = 1.0
    warmer_c: float = 0.0


_USUAL = _Spell()
_DRY = _Spell(wet_share=0.3, rain_share=0.6, warmer_c=2.2)
_DRY_FROM, _DRY_TO = (5, 10), (9, 5)


def invent_years(first: int, last: int, seed: int, *, dry_summer: bool = False) -> dict[date, Day]:
    """Invent the weather of whole years.

    Rain is a Markov chain of wet and dry days with gamma amounts, temperature a season and a
    remainder that remembers the day before; wet days are cooler and their range is smaller.

    Parameters
    ----------
    first, last
        Calendar years, both included.
    seed
        Equal seeds give equal weather.
    dry_summer
        Whether it hardly rains from the second week of May to early September.

    Returns
    -------
    dict
        Days in order, with values to a tenth.

    References
    ----------
    The scheme is Richardson (1981), Water Resources Research 17, 182-190; the figures are those of
    no place (common knowledge of the climate of north-west Europe, no source).
    """
    rng = random.Random(f"{seed} weather {first}")  # noqa: S311 - a simulation, not a secret
    days: dict[date, Day] = {}
    wet, remainder_c = False, 0.0
    when = date(first, 1, 1)
    while when.year <= last:
        dry = dry_summer and _DRY_FROM <= (when.month, when.day) <= _DRY_TO
        spell = _DRY if dry else _USUAL
        chances = _WET_AFTER_WET if wet else _WET_AFTER_DRY
        wet = rng.random() < chances[when.month - 1] * spell.wet_share
        remainder_c = _MEMORY * remainder_c + rng.gauss(0.0, _SCATTER_C)
        days[when] = _invent_day(when, rng, spell, wet=wet, remainder_c=remainder_c)
        when += timedelta(days=1)
    return days


def _invent_day(
    when: date, rng: random.Random, spell: _Spell, *, wet: bool, remainder_c: float
) -> Day:
    number = when.timetuple().tm_yday
    season_c = _YEAR_MEAN_C - _YEAR_SWING_C * math.cos(
        2 * math.pi * (number - _COLDEST_DAY) / 365.25
    )
    range_c = _DAILY_RANGE_C - _RANGE_SWING_C * math.cos(
        2 * math.pi * (number - _SHORTEST_DAY) / 365.25
    )
    range_c *= rng.uniform(0.7, 1.3) * (_WET_DAY_RANGE if wet else 1.0)
    mean_c = season_c + remainder_c + spell.warmer_c - (_WET_DAY_COOLER_C if wet else 0.0)
    mean_rain_mm = _MEAN_RAIN_OF_WET_DAY_MM[when.month - 1] * spell.rain_share
    rain_mm = rng.gammavariate(_RAIN_SHAPE, mean_rain_mm / _RAIN_SHAPE) if wet else 0.0
    return Day(
        rain_mm=round(rain_mm, 1),
        tmin_c=round(mean_c - range_c / 2, 1),
        tmax_c=round(mean_c + range_c / 2, 1),
    )


def write_invented(folder: Path, *, summer: int, seed: int) -> tuple[Path, Path]:
    """Write an invented record of thirty years and, apart, the dry year that follows it.

    Every sixth summer of the record is as dry, so that the record tells of such summers.

    Parameters
    ----------
    folder
        Where the files go; made if it is not there.
    summer
        The year of the dry summer.
    seed
        Equal seeds give equal files.

    Returns
    -------
    tuple of Path
        The record and the year with the dry summer.
    """
    folder.mkdir(parents=True, exist_ok=True)
    record, year = folder / "record.csv", folder / "weather.csv"
    before: dict[date, Day] = {}
    for past in range(summer - RECORD_YEARS, summer):
        dry = (summer - past) % DRY_SUMMER_EVERY == 0
        before |= invent_years(past, past, seed, dry_summer=dry)
    write_record(record, before)
    write_record(year, invent_years(summer, summer, seed, dry_summer=True))
    return record, year
