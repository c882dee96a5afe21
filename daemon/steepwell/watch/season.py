"""What comes once a season: warm water in the butts, and chores by light and warmth."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from steepwell.garden.daylight import daylight_hours, days_lengthen
from steepwell.watch.finding import Finding
from steepwell.watch.kinds import CHORE, WARM_WATER
from steepwell.words.saying import say

if TYPE_CHECKING:
    from collections.abc import Collection
    from datetime import date

    from steepwell.garden.garden import Garden

# Between 20 and 45 degC what lives in stored water multiplies; from memory.
WARM_C, WARM_OVER_C = 20.0, 12.0


@dataclass(frozen=True, slots=True)
class Season:
    """Where in the year a garden is.

    Attributes
    ----------
    day
        The local day.
    mean_c
        Mean temperature of the air over the last fortnight, None where it is not known [°C].
    water_c
        Mean of the last three days of the warmest water that is known of, or of the air, which it
        follows; None where neither is [°C].
    """

    day: date
    mean_c: float | None
    water_c: float | None


def warm_water(garden: Garden, season: Season, *, stands: bool) -> Finding | None:
    """Find out whether stored water has become warm; told once, for it stands until it is cold.

    Parameters
    ----------
    garden
        The garden.
    season
        Where in the year it is.
    stands
        Whether the notice stands.

    Returns
    -------
    Finding or None
        With what not to do.
    """
    limit = WARM_OVER_C if stands else WARM_C
    if not garden.butt or season.water_c is None or season.water_c < limit:
        return None
    return Finding(
        kind=WARM_WATER,
        subject="water",
        urgency="Future",
        severity="Moderate",
        certainty="Possible",
        headline=say("season.warm-water"),
        text=say(
            "season.no-spray",
            celsius=f"{season.water_c:.0f}",
            over_celsius=f"{WARM_OVER_C:.0f}",
        ),
        figures={"water_c": round(season.water_c, 1)},
    )


class _Window(NamedTuple):
    """When a chore is due: while days grow longer or shorter, by their length [h] and warmth [°C].

    Once told it stands while the days are as long as ``until`` allows.
    """

    longer: bool
    shortest_h: float
    longest_h: float
    warmest_c: float
    coldest_c: float


# By light, so that they hold in the south; by warmth where it is known, for a mild autumn sheds its
# leaves late. Days of 11, 10 and 9.5 hours at 51 degrees: mid-October, early and mid-November. From
# memory.
_WINDOWS = {
    "taps": _Window(longer=False, shortest_h=0.0, longest_h=11.0, warmest_c=9.0, coldest_c=-99.0),
    "gutters": _Window(longer=False, shortest_h=0.0, longest_h=9.5, warmest_c=9.0, coldest_c=-99.0),
    "butts": _Window(longer=True, shortest_h=10.5, longest_h=12.5, warmest_c=99.0, coldest_c=4.0),
    "gauge": _Window(longer=True, shortest_h=11.0, longest_h=13.0, warmest_c=99.0, coldest_c=4.0),
}


def chores(garden: Garden, season: Season, stand: Collection[str], *, rests: bool) -> list[Finding]:
    """Find which chores are due, by light and warmth.

    Parameters
    ----------
    garden
        The garden.
    season
        Where in the year it is.
    stand
        Chores that were told already; for these warmth counts no longer.
    rests
        Whether the garden was put to bed: then its taps are seen to.

    Returns
    -------
    list of Finding
        One a chore.
    """
    there = {
        "taps": bool(garden.butt) and not rests,
        "gutters": bool(garden.roof),
        "butts": bool(garden.butt),
        "gauge": garden.rain_sensor is not None,
    }
    return [
        _chore(name)
        for name, window in _WINDOWS.items()
        if there[name] and _is_due(garden, season, window, told=name in stand)
    ]


def _is_due(garden: Garden, season: Season, window: _Window, *, told: bool) -> bool:
    latitude = garden.garden.latitude
    if days_lengthen(latitude, season.day) != window.longer:
        return False
    if not window.shortest_h <= daylight_hours(latitude, season.day) <= window.longest_h:
        return False
    if told or season.mean_c is None:
        return True
    return window.coldest_c <= season.mean_c <= window.warmest_c


def _chore(name: str) -> Finding:
    return Finding(
        kind=CHORE,
        subject=name,
        urgency="Future",
        severity="Minor",
        certainty="Likely",
        headline=say(f"chores.{name}"),
        text=say(f"chore-jobs.{name}"),
    )
