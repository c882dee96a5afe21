"""Who gets water this week while it is short: by what each bed would lose in the weeks ahead."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from steepwell.decide.ration_lines import SPARE_BELOW, lines_in_rounds
from steepwell.decide.ration_scenarios import WEEK_D, WEEKS, Scenarios, scenarios_of
from steepwell.decide.rounding import ROUNDING
from steepwell.decide.watering import (
    Watering,
    above_taps_l,
    left_out,
    share_water,
    water_by_the_day,
    who_asks,
)
from steepwell.words.figures import strung
from steepwell.words.saying import say

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from steepwell.garden.garden import Garden
    from steepwell.outlook.outlook import Outlook
    from steepwell.outlook.state import State
    from steepwell.store.entries import Entry

# Water is short if more of the futures than this want some that is not there.
SHORT_FROM = 0.05
WORTH_CARRYING_L = 0.1
# Long enough for twenty beds on a small board.
TIME_LIMIT_S = 10.0
LASTS_TO = {"p10": 0.1, "p50": 0.5, "p90": 0.9}

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Ration:
    """The share-out of a week.

    Attributes
    ----------
    lines
        One for each bed that wants water; while water is short, for each bed with a crop.
    lasts_to
        When the butts run dry if water is shared out like this; None where nothing is rationed.
    spare
        Whether what is left over is not needed by a bed later.
    """

    lines: list[Watering]
    lasts_to: dict[str, str | None] | None = None
    spare: bool = True


def ration(
    garden: Garden,
    state: State,
    outlook: Outlook | None,
    entries: Sequence[Entry],
    wanted_l: dict[str, float],
    *,
    time_limit_s: float = TIME_LIMIT_S,
) -> Ration:
    """Share out the water of a week, against all the weeks ahead if it is short.

    Where hardly any future runs short, each bed gets what it wants. Else the water goes where the
    garden loses least, now and later; see ``programme_of``. Pots, trays and greenhouse borders have
    their daily water off the top.

    Parameters
    ----------
    garden
        The garden.
    state
        What is so now.
    outlook
        The weeks ahead; without it water is shared by priority and need alone.
    entries
        The journal, for what was planted and cleared.
    wanted_l
        What each bed is going to ask for in seven days [L].
    time_limit_s
        How long the weighing may take; then water is shared by priority alone [s].

    Returns
    -------
    Ration
        The beds with most to lose first.
    """
    if outlook is None or not _is_short(outlook) or not any(bed.rained_on for bed in garden.bed):
        return Ration(share_water(garden, state, wanted_l))
    # A letter, or a garden with plenty, needs no SciPy.
    from steepwell.decide.ration_programme import programme_of, solve, stored_after  # noqa: PLC0415

    left_l = above_taps_l(garden, state)
    asking = who_asks(garden, state, wanted_l)
    top = water_by_the_day(garden, asking, left_l, wanted_l)
    scenarios = scenarios_of(
        garden,
        state,
        outlook.weather,
        outlook.asked,
        entries,
        off_top_l=sum(line.litres for line in top.values() if line and not line.from_tap),
    )
    solution = solve(programme_of(scenarios), time_limit_s)
    if solution is None:
        lines = share_water(garden, state, wanted_l)
        why = say("ration.by-priority")
        told = [replace(line, reason=strung([line.reason, why])) for line in lines]
        return Ration(told, spare=False)
    covered = _covered(garden, state, top)
    in_rounds = lines_in_rounds(
        garden,
        state,
        entries,
        scenarios=scenarios,
        solution=solution,
        left_l=left_l,
    )
    return Ration(
        covered + in_rounds,
        _lasts_to(garden, state.today, scenarios, stored_after(scenarios, solution.taken_l)),
        solution.worth < SPARE_BELOW,
    )


def _covered(garden: Garden, state: State, top: dict[str, Watering | None]) -> list[Watering]:
    """Return the lines of beds that no rain reaches, in the order in which they get water."""
    now = {bed.name: bed for bed in state.beds}
    lines = [line or left_out(now[name], butts_dry=True) for name, line in top.items()]
    asks_nothing = [
        bed.name
        for bed in garden.bed
        if not bed.rained_on and bed.name not in top and now[bed.name].crop is not None
    ]
    holds_out = say("ration.holds-out-week")
    return lines + [
        Watering(name, 0.0, 0.0, (), None, holds_out, enough=True) for name in asks_nothing
    ]


def _is_short(outlook: Outlook) -> bool:
    """Return whether some futures want water that is not there, within what a ration looks at."""
    futures = outlook.futures
    missing_l = futures.wanted_l[: WEEKS * WEEK_D] - futures.given_l[: WEEKS * WEEK_D]
    enough_days = len(outlook.weather.rain_mm) >= WEEK_D
    runs_short = (missing_l > WORTH_CARRYING_L).any(axis=0)
    return enough_days and float(runs_short.mean()) > SHORT_FROM


def _lasts_to(
    garden: Garden, today: date, scenarios: Scenarios, stored_l: Array
) -> dict[str, str | None]:
    """Return the days by which shares of the futures have run dry; falls are even in a week."""
    before_l = np.column_stack([np.full(len(stored_l), scenarios.in_hand_l), stored_l[:, :-1]])
    dry = stored_l < garden.dry_line_l
    week = dry.argmax(axis=1)
    at = np.arange(len(stored_l)), week
    fallen_l = np.maximum(before_l[at] - stored_l[at], ROUNDING)
    share = np.clip((before_l[at] - garden.dry_line_l) / fallen_l, 0.0, 1.0)
    day = np.where(dry.any(axis=1), np.floor(WEEK_D * (week + share)), np.inf)
    by = {name: float(np.quantile(day, q, method="inverted_cdf")) for name, q in LASTS_TO.items()}
    return {
        name: None if np.isinf(when) else (today + timedelta(days=when)).isoformat()
        for name, when in by.items()
    }
