"""What the tests of the outlook share: a real store that is closed in the end."""

from __future__ import annotations

from contextlib import ExitStack
from typing import TYPE_CHECKING

import pytest

from steepwell.store.store import garden_store_url, open_store

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tests.gardens import Open


@pytest.fixture
def opened() -> Iterator[Open]:
    with ExitStack() as stack:
        yield lambda garden: stack.enter_context(open_store(garden_store_url(garden), garden))
