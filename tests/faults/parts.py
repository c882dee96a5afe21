"""Parts that die, hang or refuse: worker, mail server, mirror; and half-written files."""

from __future__ import annotations

import mailbox
import os
import random
import resource
import signal
import subprocess
import sys
import threading
import warnings
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

from aiosmtpd.controller import Controller
from aiosmtpd.handlers import Mailbox
from aiosmtpd.smtp import AuthResult
from tests.faults.faults_table import Fault, NotHereError, Seen
from tests.faults.mirror import BEGIN, HOUR, put, with_faults
from tests.faults.network import rig_behind
from tests.faults.under_load import await_that, waiter
from tests.gardens import AIR, flat_record, make_garden, write_record
from tests.mirrors import VictoriaMetrics, victoria_metrics_binary
from tests.servers import CONFIG, free_port

from steepwell.app import Daemon
from steepwell.clock import ReplayClock, to_ms
from steepwell.errors import GardenFileError, WeatherRecordError
from steepwell.garden.load import load_garden
from steepwell.mirror.flush import flush
from steepwell.mirroring import keep_account, send_again
from steepwell.outlook.record import read_record
from steepwell.screens import status_report
from steepwell.store.mirror import SETTLES
from steepwell.store.store import garden_store_url, open_store

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from steepwell.garden.garden import Garden

NOON = datetime(2025, 6, 18, 10, 0, tzinfo=UTC)
DAY = timedelta(days=1)
LETTER_AT = NOON + timedelta(days=2, hours=7, minutes=5)
PEOPLE = ("pat", "robin", "sam")
PASSWORD = "sloe-and-damson"  # noqa: S105 - opens nothing
FAILED = "worker-failed/outlook"


def _garden(folder: Path, **sections: Any) -> Garden:  # noqa: ANN401 - as a garden file has them
    write_record(folder / "weather.csv", flat_record())
    return make_garden(folder, weather_record={"daily": "weather.csv"}, **sections)


@contextmanager
def _daemon(garden: Garden, mail: Path | None = None) -> Iterator[tuple[Daemon, ReplayClock]]:
    clock = ReplayClock(NOON)
    daemon = Daemon(garden, clock, mail_folder=mail)
    daemon.start()
    try:
        yield daemon, clock
    finally:
        daemon.stop()


def worker(folder: Path, strike: Callable[[int], None], limit_s: float = 120.0) -> Seen:
    """Strike the worker while it works out an outlook, and leave it alone the day after."""
    garden = _garden(folder)
    with _daemon(garden, folder / "mail") as (daemon, clock):
        daemon.run_due()
        before = status_report(garden, clock.now())["outlook"]
        daemon._workshop._time_limit_s = limit_s
        clock.set(NOON + DAY)
        striker = threading.Thread(target=_strike, args=(daemon, strike))
        striker.start()
        daemon.run_due()
        striker.join()
        report = status_report(garden, clock.now())
        told = {one["id"]: one["text"] for one in report["notices"]}
        kept = report["outlook"] == before
        daemon._workshop._time_limit_s = 120.0
        clock.set(NOON + 2 * DAY)
        daemon.run_due()
        report = status_report(garden, clock.now())
        mended = FAILED not in {one["id"] for one in report["notices"]}
        mended = mended and report["outlook"] != before
    if FAILED not in told:
        return Seen("no notice", is_expected=False)
    reason = told[FAILED].split(". ")[0]
    words = f"notice: “{reason}”; {'the last outlook stood' if kept else 'outlook lost'}; "
    words += "well the next day" if mended else "not well the next day"
    return Seen(words, kept and mended)


def _strike(daemon: Daemon, strike: Callable[[int], None]) -> None:
    await_that(lambda: daemon._workshop._process is not None, "no worker is started", 30)
    process = daemon._workshop._process
    assert process is not None
    strike(process.pid)


def _kill(process: int) -> None:
    os.kill(process, signal.SIGKILL)


def _hang(process: int) -> None:
    os.kill(process, signal.SIGSTOP)


def _starve(process: int) -> None:
    resource.prlimit(process, resource.RLIMIT_AS, (150_000_000, 150_000_000))


class _MailServer:
    """A mail server in a process of its own, which keeps what it takes in a folder."""

    def __init__(self, folder: Path, port: int) -> None:
        self._folder = folder / "taken"
        self._port = port
        self.start()

    def start(self) -> None:
        where = ("-n", "-l", f"127.0.0.1:{self._port}")
        keeps = ("-c", "aiosmtpd.handlers.Mailbox", str(self._folder))
        self._process = subprocess.Popen([sys.executable, "-m", "aiosmtpd", *where, *keeps])
        waiter.wait(3.0)

    def signal(self, how: signal.Signals) -> None:
        self._process.send_signal(how)
        if how == signal.SIGKILL:
            self._process.wait(10)

    def taken(self) -> list[str]:
        """Return the Message-ID of each mail that was taken, with who it was for."""
        return _taken(self._folder)


