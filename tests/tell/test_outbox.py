from __future__ import annotations

from datetime import datetime, timedelta
from email import message_from_bytes
from typing import TYPE_CHECKING

import pytest

from steepwell.errors import DeliveryError
from steepwell.store.store import Store, garden_store_url, open_store
from steepwell.tell.mailers import FolderMailer
from steepwell.tell.outbox import back_off, deliver_due

if TYPE_CHECKING:
    from collections.abc import Iterator
    from email.message import EmailMessage
    from pathlib import Path

    from steepwell.garden.garden import Garden

TO = "robin@example.org"
MAIL = (
    b"Date: Fri, 06 Jun 2031 17:00:00 +0100\r\nSubject: Beans\r\nMessage-ID: <1@a>\r\n\r\nSoak.\r\n"
)


class CountingMailer:
    """Takes mails, or refuses them while it is down; remembers what it took."""

    def __init__(self) -> None:
        self.down = False
        self.asked = 0
        self.taken: list[bytes] = []

    def send(self, message: bytes, to: str) -> None:
        self.asked += 1
        if self.down:
            raise DeliveryError(f"no mail server for {to}")
        self.taken.append(message)


class PowerCut(BaseException):
    """The machine stops."""


class CutAfterMailer(CountingMailer):
    """The power fails when the server has the mail and nobody has written that down."""

    def send(self, message: bytes, to: str) -> None:
        super().send(message, to)
        raise PowerCut


@pytest.fixture
def store(garden: Garden) -> Iterator[Store]:
    with open_store(garden_store_url(garden), garden) as opened:
        yield opened


def test_a_mail_is_handed_over_once(garden: Garden, store: Store, now: datetime) -> None:
    mailer = CountingMailer()
    store.outbox.put("letter/1", TO, MAIL, now)
    assert deliver_due(garden, store, mailer, now) == 1
    assert deliver_due(garden, store, mailer, now + timedelta(days=1)) == 0
    assert mailer.taken == [MAIL]
    assert store.outbox.waiting(now) == 0


def test_a_mail_outlasts_a_server_that_is_down_and_arrives_once(
    garden: Garden, store: Store, now: datetime
) -> None:
    mailer = CountingMailer()
    mailer.down = True
    store.outbox.put("letter/1", TO, MAIL, now)
    for minute in range(24 * 60):
        deliver_due(garden, store, mailer, now + timedelta(minutes=minute))
    # After 0, 1, 3, 7, 15, 31, 63, 127, 255 and 511 minutes; then every six hours: 871 and 1231.
    assert mailer.asked == 12
    assert store.outbox.waiting(now) == 1
    mailer.down = False
    for minute in range(0, 24 * 60, 10):
        deliver_due(garden, store, mailer, now + timedelta(days=1, minutes=minute))
    assert mailer.taken == [MAIL]
    assert store.outbox.waiting(now) == 0


def test_one_mail_that_is_refused_holds_up_no_other(
    garden: Garden, store: Store, now: datetime
) -> None:
    class Picky(CountingMailer):
        def send(self, message: bytes, to: str) -> None:
            if to == "nobody@example.org":
                raise DeliveryError("550 nobody of that name")
            super().send(message, to)

    mailer = Picky()
    store.outbox.put("1", "nobody@example.org", MAIL, now)
    store.outbox.put("2", TO, MAIL, now)
    assert deliver_due(garden, store, mailer, now) == 1
    assert mailer.taken == [MAIL]
    assert store.outbox.waiting(now) == 1


def test_a_power_cut_before_it_is_noted_sends_the_same_mail_again(
    garden: Garden, store: Store, letter: EmailMessage, now: datetime, tmp_path: Path
) -> None:
    store.outbox.put("letter/1", TO, letter.as_bytes(), now)
    cut = CutAfterMailer()
    with pytest.raises(PowerCut):
        deliver_due(garden, store, cut, now)
    after = CountingMailer()
    assert deliver_due(garden, store, after, now + timedelta(minutes=5)) == 1
    first, again = (message_from_bytes(mailer.taken[0]) for mailer in (cut, after))
    assert first["Message-ID"] == again["Message-ID"] == letter["Message-ID"]
    assert cut.taken == after.taken
    for mails in (cut.taken, after.taken):
        FolderMailer(tmp_path / "mail").send(mails[0], TO)
    assert len(list((tmp_path / "mail").iterdir())) == 1


@pytest.mark.parametrize(
    ("attempts", "minutes"), [(0, 1), (1, 2), (5, 32), (8, 256), (9, 360), (1000, 360)]
)
def test_the_wait_doubles_from_a_minute_to_six_hours(attempts: int, minutes: int) -> None:
    assert back_off(attempts) == timedelta(minutes=minutes)
