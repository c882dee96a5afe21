"""Notes jobs of a plan as done or not done, all of one tap in one transaction."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from steepwell.sense.journal import entry_from
from steepwell.store.entries import Corrected, JobDone, JobNotDone
from steepwell.store.job_checks import noted_jobs
from steepwell.store.tasks import done_at

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import datetime

    from steepwell.garden.garden import Garden
    from steepwell.store.store import Store
    from steepwell.store.tasks import Task

DONE, NOT_DONE = "job-done", "job-not-done"


@dataclass(frozen=True, slots=True)
class Tap:
    """What somebody said of some tasks by one tap.

    Attributes
    ----------
    kind
        ``job-done`` or ``job-not-done``.
    by
        Who.
    instead
        The bed that water went to, None if to none.
    """

    kind: str
    by: str
    instead: str | None = None


def noted_of(store: Store, now: datetime) -> dict[str, JobDone | JobNotDone]:
    """Return what is noted of each job."""
    return noted_jobs(store.journal.entries(now, kinds=(DONE, NOT_DONE)))


def mark(garden: Garden, store: Store, tasks: Sequence[Task], tap: Tap, now: datetime) -> int:
    """Note what a tap says of some tasks; what said otherwise is withdrawn with it.

    Parameters
    ----------
    garden
        The garden.
    store
        Where the journal is.
    tasks
        What the tap is about.
    tap
        What it says.
    now
        The moment.

    Returns
    -------
    int
        How many entries were written; none where all was noted so already [-].

    Raises
    ------
    JournalError
        If one of them cannot be; then nothing is written.
    """
    written = 0
    with store.transaction():
        noted = noted_of(store, now)
        for task in tasks:
            standing = noted.get(task.job)
            if standing is not None and _says(standing, tap):
                continue
            if standing is not None and standing.id is not None:
                store.journal.append(Corrected(at=now, by=tap.by, withdraws=standing.id), now)
            raw = {"kind": tap.kind, "by": tap.by, "at": done_at(task.day, garden, now)}
            told = task.entry() if tap.kind == DONE else {"job": task.job, "instead": tap.instead}
            entry = entry_from({**raw, **told}, garden, now, store.journal)
            store.journal.append(entry, now)
            written += 1
    return written


def unmark(store: Store, jobs: Iterable[str], by: str, now: datetime) -> int:
    """Withdraw what is noted of some jobs; return how many entries that were [-]."""
    with store.transaction():
        noted = noted_of(store, now)
        numbers = [each.id for job in jobs if (each := noted.get(job)) is not None]
        for number in numbers:
            if number is not None:
                store.journal.append(Corrected(at=now, by=by, withdraws=number), now)
    return len(numbers)


def _says(standing: JobDone | JobNotDone, tap: Tap) -> bool:
    if isinstance(standing, JobNotDone):
        return tap.kind == NOT_DONE and standing.instead == tap.instead
    return tap.kind == DONE
