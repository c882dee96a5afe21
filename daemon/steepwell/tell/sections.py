"""The titled parts of a letter, below what is to be done."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from steepwell.tell.cautions import cautions
from steepwell.tell.first_week import known
from steepwell.tell.going_away import before_you_go
from steepwell.tell.vessel_words import vessels_said
from steepwell.tell.wording import named, sentence
from steepwell.tell.would_help import mulches_said, would_help
from steepwell.words.figures import joined, spoken
from steepwell.words.saying import say

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from steepwell.garden.garden import Garden
    from steepwell.store.entries import Away
    from steepwell.store.notices import StandingNotice
    from steepwell.tell.content import Told
    from steepwell.tell.documents import Outlook, Plan

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
# What a letter of a busy week leaves out: the dose stands with the job.
CAN_WAIT = ("next-rung",)
# Set smaller.
QUIET = ("unfed", "take-care")


@dataclass(frozen=True, slots=True)
class Section:
    """A titled part of the letter, by what it is about."""

    about: str
    lines: tuple[str, ...]

    @property
    def title(self) -> str:
        """What stands above it."""
        return say(f"letter-titles.{self.about}")

    @property
    def quiet(self) -> bool:
        """Whether it is set smaller."""
        return self.about in QUIET


def sections_said(
    garden: Garden,
    today: date,
    plan: Plan,
    outlook: Outlook | None,
    *,
    standing: Sequence[StandingNotice],
    first_week: bool,
    last_forecast: str | None,
    away: Away | None,
    told: Told | None,
    busy: bool,
) -> tuple[Section, ...]:
    """Return the parts that have something to say.

    Parameters
    ----------
    garden, today, plan, outlook, standing, first_week, last_forecast, away, told
        As ``letter_content``.
    busy
        Whether there are so many jobs that what can wait is left to the page.

    Returns
    -------
    tuple of Section
        In the order in which they are read.
    """
    dry = {line.bed for line in plan.left_dry} if told else set()
    unfed = [each for each in _unfed(plan) if each[0] not in dry]
    before = told.plan if told else None
    sections = (
        # Nothing once it has begun.
        Section(
            "before-you-go",
            before_you_go(garden, plan, away) if away and today <= away.first else (),
        ),
        Section("known", tuple(known(garden)) if first_week else ()),
        Section("left-dry", _by_reason(_left_dry(plan, told), known=_left_dry(before, told))),
        Section("unfed", _by_reason(unfed, known=_unfed(before))),
        Section("mulch", mulches_said(plan, told)),
        Section("would-help", () if busy else would_help(garden, plan, told)),
        Section("vessels", vessels_said(plan, outlook, today, told)),
        Section("worth-knowing", _worth_knowing(standing, today, busy=busy)),
        Section("last-forecast", (sentence(last_forecast),) if last_forecast else ()),
        Section("take-care", tuple(cautions(garden, plan, told))),
    )
    return tuple(section for section in sections if section.lines)


def _left_dry(plan: Plan | None, told: Told | None) -> list[tuple[str, str]]:
    """Return the beds that get no water and why; in a letter not until when each holds out."""
    return [
        (line.bed, say("letter.moist-enough") if told and line.enough else line.reason)
        for line in (plan.left_dry if plan else ())
    ]


def _unfed(plan: Plan | None) -> list[tuple[str, str]]:
    return [(line.bed, line.reason) for line in plan.unfed if line.due] if plan else []


def _by_reason(
    lines: Sequence[tuple[str, str]], *, known: Sequence[tuple[str, str]]
) -> tuple[str, ...]:
    """Return beds by the reason of each, together those whose reason was told and is the same."""
    again = say("letter.as-before")
    beds: dict[str, list[str]] = {}
    for bed, reason in sorted(lines, key=lambda line: line in known):
        beds.setdefault(again if (bed, reason) in known else reason, []).append(spoken(bed))
    return tuple(named(joined(names), reason) for reason, names in beds.items())


def _worth_knowing(
    standing: Sequence[StandingNotice], today: date, *, busy: bool
) -> tuple[str, ...]:
    return tuple(
        sentence(each.last.headline)
        for each in standing
        if each.kind not in SAID_ELSEWHERE
        and not (busy and each.kind in CAN_WAIT)
        and (each.kind not in SAID_ONCE or (today - each.since.date()).days < A_LETTER_D)
    )
