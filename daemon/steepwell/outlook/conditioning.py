"""Brings the first days of an ensemble into line with a short-range forecast."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from steepwell.outlook.et0 import daily_et0_mm
from steepwell.outlook.weather import Weather

if TYPE_CHECKING:
    from datetime import date

    from steepwell.sense.forecast import ForecastDay, ForecastDays

Array = NDArray[np.float64]
Order = NDArray[np.intp]

# What a forecast is worth by its lead of 0, 1, ... days. Typical of middle latitudes, from memory;
# whatever is forecast for later days is not used.
# Standard deviation of the error of the day's mean temperature [°C].
TEMPERATURE_ERROR_C = (1.2, 1.5, 1.8, 2.1, 2.5, 2.9, 3.2, 3.5, 3.7, 3.9)
# Weight of the forecast of rain against what is usual [-].
RAIN_TRUST = (0.95, 0.9, 0.82, 0.73, 0.63, 0.52, 0.42, 0.33, 0.24, 0.16)
# Standard deviation of what falls on a day with rain, as a share of its mean [-].
RAIN_ERROR = (0.5, 0.55, 0.6, 0.67, 0.75, 0.83, 0.9, 0.95, 1.0, 1.05)
# Standard deviation of the error of evapotranspiration, as a share of it [-].
ET0_ERROR = (0.1, 0.12, 0.14, 0.16, 0.19, 0.22, 0.24, 0.26, 0.28, 0.3)
# Chance of rain when none is forecast, its rise up to much rain, and the amount on which it rises.
RAIN_AT_ALL = 0.05
RAIN_SURE = 0.9
RAIN_RISES_MM = 1.0

LEAST_RAIN_MM = 0.2
# Among the dry days of members, those come nearer to rain that have rain around them.
NEARBY_D = 2


class _Fit(NamedTuple):
    """Mean and standard deviation that members of a day are given."""

    mean: float
    spread: float


def condition(
    weather: Weather,
    forecast: ForecastDays,
    first: date,
    *,
    latitude_deg: float,
    bias: Array,
    seed: int,
) -> Weather:
    """Draw the first days of an ensemble anew, about a forecast.

    The mean of the members follows the forecast, the more freely the further ahead, and comes
    back to what is usual within ten days. Their spread is the usual error of such forecasts. The
    figures of a day are dealt out in the order that the members had on it, so that a wet member
    stays a wet one from day to day, and warm where it was warm.

    Parameters
    ----------
    weather
        The ensemble.
    forecast
        The forecast.
    first
        First day of the ensemble.
    latitude_deg
        Latitude, north positive [°].
    bias
        Factor of each month for ET0 from temperatures [-].
    seed
        Equal seeds give equal members.

    Returns
    -------
    Weather
        Another ensemble of the same size; days without a forecast are as they were.

    References
    ----------
    Clark, Gangopadhyay, Hay, Rajagopalan and Wilby (2004), Journal of Hydrometeorology 5,
    243-262, on dealing out values by the ranks of past weather; from memory.
    """
    # Not the draws that made the members.
    rng = np.random.default_rng([seed, 1])
    rain, mean, et0 = weather.rain_mm.copy(), weather.mean_c.copy(), weather.et0_mm.copy()
    for told in forecast.days:
        lead, index = (told.day - forecast.issued).days, (told.day - first).days
        if not (0 <= index < len(rain) and lead < len(RAIN_TRUST)):
            continue
        order = _wetter_last(weather.rain_mm, index, rng)
        rain[index] = _rain(weather.rain_mm[index], told.rain_mm, lead, order, rng)
        forecast_c = (told.tmin_c + told.tmax_c) / 2
        fit = _fit(weather.mean_c[index], forecast_c, TEMPERATURE_ERROR_C[lead])
        mean[index] = _dealt(weather.mean_c[index], fit, rng)
        forecast_mm = _et0_of(told, latitude_deg, bias)
        fit = _fit(weather.et0_mm[index], forecast_mm, ET0_ERROR[lead] * forecast_mm)
        et0[index] = np.maximum(_dealt(weather.et0_mm[index], fit, rng), 0.0)
    return Weather(rain, mean, et0)


def _et0_of(told: ForecastDay, latitude_deg: float, bias: Array) -> float:
    tmin, tmax = np.array([told.tmin_c]), np.array([told.tmax_c])
    return float(daily_et0_mm(tmin, tmax, told.day, latitude_deg=latitude_deg, bias=bias)[0])


def _fit(members: Array, forecast: float, error: float) -> _Fit:
    """Return what to expect where a forecast as variable as the weather errs so much.

    Such a forecast goes with the weather at a correlation of 1 - error²/(2 spread²); what is
    expected lies by that share on the way from the usual to the forecast. Members all alike say
    nothing of what is usual.
    """
    usual, spread = float(members.mean()), float(members.std())
    if spread == 0.0:
        return _Fit(forecast, error)
    together = max(1.0 - error**2 / (2.0 * spread**2), 0.0)
    expected = usual + together * (forecast - usual)
    return _Fit(expected, spread * float(np.sqrt(1.0 - together**2)))


def _dealt(members: Array, fit: _Fit, rng: np.random.Generator) -> Array:
    """Return normal draws of exactly that mean, in the order of the members."""
    drawn = np.sort(rng.standard_normal(len(members)))
    dealt = np.empty(len(members))
    dealt[np.argsort(members, kind="stable")] = fit.mean + fit.spread * (drawn - drawn.mean())
    return dealt


def _wetter_last(rain_mm: Array, index: int, rng: np.random.Generator) -> Order:
    """Return the members in the order of their rain on a day, then of the rain around it."""
    around = rain_mm[max(index - NEARBY_D, 0) : index + NEARBY_D + 1].sum(axis=0)
    order: Order = np.lexsort((rng.random(rain_mm.shape[1]), around, rain_mm[index]))
    return order


def _rain(
    members: Array, forecast_mm: float, lead: int, order: Order, rng: np.random.Generator
) -> Array:
    """Return rain of a day, as likely and on the mean as much as a forecast lets expect."""
    trust = RAIN_TRUST[lead]
    if_told = RAIN_AT_ALL + RAIN_SURE * (1.0 - np.exp(-forecast_mm / RAIN_RISES_MM))
    chance = trust * if_told + (1.0 - trust) * float((members >= LEAST_RAIN_MM).mean())
    mean_mm = trust * forecast_mm + (1.0 - trust) * float(members.mean())
    wet = min(max(round(chance * len(members)), 1), len(members))
    amounts = np.sort(rng.standard_gamma(RAIN_ERROR[lead] ** -2, wet))
    rain = np.zeros(len(members))
    rain[order[-wet:]] = amounts * (mean_mm * len(members) / amounts.sum())
    return rain
