"""The week's jobs: a plan's lines brought together so that there are at most five."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from itertools import product
from typing import TYPE_CHECKING, TypeVar

from steepwell.store.tasks import FEED, WATER, half_cans, job_name
from steepwell.tell.links import id_of
from steepwell.tell.skipping import Skip, shared_skip, skip_of
from steepwell.tell.wording import (
    can_figure,
    cans,
    days_listed,
    feed_measure,
    is_whole_week,
    joined_in_short,
    named,
    sentence,
    the_butt,
    the_vessel,
)
from steepwell.words.figures import joined, listed, litres, spoken, strung
from steepwell.words.saying import say

if TYPE_CHECKING:
    from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence

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
    rule
        After which rain to leave it, or None.
    first_day
        The first day of it.
    names
        The names of what it brings together: each bed's water or feed on a day.
    """

    do: str
    how: str
    lines: tuple[str, ...]
    rule: Skip | None
    first_day: date
    names: tuple[str, ...] = ()

    @property
    def id(self) -> str:
        """What tells this job from others."""
        return id_of(self.names)

    @property
    def skip(self) -> str:
        """When to leave it, or an empty string."""
        return self.rule.said() if self.rule else ""


def jobs(plan: Plan, garden: Garden, *, in_short: bool = False) -> list[Job]:
    """Return at most five jobs in the order of their days.

    What is watered on the same days from the same butt is one job, and so is what is fed from one
    mixing; only where that still leaves more than five are days brought together.

    Parameters
    ----------
    plan
        The plan.
    garden
        The garden: where rain falls, and whether a gauge catches it.
    in_short
        Whether to say what to do without the reasons.

    Returns
    -------
    list of Job
        At most five; the same ones in short and in full.
    """
    daily = [line for line in plan.watered if line.daily_l]
    canned = [line for line in plan.watered if not line.daily_l]
    # A letter says it in its first lines.
    dose_told = in_short and one_dose(plan) is not None
    found: list[Job] = []
    for feed_key, water_key in _TOGETHER:
        found = [
            *([_daily(daily, plan, in_short=in_short)] if daily else []),
            *(
                _water(group, garden, plan.week[0], in_short=in_short)
                for group in _groups(canned, water_key)
            ),
            *(
                _feed(group, in_short=in_short, dose_told=dose_told)
                for group in _groups(plan.feed, feed_key)
            ),
        ]
        if len(found) <= MOST_JOBS:
            break
    return sorted(found, key=lambda job: job.first_day)


