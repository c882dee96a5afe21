"""How the liquid in a vessel follows the temperature of the air."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Literal

import numpy as np

if TYPE_CHECKING:
    from steepwell.model.values import Values

Insulation = Literal["none", "jacketed", "sunk"]

HEAT_J_PER_L_K = 4186.0
# From memory: bare plastic in light wind; a few centimetres of straw, foam or bubble wrap around
# it; sunk to the rim, so that only the lid and some depth of soil exchange heat with the air.
CONDUCTANCE_W_M2_K: dict[Insulation, float] = {"none": 10.0, "jacketed": 3.0, "sunk": 2.0}


def time_constant_h(volume_l: float, insulation: Insulation = "none") -> float:
    """Return how slowly a vessel follows the air.

    Heat capacity over surface conductance, for an upright cylinder as wide as it is high that
    exchanges heat through its whole surface.

    Parameters
    ----------
    volume_l
        Liquid in the vessel [L].
    insulation
        ``none``, ``jacketed`` or ``sunk``: 10, 3 or 2 W/(m2 K), from memory [-].

    Returns
    -------
    float
        Time in which all but 1/e of a difference has gone; about 8 h for a bare 60 L vessel [h].

    Raises
    ------
    ValueError
        If there is no liquid, or the insulation is none of the three.

    References
    ----------
    Newton's law of cooling for a well-mixed body; conductances from memory.
    """
    if volume_l <= 0.0:
        raise ValueError(f"a vessel needs some liquid to hold its temperature, not {volume_l} L")
    if insulation not in CONDUCTANCE_W_M2_K:
        known = ", ".join(CONDUCTANCE_W_M2_K)
        raise ValueError(f"insulation must be one of {known}, not {insulation}")
    diameter_m = math.cbrt(4.0 * volume_l / 1000.0 / math.pi)
    surface_m2 = 1.5 * math.pi * diameter_m**2
    seconds = volume_l * HEAT_J_PER_L_K / (surface_m2 * CONDUCTANCE_W_M2_K[insulation])
    return seconds / 3600.0


def cool(
    temperature_c: Values,
    air_c: Values | float,
    *,
    hours: float,
    time_constant_h: Values | float,
    sun_gain_c: Values | float = 0.0,
) -> Values:
    """Return the temperature of a vessel after some hours in steady air.

    Parameters
    ----------
    temperature_c
        Temperature of the liquid at first [°C].
    air_c
        Temperature of the air in the shade [°C].
    hours
        Time that passes [h].
    time_constant_h
        Time constant of the vessel [h].
    sun_gain_c
        How far the sun would hold the vessel above the air in the long run [K].

    Returns
    -------
    float or array
        Temperature of the liquid afterwards, by the exact solution [°C].

    Raises
    ------
    ValueError
        If the time is negative or the time constant is not positive.

    References
    ----------
    Newton's law of cooling, dT/dt = (air + gain - T)/τ.
    """
    if hours < 0.0 or np.any(np.less_equal(time_constant_h, 0.0)):
        raise ValueError(f"{hours} h at a time constant of {time_constant_h} h cannot be")
    rest = air_c + sun_gain_c
    after: Values = rest + (temperature_c - rest) * np.exp(-hours / time_constant_h)
    return after


def mean_and_end(
    temperature_c: Values,
    air_c: Values | float,
    *,
    hours: float,
    time_constant_h: Values | float,
    sun_gain_c: Values | float = 0.0,
) -> tuple[Values, Values]:
    """Return the mean temperature of a vessel over some hours in steady air, and that at the end.

    Parameters
    ----------
    temperature_c
        Temperature of the liquid at first [°C].
    air_c
        Temperature of the air in the shade [°C].
    hours
        Time that passes [h].
    time_constant_h
        Time constant of the vessel [h].
    sun_gain_c
        How far the sun would hold the vessel above the air in the long run [K].

    Returns
    -------
    mean_c : float or array
        Mean temperature of the liquid over that time, by the exact solution [°C].
    end_c : float or array
        Temperature of the liquid afterwards, as by ``cool`` [°C].

    Raises
    ------
    ValueError
        If the time or the time constant is not positive.

    References
    ----------
    Newton's law of cooling, dT/dt = (air + gain - T)/τ, integrated.
    """
    if hours <= 0.0 or np.any(np.less_equal(time_constant_h, 0.0)):
        raise ValueError(f"{hours} h at a time constant of {time_constant_h} h cannot be")
    rest = air_c + sun_gain_c
    lost = -np.expm1(-hours / time_constant_h)
    warmer = temperature_c - rest
    mean: Values = warmer * (lost * time_constant_h / hours)
    mean += rest
    end: Values = warmer * (1.0 - lost)
    end += rest
    return mean, end


def swing(time_constant_h: float, period_h: float = 24.0) -> tuple[float, float]:
    """Return how much of a swing of the air a vessel takes part in, and how late.

    Parameters
    ----------
    time_constant_h
        Time constant of the vessel [h].
    period_h
        Time from one peak of the air to the next [h].

    Returns
    -------
    share : float
        Its amplitude over that of the air [-].
    lag_h : float
        How long after the air it has its peak [h].

    Raises
    ------
    ValueError
        If a time is not positive.

    References
    ----------
    Newton's law of cooling under a sinusoidal air temperature: 1/√(1 + (ωτ)²) and atan(ωτ)/ω.
    """
    if min(time_constant_h, period_h) <= 0.0:
        raise ValueError(f"{time_constant_h} h and {period_h} h are not both more than nothing")
    omega = 2.0 * math.pi / period_h
    turned = omega * time_constant_h
    return 1.0 / math.sqrt(1.0 + turned**2), math.atan(turned) / omega
