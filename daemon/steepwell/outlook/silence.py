"""A feed that a letter told and of which nobody says anything counts as given."""

from __future__ import annotations

from bisect import bisect_right
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

from steepwell.garden.days import local_day, midnight
from steepwell.outlook.falling import GUESS
from steepwell.store.dated import away_on, rests
from steepwell.store.entries import DrawnOff, Entry, Fed, JobDone, SteepStarted
from steepwell.store.job_checks import noted_jobs
from steepwell.store.steeps import steep_in
from steepwell.store.tasks import Task, done_at, tasks_of

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from steepwell.garden.garden import Garden
    from steepwell.store.store import Store

Json = dict[str, Any]
Plans = list[tuple[datetime, Json]]

# No crop is fed at longer intervals, and no older feed changes the feeding calendar.
LOOKS_BACK_D = 60
# A letter tells the plan of its day; where that could not be made, not a much older one.
OLDEST_D = 7
DAY = timedelta(days=1)


def feeds_in_silence(
    garden: Garden, store: Store, entries: Sequence[Entry], now: datetime
) -> list[Fed | DrawnOff]:
    """Return the feeds that count as given because nobody said otherwise.

    What the last letter told, and the plan of the day still held, was given on that day, unless a
    feed of that bed is noted since the letter, the job is noted as not done, the gardener was away
    or the garden at rest, or the vessel no longer holds the steep.

    Parameters
    ----------
    garden
        The garden.
    store
        Letters and plans.
    entries
        The journal.
    now
        The moment of the job; only days before today count.

    Returns
    -------
    list of Fed and DrawnOff
        In order of time, said by "guess".
    """
    today = local_day(garden, now)
    steeps = (steep_in(entries, vessel.name, now) for vessel in garden.vessel)
    begun = [start.at for start in steeps if isinstance(start, SteepStarted)]
    since = min([*begun, now - LOOKS_BACK_D * DAY])
    letters = store.results.issued("letter", since, now)
    if not letters:
        return []
    plans = store.results.feeds(letters[0] - OLDEST_D * DAY, now)
    found: list[Fed | DrawnOff] = []
    for index, letter in enumerate(letters):
        first = local_day(garden, letter)
        following = local_day(garden, letters[index + 1]) if index + 1 < len(letters) else today
        end = min(following, today, first + 7 * DAY)
        told = {task.bed for task in _in_force(garden, plans, letter)}
        told -= _fed_between(garden, entries, first, following if following < today else None)
        found += _given(garden, plans, entries, (first, end), told)
    return sorted(found, key=lambda each: each.at)


def _fed_between(
    garden: Garden, entries: Sequence[Entry], first: date, end: date | None
) -> set[str]:
    """Return the beds of which a feed is noted from a day on, before another if there is one."""
    return {
        entry.bed
        for entry in entries
        if isinstance(entry, Fed)
        and first <= local_day(garden, entry.at)
        and (end is None or local_day(garden, entry.at) < end)
    }


def _given(
    garden: Garden,
    plans: Plans,
    entries: Sequence[Entry],
    span: tuple[date, date],
    told: set[str],
) -> list[Fed | DrawnOff]:
    day, end = span
    noted = noted_jobs(entries)
    left = set(told)
    found: list[Fed | DrawnOff] = []
    while left and day < end:
        evening = midnight(garden, day + DAY)
        if away_on(entries, day) is None and not rests(entries, evening):
            for task in _in_force(garden, plans, evening):
                if task.day == day and task.bed in left and task.job not in noted:
                    given = _entries(garden, entries, task, evening)
                    left -= {task.bed} if given else set()
                    found += given
        day += DAY
    return found


def _in_force(garden: Garden, plans: Plans, at: datetime) -> list[Task]:
    """Return what is fed by the last plan issued up to a moment."""
    issued = bisect_right(plans, at, key=lambda plan: plan[0])
    return tasks_of(plans[issued - 1][1], garden) if issued else []


def _entries(
    garden: Garden, entries: Sequence[Entry], task: Task, end: datetime
) -> list[Fed | DrawnOff]:
    """Return what a task would have written; nothing where its vessel holds no steep by then."""
    at = done_at(task.day, garden, end)
    if task.vessel is None or steep_in(entries, task.vessel, at) is None:
        return []
    written = JobDone(at=at, by=GUESS, **{**task.entry(), "litres": None})
    return [part for part in written.parts() if isinstance(part, Fed | DrawnOff)]
