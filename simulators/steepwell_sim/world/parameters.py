"""The true parameters of a garden, drawn around what its owner declared."""

from __future__ import annotations

import random
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from steepwell.garden.garden import Garden

RUNOFF_SPREAD = 0.10
BUTT_AREA_SPREAD = 0.02
LAG_SPREAD = 0.30
SOIL_WATER_SPREAD = 0.15
CROP_WATER_SPREAD = 0.10


@dataclass(frozen=True, slots=True)
class TrueParameters:
    """What differs from the garden file; each a factor on what is declared or usual.

    Attributes
    ----------
    runoff
        Of each roof's runoff coefficient.
    butt_area
        Of each butt's area at every height, and so of its litres.
    lag
        Of each vessel's time constant of heat.
    sun
        Of each vessel's warming by the sun.
    soil_water
        Of what each bed's soil holds between field capacity and wilting point.
    crop_water
        Of the crop coefficients in each bed.
    """

    runoff: dict[str, float]
    butt_area: dict[str, float]
    lag: dict[str, float]
    sun: dict[str, float]
    soil_water: dict[str, float]
    crop_water: dict[str, float]

    def to_json(self) -> dict[str, Any]:
        """Return the factors for ``world.json``, rounded."""
        return {
            kind: {name: round(factor, 6) for name, factor in factors.items()}
            for kind, factors in asdict(self).items()
        }


def draw_parameters(garden: Garden, seed: int) -> TrueParameters:
    """Draw the true garden.

    Parameters
    ----------
    garden
        What the owner declared.
    seed
        Equal seeds give equal gardens; each part draws for itself, by its name.

    Returns
    -------
    TrueParameters
        Each factor evenly spread within its bounds.
    """

    def around(kind: str, name: str, spread: float) -> float:
        rng = random.Random(f"{seed} {kind} {name}")  # noqa: S311 - a simulation, not a secret
        return 1 + rng.uniform(-spread, spread)

    beds = [bed.name for bed in garden.bed]
    vessels = [vessel.name for vessel in garden.vessel]
    return TrueParameters(
        runoff={roof.name: around("runoff", roof.name, RUNOFF_SPREAD) for roof in garden.roof},
        butt_area={butt.name: around("area", butt.name, BUTT_AREA_SPREAD) for butt in garden.butt},
        lag={name: around("lag", name, LAG_SPREAD) for name in vessels},
        sun={name: around("sun", name, 0.5) for name in vessels},
        soil_water={name: around("soil", name, SOIL_WATER_SPREAD) for name in beds},
        crop_water={name: around("crop", name, CROP_WATER_SPREAD) for name in beds},
    )
