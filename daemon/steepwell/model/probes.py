"""What a probe reads and what is so: echoes in cold air, water pressing, buckets tipping."""

from __future__ import annotations

import math

SOUND_AT_ZERO_M_S = 331.3
ZERO_K = 273.15
GRAVITY_M_S2 = 9.80665
WATER_KG_M3 = 1000.0
UNDERCATCH_S = 0.45
SECONDS_IN_AN_HOUR = 3600.0


def speed_of_sound_m_s(temperature_c: float) -> float:
    """Return how fast sound travels in air.

    Parameters
    ----------
    temperature_c
        Temperature of the air [°C].

    Returns
    -------
    float
        [m/s].

    References
    ----------
    Ideal gas, c = c0 sqrt(1 + t / 273.15 °C), with 331.3 m/s at 0 °C. Moist air is faster by 0.1 to
    0.6 %, which is left out.
    """
    return SOUND_AT_ZERO_M_S * math.sqrt(1.0 + temperature_c / ZERO_K)


def echo_distance_m(distance_m: float, reckoned_at_c: float, air_c: float) -> float:
    """Return the distance of what sent an echo back to a probe that knows no temperature.

    Parameters
    ----------
    distance_m
        What the probe says [m].
    reckoned_at_c
        Temperature for which it turns time into distance [°C].
    air_c
        Temperature of the air between probe and water [°C].

    Returns
    -------
    float
        [m].

    References
    ----------
    Distance is half the time of the echo times the speed of sound, ``speed_of_sound_m_s``.
    """
    return distance_m * speed_of_sound_m_s(air_c) / speed_of_sound_m_s(reckoned_at_c)


def depth_from_pressure_m(pressure_pa: float, air_pa: float = 0.0) -> float:
    """Return how deep the water over a probe is.

    Parameters
    ----------
    pressure_pa
        What the probe says [Pa].
    air_pa
        What the air presses on the water with; 0 for a probe with a vent to the air [Pa].

    Returns
    -------
    float
        [m].

    References
    ----------
    Hydrostatics, h = p / (rho g), with 1000 kg/m³ (water of 20 °C is lighter by 0.2 %) and
    9.80665 m/s² (the standard of the 3rd CGPM, 1901).
    """
    return (pressure_pa - air_pa) / (WATER_KG_M3 * GRAVITY_M_S2)


def rain_without_undercatch_mm_h(
    measured_mm_h: float, tip_mm: float, undercatch_s: float = UNDERCATCH_S
) -> float:
    """Return the rain that fell where a tipping bucket counted less, for it was tipping.

    Parameters
    ----------
    measured_mm_h
        Rain by the tips [mm/h].
    tip_mm
        Rain that tips the bucket [mm].
    undercatch_s
        How long in each tip rain still falls on the full side [s].

    Returns
    -------
    float
        [mm/h].

    Raises
    ------
    ValueError
        If the bucket would have done nothing but tip.

    References
    ----------
    C. Duchon, C. Fiebrich and D. Grimsley (2014), Using high-speed photography to study undercatch
    in tipping-bucket rain gauges, J. Atmos. Oceanic Technol. 31(6), 1330-1336, abstract: 0.450 s,
    whatever the rain. Of the time between two tips, tip / i, as much more goes by as is lost.
    """
    lost = measured_mm_h * undercatch_s / (tip_mm * SECONDS_IN_AN_HOUR)
    if lost >= 1.0:
        raise ValueError(f"no bucket of {tip_mm} mm counts {measured_mm_h} mm in an hour")
    return measured_mm_h / (1.0 - lost)
