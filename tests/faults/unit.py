"""What becomes of the unit of config/ under a real systemd."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from tests.faults.faults_table import Fault, NotHereError, Seen
from tests.faults.unit_root import seen_under_systemd
from tests.servers import mosquitto_binary

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

# What each look has to see, in full.
KILLED = {
    "start": "0",
    "stop-at-work": "0",
    "failed-at-work": "False",
    "again": "0",
    "owner": "steepwell steepwell",
    # No capability, no new privileges, a filter of system calls.
    "rights": "0000000000000000 1 2",
    "reload": "0",
    "kept": "True",
    "restarts": "1",
    "stop": "0",
    "result": "success",
    "left": "0",
}
HUNG = {
    "start": "0",
    "restarts": "1",
    "images": "0",
    "stood": "True",
    "whole": "True",
    "stop": "0",
}
WRITER_HUNG = {**HUNG, "said": "True", "stored-meanwhile": "0"}
BROKER_AWAY = {
    "start": "0",
    "store": "True",
    "said": "True",
    "again": "0",
    "heard-first": "True",
    "stop": "0",
}
GARDEN_WRONG = {
    "start": "1",
    "state": "failed failed 2",
    "mended": "0",
    "goes-on": "True",
    "stop": "0",
}
PASSWORDS = {
    "start": "0",
    "broker": "True",
    "mail": "True",
    "can-draw": "True",
    "told-in": "nothing",
    "others": "False",
    "check": "0",
    "stop": "0",
}
PASSWORD_MISSING = {
    "start": "1",
    "mended": "yes",
    "nothing-to-hand-over": "1",
    "exit": "243",
}


def _looked(
    folder: Path, *, look: str, expected: Mapping[str, str], words: str, broker: bool = False
) -> Seen:
    """Look at the unit, and tell it in words with what was seen in their braces."""
    if broker and mosquitto_binary() is None:
        raise NotHereError("Mosquitto is not installed")
    seen = seen_under_systemd(folder, look)
    off = {key: seen.get(key) for key, wanted in expected.items() if seen.get(key) != wanted}
    if off or "broke-off" in seen:
        return Seen(f"otherwise: {off} {seen.get('broke-off', '')}", is_expected=False)
    said = {name.replace("-", "_"): value for name, value in seen.items()}
    return Seen(words.format(**said), is_expected=True)


def rows(*, quick: bool) -> list[Fault]:
    """Return the rows; a writer that hangs takes six minutes, and is left out of a quick run."""
    looks = [
        Fault(
            "the unit under systemd, killed",
            "ready, reloads, is started again, stops in order and not before a job is done",
            partial(
                _looked,
                look="killed",
                expected=KILLED,
                words="ready (“{status}”) as a user of its own without a capability; read anew as "
                "the same process; killed: started again; stopped in order, at work when its job "
                "was done",
            ),
        ),
        Fault(
            "the unit hangs (a watchdog of 6 s here)",
            "killed by the watchdog and started anew; none lost, none doubled",
            partial(
                _looked,
                look="hung",
                expected=HUNG,
                words="killed {killed_after} s later, with what each thread was at in the "
                "journal; {account}",
                broker=True,
            ),
        ),
        Fault(
            "the unit's writer hangs, and nothing else of it",
            "the same, after five minutes without a batch coming back",
            partial(
                _looked,
                look="writer-hung",
                expected=WRITER_HUNG,
                words="said which part hangs; killed {killed_after} s later; {account}",
                broker=True,
            ),
        ),
        Fault(
            "the unit's broker away at the start",
            "ready all the same; a broker that is there is heard before it says so",
            partial(
                _looked,
                look="broker-away",
                expected=BROKER_AWAY,
                words="ready after {waited} s without it, heard it when it came; with it heard "
                "first and ready then",
                broker=True,
            ),
        ),
        Fault(
            "the unit's garden file wrong",
            "ends, says what is wrong, and is not tried over and over; goes on where it runs",
            partial(
                _looked,
                look="garden-wrong",
                expected=GARDEN_WRONG,
                words="failed with 2, “{status}”; mended: ready; wrong while it runs: refused, and "
                "the same process goes on",
            ),
        ),
        Fault(
            "the unit's passwords, as credentials",
            "used, and to be seen nowhere",
            partial(
                _looked,
                look="passwords",
                expected=PASSWORDS,
                words="let in by broker and mail server; seen in none of properties, status, "
                "journal, process list, environments, exports and files; read by no other user",
                broker=True,
            ),
        ),
        Fault(
            "the unit's password missing",
            "one sentence that says what to do; begins when it is there",
            partial(
                _looked,
                look="password-missing",
                expected=PASSWORD_MISSING,
                words="“{said}”; handed over: began by itself; one that is named and not there: "
                "ends with 243/CREDENTIALS",
            ),
        ),
    ]
    return [look for look in looks if not (quick and "writer hangs" in look.what)]
