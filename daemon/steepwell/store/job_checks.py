"""Whether a job of the plan can still be noted as done or not done."""

from __future__ import annotations

from typing import TYPE_CHECKING

from steepwell.errors import JournalError
from steepwell.store.entry_kinds import JobDone, JobNotDone
from steepwell.store.tasks import FEED

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from steepwell.store.entry_kinds import Entry


def noted_jobs(entries: Iterable[Entry]) -> dict[str, JobDone | JobNotDone]:
    """Return what is noted of each job.

    Parameters
    ----------
    entries
        The journal.

    Returns
    -------
    dict of str to JobDone or JobNotDone
        By the name of the job; others are open.
    """
    return {entry.job: entry for entry in entries if isinstance(entry, JobDone | JobNotDone)}


def check_job(entry: JobDone | JobNotDone, existing: Sequence[Entry]) -> None:
    """Raise a JournalError if a job is noted already, or cannot be noted so.

    Parameters
    ----------
    entry
        The entry.
    existing
        What stands in the journal.

    Raises
    ------
    JournalError
        The message says what is so and what to do.
    """
    if isinstance(entry, JobNotDone) and entry.instead is not None:
        if entry.what == FEED:
            raise JournalError(
                "'instead' names the bed that water went to; a feed is just not done: leave "
                "'instead' out, and note what was fed"
            )
        if entry.instead == entry.bed:
            raise JournalError(f"{entry.bed!r} cannot be had instead of itself; name another bed")
    noted = noted_jobs(existing).get(entry.job)
    if noted is None:
        return
    said = "done" if isinstance(noted, JobDone) else "not done"
    if type(noted) is type(entry):
        raise JournalError(
            f"{entry.job} is noted as {said} already (entry {noted.id}); nothing is changed"
        )
    raise JournalError(
        f"{entry.job} is noted as {said} (entry {noted.id}); withdraw that first: "
        f"corrected {noted.id}"
    )
