"""The rule about downpipes: rain after rain does not raise the butt as it should."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from steepwell.outlook.levels import READING_SD_SHARE
from steepwell.store.readings import HOUR_MS
from steepwell.watch.finding import Finding
from steepwell.watch.kinds import DOWNPIPE, GAUGE_TOO_HIGH
from steepwell.words.figures import two_figures
from steepwell.words.saying import say

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from steepwell.outlook.rains import Rain
    from steepwell.watch.evidence import Evidence

# Of what should come a blocked pipe still brings this part, more or less.
BLOCKED_BRINGS, BLOCKED_SD = 0.10, 0.10
# How far what comes may be off what should: the rain beside the gauge, wind, the roof.
RAIN_SD = 0.20
# What is drawn or lost without being noted while it rains, as a share of what the butt holds.
UNNOTED_SHARE = 0.01
# What should have come at least for a rain to say anything, as a share of what the butt holds.
LEAST_SHARE = 0.03
# The evidence of one rain counts so much at most, so that one alone is never enough; what speaks
# for a sound pipe counts more, so that a rain that comes through ends it (natural logarithms of
# likelihood ratios).
MOST_FOR, MOST_AGAINST = 3.5, -7.0
RAISED_AT, CLEARED_BELOW, HIGHEST = 6.0, 2.0, 8.0
HEARD_WITHIN_MS = 3 * HOUR_MS

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Tried:
    """What one rain says of one roof.

    Attributes
    ----------
    should_l, did_l
        By how much it should have raised the butt, and did [L].
    favours
        Logarithm of the likelihood of a blocked pipe against a sound one.
    """

    should_l: float
    did_l: float
    favours: float


def weighed(tries: Sequence[Tried]) -> tuple[float, list[Tried]]:
    """Add up the evidence of rains, from when it last spoke for a sound pipe.

    Parameters
    ----------
    tries
        In the order of time.

    Returns
    -------
    float
        The evidence now, from 0 up.
    list of Tried
        The rains it comes from.

    References
    ----------
    Page (1954), cumulative sums.
    """
    sum_, since = 0.0, list[Tried]()
    for tried in tries:
        sum_ = min(max(sum_ + max(min(tried.favours, MOST_FOR), MOST_AGAINST), 0.0), HIGHEST)
        since = [*since, tried] if sum_ > 0.0 else []
    return sum_, since


def downpipes(evidence: Evidence) -> list[Finding]:
    """Find downpipes or filters that let nothing through.

    Parameters
    ----------
    evidence
        Rains, and the levels before and after them.

    Returns
    -------
    list of Finding
        One a roof; where no roof of several brings what the gauge counts, the gauge is doubted
        instead.
    """
    tries = _tried(evidence)
    stand = evidence.standing_of(DOWNPIPE)
    gauge_stands = bool(evidence.standing_of(GAUGE_TOO_HIGH))
    blocked: dict[str, list[Tried]] = {}
    for roof, tried in tries.items():
        stands = roof in stand or gauge_stands
        sum_, since = weighed(tried)
        if sum_ >= (CLEARED_BELOW if stands else RAISED_AT):
            blocked[roof] = since
    if len(blocked) > 1 and len(blocked) == sum(bool(tried) for tried in tries.values()):
        return [_gauge_too_high(blocked)]
    into = {roof.name: roof.into for roof in evidence.garden.roof}
    return [_blocked(roof, into[roof], since) for roof, since in blocked.items()]


def _tried(evidence: Evidence) -> dict[str, list[Tried]]:
    """Return what each rain says of each roof whose butt has a probe."""
    fallen = evidence.rains
    tries: dict[str, list[Tried]] = {roof.name: [] for roof in evidence.garden.roof}
    if not fallen:
        return tries
    before = evidence.levels_at([rain.before_ms for rain in fallen], HEARD_WITHIN_MS)
    after = evidence.levels_at([rain.after_ms for rain in fallen], HEARD_WITHIN_MS // 3)
    for index, rain in enumerate(fallen):
        heard = _heard(
            evidence,
            {butt: float(levels[index]) for butt, levels in before.items()},
            {butt: float(levels[index]) for butt, levels in after.items()},
        )
        if heard is not None:
            for roof, tried in _of_rain(evidence, rain, *heard):
                tries[roof].append(tried)
    return tries


def _heard(
    evidence: Evidence, before: dict[str, float], after: dict[str, float]
) -> tuple[Array, Array] | None:
    """Return levels in the order of the chain; None where one that others need was not heard.

    The last butts of a chain may be without a probe: nothing depends on them.
    """
    names = [evidence.garden.butt[at].name for at in evidence.chain.order]
    levels = [np.array([read.get(name, math.nan) for name in names]) for read in (before, after)]
    spills = [target >= 0 for target in evidence.chain.overflow_to]
    unheard = np.isnan(levels[0])
    if np.any(unheard & spills) or np.all(unheard | np.isnan(levels[1])):
        return None
    return levels[0], levels[1]


def _of_rain(
    evidence: Evidence, rain: Rain, before: Array, after: Array
) -> Iterator[tuple[str, Tried]]:
    garden, chain = evidence.garden, evidence.chain
    capacity = np.array(chain.capacity_l)
    brings = np.array(
        [
            declared * now.runoff / roof.runoff if roof.runoff else 0.0
            for declared, now, roof in zip(
                rain.declared_l, evidence.roofs, garden.roof, strict=True
            )
        ]
    )
    into = np.array([gutter.into for gutter in chain.gutters])
    drawn = _drawn(evidence, rain)
    start = np.nan_to_num(before, nan=0.5) - drawn
    noise_l2 = (
        2.0 * (READING_SD_SHARE * capacity) ** 2
        + (UNNOTED_SHARE * capacity) ** 2
        + (0.3 * drawn) ** 2
    )

    def expected(shares: Array) -> Array:
        inflow = np.zeros(len(capacity))
        np.add.at(inflow, into, brings * shares)
        poured, _ = chain.pour(start, inflow)
        return poured

    sound = expected(np.ones(len(brings)))
    for index, roof in enumerate(garden.roof):
        only = np.ones(len(brings))
        only[index] = BLOCKED_BRINGS
        blocked = expected(only)
        should = sound - blocked
        tells = (should >= LEAST_SHARE * capacity) & ~np.isnan(after)
        if not tells.any():
            continue
        at = int(np.argmax(np.where(tells, should, -np.inf)))
        risen = sound[at] - start[at]
        sound_l2 = noise_l2[at] + (RAIN_SD * risen) ** 2
        still_l = max(blocked[at] - start[at], 0.0)
        blocked_l2 = noise_l2[at] + (RAIN_SD * still_l) ** 2 + (BLOCKED_SD * risen) ** 2
        favours = _log_likelihood(after[at] - blocked[at], blocked_l2) - _log_likelihood(
            after[at] - sound[at], sound_l2
        )
        yield roof.name, Tried(float(risen), float(after[at] - start[at]), favours)


def _log_likelihood(off_l: float, variance_l2: float) -> float:
    return float(-0.5 * off_l**2 / variance_l2 - 0.5 * math.log(variance_l2))


def _drawn(evidence: Evidence, rain: Rain) -> Array:
    """Return what was noted as drawn from each butt of the chain while it rained [L]."""
    names = [evidence.garden.butt[at].name for at in evidence.chain.order]
    drawn = np.zeros(len(names))
    for draw in evidence.drawn:
        if rain.before_ms < draw.at_ms <= rain.after_ms:
            if draw.butt is None:
                drawn += draw.litres / len(names)
            else:
                drawn[names.index(draw.butt)] += draw.litres
    return drawn


def _blocked(roof: str, butt: str, since: Sequence[Tried]) -> Finding:
    should, did = sum(t.should_l for t in since), sum(t.did_l for t in since)
    return Finding(
        kind=DOWNPIPE,
        subject=roof,
        urgency="Expected",
        severity="Moderate",
        certainty="Likely",
        headline=say("downpipes.blocked", roof=roof),
        text=say(
            "downpipes.look",
            rains=len(since),
            butt=butt,
            should=two_figures(should),
            did=two_figures(max(did, 0.0)),
        ),
        figures={
            "butt": butt,
            "rains": len(since),
            "should_l": round(should, 1),
            "did_l": round(did, 1),
        },
    )


def _gauge_too_high(blocked: dict[str, list[Tried]]) -> Finding:
    rains = max(len(since) for since in blocked.values())
    return Finding(
        kind=GAUGE_TOO_HIGH,
        subject="gauge",
        urgency="Expected",
        severity="Minor",
        certainty="Possible",
        headline=say("downpipes.gauge-too-high"),
        text=say("downpipes.look-at-gauge", rains=rains),
        figures={
            "rains": rains,
            "should_l": round(sum(t.should_l for since in blocked.values() for t in since), 1),
            "did_l": round(sum(t.did_l for since in blocked.values() for t in since), 1),
        },
    )
