"""The gardener: acts in the true garden and tells what was done."""

from __future__ import annotations

from collections import deque
from typing import TYPE_CHECKING, Any

from steepwell_sim.gardener.following import feed_told, water_told
from steepwell_sim.gardener.habits import BedSeen, Habit, Want, wants
from steepwell_sim.gardener.hands import do, water_bed, water_from_tap

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date, datetime

    from steepwell_sim.gardener.notes import Note
    from steepwell_sim.world.world import World

_DAYS_REMEMBERED = 3
_CONTAINERS = ("pot", "tray")

_ML_A_LITRE = 1000.0

Entry = dict[str, Any]
Plan = dict[str, Any]


class Gardener:
    """Somebody who waters by habit, or by the plan, and does what his notes say.

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
        self._plan: Plan | None = None
        self._rain_at_plan_mm = 0.0

    def hear(self, plan: Plan | None) -> None:
        """Take in the plan last posted; the gauge is read when it is a new one."""
        if plan is not None and (self._plan is None or plan["issued"] != self._plan["issued"]):
            self._plan, self._rain_at_plan_mm = plan, self._world.rain_mm

    def do_what_is_noted(self, now: datetime) -> list[Entry]:
        """Do what the notes say for the time up to ``now``; return their entries."""
        done = []
        while self._notes and self._notes[0].at <= now:
            note = self._notes.popleft()
            do(self._world, note.entry, now)
            done.append(note.entry)
        return done

    def water(self, now: datetime) -> list[Entry]:
        """Water in the evening, and feed if the plan says so; return what is to be noted."""
        local = now.astimezone(self._garden.garden.zone)
        self._rain_mm.append(self._world.rain_mm)
        wanted, feeds = self._meant(local)
        done: list[Entry] = []
        for want in wanted:
            if want.tap:
                water_from_tap(self._world, want.bed, want.litres)
                continue
            for butt, litres in water_bed(self._world, want.bed, want.litres, want.butt):
                if round(litres, 1) > 0:
                    told = {"bed": want.bed, "litres": round(litres, 1), "butt": butt}
                    done.append({"kind": "watered", "at": local.isoformat(), **told})
        watered = {entry["bed"] for entry in done}
        for feed in feeds:
            if feed["bed"] in watered:
                told = {name: feed[name] for name in ("bed", "vessel", "feed_ml", "cans")}
                self._world.vessels[feed["vessel"]].draw(feed["feed_ml"] / _ML_A_LITRE)
                done.append({"kind": "fed", "at": local.isoformat(), **told})
        return done

    def _meant(self, local: datetime) -> tuple[list[Want], list[Entry]]:
        """Return what is to be watered and fed this evening."""
        if self._habit == "follows":
            return self._told(local.date())
        meant = wants(
            self._habit,
            self._beds_seen(),
            weekday=local.weekday(),
            rain_mm=self._rain_mm[-1] - self._rain_mm[0],
            can_l=self._garden.can.size,
        )
        return meant, []

    def _told(self, today: date) -> tuple[list[Want], list[Entry]]:
        """Return what the plan says for this evening.

        Feed goes into a can of the bed's water; a bed that is not watered gets that can alone.
        """
        if self._plan is None:
            return [], []
        can_l = self._garden.can.size
        wanted = water_told(
            self._plan,
            today,
            rain_mm=self._world.rain_mm - self._rain_at_plan_mm,
            rained_on={bed.name for bed in self._garden.bed if bed.rained_on},
            can_l=can_l,
        )
        feeds = feed_told(self._plan, today)
        watered = {want.bed for want in wanted}
        alone = [feed for feed in feeds if feed["bed"] not in watered]
        return wanted + [Want(feed["bed"], feed["cans"] * can_l) for feed in alone], feeds

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
