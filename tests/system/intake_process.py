"""A process that takes in messages until it is killed: ``intake_process.py GARDEN_FILE``."""

from __future__ import annotations

import sys
from pathlib import Path

from steepwell.clock import WallClock
from steepwell.garden.load import load_garden
from steepwell.sense.intake import Intake
from steepwell.store.store import garden_store_url, open_store


def main() -> None:
    garden = load_garden(Path(sys.argv[1]))
    with open_store(garden_store_url(garden), garden) as store:
        intake = Intake(garden, store, WallClock())
        intake.start()
        intake.connected.wait()
        sys.stdout.write("hearing\n")
        sys.stdout.flush()
        sys.stdin.read()
        intake.stop()


if __name__ == "__main__":
    main()
