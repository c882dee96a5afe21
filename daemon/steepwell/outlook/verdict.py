"""How past outlooks did, against what was read afterwards and against knowing nothing."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from steepwell.outlook.quantiles import QUANTILES
from steepwell.outlook.scoring import brier, crps_quantiles, skill

if TYPE_CHECKING:
    from collections.abc import Sequence

    from steepwell.garden.garden import Garden
    from steepwell.outlook.evenings import Evenings
    from steepwell.outlook.usual import Usual

LEADS_D = (7, 14, 28, 56)
WITHIN_D = (14, 28)
# A level that misses a range by less than a probe may be off is within it.
READ_TO = 0.02
# Of the evenings that tell of no dry day, so many must have been read.
LEAST_READ = 0.8
SCHEMA = 1

LEVELS = np.array(list(QUANTILES.values()))
LOW, HIGH = list(QUANTILES).index("p10"), list(QUANTILES).index("p90")

Array = NDArray[np.float64]
Json = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Said:
    """What one outlook said that can be judged.

    Attributes
    ----------
    day
        The day of issue.
    level_l
        Water in all butts then [L].
    is_dry
        Whether the garden was dry then.
    fan_l
        Quantiles of the water after each of the leads; (leads, quantiles) [L].
    p_dry_by
        Chance to run dry within each of the spans; NaN where it does not say [-].
    """

    day: date
    level_l: float
    is_dry: bool
    fan_l: Array
    p_dry_by: Array


def said_by(garden: Garden, outlook: Json) -> Said:
    """Return what an outlook said that can be judged.

    After seven days means in the evening of the seventh, the day of issue being the first.

    Parameters
    ----------
    garden
        The garden.
    outlook
        The outlook document.

    Returns
    -------
    Said
        NaN where the outlook does not reach so far.
    """
    water, days = outlook["water"], len(outlook["days"])
    fan = np.array([water["volume_l"][name] for name in QUANTILES])
    dead = {butt.name: butt.dead_volume for butt in garden.butt}
    above_l = [max(b["now_l"] - dead.get(b["name"], 0.0), 0.0) for b in outlook["butts"]]
    chances = water.get("p_dry_by", [])
    return Said(
        date.fromisoformat(outlook["days"][0]),
        sum(butt["now_l"] for butt in outlook["butts"]),
        sum(above_l) < garden.dry_line_l,
        np.array(
            [fan[:, lead - 1] if lead <= days else np.full(len(fan), np.nan) for lead in LEADS_D]
        ),
        np.array([chances[span - 1] if span <= len(chances) else np.nan for span in WITHIN_D]),
    )


def judged(garden: Garden, said: Sequence[Said], evenings: Evenings, usual: Usual | None) -> Json:
    """Return how outlooks did.

    Parameters
    ----------
    garden
        The garden.
    said
        What they said, in the order of their issue; one at least.
    evenings
        What was read afterwards.
    usual
        What is usual, or None.

    Returns
    -------
    dict
        Ready for ``json.dumps``; None where there is nothing to tell from.
    """
    return {
        "schema": SCHEMA,
        "garden": garden.name,
        "outlooks": len(said),
        "from": said[0].day.isoformat(),
        "to": said[-1].day.isoformat(),
        "stored": [_stored(garden, said, evenings, usual, index) for index in range(len(LEADS_D))],
        "dry": [_dry(garden, said, evenings, usual, index) for index in range(len(WITHIN_D))],
    }


def is_held(garden: Garden, said: Said, evenings: Evenings, index: int) -> bool | None:
    """Return whether the water came to lie in the range of eight in ten, None if not read.

    Parameters
    ----------
    garden
        The garden.
    said
        What an outlook said.
    evenings
        What was read afterwards.
    index
        Which of the leads.

    Returns
    -------
    bool or None
        True if a reading as exact as readings are lies between p10 and p90.
    """
    there_l = evenings.stored_on(said.day + timedelta(days=LEADS_D[index] - 1))
    low, high = said.fan_l[index, LOW], said.fan_l[index, HIGH]
    if np.isnan(there_l + low + high):
        return None
    spare_l = READ_TO * garden.capacity_l
    return bool(low - spare_l <= there_l <= high + spare_l)


def _stored(
    garden: Garden, said: Sequence[Said], evenings: Evenings, usual: Usual | None, index: int
) -> Json:
    lead_d = LEADS_D[index]
    ends = [each.day + timedelta(days=lead_d - 1) for each in said]
    truth_l = np.array([evenings.stored_on(day) for day in ends])
    fan_l = np.array([each.fan_l[index] for each in said])
    score_l = crps_quantiles(LEVELS, fan_l, truth_l)
    level_l = np.abs(np.array([each.level_l for each in said]) - truth_l)
    usual_l = np.full(len(said), np.nan)
    if usual is not None:
        quantiles_l = np.array([usual.quantiles_l(day, LEVELS) for day in ends])
        usual_l = crps_quantiles(LEVELS, quantiles_l, truth_l)
    held = [is_held(garden, each, evenings, index) for each in said]
    known = [each for each in held if each is not None]
    return {
        "after_d": lead_d,
        "outlooks": len(known),
        "held": sum(known),
        "crps_l": _mean(score_l),
        "over_level": _skill(score_l, level_l),
        "over_usual": _skill(score_l, usual_l),
    }


def _dry(
    garden: Garden, said: Sequence[Said], evenings: Evenings, usual: Usual | None, index: int
) -> Json:
    within_d = WITHIN_D[index]
    came = np.array([_came(garden, evenings, each.day, within_d) for each in said])
    chance = np.array([each.p_dry_by[index] for each in said])
    known = ~np.isnan(came + chance)
    answer: Json = {"within_d": within_d, "outlooks": int(known.sum())}
    if not known.any():
        return {**answer, "came": None, "brier": None}
    found = brier(chance[known], came[known] > 0.0)
    square = (chance - came) ** 2
    level = np.array([float(each.is_dry) for each in said])
    usually = np.array([usual.p_dry_by(each.day, within_d) if usual else np.nan for each in said])
    return {
        **answer,
        "came": int(came[known].sum()),
        "brier": round(found.score, 4),
        "reliability": round(found.reliability, 4),
        "resolution": round(found.resolution, 4),
        "uncertainty": round(found.uncertainty, 4),
        "over_level": _skill(square, (level - came) ** 2),
        "over_usual": _skill(square, (usually - came) ** 2),
    }


def _came(garden: Garden, evenings: Evenings, day: date, within_d: int) -> float:
    """Return 1 if a dry evening was read, 0 if there was none, NaN where that is not known.

    A span that is not over is not known, although its first dry evening may have come: those
    without one would have to wait.
    """
    above_l = evenings.above_from(day, within_d)
    if day + timedelta(days=within_d) > evenings.end:
        return float("nan")
    if (above_l < garden.dry_line_l).any():
        return 1.0
    return 0.0 if np.mean(~np.isnan(above_l)) >= LEAST_READ else float("nan")


def _mean(values: Array) -> float | None:
    known = values[~np.isnan(values)]
    return round(float(known.mean()), 2) if len(known) else None


def _skill(score: Array, of_baseline: Array) -> float | None:
    """Return the skill over all cases in which both have a score."""
    both = ~np.isnan(score + of_baseline)
    if not both.any():
        return None
    found = skill(float(score[both].mean()), float(of_baseline[both].mean()))
    return None if found is None else round(found, 3)
