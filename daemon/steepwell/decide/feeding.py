"""Which bed gets which feed this week, and why the others get none."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np

from steepwell.decide.feed_due import HUNGRY, WEEK_D, Due, Unfed, who_is_due
from steepwell.decide.feed_sources import FAMILY, OWN, Source, rank_for, sources_of
from steepwell.decide.locks import Lock, barring, locks_on
from steepwell.decide.salts import is_tender, too_salty
from steepwell.words.figures import day as on
from steepwell.words.figures import strung
from steepwell.words.saying import say

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from steepwell.decide.dosing import Dose
    from steepwell.decide.feed_programme import Choice
    from steepwell.decide.feed_wants import Wants
    from steepwell.garden.garden import Garden
    from steepwell.outlook.state import State
    from steepwell.store.entries import Entry

ML_A_LITRE = 1000.0
TIME_LIMIT_S = 5.0


@dataclass(frozen=True, slots=True)
class Feed:
    """One bed's feed.

    Attributes
    ----------
    bed, vessel
        Which bed, from which vessel.
    dose
        The measure for a can.
    dilution_parts
        Parts of water to one of feed.
    day
        When.
    reason
        One sentence for the gardener.
    heed
        What of that is to be heeded, or an empty string.
    only_due
        Whether the reason is no more than that its turn has come.
    """

    bed: str
    vessel: str
    dose: Dose
    dilution_parts: int
    day: date
    reason: str
    heed: str
    only_due: bool


def share_feed(
    garden: Garden,
    state: State,
    entries: Sequence[Entry],
    *,
    watered: Mapping[str, Sequence[date]],
    spare_l: float,
    mean_c: float | None = None,
    time_limit_s: float = TIME_LIMIT_S,
) -> tuple[list[Feed], list[Unfed]]:
    """Match beds that are due with vessels that are ready, at best in five mixings.

    Own crop comes before family, family before a feed that suits any bed. Feed never goes on dry
    soil: a bed that suffers has its water first; one of which that is not known is taken as moist.
    On a bed that is watered this week feed is part of that water; on another one, its can comes out
    of what is left.

    Parameters
    ----------
    garden
        The garden.
    state
        What is so now.
    entries
        The journal, for what was fed, picked, hungry and sick when.
    watered
        The beds that are watered this week, each with its evenings; none where it is every day.
    spare_l
        Rainwater left when those have had theirs [L].
    mean_c
        Mean temperature of the air this week, None where it is not known [°C].
    time_limit_s
        How long each search may take [s].

    Returns
    -------
    tuple of lists
        The beds to feed, and those left out with the reason, in the order of the garden file.
    """
    due, unfed = who_is_due(garden, entries, state.today, mean_c=mean_c)
    dry = {now.name for now in state.beds if now.depletion_mm > now.raw_mm}
    told = [_after_water(each, watered) if each.bed.name in dry else each for each in due]
    moist = [each for each in told if isinstance(each, Due)]
    unfed += [each for each in told if isinstance(each, Unfed)]
    locks = locks_on(garden, entries, state.today)
    sources = sources_of(garden, state)
    served: list[Feed] = []
    if not sources:
        unfed += [Unfed(each.bed.name, say("feeding.nothing-ready")) for each in moist]
    elif moist:
        # A garden with nothing to feed needs no SciPy.
        from steepwell.decide.feed_programme import choose  # noqa: PLC0415

        wants = _wants(garden, state, moist, sources, locks, watered=watered, spare_l=spare_l)
        choice = choose(wants, time_limit_s=time_limit_s)
        for index, each in enumerate(moist):
            if choice is not None and choice.source[index] >= 0:
                day = state.today + timedelta(days=int(choice.day[index]))
                served.append(_feed(each, sources[choice.source[index]], day))
            else:
                reason = _why_left(
                    each, index, sources=sources, locks=locks, wants=wants, choice=choice
                )
                unfed.append(Unfed(each.bed.name, reason))
    order = {bed.name: number for number, bed in enumerate(garden.bed)}
    return served, sorted(unfed, key=lambda each: order[each.bed])


def _after_water(due: Due, watered: Mapping[str, Sequence[date]]) -> Due | Unfed:
    """Leave a bed that suffers only the days on which it has had water, if there are any."""
    name = due.bed.name
    if name not in watered:
        return Unfed(name, say("feeding.no-water"))
    first = min(watered[name], default=due.days[0])
    days = tuple(day for day in due.days if day >= first)
    if not days:
        return Unfed(name, say("feeding.water-first", day=on(first)))
    return replace(due, days=days)


def _wants(
    garden: Garden,
    state: State,
    due: Sequence[Due],
    sources: Sequence[Source],
    locks: Sequence[Lock],
    *,
    watered: Mapping[str, Sequence[date]],
    spare_l: float,
) -> Wants:
    """Return what the programme is asked."""
    from steepwell.decide.feed_wants import Wants  # noqa: PLC0415 - loads SciPy

    shape = len(due), len(sources)
    suits = np.full(shape, -1)
    days = np.zeros((len(due), WEEK_D), dtype=bool)
    water_l = np.zeros(shape)
    for row, each in enumerate(due):
        days[row, [(day - state.today).days for day in each.days]] = True
        for column, source in enumerate(sources):
            rank = rank_for(each, source)
            if rank is None or barring(locks, source.steep.vessel, each.standing.table.family):
                continue
            suits[row, column] = rank
            if each.bed.name not in watered:
                water_l[row, column] = garden.can.size * source.dose.cans
    vessels = [steep.vessel for steep in state.vessels]
    feed_l = np.array([source.dose.feed_ml / ML_A_LITRE for source in sources])
    return Wants(
        may=(suits >= 0)[:, :, None] & days[:, None, :],
        rank=np.maximum(suits, 0),
        tier=np.array([each.tier for each in due]),
        waited_d=np.array([each.waited_d for each in due]),
        feed_l=np.broadcast_to(feed_l, shape),
        water_l=water_l,
        vessel=np.array([vessels.index(each.steep.vessel) for each in sources], dtype=int),
        there_l=np.array([steep.usable_l for steep in state.vessels]),
        spare_l=max(spare_l, 0.0),
    )


def _why_left(
    due: Due,
    index: int,
    *,
    sources: Sequence[Source],
    locks: Sequence[Lock],
    wants: Wants,
    choice: Choice | None,
) -> str:
    """Return why a bed that is due gets no feed."""
    if choice is None:
        return say("feeding.no-time")
    suits = np.flatnonzero(wants.may[index].any(axis=1))
    if not suits.size:
        family = due.standing.table.family
        kept = [
            lock
            for source in sources
            if rank_for(due, source) is not None
            and (lock := barring(locks, source.steep.vessel, family)) is not None
        ]
        if kept:
            return say("feeding.locked", vessel=kept[0].vessel, because=kept[0].because)
        return say("feeding.nothing-ready")
    fed = np.flatnonzero(choice.source >= 0)
    spent_l = float(wants.water_l[fed, choice.source[fed]].sum())
    if wants.water_l[index, suits].min() > wants.spare_l - spent_l:
        return say("feeding.no-rainwater")
    drawn_l = np.zeros(len(wants.there_l))
    np.add.at(drawn_l, wants.vessel[choice.source[fed]], wants.feed_l[fed, choice.source[fed]])
    left_l = (wants.there_l - drawn_l)[wants.vessel[suits]]
    if (wants.feed_l[index, suits] > left_l).all():
        return say("feeding.too-little")
    return say("feeding.others-first")


def _feed(due: Due, source: Source, day: date) -> Feed:
    steep = source.steep
    why, only_due = _why_this(due, source)
    reasons, heed = [why], []
    if too_salty(source.parts, tender=is_tender(due.bed, due.standing.crop)) is not None:
        heed.append(say("feeding.water-in"))
        reasons.append(say("feeding.salty", so=heed[-1]))
    if due.waits_d:
        heed.append(say("feeding.pick-nothing", day=on(day + timedelta(days=due.waits_d))))
        reasons.append(heed[-1])
    return Feed(
        due.bed.name,
        steep.vessel,
        source.dose,
        source.parts,
        day,
        strung(reasons),
        strung(heed),
        only_due=only_due and not heed,
    )


def _why_this(due: Due, source: Source) -> tuple[str, bool]:
    """Return why a bed gets a feed and why this one, and whether that is only that it is due."""
    vessel = source.steep.vessel
    why = say("feeding.hungry" if due.tier == HUNGRY else "feeding.due")
    rank = rank_for(due, source) or OWN
    only_due = due.tier != HUNGRY and rank not in {OWN, FAMILY} and not source.tender
    if rank == OWN:
        why = say("feeding.own-crop", why=why, vessel=vessel)
    elif rank == FAMILY:
        why = say("feeding.own-family", why=why, vessel=vessel, family=due.standing.table.family)
    return say("feeding.thinner", why=why) if source.tender else why, only_due
