"""Reference libraries: the same season through the model and through others' code."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
import pyet
import pyfao56
import pytest

from steepwell.model.air import wind_at_2_m_m_s
from steepwell.model.canopy import ground_cover, most_kc
from steepwell.model.crop import CropCurve
from steepwell.model.dual import dual_step
from steepwell.model.evaporation import exposed_share, total_evaporable_mm
from steepwell.model.evapotranspiration import extraterrestrial_radiation_mj, hargreaves_mm
from steepwell.model.soil import adjusted_p, raw_mm, root_zone_step, taw_mm

if TYPE_CHECKING:
    from pathlib import Path

LATITUDES = {"brussels": 50.8, "cambridge": 52.2}
SEASONS = [("brussels", 1983), ("brussels", 1985), ("cambridge", 2018)]
SEASON_D = 130
FIELD_CAPACITY, AT_FIRST, WILTING_POINT = 0.24, 0.235, 0.12
ROOT_M, P = 0.6, 0.45
BEAN = CropCurve(
    stage_days=(25, 35, 45, 25),
    kc=(0.5, 1.05, 0.9),
    root_m=(ROOT_M, ROOT_M),
    kcb=(1.0, 0.8),
    height_m=0.4,
)
REW_MM = 8.0


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


def dual_of_the_library(weather: pd.DataFrame, rain_mm: np.ndarray) -> pd.DataFrame:
    """Run pyfao56's own dual balance, from a dry surface, with a constant depletion fraction.

    Its height starts at ``hini`` and grows with Kcb; the model's is in proportion to Kcb. With
    hini as that proportion of hmax the two are one.
    """
    parameters = pyfao56.Parameters(
        Kcbini=0.15, Kcbmid=1.0, Kcbend=0.8,
        Lini=25, Ldev=35, Lmid=45, Lend=25, hini=0.15 * 0.4, hmax=0.4,
        thetaFC=FIELD_CAPACITY, thetaWP=WILTING_POINT, theta0=AT_FIRST,
        Zrini=ROOT_M, Zrmax=ROOT_M, pbase=P, Ze=0.10, REW=REW_MM,
    )  # fmt: skip
    days = pyfao56.Weather()
    days.wndht = 2.0
    for (day, row), rain in zip(weather.iterrows(), rain_mm, strict=True):
        key = day.strftime("%Y-%j")
        days.wdata.loc[key] = [np.nan] * 6 + [45.0, 2.0, rain, row["et0_mm"], "M"]
    first, last = weather.index[[0, -1]].strftime("%Y-%j")
    model = pyfao56.Model(first, last, parameters, days, cons_p=True)
    model.run()
    return model.odata


def dual_of_the_model(weather: pd.DataFrame, rain_mm: np.ndarray) -> pd.DataFrame:
    """Run the model with the rain of each day on the next, and name its results as pyfao56 does.

    De, Dr and DP are those at the start of the day, after its water.
    """
    late_rain = np.concatenate(([0.0], rain_mm[:-1]))
    days = np.arange(SEASON_D, dtype=np.float64)
    kcb, height = BEAN.kcb_on(days), BEAN.height_on(days)
    kc_max = most_kc(kcb, height_m=height, wind_m_s=wind_at_2_m_m_s(2.0, 2.0))
    exposed = exposed_share(ground_cover(kcb, kc_max=kc_max, height_m=height))
    tew = total_evaporable_mm(FIELD_CAPACITY, WILTING_POINT)
    taw = taw_mm(ROOT_M, FIELD_CAPACITY, WILTING_POINT)
    surface, depletion = tew, 1000.0 * (FIELD_CAPACITY - AT_FIRST) * ROOT_M
    rows = []
    for index in range(SEASON_D):
        day = dual_step(
            surface,
            depletion,
            rain_mm=float(late_rain[index]),
            irrigation_mm=0.0,
            et0_mm=float(weather["et0_mm"].iloc[index]),
            kcb=float(kcb[index]),
            kc_max=float(kc_max[index]),
            exposed=float(exposed[index]),
            tew_mm=tew,
            rew_mm=REW_MM,
            taw_mm=taw,
            raw_mm=P * taw,
        )
        surface, depletion = day.surface_mm, day.depletion_mm
        rows.append(
            {
                "E": day.evaporation_mm,
                "T": day.eta_mm - day.evaporation_mm,
                "ETa": day.eta_mm,
                "De": surface - day.evaporation_mm / exposed[index],
                "Dr": depletion - day.eta_mm,
                "DP": day.percolation_mm,
            }
        )
    named = {"Kcb": kcb, "h": height, "Kcmax": kc_max, "few": exposed}
    return pd.DataFrame(rows).assign(**named)


@pytest.mark.parametrize(("place", "year"), SEASONS)
def test_the_dual_balance_over_a_season_of_light_rain(
    place: str, year: int, record_paths: dict[str, Path]
) -> None:
    """As long as no rain overfills the surface layer, the two are the same balance.

    pyfao56 lets the water in late in the day, the model early; with the rain a day later they
    agree to rounding: coefficients, cover, evaporation, what the crop draws under stress (so Ks),
    and both depletions. Rain is cut at 3 mm a day, so that the surface layer never overfills.
    """
    weather = season(record_paths[place], year)
    rain = np.minimum(weather["rain_mm"].to_numpy(), 3.0)
    theirs, ours = dual_of_the_library(weather, rain), dual_of_the_model(weather, rain)
    assert theirs["DPe"].max() == 0.0  # what this test is about
    assert theirs["Ks"].min() < 0.5  # and dry enough to tell
    for name in ("Kcb", "h", "Kcmax", "few", "E", "T", "ETa"):
        assert ours[name].to_numpy() == pytest.approx(theirs[name].to_numpy(float), abs=1e-9), name
    for name in ("De", "Dr", "DP"):
        ends = theirs[name].to_numpy(float)[:-1]
        assert ours[name].to_numpy()[1:] == pytest.approx(ends, abs=1e-9), name


@pytest.mark.parametrize(("place", "year"), SEASONS)
def test_the_dual_balance_over_a_season_of_real_rain(
    place: str, year: int, record_paths: dict[str, Path]
) -> None:
    """Rain that overfills the surface layer leaves a difference of convention.

    By eq. 79 as pyfao56 takes it, the surplus runs through before the evaporation of the day, which
    then stands as depletion although water was there; in the model late rain refills that too. So
    De may lie apart by what a day evaporates from the exposed share, at most Kc max times ET0;
    over the season that comes to under 5 % of evaporation, 1.5 % of all use, and at no time more
    than 5 % of TAW.
    """
    weather = season(record_paths[place], year)
    rain = weather["rain_mm"].to_numpy()
    theirs, ours = dual_of_the_library(weather, rain), dual_of_the_model(weather, rain)
    assert theirs["DPe"].max() > 0.0
    apart = theirs["De"].to_numpy(float)[:-1] - ours["De"].to_numpy()[1:]
    a_day = (theirs["Kcmax"] * theirs["ETref"]).to_numpy(float).max()
    assert apart.min() >= -1e-9
    assert apart.max() <= a_day
    assert ours["E"].sum() == pytest.approx(theirs["E"].sum(), rel=0.05)
    assert ours["ETa"].sum() == pytest.approx(theirs["ETa"].sum(), rel=0.015)
    taw = taw_mm(ROOT_M, FIELD_CAPACITY, WILTING_POINT)
    ends = theirs["Dr"].to_numpy(float)[:-1]
    assert ours["Dr"].to_numpy()[1:] == pytest.approx(ends, abs=0.05 * taw)
