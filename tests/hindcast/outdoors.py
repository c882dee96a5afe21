"""A year outdoors: how thin feeds are told then, in vessels with a physics of their own."""

from __future__ import annotations

import sys
from datetime import timedelta
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray
from tests.hindcast.tables import as_markdown, as_text
from tests.hindcast.vessels import PLACES, VESSELS, Place, place

from steepwell.clock import to_ms
from steepwell.model.dilution import dilution_parts
from steepwell.model.warmth import presumed_warmth
from steepwell.outlook.observed import Observed
from steepwell.outlook.steeps import steep_now
from steepwell.outlook.vessel_air import AirDays, air_days
from steepwell.outlook.vessel_past import past_temperatures
from steepwell.store.entries import Matter, SteepStarted
from steepwell_sim.world.steep import parts

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import datetime

Array = NDArray[np.float64]

YEAR_D = 365
STARTED_H = 10
MARK, MEDIAN_MARK = (370.0, 500.0), (400.0, 500.0)
# The label is read on the last evening before practice ends.
EVENING = timedelta(hours=10)
LABELS_EVERY_D, QUICK_D = 5, 60
HEADS = ["a year outdoors", "steeps", "least parts", "median", "most"]


class Year(NamedTuple):
    """What a year outdoors made of steeps begun on every day of a record; in parts of water.

    Attributes
    ----------
    truth
        By the warmth of the vessels as it was, held nowhere.
    warmth
        As it is told of their warmth alone, nothing but the air measured.
    label
        What stands on the label, after the calendar and what evaporated; of some of them.
    """

    truth: Array
    warmth: Array
    label: Array


def year_at(at: Place, *, quick: bool) -> Year:
    """Return a year of every start of a record, the vessels by turns on the label."""
    air = _air(at)
    days = at.record.days - YEAR_D - 1
    starts = [at.begin + timedelta(days=day, hours=STARTED_H) for day in range(1, days)]
    hours = np.array([at.hour(start) for start in starts])
    true_d = at.pace_d[hours + 24 * YEAR_D - 1] - at.pace_d[hours - 1]
    truth = np.array([parts(age_d) for age_d in true_d.ravel().tolist()])
    warmth = [_by_warmth(at, air, vessel, starts) for vessel in range(VESSELS)]
    some = list(enumerate(starts))[:: QUICK_D if quick else LABELS_EVERY_D]
    label = [_label(at, air, day % VESSELS, start) for day, start in some]
    return Year(truth, np.concatenate(warmth), np.array(label, dtype=float))


def _air(at: Place) -> AirDays:
    record = at.record
    measured = np.zeros(record.days, dtype=bool)
    days = record.rain_mm, record.tmin_c, record.tmax_c
    observed = Observed(record.first, *days, 0.0, 0, temperature_guessed=measured)
    return air_days(at.garden, observed, record)


def _by_warmth(at: Place, air: AirDays, vessel: int, starts: list[datetime]) -> Array:
    one = at.garden.vessel[vessel]
    presumed = presumed_warmth(one.liquid_l, one.insulation)
    end = at.begin + timedelta(days=at.record.days)
    clock = past_temperatures(presumed, air, [], at.begin, end).clock()
    year_ms = to_ms(at.begin + timedelta(days=YEAR_D)) - to_ms(at.begin)
    ages = [clock(to_ms(start) + year_ms) - clock(to_ms(start)) for start in starts]
    return np.asarray(dilution_parts(np.array(ages)))


def _label(at: Place, air: AirDays, vessel: int, started: datetime) -> int:
    one = at.garden.vessel[vessel]
    start = SteepStarted(at=started, vessel=one.name, matter=(Matter(plant="nettle"),))
    now = started + timedelta(days=YEAR_D - 1) + EVENING
    steep = steep_now(at.garden, one, air, [], record=at.record, entries=[start], now=now)
    return steep.dilution_parts or 0


def row(name: str, found: Iterable[float], *, marked: bool) -> list[str]:
    """Return a row of the table; a missed mark is told where there is one."""
    every = np.array(list(found))
    least, middle, most = float(every.min()), float(np.median(every)), float(every.max())
    (low, high), (under, over) = MARK, MEDIAN_MARK
    met = low <= least and most <= high and under <= middle <= over
    missed = "" if met or not marked else " (missed)"
    return [name, f"{len(every)}", f"{least:.0f}", f"{middle:.0f}", f"{most:.0f}{missed}"]


def year_outdoors(*, quick: bool, markdown: bool = False) -> None:
    """Print how thin feeds are after a year outdoors, for every start of both records.

    Parameters
    ----------
    quick
        Fewer labels.
    markdown
        Whether for a document.
    """
    rows = []
    for name in PLACES:
        year = year_at(place(name), quick=quick)
        rows += [
            row(f"{name}, by the true warmth, unheld", year.truth, marked=False),
            row(f"{name}, told by warmth", year.warmth, marked=True),
            row(f"{name}, on the label", year.label, marked=True),
        ]
    table = as_markdown if markdown else as_text
    sys.stdout.write(f"{table(HEADS, rows)}\n")


if __name__ == "__main__":
    year_outdoors(quick="--quick" in sys.argv)
