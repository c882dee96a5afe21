"""Rules about the machine itself: broker or mirror cannot be reached, heavy work failed."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from steepwell.watch.finding import Finding
from steepwell.watch.kinds import BACKUP_OLD, MAIL_FAILING, PUSH_FAILING
from steepwell.words.figures import day
from steepwell.words.saying import say, say_count

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
            headline=say("machine.no-broker"),
            text=say(
                "machine.see-to-broker",
                address=f"{garden.broker.host}:{garden.broker.port}",
                why=link.last_error or say("machine.no-answer-yet"),
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
        headline=say("machine.not-worked-out", job=job),
        text=say("machine.tried-next-time", why=reason),
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
        headline=say("machine.garden-file-refused"),
        text=f"{reason}\n{say('machine.mend-garden-file')}",
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
            headline=say("machine.mirror-behind"),
            text=say(
                "machine.see-to-mirror", day=day(since), time=f"{since:%H:%M}", why=state.reason
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
    waits = say_count(
        "machine.messages-wait",
        one.count,
        day=day(one.since),
        time=f"{one.since:%H:%M}",
        why=one.reason,
    )
    if by_mail:
        headline, look = say("machine.mail-failing"), say("machine.see-to-mail")
    else:
        headline = say("machine.push-failing", person=one.person)
        look = say("machine.see-to-push", person=one.person)
    return Finding(
        kind=MAIL_FAILING if by_mail else PUSH_FAILING,
        subject="mail" if by_mail else one.person,
        urgency="Expected",
        severity="Moderate",
        certainty="Observed",
        headline=headline,
        text=f"{waits} {look} {say('machine.over-when-taken')}",
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
            headline=say("machine.backup-old"),
            text=say("machine.see-to-backups", day=day(last)),
            figures={"last": last.isoformat(), "days": (now - last).days},
        )
    ]
