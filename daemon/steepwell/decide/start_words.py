"""What is said of a feed that is to be begun: of what, when, and why then."""

from __future__ import annotations

from math import ceil
from typing import TYPE_CHECKING

from steepwell.decide.feed_due import WEEK_D
from steepwell.words.figures import day as on
from steepwell.words.figures import joined, spoken, strung
from steepwell.words.saying import say, say_count

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from steepwell.decide.starting import Start


def plants_listed(names: Sequence[str]) -> str:
    """Return plants as they are said: "tomato, potato and sweet pepper"."""
    return joined([spoken(name) for name in names])


def matter_for(start: Start) -> str:
    """Return what goes into the vessel, in pressed buckets and by weight.

    Parameters
    ----------
    start
        The feed to begin.

    Returns
    -------
    str
        Part of a sentence.
    """
    plants = _plants(start)
    if start.buckets < 1.0:
        return say("starting.matter", plants=plants)
    kilograms = f"{start.matter_kg:.0f}"
    return say_count("starting.buckets", round(start.buckets), plants=plants, kilograms=kilograms)


def matter_in_short(start: Start) -> str:
    """Return what goes into the vessel, in pressed buckets alone."""
    plants = _plants(start)
    if start.buckets < 1.0:
        return plants
    return say_count("starting.buckets-in-short", round(start.buckets), plants=plants)


def why_then(start: Start) -> str:
    """Return why a vessel is filled on its day, and what of that is untested.

    Parameters
    ----------
    start
        The feed to begin.

    Returns
    -------
    str
        One sentence, or several.
    """
    wanted = start.wanted
    for_whom = _for_whom(start)
    if start.on_clearing and wanted.cleared is not None:
        said = [_comes_out(start, wanted.cleared), for_whom]
    elif start.last is None:
        said = [for_whom]
    elif start.by is not None and start.last < start.by:
        said = [say("starting.late", for_whom=for_whom), _where_from(start)]
    else:
        last = say(
            "starting.last-day-for",
            for_whom=for_whom,
            later=_weeks((wanted.feeds[0] - start.last).days),
        )
        said = [last, _where_from(start)]
    if wanted.buckets < start.buckets and start.on_clearing:
        # No weeds to eke it out: the feed would no longer be of one family.
        said.append(
            say_count("starting.bed-gives", round(wanted.buckets))
            if wanted.buckets >= 1.0
            else say("starting.bed-gives-little")
        )
    if wanted.untested and not start.wild:
        said.append(say("starting.untested", plants=plants_listed(wanted.crops)))
    return strung(said)


def why_in_short(start: Start) -> str:
    """Return why a vessel is filled on its day, in half a sentence, and how where that is unusual.

    Parameters
    ----------
    start
        The feed to begin.

    Returns
    -------
    str
        For instance "it is late already".
    """
    wanted = start.wanted
    if start.on_clearing and wanted.cleared is not None:
        said = _comes_out(start, wanted.cleared)
        part = wanted.buckets < start.buckets
        return strung([said, say("starting.in-part")]) if part else said
    if start.last is None:
        return _for_whom(start)
    late = start.by is not None and start.last < start.by
    return say("starting.late-in-short" if late else "starting.last-day-in-short")


def _plants(start: Start) -> str:
    return say("starting.wild") if start.wild else plants_listed(start.plants)


def _where_from(start: Start) -> str:
    if not start.wild:
        return say("starting.leaves-and-thinnings")
    own = joined([spoken(crop) for crop in start.wanted.crops])
    return say("starting.none-to-spare", own=own)


def _for_whom(start: Start) -> str:
    wanted = start.wanted
    return say("starting.for-whom", group=spoken(wanted.name), day=on(wanted.feeds[0]))


def _comes_out(start: Start, cleared: date) -> str:
    bed = spoken(start.wanted.cleared_bed or "")
    return say("starting.comes-out", bed=bed, day=on(cleared))


def _weeks(days: int) -> str:
    """Return a wait in weeks, in part begun ones as whole ones, for it is not shorter."""
    return say_count("starting.weeks", max(ceil(days / WEEK_D), 1))
