"""Whether a job of the plan can still be noted as done or not done."""

from __future__ import annotations

from typing import TYPE_CHECKING

from steepwell.errors import JournalError
from steepwell.store.entry_kinds import JobDone, JobNotDone
from steepwell.store.tasks import FEED
from steepwell.words.saying import say

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
            raise JournalError(say("refused.feed-instead"))
        if entry.instead == entry.bed:
            raise JournalError(say("refused.instead-of-itself", bed=entry.bed))
    noted = noted_jobs(existing).get(entry.job)
    if noted is None:
        return
    done = isinstance(noted, JobDone)
    if type(noted) is type(entry):
        key = "done" if done else "not-done"
        raise JournalError(say(f"refused.already-{key}", job=entry.job, number=noted.id))
    raise JournalError(
        say(
            "refused.withdraw-done" if done else "refused.withdraw-not-done",
            job=entry.job,
            number=noted.id,
        )
    )
