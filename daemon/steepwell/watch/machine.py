"""Rules about the machine itself: broker or mirror cannot be reached, heavy work failed."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from steepwell.watch.finding import Finding
from steepwell.watch.kinds import BACKUP_OLD, MAIL_FAILING, PUSH_FAILING

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from steepwell.garden.garden import Garden
    from steepwell.sense.link import LinkState
    from steepwell.store.mirror import MirrorState
    from steepwell.store.outbox import Stuck

BROKER = "broker-unreachable"
WORKER = "worker-failed"
MIRROR = "mirror-behind"
GARDEN_FILE = "garden-file-refused"

# A server that is restarted or moved is back by then.
BEHIND_AFTER = timedelta(hours=6)
# A server that is busy takes a mail at the second or third try; one that is down is back by then.
FAILING_AFTER = timedelta(hours=2)
# A backup is made once a day.
OLD_AFTER = timedelta(days=3)


def broker_unreachable(garden: Garden, link: LinkState | None) -> list[Finding]:
    """Find out whether the broker cannot be reached.

    Parameters
    ----------
    garden
        The garden.
    link
        How the connection stands, None for a garden without a broker.

    Returns
    -------
    list of Finding
        One, or none.
    """
    if link is None or link.connected or garden.broker is None:
        return []
    return [
        Finding(
            kind=BROKER,
            subject="broker",
            urgency="Expected",
            severity="Minor",
            certainty="Observed",
            headline="The broker cannot be reached",
            text=(
                f"{garden.broker.host}:{garden.broker.port} does not answer "
                f"({link.last_error or 'no answer yet'}). It is tried again and again; see that "
                "the broker runs and that its address under [broker] is right."
            ),
            figures={"tries": link.tries},
        )
    ]


def worker_failed(job: str, reason: str) -> Finding:
    """Tell that heavy work failed.

    Parameters
    ----------
    job
        The job it was for.
    reason
        Why, as one sentence.

    Returns
    -------
    Finding
        For the keeper.
    """
    return Finding(
        kind=WORKER,
        subject=job,
        urgency="Expected",
        severity="Minor",
        certainty="Observed",
        headline=f"The {job} could not be worked out",
        text=f"{reason}. What was worked out before still stands; it is tried again next time.",
    )


def garden_file_refused(reason: str) -> Finding:
    """Tell that a changed garden file has faults, and that the old garden goes on.

    Parameters
    ----------
    reason
        The faults.

    Returns
    -------
    Finding
        For the keeper.
    """
    return Finding(
        kind=GARDEN_FILE,
        subject="garden-file",
        urgency="Expected",
        severity="Minor",
        certainty="Observed",
        headline="The changed garden file was refused",
        text=(
            f"{reason}\nThe garden goes on as it was before. Mend the file, see that "
            "steepwell check finds no fault, and have it read anew with steepwell reload."
        ),
    )


def mirror_behind(garden: Garden, state: MirrorState | None, now: datetime) -> list[Finding]:
    """Find out whether the mirror lacks what it should have had long ago.

    Parameters
    ----------
    garden
        The garden.
    state
        How the mirror stands, None before it was begun.
    now
        The moment of the job.

    Returns
    -------
    list of Finding
        One when it failed for six hours, or as soon as waiting alone does not mend it.
    """
    if state is None or state.reason is None:
        return []
    behind = now - state.complete
    if not state.lasting and behind < BEHIND_AFTER:
        return []
    since = state.complete.astimezone(garden.garden.zone)
    return [
        Finding(
            kind=MIRROR,
            subject="mirror",
            urgency="Expected",
            severity="Minor",
            certainty="Observed",
            headline="The mirror is behind",
            text=(
                f"It lacks what came since {since:%-d %B %H:%M}: {state.reason}. Nothing is lost: "
                "it is tried again and again, and caught up with. See that its server runs and "
                "that what stands under [mirror] is right."
            ),
            figures={"tries": state.failures, "behind_h": round(behind / timedelta(hours=1), 1)},
        )
    ]


def ways_failing(stuck: Sequence[Stuck], now: datetime) -> list[Finding]:
    """Find out which ways to people have not been taking messages for two hours.

    Parameters
    ----------
    stuck
        What waits and was tried in vain, by person and way.
    now
        The moment of the job.

    Returns
    -------
    list of Finding
        One for the mail server, one for each other way of a person.
    """
    found: dict[str, Finding] = {}
    for one in sorted(stuck, key=lambda each: each.since):
        if now - one.since < FAILING_AFTER:
            continue
        by_mail = one.way == "mail"
        finding = _failing(one, by_mail=by_mail)
        found.setdefault(finding.id, finding)
    return list(found.values())


def _failing(one: Stuck, *, by_mail: bool) -> Finding:
    what = "Mail" if by_mail else f"The push way of {one.person}"
    waits = "1 message waits" if one.count == 1 else f"{one.count} messages wait"
    look = "[told.mail]" if by_mail else f"the ways of {one.person} under [told.people]"
    return Finding(
        kind=MAIL_FAILING if by_mail else PUSH_FAILING,
        subject="mail" if by_mail else one.person,
        urgency="Expected",
        severity="Moderate",
        certainty="Observed",
        headline=f"{what} is not getting through",
        text=(
            f"{waits} since {one.since:%-d %B %H:%M} UTC: {one.reason}. Nothing is lost: each is "
            f"tried again and again. See that what stands in {look} is right. This is over when "
            "they were taken."
        ),
        figures={"messages": one.count, "since": one.since.isoformat()},
    )


def backup_old(last: datetime | None, now: datetime) -> list[Finding]:
    """Find out whether the last backup is old; a garden that makes none misses none.

    Parameters
    ----------
    last
        When the last one was made, None where none is made.
    now
        The moment of the job.

    Returns
    -------
    list of Finding
        One, or none.
    """
    if last is None or now - last < OLD_AFTER:
        return []
    return [
        Finding(
            kind=BACKUP_OLD,
            subject="backup",
            urgency="Expected",
            severity="Moderate",
            certainty="Observed",
            headline="The last backup is old",
            text=(
                f"It is of {last:%-d %B}. See that there is room where backups go and that the "
                "folder can be written; steepwell backup makes one now. This is over with the next."
            ),
            figures={"last": last.isoformat(), "days": (now - last).days},
        )
    ]
