"""The gardener: acts in the true garden and tells what was done."""

from __future__ import annotations

from collections import deque
from typing import TYPE_CHECKING, Any

from steepwell_sim.gardener.habits import BedSeen, Habit, wants
from steepwell_sim.gardener.hands import do, water_bed

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from steepwell_sim.gardener.notes import Note
    from steepwell_sim.world.world import World

_DAYS_REMEMBERED = 3
_CONTAINERS = ("pot", "tray")

Entry = dict[str, Any]


class Gardener:
    """Somebody who waters by habit and does what his notes say.

    Parameters
    ----------
    world
        The true garden.
    habit
        How he waters.
    notes
        What he does beside, in the order of time.
    """

    def __init__(self, world: World, *, habit: Habit, notes: Sequence[Note] = ()) -> None:
        self._garden = world.garden
        self._world = world
        self._habit: Habit = habit
        self._notes = deque(notes)
        self._rain_mm = deque([world.rain_mm], maxlen=_DAYS_REMEMBERED + 1)

    def do_what_is_noted(self, now: datetime) -> list[Entry]:
        """Do what the notes say for the time up to ``now``; return their entries."""
        done = []
        while self._notes and self._notes[0].at <= now:
            note = self._notes.popleft()
            do(self._world, note.entry, now)
            done.append(note.entry)
        return done

    def water(self, now: datetime) -> list[Entry]:
        """Water as he is used to in the evening; return an entry for each bed and butt."""
        done: list[Entry] = []
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
                done.append(
                    {
                        "kind": "watered",
                        "at": local.isoformat(),
                        "bed": want.bed,
                        "litres": round(litres, 1),
                        "butt": butt,
                    }
                )
        return done

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
