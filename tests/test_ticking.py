from __future__ import annotations

import logging
from typing import TYPE_CHECKING

from steepwell.errors import StoreError
from steepwell.ticking import Beat

if TYPE_CHECKING:
    import pytest

FULL = "the store cannot be read or written (database or disk is full)"


def test_what_is_due_waits_while_the_store_takes_nothing(caplog: pytest.LogCaptureFixture) -> None:
    runs: list[str] = []
    is_full = True

    def run_due() -> None:
        runs.append("run")
        try_store()

    def try_store() -> None:
        if is_full:
            raise StoreError(FULL)

    beat = Beat(run_due, try_store)
    with caplog.at_level(logging.INFO):
        for _ in range(3):
            beat()
    assert runs == ["run"]
    assert [record.exc_info for record in caplog.records] == [None]
    assert FULL in caplog.text
    is_full = False
    beat()
    beat()
    assert runs == ["run", "run", "run"]
    is_full = True
    beat()
    assert len(caplog.records) == 2
