"""A broker that asks who is there: certificates, and a password from the environment."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from typing import TYPE_CHECKING

import pytest
from tests.servers import mosquitto

from steepwell.clock import WallClock
from steepwell.errors import BrokerError
from steepwell.garden.site import BROKER_PASSWORD, BROKER_USERNAME, Broker
from steepwell.sense.intake import Intake
from steepwell.store.store import garden_store_url, open_store

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from steepwell.garden.garden import Garden
    from steepwell.store.store import Store

pytestmark = pytest.mark.mosquitto

WITHIN_S = 30.0
ADDRESS = "subjectAltName=IP:127.0.0.1"
PASSWORD = "so-long-a-secret"  # noqa: S105 - of a broker that lives for one test


def openssl(folder: Path, *words: str) -> None:
    program = shutil.which("openssl")
    if program is None:
        pytest.skip("openssl is not installed")
    subprocess.run([program, *words], cwd=folder, check=True, capture_output=True)


@pytest.fixture(scope="module")
def certificates(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Make an authority, and certificates by it for the broker and for us."""
    folder = tmp_path_factory.mktemp("certificates")
    new = ("req", "-newkey", "rsa:2048", "-nodes", "-subj")
    (folder / "names").write_text(ADDRESS, encoding="utf-8")
    made = ("-days", "2", "-out")
    openssl(folder, *new, "/CN=ca", "-x509", "-keyout", "ca.key", *made, "ca.pem")
    signed = ("-CA", "ca.pem", "-CAkey", "ca.key", "-CAcreateserial", "-extfile", "names")
    for name in ("broker", "us"):
        request, key = f"{name}.csr", f"{name}.key"
        openssl(folder, *new, f"/CN={name}", "-keyout", key, "-out", request)
        openssl(folder, "x509", "-req", "-in", request, *signed, *made, f"{name}.pem")
    return folder


@pytest.fixture
def store(garden: Garden) -> Iterator[Store]:
    with open_store(garden_store_url(garden), garden) as store:
        yield store


def asking(garden: Garden, **broker: object) -> Garden:
    assert garden.broker is not None
    declared = Broker.model_validate({**garden.broker.model_dump(), **broker})
    return garden.model_copy(update={"broker": declared})


def secured(certificates: Path) -> dict[str, str]:
    """Return the settings of a broker that shows a certificate and asks for one."""
    files = {"cafile": "ca.pem", "certfile": "broker.pem", "keyfile": "broker.key"}
    lines = [f"{key} {certificates / name}" for key, name in files.items()]
    return {"allow_anonymous": "\n".join(["true", *lines, "require_certificate true"])}


def publish(port: int, folder: Path, count: int) -> None:
    program = shutil.which("mosquitto_pub")
    if program is None:
        pytest.skip("mosquitto_pub is not installed")
    files = ["--cafile", "ca.pem", "--cert", "us.pem", "--key", "us.key"]
    words = [program, "-h", "127.0.0.1", "-p", str(port), "-q", "1", "-t", "quince/shade", "-l"]
    lines = "".join(f"{number / 1000}\n" for number in range(count))
    subprocess.run([*words, *files], input=lines, text=True, check=True, cwd=folder)


def test_a_broker_that_asks_for_a_certificate(
    garden: Garden, store: Store, certificates: Path, tmp_path: Path
) -> None:
    count = 3000
    with mosquitto(tmp_path, secured(certificates)) as broker:
        known = asking(
            garden,
            port=broker.port,
            tls=True,
            ca_file=certificates / "ca.pem",
            certificate_file=certificates / "us.pem",
            key_file=certificates / "us.key",
        )
        intake = Intake(known, store, WallClock())
        intake.start()
        try:
            assert intake.connected.wait(WITHIN_S)
            publish(broker.port, certificates, count)
            assert intake.wait_settled(count, WITHIN_S)
        finally:
            intake.stop()


# The library leaves the connection of a failed handshake to be collected.
@pytest.mark.filterwarnings("ignore:.*SSLSocket:pytest.PytestUnraisableExceptionWarning")
def test_a_broker_that_cannot_prove_who_it_is_is_not_spoken_to(
    garden: Garden, store: Store, certificates: Path, tmp_path: Path
) -> None:
    with mosquitto(tmp_path, secured(certificates)) as broker:
        stranger = {"tls": True, "ca_file": certificates / "us.pem"}
        intake = Intake(asking(garden, port=broker.port, **stranger), store, WallClock())
        intake.start()
        try:
            assert not intake.connected.wait(1.0)
            assert "certificate verify failed" in (intake.state().last_error or "")
        finally:
            intake.stop()


def test_certificates_that_are_not_there_are_told(garden: Garden, store: Store) -> None:
    missing = asking(garden, tls=True, ca_file="nowhere.pem")
    with pytest.raises(BrokerError, match=r"the certificates for the broker \(.*nowhere.pem\)"):
        Intake(missing, store, WallClock())


def test_a_password_may_stand_in_the_environment(
    garden: Garden,
    garden_file: Path,
    store: Store,
    monkeypatch: pytest.MonkeyPatch,
    caplog: pytest.LogCaptureFixture,
) -> None:
    folder = garden_file.parent / "asking"
    folder.mkdir()
    passwords = folder / "passwords"
    program = shutil.which("mosquitto_passwd")
    if program is None:
        pytest.skip("mosquitto_passwd is not installed")
    subprocess.run([program, "-c", "-b", str(passwords), "us", PASSWORD], check=True)
    monkeypatch.setenv(BROKER_USERNAME, "us")
    monkeypatch.setenv(BROKER_PASSWORD, PASSWORD)
    settings = {"allow_anonymous": f"false\npassword_file {passwords}"}
    with mosquitto(folder, settings) as broker:
        intake = Intake(asking(garden, port=broker.port), store, WallClock())
        intake.start()
        try:
            assert intake.connected.wait(WITHIN_S)
            state = intake.state()
        finally:
            intake.stop()
    told = [str(state), caplog.text]
    for command in ("check", "status"):
        words = [sys.executable, "-m", "steepwell.cli", command, str(garden_file)]
        for more in ([], ["--json"]):
            done = subprocess.run([*words, *more], capture_output=True, text=True, check=True)
            told += [done.stdout, done.stderr]
    assert PASSWORD not in json.dumps(told)
