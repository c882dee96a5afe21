"""The gardener's way to the daemon: entries for the journal, and the plan last posted."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Sequence

    from steepwell_sim.network import Client


class Voice:
    """Speaks to the journal of a garden and listens to its plan.

    Parameters
    ----------
    garden
        Its name.
    client
        An MQTT client that has not connected yet.

    Attributes
    ----------
    plan
        The plan last posted, None before there is one.
    """

    def __init__(self, garden: str, client: Client) -> None:
        self.plan: dict[str, Any] | None = None
        self._client = client
        self._journal_topic = f"steepwell/{garden}/journal"
        client.listen(f"steepwell/{garden}/plan", self._hear_plan)

    def say(self, entries: Sequence[dict[str, Any]]) -> None:
        """Put entries in the journal."""
        for entry in entries:
            self._client.publish(self._journal_topic, json.dumps(entry).encode())

    def _hear_plan(self, payload: bytes) -> None:
        self.plan = json.loads(payload) if payload else None
