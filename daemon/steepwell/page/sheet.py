"""What the page says, in the order of what a person needs, before it is set."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from steepwell.page.things import (
    BedSaid,
    ButtSaid,
    SensorSaid,
    VesselSaid,
    beds_said,
    butts_said,
    sensors_said,
    vessels_said,
)
from steepwell.tell.content import letter_content, resting_content
from steepwell.tell.sections import SAID_ELSEWHERE
from steepwell.tell.vessel_words import vessel_jobs
from steepwell.tell.wording import sentence
from steepwell.words.figures import weekday
from steepwell.words.saying import say

if TYPE_CHECKING:
    from steepwell.page.facts import Facts
    from steepwell.tell.content import LetterContent
    from steepwell.tell.jobs import Job
    from steepwell.tell.sections import Section

# What the page says elsewhere, or has no place for.
NOT_HERE = ("vessels", "worth-knowing", "take-care")
# What is to be done; the other sections say why no more is.
TO_DO = ("before-you-go", "mulch")


@dataclass(frozen=True, slots=True)
class NoticeSaid:
    """A notice that stands: its identity, what it says, whether it cannot wait."""

    id: str
    said: str
    urgent: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """The sentences of the page.

    Attributes
    ----------
    title
        The one thing to know.
    day
        The day it is.
    note
        What is not as usual with the figures, or nothing.
    at_rest
        Whether the garden rests; then there are no jobs.
    taken
        What counts as done though nobody noted it.
    week, jobs, vessel_jobs, supplement, more, reasons
        What to do now, and why not more.
    water
        What is in hand and how long it lasts.
    has_picture, picture_alt, picture_note
        Whether there is a picture of the water ahead, its words, and how to read it.
    butts, vessels, beds, sensors
        How each thing stands.
    urgent, notices, cautions
        What cannot wait, what else to know, and to mind.
    """

    title: str
    day: str
    note: str
    at_rest: bool
    week: str
    jobs: tuple[Job, ...]
    taken: tuple[Job, ...]
    vessel_jobs: tuple[str, ...]
    supplement: str
    more: tuple[Section, ...]
    reasons: tuple[Section, ...]
    water: str
    has_picture: bool
    picture_alt: str
    picture_note: str
    butts: tuple[ButtSaid, ...]
    vessels: tuple[VesselSaid, ...]
    beds: tuple[BedSaid, ...]
    sensors: tuple[SensorSaid, ...]
    urgent: tuple[NoticeSaid, ...]
    notices: tuple[NoticeSaid, ...]
    cautions: tuple[str, ...]


def sheet_of(facts: Facts) -> Sheet:
    """Say what the page says.

    Parameters
    ----------
    facts
        What it is made of.

    Returns
    -------
    Sheet
        The same for the same facts.
    """
    letter = _letter(facts)
    sections = {section.about: section for section in letter.sections} if letter else {}
    plan, notices = facts.plan, _notices(facts)
    return Sheet(
        title=letter.subject if letter else say("sheet.nothing-yet"),
        day=weekday(facts.today),
        note=_note(facts, letter),
        at_rest=facts.at_rest,
        week=letter.week if letter else "",
        jobs=letter.jobs if letter else (),
        taken=letter.taken if letter else (),
        vessel_jobs=tuple(vessel_jobs(plan.vessels)) if plan else (),
        supplement=letter.supplement if letter else "",
        more=tuple(sections[about] for about in TO_DO if about in sections),
        reasons=tuple(sections[about] for about in sections if about not in {*NOT_HERE, *TO_DO}),
        water=letter.lead[0] if letter else "",
        has_picture=bool(facts.beside.get("water_ahead")) and letter is not None,
        picture_alt=letter.picture_alt if letter else "",
        picture_note=_how_to_read(facts.outlook.members) if facts.outlook else "",
        butts=butts_said(facts),
        vessels=vessels_said(facts),
        beds=beds_said(facts),
        sensors=sensors_said(facts),
        urgent=tuple(each for each in notices if each.urgent),
        notices=tuple(each for each in notices if not each.urgent),
        cautions=sections["take-care"].lines if "take-care" in sections else (),
    )


def _note(facts: Facts, letter: LetterContent | None) -> str:
    if letter is None:
        return say("sheet.not-yet")
    anew = say("page.worked-out-anew") if facts.unsettled else ""
    return f"{letter.outlook_note} {anew}".strip()


def _notices(facts: Facts) -> list[NoticeSaid]:
    return [
        NoticeSaid(
            each.id,
            f"{sentence(each.last.headline)} {sentence(each.last.text)}".strip(),
            urgent=each.last.urgency == "Immediate",
        )
        for each in facts.standing
        if each.kind not in SAID_ELSEWHERE
    ]


def _how_to_read(members: int) -> str:
    """Return how to read the picture, which is dark on light by day and light on dark by night."""
    return say("sheet.how-to-read", members=f"{members:,}")


def _letter(facts: Facts) -> LetterContent | None:
    if facts.plan is None:
        return None
    if facts.at_rest:
        return resting_content(facts.garden, facts.today, facts.plan, facts.outlook)
    return letter_content(
        facts.garden,
        facts.today,
        facts.plan,
        facts.outlook,
        standing=facts.standing,
        first_week=False,
        last_forecast=None,
        away=facts.away,
    )
