"""Journal entries as people and programs send them, a level in words among them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from steepwell.errors import JournalError
from steepwell.sense.hand import is_rough, level_in_litres
from steepwell.store.entries import Entry, parse_entry
from steepwell.store.job_checks import noted_jobs
from steepwell.store.tasks import done_at, job_parts, task_named

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from steepwell.garden.garden import Garden
    from steepwell.store.journal import Journal
    from steepwell.store.results import Results

_TURNS = ("steep-started", "vessel-emptied")
# What is in a vessel, and whether it was seen to be ready.
_CONTENTS = (*_TURNS, "drawn-off", "decanted", "topped-up", "ready-confirmed")
# What was sick when it was cleared stays out of a vessel.
_MATTER = (*_CONTENTS, "planted", "cleared")

_JOBS = ("job-done", "job-not-done")

_KINDS: dict[str, tuple[str, ...] | None] = {
    "corrected": None,
    "drawn-off": _CONTENTS,
    "decanted": _CONTENTS,
    "topped-up": _MATTER,
    "fed": _CONTENTS,
    "steep-started": _MATTER,
    "vessel-emptied": _CONTENTS,
    "filled-to": ("filled-to",),
    "job-done": (*_CONTENTS, *_JOBS),
    "job-not-done": _JOBS,
    "put-to-bed": ("put-to-bed", "woken"),
    "woken": ("put-to-bed", "woken"),
}


def entry_from(
    raw: object,
    garden: Garden,
    now: datetime,
    journal: Journal,
    plans: Results | None = None,
) -> Entry:
    """Read an entry and check it against the garden and the journal.

    Parameters
    ----------
    raw
        The entry as it came; a level-read may carry ``text`` instead of ``litres``, a job no more
        than its name.
    garden
        The garden it is about.
    now
        Aware datetime; an entry without ``at`` happened now.
    journal
        What was noted before.
    plans
        Where the plans are that say what a job comes to; None where the entry says it itself.

    Returns
    -------
    Entry
        Fit for the journal.

    Raises
    ------
    JournalError
        If it cannot be; the message says what is so and what to do.
    """
    if not isinstance(raw, dict):
        raise JournalError("a journal entry is one JSON object; write it between { and }")
    kinds = _KINDS.get(str(raw.get("kind")), _TURNS)
    existing = journal.entries(now, kinds=kinds)
    if raw.get("kind") in _JOBS and plans is not None:
        raw = _of_plan(raw, garden, now, existing=existing, plans=plans)
    return parse_entry(_with_litres(raw, garden), garden, now, existing)


def _of_plan(
    raw: dict[str, Any],
    garden: Garden,
    now: datetime,
    *,
    existing: Sequence[Entry],
    plans: Results,
) -> dict[str, Any]:
    """Return a job with what the plan says of it; one that says that itself stays as it is."""
    job = raw.get("job")
    if not isinstance(job, str) or "litres" in raw or "vessel" in raw:
        return raw
    is_named = _is_named(job)
    if raw["kind"] == "job-not-done" and is_named:
        return raw
    task = task_named(job, garden, plans, now, noted_jobs(existing))
    if task is None:
        known = "" if is_named else ', such as "water/beans/2031-06-08" or "feed/leeks"'
        raise JournalError(
            f"there is no job {job[:60]!r} in the plans of the last four weeks; name one as the "
            f"plan does{known}"
        )
    at = done_at(task.day, garden, now)
    if raw["kind"] == "job-not-done":
        return {"at": at, **raw, "job": task.job}
    return {"at": at, **raw, **task.entry()}


def _is_named(job: str) -> bool:
    try:
        job_parts(job)
    except ValueError:
        return False
    return True


def _with_litres(raw: dict[str, Any], garden: Garden) -> dict[str, Any]:
    text = raw.get("text")
    if raw.get("kind") != "level-read" or not isinstance(text, str):
        return raw
    if "litres" in raw:
        raise JournalError("a level is read in words or in litres; give either 'text' or 'litres'")
    butt = next((butt for butt in garden.butt if butt.name == raw.get("butt")), None)
    rest = {key: value for key, value in raw.items() if key != "text"}
    if butt is None:
        return {**rest, "litres": 0.0}
    return {**rest, "litres": level_in_litres(text, butt), "rough": is_rough(text)}
