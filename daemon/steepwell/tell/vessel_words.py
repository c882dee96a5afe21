"""What a letter says of the vessels."""

from __future__ import annotations

from typing import TYPE_CHECKING

from steepwell.tell.waiting import how_long
from steepwell.tell.wording import day, day_range, joined, litres, sentence, spoken, the_vessel

if TYPE_CHECKING:
    from collections.abc import Hashable, Sequence
    from datetime import date

    from steepwell.tell.documents import Outlook, Plan, ShortFeedLine, VesselAhead, VesselLine

SOON_D = 7
LEAST_L = 0.1


def vessels_said(plan: Plan, outlook: Outlook | None, today: date) -> tuple[str, ...]:
    """Return what to do with vessels, then how each stands.

    Parameters
    ----------
    plan
        What to do.
    outlook
        The weeks ahead, or None.
    today
        The local day.

    Returns
    -------
    tuple of str
        Sentences; nothing of a vessel in which nothing steeps.
    """
    short = [_short_feed(line) for line in plan.short_feed]
    return (*vessel_jobs(plan.vessels), *vessel_states(outlook, today), *short)


def vessel_jobs(lines: Sequence[VesselLine]) -> list[str]:
    """Return what to do with vessels, those that need the same in one sentence."""
    alike: dict[Hashable, list[VesselLine]] = {}
    for line in lines:
        alike.setdefault((line.do, line.matter, line.by, line.reason), []).append(line)
    return [_vessel_job(group) for group in alike.values()]


def vessel_states(outlook: Outlook | None, today: date) -> list[str]:
    """Return how each vessel stands in which something steeps; nothing without an outlook."""
    said = [_vessel_state(vessel, today) for vessel in (outlook.vessels if outlook else ())]
    return [line for line in said if line]


def _short_feed(line: ShortFeedLine) -> str:
    there = litres(line.there_l) if line.there_l >= LEAST_L else "next to nothing"
    return (
        f"Of feed for the {line.family} there is {there} in hand; its beds will take about "
        f"{litres(line.wanted_l)} by {day(line.by)}."
    )


def _vessel_job(lines: Sequence[VesselLine]) -> str:
    line = lines[0]
    water = [litres(each.rainwater_l) for each in lines if each.rainwater_l]
    what = [f"{joined(water)} of rainwater"] if water else []
    what += [line.matter] if line.matter else []
    by = f" by {day(line.by)}" if line.by else ""
    said = f"{spoken(line.do)} {joined([the_vessel(each.name) for each in lines])}{by}"
    return f"{sentence(said + (': ' + ' and '.join(what) if what else ''))} {sentence(line.reason)}"


def _vessel_state(vessel: VesselAhead, today: date) -> str:
    """Return when a vessel is ready, or an empty string for one in which nothing steeps."""
    name = sentence(the_vessel(vessel.name)).removesuffix(".")
    if vessel.dilution_parts is not None:
        return f"{name} is ready: one part to {vessel.dilution_parts:.0f} of water."
    if vessel.ready is None:
        return ""
    if vessel.ended:
        return f"{name} no longer recovers: empty it to the compost heap and start it anew."
    first, middle, last = vessel.ready.p10, vessel.ready.p50, vessel.ready.p90
    if middle is None:
        return f"{name} is not ready in the weeks looked at."
    span = f" ({day_range(first, last)})" if first and last and first != last else ""
    sign = ""
    if (middle - today).days <= SOON_D:
        sign = " Look for matter sunk and soft, and coloured liquid."
    wait = how_long(vessel.started, middle) if vessel.started else ""
    return f"{name} will be ready about {day(middle)}{span}{wait}.{sign}"