def _taken(folder: Path) -> list[str]:
    mails = mailbox.Maildir(folder) if folder.exists() else ()
    return [f"{mail['Message-ID']} {mail['X-RcptTo']}" for mail in mails]


def _told(port: int, **keys: object) -> dict[str, Any]:
    people = [{"name": one, "mail": f"{one}@plum-lane.example"} for one in PEOPLE]
    sender = "steepwell@plum-lane.example"
    mail = {"server": "127.0.0.1", "port": port, "sender": sender, **keys}
    return {"mail": mail, "people": people}


def mail_server_killed(folder: Path) -> Seen:
    """Kill the mail server while a mail is being handed over, and again between two."""
    port = free_port()
    garden = _garden(folder, told=_told(port))
    server = _MailServer(folder, port)
    with _daemon(garden) as (daemon, clock):
        clock.set(LETTER_AT)
        server.signal(signal.SIGSTOP)
        rounds = threading.Thread(target=daemon.run_due)
        rounds.start()
        # Longer than the outlook and the letters take; the mail server is spoken to meanwhile.
        rounds.join(20.0)
        server.signal(signal.SIGKILL)
        rounds.join()
        waiting = status_report(garden, clock.now())["mail_waiting"]
        for minutes in (30, 60, 90, 120):
            clock.set(LETTER_AT + timedelta(minutes=minutes))
            server.start()
            daemon.run_due()
            server.signal(signal.SIGKILL)
        left = status_report(garden, clock.now())["mail_waiting"]
    taken = server.taken()
    words = f"{waiting} mails waited; {len(taken)} taken, {len(set(taken))} of them different"
    is_expected = waiting >= len(PEOPLE) and not left and len(set(taken)) == len(taken) >= waiting
    return Seen(words, is_expected)


def mail_password_wrong(folder: Path) -> Seen:
    """Log in with a wrong password, and with the right one later."""
    port = free_port()
    keys = {"security": "none", "username": "robin", "password_file": "mail-password"}
    garden = _garden(folder, told=_told(port, **keys))
    secret = folder / "mail-password"
    secret.write_text("quince-and-medlar", encoding="utf-8")

    def knows(*said: Any) -> AuthResult:  # noqa: ANN401 - what the library gives
        return AuthResult(success=said[-1].password == PASSWORD.encode())

    server = Controller(
        Mailbox(folder / "taken"),
        hostname="127.0.0.1",
        port=port,
        authenticator=knows,
        auth_required=True,
        auth_require_tls=False,
    )
    # It says at every connection that a password without TLS is a bad idea.
    warnings.simplefilter("ignore")
    server.start()
    try:
        with _daemon(garden) as (daemon, clock):
            clock.set(LETTER_AT)
            daemon.run_due()
            report = status_report(garden, clock.now())
            waiting = report["mail_waiting"]
            secret.write_text(PASSWORD, encoding="utf-8")
            for minutes in (30, 60):
                clock.set(LETTER_AT + timedelta(minutes=minutes))
                daemon.run_due()
            left = status_report(garden, clock.now())["mail_waiting"]
    finally:
        server.stop()
    taken = _taken(folder / "taken")
    is_shown = "quince-and-medlar" in str(report)
    words = f"{waiting} mails waited; put right: {len(taken)} taken, {left} left"
    is_expected = waiting >= len(PEOPLE) and not left and len(set(taken)) == len(taken) >= waiting
    return Seen(words, is_expected and not is_shown)


def mirror_refuses(per_hour: int) -> Seen:
    """Let the mirror know no token of ours until noon."""
    day, wanted = with_faults("401 until noon", per_hour)
    words = f"{day.kept:,} readings kept, {day.mirrored:,} in the mirror at the end of the day"
    return Seen(words, day.mirrored == wanted)


