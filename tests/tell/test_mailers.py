"""One contract for everything that takes mails, and what only a mail server can do."""

from __future__ import annotations

import socket
from contextlib import contextmanager
from email import message_from_bytes
from email.message import EmailMessage
from email.policy import SMTP
from typing import TYPE_CHECKING, Any, NamedTuple

import pytest
from aiosmtpd.controller import Controller
from aiosmtpd.smtp import AuthResult, LoginPassword

from steepwell.errors import DeliveryError
from steepwell.garden.site import MailServer
from steepwell.tell.mailers import FolderMailer, Mailer, SmtpMailer

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from aiosmtpd import smtp
    from aiosmtpd.smtp import Envelope, Session

TO = "robin@example.org"


class Inbox:
    """What a mail server does with mails: keeps them, or refuses them as told."""

    def __init__(self) -> None:
        self.mails: list[bytes] = []
        self.envelopes: list[tuple[str | None, list[str]]] = []
        self.answer = "250 kept"
        self.recipient_answer = "250 known"
        self.hangs_up = False

    async def handle_RCPT(  # noqa: N802 - the server's name for it
        self,
        server: smtp.SMTP,  # noqa: ARG002 - the same
        session: Session,  # noqa: ARG002 - the same
        envelope: Envelope,
        address: str,
        options: list[str],  # noqa: ARG002 - the same
    ) -> str:
        if self.recipient_answer.startswith("250"):
            envelope.rcpt_tos.append(address)
        return self.recipient_answer

    async def handle_DATA(  # noqa: N802 - the server's name for it
        self,
        server: smtp.SMTP,  # noqa: ARG002 - the same
        session: Session,  # noqa: ARG002 - the same
        envelope: Envelope,
    ) -> str:
        if self.answer.startswith("250"):
            self.mails.append(envelope.original_content or b"")
            self.envelopes.append((envelope.mail_from, list(envelope.rcpt_tos)))
        return self.answer

    async def handle_QUIT(  # noqa: N802 - the server's name for it
        self,
        server: smtp.SMTP,
        session: Session,  # noqa: ARG002 - the same
        envelope: Envelope,  # noqa: ARG002 - the same
    ) -> str:
        if self.hangs_up and server.transport is not None:
            server.transport.close()
        return "221 bye"


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


@contextmanager
def serving(inbox: Inbox, **options: Any) -> Iterator[int]:  # noqa: ANN401 - the server's own
    port = free_port()
    controller = Controller(inbox, hostname="127.0.0.1", port=port, **options)
    controller.start()
    try:
        yield port
    finally:
        controller.stop()


def server_at(port: int, **changes: Any) -> MailServer:  # noqa: ANN401 - fields of many types
    return MailServer(server="127.0.0.1", port=port, sender="garden@mail.example.org", **changes)


class Receiver(NamedTuple):
    mailer: Mailer
    broken: Mailer
    received: Callable[[], list[bytes]]


@pytest.fixture(params=["server", "folder"])
def receiver(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Receiver]:
    if request.param == "folder":
        folder = tmp_path / "mail"
        (tmp_path / "no-folder").write_text("a file stands where the folder should be")
        yield Receiver(
            FolderMailer(folder),
            FolderMailer(tmp_path / "no-folder"),
            lambda: [path.read_bytes() for path in sorted(folder.iterdir())],
        )
        return
    inbox = Inbox()
    with serving(inbox) as port:
        yield Receiver(
            SmtpMailer(server_at(port), tmp_path),
            SmtpMailer(server_at(free_port()), tmp_path),
            lambda: inbox.mails,
        )


def a_mail(text: str = "Soak the beans.\n", *, subject: str = "Beans", mark: str = "1") -> bytes:
    mail = EmailMessage(policy=SMTP)
    mail["From"] = "garden@mail.example.org"
    mail["To"] = TO
    mail["Subject"] = subject
    mail["Date"] = "Fri, 06 Jun 2031 17:00:00 +0100"
    mail["Message-ID"] = f"<steepwell-{mark}@mail.example.org>"
    mail.set_content(text, cte="quoted-printable")
    return mail.as_bytes()


def test_a_mail_arrives_as_it_was_sent(receiver: Receiver) -> None:
    mail = a_mail()
    receiver.mailer.send(mail, TO)
    assert receiver.received() == [mail]


