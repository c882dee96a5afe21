"""Who gets water this week by priority and need alone, in cans, as far as the water goes."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from steepwell.decide.rounding import ROUNDING, butt_for, draw, least_halves
from steepwell.garden.tables import reference_tables
from steepwell.words.figures import strung
from steepwell.words.saying import say

if TYPE_CHECKING:
    from collections.abc import Sequence

    from steepwell.garden.garden import Garden
    from steepwell.garden.growing import Bed
    from steepwell.outlook.state import BedNow, State

# A good soaking of a dry bed. While water is short nobody gets more before all have had it.
SOAKING_MM = 15.0
# What no rain reaches has its water every day, but no more than a hot day under glass draws.
MOST_A_DAY_MM = 7.0
DAYS = 7
MOST_AT_ONCE_MM = 12.0
SKIP_AFTER_MM = 10
SECOND_ROUND_D = 3


@dataclass(frozen=True, slots=True)
class Watering:
    """One bed's water for the week.

    Attributes
    ----------
    bed
        The bed.
    cans
        Cans for the week, in halves; none for what is watered by the day.
    litres
        Water for the week [L].
    days
        The evenings to go round; empty where there is no water for it, or every day is one.
    butt
        The butt to draw from, None where there is none.
    reason
        One sentence for the gardener.
    daily_l
        What is given each day, None for what is watered in rounds [L]. With it, no butt means tap
        water.
    stop
        Whether it is left dry for as long as water is short.
    enough
        Whether it gets none because its soil holds enough for the week.
    """

    bed: str
    cans: float
    litres: float
    days: tuple[date, ...]
    butt: str | None
    reason: str
    daily_l: float | None = None
    stop: bool = False
    enough: bool = False

    @property
    def from_tap(self) -> bool:
        """Whether its water comes from the tap."""
        return self.daily_l is not None and self.butt is None


def share_water(garden: Garden, state: State, wanted_l: dict[str, float]) -> list[Watering]:
    """Share out the water in hand for a week.

    Beds come in the order of priority times response to dryness, then of dryness. Pots, trays and
    greenhouse borders have a daily allowance off the top. Where there is too little for all others,
    each gets at most a soaking of 15 L/m² before any gets a second one, in the same order, until
    the water is gone. That is in whole or half cans, and never less than 5 L/m² at a time; a bed
    that wants less than that gets that.

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
    left = above_taps_l(garden, state)
    butts_dry = sum(left.values()) < garden.dry_line_l
    beds = {bed.name: bed for bed in garden.bed}
    asking = who_asks(garden, state, wanted_l)
    lines = water_by_the_day(garden, asking, left, wanted_l)
    others = [now for now in asking if now.name not in lines]
    halves = _share_out(garden, [(beds[b.name], wanted_l[b.name]) for b in others], left)
    for now in others:
        lines[now.name] = _in_rounds(
            garden, beds[now.name], now, left, halves=halves[now.name], today=state.today
        )
    return [lines[now.name] or left_out(now, butts_dry=butts_dry) for now in asking]


def who_asks(garden: Garden, state: State, wanted_l: dict[str, float]) -> list[BedNow]:
    """Return the beds whose crops want water, in the order of their claims."""
    beds = {bed.name: bed for bed in garden.bed}
    asking = [b for b in state.beds if b.crop is not None and wanted_l.get(b.name, 0.0) > 0]
    return sorted(asking, key=lambda now: _claim(beds[now.name], now), reverse=True)


def above_taps_l(garden: Garden, state: State) -> dict[str, float]:
    """Return the water above the tap of each butt [L]."""
    return {
        butt.name: max(now.volume_l - butt.dead_volume, 0.0)
        for butt, now in zip(garden.butt, state.butts, strict=True)
    }


def on_tap(garden: Garden, bed: Bed) -> bool:
    """Return whether a bed has tap water: trays do, where the tap may be used."""
    return bed.kind == "tray" and garden.tap.available == "yes"


