"""What every mail has: its headers, and nothing in it that differs from one making to the next."""

from __future__ import annotations

import hashlib
from email.headerregistry import Address
from email.message import EmailMessage
from email.policy import SMTP
from typing import TYPE_CHECKING

from steepwell.tell.units import in_units

if TYPE_CHECKING:
    from datetime import datetime

    from steepwell.garden.garden import Garden
    from steepwell.garden.site import Person


def new_mail(
    garden: Garden, person: Person, now: datetime, *, subject: str, mark: str
) -> EmailMessage:
    """Return a mail with its headers and without a body.

    Parameters
    ----------
    garden
        The garden: its mail section says who sends.
    person
        To whom it goes.
    now
        The date of the mail (aware).
    subject
        The subject.
    mark
        What tells this mail from the person's other mails; it becomes part of the Message-ID.

    Returns
    -------
    EmailMessage
        Its lines end by CRLF when it is turned to bytes.
    """
    sender = sender_address(garden)
    mail = EmailMessage(policy=SMTP)
    mail["From"] = Address("Steepwell", addr_spec=sender)
    mail["To"] = Address(addr_spec=person.mail)
    mail["Subject"] = " ".join(in_units(subject, garden.garden.units).split())
    mail["Date"] = now.astimezone(garden.garden.zone)
    host = sender.rpartition("@")[2]
    mail["Message-ID"] = f"<steepwell-{garden.name}-{mark}-{person.name}@{host}>"
    mail["Auto-Submitted"] = "auto-generated"
    return mail


def sender_address(garden: Garden) -> str:
    """Return the address mails come from.

    Without a mail server mails only go to a folder, so the address need not exist.
    """
    mail = garden.told.mail
    return mail.sender if mail is not None else f"steepwell@{garden.name}.invalid"


def fix_boundaries(mail: EmailMessage) -> None:
    """Give the parts of a mail boundaries that depend on nothing but its Message-ID."""
    containers = [part for part in mail.walk() if part.is_multipart()]
    for depth, part in enumerate(containers):
        seed = f"{mail['Message-ID']} {depth}".encode()
        part.set_boundary(f"=_{hashlib.sha256(seed).hexdigest()[:32]}")
