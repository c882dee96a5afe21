"""What is read off a hindcast, each figure beside its mark."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from tests.hindcast.rig import LEADS_D, Hindcast

from steepwell.outlook.scoring import (
    Brier,
    brier,
    central_share,
    crps_ensemble,
    rank_histogram,
    ranks,
    skill,
)

if TYPE_CHECKING:
    from numpy.typing import NDArray

CENTRAL = 0.8
CENTRAL_MARK = (0.74, 0.86)
LEVEL_MARK = (0.35, 0.35, 0.35, 0.35)
CLIMATE_MARK = (0.45, 0.20, 0.05, 0.0)
DRY_MARK, RELIABILITY_MARK = 0.55, 0.01
BARS = 10
# The ties at empty and full are drawn, always alike.
SEED = 1


@dataclass(frozen=True, slots=True)
class Lead:
    """How outlooks did after one lead.

    Attributes
    ----------
    days
        The lead [d].
    crps_l
        Their score [L].
    over_level, over_climate
        By which share it is better than today's level carried on, and than the other years' stored
        litres on that date [-].
    central
        Share of ranks in the central 80 % [-].
    bars
        Ranks in each tenth.
    """

    days: int
    crps_l: float
    over_level: float
    over_climate: float
    central: float
    bars: NDArray[np.int_]


@dataclass(frozen=True, slots=True)
class Dry:
    """How chances of a dry day within a fortnight did.

    Attributes
    ----------
    came
        How often there was one [-].
    brier
        The score and its terms.
    over_climate
        By which share it is better than the frequency of the other years [-].
    """

    came: float
    brier: Brier
    over_climate: float


def leads(found: Hindcast) -> list[Lead]:
    """Return how the outlooks did, lead by lead."""
    rng = np.random.default_rng(SEED)
    members = found.members_l.shape[-1]
    judged = []
    for column, days in enumerate(LEADS_D):
        truth_l = found.truth_l[:, :, column]
        score = float(crps_ensemble(found.members_l[:, :, column], truth_l).mean())
        level = float(np.abs(found.level_l - truth_l).mean())
        climate = float(crps_ensemble(found.climate_l[:, :, column], truth_l).mean())
        rank = ranks(found.members_l[:, :, column], truth_l, rng)
        judged.append(
            Lead(
                days,
                score,
                skill(score, level) or 0.0,
                skill(score, climate) or 0.0,
                central_share(rank, members, CENTRAL, rng),
                rank_histogram(rank, members, BARS),
            )
        )
    return judged


def dry(found: Hindcast) -> Dry:
    """Return how the chances of a dry day did."""
    outcomes = found.dry.ravel()
    told = brier(found.p_dry.ravel(), outcomes)
    climate = brier(found.climate_dry.ravel(), outcomes)
    return Dry(float(outcomes.mean()), told, skill(told.score, climate.score) or 0.0)
