"""The store is made in a process that ends, and the one that asked has loaded nothing for it."""

from __future__ import annotations

import subprocess
import sys
from typing import TYPE_CHECKING

import pytest
from tests.bench.garden import garden_in, garden_text

from steepwell.errors import StoreError
from steepwell.store.making import make_beforehand
from steepwell.store.store import garden_store_url, open_store

if TYPE_CHECKING:
    from pathlib import Path

ASKS = """
import sys
from pathlib import Path
from steepwell.garden.load import load_garden
from steepwell.store.making import make_beforehand
path = Path(sys.argv[1])
make_beforehand(path, load_garden(path))
print(" ".join({name.split(".")[0] for name in sys.modules}))
"""


def test_who_has_a_store_made_keeps_nothing_of_what_that_loads(tmp_path: Path) -> None:
    garden = garden_in(tmp_path, garden_text(beds=1, butts=1, vessels=1))
    with pytest.raises(StoreError, match="no store"):
        open_store(garden_store_url(garden), garden, read_only=True)
    ran = subprocess.run(
        [sys.executable, "-c", ASKS, str(tmp_path / "garden.toml")],
        capture_output=True,
        text=True,
        check=True,
    )
    assert "alembic" not in ran.stdout.split()
    open_store(garden_store_url(garden), garden, read_only=True).close()


def test_a_store_that_is_no_store_of_ours_is_left_as_it_is(tmp_path: Path) -> None:
    garden = garden_in(tmp_path, garden_text(beds=1, butts=1, vessels=1))
    file = tmp_path / "steepwell.db"
    file.write_bytes(b"a letter, not a store")
    make_beforehand(tmp_path / "garden.toml", garden)
    assert file.read_bytes() == b"a letter, not a store"
