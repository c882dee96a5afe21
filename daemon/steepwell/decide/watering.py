"""Who gets water this week: by priority and need, in cans, as far as the water goes."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from steepwell.garden.tables import reference_tables

if TYPE_CHECKING:
    from collections.abc import Sequence

    from steepwell.garden.garden import Garden
    from steepwell.garden.growing import Bed
    from steepwell.outlook.state import BedNow, State

LEAST_MM = 5.0
# A good soaking of a dry bed. While water is short nobody gets more before all have had it.
SOAKING_MM = 15.0
MOST_AT_ONCE_MM = 12.0
SKIP_AFTER_MM = 10
SECOND_ROUND_D = 3
ROUNDING = 1e-9


@dataclass(frozen=True, slots=True)
class Watering:
    """One bed's water for the week.

    Attributes
    ----------
    bed
        The bed.
    cans
        Cans for the week, in halves.
    litres
        The same in litres [L].
    days
        The evenings to go round; empty where there is no water for it.
    butt
        The butt to draw from, None where there is none.
    reason
        One sentence for the gardener.
    """

    bed: str
    cans: float
    litres: float
    days: tuple[date, ...]
    butt: str | None
    reason: str


def share_water(garden: Garden, state: State, wanted_l: dict[str, float]) -> list[Watering]:
    """Share out the water in hand for a week.

    Beds come in the order of priority times response to dryness, then of dryness. Where there is
    too little for all, each gets at most a soaking of 15 L/m² before the rest of what they will
    want this week is given in the same order, until the water is gone. All is in whole or half
    cans, and never less than 5 L/m² at a time; a bed that wants less than that gets that.

    Parameters
    ----------
    garden
        The garden.
    state
        What is so now.
    wanted_l
        What each bed is going to ask for in seven days [L].

    Returns
    -------
    list of Watering
        One for each bed that wants water, in that order.
    """
    left = {
        butt.name: max(now.volume_l - butt.dead_volume, 0.0)
        for butt, now in zip(garden.butt, state.butts, strict=True)
    }
    butts_dry = sum(left.values()) < garden.dry_line_l
    beds = {bed.name: bed for bed in garden.bed}
    asking = [b for b in state.beds if b.crop is not None and wanted_l.get(b.name, 0.0) > 0]
    asking.sort(key=lambda now: _claim(beds[now.name], now), reverse=True)
    halves = _share_out(garden, [(beds[b.name], wanted_l[b.name]) for b in asking], left)
    return [
        _serve(garden, beds[now.name], now, left, halves=halves[now.name], today=state.today)
        if halves[now.name]
        else Watering(now.name, 0.0, 0.0, (), None, _without_water(now, butts_dry=butts_dry))
        for now in asking
    ]


def _share_out(
    garden: Garden, asking: Sequence[tuple[Bed, float]], left: dict[str, float]
) -> dict[str, int]:
    """Return the half cans for each bed, the first in the row first."""
    half_can_l = garden.can.size / 2
    in_hand = math.floor(sum(left.values()) / half_can_l + ROUNDING)
    given = {bed.name: 0 for bed, _ in asking}
    for most_mm in (SOAKING_MM, math.inf):
        for bed, wanted_l in asking:
            least = math.ceil(LEAST_MM * bed.area / half_can_l - ROUNDING)
            wanted = math.floor(min(wanted_l, most_mm * bed.area) / half_can_l)
            more = min(max(wanted, least) - given[bed.name], in_hand)
            if given[bed.name] + more >= least:
                given[bed.name] += more
                in_hand -= more
    return given


def _claim(bed: Bed, now: BedNow) -> tuple[float, float]:
    ky = reference_tables().crop(now.crop).ky if now.crop else 0.0
    return bed.priority * ky, now.depletion_mm / now.raw_mm


def _serve(
    garden: Garden,
    bed: Bed,
    now: BedNow,
    left: dict[str, float],
    *,
    halves: int,
    today: date,
) -> Watering:
    cans, litres = halves / 2, halves * garden.can.size / 2
    butt = _butt_for(bed, left, litres)
    _draw(left, butt, litres)
    rounds = 2 if litres > MOST_AT_ONCE_MM * bed.area and halves > 1 else 1
    first = today + timedelta(days=0 if now.depletion_mm > now.raw_mm / 2 else 2)
    days = tuple(first + timedelta(days=SECOND_ROUND_D * round_) for round_ in range(rounds))
    return Watering(bed.name, cans, litres, days, butt, _with_water(now))


def _butt_for(bed: Bed, left: dict[str, float], litres: float) -> str:
    """Return the bed's own butt while it has enough, else the fullest."""
    if bed.butt is not None and left[bed.butt] >= litres:
        return bed.butt
    return max(left, key=lambda name: left[name])


def _draw(left: dict[str, float], butt: str, litres: float) -> None:
    """Take water from a butt, and what it lacks from the fullest of the others."""
    for name in [butt, *sorted(left, key=lambda name: -left[name])]:
        drawn = min(left[name], litres)
        left[name] -= drawn
        litres -= drawn


def _with_water(now: BedNow) -> str:
    used = min(round(100 * now.depletion_mm / now.raw_mm, -1), 100)
    if now.depletion_mm > now.raw_mm:
        return "dry already"
    if now.depletion_mm > now.raw_mm / 2:
        return f"it has used about {used:.0f} % of the water it can spare"
    return "moist still, and dry within the week unless it rains"


def _without_water(now: BedNow, *, butts_dry: bool) -> str:
    dry = now.depletion_mm > now.raw_mm
    if butts_dry:
        return "dry, and so are the butts" if dry else "moist still, but the butts are dry"
    return f"{'dry' if dry else 'moist still'}, but the water goes first to beds that lose more"
