"""What else would help while water is short: mulch, shade, a bed left dry, the tap."""

from __future__ import annotations

import math
from dataclasses import dataclass, fields, replace
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import NDArray

from steepwell.decide.clippings import MATERIAL, clippings_l
from steepwell.decide.lever_words import mulch_words, stop_reason, tap_words
from steepwell.outlook.demand import BedDays, bed_days
from steepwell.outlook.draws import Draws
from steepwell.outlook.futures import run_futures
from steepwell.outlook.summary import chance_of_dry, dry_days
from steepwell.outlook.weather import Weather
from steepwell.store.entries import Mulched
from steepwell.words.saying import say

if TYPE_CHECKING:
    from collections.abc import Sequence

    from steepwell.garden.garden import Garden
    from steepwell.garden.growing import Bed
    from steepwell.outlook.outlook import Outlook
    from steepwell.outlook.state import State
    from steepwell.store.entries import Entry

LeverKind = Literal["mulch", "shade", "stop", "tap"]

# Water is short if the butts run dry within six weeks in a fifth of the futures.
SHORT_WITHIN_D = 42
SHORT_FROM = 0.2
# How far ahead, and with how many futures, a lever is tried.
TRIED_D = 42
TRIED_MEMBERS = 60
# Mulch is laid 2 to 3 cm thick at a time.
DEPTH_MM = 25.0
WORTH_COVERING = 0.1
# Netting that takes a third of the light takes about a quarter of the evaporation; from memory.
SHADED = 0.75
SHADE_MONTHS = range(5, 10)
# The tap is to bridge two weeks, with no more cans than can be carried in a week.
BRIDGED_D = 14
MOST_CANS = 10

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Lever:
    """One thing to do about a shortage, and what it comes to.

    Attributes
    ----------
    kind
        What it is.
    bed
        Where, None for the tap.
    litres
        What the bed asks for less in six weeks; from the tap, what is added [L].
    days
        By how much later the butts run dry, on the mean of the futures in which they do [d].
    reason
        Half a sentence for the gardener.
    cover
        Share of the bed that there is mulch for, 1 where the garden file names no lawn [-].
    """

    kind: LeverKind
    bed: str | None
    litres: float
    days: float
    reason: str
    cover: float = 1.0


def is_short(garden: Garden, outlook: Outlook) -> bool:
    """Return whether water is so short that it is worth saying what else would help.

    Where there is no butt, there is nothing to run short.
    """
    return bool(garden.butt) and (
        chance_of_dry(garden, outlook.futures, SHORT_WITHIN_D) >= SHORT_FROM
    )


def levers(
    garden: Garden,
    state: State,
    outlook: Outlook,
    entries: Sequence[Entry],
    *,
    dry_d: int | None = None,
) -> list[Lever]:
    """Return what would help, each tried in the same futures with it and without.

    Parameters
    ----------
    garden
        The garden, as orders leave it.
    state
        What is so now.
    outlook
        The weeks ahead.
    entries
        The journal.
    dry_d
        Days in a row without 1 mm of rain, None where that is not known [d].

    Returns
    -------
    list of Lever
        What helps most first.
    """
    trial = _trial(garden, state, outlook)
    found = []
    for column, bed in enumerate(garden.bed):
        if state.beds[column].crop is None:
            continue
        found += _mulch(trial, column, bed, entries, dry_d)
        found += _shade(trial, column, bed)
        found += _stop(trial, column, bed, entries)
    found += _tap(trial)
    return sorted(found, key=lambda lever: lever.days, reverse=True)


_NAMES = tuple(each.name for each in fields(BedDays))


@dataclass(frozen=True, slots=True)
class _Trial:
    """The garden as it is in a few futures, to compare with."""

    garden: Garden
    state: State
    weather: Weather
    asked: BedDays
    draws: Draws
    wanted_l: Array
    missing_l: Array
    first_dry_d: Array

    def effect(
        self, asked: BedDays | None = None, draws: Draws | None = None
    ) -> tuple[float, float]:
        """Return the litres saved, and the days gained, with another demand or other butts."""
        futures = run_futures(
            self.garden, self.state, self.weather, asked or self.asked, draws or self.draws
        )
        saved_l = float((self.wanted_l - futures.wanted_l.sum(axis=0)).mean())
        runs_dry = self.first_dry_d < len(self.weather.rain_mm)
        later_d = _first_dry_d(dry_days(self.garden, futures)) - self.first_dry_d
        return saved_l, float(later_d[runs_dry].mean()) if runs_dry.any() else 0.0


