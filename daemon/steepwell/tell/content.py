"""What a letter says, before it is set as text or HTML."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from steepwell.store.tasks import WATER
from steepwell.tell.cautions import cautions
from steepwell.tell.dry_words import dry_words
from steepwell.tell.first_week import known, wanted_readings
from steepwell.tell.going_away import before_you_go
from steepwell.tell.jobs import Job, dose_in_cans, jobs, shared_skip
from steepwell.tell.resting import resting_lines, resting_subject
from steepwell.tell.state import below_taps, lasts
from steepwell.tell.subject import letter_subject
from steepwell.tell.taken import taken_said
from steepwell.tell.vessel_words import vessels_said
from steepwell.tell.wording import (
    cans,
    day_range,
    in_hand,
    joined,
    joined_in_short,
    litres,
    named,
    sentence,
    spoken,
    weekday,
)
from steepwell.tell.would_help import mulched, would_help

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from steepwell.garden.garden import Garden
    from steepwell.store.entries import Away
    from steepwell.store.notices import StandingNotice
    from steepwell.tell.documents import Outlook, Plan

MOST_NAMED = 4
# What the first three lines and the vessels' lines say already, and what is of one night.
SAID_ELSEWHERE = (
    "frost-tonight",
    "shortfall-ahead",
    "running-dry",
    "vessel-ready",
    "top-up-due",
    "steep-ended",
    "overflow-ahead",
    "butts-full",
)
# What is said in one letter, however long it stands.
SAID_ONCE, A_LETTER_D = ("warm-water",), 7


@dataclass(frozen=True, slots=True)
class Section:
    """A titled part of the letter; a quiet one is set smaller."""

    title: str
    lines: tuple[str, ...]
    quiet: bool = False


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

    Returns
    -------
    LetterContent
        The same for the same facts.
    """
    sections = (
        Section("Before you go", _before_you_go(garden, plan, away, today)),
        Section("What is known so far", tuple(known(garden)) if first_week else ()),
        Section("Left dry, and why", _by_reason([(e.bed, e.reason) for e in plan.left_dry])),
        Section(
            "Due for feed, and left out",
            _by_reason([(e.bed, e.reason) for e in plan.unfed if e.due]),
            quiet=True,
        ),
        Section("Mulch", tuple(mulched(line) for line in plan.mulch)),
        Section("What else would help", would_help(garden, plan)),
        Section("Vessels", vessels_said(plan, outlook, today)),
        Section("Also worth knowing", _worth_knowing(standing, today)),
        Section("How the last forecast did", (sentence(last_forecast),) if last_forecast else ()),
        Section("Take care", tuple(cautions(garden, plan)), quiet=True),
    )
    told, skip = _jobs(garden, plan)
    return LetterContent(
        subject=letter_subject(
            plan,
            today,
            dry=_is_dry(garden, plan),
            tap=garden.tap.available != "no",
            first=first_week,
        ),
        lead=(_water_in_hand(garden, plan, outlook, today), _water_line(plan), _feed_line(plan)),
        outlook_note=_outlook_note(garden, outlook, today)
        or _dry_note(garden, plan, outlook, today),
        wanted=tuple(wanted_readings(garden, _steeping(outlook))) if first_week else (),
        week=day_range(plan.week[0], plan.week[1]),
        jobs=told or _in_need(garden, plan),
        taken=taken_said(plan),
        supplement=" ".join(part for part in (skip, _SUPPLEMENT if plan.feed else "") if part),
        sections=tuple(section for section in sections if section.lines),
        picture_alt=f"The water in the weeks ahead. {_water_in_hand(garden, plan, outlook, today)}",
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


_SUPPLEMENT = (
    "Feed goes on moist soil, as one of the bed's cans of water. It is a supplement and does not "
    "replace compost."
)


def _jobs(garden: Garden, plan: Plan) -> tuple[tuple[Job, ...], str]:
    """Return the jobs, and when to leave a watering where that is said once for several."""
    told = tuple(jobs(plan, garden))
    rules = [job.skip for job in told if any(name.startswith(f"{WATER}/") for name in job.names)]
    common = shared_skip(rules) if sum(map(bool, rules)) > 1 else ""
    if not common:
        return told, ""
    said = common.replace("kip it if", "kip a watering if")
    return tuple(replace(job, skip="") for job in told), said


def _before_you_go(garden: Garden, plan: Plan, away: Away | None, today: date) -> tuple[str, ...]:
    """Return what to do before an absence; nothing once it has begun."""
    return before_you_go(garden, plan, away) if away and today <= away.first else ()


def _water_in_hand(garden: Garden, plan: Plan, outlook: Outlook | None, today: date) -> str:
    if plan.in_hand_l is None:
        return "How much water is in hand is not known until a butt is read."
    said = f"{in_hand(plan.in_hand_l, garden.capacity_l - below_taps(garden))} in hand"
    if _is_dry(garden, plan):
        return f"{said}, which is as good as dry."
    if plan.lasts_to is None:
        return f"{said}. How long that lasts cannot be said yet."
    # A plan that only repeats the outlook has not looked at what its own share-out saves.
    shared_out = outlook is None or plan.lasts_to != outlook.water.dry_by
    rate = "Shared out as below" if shared_out else "As you water now,"
    return f"{said}. {rate} {lasts(plan.lasts_to, today, outlook.days[-1] if outlook else None)}."


def _is_dry(garden: Garden, plan: Plan) -> bool:
    return plan.in_hand_l is not None and plan.in_hand_l < garden.dry_line_l


def _in_need(garden: Garden, plan: Plan) -> tuple[Job, ...]:
    """Return what is left to do when the butts are dry and so are beds."""
    if garden.tap.available == "no" or not (_is_dry(garden, plan) and plan.left_dry):
        return ()
    how = "On the soil, by the can, if local orders allow it; it needs no standing for beds."
    return (Job("Water from the tap what wilts at dawn", how, (), "", plan.week[0]),)


def _water_line(plan: Plan) -> str:
    beds = [
        f"{spoken(line.bed)} {litres(line.daily_l)} a day"
        if line.daily_l
        else f"{spoken(line.bed)} {cans(line.cans) if line.cans else litres(line.litres)}"
        for line in plan.watered
    ]
    tap = f" About {litres(plan.tap_l)} of it from the tap." if plan.tap_l else ""
    return f"Water: {joined_in_short(beds, MOST_NAMED)}.{tap}" if beds else "Water: nothing now."


def _feed_line(plan: Plan) -> str:
    doses: dict[str, list[str]] = {}
    for line in plan.feed:
        doses.setdefault(dose_in_cans(line), []).append(spoken(line.bed))
    beds = [
        f"{joined(names)}, {dose}{' each' if len(names) > 1 else ''}"
        for dose, names in doses.items()
    ]
    return f"Feed: {'; '.join(beds)}." if beds else "Feed: nothing now."


def _outlook_note(garden: Garden, outlook: Outlook | None, today: date) -> str:
    if outlook is None and garden.weather_record is None:
        return (
            "There is no outlook for the weeks ahead, because the garden file names no weather "
            "record. Water is shared out by what the beds lack today."
        )
    if outlook is None:
        return (
            "The outlook for the weeks ahead could not be made. Water is shared out by what the "
            "beds lack today."
        )
    made_on = outlook.issued.astimezone(garden.garden.zone).date()
    if made_on >= today:
        return ""
    whose = "yesterday's outlook" if (today - made_on).days == 1 else "the last outlook"
    return f"The figures are those of {whose}, of {weekday(made_on)}: today's could not be made."


def _dry_note(garden: Garden, plan: Plan, outlook: Outlook | None, today: date) -> str:
    """Return how unusual the weather is where water is short, else nothing."""
    if outlook is None or not (plan.left_dry or _is_dry(garden, plan)):
        return ""
    return dry_words(outlook.dryness, today)


def _by_reason(lines: Sequence[tuple[str, str]]) -> tuple[str, ...]:
    beds: dict[str, list[str]] = {}
    for bed, reason in lines:
        beds.setdefault(reason, []).append(spoken(bed))
    return tuple(named(joined(names), reason) for reason, names in beds.items())


def _steeping(outlook: Outlook | None) -> set[str]:
    vessels = outlook.vessels if outlook else ()
    return {vessel.name for vessel in vessels if vessel.thermal_age_d is not None}


def _worth_knowing(standing: Sequence[StandingNotice], today: date) -> tuple[str, ...]:
    return tuple(
        f"{sentence(each.last.headline)} {sentence(each.last.text)}".strip()
        for each in standing
        if each.kind not in SAID_ELSEWHERE
        and (each.kind not in SAID_ONCE or (today - each.since.date()).days < A_LETTER_D)
    )


def _picture_note(outlook: Outlook | None) -> str:
    futures = f"{outlook.members:,} futures" if outlook else "many futures"
    return (
        f"The dark line is the middle of {futures}; the darker band holds half of them, "
        "the pale one nine in ten."
    )
