"""The gardener's way to the daemon: entries for the journal, and the plan last posted."""

from __future__ import annotations

import json
import threading
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
        self._news = threading.Condition()
        self._client = client
        self._journal_topic = f"steepwell/{garden}/journal"
        client.listen(f"steepwell/{garden}/plan", self._hear_plan)

    def say(self, entries: Sequence[dict[str, Any]]) -> None:
        """Put entries in the journal."""
        for entry in entries:
            self._client.publish(self._journal_topic, json.dumps(entry).encode())

    def wait_for_plan(self, issued: str, timeout_s: float) -> bool:
        """Wait until the plan last heard is the one issued then; return whether it came."""
        with self._news:
            return self._news.wait_for(
                lambda: self.plan is not None and self.plan["issued"] == issued, timeout_s
            )

    def _hear_plan(self, payload: bytes) -> None:
        with self._news:
            self.plan = json.loads(payload) if payload else None
            self._news.notify_all()
