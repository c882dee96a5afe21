"""The week's jobs: a plan's lines brought together so that there are at most five."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from itertools import product
from typing import TYPE_CHECKING, TypeVar

from steepwell.store.tasks import FEED, WATER, half_cans, job_name
from steepwell.tell.links import id_of
from steepwell.tell.wording import (
    EVERY_DAY,
    cans,
    days_listed,
    feed_measure,
    joined,
    joined_in_short,
    litres,
    named,
    sentence,
    spoken,
    the_butt,
    the_vessel,
    weekday,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Hashable, Iterable, Sequence

    from steepwell.garden.garden import Garden
    from steepwell.tell.documents import FeedLine, Plan, WaterLine

MOST_JOBS = 5
MOST_NAMED = 3
Line = TypeVar("Line")


@dataclass(frozen=True, slots=True)
class Job:
    """One thing to do.

    Attributes
    ----------
    do
        What to do, in a few words.
    how
        When and from where, a sentence.
    lines
        Its beds where there are several, and the reason of each.
    skip
        When to leave it, or an empty string.
    first_day
        The first day of it.
    names
        The names of what it brings together: each bed's water or feed on a day.
    """

    do: str
    how: str
    lines: tuple[str, ...]
    skip: str
    first_day: date
    names: tuple[str, ...] = ()

    @property
    def id(self) -> str:
        """What tells this job from others."""
        return id_of(self.names)


def jobs(plan: Plan, garden: Garden) -> list[Job]:
    """Return at most five jobs in the order of their days.

    What is watered on the same days from the same butt is one job, and so is what is fed from one
    mixing; only where that still leaves more than five are days brought together.

    Parameters
    ----------
    plan
        The plan.
    garden
        The garden: where rain falls, and whether a gauge catches it.

    Returns
    -------
    list of Job
        At most five.
    """
    daily = [line for line in plan.watered if line.daily_l]
    canned = [line for line in plan.watered if not line.daily_l]
    found: list[Job] = []
    for feed_key, water_key in _TOGETHER:
        found = [
            *([_daily(daily, plan)] if daily else []),
            *(_water(group, garden, plan.week[0]) for group in _groups(canned, water_key)),
            *(_feed(group) for group in _groups(plan.feed, feed_key)),
        ]
        if len(found) <= MOST_JOBS:
            break
    return sorted(found, key=lambda job: job.first_day)


_WATER_TOGETHER: tuple[Callable[[WaterLine], Hashable], ...] = (
    lambda line: line.bed,
    lambda line: (tuple(line.days), line.butt),
    lambda line: tuple(line.days),
    lambda _: None,
)
_FEED_TOGETHER: tuple[Callable[[FeedLine], Hashable], ...] = (
    lambda line: (line.day, line.vessel, line.dilution_parts),
    lambda line: line.day,
    lambda _: None,
)
# Every way of both, the one that brings least together first.
_TOGETHER = [
    (_FEED_TOGETHER[feed], _WATER_TOGETHER[water])
    for feed, water in sorted(
        product(range(len(_FEED_TOGETHER)), range(len(_WATER_TOGETHER))),
        key=lambda both: (max(both), sum(both)),
    )
]


def _groups(lines: Iterable[Line], key: Callable[[Line], Hashable]) -> list[list[Line]]:
    groups: dict[Hashable, list[Line]] = {}
    for line in lines:
        groups.setdefault(key(line), []).append(line)
    return list(groups.values())


def _names(lines: Iterable[WaterLine], days: Sequence[date]) -> tuple[str, ...]:
    return tuple(
        job_name(WATER, line.bed, day) for line in lines for day in sorted(line.days) or days
    )


def _daily(lines: Sequence[WaterLine], plan: Plan) -> Job:
    first_day, last_day = plan.week
    week = [first_day + timedelta(days=ahead) for ahead in range((last_day - first_day).days + 1)]
    names = _names(lines, week)
    amounts = joined([f"{spoken(line.bed)} {litres(line.daily_l or 0.0)}" for line in lines])
    reasons = [named(line.bed, line.reason) for line in lines]
    if len(lines) == 1:
        reasons = [sentence(lines[0].reason)]
    return Job(f"Water {amounts}", "Every day.", tuple(reasons), "", first_day, names)


def _water(lines: Sequence[WaterLine], garden: Garden, begins: date) -> Job:
    names = _names(lines, [begins])
    skip = shared_skip([skip_of(line, garden) for line in lines])
    first_day = min((day for line in lines for day in line.days), default=date.max)
    if len(lines) == 1:
        (line,) = lines
        do = f"Water {spoken(line.bed)}, {amount_of(line)}"
        how = _parts(when_of(line), origin_of(line), _in_all(line))
        return Job(do, how, (sentence(line.reason),), skip, first_day, names)
    when, origin = _shared([*map(when_of, lines)]), _shared([*map(origin_of, lines)])
    told = []
    for line in lines:
        own = ("" if when else when_of(line), "" if origin else origin_of(line), _in_all(line))
        said = _listed(amount_of(line), *own)
        told.append(_told(line.bed, said, line.reason, "" if skip else skip_of(line, garden)))
    do = f"Water {_beds(lines)}"
    return Job(do, _parts(when or "this week", origin), tuple(told), skip, first_day, names)


def amount_of(line: WaterLine) -> str:
    """Return the cans of each day; what is for the whole week is divided into half cans."""
    if not line.cans:
        return litres(line.litres)
    rounds = half_cans(line.cans, len(line.days))
    if len(rounds) == 1:
        return cans(line.cans)
    if len(set(rounds)) == 1:
        return f"{cans(rounds[0])} each time"
    return ", then ".join(map(cans, rounds))


def _in_all(line: WaterLine) -> str:
    if not line.cans:
        return ""
    return f"{litres(line.litres)}{' in all' if len(line.days) > 1 else ''}"


def when_of(line: WaterLine) -> str:
    """Return the days of a watering, for instance "on Tuesday 3 and Friday 6 June"."""
    if not line.days:
        return "this week"
    listed = days_listed(line.days)
    return listed if listed == EVERY_DAY else f"on {listed}"


def origin_of(line: WaterLine) -> str:
    """Return where the water comes from, nothing where that is not known."""
    return f"from {the_butt(line.butt)}" if line.butt else ""


def skip_of(line: WaterLine, garden: Garden) -> str:
    """Return after which rain a watering is left, nothing where no rain reaches the bed."""
    under_cover = {bed.name for bed in garden.bed if not bed.rained_on}
    if line.skip_after_mm is None or line.bed in under_cover:
        return ""
    amount = f"more than {line.skip_after_mm:g} mm"
    if garden.rain_sensor is not None:
        return f"Skip it if your gauge catches {amount} first."
    return f"Skip it if {amount} of rain falls first."


def shared_skip(rules: Sequence[str]) -> str:
    """Return the rule of all that have one, or nothing where they differ.

    Parameters
    ----------
    rules
        When to leave each of some waterings, nothing for those that rain does not spare.

    Returns
    -------
    str
        One sentence, which says so where it is not for all of them.
    """
    rule = _shared([each for each in rules if each])
    if not rule or all(rules):
        return rule
    return f"Outdoors, {rule[0].lower()}{rule[1:]}"


def _feed(lines: Sequence[FeedLine]) -> Job:
    first_day = min(line.day for line in lines)
    names = tuple(job_name(FEED, line.bed, line.day) for line in lines)
    when = _shared([f"on {weekday(line.day)}" for line in lines])
    source = _shared([_source(line) for line in lines])
    if len(lines) == 1:
        (line,) = lines
        do = f"Feed {spoken(line.bed)}, {dose_in_cans(line)}"
        why = tuple(sentence(each) for each in _why(line))
        return Job(do, _parts(when, source), why, "", first_day, names)
    alike: dict[tuple[str, tuple[str, ...]], list[str]] = {}
    for line in lines:
        own = ("" if when else f"on {weekday(line.day)}", "" if source else _source(line))
        said = (_listed(dose_in_cans(line), *own), _why(line))
        alike.setdefault(said, []).append(spoken(line.bed))
    told = tuple(
        _told(joined(beds), f"{said} for each" if len(beds) > 1 else said, *why)
        for (said, why), beds in alike.items()
    )
    do = f"Feed {_beds(lines)}"
    return Job(do, _parts(when or "this week", source), told, "", first_day, names)


def _why(line: FeedLine) -> tuple[str, ...]:
    """Return why a bed is fed, nothing where it is only due, which a job says by itself."""
    return () if line.reason == "due" else (line.reason,)


def dose_in_cans(line: FeedLine) -> str:
    """Return the measure of a feed and its cans, for instance "2 tablespoons in 1 can"."""
    measure = feed_measure(line.feed_ml, line.spoons)
    return measure if "cans" in measure else f"{measure} in {cans(line.cans)}"


def _source(line: FeedLine) -> str:
    return f"from {the_vessel(line.vessel)}, 1:{line.dilution_parts:.0f}"


def _beds(lines: Sequence[WaterLine] | Sequence[FeedLine]) -> str:
    return joined_in_short([spoken(line.bed) for line in lines], MOST_NAMED)


def _told(bed: str, first: str, *rest: str) -> str:
    """Return "Beans: 5 cans, 45 L in all. In flower." from a bed and what is said of it."""
    return " ".join([named(bed, first), *map(sentence, rest)]).strip()


def _parts(*parts: str) -> str:
    """Return the parts that say something as one sentence."""
    return sentence(_listed(*parts))


def _listed(*parts: str) -> str:
    return ", ".join(part for part in parts if part)


def _shared(words: Sequence[str]) -> str:
    """Return what all words say, or nothing where they differ."""
    return words[0] if len(set(words)) == 1 else ""
