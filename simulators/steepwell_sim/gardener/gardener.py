"""The gardener: acts in the true garden and says in the journal what was done."""

from __future__ import annotations

import json
from collections import deque
from typing import TYPE_CHECKING, Any

from steepwell_sim.gardener.habits import BedSeen, Habit, wants
from steepwell_sim.gardener.hands import do, water_bed

if TYPE_CHECKING:
    from datetime import datetime

    from steepwell.garden.garden import Garden
    from steepwell_sim.gardener.notes import Note
    from steepwell_sim.network import Client
    from steepwell_sim.world.world import World

_DAYS_REMEMBERED = 3
_CONTAINERS = ("pot", "tray")


class Gardener:
    """Somebody who waters by habit and does what his notes say.

    Parameters
    ----------
    garden
        As declared.
    world
        The true garden.
    habit
        How he waters.
    notes
        What he does beside, in the order of time.
    client
        His way to the broker, not yet connected; he listens to the plan and speaks to the journal.
    """

    def __init__(
        self, garden: Garden, world: World, *, habit: Habit, notes: list[Note], client: Client
    ) -> None:
        self._garden = garden
        self._world = world
        self._habit: Habit = habit
        self._notes = deque(notes)
        self._rain_mm = deque([world.rain_mm], maxlen=_DAYS_REMEMBERED + 1)
        self._client = client
        self._journal_topic = f"steepwell/{garden.name}/journal"
        self.plan: dict[str, Any] | None = None
        client.listen(f"steepwell/{garden.name}/plan", self._plan_posted)

    def do_what_is_noted(self, now: datetime) -> int:
        """Do what the notes say for the time up to ``now``; return how many entries were said."""
        said = 0
        while self._notes and self._notes[0].at <= now:
            note = self._notes.popleft()
            do(self._world, note.entry, now)
            self._say(note.entry)
            said += 1
        return said

    def water(self, now: datetime) -> int:
        """Water as he is used to in the evening; return how many entries were said."""
        said = 0
        local = now.astimezone(self._garden.garden.zone)
        self._rain_mm.append(self._world.rain_mm)
        meant = wants(
            self._habit,
            self._beds_seen(),
            weekday=local.weekday(),
            rain_mm=self._rain_mm[-1] - self._rain_mm[0],
            can_l=self._garden.can.size,
        )
        for want in meant:
            for butt, litres in water_bed(self._world, want.bed, want.litres, None):
                if round(litres, 1) <= 0:
                    continue
                self._say(
                    {
                        "kind": "watered",
                        "at": local.isoformat(),
                        "bed": want.bed,
                        "litres": round(litres, 1),
                        "butt": butt,
                    }
                )
                said += 1
        return said

    def _beds_seen(self) -> list[BedSeen]:
        return [
            BedSeen(
                name=name,
                area_m2=bed.declared.area,
                priority=bed.declared.priority,
                container=bed.declared.kind in _CONTAINERS,
                rained_on=bed.declared.rained_on,
                depletion_mm=bed.soil.depletion_mm,
            )
            for name, bed in self._world.beds.items()
            if bed.growing
        ]

    def _say(self, entry: dict[str, Any]) -> None:
        self._client.publish(self._journal_topic, json.dumps(entry).encode())

    def _plan_posted(self, payload: bytes) -> None:
        self.plan = json.loads(payload) if payload else None
