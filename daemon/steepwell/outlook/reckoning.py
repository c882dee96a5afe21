"""Water in the butts as reckoned from moment to moment, and how sure that is."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from steepwell.model.catchment import TO_GROUND
from steepwell.model.reconcile import (
    carried_variance_l2,
    clipped_variance_l2,
    corrected_by_bound,
    corrected_by_level,
)
from steepwell.store.readings import DAY_MS

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from steepwell.outlook.butts import Chain
    from steepwell.outlook.levels import Level

# A butt that was never read: half full, and anything from empty to full is as likely.
UNREAD_SHARE, UNREAD_SD_SHARE = 0.5, 0.29
# What comes and goes in a day without being noted, as a share of capacity; from memory.
UNNOTED_SHARE = 0.02
# Of rain counted, of rain guessed from the record and of water noted in cans, as shares of them; a
# day's rain differs from the usual one by about twice as much as that is. From memory.
BY_GAUGE, BY_RECORD = 0.15, 2.0
BY_CANS = 0.15
# A level farther off than so many standard deviations is believed and what was reckoned is not.
SURPRISE = 3.0


@dataclass(slots=True)
class Reckoning:
    """Water in the butts of a chain, in the order of the chain.

    Attributes
    ----------
    chain
        The butts.
    at_ms
        The moment it stands at [ms since 1970].
    volume_l, variance_l2
        Water in each butt and the variance of that [L, L2].
    read_at
        When each was last read, None if never. Such a butt stays half full, whatever comes.
    """

    chain: Chain
    at_ms: int
    volume_l: list[float] = field(init=False)
    variance_l2: list[float] = field(init=False)
    read_at: list[datetime | None] = field(init=False)

    def __post_init__(self) -> None:
        """Begin with butts that were never read."""
        capacity_l = self.chain.capacity_l
        self.volume_l = [UNREAD_SHARE * capacity for capacity in capacity_l]
        self.variance_l2 = [(UNREAD_SD_SHARE * capacity) ** 2 for capacity in capacity_l]
        self.read_at = [None] * len(capacity_l)

    def wait(self, until_ms: int) -> None:
        """Let time pass, in which things happen that nobody notes [ms since 1970]."""
        days = max(until_ms - self.at_ms, 0) / DAY_MS
        self.at_ms += round(days * DAY_MS)
        for at, capacity in enumerate(self.chain.capacity_l):
            if self.read_at[at] is not None:
                grown = self.variance_l2[at] + days * (UNNOTED_SHARE * capacity) ** 2
                self.variance_l2[at] = min(grown, (UNREAD_SD_SHARE * capacity) ** 2)

    def rain(self, inflow_l: Sequence[float], *, guessed: bool) -> None:
        """Let in what the roofs bring to each butt; what does not fit goes on down the chain [L].

        How little is known of a full butt goes on with what runs over.
        """
        over_l, over_l2 = [0.0] * len(inflow_l), [0.0] * len(inflow_l)
        for at, (arrives_l, capacity) in enumerate(
            zip(inflow_l, self.chain.capacity_l, strict=True)
        ):
            if self.read_at[at] is None:
                continue
            reckoned = self.volume_l[at] + arrives_l + over_l[at]
            variance = over_l2[at] + carried_variance_l2(
                self.variance_l2[at],
                inflow_l=arrives_l,
                runoff_uncertainty=BY_RECORD if guessed else BY_GAUGE,
                used_l=0.0,
                use_uncertainty=0.0,
            )
            target = self.chain.overflow_to[at]
            if target != TO_GROUND:
                kept_l2 = clipped_variance_l2(reckoned, variance, most_l=capacity)
                over_l[target] += max(reckoned - capacity, 0.0)
                over_l2[target] += variance - kept_l2
            self._set(at, reckoned, variance, least_l=0.0, most_l=capacity)

    def draw(self, litres: float, butt: int | None) -> None:
        """Take water from a butt, or from all by what is in them; a negative amount is added [L].

        What lies below a tap stays.
        """
        above_l = [
            max(volume - dead, 0.0)
            for volume, dead in zip(self.volume_l, self.chain.dead_l, strict=True)
        ]
        in_hand_l = sum(above_l)
        for at, capacity in enumerate(self.chain.capacity_l):
            if self.read_at[at] is None:
                continue
            if butt is None:
                taken_l = litres * above_l[at] / in_hand_l if in_hand_l > 0.0 else 0.0
            else:
                taken_l = litres * (butt == at)
            left_l = self.volume_l[at] - taken_l
            variance = carried_variance_l2(
                self.variance_l2[at],
                inflow_l=0.0,
                runoff_uncertainty=0.0,
                used_l=taken_l,
                use_uncertainty=BY_CANS,
            )
            least_l = self.volume_l[at] - above_l[at]
            self._set(at, left_l, variance, least_l=least_l, most_l=capacity)

    def read(self, at: int, level: Level) -> None:
        """Bring what was reckoned of a butt of the chain together with what was read."""
        volume, variance = self.volume_l[at], self.variance_l2[at]
        capacity, read_l2 = self.chain.capacity_l[at], level.sd_l**2
        afresh = level.settles or self.read_at[at] is None or self._surprises(at, level)
        if level.at_least and afresh:
            volume = (level.litres + capacity) / 2
            variance = read_l2 + (UNREAD_SD_SHARE * (capacity - level.litres)) ** 2
        elif level.at_least:
            volume, variance = corrected_by_bound(
                volume, variance, at_least_l=level.litres, bound_variance_l2=read_l2
            )
        elif afresh:
            volume, variance = level.litres, read_l2
        else:
            volume, variance = corrected_by_level(
                volume, variance, level_l=level.litres, level_variance_l2=read_l2
            )
        self.read_at[at] = level.at
        self._set(at, float(volume), float(variance), least_l=0.0, most_l=self.chain.capacity_l[at])

    def _surprises(self, at: int, level: Level) -> bool:
        missed_l = level.litres - self.volume_l[at]
        if level.at_least:
            missed_l = max(missed_l, 0.0)
        return missed_l**2 > SURPRISE**2 * (self.variance_l2[at] + level.sd_l**2)

    def _set(
        self, at: int, volume_l: float, variance_l2: float, *, least_l: float, most_l: float
    ) -> None:
        self.volume_l[at] = min(max(volume_l, least_l), most_l)
        self.variance_l2[at] = clipped_variance_l2(
            volume_l, variance_l2, least_l=least_l, most_l=most_l
        )
