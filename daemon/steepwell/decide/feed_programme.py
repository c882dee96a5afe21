"""The week's feed as a small mixed-integer programme: which bed, of which feed, on which day."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, OptimizeResult, milp
from scipy.sparse import csr_array

if TYPE_CHECKING:
    from collections.abc import Iterable

MOST_MIXINGS = 5
# How far the order of what comes second may sway the search for what comes first.
SWAY = 0.5
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
    bed, source, day = np.nonzero(_worth_a_look(wants))
    nobody = np.full(len(wants.tier), -1)
    if not bed.size:
        return Choice(nobody, nobody.copy(), proven=True)
    _, mixing = np.unique(source * wants.may.shape[2] + day, return_inverse=True)
    matrix, bound = _rows(wants, bed, source, mixing, most)
    rules = LinearConstraint(matrix, -np.inf, bound)
    worth = (len(nobody) + 1.0) ** wants.tier[bed]
    second = _second(wants, bed, source, day, most)
    mixings = int(mixing.max()) + 1
    spread = float(np.abs(second).sum()) + mixings
    first = np.concatenate([second * (SWAY / spread) - worth, np.zeros(mixings)])
    found = _solve(first, [rules], time_limit_s)
    if found.x is None:
        return None
    fed = np.round(found.x[: len(bed)])
    in_tier = [(wants.tier[bed] == tier).astype(float) for tier in np.unique(wants.tier[bed])]
    as_many = np.array([tier @ fed for tier in in_tier])
    tiers = csr_array(np.column_stack([np.array(in_tier), np.zeros((len(in_tier), mixings))]))
    rules_of_first = [rules, LinearConstraint(tiers, as_many, as_many)]
    best = _solve(np.concatenate([second, np.ones(mixings)]), rules_of_first, time_limit_s)
    if best.x is not None:
        fed = np.round(best.x[: len(bed)])
    chosen = np.flatnonzero(fed)
    sources, days = nobody, nobody.copy()
    sources[bed[chosen]], days[bed[chosen]] = source[chosen], day[chosen]
    return Choice(sources, days, proven=found.status == best.status == 0)


def _solve(cost: Array, rules: Iterable[LinearConstraint], time_limit_s: float) -> OptimizeResult:
    return milp(
        cost,
        integrality=np.ones(len(cost)),
        bounds=Bounds(0.0, 1.0),
        constraints=list(rules),
        options={"mip_rel_gap": 0.0, "time_limit": time_limit_s},
    )


def _second(wants: Wants, bed: Whole, source: Whole, day: Whole, most: int) -> Array:
    """Return the cost of each choice in mixings: a day or litre outweighs all of suiting."""
    beds = len(wants.tier)
    suits = most + 1
    delay = suits * (int(wants.rank.max(initial=0)) * beds + 1)
    first = np.where(wants.may.any(axis=1), np.arange(wants.may.shape[2]), wants.may.shape[2])
    late_d = day - first.min(axis=1)[bed] - wants.waited_d[bed]
    # Litres count by how many of the smallest share they are, so that all costs stay whole.
    share_l = wants.water_l[wants.water_l > 0].min(initial=np.inf)
    cans = np.round(wants.water_l[bed, source] / share_l)
    cost: Array = delay * (late_d + cans) + suits * wants.rank[bed, source].astype(float)
    return cost


def _worth_a_look(wants: Wants) -> Flags:
    """Return what may be fed from what without what another choice is always as good as."""
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
    for one in range(sources):
        for later in range(1, days):
            earlier = may[:, one, :later] >= may[:, one, later, None]
            if earlier.all(axis=0).any():
                may[:, one, later] = False
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


def _rows(
    wants: Wants, bed: Whole, source: Whole, mixing: Whole, most: int
) -> tuple[csr_array, Array]:
    """Return the left sides and the right sides.

    Each bed is fed once at most, from a mixing that is made; a vessel gives what may be drawn from
    it, and each mixing no more than that, which says nothing new but shortens the search; the water
    is there; and so many mixings are enough.
    """
    pairs, beds, vessels = np.arange(len(bed)), len(wants.tier), len(wants.there_l)
    mixings = int(mixing.max()) + 1
    made = len(bed) + np.arange(mixings)
    drawn_l = np.zeros((vessels, len(bed)))
    drawn_l[wants.vessel[source], pairs] = wants.feed_l[bed, source]
    vessel_rows = [_in_shares(*row) for row in zip(drawn_l, wants.there_l, strict=True)]
    taken = [*vessel_rows, _in_shares(wants.water_l[bed, source], wants.spare_l)]
    shares, there = np.array([row for row, _ in taken]), np.array([most for _, most in taken])
    vessel = np.zeros(mixings, dtype=int)
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
        (holds + np.arange(mixings), made, -there[vessel]),
        (np.full(mixings, holds + mixings), made, 1.0),
    ]
    rows = np.concatenate([row for row, _, _ in entries])
    columns = np.concatenate([column for _, column, _ in entries])
    values = np.concatenate([np.broadcast_to(value, row.shape) for row, _, value in entries])
    none = np.zeros(mixings)
    bound = np.concatenate([np.ones(beds), np.zeros(len(bed)), there, none, [float(most)]])
    return csr_array((values, (rows, columns)), shape=(len(bound), len(bed) + mixings)), bound


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
