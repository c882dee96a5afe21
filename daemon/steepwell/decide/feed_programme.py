"""The week's feed as a small mixed-integer programme: which bed, of which feed, on which day."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, OptimizeResult, milp
from scipy.sparse import csr_array

from steepwell.decide.feed_wants import Array, Flags, Wants, Whole, alike, worth_a_look

if TYPE_CHECKING:
    from collections.abc import Sequence

MOST_MIXINGS = 5
ROUNDING = 1e-9


@dataclass(frozen=True, slots=True)
class Choice:
    """The best share-out that was found.

    Attributes
    ----------
    source, day
        Of each bed, -1 where it is left out; (beds,).
    proven
        Whether no other one is better.
    """

    source: Whole
    day: Whole
    proven: bool


def choose(wants: Wants, *, time_limit_s: float, most: int = MOST_MIXINGS) -> Choice | None:
    """Return who is fed from what, and when.

    As many beds as can be are fed, those of a higher tier before any number of others. Among such
    share-outs the one with the least delay and water is taken, longest waits first; among those the
    one that suits best; and then the one with the fewest mixings.

    Parameters
    ----------
    wants
        What may be fed from what.
    time_limit_s
        How long each of the three searches may take [s].
    most
        Mixings at most: feed of one source on one day, however many beds it is for [-].

    Returns
    -------
    Choice or None
        None if there was no time for any.
    """
    nobody = np.full(len(wants.tier), -1)
    if not wants.may.any():
        return Choice(nobody, nobody.copy(), proven=True)
    how_many = replace(wants, rank=np.zeros_like(wants.rank))
    first = _Programme(how_many, worth_a_look(how_many, any_day=True), most)
    found = first.solve(first.number(), time_limit_s)
    if found.x is None:
        return None
    fed_tiers = first.fed_tiers(found)
    second = _Programme(how_many, worth_a_look(how_many, any_day=False), most)
    soon = second.solve(second.delay(), time_limit_s, second.tiers_like(fed_tiers))
    if soon.x is None:
        return first.choice(found, proven=False)
    third = _Programme(wants, worth_a_look(wants, any_day=False), most)
    as_soon = _Row(third.delay(), -np.inf, float(np.round(soon.fun)))
    best = third.solve(third.suiting(), time_limit_s, [*third.tiers_like(fed_tiers), as_soon])
    if best.x is None:
        return second.choice(soon, proven=False)
    return third.choice(best, proven=found.status == soon.status == best.status == 0)


@dataclass(frozen=True, slots=True)
class _Row:
    """A rule: the sum of columns times values lies between two bounds."""

    values: Array
    low: float
    high: float


class _Programme:
    """A search among some of the choices, each a kind of bed, a source and a day.

    Of beds that are alike it is asked how many are fed from a source on a day, not which; those
    that have waited longest are. Asked bed by bed, the search would go through all their orders.
    Columns are such numbers, then the mixings that are made, then for each bed whether it is fed.
    """

    def __init__(self, wants: Wants, may: Flags, most: int) -> None:
        self.wants, self.most = wants, most
        self.kind_of = alike(wants, may)
        _, one = np.unique(self.kind_of, return_index=True)
        self.kind, self.source, self.day = np.nonzero(may[one])
        self.bed = one[self.kind]
        days = self.source * may.shape[2] + self.day
        _, self.mixing = np.unique(days, return_inverse=True)
        self.pairs, self.mixings = len(self.bed), int(self.mixing.max()) + 1
        self.columns = self.pairs + self.mixings + len(wants.tier)
        takes = [self._takes(vessel) for vessel in range(len(wants.there_l))]
        self.takes, self.there = np.array([t for t, _ in takes]), np.array([m for _, m in takes])
        self.most_fed = self._most_fed()

    def solve(
        self, cost: Array, time_limit_s: float, beside: Sequence[_Row] = ()
    ) -> OptimizeResult:
        """Return the choices with the least cost, by the rules of all and those told.

        The cost, a whole number, is a column of its own on which the search may branch: with it the
        slowest of sixty weeks took a third of the time.
        """
        rows = [*self._rules(), *beside, _Row(cost, 0.0, 0.0)]
        of_cost = np.zeros((len(rows), 1))
        of_cost[-1] = -1.0
        matrix = csr_array(np.hstack([np.array([row.values for row in rows]), of_cost]))
        low, high = np.array([(row.low, row.high) for row in rows]).T
        least = np.concatenate([np.zeros(self.columns), [-np.inf]])
        most = np.concatenate([self.most_fed, np.ones(self.columns - self.pairs), [np.inf]])
        return milp(
            np.arange(self.columns + 1) == self.columns,
            integrality=np.ones(self.columns + 1),
            bounds=Bounds(least, most),
            constraints=LinearConstraint(matrix, low, high),
            options={"mip_rel_gap": 0.0, "time_limit": time_limit_s},
        )

    def choice(self, found: OptimizeResult, *, proven: bool) -> Choice:
        """Return who is fed: of each kind the longest waits first, and on the earlier days."""
        sources = np.full(len(self.wants.tier), -1)
        days = sources.copy()
        numbers = self._numbers(found)
        for kind in np.unique(self.kind):
            pairs = np.flatnonzero(self.kind == kind)
            early = pairs[np.argsort(self.day[pairs], kind="stable")]
            fed = np.repeat(early, numbers[early])
            beds = np.flatnonzero(self.kind_of == kind)
            longest = beds[np.argsort(-self.wants.waited_d[beds], kind="stable")][: len(fed)]
            sources[longest], days[longest] = self.source[fed], self.day[fed]
        return Choice(sources, days, proven)

    def fed_tiers(self, found: OptimizeResult) -> Whole:
        """Return the tiers of the beds that are fed."""
        fed: Whole = np.repeat(self.wants.tier[self.bed], self._numbers(found))
        return fed

    def tiers_like(self, fed_tiers: Whole) -> list[_Row]:
        """Return rules for as many beds of each tier to be fed."""
        tiers = self.wants.tier[self.bed]
        counts = [(tier, float(np.sum(fed_tiers == tier))) for tier in np.unique(tiers)]
        return [_Row(self._row(pairs=tiers == tier), count, count) for tier, count in counts]

    def number(self) -> Array:
        """Return a cost of which one bed of a tier outweighs all of lower ones."""
        worth: Array = (len(self.wants.tier) + 1.0) ** self.wants.tier[self.bed].astype(float)
        return self._row(pairs=-worth)

    def delay(self) -> Array:
        """Return the cost of days and cans, less the days for which those fed have waited."""
        wants, days = self.wants, self.wants.may.shape[2]
        first = np.where(wants.may.any(axis=1), np.arange(days), days).min(axis=1)
        can_l = wants.water_l[wants.water_l > 0].min(initial=np.inf)
        cans = np.round(wants.water_l[self.bed, self.source] / can_l)
        return self._row(pairs=self.day - first[self.bed] + cans, beds=-wants.waited_d)

    def suiting(self) -> Array:
        """Return the cost of what suits less than its own crop, which outweighs all mixings."""
        rank = self.wants.rank[self.bed, self.source].astype(float)
        return self._row(pairs=(self.most + 1.0) * rank, mixings=np.ones(self.mixings))

    def _numbers(self, found: OptimizeResult) -> Whole:
        return np.asarray(np.round(found.x[: self.pairs]), dtype=int)

    def _row(
        self,
        *,
        pairs: Array | Flags | None = None,
        mixings: Array | Flags | None = None,
        beds: Array | Flags | Whole | None = None,
    ) -> Array:
        sizes = (self.pairs, self.mixings, len(self.wants.tier))
        parts = zip((pairs, mixings, beds), sizes, strict=True)
        return np.concatenate([np.zeros(n) if part is None else part for part, n in parts]) * 1.0

    def _takes(self, vessel: int) -> tuple[Array, float]:
        mine = self.wants.vessel[self.source] == vessel
        drawn_l = np.where(mine, self.wants.feed_l[self.bed, self.source], 0.0)
        return _in_shares(drawn_l, self._beds(), self.wants.there_l[vessel])

    def _beds(self) -> Whole:
        """Return how many beds are of the kind of each choice."""
        return np.asarray(np.bincount(self.kind_of)[self.kind])

    def _most_fed(self) -> Array:
        """Return how many beds a choice can feed, by their number and the liquid."""
        vessel = self.wants.vessel[self.source]
        taken = self.takes[vessel, np.arange(self.pairs)]
        least = np.minimum(self._beds(), np.floor(self.there[vessel] / taken + ROUNDING))
        return np.asarray(least, dtype=float)

    def _rules(self) -> list[_Row]:
        """Return what must hold.

        Each bed is fed once at most, from a mixing that is made; a vessel gives what may be drawn
        from it, and each mixing no more than that, which says nothing new but shortens the search;
        the water is there; and so many mixings are enough.
        """
        wants, source = self.wants, self.source
        rows = [
            _Row(self._row(pairs=self.kind == kind, beds=-1.0 * (self.kind_of == kind)), 0.0, 0.0)
            for kind in range(int(self.kind_of.max()) + 1)
        ]
        made = np.eye(self.mixings)
        for pair, most in enumerate(self.most_fed):
            one = np.arange(self.pairs) == pair
            of_made = -most * made[self.mixing[pair]]
            rows.append(_Row(self._row(pairs=one, mixings=of_made), -np.inf, 0.0))
        for takes, there in zip(self.takes, self.there, strict=True):
            rows.append(_Row(self._row(pairs=takes), -np.inf, there))
        for mixing in range(self.mixings):
            of_it = self.mixing == mixing
            vessel = wants.vessel[source[of_it][0]]
            takes = np.where(of_it, self.takes[vessel], 0.0)
            most = min(self.there[vessel], float(takes @ self.most_fed))
            rows.append(_Row(self._row(pairs=takes, mixings=-most * made[mixing]), -np.inf, 0.0))
        water, spare = _in_shares(wants.water_l[self.bed, source], self._beds(), wants.spare_l)
        rows.append(_Row(self._row(pairs=water), -np.inf, spare))
        rows.append(_Row(self._row(mixings=np.ones(self.mixings)), -np.inf, float(self.most)))
        return rows


def _in_shares(takes_l: Array, beds: Whole, there_l: float) -> tuple[Array, float]:
    """Return what each bed takes and what is there in the smallest that is taken.

    Both are whole where they can be: where all take the same, part of a share more does nobody any
    good, and without it the search is short.
    """
    share_l = float(takes_l[takes_l > 0].min(initial=np.inf))
    takes = takes_l / share_l
    there = min(there_l / share_l, float(takes @ beds)) + ROUNDING
    whole = bool(np.all(np.isin(takes, (0.0, 1.0))))
    return takes, float(np.floor(there)) if whole else there
