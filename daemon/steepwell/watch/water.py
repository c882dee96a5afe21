"""Rules about the water ahead: a shortfall to come, butts running dry."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

from steepwell.watch.finding import Finding
from steepwell.words.figures import day, two_figures
from steepwell.words.saying import say

if TYPE_CHECKING:
    from steepwell.garden.garden import Garden
    from steepwell.outlook.state import State

SHORTFALL = "shortfall-ahead"
RUNNING_DRY = "running-dry"

# Settled on the odd years of both records but for 1981, in three gardens that are watered to the
# need, and so that Brussels 1976 is told ten days ahead: of single windows of 7 to 42 days, and of
# pairs, this cries wolf least often of those that tell 85 % of the dry-outs a week ahead. What is
# right in 60 % of cases (a sixth within a week) tells two of three; the rule before (a fifth within
# six weeks and a tenth within two) told nearly all, and was right in 33 %.
# `./tests/hindcast/run warnings` prints all years of both records.
NEAR_D = 10
RAISED_AT = 0.15
AHEAD_D = 42
CLEARED_BELOW = 0.1
LIKELY_ABOVE = 0.5

SOON_D = 3
SOON_RAISED_AT = 0.5
SOON_CLEARED_BELOW = 0.25
DRY_CLEARED_AT_LINES = 3.0

Json = dict[str, Any]


def falls_short(chance: float, near: float, *, stands: bool) -> bool:
    """Return whether a shortfall is to be told, or still holds.

    Parameters
    ----------
    chance, near
        Share of the members that run dry within ``AHEAD_D`` days, and within ``NEAR_D`` [-].
    stands
        Whether the notice stands; then it holds until the chance within ``AHEAD_D`` days is low.

    Returns
    -------
    bool
        Whether it stands now.
    """
    if stands:
        return chance >= CLEARED_BELOW
    return near >= RAISED_AT


def shortfall_ahead(
    outlook: Json,
    above_tap_l: float,
    *,
    stands: bool,
    runs_dry: bool = False,
) -> Finding | None:
    """Find out whether the butts may run dry soon, or still may within six weeks.

    Parameters
    ----------
    outlook
        The outlook document.
    above_tap_l
        Water above the taps now [L].
    stands
        Whether the notice stands.
    runs_dry
        Whether the butts run dry already: the notice stands, but a date that moves is no news.

    Returns
    -------
    Finding or None
        With the date by which it would be.
    """
    water = outlook["water"]
    chance, near = (water["p_dry_by"][days] for days in (AHEAD_D, NEAR_D))
    if not falls_short(chance, near, stands=stands):
        return None
    by = water["dry_by"]
    on = date.fromisoformat(by["p10"] or outlook["days"][AHEAD_D])
    return Finding(
        kind=SHORTFALL,
        subject="water",
        urgency="Future",
        severity="Moderate",
        certainty="Likely" if chance > LIKELY_ABOVE else "Possible",
        headline=say("water.may-run-out", day=day(on)),
        text=say(
            "water.make-it-last",
            litres=two_figures(above_tap_l),
            day=day(on),
            chance=f"{chance:.0%}",
            over=f"{CLEARED_BELOW:.0%}",
        ),
        figures={"p_dry": chance, "within_d": AHEAD_D, "dry_by": by},
        on=None if runs_dry else on,
    )


def running_dry(
    garden: Garden, above_tap_l: float, outlook: Json | None, *, stands: bool
) -> Finding | None:
    """Find out whether the butts are dry, or will be within three days.

    Parameters
    ----------
    garden
        The garden.
    above_tap_l
        Water above the taps now [L].
    outlook
        The outlook document, None if there is none.
    stands
        Whether the notice stands.

    Returns
    -------
    Finding or None
        Urgent: it is so, or about to be.
    """
    if not garden.butt:
        return None
    soon = max(outlook["water"]["p_dry"][:SOON_D]) if outlook else 0.0
    line = garden.dry_line_l * (DRY_CLEARED_AT_LINES if stands else 1.0)
    dry = above_tap_l < line
    if not dry and soon < (SOON_CLEARED_BELOW if stands else SOON_RAISED_AT):
        return None
    over_l = garden.dry_line_l * DRY_CLEARED_AT_LINES
    return Finding(
        kind=RUNNING_DRY,
        subject="water",
        urgency="Immediate" if dry else "Expected",
        severity="Severe",
        certainty="Observed" if dry else "Likely",
        headline=say("water.dry" if above_tap_l < garden.dry_line_l else "water.runs-dry"),
        text=" ".join(
            (_left(garden, above_tap_l, over_l), *_instead(garden), _over(above_tap_l, over_l))
        ),
        figures={"above_tap_l": round(above_tap_l, 1), "p_dry_soon": soon},
    )


def _left(garden: Garden, above_tap_l: float, over_l: float) -> str:
    if above_tap_l < garden.can.size / 2:
        return say("water.less-than-half-a-can")
    return say(
        "water.soon-gone" if above_tap_l >= over_l else "water.nearly-gone",
        litres=two_figures(above_tap_l),
    )


def _instead(garden: Garden) -> tuple[str, ...]:
    if garden.tap.available == "no":
        return ()
    return (say("water.tap-instead"),)


def _over(above_tap_l: float, over_l: float) -> str:
    if above_tap_l >= over_l:
        return say("water.over-when-they-last")
    return say("water.over-with-litres", litres=two_figures(over_l))


def above_tap_l(garden: Garden, state: State) -> float:
    """Return the water above the taps of all butts [L]."""
    return sum(
        max(now.volume_l - butt.dead_volume, 0.0)
        for butt, now in zip(garden.butt, state.butts, strict=True)
    )
