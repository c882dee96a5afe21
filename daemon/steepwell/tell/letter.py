"""The weekly letter: the same sentences as text and as HTML, and one picture."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from steepwell.garden.days import local_day
from steepwell.tell.calendar import calendar_of
from steepwell.tell.content import Told, is_busy, letter_content, resting_content
from steepwell.tell.documents import Outlook, Plan
from steepwell.tell.going_away import sheet_page, sheet_text, sheet_title
from steepwell.tell.links import JobLink, job_token
from steepwell.tell.mail import fix_boundaries, new_mail
from steepwell.tell.telling import KEEPER_ONLY
from steepwell.tell.templating import filled
from steepwell.words.figures import spoken

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime
    from email.message import EmailMessage

    from steepwell.garden.garden import Garden
    from steepwell.garden.site import Person
    from steepwell.store.entries import Away
    from steepwell.store.notices import StandingNotice
    from steepwell.tell.content import LetterContent


@dataclass(frozen=True, slots=True, kw_only=True)
class LetterFacts:
    """Everything a letter is made of.

    Attributes
    ----------
    garden
        The garden.
    person
        To whom it goes.
    now
        When it is written (aware).
    plan
        The plan document.
    outlook
        The newest outlook document, or None where there is none.
    standing
        The notices that stand.
    first_week
        Whether the garden has no sensors or no history yet.
    last_forecast
        How the last forecast did, one sentence, or None.
    away
        An absence that is near, or None.
    plans_before, outlook_before
        The plan documents of the letters of the last weeks, the newest first, and the outlook of
        the last one, or None: what has not changed since is not said again.
    rests
        Whether the garden rests and is told no more than how it stands.
    picture
        The water in the weeks ahead as a PNG, or None.
    secret
        What signs the addresses by which jobs are noted as done, None where the garden has no page
        that can be reached.
    """

    garden: Garden
    person: Person
    now: datetime
    plan: dict[str, Any]
    outlook: dict[str, Any] | None = None
    standing: Sequence[StandingNotice] = ()
    first_week: bool = False
    last_forecast: str | None = None
    away: Away | None = None
    plans_before: Sequence[dict[str, Any]] = ()
    outlook_before: dict[str, Any] | None = None
    rests: bool = False
    picture: bytes | None = None
    secret: bytes | None = None


def compose_letter(facts: LetterFacts) -> EmailMessage:
    """Write the letter.

    Parameters
    ----------
    facts
        What it is made of.

    Returns
    -------
    EmailMessage
        Text and HTML alternatives, the picture inside the HTML; the same bytes for the same facts.

    Raises
    ------
    pydantic.ValidationError
        If the plan or the outlook is not what it should be.
    """
    today = local_day(facts.garden, facts.now)
    plan = Plan.model_validate(facts.plan)
    outlook = Outlook.model_validate(facts.outlook) if facts.outlook is not None else None
    if facts.rests:
        content = resting_content(facts.garden, today, plan, outlook)
    else:
        content = letter_content(
            facts.garden,
            today,
            plan,
            outlook,
            standing=_theirs(facts),
            first_week=facts.first_week,
            last_forecast=facts.last_forecast,
            away=facts.away,
            told=_told(facts),
        )
    mail = new_mail(
        facts.garden,
        facts.person,
        facts.now,
        subject=content.subject,
        mark=f"{today:%G-W%V-%u}",
    )
    picture_id = f"water-ahead@{facts.garden.name}.invalid"
    units = facts.garden.garden.units
    told = {
        "letter": content,
        "garden": spoken(facts.garden.name),
        "picture": picture_id if facts.picture is not None else None,
        "links": _links(facts, plan, content),
    }
    mail.set_content(filled("letter.txt.j2", units=units, **told), cte="quoted-printable")
    html = filled("letter.html.j2", units=units, **told)
    mail.add_alternative(html, subtype="html", cte="quoted-printable")
    if facts.picture is not None:
        _, alternative = mail.iter_parts()
        alternative.add_related(
            facts.picture,
            "image",
            "png",
            cid=f"<{picture_id}>",
            disposition="inline",
            filename="water-ahead.png",
        )
    if facts.garden.told.attach_calendar and not facts.rests:
        _attach_calendar(mail, calendar_of(facts.garden, plan, outlook), facts.garden.name)
    fix_boundaries(mail)
    return mail


def _told(facts: LetterFacts) -> Told:
    outlook = facts.outlook_before
    plans = tuple(Plan.model_validate(plan) for plan in facts.plans_before)
    return Told(
        plans,
        None if outlook is None else Outlook.model_validate(outlook),
        tuple(plan for plan in plans if not is_busy(facts.garden, plan)),
    )


def _attach_calendar(mail: EmailMessage, calendar: bytes, name: str) -> None:
    mail.add_attachment(
        calendar.decode().replace("\r\n", "\n"),
        subtype="calendar",
        cte="base64",
        params={"method": "PUBLISH"},
        filename=f"{name}.ics",
    )


def _links(facts: LetterFacts, plan: Plan, content: LetterContent) -> dict[str, str]:
    """Return where each job is noted as done or not, by what tells it from others."""
    page = facts.garden.page
    if page is None or page.address is None or facts.secret is None:
        return {}
    links: dict[str, str] = {}
    for job in (*content.jobs, *content.taken):
        if job.names:
            token = job_token(JobLink(plan.issued, job.id, facts.person.name), facts.secret)
            links[job.id] = f"{page.address}/done/{token}"
    return links


def _theirs(facts: LetterFacts) -> list[StandingNotice]:
    """Return the notices that concern this reader; a fault of the machine is the keeper's."""
    keeper = facts.person.role == "keeper"
    return [each for each in facts.standing if keeper or each.kind not in KEEPER_ONLY]


def compose_sheet(facts: LetterFacts) -> EmailMessage:
    """Write to a helper what to water this week, and nothing else.

    Parameters
    ----------
    facts
        What it is made of.

    Returns
    -------
    EmailMessage
        Text and HTML alternatives; the same bytes for the same facts.

    Raises
    ------
    pydantic.ValidationError
        If the plan is not what it should be.
    """
    plan = Plan.model_validate(facts.plan)
    mail = new_mail(
        facts.garden,
        facts.person,
        facts.now,
        subject=sheet_title(facts.garden, plan),
        mark=f"sheet-{plan.week[0]:%G-W%V-%u}",
    )
    mail.set_content(sheet_text(facts.garden, plan), cte="quoted-printable")
    page = sheet_page(facts.garden, plan)
    mail.add_alternative(page, subtype="html", cte="quoted-printable")
    fix_boundaries(mail)
    return mail
