"""The daemon is killed over and over while messages come in; each is stored exactly once."""

from __future__ import annotations

import random
from typing import TYPE_CHECKING

import pytest
from tests.faults.under_load import Rig, waiter

if TYPE_CHECKING:
    from pathlib import Path

    from tests.servers import Mosquitto

pytestmark = pytest.mark.mosquitto

KILLS = 20
# It takes a second or two to start: some kills strike while it starts, most while it hears.
SHORTEST_S, LONGEST_S = 0.3, 4.0
STRUCK_WHILE_HEARING = 5


def test_each_message_is_stored_exactly_once(tmp_path: Path, broker: Mosquitto) -> None:
    draw = random.Random(7)  # noqa: S311 - a seeded draw, no secret
    rig = Rig(tmp_path, broker)
    # The first connection makes the session in which messages wait.
    rig.start()
    rig.stream.start()
    try:
        for number in range(KILLS):
            waiter.wait(draw.uniform(SHORTEST_S, LONGEST_S))
            rig.end()
            # Now and then one is sure to strike while it hears.
            rig.start(wait=number % 4 == 0)
        account = rig.settle()
    finally:
        rig.stream.finish()
        rig.end()
    assert account.accepted == rig.stream.sent > 500 * KILLS
    assert rig.said().count("connected to the broker") > STRUCK_WHILE_HEARING
    assert account.is_whole, account
