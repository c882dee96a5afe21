"""A dry summer: who does what the plan says loses no more than who pours until nothing is left."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from tests.gardens import state_of

from steepwell.decide.plan import make_plan
from steepwell.garden.load import load_garden
from steepwell.garden.tables import config_dir
from steepwell.model.dual import dual_step
from steepwell.outlook.butts import chain_of
from steepwell.outlook.calendar import bed_stays, standing_on
from steepwell.outlook.demand import bed_days
from steepwell.outlook.outlook import make_outlook
from steepwell.outlook.record import Record, read_record
from steepwell.outlook.state import BedNow, State

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from numpy.typing import NDArray

    from steepwell.garden.garden import Garden

    Given = Callable[["Toy", int], dict[str, float]]

FIRST, DAYS = date(1976, 5, 1), 123
MEMBERS = 50


def without(record: Record, year: int) -> Record:
    """Return a record that does not know a year."""
    start, end = (date(y, 1, 1) - record.first for y in (year, year + 1))
    known = [record.rain_mm, record.tmin_c, record.tmax_c, record.et0_mm]
    rain, tmin, tmax, et0 = (column.copy() for column in known)
    for column in (rain, tmin, tmax, et0):
        column[max(start.days, 0) : end.days] = np.nan
    return Record(record.first, rain, tmin, tmax, et0)


@dataclass
class Toy:
    """A garden of which everything is known but the weather to come."""

    garden: Garden
    record: Record
    litres: NDArray[np.float64]
    depletion_mm: NDArray[np.float64]
    surface_mm: NDArray[np.float64]
    watered_mm: NDArray[np.float64]
    eta_mm: list[NDArray[np.float64]] = field(default_factory=list)
    etc_mm: list[NDArray[np.float64]] = field(default_factory=list)

    @classmethod
    def of(cls, garden: Garden, record: Record) -> Toy:
        full = np.array([butt.capacity_l for butt in garden.butt])
        return cls(garden, record, full, *np.zeros((3, len(garden.bed))))

    def season(self, given: Given) -> float:
        """Live through the season and return the loss, beds weighing by area and priority."""
        chain, order = chain_of(self.garden), list(chain_of(self.garden).order)
        asked = bed_days(self.garden, FIRST, DAYS)
        area = np.array([bed.area for bed in self.garden.bed])
        rained_on = np.array([bed.rained_on for bed in self.garden.bed], dtype=float)
        dead = np.array([butt.dead_volume for butt in self.garden.butt])
        at = (FIRST - self.record.first).days
        for day in range(DAYS):
            meant = given(self, day)
            rain_mm, et0_mm = self.record.rain_mm[at + day], self.record.et0_mm[at + day]
            poured, _ = chain.pour(self.litres[order], chain.inflow_l(np.asarray(rain_mm)))
            self.litres[order] = poured
            rows = asked.demand(asked.raw_mm)
            step = dual_step(
                self.surface_mm,
                self.depletion_mm,
                rain_mm=rain_mm * rained_on,
                irrigation_mm=self.watered_mm,
                et0_mm=et0_mm,
                **{name: values[day] for name, values in rows.items()},
            )
            self.surface_mm, self.depletion_mm = step.surface_mm, step.depletion_mm
            self.watered_mm = np.zeros(len(area))
            drawn_mm = step.eta_mm - step.evaporation_mm
            self.eta_mm.append(drawn_mm * asked.grows[day])
            self.etc_mm.append(asked.kcb[day] * et0_mm * asked.grows[day])
            for column, bed in enumerate(self.garden.bed):
                above = np.maximum(self.litres - dead, 0.0)
                poured_l = min(meant.get(bed.name, 0.0) * asked.grows[day, column], above.sum())
                self.litres = self.litres - above * (poured_l / max(above.sum(), 1e-9))
                self.watered_mm[column] = poured_l / area[column]
        return self._loss(area)

    def _loss(self, area: NDArray[np.float64]) -> float:
        """Return Ky (1 - ΣETa/ΣETc) of every crop, by the water it wants (FAO-56, eq. 90)."""
        weight = area * np.array([bed.priority for bed in self.garden.bed])
        lost = np.array([self._bed_loss(column) for column in range(len(area))])
        return float(lost @ weight / weight.sum())

    def _bed_loss(self, column: int) -> float:
        lost = wanted = 0.0
        last = FIRST + timedelta(days=DAYS - 1)
        for stay in bed_stays(self.garden, self.garden.bed[column], FIRST, last):
            days = slice(max((stay.planted - FIRST).days, 0), (stay.last - FIRST).days + 1)
            etc = sum(etc[column] for etc in self.etc_mm[days])
            eta = sum(eta[column] for eta in self.eta_mm[days])
            lost += stay.table.ky * (etc - eta)
            wanted += etc
        return lost / wanted if wanted else 0.0

    def state(self, day: int) -> State:
        """Return what the program would know on a morning."""
        today = FIRST + timedelta(days=day)
        now = datetime.combine(today, time(6, 30), self.garden.garden.zone).astimezone(UTC)
        asked = bed_days(self.garden, today, 1)
        beds = []
        for column, bed in enumerate(self.garden.bed):
            standing = standing_on(self.garden, bed, today)
            taw, raw = float(asked.taw_mm[0, column]), float(asked.raw_mm[0, column])
            lacks = min(float(self.depletion_mm[column]), taw)
            crop = standing.crop if standing else None
            surface = float(self.surface_mm[column])
            beds.append(BedNow(bed.name, lacks, taw, raw, crop, surface_mm=surface))
        nothing = [0.0] * len(beds)
        state = state_of(self.garden, now, litres=self.litres.tolist(), depletion_mm=nothing)
        return State(
            now,
            today,
            0.0,
            tuple(self.watered_mm.tolist()),
            state.watered_tonight_mm,
            state.butts,
            tuple(beds),
            (),
        )


def until_empty(toy: Toy, _: int) -> dict[str, float]:
    """Water every bed to its need every evening, in half cans."""
    half_l = toy.garden.can.size / 2
    area = [bed.area for bed in toy.garden.bed]
    lacks_mm = np.maximum(toy.depletion_mm - toy.watered_mm, 0.0)
    needs = zip(toy.garden.bed, lacks_mm * area, strict=True)
    return {bed.name: half_l * float(np.floor(need / half_l + 0.5)) for bed, need in needs}


def follower(record: Record) -> Given:
    """Return somebody who does for a week what the plan of its first day said."""
    plan: dict[str, Any] = {}

    def given(toy: Toy, day: int) -> dict[str, float]:
        if day % 7 == 0:
            now = toy.state(day)
            outlook = make_outlook(toy.garden, now, record, [], seed=day, members=MEMBERS)
            plan.update(make_plan(toy.garden, now, outlook, []))
        today = (FIRST + timedelta(days=day)).isoformat()
        at = (FIRST - toy.record.first).days
        fell_mm = toy.record.rain_mm[at + day - day % 7 : at + day + 1].sum()
        open_beds = {bed.name for bed in toy.garden.bed if bed.rained_on}
        daily = {line["bed"]: line["daily_l"] for line in plan["water"] if line["daily_l"]}
        return daily | {
            line["bed"]: line["litres"] / len(line["days"])
            for line in plan["water"]
            if today in line["days"]
            and not (line["bed"] in open_beds and fell_mm > line["skip_after_mm"])
        }

    return given


@pytest.mark.parametrize("name", ["small", "large"])
def test_who_follows_the_plan_loses_no_more_than_who_pours_until_empty(
    name: str, brussels_csv: Path
) -> None:
    garden = load_garden(config_dir() / "gardens" / f"{name}.toml")
    garden = garden.model_copy(update={"vessel": ()})
    record = read_record(brussels_csv)
    poured = Toy.of(garden, record).season(until_empty)
    followed = Toy.of(garden, record).season(follower(without(record, 1976)))
    assert followed <= poured
