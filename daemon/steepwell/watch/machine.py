"""Rules about the machine itself: broker or mirror cannot be reached, heavy work failed."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from steepwell.watch.finding import Finding

if TYPE_CHECKING:
    from datetime import datetime

    from steepwell.garden.garden import Garden
    from steepwell.sense.link import LinkState
    from steepwell.store.mirror import MirrorState

BROKER = "broker-unreachable"
WORKER = "worker-failed"
MIRROR = "mirror-behind"

# A server that is restarted or moved is back by then.
BEHIND_AFTER = timedelta(hours=6)


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
