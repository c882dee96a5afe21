"""What the daemon does when broker, worker or mail server are not there."""

from __future__ import annotations

import logging
import threading
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import pytest
from aiosmtpd.controller import Controller
from aiosmtpd.handlers import Message
from tests.servers import Mosquitto, free_port, require_mosquitto

from steepwell.app import Daemon
from steepwell.clock import ReplayClock
from steepwell.garden.load import load_garden
from steepwell.screens import status_report

if TYPE_CHECKING:
    from email.message import Message as Mail
    from pathlib import Path

    from steepwell.garden.garden import Garden

NOON = datetime(2025, 6, 18, 10, 0, tzinfo=UTC)

GARDEN = """
[garden]
name = "plum-lane"
latitude = 50.8
longitude = 4.35
timezone = "UTC"

[broker]
host = "127.0.0.1"
port = {broker_port}

[weather_record]
daily = "{record}"

[[butt]]
name = "north"
litres = "210 L"

[[bed]]
name = "beans"
area = "4 m2"
crops = [{{ crop = "bean", planted = "05-15" }}]

[[sensor]]
name = "north-level"
measures = "level"
of = "north"
reads = "litres"
topic = "plum-lane/north"
payload = "number"

[told.mail]
server = "127.0.0.1"
port = {mail_port}
sender = "steepwell@plum-lane.example"

[[told.people]]
name = "pat"
mail = "pat@plum-lane.example"
"""


class _Kept(Message):
    """A mail server that keeps what it takes."""

    def __init__(self) -> None:
        super().__init__()
        self.mails: list[Mail] = []
        self.came = threading.Event()

    def handle_message(self, message: Mail) -> None:
        self.mails.append(message)
        self.came.set()


def _garden(folder: Path, record: Path, *, broker_port: int, mail_port: int) -> Garden:
    file = folder / "garden.toml"
    file.write_text(
        GARDEN.format(record=record, broker_port=broker_port, mail_port=mail_port), "utf-8"
    )
    return load_garden(file)


@pytest.mark.mosquitto
def test_a_broker_that_is_absent_is_said_once_shown_and_found_later(
    tmp_path: Path, brussels_csv: Path, caplog: pytest.LogCaptureFixture
) -> None:
    broker = Mosquitto(require_mosquitto(), tmp_path, {})
    port = broker.port
    garden = _garden(tmp_path, brussels_csv, broker_port=port, mail_port=free_port())
    clock = ReplayClock(NOON)
    daemon = Daemon(garden, clock, mail_folder=tmp_path / "mail", warm_worker=True)
    with caplog.at_level(logging.WARNING):
        daemon.start()
        try:
            assert not daemon.wait_connected(2.5)
            daemon.run_due()
            shown = [n["id"] for n in status_report(garden, clock.now())["notices"]]
            assert "broker-unreachable/broker" in shown
            said = [r for r in caplog.records if str(port) in r.getMessage()]
            assert len(said) == 1
            broker.start()
            assert daemon.wait_connected(30)
            clock.set(NOON + timedelta(minutes=15))
            daemon.run_due()
            shown = [n["id"] for n in status_report(garden, clock.now())["notices"]]
            assert "broker-unreachable/broker" not in shown
        finally:
            daemon.stop()
            broker.stop()


def test_a_worker_that_fails_is_a_notice_and_the_last_outlook_stays(
    tmp_path: Path, brussels_csv: Path
) -> None:
    record = tmp_path / "record.csv"
    record.write_bytes(brussels_csv.read_bytes())
    garden = _garden(tmp_path, record, broker_port=free_port(), mail_port=free_port())
    garden = garden.model_copy(update={"broker": None})
    clock = ReplayClock(NOON)
    daemon = Daemon(garden, clock, mail_folder=tmp_path / "mail", warm_worker=True)
    daemon.start()
    try:
        daemon.run_due()
        before = status_report(garden, clock.now())["outlook"]
        assert before is not None
        record.write_text("date,rain_mm,tmin_c,tmax_c\n1976-01-01,wet,1,2\n", "utf-8")
        clock.set(NOON + timedelta(days=1))
        daemon.run_due()
        report = status_report(garden, clock.now())
        assert report["outlook"] == before
        told = {n["id"]: n["text"] for n in report["notices"]}
        assert "line 2" in told["worker-failed/outlook"]
        record.write_bytes(brussels_csv.read_bytes())
        clock.set(NOON + timedelta(days=2))
        daemon.run_due()
        report = status_report(garden, clock.now())
        assert "worker-failed/outlook" not in {n["id"] for n in report["notices"]}
        assert report["outlook"] != before
    finally:
        daemon.stop()


def test_mail_waits_for_its_server_and_is_delivered_once(
    tmp_path: Path, brussels_csv: Path
) -> None:
    mail_port = free_port()
    garden = _garden(tmp_path, brussels_csv, broker_port=free_port(), mail_port=mail_port)
    garden = garden.model_copy(update={"broker": None})
    clock = ReplayClock(NOON)
    daemon = Daemon(garden, clock, warm_worker=True)
    daemon.start()
    try:
        friday = NOON + timedelta(days=2, hours=7, minutes=5)
        clock.set(friday)
        daemon.run_due()
        waiting = status_report(garden, clock.now())["mail_waiting"]
        assert waiting >= 1
        kept = _Kept()
        server = Controller(kept, hostname="127.0.0.1", port=mail_port)
        server.start()
        try:
            for minutes in (30, 60, 90):
                clock.set(friday + timedelta(minutes=minutes))
                daemon.run_due()
        finally:
            server.stop()
        assert status_report(garden, clock.now())["mail_waiting"] == 0
        subjects = [mail["Message-ID"] for mail in kept.mails]
        assert len(subjects) == waiting
        assert len(set(subjects)) == waiting
    finally:
        daemon.stop()
