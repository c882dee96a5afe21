"""What a letter says, before it is set as text or HTML."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from steepwell.store.tasks import WATER
from steepwell.tell.first_week import wanted_readings
from steepwell.tell.jobs import MOST_JOBS, Job, jobs
from steepwell.tell.lead import dry_note, feed_line, is_dry, outlook_note, water_in_hand, water_line
from steepwell.tell.resting import resting_lines, resting_subject
from steepwell.tell.sections import sections_said
from steepwell.tell.skipping import shared_skip
from steepwell.tell.subject import letter_subject
from steepwell.tell.taken import taken_said
from steepwell.tell.wording import day_range
from steepwell.words.saying import say

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from steepwell.garden.garden import Garden
    from steepwell.store.entries import Away
    from steepwell.store.notices import StandingNotice
    from steepwell.tell.documents import Outlook, Plan
    from steepwell.tell.sections import Section


@dataclass(frozen=True, slots=True)
class LetterContent:
    """The sentences of a letter, in the order of its parts."""

    subject: str
    lead: tuple[str, ...]
    outlook_note: str
    wanted: tuple[tuple[str, tuple[str, ...]], ...]
    week: str
    jobs: tuple[Job, ...]
    taken: tuple[Job, ...]
    supplement: str
    sections: tuple[Section, ...]
    picture_alt: str
    picture_note: str


@dataclass(frozen=True, slots=True)
class Told:
    """What a letter may take as told, for it is short and leaves reasons to the page.

    Attributes
    ----------
    plans
        The plans of the letters of the last weeks, the newest first.
    outlook
        The outlook of the last letter, or None.
    unhurried
        Those of the plans whose letters had room for what can wait.
    """

    plans: tuple[Plan, ...] = ()
    outlook: Outlook | None = None
    unhurried: tuple[Plan, ...] = ()

    @property
    def plan(self) -> Plan | None:
        """The plan of the last letter, or None."""
        return self.plans[0] if self.plans else None


def letter_content(
    garden: Garden,
    today: date,
    plan: Plan,
    outlook: Outlook | None,
    *,
    standing: Sequence[StandingNotice],
    first_week: bool,
    last_forecast: str | None,
    away: Away | None = None,
    told: Told | None = None,
) -> LetterContent:
    """Say a plan and an outlook in sentences.

    Parameters
    ----------
    garden
        The garden.
    today
        The local day of the letter.
    plan
        What to do.
    outlook
        The weeks ahead, or None.
    standing
        The notices that stand.
    first_week
        Whether to say what a beginner's garden knows and lacks.
    last_forecast
        How the last forecast did, or None.
    away
        An absence that is near, or None.
    told
        What is known to the reader, for a letter; None to say all of it in full, as on the page.

    Returns
    -------
    LetterContent
        The same for the same facts.
    """
    done, rule = _jobs(garden, plan, in_short=told is not None)
    busy = told is not None and len(done) >= MOST_JOBS
    in_hand = water_in_hand(garden, plan, outlook, today)
    return LetterContent(
        subject=letter_subject(
            plan,
            today,
            dry=is_dry(garden, plan),
            tap=garden.tap.available != "no",
            first=first_week,
        ),
        lead=(in_hand, water_line(plan), feed_line(plan)),
        outlook_note=outlook_note(garden, outlook, today)
        or ("" if busy else _how_dry(garden, plan, outlook, today, told)),
        wanted=tuple(wanted_readings(garden, _steeping(outlook))) if first_week else (),
        week=day_range(plan.week[0], plan.week[1]),
        jobs=done or _in_need(garden, plan),
        taken=taken_said(plan),
        supplement=" ".join(part for part in (rule, _supplement(plan, told)) if part),
        sections=sections_said(
            garden,
            today,
            plan,
            outlook,
            standing=standing,
            first_week=first_week,
            last_forecast=last_forecast,
            away=away,
            told=told,
            busy=busy,
        ),
        picture_alt=say("letter.picture-in-words", in_hand=in_hand),
        picture_note=_picture_note(outlook),
    )


def resting_content(
    garden: Garden, today: date, plan: Plan, outlook: Outlook | None
) -> LetterContent:
    """Say in three lines how a garden stands that rests.

    Parameters
    ----------
    garden
        The garden.
    today
        The local day of the letter.
    plan
        What to do.
    outlook
        The weeks ahead, or None.

    Returns
    -------
    LetterContent
        Without jobs, sections and picture.
    """
    return LetterContent(
        subject=resting_subject(plan),
        lead=resting_lines(garden, plan, outlook, today),
        outlook_note="",
        wanted=(),
        week="",
        jobs=(),
        taken=(),
        supplement="",
        sections=(),
        picture_alt="",
        picture_note="",
    )


def is_busy(garden: Garden, plan: Plan) -> bool:
    """Return whether a week has as many jobs as a letter may have: what can wait has no room."""
    return len(jobs(plan, garden, in_short=True)) >= MOST_JOBS


def _jobs(garden: Garden, plan: Plan, *, in_short: bool) -> tuple[tuple[Job, ...], str]:
    """Return the jobs, and when to leave a watering where that is said once for several."""
    told = tuple(jobs(plan, garden, in_short=in_short))
    rules = [job.rule for job in told if any(name.startswith(f"{WATER}/") for name in job.names)]
    common = shared_skip(rules) if sum(map(bool, rules)) > 1 else None
    if common is None:
        return told, ""
    return tuple(replace(job, rule=None) for job in told), common.said(several=True)


def _in_need(garden: Garden, plan: Plan) -> tuple[Job, ...]:
    """Return what is left to do when the butts are dry and so are beds."""
    if garden.tap.available == "no" or not (is_dry(garden, plan) and plan.left_dry):
        return ()
    do, how = say("letter.from-the-tap"), say("letter.how-from-the-tap")
    return (Job(do, how, (), None, plan.week[0]),)


def _supplement(plan: Plan, told: Told | None) -> str:
    """Return what feed is and is not; in a letter once in a while."""
    if not plan.feed or (told is not None and any(before.feed for before in told.plans)):
        return ""
    return say("letter.supplement")


def _how_dry(
    garden: Garden, plan: Plan, outlook: Outlook | None, today: date, told: Told | None
) -> str:
    """Return how unusual the weather is, unless just that was told."""
    said = dry_note(garden, plan, outlook, today)
    if told is None or told.plan is None or told.plan not in told.unhurried:
        return said
    return "" if said == dry_note(garden, told.plan, told.outlook, today) else said


def _steeping(outlook: Outlook | None) -> set[str]:
    vessels = outlook.vessels if outlook else ()
    return {vessel.name for vessel in vessels if vessel.thermal_age_d is not None}


def _picture_note(outlook: Outlook | None) -> str:
    if outlook is None:
        return say("letter.picture-of-many")
    return say("letter.picture-of", count=f"{outlook.members:,}")
