"""What a letter says of the vessels."""

from __future__ import annotations

from typing import TYPE_CHECKING

from steepwell.tell.waiting import how_long
from steepwell.tell.wording import day_range, sentence, the_vessel
from steepwell.words.figures import day, joined, litres, strung
from steepwell.words.saying import say

if TYPE_CHECKING:
    from collections.abc import Hashable, Sequence
    from datetime import date

    from steepwell.tell.content import Told
    from steepwell.tell.documents import Outlook, Plan, ShortFeedLine, VesselAhead, VesselLine

SOON_D = 7
# A day that moves by less is no news.
MOVED_D = 7
LEAST_L = 0.1


def vessels_said(
    plan: Plan, outlook: Outlook | None, today: date, told: Told | None = None
) -> tuple[str, ...]:
    """Return what to do with vessels, then how each stands.

    Parameters
    ----------
    plan
        What to do.
    outlook
        The weeks ahead, or None.
    today
        The local day.
    told
        What a letter may take as told: of a vessel that stands as it did nothing is said, and what
        is still to be done is only named. None to say all of it.

    Returns
    -------
    tuple of str
        Sentences; nothing of a vessel in which nothing steeps.
    """
    if told is None:
        short = [_short_feed(line) for line in plan.short_feed]
        return (*vessel_jobs(plan.vessels), *vessel_states(outlook, today), *short)
    known = {(line.name, line.do) for line in told.plan.vessels} if told.plan else set()
    new = [line for line in plan.vessels if (line.name, line.do) not in known]
    named = {line.name for line in plan.vessels} | {line.vessel for line in plan.feed}
    known_short = {line.family for line in told.plan.short_feed} if told.plan else set()
    return (
        *_new_jobs(new, today),
        *_still([line for line in plan.vessels if (line.name, line.do) in known]),
        *_news(outlook, told.outlook, today, named),
        *(_short_feed(line) for line in plan.short_feed if line.family not in known_short),
    )


def vessel_jobs(lines: Sequence[VesselLine]) -> list[str]:
    """Return what to do with vessels, those that need the same in one sentence."""
    alike: dict[Hashable, list[VesselLine]] = {}
    for line in lines:
        alike.setdefault((line.do, line.matter, line.by, line.reason), []).append(line)
    return [
        f"{_vessel_job(group, group[0].matter)} {sentence(group[0].reason)}"
        for group in alike.values()
    ]


def vessel_states(outlook: Outlook | None, today: date) -> list[str]:
    """Return how each vessel stands in which something steeps; nothing without an outlook."""
    said = [_vessel_state(vessel, today) for vessel in (outlook.vessels if outlook else ())]
    return [line for line in said if line]


def _new_jobs(lines: Sequence[VesselLine], today: date) -> list[str]:
    """Return what to do with vessels in short: once what is due on one day for one reason."""
    alike: dict[tuple[str, date | None, str], dict[str | None, list[VesselLine]]] = {}
    for line in lines:
        by = max(line.by, today) if line.by else None
        told = line.in_short or line
        parts = alike.setdefault((line.do, by, told.reason), {})
        parts.setdefault(told.matter, []).append(line)
    said = []
    for (do, by, reason), parts in alike.items():
        if len(parts) == 1:
            job = "".join(_vessel_job(group, matter, today) for matter, group in parts.items())
        else:
            job = _several(do, by, [_with(group, matter) for matter, group in parts.items()], today)
        said.append(f"{job} {sentence(reason)}")
    return said


def _several(do: str, by: date | None, vessels: Sequence[str], today: date) -> str:
    """Return what to do with vessels of which each takes something else."""
    told = vessel_do(do, [strung(vessels)])
    if by is not None and by <= today:
        told = say("vessel-words.now-several", do=told)
    elif by is not None:
        told = say("vessel-words.by-several", do=told, day=day(by))
    return sentence(told)


def _with(lines: Sequence[VesselLine], matter: str | None) -> str:
    """Return vessels and what goes into them: "the leek vessel with 36 L of rainwater"."""
    vessels, what = joined([the_vessel(line.name) for line in lines]), _into(lines, matter)
    return say("vessel-words.with", vessels=vessels, what=what) if what else vessels


