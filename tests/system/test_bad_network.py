"""A taste of what ``tests/faults`` does at length: the connection is cut in mid-word."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from tests.faults.network import cut

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.mosquitto


def test_a_connection_that_is_cut_loses_and_doubles_nothing(tmp_path: Path) -> None:
    seen = cut(tmp_path, 3)
    assert seen.is_expected, seen.words
