"""Rules about the machine itself: the broker cannot be reached, heavy work failed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from steepwell.watch.finding import Finding

if TYPE_CHECKING:
    from steepwell.garden.garden import Garden
    from steepwell.sense.link import LinkState

BROKER = "broker-unreachable"
WORKER = "worker-failed"


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
