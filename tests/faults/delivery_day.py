"""A day of notices and a letter, lived in a child that is killed at one statement of many.

It is a process of its own without threads, so that it may fork: it reads on each line the number of
the statement at which to die (0: at none) and the garden's folder, and answers on another.
"""

from __future__ import annotations

import os
import signal
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

from sqlalchemy import Engine, event
from tests.gardens import make_garden

from steepwell.store.store import Store, garden_store_url, open_store
from steepwell.tell.mail import new_mail
from steepwell.tell.mailers import SmtpMailer
from steepwell.tell.outbox import deliver_due
from steepwell.tell.push import put_digests, record_events, reminders
from steepwell.watch.finding import Finding, events_of

if TYPE_CHECKING:
    from steepwell.garden.garden import Garden

PEOPLE = ("ash", "bryony")
NIGHT = datetime(2031, 6, 6, 22, 30, tzinfo=UTC)
MINUTE = timedelta(minutes=1)
# Minutes from the first, and the headlines of what is found then, by kind and subject.
DAY: tuple[tuple[int, dict[tuple[str, str], str]], ...] = (
    (0, {("leak", "north"): "Leak-one", ("sensor-silent", "gauge"): "Silent-one"}),
    (
        480,
        {
            ("leak", "north"): "Leak-one",
            ("sensor-silent", "gauge"): "Silent-one",
            ("battery-low", "gauge"): "Battery",
        },
    ),
    (490, {("sensor-silent", "gauge"): "Silent-one", ("running-dry", "water"): "Dry-one"}),
    (
        520,
        {
            ("running-dry", "water"): "Dry-one",
            ("leak", "north"): "Leak-two",
            ("sensor-silent", "gauge"): "Silent-one",
        },
    ),
    (560, {("running-dry", "water"): "Dry-one", ("frost-tonight", "taps"): "Frost-one"}),
)
LETTER_AT = 490
LETTER = "Letter-one"
# Those that are mailed to each person, all of them once.
HEADLINES = ("Leak-one", "Silent-one", "Dry-one", "Leak-two", "Frost-one", LETTER)
LATEST_TRY = 24 * 60
KINDS = frozenset({"leak", "sensor-silent", "battery-low", "running-dry", "frost-tonight"})
JOB = "day"


class Killer:
    """Counts statements of the store and the network, and ends the process at one of them."""

    def __init__(self, point: int) -> None:
        self.passed = 0
        self._point = point

    def pass_by(self, *_: object, **__: object) -> None:
        """Count one, or die."""
        self.passed += 1
        if self.passed == self._point:
            os.kill(os.getpid(), signal.SIGKILL)

    def watch(self) -> None:
        """Count from now on."""
        for what in ("before_cursor_execute", "after_cursor_execute", "commit"):
            event.listen(Engine, what, self.pass_by)
        sys.addaudithook(self._hears)

    def _hears(self, name: str, _: tuple[Any, ...]) -> None:
        if name in {"smtplib.connect", "smtplib.send", "socket.connect"}:
            self.pass_by()


def garden_of(folder: Path, port: int) -> Garden:
    """Return the garden of the day: two gardeners, and a mail server on a port."""
    told = {
        "mail": {"server": "127.0.0.1", "port": port, "sender": "garden@example.org"},
        "people": [{"name": name, "mail": f"{name}@example.org"} for name in PEOPLE],
    }
    return make_garden(folder, told=told)


def live(garden: Garden, store: Store) -> None:
    """Live what is left of the day by the ledger, as the daemon goes from step to step."""
    mailer = SmtpMailer(garden.told.mail, garden.folder) if garden.told.mail else None
    assert mailer is not None
    finished = store.ledger.last(JOB)
    for minutes, found in DAY:
        now = NIGHT + minutes * MINUTE
        if finished is None or now > finished:
            _job(garden, store, minutes, found, now)
        put_digests(garden, store, now)
        deliver_due(garden, store, mailer, now)
    for minutes in range(DAY[-1][0] + 1, LATEST_TRY, 20):
        now = NIGHT + minutes * MINUTE
        put_digests(garden, store, now)
        deliver_due(garden, store, mailer, now)
        if not store.outbox.waiting(now):
            break


def _job(
    garden: Garden, store: Store, minutes: int, found: dict[tuple[str, str], str], now: datetime
) -> None:
    findings = [
        Finding(
            kind=kind,
            subject=subject,
            urgency="Expected",
            severity="Moderate",
            certainty="Observed",
            headline=headline,
            text="So many litres; do this.",
        )
        for (kind, subject), headline in found.items()
    ]
    standing = store.notices.standing()
    with store.transaction():
        events = events_of(findings, standing, KINDS, now)
        ended = {each.id for each in events}
        left = [notice for notice in standing if notice.id not in ended]
        events += reminders(garden, store, left, now)
        record_events(garden, store, events, now, mails=True)
        if minutes == LETTER_AT:
            for person in garden.told.people:
                mail = new_mail(garden, person, now, subject=LETTER, mark="2031-W23")
                mail.set_content("Soak the beans.")
                key = f"letter/2031-W23/{person.name}"
                store.outbox.put(key, person.mail, mail.as_bytes(), now, person=person.name)
        store.ledger.finish(JOB, now)


def _child(folder: Path, port: int, point: int, answers: int) -> NoReturn:
    garden = garden_of(folder, port)
    store = open_store(garden_store_url(garden), garden)
    killer = Killer(point)
    killer.watch()
    try:
        live(garden, store)
        os.write(answers, f"lived {killer.passed}\n".encode())
    finally:
        os._exit(0)


def main() -> None:
    """Live a day for each line that is read."""
    port = int(sys.argv[1])
    for line in sys.stdin:
        point, folder = line.split(maxsplit=1)
        child = os.fork()
        if child == 0:
            _child(Path(folder.strip()), port, int(point), sys.stdout.fileno())
        _, status = os.waitpid(child, 0)
        if os.WIFSIGNALED(status):
            os.write(sys.stdout.fileno(), b"killed\n")


if __name__ == "__main__":
    main()
