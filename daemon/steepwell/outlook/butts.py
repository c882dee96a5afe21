"""Water in the butts now: what was read, carried on by what came in and went out since."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from steepwell.clock import to_ms
from steepwell.model.catchment import TO_GROUND, fill_and_spill
from steepwell.outlook.comings import Drawn, Rained, drawn_since, rained_since
from steepwell.outlook.gutters import Gutter, gutters_of
from steepwell.outlook.levels import Level, levels_read
from steepwell.outlook.reckoning import Reckoning
from steepwell.outlook.state import ButtNow, RoofNow
from steepwell.store.readings import HOUR_MS

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from steepwell.garden.garden import Garden
    from steepwell.outlook.observed import Observed
    from steepwell.store.entries import Entry
    from steepwell.store.store import Store

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Chain:
    """The butts in the order in which water passes them, and the roofs that feed them.

    Attributes
    ----------
    order
        Position in the garden file of each butt of the chain.
    capacity_l, dead_l
        What each holds, and what of it is below the tap [L].
    overflow_to
        Position in the chain of the butt that takes the overflow, -1 for the ground.
    gutters
        The roofs, in the order of the garden file.
    """

    order: tuple[int, ...]
    capacity_l: tuple[float, ...]
    dead_l: tuple[float, ...]
    overflow_to: tuple[int, ...]
    gutters: tuple[Gutter, ...]

    def inflow_l(self, rain_mm: Array, runoff: Array | None = None) -> Array:
        """Return what the roofs deliver to each butt of the chain in a day.

        Parameters
        ----------
        rain_mm
            Rain of the day [mm].
        runoff
            Runoff coefficient of each roof, first axis, in place of those declared [-].

        Returns
        -------
        array
            One more axis in front, the butts of the chain [L].
        """
        inflow = np.zeros((len(self.order), *np.shape(rain_mm)))
        for index, gutter in enumerate(self.gutters):
            coefficient = gutter.runoff if runoff is None else runoff[index]
            inflow[gutter.into] += gutter.of_days_l(rain_mm, coefficient)
        return inflow

    def hourly_inflow_l(self, rain_mm: Array, hour_ms: Array, runoff: Array) -> Array:
        """Return what the roofs deliver to each butt in the hours in which it rained.

        Parameters
        ----------
        rain_mm
            Rain of each hour [mm].
        hour_ms
            When each begins, in order of time [ms since 1970].
        runoff
            Runoff coefficient of each roof [-].

        Returns
        -------
        array
            Shape (butts of the chain, hours) [L].
        """
        inflow = np.zeros((len(self.order), len(hour_ms)))
        at_h = np.floor(hour_ms / HOUR_MS)
        for gutter, coefficient in zip(self.gutters, runoff.tolist(), strict=True):
            inflow[gutter.into] += gutter.of_hours_l(rain_mm, at_h, coefficient)
        return inflow

    def pour(self, volume_l: Array, inflow_l: Array) -> tuple[Array, Array]:
        """Let water in and return the new volumes and what was spilled [L]."""
        return fill_and_spill(
            volume_l, inflow_l, capacity_l=self.capacity_l, overflow_to=self.overflow_to
        )


def chain_of(garden: Garden) -> Chain:
    """Return the butts so that each comes before the one it overflows into."""
    position = {butt.name: index for index, butt in enumerate(garden.butt)}
    depth = [_steps_to_ground(garden, index, position) for index in range(len(garden.butt))]
    order = tuple(sorted(position.values(), key=lambda index: -depth[index]))
    place = {garden.butt[index].name: at for at, index in enumerate(order)}
    butts = [garden.butt[index] for index in order]
    return Chain(
        order,
        tuple(butt.capacity_l for butt in butts),
        tuple(butt.dead_volume for butt in butts),
        tuple(place[b.overflow_to] if b.overflow_to else TO_GROUND for b in butts),
        gutters_of(garden, place),
    )


def _steps_to_ground(garden: Garden, index: int, position: dict[str, int]) -> int:
    steps = 0
    while (following := garden.butt[index].overflow_to) is not None:
        index, steps = position[following], steps + 1
    return steps


def butts_now(
    garden: Garden,
    store: Store,
    observed: Observed,
    entries: Sequence[Entry],
    now: datetime,
    *,
    roofs: Sequence[RoofNow] = (),
) -> tuple[ButtNow, ...]:
    """Return the water in every butt.

    From the last levels on it is reckoned what came in and went out; each level read on the way
    corrects that by how sure both are.

    Parameters
    ----------
    garden
        The garden.
    store
        Where the readings are.
    observed
        The weather since the oldest last reading.
    entries
        The journal; a level read by hand goes before the probe on its day.
    now
        The moment of the job.
    roofs
        What each roof delivers, where that was learned.

    Returns
    -------
    tuple of ButtNow
        In the order of the garden file. A butt that was never read is half full, more or less.
    """
    chain = chain_of(garden)
    levels = levels_read(garden, store, entries, now)
    since_ms = to_ms(levels[0].at) if levels else to_ms(now)
    runoff = np.array([roof.runoff for roof in roofs or garden.roof], dtype=float)
    drawn = drawn_since(garden, entries, since_ms)
    cuts_ms = sorted([level.at_ms for level in levels] + [draw.at_ms for draw in drawn])
    rained = rained_since(garden, chain, observed, since_ms, runoff=runoff, cuts_ms=cuts_ms)
    place = {garden.butt[index].name: at for at, index in enumerate(chain.order)}
    reckoning = Reckoning(chain, since_ms)
    happened: list[Rained | Level | Drawn] = [*rained, *levels, *drawn]
    for event in sorted(happened, key=lambda event: (event.at_ms, event.turn)):
        reckoning.wait(event.at_ms)
        match event:
            case Rained():
                reckoning.rain(event.inflow_l, guessed=event.guessed)
            case Level():
                reckoning.read(place[event.butt], event)
            case Drawn():
                reckoning.draw(event.litres, None if event.butt is None else place[event.butt])
    reckoning.wait(to_ms(now))
    return tuple(
        ButtNow(
            butt.name,
            reckoning.volume_l[place[butt.name]],
            reckoning.read_at[place[butt.name]],
            reckoning.variance_l2[place[butt.name]] ** 0.5,
        )
        for butt in garden.butt
    )
