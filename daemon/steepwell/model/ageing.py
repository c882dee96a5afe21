"""How fast a steep ages at its temperature, and when its liquid may be used."""

from __future__ import annotations

from typing import TYPE_CHECKING, overload

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from steepwell.model.values import Array, Values

REFERENCE_C = 17.0
FREEZING_C = 0.0
HOTTEST_C = 30.0
READY_AGE_D = 14.0
LEAST_DAYS = 10.0


def lloyd_taylor(temperature_c: Values) -> Values:
    """Return the published rate of decay against that at 10 °C.

    Parameters
    ----------
    temperature_c
        Temperature, above -46.02 [°C].

    Returns
    -------
    float or array
        R/R10, 1 at 10 °C [-].

    Raises
    ------
    ValueError
        If the temperature is at or below -46.02 °C, where the equation has its pole.

    References
    ----------
    Lloyd and Taylor (1994), Functional Ecology 8, 315 to 323, eq. 11.
    """
    if np.any(np.less_equal(temperature_c, -46.02)):
        raise ValueError("the rate of decay is not defined at or below -46.02 °C")
    return _lloyd_taylor(temperature_c)


def _lloyd_taylor(temperature_c: Values) -> Values:
    exponent: Values = -308.56 / (temperature_c + 46.02)
    exponent += 308.56 / 56.02
    rate: Values = np.exp(exponent)
    return rate


def decay_rate(temperature_c: Values) -> Values:
    """Return the rate of decay in a vessel against that at 10 °C.

    Parameters
    ----------
    temperature_c
        Temperature of the steep [°C].

    Returns
    -------
    float or array
        R/R10; nothing at or below 0 °C, and above 30 °C no more than at 30 °C [-].

    References
    ----------
    Lloyd and Taylor (1994), Functional Ecology 8, 315 to 323, eq. 11; both bounds are common
    practice, no source.
    """
    bounded: Values = np.clip(temperature_c, FREEZING_C, HOTTEST_C)
    rate: Values = _lloyd_taylor(bounded) * np.greater(temperature_c, FREEZING_C)
    return rate


_REFERENCE_RATE = float(_lloyd_taylor(REFERENCE_C))


def ageing_per_day(temperature_c: Values) -> Values:
    """Return by how many reference days a steep ages in a day.

    Parameters
    ----------
    temperature_c
        Temperature of the steep [°C].

    Returns
    -------
    float or array
        R(T)/R(17 °C), 1 at 17 °C [d/d].

    References
    ----------
    Lloyd and Taylor (1994), Functional Ecology 8, 315 to 323, eq. 11; that two weeks at 17 °C
    are two weeks in a warm month is common practice, no source.
    """
    days: Values = decay_rate(temperature_c) * (1.0 / _REFERENCE_RATE)
    return days


def swing_factor(temperature_c: Values, swing_sd_c: Values | float) -> Values:
    """Return by what a steep ages faster because its days are warm and its nights cold.

    Decay gains more from a warm hour than it loses by a cold one.

    Parameters
    ----------
    temperature_c
        Mean temperature of the day [°C].
    swing_sd_c
        Standard deviation of the temperature within the day [K].

    Returns
    -------
    float or array
        Factor on the ageing at the mean; 1 in frost [-].

    References
    ----------
    Lloyd and Taylor (1994), Functional Ecology 8, 315 to 323, eq. 11, at one standard deviation
    above and below the mean (Gauss's quadrature with two points).
    """
    mean = decay_rate(temperature_c)
    both = decay_rate(temperature_c + swing_sd_c) + decay_rate(temperature_c - swing_sd_c)
    gain = 0.5 * both / np.maximum(mean, 1e-9) - 1.0
    factor: Values = 1.0 + gain * np.greater(mean, 0.0)
    return factor


def thermal_age_d(temperatures_c: Array, hours: Array | float) -> Array | float:
    """Return the age a steep has reached through a run of temperatures.

    Parameters
    ----------
    temperatures_c
        Mean temperatures of successive spans of time, along the last axis [°C].
    hours
        Length of the spans, one for all or one each [h].

    Returns
    -------
    float or array
        Thermal age in days at 17 °C, without the last axis [d].

    Raises
    ------
    ValueError
        If a span of time is negative.

    References
    ----------
    Lloyd and Taylor (1994), Functional Ecology 8, 315 to 323, eq. 11.
    """
    if np.any(np.less(hours, 0.0)):
        raise ValueError("a span of time cannot be negative")
    age: Array | float = np.sum(ageing_per_day(temperatures_c) * hours, axis=-1) / 24.0
    return age


@overload
def is_ready(
    thermal_age_d: float,
    calendar_age_d: float,
    ready_age_d: float = READY_AGE_D,
    least_days: float = LEAST_DAYS,
) -> bool: ...


@overload
def is_ready(
    thermal_age_d: Array,
    calendar_age_d: Array | float,
    ready_age_d: float = READY_AGE_D,
    least_days: float = LEAST_DAYS,
) -> NDArray[np.bool_]: ...


def is_ready(
    thermal_age_d: float | Array,
    calendar_age_d: float | Array,
    ready_age_d: float = READY_AGE_D,
    least_days: float = LEAST_DAYS,
) -> bool | NDArray[np.bool_]:
    """Return whether the liquid of a steep may be used.

    Parameters
    ----------
    thermal_age_d
        Age in days at 17 °C [d].
    calendar_age_d
        Days since the start [d].
    ready_age_d
        Thermal age from which it is ready [d].
    least_days
        Calendar days that must have passed however warm it was [d].

    Returns
    -------
    bool or array of bool
        True when both ages are reached [-].

    References
    ----------
    Two weeks in a warm month: common practice, no source.
    """
    return (thermal_age_d >= ready_age_d) & (calendar_age_d >= least_days)