def water_by_the_day(
    garden: Garden, asking: Sequence[BedNow], left: dict[str, float], wanted_l: dict[str, float]
) -> dict[str, Watering | None]:
    """Give the beds that no rain reaches their daily water, off the top.

    Trays have it from the tap where there is one: old butt water makes seedlings rot off.

    Parameters
    ----------
    garden
        The garden.
    asking
        The beds that want water, in the order in which they get it.
    left
        Water above the tap of each butt; what is given is taken out of it [L].
    wanted_l
        What each bed is going to ask for in seven days [L].

    Returns
    -------
    dict
        By bed; None where there is no water for it. Beds that rain reaches are not in it.
    """
    beds = {bed.name: bed for bed in garden.bed}
    return {
        now.name: _by_the_day(garden, beds[now.name], now, left, wanted_l[now.name])
        for now in asking
        if not beds[now.name].rained_on
    }


def _by_the_day(
    garden: Garden, bed: Bed, now: BedNow, left: dict[str, float], wanted_l: float
) -> Watering | None:
    """Return the daily water of a bed that no rain reaches, in half litres."""
    wanted_halves = math.ceil(2 * min(wanted_l / DAYS, MOST_A_DAY_MM * bed.area) - ROUNDING)
    reason = strung([say("watering.no-rain"), _with_water(now, bed)])
    if bed.kind == "tray":
        reason = strung([reason, say("watering.seedlings")])
        if on_tap(garden, bed):
            daily_l = wanted_halves / 2
            return Watering(bed.name, 0.0, DAYS * daily_l, (), None, reason, daily_l)
    daily_l = min(wanted_halves, math.floor(2 * sum(left.values()) / DAYS)) / 2
    if daily_l <= 0:
        return None
    litres = DAYS * daily_l
    butt = butt_for(bed, left, litres)
    draw(left, butt, litres)
    return Watering(bed.name, 0.0, litres, (), butt, reason, daily_l)


def _share_out(
    garden: Garden, asking: Sequence[tuple[Bed, float]], left: dict[str, float]
) -> dict[str, int]:
    """Return the half cans for each bed, the first in the row first."""
    half_can_l = garden.can.size / 2
    in_hand = math.floor(sum(left.values()) / half_can_l + ROUNDING)
    given = {bed.name: 0 for bed, _ in asking}
    most_mm = max((wanted_l / bed.area for bed, wanted_l in asking), default=0.0)
    for soaking in range(1, math.floor(most_mm / SOAKING_MM) + 2):
        for bed, wanted_l in asking:
            least = least_halves(bed.area, garden.can.size)
            wanted = math.floor(min(wanted_l, soaking * SOAKING_MM * bed.area) / half_can_l)
            more = min(max(wanted, least) - given[bed.name], in_hand)
            if given[bed.name] + more >= least:
                given[bed.name] += more
                in_hand -= more
    return given


def _claim(bed: Bed, now: BedNow) -> tuple[float, float]:
    ky = reference_tables().crop(now.crop).ky if now.crop else 0.0
    return bed.priority * ky, now.depletion_mm / now.raw_mm


def _in_rounds(
    garden: Garden,
    bed: Bed,
    now: BedNow,
    left: dict[str, float],
    *,
    halves: int,
    today: date,
) -> Watering | None:
    if not halves:
        return None
    cans, litres = halves / 2, halves * garden.can.size / 2
    butt = butt_for(bed, left, litres)
    draw(left, butt, litres)
    rounds = 2 if litres > MOST_AT_ONCE_MM * bed.area and halves > 1 else 1
    first = today + timedelta(days=0 if now.depletion_mm > now.raw_mm / 2 else 2)
    days = tuple(first + timedelta(days=SECOND_ROUND_D * round_) for round_ in range(rounds))
    return Watering(bed.name, cans, litres, days, butt, _with_water(now, bed))


def _with_water(now: BedNow, bed: Bed) -> str:
    used = min(round(100 * now.depletion_mm / now.raw_mm, -1), 100)
    if now.depletion_mm > now.raw_mm:
        return say("watering.dry-already")
    if now.depletion_mm > now.raw_mm / 2:
        return say("watering.has-used", percent=f"{used:.0f}")
    if not bed.rained_on:
        return say("watering.moist")
    return say("watering.moist-and-dry-soon")


def left_out(now: BedNow, *, butts_dry: bool) -> Watering:
    """Return the line of a bed for which there is no water."""
    dry = now.depletion_mm > now.raw_mm
    if butts_dry:
        reason = say("watering.both-dry" if dry else "watering.moist-butts-dry")
    else:
        reason = say("watering.others-first", dry=say("watering.dry" if dry else "watering.moist"))
    return Watering(now.name, 0.0, 0.0, (), None, reason)
