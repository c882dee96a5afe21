"""Who takes a finished mail: a mail server, or a folder."""

from __future__ import annotations

import contextlib
import hashlib
import re
import smtplib
import ssl
from email import message_from_bytes
from email.policy import SMTP
from email.utils import parsedate_to_datetime
from typing import TYPE_CHECKING, Protocol

from steepwell.errors import DeliveryError, SecretError
from steepwell.garden.secrets import read_secret

if TYPE_CHECKING:
    from pathlib import Path

    from steepwell.garden.site import MailServer

TIMEOUT_S = 30.0
LONGEST_SLUG = 60


class Mailer(Protocol):
    """Takes finished mails."""

    def send(self, message: bytes, to: str) -> None:
        """Hand over one mail for one address; a DeliveryError says why it was not taken."""
        ...


class SmtpMailer:
    """Hands mails to the garden's mail server.

    Parameters
    ----------
    server
        The server, as declared.
    folder
        Where a relative path of the password file begins.
    """

    def __init__(self, server: MailServer, folder: Path) -> None:
        self._server = server
        self._folder = folder

    def send(self, message: bytes, to: str) -> None:
        """Hand over one mail.

        Parameters
        ----------
        message
            The mail with its headers, lines ended by CRLF.
        to
            Address of the recipient.

        Raises
        ------
        DeliveryError
            If the server is away or does not take it.
        """
        connection = self._let_in()
        try:
            connection.sendmail(self._server.sender, [to], message)
        except OSError as error:
            raise DeliveryError(
                f"the mail server {self._place} did not take a mail for {to} ({_in_words(error)})"
            ) from error
        else:
            # The mail is with the server from here on; whatever happens to the goodbye, sending
            # it again would be twice.
            with contextlib.suppress(OSError):
                connection.quit()
        finally:
            connection.close()

    def greet(self) -> None:
        """Be let in and leave again.

        Raises
        ------
        DeliveryError
            If the server is away or does not let us in.
        """
        connection = self._let_in()
        with contextlib.suppress(OSError):
            connection.quit()
        connection.close()

    def _let_in(self) -> smtplib.SMTP:
        try:
            return self._connected()
        except (OSError, ValueError) as error:
            raise DeliveryError(
                f"the mail server {self._place} cannot be used ({_in_words(error)}); "
                "check [told.mail] in the garden file"
            ) from error

    @property
    def _place(self) -> str:
        return f"{self._server.server}:{self._server.port}"

    def _connected(self) -> smtplib.SMTP:
        server = self._server
        if server.security == "tls":
            context = ssl.create_default_context()
            connection: smtplib.SMTP = smtplib.SMTP_SSL(
                server.server, server.port, timeout=TIMEOUT_S, context=context
            )
        else:
            connection = smtplib.SMTP(server.server, server.port, timeout=TIMEOUT_S)
        try:
            if server.security == "starttls":
                connection.starttls(context=ssl.create_default_context())
            if server.username is not None:
                connection.login(server.username, self._password())
        except BaseException:
            connection.close()
            raise
        return connection

    def _password(self) -> str:
        path = self._server.password_file
        if path is None:
            return ""
        try:
            return read_secret("the password for the mail server", path, self._folder)
        except SecretError as error:
            raise DeliveryError(str(error)) from None


class FolderMailer:
    """Puts each mail into a folder as one file.

    The same mail for the same address has the same file name, so handing it over again changes
    nothing.

    Parameters
    ----------
    folder
        Where the mails go; made when it is not there.
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def send(self, message: bytes, to: str) -> None:
        """Hand over one mail.

        Parameters
        ----------
        message
            The mail with its headers.
        to
            Address of the recipient.

        Raises
        ------
        DeliveryError
            If the folder cannot be written.
        """
        target = self._folder / _file_name(message, to)
        unfinished = target.with_suffix(".part")
        try:
            self._folder.mkdir(parents=True, exist_ok=True)
            unfinished.write_bytes(message)
            unfinished.replace(target)
        except OSError as error:
            raise DeliveryError(
                f"the folder {self._folder} cannot take a mail ({_in_words(error)}); "
                "make room or check who may write there"
            ) from error


def _file_name(message: bytes, to: str) -> str:
    mail = message_from_bytes(message, policy=SMTP)
    when = parsedate_to_datetime(str(mail["Date"])).strftime("%Y-%m-%d-%H%M")
    slug = re.sub(r"[^a-z0-9]+", "-", str(mail["Subject"]).lower()).strip("-")[:LONGEST_SLUG]
    which = hashlib.sha256(f"{mail['Message-ID']} {to}".encode()).hexdigest()[:8]
    return f"{when}-{slug}-{which}.eml"


def _in_words(error: Exception) -> str:
    if isinstance(error, smtplib.SMTPRecipientsRefused):
        return _reply(*next(iter(error.recipients.values())))
    if isinstance(error, smtplib.SMTPResponseException):
        return _reply(error.smtp_code, error.smtp_error)
    if isinstance(error, OSError) and error.strerror:
        return error.strerror.lower()
    return str(error) or type(error).__name__


def _reply(code: int, text: bytes | str) -> str:
    said = text.decode(errors="replace") if isinstance(text, bytes) else text
    return " ".join([str(code), *said.split()])
