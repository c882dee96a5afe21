"""Simple scores of a replay: how long the water lasted, what was lost, which notices came true."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, Any

from steepwell_sim.world.world import Account, World

if TYPE_CHECKING:
    from steepwell_sim.world.steep import Steep

SHORTFALL_WITHIN_D = 60
RUNNING_DRY_WITHIN_D = 3
_TOLD = ("raised", "changed", "reminded")


@dataclass(slots=True)
class Scores:
    """What is counted while a replay runs.

    Attributes
    ----------
    dry_days
        Days that ended with less above the taps than a can or 2 % of capacity.
    season
        Litres of the whole replay.
    notices
        Every notice event, as the daemon gave it.
    """

    dry_days: list[date] = field(default_factory=list)
    season: Account = field(default_factory=Account)
    notices: list[dict[str, Any]] = field(default_factory=list)

    def end_day(self, day: date, world: World) -> None:
        """Count a day that has ended."""
        self.season.add(world.today)
        if world.dry:
            self.dry_days.append(day)

    def summary(self, world: World, last: date) -> dict[str, Any]:
        """Return the scores, ready for JSON.

        Parameters
        ----------
        world
            The true garden at the end.
        last
            The last day replayed.
        """
        return {
            "first_dry_day": self.dry_days[0].isoformat() if self.dry_days else None,
            "days_dry": len(self.dry_days),
            "wanted_l": round(self.season.wanted_l, 1),
            "given_l": round(self.season.given_l, 1),
            "caught_l": round(self.season.caught_l, 1),
            "spilled_l": round(self.season.spilled_l, 1),
            "bought_l": round(self.season.tap_l, 1),
            "weighted_loss": round(world.weighted_loss(), 6),
            "beds": {
                name: {"loss": round(bed.loss_of_all, 6), "weight": round(world.weights[name], 6)}
                for name, bed in world.beds.items()
            },
            "notices": [self._judged(event, world, last) for event in self.notices],
        }

    def _judged(self, event: dict[str, Any], world: World, last: date) -> dict[str, Any]:
        """Return what was told when, and whether it came true (None: not to be said)."""
        at = datetime.fromisoformat(event["at"]).astimezone(world.garden.garden.zone)
        told = {
            "id": event["id"],
            "event": event["event"],
            "date": at.date().isoformat(),
            "at": at.isoformat(),
            "came_true": None,
        }
        if event["event"] not in _TOLD:
            return told
        match event["kind"]:
            case "shortfall-ahead":
                told["came_true"] = self._dry_within(at.date(), SHORTFALL_WITHIN_D, last)
            case "running-dry":
                told["came_true"] = self._dry_within(at.date(), RUNNING_DRY_WITHIN_D, last)
            case "vessel-ready":
                told |= _judge_ready(world, event["subject"], at)
            case "sensor-silent":
                told["came_true"] = False
        return told

    def _dry_within(self, day: date, days: int, last: date) -> bool | None:
        until = day + timedelta(days=days)
        if any(day <= dry <= until for dry in self.dry_days):
            return True
        return False if until <= last else None


def _judge_ready(world: World, vessel: str, at: datetime) -> dict[str, Any]:
    steep = _steep_at(world, vessel, at)
    if steep is None or steep.ready_at is None:
        return {"came_true": False, "error_d": None}
    error_d = (at - steep.ready_at).total_seconds() / 86_400
    return {"came_true": True, "error_d": round(error_d, 3)}


def _steep_at(world: World, vessel: str, at: datetime) -> Steep | None:
    """Return the steep that was in a vessel at a moment, the last one started before."""
    held = world.vessels[vessel]
    steeps = [*held.past, *([held.steep] if held.steep is not None else [])]
    return next((steep for steep in reversed(steeps) if steep.started <= at), None)