def _trial(garden: Garden, state: State, outlook: Outlook) -> _Trial:
    # Vessels take no part.
    garden, state = garden.model_copy(update={"vessel": ()}), replace(state, vessels=())
    here = np.s_[:TRIED_D, :TRIED_MEMBERS]
    of = outlook.weather
    weather = Weather(of.rain_mm[here], of.mean_c[here], of.et0_mm[here])
    asked = replace(
        outlook.asked,
        **{name: getattr(outlook.asked, name)[:TRIED_D] for name in _NAMES},
    )
    draws = Draws(
        outlook.draws.volume_l[:, :TRIED_MEMBERS],
        outlook.draws.runoff[:, :TRIED_MEMBERS],
        outlook.draws.use_factor[:TRIED_MEMBERS],
    )
    futures = run_futures(garden, state, weather, asked, draws)
    missing_l = futures.wanted_l - futures.given_l
    return _Trial(
        garden=garden,
        state=state,
        weather=weather,
        asked=asked,
        draws=draws,
        wanted_l=futures.wanted_l.sum(axis=0),
        missing_l=missing_l[:BRIDGED_D].sum(axis=0),
        first_dry_d=_first_dry_d(dry_days(garden, futures)),
    )


def _first_dry_d(dry: NDArray[np.bool_]) -> Array:
    """Return on which day each member runs dry first, the length of the trial if on none."""
    return np.where(dry.any(axis=0), dry.argmax(axis=0), len(dry)).astype(float)


def _mulch(
    trial: _Trial, column: int, bed: Bed, entries: Sequence[Entry], dry_d: int | None
) -> list[Lever]:
    """Return what a layer of clippings laid now would do, as far as the lawn gives any."""
    state, asked = trial.state, trial.asked
    there_l = clippings_l(trial.garden, entries, state.today, dry_d)
    cover = 1.0 if there_l is None else min(there_l / (DEPTH_MM * bed.area), 1.0)
    if bed.kind == "tray" or cover <= asked.cover[0, column] + WORTH_COVERING:
        return []
    layer = Mulched(at=state.now, bed=bed.name, material=MATERIAL, depth_mm=DEPTH_MM, cover=cover)
    alone = trial.garden.model_copy(update={"bed": (bed,)})
    mulched = bed_days(alone, state.today, len(asked.kc), [*entries, layer])
    changed = {name: getattr(mulched, name)[:, 0] for name in ("kc", "cover", "tew_mm")}
    saved_l, later_d = trial.effect(_with_column(asked, column, **changed))
    takes_l = DEPTH_MM * bed.area if there_l is None else None
    exposed = float(asked.exposed[0, column])
    reason = mulch_words(exposed, state.beds[column], cover=cover, takes_l=takes_l)
    return [Lever("mulch", bed.name, saved_l, later_d, reason, cover)]


def _shade(trial: _Trial, column: int, bed: Bed) -> list[Lever]:
    """Return what netting over a bed would do: all that it asks for falls alike."""
    if trial.garden.garden.northern_month(trial.state.today) not in SHADE_MONTHS:
        return []
    asked = trial.asked
    shaded = {name: SHADED * getattr(asked, name)[:, column] for name in ("kc", "kcb", "kc_max")}
    saved_l, later_d = trial.effect(_with_column(asked, column, **shaded))
    return [Lever("shade", bed.name, saved_l, later_d, say("levers.shade"))]


def _stop(trial: _Trial, column: int, bed: Bed, entries: Sequence[Entry]) -> list[Lever]:
    """Return what it would save to water a bed no more."""
    asked = trial.asked
    nothing = np.zeros_like(asked.grows[:, column])
    saved_l, later_d = trial.effect(_with_column(asked, column, grows=nothing))
    reason = stop_reason(trial.garden, bed, trial.state.today, entries)
    return [Lever("stop", bed.name, saved_l, later_d, reason)]


def _tap(trial: _Trial) -> list[Lever]:
    """Return what cans from the tap would bridge, where beds go short within two weeks."""
    can_l = trial.garden.can.size
    cans = min(math.ceil(float(np.median(trial.missing_l)) / can_l), MOST_CANS)
    if trial.garden.tap.available != "yes" or cans < 1:
        return []
    added_l = cans * can_l
    volume_l = trial.draws.volume_l
    # What the tap gives the beds stays in the butts.
    room_l = np.array([[butt.capacity_l] for butt in trial.garden.butt]) - volume_l
    share = room_l / np.maximum(room_l.sum(axis=0), 1e-9)
    fuller = replace(trial.draws, volume_l=volume_l + np.minimum(added_l * share, room_l))
    _, later_d = trial.effect(draws=fuller)
    return [Lever("tap", None, added_l, later_d, tap_words(cans))]


def _with_column(asked: BedDays, column: int, **values: NDArray[np.generic]) -> BedDays:
    """Return what beds ask for with one of them changed."""
    changed = {}
    for name, of_bed in values.items():
        changed[name] = getattr(asked, name).copy()
        changed[name][:, column] = of_bed
    return replace(asked, **changed)
