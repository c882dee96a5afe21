"""Addresses that carry their own leave: a job of a letter, and the calendar."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from itsdangerous import BadData, URLSafeSerializer

from steepwell.clock import from_ms, to_ms
from steepwell.errors import LinkError

if TYPE_CHECKING:
    from collections.abc import Iterable

# Names of the secrets that sign them.
JOB_LINKS, CALENDAR_LINKS = "job-links", "calendar-links"
EXPIRES = timedelta(days=28)


@dataclass(frozen=True, slots=True)
class JobLink:
    """Which job of which plan, and whose letter it stood in.

    Attributes
    ----------
    issued
        When the plan was issued.
    job
        What tells the job from others of that plan.
    person
        Who was told.
    """

    issued: datetime
    job: str
    person: str


def id_of(names: Iterable[str]) -> str:
    """Return what tells a job from others, whatever order its beds and days come in."""
    return hashlib.sha256(" ".join(sorted(names)).encode()).hexdigest()[:12]


def job_token(link: JobLink, secret: bytes) -> str:
    """Return the token of a job, for the end of an address."""
    payload = [to_ms(link.issued), link.job, link.person]
    return _serializer(secret, JOB_LINKS).dumps(payload)


def job_of(token: str, secret: bytes | None, now: datetime) -> JobLink:
    """Return what a token is about.

    Parameters
    ----------
    token
        The end of the address.
    secret
        What signed it, None if nothing was ever signed.
    now
        The moment.

    Returns
    -------
    JobLink
        As it was signed.

    Raises
    ------
    LinkError
        If we did not sign it, or not within the last four weeks.
    """
    if secret is None:
        raise LinkError("this address is not one of ours")
    try:
        issued_ms, job, person = _serializer(secret, JOB_LINKS).loads(token)
    except BadData:
        raise LinkError(
            "this address is not one of ours, or was cut short; open it from the letter again"
        ) from None
    link = JobLink(from_ms(issued_ms), job, person)
    if not link.issued <= now <= link.issued + EXPIRES:
        raise LinkError(
            "this address is of an old letter; what was done can still be noted on the page"
        )
    return link


def calendar_token(garden: str, secret: bytes) -> str:
    """Return the token of a garden's calendar: it reads, and does nothing else."""
    return hashlib.sha256(b" ".join([CALENDAR_LINKS.encode(), garden.encode(), secret])).hexdigest()


def _serializer(secret: bytes, salt: str) -> URLSafeSerializer:
    return URLSafeSerializer(secret, salt=salt, signer_kwargs={"digest_method": hashlib.sha256})
