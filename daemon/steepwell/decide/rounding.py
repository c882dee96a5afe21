"""Water in what a gardener carries: whole and half cans, on a few evenings, each from one butt."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from steepwell.garden.growing import Bed

# Less than this at a time only wets the surface.
LEAST_MM = 5.0
# A good soaking; more at a time runs off or drains (common practice, no source).
MOST_AT_ONCE_MM = 20.0
DAYS = 7
# Days between the evenings, for one, two and three of them a week.
GAP_D = {1: 0, 2: 3, 3: 2}
ROUNDING = 1e-9


@dataclass(frozen=True, slots=True)
class Evenings:
    """When a bed can be watered this week, and how much at a time.

    Attributes
    ----------
    first
        The first evening, counted from today [d].
    rounds
        On how many evenings of the week it can be watered [-].
    least, most
        Half cans at a time [-].
    """

    first: int
    rounds: int
    least: int
    most: int


def least_halves(area_m2: float, can_l: float) -> int:
    """Return the half cans that make 5 L/m² full.

    Parameters
    ----------
    area_m2
        Of the bed [m²].
    can_l
        What the can holds [L].

    Returns
    -------
    int
        At least one [-].
    """
    return math.ceil(2 * LEAST_MM * area_m2 / can_l - ROUNDING)


def carried_l(meant_mm: float, area_m2: float, can_l: float) -> float:
    """Return what is meant for a bed, for a tiny one half a can if it is meant to get any.

    Parameters
    ----------
    meant_mm
        What it is meant to get [mm].
    area_m2
        Of the bed [m²].
    can_l
        What the can holds [L].

    Returns
    -------
    float
        More than is meant only where half a can is more than 5 L/m² and at least half of those are
        meant [L].
    """
    meant_l = meant_mm * area_m2
    tiny = LEAST_MM * area_m2 < can_l / 2
    return max(meant_l, can_l / 2) if tiny and meant_mm >= LEAST_MM / 2 else meant_l


def evenings_for(
    area_m2: float, can_l: float, lacks_mm: Sequence[float], suffers_in_d: float
) -> Evenings | None:
    """Return when a bed can be watered so that it does not suffer and nothing drains.

    Parameters
    ----------
    area_m2
        Of the bed [m²].
    can_l
        What the can holds [L].
    lacks_mm
        What its soil lacks on each evening of the week [mm].
    suffers_in_d
        When it will suffer without water; it is watered on the evening before or later [d].

    Returns
    -------
    Evenings or None
        None if the soil has no room this week for as little as is given at a time.
    """
    half_mm = can_l / 2 / area_m2
    least = least_halves(area_m2, can_l)
    # Of half a can on a tiny bed most drains away, and yet it is watered.
    needed_mm = LEAST_MM if least == 1 else math.inf
    for day, room_mm in enumerate(lacks_mm):
        if day >= suffers_in_d - 1 and room_mm >= min(least * half_mm, needed_mm) - ROUNDING:
            most = math.floor(min(room_mm, MOST_AT_ONCE_MM) / half_mm + ROUNDING)
            rounds = max(n for n, gap in GAP_D.items() if day + (n - 1) * gap < DAYS)
            return Evenings(day, rounds, least, max(most, least))
    return None


def in_half_cans(
    meant_l: Mapping[str, float], evenings: Mapping[str, Evenings], *, can_l: float, there_l: float
) -> dict[str, int]:
    """Return what was meant in half cans: nothing, or at least 5 L/m².

    All together it is no more than was meant, to the half can, and no more than there is. A bed
    for which less was meant than 5 L/m² gets that if it was at least half of it. What is over from
    rounding down goes to those that came off worst. No bed gets more than its evenings can take.

    Parameters
    ----------
    meant_l
        What each bed is to get, who comes first when there is not enough standing first [L].
    evenings
        When each of these beds can be watered.
    can_l
        What the can holds [L].
    there_l
        Water there is [L].

    Returns
    -------
    dict
        Half cans by bed [-].
    """
    half_l = can_l / 2
    wanted = {
        name: min(litres / half_l, float(evenings[name].rounds * evenings[name].most))
        for name, litres in meant_l.items()
    }
    there = math.floor(there_l / half_l + ROUNDING)
    budget = min(math.floor(sum(wanted.values()) + 0.5), there)
    given = dict.fromkeys(meant_l, 0)
    for name, halves in wanted.items():
        least = evenings[name].least
        full = min(max(math.floor(halves + ROUNDING), least), budget)
        if 2 * halves >= least and full >= least:
            given[name] = full
            budget -= full
    for name in sorted(wanted, key=lambda name: given[name] - wanted[name]):
        if budget and 0 < given[name] < wanted[name] - ROUNDING:
            given[name] += 1
            budget -= 1
    return given


def days_of(halves: int, evenings: Evenings) -> list[int]:
    """Return the evenings on which a bed is watered, as few as its soil allows.

    Parameters
    ----------
    halves
        Half cans for the week; at least the least at a time [-].
    evenings
        When it can be watered.

    Returns
    -------
    list of int
        Counted from today; the cans are divided evenly over them [d].
    """
    rounds = math.ceil(halves / evenings.most)
    rounds = max(min(rounds, evenings.rounds, halves // evenings.least), 1)
    return [evenings.first + turn * GAP_D[rounds] for turn in range(rounds)]


def butt_for(bed: Bed, left_l: Mapping[str, float], litres: float) -> str:
    """Return the bed's own butt while it has enough, else the fullest.

    Parameters
    ----------
    bed
        The bed.
    left_l
        Water above the tap of each butt; at least one butt [L].
    litres
        What the bed gets [L].
    """
    if bed.butt is not None and left_l[bed.butt] >= litres:
        return bed.butt
    return max(left_l, key=lambda name: left_l[name])


def draw(left_l: dict[str, float], butt: str, litres: float) -> None:
    """Take water from a butt, and what it lacks from the fullest of the others."""
    for name in [butt, *sorted(left_l, key=lambda name: -left_l[name])]:
        drawn = min(left_l[name], litres)
        left_l[name] -= drawn
        litres -= drawn