def _into(lines: Sequence[VesselLine], matter: str | None) -> str:
    water = [litres(line.rainwater_l) for line in lines if line.rainwater_l]
    what = [say("vessel-words.rainwater", amounts=joined(water))] if water else []
    return joined([*what, *([matter] if matter else [])])


def _still(lines: Sequence[VesselLine]) -> list[str]:
    alike: dict[str, list[str]] = {}
    for line in lines:
        alike.setdefault(line.do, []).append(the_vessel(line.name))
    return [say("vessel-words.still", do=vessel_do(do, names)) for do, names in alike.items()]


def vessel_do(do: str, vessels: Sequence[str]) -> str:
    """Return what to do with vessels: "fill the kale vessel and the leek vessel"."""
    return say(f"vessel-words-do.{do.replace(' ', '-')}", vessels=joined(vessels))


def _news(
    outlook: Outlook | None, before: Outlook | None, today: date, named: set[str]
) -> list[str]:
    """Return how those vessels stand that stand otherwise than they did, and are not yet named."""
    if outlook is None:
        return []
    stood = {vessel.name: vessel for vessel in before.vessels} if before else {}
    said = [
        _vessel_state(vessel, today, in_short=True)
        for vessel in outlook.vessels
        if vessel.name not in named and not _is_as_it_was(vessel, stood.get(vessel.name))
    ]
    return [line for line in said if line]


def _is_as_it_was(vessel: VesselAhead, before: VesselAhead | None) -> bool:
    if before is None or vessel.started != before.started or vessel.ended != before.ended:
        return False
    if vessel.dilution_parts is not None or before.dilution_parts is not None:
        # The dose is told with the job, and the label before it changes.
        return vessel.dilution_parts is not None and before.dilution_parts is not None
    now, then = (each.ready.p50 if each.ready else None for each in (vessel, before))
    if now is None or then is None:
        return now == then
    return abs((now - then).days) < MOVED_D


def _short_feed(line: ShortFeedLine) -> str:
    there = litres(line.there_l) if line.there_l >= LEAST_L else say("vessel-words.next-to-nothing")
    return say(
        "vessel-words.short-feed",
        family=line.family,
        there=there,
        wanted=litres(line.wanted_l),
        day=day(line.by),
    )


def _vessel_job(lines: Sequence[VesselLine], matter: str | None, today: date | None = None) -> str:
    """Return what to do with vessels that take the same; in a letter of that day, what is now."""
    line, what = lines[0], _into(lines, matter)
    said = vessel_do(line.do, [the_vessel(each.name) for each in lines])
    if line.by and today and line.by <= today:
        said = say("vessel-words.now", do=said)
    elif line.by:
        said = say("vessel-words.by", do=said, day=day(line.by))
    if what:
        said = say("vessel-words.of", do=said, what=what)
    return sentence(said)


def _vessel_state(vessel: VesselAhead, today: date, *, in_short: bool = False) -> str:
    """Return when a vessel is ready, or an empty string for one in which nothing steeps."""
    name = sentence(the_vessel(vessel.name)).removesuffix(".")
    if vessel.dilution_parts is not None:
        return say(
            "vessel-words.ready-in-short" if in_short else "vessel-words.ready",
            vessel=name,
            parts=f"{vessel.dilution_parts:.0f}",
        )
    if vessel.ready is None:
        return ""
    if vessel.ended:
        return say("vessel-words.ended", vessel=name)
    first, middle, last = vessel.ready.p10, vessel.ready.p50, vessel.ready.p90
    if middle is None:
        return say("vessel-words.not-ready", vessel=name)
    when = day(middle)
    if first and last and first != last:
        when = say("vessel-words.day-and-range", day=when, range=day_range(first, last))
    wait = how_long(vessel.started, middle) if vessel.started else ""
    said = say("vessel-words.ready-about", vessel=name, when=f"{when}{wait}")
    return f"{said} {say('vessel-words.sign')}" if (middle - today).days <= SOON_D else said