_WATER_TOGETHER: tuple[Callable[[WaterLine], Hashable], ...] = (
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


def _daily(lines: Sequence[WaterLine], plan: Plan, *, in_short: bool) -> Job:
    first_day, last_day = plan.week
    week = [first_day + timedelta(days=ahead) for ahead in range((last_day - first_day).days + 1)]
    names = _names(lines, week)
    amounts = [
        say("jobs.bed-and-amount", bed=spoken(line.bed), amount=litres(line.daily_l or 0.0))
        for line in lines
    ]
    reasons = [named(line.bed, line.reason) for line in lines]
    if len(lines) == 1:
        reasons = [sentence(lines[0].reason)]
    return Job(
        say("jobs.water-daily", what=joined(amounts)),
        "",
        () if in_short else tuple(reasons),
        None,
        first_day,
        names,
    )


def _water(lines: Sequence[WaterLine], garden: Garden, begins: date, *, in_short: bool) -> Job:
    names = _names(lines, [begins])
    rule = shared_skip([skip_of(line, garden) for line in lines])
    first_day = min((day for line in lines for day in line.days), default=date.max)
    if len(lines) == 1:
        (line,) = lines
        do = say("jobs.water", what=_to_do(line.bed, amount_of(line)))
        why = () if in_short else (sentence(line.reason),)
        return Job(
            do,
            _parts(when_of(line, in_short=in_short), origin_of(line)),
            why,
            rule,
            first_day,
            names,
        )
    whens = [when_of(line, in_short=in_short) for line in lines]
    when, origin = _shared(whens), _shared([*map(origin_of, lines)])
    if in_short and not when:
        do = say("jobs.water", what=say("jobs.this-week"))
        return Job(do, "", _rounds(lines, garden, shared=rule), rule, first_day, names)
    alike: dict[tuple[str, ...], list[str]] = {}
    for line, its_when in zip(lines, whens, strict=True):
        own = ("" if when else its_when, "" if origin else origin_of(line))
        own_rule = None if rule else skip_of(line, garden)
        said = (
            _listed(amount_of(line), *own),
            "" if in_short else line.reason,
            own_rule.said() if own_rule else "",
        )
        alike.setdefault(said, []).append(spoken(line.bed))
    told = _told(alike)
    if in_short:
        do = say("jobs.water", what=_listed(when or say("jobs.this-week"), origin))
        return Job(do, "", told, rule, first_day, names)
    do = say("jobs.water", what=_beds(lines))
    how = _parts(when or say("jobs.this-week"), origin)
    return Job(do, how, told, rule, first_day, names)


def _rounds(lines: Sequence[WaterLine], garden: Garden, *, shared: Skip | None) -> tuple[str, ...]:
    """Return what is watered on which days from which butt, as one goes round."""
    rounds: dict[tuple[str, str, str], list[str]] = {}
    for line in sorted(lines, key=lambda line: line.days):
        own_rule = None if shared else skip_of(line, garden)
        where = (when_of(line, in_short=True), origin_of(line), own_rule.said() if own_rule else "")
        told = say("jobs.bed-and-amount", bed=spoken(line.bed), amount=amount_of(line))
        rounds.setdefault(where, []).append(told)
    return tuple(
        f"{named(_listed(when, origin), strung(beds))} {rule}".strip()
        for (when, origin, rule), beds in rounds.items()
    )


def amount_of(line: WaterLine) -> str:
    """Return the cans of each day; what is for the whole week is divided into half cans."""
    if not line.cans:
        return litres(line.litres)
    rounds = half_cans(line.cans, len(line.days))
    if len(rounds) == 1:
        return cans(line.cans)
    if len(set(rounds)) == 1:
        return say("jobs.each-time", cans=cans(rounds[0]))
    *first, last = rounds
    return say("jobs.then", first=listed([*map(can_figure, first)]), last=cans(last))


def days_of(line: WaterLine, *, in_short: bool = False) -> str:
    """Return the days of a watering, such as "Tuesday 3 and Friday 6 June", in short no month."""
    return days_listed(line.days, in_short=in_short) if line.days else say("jobs.this-week")


def when_of(line: WaterLine, *, in_short: bool = False) -> str:
    """Return when to water, for instance "on Tuesday 3 and Friday 6 June"."""
    days = days_of(line, in_short=in_short)
    on_days = bool(line.days) and not is_whole_week(line.days)
    return say("jobs.on", days=days) if on_days else days


def origin_of(line: WaterLine) -> str:
    """Return where the water comes from, nothing where that is not known."""
    return say("jobs.from", butt=the_butt(line.butt)) if line.butt else ""


def one_dose(plan: Plan) -> str | None:
    """Return the dose of all feeds of a plan, None where they differ."""
    doses = {dose_in_cans(line) for line in plan.feed}
    return doses.pop() if len(doses) == 1 else None


def _feed(lines: Sequence[FeedLine], *, in_short: bool, dose_told: bool) -> Job:
    first_day = min(line.day for line in lines)
    names = tuple(job_name(FEED, line.bed, line.day) for line in lines)
    when = _shared([_on(line.day, in_short=in_short) for line in lines])
    source = _shared([_source(line) for line in lines])
    if dose_told and when and source:
        do = say("jobs.feed", what=joined([spoken(line.bed) for line in lines]))
        return Job(do, _parts(when, source), _heed(lines), None, first_day, names)
    if len(lines) == 1:
        (line,) = lines
        do = say("jobs.feed", what=_to_do(line.bed, _dose(line, in_short=in_short)))
        why = tuple(sentence(each) for each in _why(line, in_short=in_short))
        return Job(do, _parts(when, source), why, None, first_day, names)
    alike: dict[tuple[str, ...], list[str]] = {}
    for line in lines:
        own = ("" if when else _on(line.day, in_short=in_short), "" if source else _source(line))
        said = (_listed(_dose(line, in_short=in_short), *own), *_why(line, in_short=in_short))
        alike.setdefault(said, []).append(spoken(line.bed))
    told = _told(alike)
    if in_short:
        do = say("jobs.feed", what=_listed(when or say("jobs.this-week"), source))
        return Job(do, "", told, None, first_day, names)
    do = say("jobs.feed", what=_beds(lines))
    how = _parts(when or say("jobs.this-week"), source)
    return Job(do, how, told, None, first_day, names)


def _heed(lines: Sequence[FeedLine]) -> tuple[str, ...]:
    """Return what is to be heeded with some feeds, for each of them where it differs."""
    shared = _shared([line.heed for line in lines])
    if shared:
        return (sentence(shared),)
    return tuple(named(line.bed, line.heed) for line in lines if line.heed)


def _on(day: date, *, in_short: bool) -> str:
    return say("jobs.on", days=days_listed([day], in_short=in_short))


def _why(line: FeedLine, *, in_short: bool) -> tuple[str, ...]:
    """Return why a bed is fed, nothing where it is only due, which a job says by itself."""
    said = line.heed if in_short else "" if line.only_due else line.reason
    return (said,) if said else ()


def dose_in_cans(line: FeedLine) -> str:
    """Return the measure of a feed and its cans, for instance "2 tablespoons in 1 can"."""
    measure = feed_measure(line.feed_ml, line.spoons, in_spoons=line.measure == "spoons")
    # A measure for several cans says so itself.
    if line.cans > 1:
        return measure
    return say("jobs.dose-in-cans", measure=measure, cans=cans(line.cans))


def _dose(line: FeedLine, *, in_short: bool) -> str:
    """Return the measure, in short without its millilitres and its can, which the lead says."""
    return (line.spoons if in_short else None) or dose_in_cans(line)


def _source(line: FeedLine) -> str:
    parts = f"{line.dilution_parts:.0f}"
    return say("jobs.from-vessel", vessel=the_vessel(line.vessel), parts=parts)


def _to_do(bed: str, amount: str) -> str:
    return say("jobs.bed-to-do", bed=spoken(bed), amount=amount)


def _beds(lines: Sequence[WaterLine] | Sequence[FeedLine]) -> str:
    return joined_in_short([spoken(line.bed) for line in lines], MOST_NAMED)


def _told(alike: Mapping[tuple[str, ...], Sequence[str]]) -> tuple[str, ...]:
    """Return "Beans: 5 cans. In flower." of each amount and reason, for all beds they hold of."""
    told = []
    for (amount, *rest), beds in alike.items():
        whose = say("jobs.beds-each", beds=joined(beds)) if len(beds) > 1 else beds[0]
        told.append(" ".join([named(whose, amount), *map(sentence, rest)]).strip())
    return tuple(told)


def _parts(*parts: str) -> str:
    """Return the parts that say something as one sentence."""
    return sentence(_listed(*parts))


def _listed(*parts: str) -> str:
    return listed([part for part in parts if part])


def _shared(words: Sequence[str]) -> str:
    """Return what all words say, or nothing where they differ."""
    return words[0] if len(set(words)) == 1 else ""
