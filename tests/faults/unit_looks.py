"""Looks at the unit from inside the root of ``unit_root`` and tells what is seen, a line each."""

from __future__ import annotations

import re
import sys
from contextlib import contextmanager, suppress
from pathlib import Path
from time import monotonic
from typing import TYPE_CHECKING

from tests.faults import unit_secrets
from tests.faults.disks import SYNCS, system_calls
from tests.faults.under_load import TIMED, Rig, await_that
from tests.faults.unit_manager import (
    FOLDER,
    GARDEN_FILE,
    change_unit,
    journal,
    shown,
    start,
    systemctl,
    tell,
    unit_pid,
)
from tests.servers import mosquitto

if TYPE_CHECKING:
    from collections.abc import Iterator

BROKER = Path("/run/broker")
# The unit's own ten minutes are long to wait for.
WATCHDOG_S = 6
ENOUGH = 1000
# A batch may take five minutes.
HANGS_WITHIN_S = 400.0


def killed() -> None:
    """Start it, stop it in the midst of a job, start, reload, kill and stop it."""
    if not start():
        return
    await_that(_works, "no job begins")
    tell("stop-at-work", systemctl("stop"))
    tell("failed-at-work", "failed" in journal())
    start("again")
    first = unit_pid()
    tell("status", shown("StatusText"))
    owners = (Path(f"/proc/{first}"), FOLDER / "steepwell.db")
    tell("owner", " ".join(path.owner() for path in owners))
    said = dict(
        line.split(":\t", 1) for line in Path(f"/proc/{first}/status").read_text().splitlines()
    )
    tell("rights", " ".join(said[name] for name in ("CapEff", "NoNewPrivs", "Seccomp")))
    tell("reload", systemctl("reload"))
    tell("kept", unit_pid() == first)
    systemctl("kill", "--signal=KILL", "--kill-whom=main")
    await_that(lambda: unit_pid() not in (0, first), "it is not started again")
    await_that(lambda: shown("ActiveState") == "active", "it is not ready again")
    tell("restarts", shown("NRestarts"))
    tell("stop", systemctl("stop"))
    tell("result", shown("Result"))
    tell("left", len(list(FOLDER.glob("*.in-use"))))


def _works() -> bool:
    """Return whether a worker runs."""
    for command in Path("/proc").glob("[0-9]*/cmdline"):
        with suppress(OSError):
            if b"steepwell.worker" in command.read_bytes():
                return True
    return False


def hung() -> None:
    """Stop its process for good, under a stream."""
    with _streaming() as rig:
        systemctl("kill", "--signal=STOP", "--kill-whom=main")
        _await_watchdog(60.0)
        rig.await_hearing()
        account = rig.settle()
        tell("account", account)
        tell("whole", account.is_whole and not rig.broker_dropped())


def writer_hung() -> None:
    """Let what writes its messages never come back from the disk, and nothing else."""
    with _streaming() as rig:
        held = [f"{call}:delay_enter={round(1e6 * HANGS_WITHIN_S)}" for call in SYNCS]
        with system_calls(unit_pid(), *held):
            stored = len(rig.numbers(TIMED))
            sent = rig.stream.sent
            await_that(lambda: rig.stream.sent >= sent + ENOUGH, "the stream ends")
            rig.stream.hold()
            tell("stored-meanwhile", len(rig.numbers(TIMED)) - stored)
            _await_watchdog(HANGS_WITHIN_S)
        rig.stream.resume()
        rig.await_hearing()
        account = rig.settle()
        tell("account", account)
        tell("whole", account.is_whole and not rig.broker_dropped())
        tell("said", "what writes messages hangs" in journal())


@contextmanager
def _streaming() -> Iterator[Rig]:
    """Start it with an impatient watchdog, under a stream of which much is stored already."""
    change_unit(f"WatchdogSec={WATCHDOG_S}s")
    BROKER.mkdir()
    with mosquitto(BROKER, quiet=True) as broker:
        rig = Rig(FOLDER, broker)
        start()
        rig.stream.start()
        await_that(lambda: len(rig.numbers(TIMED)) > ENOUGH, "nothing is stored")
        yield rig
        tell("stop", systemctl("stop"))


def _await_watchdog(within_s: float) -> None:
    """Wait until it is killed and ready again, and tell after how long, and what it said."""
    began_s = monotonic()
    await_that(lambda: shown("Result") == "watchdog", "it is not killed", within_s)
    tell("killed-after", round(monotonic() - began_s))
    await_that(lambda: shown("ActiveState") == "active", "it is not ready again")
    tell("restarts", shown("NRestarts"))
    tell("images", len(list(FOLDER.glob("core*"))))
    tell("stood", "Current thread" in journal() and "in _look_after" in journal())


def broker_away() -> None:
    """Start it before its broker, and after it."""
    BROKER.mkdir()
    with mosquitto(BROKER, quiet=True) as broker:
        Rig(FOLDER, broker)
        broker.stop()
        before_s = monotonic()
        start()
        tell("waited", round(monotonic() - before_s))
        tell("store", (FOLDER / "steepwell.db").exists())
        tell("said", "no connection to the broker" in journal())
        broker.start()
        await_that(lambda: "connected to the broker" in journal(), "it finds no broker")
        systemctl("stop")
        said_before = len(journal())
        start("again")
        # It says that it looks after the garden, and then that it is ready.
        words = r"connected to the broker.*looking after"
        tell("heard-first", bool(re.search(words, journal()[said_before:], re.DOTALL)))
        tell("stop", systemctl("stop"))


def garden_wrong() -> None:
    """Start it with a garden file that has a fault, mend it, and break it while it runs."""
    right = GARDEN_FILE.read_text("utf-8")
    wrong = right.replace('litres = "200 L"', 'litres = "200"')
    GARDEN_FILE.write_text(wrong, "utf-8")
    tell("start", systemctl("start"))
    # What is to be started anew is "activating" at once.
    tell("state", f"{shown('ActiveState')} {shown('SubState')} {shown('ExecMainStatus')}")
    tell("status", shown("StatusText"))
    GARDEN_FILE.write_text(right, "utf-8")
    start("mended")
    first = unit_pid()
    GARDEN_FILE.write_text(wrong, "utf-8")
    systemctl("reload")
    await_that(lambda: "the garden goes on as it was" in journal(), "nothing is said of it")
    await_that(lambda: shown("ActiveState") == "active", "it does not go on")
    tell("goes-on", unit_pid() == first)
    tell("stop", systemctl("stop"))


LOOKS = {
    "killed": killed,
    "hung": hung,
    "writer-hung": writer_hung,
    "broker-away": broker_away,
    "garden-wrong": garden_wrong,
    "passwords": unit_secrets.passwords,
    "password-missing": unit_secrets.password_missing,
}


if __name__ == "__main__":
    LOOKS[sys.argv[1]]()
    tell("over", "yes")
