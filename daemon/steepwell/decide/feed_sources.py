"""Steeps from which feed may be taken, at which dilution, and which crops they suit."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from steepwell.decide.dosing import Dose, dose
from steepwell.decide.locks import plant_family
from steepwell.decide.salts import is_tender
from steepwell.garden.tables import reference_tables
from steepwell.model.dilution import LADDER, rung

if TYPE_CHECKING:
    from collections.abc import Sequence

    from steepwell.decide.feed_due import Due
    from steepwell.garden.garden import Garden
    from steepwell.outlook.calendar import Stay
    from steepwell.outlook.state import State, SteepNow

OWN, FAMILY, ANY = range(3)


@dataclass(frozen=True, slots=True)
class Source:
    """A steep that is ready, at one dilution.

    Attributes
    ----------
    steep
        The steep.
    parts
        Parts of water to one of feed.
    dose
        The measure for a can.
    tender
        Whether it is one step thinner, for seedlings and what is tender to salt; None where there
        is no thinner step and it does for all.
    """

    steep: SteepNow
    parts: int
    dose: Dose
    tender: bool | None


def sources_of(garden: Garden, state: State) -> list[Source]:
    """Return the steeps that are ready, for what is tender to salt one step thinner.

    Parameters
    ----------
    garden
        The garden.
    state
        What is so now.

    Returns
    -------
    list of Source
        In the order of the garden file.
    """
    found = []
    ladders = {vessel.name: vessel.ladder for vessel in garden.vessel}
    for steep in state.vessels:
        parts = steep.dilution_parts
        if parts is None:
            continue
        thinner = rung(parts + 1.0, ladders.get(steep.vessel) or LADDER)
        told = dose(garden.can.size, parts)
        if thinner == parts:
            found.append(Source(steep, parts, told, tender=None))
        else:
            found.append(Source(steep, parts, told, tender=False))
            found.append(Source(steep, thinner, dose(garden.can.size, thinner), tender=True))
    return found


def rank_for(due: Due, source: Source) -> int | None:
    """Return how well a feed suits a bed, None if it does not."""
    if source.tender is not None and source.tender != is_tender(due.bed, due.standing.crop):
        return None
    return how_it_suits(due.standing, source.steep.plants)


def how_it_suits(standing: Stay, plants: Sequence[str]) -> int | None:
    """Return how well a feed of some plants suits a crop.

    Parameters
    ----------
    standing
        The crop.
    plants
        What the feed was made of.

    Returns
    -------
    int or None
        0 if of its own crop, 1 if of its family, 2 if of plants that are grown in no bed, such as
        nettles; None if of another family [-].
    """
    if set(plants) == {standing.crop}:
        return OWN
    if {plant_family(plant) for plant in plants} == {standing.table.family}:
        return FAMILY
    return ANY if set(plants) <= set(reference_tables().plants) else None
