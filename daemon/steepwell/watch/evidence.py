"""What the rules about leaks, downpipes and gauges look at, gathered once."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from steepwell.clock import from_ms, to_ms
from steepwell.garden.days import local_day
from steepwell.outlook.butts import Chain, chain_of
from steepwell.outlook.comings import Drawn, drawn_since
from steepwell.outlook.observed import Observed, observe
from steepwell.outlook.rains import Rain, rains
from steepwell.outlook.runoff import roofs_now

if TYPE_CHECKING:
    from collections.abc import Sequence

    from steepwell.garden.garden import Garden
    from steepwell.garden.water import Butt
    from steepwell.outlook.state import RoofNow
    from steepwell.store.entries import Entry
    from steepwell.store.notices import StandingNotice
    from steepwell.store.store import Store

# How far back rains and levels are looked at.
LOOK_BACK_D = 45

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Evidence:
    """A garden's water, as read and noted over the last six weeks.

    Attributes
    ----------
    garden, store
        The garden and its readings.
    entries
        The journal.
    now
        The moment of the job; nothing later is looked at.
    standing
        The notices that stand.
    """

    garden: Garden
    store: Store
    entries: Sequence[Entry]
    now: datetime
    standing: Sequence[StandingNotice] = ()

    @cached_property
    def observed(self) -> Observed:
        """The weather, without what is only guessed."""
        first = local_day(self.garden, self.now) - timedelta(days=LOOK_BACK_D)
        return observe(self.garden, self.store, None, self.entries, first=first, now=self.now)

    @cached_property
    def chain(self) -> Chain:
        """The butts, upstream first."""
        return chain_of(self.garden)

    @cached_property
    def roofs(self) -> tuple[RoofNow, ...]:
        """What each roof delivers, as far as it was learned."""
        return roofs_now(self.garden, self.store, self.observed, self.entries, self.now)

    @cached_property
    def rains(self) -> list[Rain]:
        """The rains that are over, in order of time."""
        gutters = self.chain.gutters
        return [
            rain
            for rain in rains(self.garden, self.observed, gutters)
            if rain.after_ms <= to_ms(self.now)
        ]

    @cached_property
    def drawn(self) -> list[Drawn]:
        """What was noted as drawn or added, in order of time."""
        since = self.now - timedelta(days=LOOK_BACK_D)
        return sorted(
            drawn_since(self.garden, self.entries, to_ms(since)), key=lambda draw: draw.at_ms
        )

    @cached_property
    def probed(self) -> dict[str, Butt]:
        """The butts that have a probe, by the name of the probe."""
        return {
            sensor.name: butt
            for butt in self.garden.butt
            if (sensor := self.garden.level_sensor(butt.name)) is not None
        }

    def standing_of(self, kind: str) -> dict[str, StandingNotice]:
        """Return the notices of a kind that stand, by their subject."""
        return {notice.subject: notice for notice in self.standing if notice.kind == kind}

    def levels_at(self, moments_ms: Sequence[int], within_ms: int) -> dict[str, Array]:
        """Return what each probe read at some moments.

        Parameters
        ----------
        moments_ms
            When [ms since 1970].
        within_ms
            How old a reading may be then [ms].

        Returns
        -------
        dict
            By butt, a level for each moment, NaN where it was not heard [L].
        """
        asked = [(probe, from_ms(at_ms)) for probe in self.probed for at_ms in moments_ms]
        found = iter(self.store.readings.last_good_of_each(asked))
        levels: dict[str, Array] = {}
        for butt in self.probed.values():
            read = [next(found) for _ in moments_ms]
            levels[butt.name] = np.array(
                [
                    reading.value
                    if reading is not None and at_ms - reading.time_ms <= within_ms
                    else np.nan
                    for at_ms, reading in zip(moments_ms, read, strict=True)
                ]
            )
        return levels
