"""What each member makes of what is not known for certain: the state, the roofs, the gardener."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from steepwell.outlook.vessel_futures import SteepDraws, uncertain_steeps

if TYPE_CHECKING:
    from steepwell.garden.garden import Garden
    from steepwell.outlook.state import State

# How far the weeks ahead may be from what the journal says of the gardener; from memory.
USE_UNCERTAINTY = 0.15
# Draws of its own, whatever else the seed is used for.
STREAM, STEEPS = 3, 4

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Draws:
    """What the members start with.

    Attributes
    ----------
    volume_l
        Water in each butt, in the order of the garden file; (butts, members) [L].
    runoff
        Runoff coefficient of each roof, in the same order; (roofs, members) [-].
    use_factor
        What the gardener gives of what beds draw while the soil asks; (members,) [-].
    steeps
        Ages and warmth of the steeps, None for what is most likely of them.
    """

    volume_l: Array
    runoff: Array
    use_factor: Array
    steeps: SteepDraws | None = None


def certain(garden: Garden, state: State, members: int) -> Draws:
    """Return draws in which all members agree on what is most likely.

    Parameters
    ----------
    garden
        The garden.
    state
        What is so now.
    members
        How many.

    Returns
    -------
    Draws
        The same for each member.
    """
    volume_l = np.array([butt.volume_l for butt in state.butts])
    return Draws(
        np.repeat(volume_l[:, None], members, axis=1),
        np.repeat(likely_runoff(garden, state)[:, None], members, axis=1),
        np.full(members, state.use_factor),
    )


def uncertain(garden: Garden, state: State, members: int, *, seed: int) -> Draws:
    """Return draws as far apart as the knowledge of the garden is uncertain.

    Parameters
    ----------
    garden
        The garden.
    state
        What is so now.
    members
        How many.
    seed
        Equal seeds give equal draws.

    Returns
    -------
    Draws
        Volumes and runoff from normal distributions cut off at what can be; what the gardener
        uses from a lognormal one.
    """
    rng = np.random.default_rng([seed, STREAM])
    likely = certain(garden, state, members)
    volume_sd = np.array([[butt.sd_l] for butt in state.butts]).reshape(-1, 1)
    capacity_l = np.array([butt.capacity_l for butt in garden.butt]).reshape(-1, 1)
    runoff_sd = np.array([roof.sd for roof in state.roofs] or [0.0] * len(garden.roof))
    volume_l = likely.volume_l + volume_sd * rng.standard_normal(likely.volume_l.shape)
    runoff = likely.runoff + runoff_sd[:, None] * rng.standard_normal(likely.runoff.shape)
    return Draws(
        np.clip(volume_l, 0.0, capacity_l),
        np.clip(runoff, 0.0, 1.0),
        likely.use_factor * np.exp(USE_UNCERTAINTY * rng.standard_normal(members)),
        uncertain_steeps(garden, state, members, np.random.default_rng([seed, STEEPS])),
    )


def likely_runoff(garden: Garden, state: State) -> Array:
    """Return the runoff coefficient of each roof: what its rains have shown, else as declared [-].

    Parameters
    ----------
    garden
        The garden.
    state
        What is so now.
    """
    return np.array(
        [roof.runoff for roof in state.roofs] or [roof.runoff for roof in garden.roof], dtype=float
    )
