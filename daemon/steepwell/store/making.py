"""Makes or migrates the store of a garden in a process that ends, with all that loads for it."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from steepwell.errors import StoreError
from steepwell.garden.load import load_garden
from steepwell.store.store import garden_store_url, open_store

if TYPE_CHECKING:
    from steepwell.garden.garden import Garden


def make_beforehand(path: Path, garden: Garden) -> None:
    """See that a store need not be made or migrated by who opens it next.

    What that loads would stay in the memory of a daemon for as long as it runs. Where it fails,
    nothing is said: whoever opens the store meets the same fault.

    Parameters
    ----------
    path
        The garden file.
    garden
        What is in it.
    """
    try:
        open_store(garden_store_url(garden), garden, read_only=True).close()
    except StoreError:
        subprocess.run(  # noqa: S603 - our own module
            [sys.executable, "-m", "steepwell.store.making", str(path)],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            process_group=0,  # an interrupt from the terminal is for us, who wait for its end
            check=False,
        )


def main() -> None:
    """Make or migrate the store of the garden file that is named."""
    garden = load_garden(Path(sys.argv[1]))
    open_store(garden_store_url(garden), garden).close()


if __name__ == "__main__":
    main()
