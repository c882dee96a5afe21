"""The rule about level probes: one creeps away from its neighbours, or from the stick."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from steepwell.clock import to_ms
from steepwell.store.entries import LevelRead
from steepwell.store.readings import HOUR_MS
from steepwell.watch.finding import Finding
from steepwell.watch.gauges import may_be_ice
from steepwell.watch.kinds import DRIFT
from steepwell.watch.leaks import by_night_of, quiet_stretches, steady_fall
from steepwell.words.figures import two_figures
from steepwell.words.saying import say

if TYPE_CHECKING:
    from collections.abc import Container, Iterator, Sequence
    from datetime import datetime

    from steepwell.garden.water import Butt
    from steepwell.watch.evidence import Evidence
    from steepwell.watch.leaks import Stretch

# How far back a level is looked at that rises without rain, and the quiet hours needed, in all and
# by night: of a week at least, lest what rained in unseen be taken for it.
OVER_D, LEAST_QUIET_H, LEAST_NIGHT_H = 10, 96, 32
# It rises in a day: at least, by the middle and by the cautious end of the range, as shares of
# capacity; and below which a probe that was told is over.
LEAST_A_DAY, SURELY_A_DAY, OVER_A_DAY = 0.005, 0.0025, 0.0025
# By night it rises by at least this part of what it rises by day and night; else the sun does it.
BY_NIGHT = 0.5
# A butt that falls by so much of what another rises may run into it.
FEEDS = 0.5
# Sticks: of so many weeks, the first and the last so far apart; and how far the probe has moved
# against them meanwhile, as a share of capacity, at least, and below which it is over.
STICKS_D, APART_D, MOVED, MOVED_NO_MORE = 42, 7, 0.08, 0.04
STICK_WITHIN_MS = 3 * HOUR_MS


def levels_that_creep(evidence: Evidence) -> list[Finding]:
    """Find level probes that move while the water does not.

    Upwards it shows where nothing rains in, while the other butts hold. Downwards it looks like a
    leak and is told as one, but for the stick, which parts from the probe in either case.

    Parameters
    ----------
    evidence
        Levels, rain, and levels read by hand.

    Returns
    -------
    list of Finding
        One a probe.
    """
    stand = evidence.standing_of(DRIFT)
    now_ms = to_ms(evidence.now)
    rising = {}
    if not may_be_ice(evidence, now_ms - OVER_D * 24 * HOUR_MS, now_ms):
        rising = _rising_l_d(evidence, stand)
    found = []
    for probe, butt in evidence.probed.items():
        moved_l = _moved_l(evidence, probe, butt)
        least_l = (MOVED_NO_MORE if probe in stand else MOVED) * butt.capacity_l
        if moved_l is not None and abs(moved_l) >= least_l:
            found.append(_by_stick(probe, butt, moved_l))
        elif butt.name in rising:
            alone = len(evidence.probed) == 1
            found.append(_without_rain(probe, butt, rising[butt.name], alone=alone))
    return found


def _rising_l_d(evidence: Evidence, stand: Container[str]) -> dict[str, float]:
    """Return how fast levels rise without rain, of butts whose neighbours hold [L/d]."""
    rises = {}
    for name, quiet in quiet_stretches(evidence, OVER_D).items():
        nights = [night for each in quiet for night in by_night_of(evidence, each)]
        if _hours(quiet) < LEAST_QUIET_H or _hours(nights) < LEAST_NIGHT_H:
            continue
        fall, by_night = steady_fall(quiet), steady_fall(nights)
        surely = -fall.most_l_d if by_night.l_d <= BY_NIGHT * fall.l_d else 0.0
        rises[name] = (-fall.l_d, surely)
    told = {}
    for probe, butt in evidence.probed.items():
        middle, surely = rises.get(butt.name, (0.0, 0.0))
        least, sure = (OVER_A_DAY, 0.0) if probe in stand else (LEAST_A_DAY, SURELY_A_DAY)
        others = [rise for other, (rise, _) in rises.items() if other != butt.name]
        alone = all(-FEEDS * middle < rise < FEEDS * middle for rise in others)
        capacity_l = butt.capacity_l
        if middle >= least * capacity_l and surely >= sure * capacity_l and alone:
            told[butt.name] = middle
    return told


def _hours(stretches: Sequence[Stretch]) -> int:
    return sum(len(each.hours) for each in stretches)


def _moved_l(evidence: Evidence, probe: str, butt: Butt) -> float | None:
    """Return how far a probe has moved against the stick of late, None without two sticks [L]."""
    parted = list(_against_sticks(evidence, probe, butt.name))
    if len(parted) < 2 or parted[-1][0] - parted[0][0] < timedelta(days=APART_D):  # noqa: PLR2004 - a first and a last
        return None
    return parted[-1][1] - parted[0][1]


def _against_sticks(evidence: Evidence, probe: str, butt: str) -> Iterator[tuple[datetime, float]]:
    """Yield when a level was measured by hand, and by how much more the probe read then [L]."""
    since = evidence.now - timedelta(days=STICKS_D)
    sticks = [
        entry
        for entry in evidence.entries
        if isinstance(entry, LevelRead)
        and entry.butt == butt
        and not entry.rough
        and since <= entry.at <= evidence.now
    ]
    sticks.sort(key=lambda entry: entry.at)
    asked = [(probe, entry.at) for entry in sticks]
    for entry, read in zip(sticks, evidence.store.readings.last_good_of_each(asked), strict=True):
        if read is not None and to_ms(entry.at) - read.time_ms <= STICK_WITHIN_MS:
            yield entry.at, read.value - entry.litres


def _without_rain(probe: str, butt: Butt, rise_l_d: float, *, alone: bool) -> Finding:
    return _finding(
        probe,
        say(
            "creeping.rises-alone" if alone else "creeping.rises",
            butt=butt.name,
            litres=two_figures(rise_l_d),
        ),
        {"rise_l_d": round(rise_l_d, 2), "over_d": OVER_D},
    )


def _by_stick(probe: str, butt: Butt, moved_l: float) -> Finding:
    litres = two_figures(abs(moved_l))
    return _finding(
        probe,
        say(f"creeping.reads-{'more' if moved_l > 0.0 else 'less'}", butt=butt.name, litres=litres),
        {"moved_l": round(moved_l, 1), "butt": butt.name},
    )


def _finding(probe: str, text: str, figures: dict[str, object]) -> Finding:
    return Finding(
        kind=DRIFT,
        subject=probe,
        urgency="Future",
        severity="Minor",
        certainty="Possible",
        headline=say("creeping.creeps", probe=probe),
        text=text,
        figures=figures,
    )
