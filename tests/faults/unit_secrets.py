"""Looks at the passwords of the unit: handed over as its comments say, or missing."""

from __future__ import annotations

import os
import re
import subprocess
import threading
from email.message import EmailMessage
from pathlib import Path

from aiosmtpd.controller import Controller
from aiosmtpd.handlers import Sink
from aiosmtpd.smtp import AuthResult, LoginPassword
from tests.faults.under_load import await_that
from tests.faults.unit_manager import (
    GARDEN_FILE,
    UNIT_FILE,
    ask,
    journal,
    read_unit,
    shown,
    start,
    systemctl,
    tell,
    unit_pid,
)
from tests.servers import free_port, mosquitto

from steepwell.clock import WallClock
from steepwell.garden.load import load_garden
from steepwell.store.store import garden_store_url, open_store

KEPT = Path("/etc/steepwell")
MARK = "hushhush"
BROKER_PASSWORD, MAIL_PASSWORD = f"{MARK}-broker", f"{MARK}-mail"
WITHIN_S = 90.0
SECTIONS = """
[broker]
host = "127.0.0.1"
port = {broker}
username = "robin"
password_file = "broker-password"

[told.mail]
server = "127.0.0.1"
port = {mail}
security = "none"
sender = "steepwell@example.org"
username = "robin"
password_file = "mail-password"

[[told.people]]
name = "robin"
role = "keeper"
mail = "robin@example.org"

[page]
"""


def passwords() -> None:
    """Hand over two passwords, see that they are used, and look for them everywhere else."""
    let_in = threading.Event()

    def authenticate(*said: object) -> AuthResult:
        told = said[-1]
        knows = isinstance(told, LoginPassword) and told.password == MAIL_PASSWORD.encode()
        if knows:
            let_in.set()
        return AuthResult(success=knows)

    known, place, port = Path("/run/known"), Path("/run/broker"), free_port()
    place.mkdir()
    command = ("mosquitto_passwd", "-b", "-c", str(known), "robin", BROKER_PASSWORD)
    subprocess.run(command, check=True)
    post = Controller(
        Sink(),
        hostname="127.0.0.1",
        port=port,
        authenticator=authenticate,
        auth_require_tls=False,
    )
    post.start()
    settings = {"allow_anonymous": f"false\npassword_file {known}"}
    with mosquitto(place, settings, quiet=True) as broker:
        _declare(broker.port, port)
        _put_mail()
        for name, secret in (("broker", BROKER_PASSWORD), ("mail", MAIL_PASSWORD)):
            _keep(f"{name}-password", secret)
            _take_away_the_mark(f"{name}-password")
        start()
        tell("broker", "connected to the broker" in journal())
        tell("mail", let_in.wait(WITHIN_S))
        # The picture of the page was drawn by then.
        typefaces = list(Path("/var/cache/steepwell").glob("fontlist*"))
        tell("can-draw", bool(typefaces) and "matplotlib" not in journal().lower())
        tell("told-in", ", ".join(_where_told()) or "nothing")
        tell("others", _read_by_others())
        handed = {**os.environ, "CREDENTIALS_DIRECTORY": "/run/credentials/steepwell.service"}
        check = ("steepwell", "check", "--connect", str(GARDEN_FILE))
        tried = subprocess.run(check, env=handed, check=False, capture_output=True, text=True)
        tell("check", tried.returncode)
        tell("stop", systemctl("stop"))
    post.stop()


def password_missing() -> None:
    """Name a password in the garden file and hand none over, and then one that is not there."""
    _declare(free_port(), free_port())
    tell("start", systemctl("start"))
    tell("said", journal().splitlines()[-1])
    tell("status", shown("StatusText"))
    _keep("broker-password", BROKER_PASSWORD)
    _take_away_the_mark("broker-password")
    await_that(lambda: shown("ActiveState") == "active", "it does not begin with the password")
    tell("mended", "yes")
    systemctl("stop")
    (KEPT / "broker-password").unlink()
    tell("nothing-to-hand-over", systemctl("start"))
    tell("exit", shown("ExecMainStatus"))
    systemctl("stop")


def _declare(broker: int, mail: int) -> None:
    text = GARDEN_FILE.read_text("utf-8")
    GARDEN_FILE.write_text(text + SECTIONS.format(broker=broker, mail=mail), "utf-8")


def _put_mail() -> None:
    """Leave a mail for the daemon to deliver."""
    garden, now = load_garden(GARDEN_FILE), WallClock().now()
    mail = EmailMessage()
    mail["Subject"], mail["To"] = "Frost tonight", "robin@example.org"
    mail.set_content("Cover what is tender.\n")
    with open_store(garden_store_url(garden), garden) as store:
        store.outbox.put("notices/1", "robin@example.org", mail.as_bytes(), now, person="robin")


def _keep(name: str, secret: str) -> None:
    KEPT.mkdir(mode=0o700, exist_ok=True)
    (KEPT / name).write_text(f"{secret}\n", encoding="utf-8")
    (KEPT / name).chmod(0o600)


def _take_away_the_mark(name: str) -> None:
    """Do what the comments of the unit ask for."""
    text, count = re.subn(
        rf"^#(LoadCredential={name}:.*)$", r"\1", UNIT_FILE.read_text("utf-8"), flags=re.MULTILINE
    )
    assert count == 1
    UNIT_FILE.write_text(text, "utf-8")
    read_unit()


def _where_told() -> list[str]:
    """Return where a password can be seen that must not be."""
    garden = str(GARDEN_FILE)
    told = {
        "systemctl show": ask("systemctl", "show", "steepwell"),
        "systemctl status": ask("systemctl", "status", "steepwell"),
        "systemctl cat": ask("systemctl", "cat", "steepwell"),
        "journal": ask("journalctl", "--output", "export", "--no-pager"),
        "status": ask("steepwell", "status", garden, "--why", "--json"),
        "check": ask("steepwell", "check", garden, "--json"),
        "export": ask("steepwell", "export", garden, "--as", "jsonl"),
    }
    for process in Path("/proc").iterdir():
        if process.name.isdecimal():
            for file in ("cmdline", "environ"):
                told[f"{file} of {process.name}"] = _bytes(process / file)
    looked = ("systemctl show", "systemctl status", "journal", f"environ of {unit_pid()}")
    assert all(told[where] for where in looked)
    folder = [file for file in GARDEN_FILE.parent.rglob("*") if file.is_file()]
    told |= {str(file): _bytes(file) for file in folder}
    return [where for where, said in told.items() if MARK in said]


def _bytes(file: Path) -> str:
    try:
        return file.read_bytes().decode(errors="replace")
    except OSError:
        return ""


def _read_by_others() -> bool:
    """Return whether another user of the machine can read a password."""
    for folder in (Path("/run/credentials/steepwell.service"), KEPT):
        read = ("setpriv", "--reuid=65534", "--clear-groups", "cat", str(folder / "mail-password"))
        if subprocess.run(read, check=False, capture_output=True).returncode == 0:
            return True
    return False
