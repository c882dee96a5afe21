"""Reference libraries: the same season through the model and through others' code."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
import pyet
import pyfao56
import pytest

from steepwell.model.crop import CropCurve
from steepwell.model.evapotranspiration import extraterrestrial_radiation_mj, hargreaves_mm
from steepwell.model.soil import adjusted_p, raw_mm, root_zone_step, taw_mm

if TYPE_CHECKING:
    from pathlib import Path

LATITUDES = {"brussels": 50.8, "cambridge": 52.2}
SEASONS = [("brussels", 1983), ("brussels", 1985), ("cambridge", 2018)]
SEASON_D = 130
FIELD_CAPACITY, AT_FIRST, WILTING_POINT = 0.24, 0.235, 0.12
ROOT_M, P = 0.6, 0.45
BEAN = CropCurve(stage_days=(25, 35, 45, 25), kc=(0.5, 1.05, 0.9), root_m=(ROOT_M, ROOT_M))


def season(record: Path, year: int) -> pd.DataFrame:
    """Return a growing season from 1 May on."""
    days = pd.read_csv(record, index_col="date", parse_dates=True)
    start = pd.Timestamp(year=year, month=5, day=1)
    return days.loc[start : start + pd.Timedelta(days=SEASON_D - 1)]


@pytest.mark.parametrize(("place", "year"), SEASONS)
def test_hargreaves_over_a_season(place: str, year: int, record_paths: dict[str, Path]) -> None:
    """pyet's method 0 is FAO-56, eq. 52, with a latent heat that falls with temperature.

    FAO-56 prints one latent heat, 2.45 MJ/kg (0.408 mm a MJ/m2). With the ratio of the two taken
    out, what is left is 0.408 for 1/2.45, 0.04 %.
    """
    weather = season(record_paths[place], year)
    mean = (weather["tmin_c"] + weather["tmax_c"]) / 2.0
    theirs = pyet.hargreaves(
        mean,
        tmax=weather["tmax_c"],
        tmin=weather["tmin_c"],
        lat=np.radians(LATITUDES[place]),
        method=0,
    )
    same_heat = theirs * pyet.calc_lambda(mean) / 2.45
    days = weather.index.dayofyear.to_numpy(dtype=np.float64)
    ours = hargreaves_mm(
        weather["tmin_c"].to_numpy(),
        weather["tmax_c"].to_numpy(),
        extraterrestrial_radiation_mj(LATITUDES[place], days),
    )
    assert ours == pytest.approx(same_heat.to_numpy(), rel=1e-3)


def dual_without_evaporation(weather: pd.DataFrame) -> pd.DataFrame:
    """Run pyfao56 as a single-coefficient balance.

    It always runs the dual coefficient. Its evaporation is turned off by starting with a dry
    surface layer and keeping it dry: all water, rain too, is given as an irrigation spread so
    thin that the surface layer takes none of it, while the root zone takes it whole.
    """
    initial, mid, end = BEAN.kc
    parameters = pyfao56.Parameters(
        Kcbini=initial, Kcbmid=mid, Kcbend=end,
        Lini=25, Ldev=35, Lmid=45, Lend=25,
        thetaFC=FIELD_CAPACITY, thetaWP=WILTING_POINT, theta0=AT_FIRST,
        Zrini=ROOT_M, Zrmax=ROOT_M, pbase=P,
    )  # fmt: skip
    days = pyfao56.Weather()
    days.wndht = 2.0
    water = pyfao56.Irrigation()
    for day, row in weather.iterrows():
        key = day.strftime("%Y-%j")
        days.wdata.loc[key] = [np.nan] * 6 + [45.0, 2.0, 0.0, row["et0_mm"], "M"]
        if row["rain_mm"] > 0.0:
            water.addevent(day.year, day.dayofyear, row["rain_mm"], 1e12)
    first, last = weather.index[[0, -1]].strftime("%Y-%j")
    model = pyfao56.Model(first, last, parameters, days, irr=water)
    model.run()
    return model.odata


@pytest.mark.parametrize(("place", "year"), SEASONS)
def test_the_root_zone_over_a_season(place: str, year: int, record_paths: dict[str, Path]) -> None:
    """pyfao56 lets the water in late in the day, the model early.

    Rain at the end of one day is rain at the start of the next, so with the rain a day later the
    two are the same balance, and agree to rounding: Kc, RAW, ETa, depletion and percolation.
    """
    weather = season(record_paths[place], year)
    theirs = dual_without_evaporation(weather)
    assert theirs["E"].max() == pytest.approx(0.0, abs=1e-9)
    assert theirs["Ks"].min() < 1.0  # dry enough to tell
    assert theirs["DP"].max() > 0.0  # and wet enough

    rain = np.concatenate(([0.0], weather["rain_mm"].to_numpy()[:-1]))
    kc = BEAN.kc_on(np.arange(SEASON_D, dtype=np.float64))
    etc = kc * weather["et0_mm"].to_numpy()
    taw = taw_mm(ROOT_M, FIELD_CAPACITY, WILTING_POINT)
    raw = raw_mm(np.full(SEASON_D, taw), adjusted_p(P, etc))
    depletion = 1000.0 * (FIELD_CAPACITY - AT_FIRST) * ROOT_M
    drawn, lost, starts = [], [], []
    for day in range(SEASON_D):
        depletion, eta, percolation = root_zone_step(
            depletion,
            rain_mm=float(rain[day]),
            irrigation_mm=0.0,
            etc_mm=float(etc[day]),
            taw_mm=taw,
            raw_mm=float(raw[day]),
        )
        drawn.append(eta)
        lost.append(percolation)
        starts.append(depletion - eta)

    def same(values: object) -> object:
        return pytest.approx(np.asarray(values), abs=1e-9)

    assert theirs["Kc"].to_numpy(float) == same(kc)
    assert theirs["TAW"].to_numpy(float) == same(np.full(SEASON_D, taw))
    assert theirs["RAW"].to_numpy(float) == same(raw)
    assert theirs["ETa"].to_numpy(float) == same(drawn)
    assert theirs["Dr"].to_numpy(float)[:-1] == same(starts[1:])
    assert theirs["DP"].to_numpy(float)[:-1] == same(lost[1:])
