"""What a look asks the service manager, and how it tells what it has seen."""

from __future__ import annotations

import subprocess
from pathlib import Path

UNIT = "steepwell"
UNIT_FILE = Path("/etc/systemd/system/steepwell.service")
FOLDER = Path("/var/lib/steepwell")
GARDEN_FILE = FOLDER / "garden.toml"


def tell(name: str, what: object) -> None:
    """Tell something that was seen."""
    print(f"{name}: {what}", flush=True)  # noqa: T201 - the way out


def ask(*command: str) -> str:
    """Return what a command says."""
    return subprocess.run(command, check=False, capture_output=True, text=True).stdout


def systemctl(verb: str, *words: str) -> int:
    """Do something with the unit, and return the exit code."""
    command = ("systemctl", verb, *words, UNIT)
    return subprocess.run(command, check=False, capture_output=True).returncode


def shown(name: str) -> str:
    """Return a property of the unit."""
    return ask("systemctl", "show", UNIT, "--property", name, "--value").strip()


def unit_pid() -> int:
    """Return the unit's process, 0 if there is none."""
    return int(shown("MainPID"))


def start(name: str = "start") -> bool:
    """Start the unit, tell with what exit code, and return whether it runs."""
    tell(name, systemctl("start"))
    runs = shown("ActiveState") == "active"
    if not runs:
        tell("said", " ".join(journal().splitlines()[-3:]))
    return runs


def journal() -> str:
    """Return what the unit said, as the journal has it."""
    return ask("journalctl", "--unit", UNIT, "--output", "cat", "--no-pager")


def change_unit(line: str) -> None:
    """Add a line to the unit's section."""
    folder = UNIT_FILE.with_name(f"{UNIT_FILE.name}.d")
    (folder / "look.conf").write_text(f"[Service]\n{line}\n", encoding="utf-8")
    read_unit()


def read_unit() -> None:
    """Have the service manager read the unit anew."""
    subprocess.run(("systemctl", "daemon-reload"), check=True)  # noqa: S607 - as found