def mirror_killed(folder: Path) -> Seen:
    """Kill the mirror just after it took six hours, then have it sent again what it forgot."""
    binary = victoria_metrics_binary()
    if binary is None:
        raise NotHereError("VictoriaMetrics is not installed")
    port = free_port()
    keys = {"url": f"http://127.0.0.1:{port}", "organisation": "plum", "bucket": "garden"}
    garden = make_garden(folder, sensor=[AIR], mirror=keys)
    server = VictoriaMetrics(binary, folder, port)

    def counted() -> int:
        series = server.stored("reading_temperature_c", 0, to_ms(BEGIN + 48 * HOUR))
        return sum(len(one["values"]) for one in series)

    with open_store(garden_store_url(garden), garden) as store:

        def send(now: datetime) -> None:
            store.mirror.hand_over(now)
            answer = flush(garden, store, now)
            with store.transaction():
                keep_account(store, answer, now)

        try:
            for hour in range(6):
                put(store, "shade", BEGIN + hour * HOUR, 60)
                send(BEGIN + (hour + 1) * HOUR + SETTLES)
            server._process.kill()
            server._process.wait(10)
            send(BEGIN + 7 * HOUR + SETTLES)
            server = VictoriaMetrics(binary, folder, port)
            put(store, "shade", BEGIN + 6 * HOUR, 60)
            send(BEGIN + 9 * HOUR + SETTLES)
            forgot = 7 * 60 - counted()
            send_again(garden, BEGIN.date(), BEGIN + 9 * HOUR)
            send(BEGIN + 10 * HOUR + SETTLES)
            lacks = 7 * 60 - counted()
        finally:
            server.stop()
    words = (
        f"420 readings; the mirror itself forgot {forgot} it had taken; "
        f"sent again from that day on it lacks {lacks}"
    )
    return Seen(words, not lacks)


def garden_file_half_written(folder: Path, cuts: int) -> Seen:
    """Cut a garden file off anywhere: on its own, and under a running daemon that is to read it."""
    draw = random.Random(5)  # noqa: S311 - a seeded draw, no secret
    text = (CONFIG.parent / "garden.toml").read_bytes()
    file = folder / "cut.toml"
    refused = 0
    for _ in range(cuts):
        file.write_bytes(text[: draw.randrange(len(text))])
        try:
            load_garden(file)
        except GardenFileError:
            refused += 1
    with rig_behind(folder) as (rig, _):
        assert rig.process is not None
        whole = rig.garden_file.read_text(encoding="utf-8")
        rig.garden_file.write_text(whole[: whole.index("[[bed]]") + 4], encoding="utf-8")
        rig.process.send_signal(signal.SIGHUP)
        rig.await_said("fault")
        waiter.wait(2.0)
        account = rig.settle()
        is_alive = rig.process.poll() is None
    words = (
        f"{refused} of {cuts} cuts refused, the others are whole gardens without the rest; a "
        f"daemon told to read one goes on as it was: {account}"
    )
    return Seen(words, account.is_whole and is_alive and refused > 0)


def record_half_written(folder: Path, cuts: int) -> Seen:
    """Cut a weather record off anywhere in its last year."""
    draw = random.Random(5)  # noqa: S311 - a seeded draw, no secret
    file = write_record(folder / "weather.csv", flat_record())
    text = file.read_bytes()
    days = len(read_record(file).rain_mm)
    refused = whole = 0
    for _ in range(cuts):
        file.write_bytes(text[: draw.randrange(len(text) - 6000, len(text))])
        try:
            shorter = len(read_record(file).rain_mm) < days
        except WeatherRecordError:
            refused += 1
        else:
            whole += shorter
    words = f"{refused} of {cuts} cuts refused with the line, {whole} read as a shorter record"
    return Seen(words, refused + whole == cuts)


def rows(*, quick: bool) -> list[Fault]:
    """Return the rows, shorter ones when it has to be quick."""
    stands = "a notice; the last outlook stands; tried again"
    waits = "mails wait, tried again; each taken once"
    return [
        Fault("worker killed", stands, lambda folder: worker(folder, _kill)),
        Fault("worker out of memory", stands, lambda folder: worker(folder, _starve)),
        Fault("worker hangs (limit 4 s here)", stands, lambda folder: worker(folder, _hang, 4.0)),
        Fault("mail server hangs, is killed", waits, mail_server_killed),
        Fault("mail password wrong", waits, mail_password_wrong),
        Fault(
            "mirror's token wrong until noon",
            "tried again; counts equal",
            lambda _: mirror_refuses(12 if quick else 60),
        ),
        Fault("mirror killed", "what it forgot can be sent again", mirror_killed),
        Fault(
            "garden file half-written",
            "refused, or whole as far as it goes",
            lambda folder: garden_file_half_written(folder, 20 if quick else 200),
        ),
        Fault(
            "weather record half-written",
            "refused, or whole as far as it goes",
            lambda folder: record_half_written(folder, 20 if quick else 200),
        ),
    ]
