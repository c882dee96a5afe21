"""What the service manager hears, and what its unit allows."""

from __future__ import annotations

import re
import shutil
import socket
import subprocess
from pathlib import Path

import pytest

from steepwell.errors import (
    BrokerError,
    GardenFileError,
    SecretError,
    SteepwellError,
    StoreError,
)
from steepwell.garden.secrets import has_secret, read_secret, secret_file
from steepwell.garden.tables import config_dir
from steepwell.service import Service

UNIT = config_dir() / "steepwell.service"
# Tenths; below two is what systemd itself calls OK.
MOST_EXPOSED = 20


def test_the_unit_is_hardened() -> None:
    analyze = shutil.which("systemd-analyze")
    if analyze is None:
        pytest.skip("systemd is not installed")
    security = (analyze, "security", "--offline=true", f"--threshold={MOST_EXPOSED}", str(UNIT))
    told = subprocess.run(security, check=False, capture_output=True, text=True)
    assert told.returncode == 0, told.stdout[-400:]


def test_the_unit_hands_over_what_the_garden_file_names() -> None:
    garden = (config_dir() / "garden.toml").read_text("utf-8")
    named = re.findall(r'(?:password_file = "|token_file = "|"file:)([^"]+)"', garden)
    handed = re.findall(r"LoadCredential=([^:]+):", UNIT.read_text("utf-8"))
    assert sorted(handed) == sorted(set(named))


def test_the_unit_starts_nothing_anew_that_no_restart_can_mend() -> None:
    (never,) = re.findall(r"^RestartPreventExitStatus=(.*)$", UNIT.read_text("utf-8"), re.MULTILINE)
    assert int(never) == GardenFileError.exit_code
    mends_itself = (BrokerError, SecretError, StoreError, SteepwellError)
    assert int(never) not in {error.exit_code for error in mends_itself}


# sd_notify(3): "@" at the beginning stands for the null byte of an abstract address.
def test_a_manager_may_listen_at_an_abstract_address(tmp_path: Path) -> None:
    name = f"steepwell-{tmp_path.name}"
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as manager:
        manager.bind(f"\0{name}")
        manager.settimeout(5.0)
        service = Service({"NOTIFY_SOCKET": f"@{name}"})
        service.ready("well")
        assert manager.recv(100) == b"READY=1\nSTATUS=well"
        # No watchdog was asked for.
        service.is_alive()
        service.stopping()
        assert manager.recv(100) == b"STOPPING=1"


@pytest.mark.parametrize("environment", [{}, {"NOTIFY_SOCKET": "/nowhere/at/all"}])
def test_a_manager_that_is_not_there_is_not_missed(environment: dict[str, str]) -> None:
    Service({**environment, "WATCHDOG_USEC": "1"}).is_alive()


# sd_watchdog_enabled(3): a watchdog of another process is none of ours.
def test_a_watchdog_of_another_process_is_not_answered(tmp_path: Path) -> None:
    address = str(tmp_path / "notify")
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as manager:
        manager.bind(address)
        said = {"NOTIFY_SOCKET": address, "WATCHDOG_USEC": "2000000", "WATCHDOG_PID": "1"}
        Service(said).is_alive()
        manager.setblocking(False)  # noqa: FBT003 - the library has it so
        with pytest.raises(BlockingIOError):
            manager.recv(100)


def test_a_credential_goes_before_the_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    file = tmp_path / "mail-password"
    assert secret_file(file.relative_to(tmp_path), tmp_path) == file
    handed = tmp_path / "handed"
    handed.mkdir()
    monkeypatch.setenv("CREDENTIALS_DIRECTORY", str(handed))
    assert secret_file(file, tmp_path) == file
    (handed / "mail-password").touch()
    assert secret_file(file, tmp_path) == handed / "mail-password"


@pytest.mark.parametrize(
    ("content", "why"),
    [
        (None, "no such file or directory"),
        (b" \n", "it is empty"),
        (b"\xff\xfe", "it is no text"),
    ],
)
def test_a_secret_that_cannot_be_read_is_said_with_what_to_do(
    tmp_path: Path, content: bytes | None, why: str
) -> None:
    file = tmp_path / "mail-password"
    if content is not None:
        file.write_bytes(content)
    assert has_secret(file, tmp_path) is (content is not None)
    with pytest.raises(SecretError) as raised:
        read_secret("the password for the mail server", file, tmp_path)
    assert str(raised.value) == (
        f"the password for the mail server cannot be read from {file} ({why}); put it there, so "
        "that the daemon may read it, or have systemd hand it over as the credential mail-password"
    )


def test_a_secret_comes_without_blanks_around_it(tmp_path: Path) -> None:
    (tmp_path / "token").write_text("plum and pear\n", encoding="utf-8")
    assert read_secret("the token", Path("token"), tmp_path) == "plum and pear"
