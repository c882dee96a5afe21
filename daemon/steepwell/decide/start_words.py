"""What is said of a feed that is to be begun: of what, when, and why then."""

from __future__ import annotations

from math import ceil
from typing import TYPE_CHECKING

from steepwell.decide.feed_due import WEEK_D, on

if TYPE_CHECKING:
    from collections.abc import Sequence

    from steepwell.decide.starting import Start


def plants_listed(names: Sequence[str]) -> str:
    """Return plants as they are said: "tomato, potato and sweet pepper"."""
    *before, last = (name.replace("-", " ") for name in names)
    return f"{', '.join(before)} and {last}" if before else last


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
    plants = plants_listed(start.wanted.crops)
    if start.buckets < 1.0:
        return f"{plants}, healthy, roots clean"
    buckets = round(start.buckets)
    amount = f"about {buckets} pressed buckets" if buckets > 1 else "about a pressed bucket"
    return f"{amount} of {plants}, about {start.matter_kg:.0f} kg, healthy, roots clean"


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
    first = wanted.feeds[0]
    for_whom = f"the {wanted.name.replace('-', ' ')} wants its first feed about {on(first)}"
    if start.on_clearing and wanted.cleared is not None:
        bed = (wanted.cleared_bed or "").replace("-", " ")
        said = f"matter comes out of {bed} about {on(wanted.cleared)}"
        said = f"{said}; {for_whom}"
    elif start.last is None:
        said = for_whom
    elif start.by is not None and start.last < start.by:
        said = f"late already: {for_whom}; until it is cleared, take leaves and thinnings"
    else:
        said = (
            f"the last day that has it ready in nine years of ten: {for_whom}, "
            f"{_weeks((first - start.last).days)} later; until it is cleared, take leaves and "
            "thinnings"
        )
    if wanted.buckets < start.buckets and start.on_clearing:
        # No weeds to eke it out: the feed would no longer be of one family.
        few = f"about {wanted.buckets:.0f} buckets" if wanted.buckets >= 1.0 else "a bucket at most"
        said = f"{said}; that bed gives {few}, so fill it in part, with less water"
    if wanted.untested:
        said = f"{said}; one feed for {plants_listed(wanted.crops)}, which is untested"
    return said


def why_in_short(start: Start) -> str:
    """Return why a vessel is filled on its day, in half a sentence, and how where that is unusual.

    Parameters
    ----------
    start
        The feed to begin.

    Returns
    -------
    str
        For instance "late already: the onion family wants its first feed about 20 May".
    """
    wanted = start.wanted
    first = on(wanted.feeds[0])
    if start.on_clearing and wanted.cleared is not None:
        bed = (wanted.cleared_bed or "").replace("-", " ")
        said = f"matter comes out of {bed} about {on(wanted.cleared)}"
        part = wanted.buckets < start.buckets
        return f"{said}; fill it in part, with less water" if part else said
    if start.last is not None and (start.by is None or start.last >= start.by):
        return "the last day that has it ready in nine years of ten"
    late = start.last is not None
    for_whom = f"the {wanted.name.replace('-', ' ')} wants its first feed about {first}"
    return f"late already: {for_whom}" if late else for_whom


def _weeks(days: int) -> str:
    """Return a wait in weeks, in part begun ones as whole ones, for it is not shorter."""
    weeks = ceil(days / WEEK_D)
    return f"{weeks} weeks" if weeks > 1 else "a week"