@pytest.mark.parametrize(
    "text",
    [
        ".\r\n..\r\n.a line that begins with a dot\r\n",
        "2½ cans at 15 °C\r\n",
        "a long line " * 200 + "\r\n",
    ],
)
def test_nothing_in_a_mail_ends_or_changes_it(receiver: Receiver, text: str) -> None:
    receiver.mailer.send(a_mail(text), TO)
    (received,) = receiver.received()
    content = message_from_bytes(received, policy=SMTP).get_content()
    assert content.replace("\r\n", "\n") == text.replace("\r\n", "\n")


def test_each_mail_arrives(receiver: Receiver) -> None:
    mails = [a_mail(mark=str(number)) for number in range(3)]
    for mail in mails:
        receiver.mailer.send(mail, TO)
    assert sorted(receiver.received()) == sorted(mails)


def test_a_mail_that_is_not_taken_says_why(receiver: Receiver) -> None:
    with pytest.raises(DeliveryError) as failure:
        receiver.broken.send(a_mail(), TO)
    said = str(failure.value)
    assert "\n" not in said
    assert "check" in said


def test_the_server_is_told_who_sends_and_to_whom(tmp_path: Path) -> None:
    inbox = Inbox()
    with serving(inbox) as port:
        SmtpMailer(server_at(port), tmp_path).send(a_mail(), TO)
    assert inbox.envelopes == [("garden@mail.example.org", [TO])]


@pytest.mark.parametrize(
    ("changes", "reason"),
    [
        ({"answer": "452 no room"}, "452 no room"),
        ({"recipient_answer": "550 nobody of that name"}, "550 nobody of that name"),
    ],
)
def test_a_server_that_refuses_is_quoted(
    tmp_path: Path, changes: dict[str, str], reason: str
) -> None:
    inbox = Inbox()
    vars(inbox).update(changes)
    with serving(inbox) as port, pytest.raises(DeliveryError, match=reason):
        SmtpMailer(server_at(port), tmp_path).send(a_mail(), TO)
    assert inbox.mails == []


def test_a_mail_the_server_has_is_delivered_whatever_follows(tmp_path: Path) -> None:
    inbox = Inbox()
    inbox.hangs_up = True
    with serving(inbox) as port:
        SmtpMailer(server_at(port), tmp_path).send(a_mail(), TO)
    assert inbox.mails == [a_mail()]


def test_the_password_is_read_from_its_file(tmp_path: Path) -> None:
    inbox = Inbox()
    (tmp_path / "secret").write_text("green fingers\n")

    def knows(_: smtp.SMTP, __: Session, ___: Envelope, ____: str, given: object) -> AuthResult:
        known = isinstance(given, LoginPassword) and given == LoginPassword(
            b"shed", b"green fingers"
        )
        return AuthResult(success=known, handled=False)

    with serving(inbox, authenticator=knows, auth_require_tls=False) as port:
        server = server_at(port, username="shed", password_file="secret")  # noqa: S106 - a path
        SmtpMailer(server, tmp_path).send(a_mail(), TO)
        (tmp_path / "secret").write_text("wrong")
        with pytest.raises(DeliveryError, match="535"):
            SmtpMailer(server, tmp_path).send(a_mail(), TO)
        (tmp_path / "secret").unlink()
        with pytest.raises(DeliveryError, match="no such file"):
            SmtpMailer(server, tmp_path).send(a_mail(), TO)
    assert len(inbox.mails) == 1


def test_no_mail_goes_in_the_open_where_encryption_is_asked_for(tmp_path: Path) -> None:
    inbox = Inbox()
    with serving(inbox) as port, pytest.raises(DeliveryError, match="STARTTLS"):
        SmtpMailer(server_at(port, security="starttls"), tmp_path).send(a_mail(), TO)
    assert inbox.mails == []


def test_a_folder_names_its_mails_by_day_and_subject(tmp_path: Path) -> None:
    FolderMailer(tmp_path).send(a_mail(subject="Water to about 22 July. Soak beans"), TO)
    (path,) = tmp_path.iterdir()
    assert path.name.startswith("2031-06-06-1700-water-to-about-22-july-soak-beans-")
    assert path.suffix == ".eml"


def test_a_folder_keeps_one_mail_handed_over_twice_once(tmp_path: Path) -> None:
    for _ in range(2):
        FolderMailer(tmp_path).send(a_mail(), TO)
    FolderMailer(tmp_path).send(a_mail(), "sam@example.org")
    assert len(list(tmp_path.iterdir())) == 2
