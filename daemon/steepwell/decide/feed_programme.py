"""The week's feed as a small mixed-integer programme: which bed, of which feed, on which day."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import product

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, OptimizeResult, milp
from scipy.sparse import csr_array

MOST_MIXINGS = 5
ROUNDING = 1e-9

Flags = NDArray[np.bool_]
Whole = NDArray[np.int_]
Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Wants:
    """What may be fed from what, and when. A source is a vessel at one dilution.

    Attributes
    ----------
    may
        Whether a bed may be fed from a source on a day; (beds, sources, days).
    rank
        How well they suit, 0 for the bed's own crop, more for less; (beds, sources).
    tier
        Beds of a higher tier come first; (beds,).
    waited_d
        How long a bed has been due; (beds,) [d].
    feed_l, water_l
        What it takes of the source, and of the rainwater to spare; (beds, sources) [L].
    vessel
        Which vessel each source is; (sources,).
    there_l
        Liquid that may be drawn from each vessel; (vessels,) [L].
    spare_l
        Rainwater to spare [L].
    """

    may: Flags
    rank: Whole
    tier: Whole
    waited_d: Whole
    feed_l: Array
    water_l: Array
    vessel: Whole
    there_l: Array
    spare_l: float


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
        How long each of the two searches may take [s].
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
    first = _Programme(how_many, _worth_a_look(how_many, any_day=True), most)
    worth: Array = (len(nobody) + 1.0) ** wants.tier[first.bed].astype(float)
    found = first.solve(-worth, 0.0, time_limit_s)
    if found.x is None:
        return None
    second = _Programme(wants, _worth_a_look(wants, any_day=False), most)
    fed_tiers = wants.tier[first.bed[first.chosen(found)]]
    best = second.solve(second.delay_and_match(), 1.0, time_limit_s, fed_tiers)
    done, by = (second, best) if best.x is not None else (first, found)
    chosen = done.chosen(by)
    sources, days = nobody, nobody.copy()
    sources[done.bed[chosen]] = done.source[chosen]
    days[done.bed[chosen]] = done.day[chosen]
    return Choice(sources, days, proven=found.status == best.status == 0)


class _Programme:
    """A search among some of the choices, each a bed, a source and a day."""

    def __init__(self, wants: Wants, may: Flags, most: int) -> None:
        self.wants, self.most = wants, most
        self.bed, self.source, self.day = np.nonzero(may)
        days = self.source * may.shape[2] + self.day
        _, self.mixing = np.unique(days, return_inverse=True)
        self.mixings = int(self.mixing.max()) + 1

    def solve(
        self, cost: Array, a_mixing: float, time_limit_s: float, fed_tiers: Whole | None = None
    ) -> OptimizeResult:
        """Return the choices with the least cost, with as many beds of each tier, if it is told."""
        rules = [self._rules()]
        if fed_tiers is not None:
            for tier in np.unique(self.wants.tier):
                of_tier = (self.wants.tier[self.bed] == tier).astype(float)
                row = np.concatenate([of_tier, np.zeros(self.mixings)])
                count = np.count_nonzero(fed_tiers == tier)
                rules.append(LinearConstraint(csr_array(row[None]), count, count))
        costs = np.concatenate([cost, np.full(self.mixings, a_mixing)])
        # Of the search with the tiers told presolve makes a longer one: 2.8 s, 1.0 s without it, in
        # the slowest of sixty weeks.
        presolve = fed_tiers is None
        return milp(
            costs,
            integrality=np.ones(len(costs)),
            bounds=Bounds(0.0, 1.0),
            constraints=rules,
            options={"mip_rel_gap": 0.0, "time_limit": time_limit_s, "presolve": presolve},
        )

    def chosen(self, found: OptimizeResult) -> Whole:
        """Return the positions of what was chosen."""
        return np.flatnonzero(np.round(found.x[: len(self.bed)]))

    def delay_and_match(self) -> Array:
        """Return the cost of each choice in mixings: a day or can outweighs all of suiting."""
        wants, bed, source = self.wants, self.bed, self.source
        match = self.most + 1
        delay = match * (int(wants.rank.max(initial=0)) * len(wants.tier) + 1)
        days = wants.may.shape[2]
        first = np.where(wants.may.any(axis=1), np.arange(days), days).min(axis=1)
        late_d = self.day - first[bed] - wants.waited_d[bed]
        can_l = wants.water_l[wants.water_l > 0].min(initial=np.inf)
        cans = np.round(wants.water_l[bed, source] / can_l)
        cost: Array = delay * (late_d + cans) + match * wants.rank[bed, source].astype(float)
        return cost

    def _rules(self) -> LinearConstraint:
        """Return what must hold.

        Each bed is fed once at most, from a mixing that is made; a vessel gives what may be drawn
        from it, and each mixing no more than that, which says nothing new but shortens the search;
        the water is there; and so many mixings are enough.
        """
        wants, bed, source, mixing = self.wants, self.bed, self.source, self.mixing
        pairs, beds, vessels = np.arange(len(bed)), len(wants.tier), len(wants.there_l)
        made = len(bed) + np.arange(self.mixings)
        drawn_l = np.zeros((vessels, len(bed)))
        drawn_l[wants.vessel[source], pairs] = wants.feed_l[bed, source]
        vessel_rows = [_in_shares(*row) for row in zip(drawn_l, wants.there_l, strict=True)]
        taken = [*vessel_rows, _in_shares(wants.water_l[bed, source], wants.spare_l)]
        shares, there = np.array([row for row, _ in taken]), np.array([most for _, most in taken])
        vessel = np.zeros(self.mixings, dtype=int)
        vessel[mixing] = wants.vessel[source]
        needs = beds
        gives = needs + len(bed)
        holds = gives + len(taken)
        share, pair = np.nonzero(shares)
        entries: list[tuple[Whole, Whole, Array | float]] = [
            (bed, pairs, 1.0),
            (needs + pairs, pairs, 1.0),
            (needs + pairs, made[mixing], -1.0),
            (gives + share, pair, shares[share, pair]),
            (holds + mixing, pairs, shares[wants.vessel[source], pairs]),
            (holds + np.arange(self.mixings), made, -there[vessel]),
            (np.full(self.mixings, holds + self.mixings), made, 1.0),
        ]
        rows = np.concatenate([row for row, _, _ in entries])
        columns = np.concatenate([column for _, column, _ in entries])
        values = np.concatenate([np.broadcast_to(value, row.shape) for row, _, value in entries])
        bound = np.concatenate(
            [np.ones(beds), np.zeros(len(bed)), there, np.zeros(self.mixings), [float(self.most)]]
        )
        shape = len(bound), len(bed) + self.mixings
        return LinearConstraint(csr_array((values, (rows, columns)), shape=shape), -np.inf, bound)


def _worth_a_look(wants: Wants, *, any_day: bool) -> Flags:
    """Return what may be fed from what, without that for which another choice always does.

    A day does for another one if it is earlier, or any day is as good.
    """
    may = wants.may.copy()
    sources, days = may.shape[1:]
    takes_l = np.where(may.any(axis=2), wants.feed_l, 0.0)
    most_l = [takes_l[:, wants.vessel == v].sum() for v in range(len(wants.there_l))]
    ample = (wants.there_l >= np.array(most_l))[wants.vessel]
    for one in range(sources):
        for other in np.flatnonzero(ample):
            if other != one and _covers(wants, may, int(other), one):
                may[:, one] = False
                break
    for one, day in product(range(sources), range(days)):
        for another in range(days if any_day else day):
            covered = may[:, one, another] >= may[:, one, day]
            if another != day and may[:, one, another].any() and covered.all():
                may[:, one, day] = False
                break
    return may


def _covers(wants: Wants, may: Flags, one: int, other: int) -> bool:
    """Return whether one source does for every bed what another does, no worse."""
    served = may[:, other].any(axis=1)
    if not served.any():
        return False
    return bool(
        (may[:, one] >= may[:, other]).all()
        and (wants.rank[served, one] <= wants.rank[served, other]).all()
        and (wants.water_l[served, one] <= wants.water_l[served, other]).all()
    )


def _in_shares(takes_l: Array, there_l: float) -> tuple[Array, float]:
    """Return what is taken and what is there in the smallest that is taken, whole where it can be.

    Where all take the same, part of a share more does nobody any good; without it the search is
    short.
    """
    share_l = float(takes_l[takes_l > 0].min(initial=np.inf))
    takes = takes_l / share_l
    there = min(there_l / share_l, float(takes.sum())) + ROUNDING
    whole = bool(np.all(np.isin(takes, (0.0, 1.0))))
    return takes, float(np.floor(there)) if whole else there
