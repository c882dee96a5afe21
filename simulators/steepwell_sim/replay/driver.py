"""Goes through a season hour by hour: weather, devices, the real daemon, the gardener."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable
from contextlib import ExitStack, closing
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

from steepwell.app import Daemon
from steepwell.clock import ReplayClock
from steepwell.errors import BrokerError, CommandError
from steepwell.garden.load import load_garden
from steepwell_sim.broker import run_broker
from steepwell_sim.devices.fault_script import read_script
from steepwell_sim.devices.faults import Faults
from steepwell_sim.devices.fleet import Fleet
from steepwell_sim.devices.hub import Hub
from steepwell_sim.devices.timing import live_through
from steepwell_sim.gardener.gardener import Gardener
from steepwell_sim.gardener.notes import EVENING, read_notes, usual_notes
from steepwell_sim.gardener.voice import Voice
from steepwell_sim.network import Network
from steepwell_sim.replay.options import (
    Options,
    check,
    record_for_daemon,
    replayed_garden,
)
from steepwell_sim.replay.results import Results
from steepwell_sim.replay.scores import Scores
from steepwell_sim.start import world_on
from steepwell_sim.weather.hours import Hour, hours_of_day, local_midnight
from steepwell_sim.weather.record import Record, read_record, refuse_gaps
from steepwell_sim.world.parameters import draw_parameters
from steepwell_sim.world.world import World

if TYPE_CHECKING:
    from steepwell.garden.garden import Garden
    from steepwell_sim.devices.fault_script import Fault

CONNECTED_WITHIN_S = 20.0
SETTLED_WITHIN_S = 60.0

Progress = Callable[[date, World], None]


def replay(options: Options, progress: Progress) -> dict[str, Any]:
    """Replay a season.

    Parameters
    ----------
    options
        What is asked.
    progress
        Called at the end of every day.

    Returns
    -------
    dict
        The summary, also written to ``summary.json``.

    Raises
    ------
    SteepwellError
        If something given cannot be used, or broker or daemon fail.
    """
    check(options)
    declared = load_garden(options.garden)
    weather = read_record(options.weather)
    refuse_gaps(weather, options.first, options.last)
    notes = (
        usual_notes(declared, options.first, options.last)
        if options.journal is None
        else read_notes(options.journal, declared)
    )
    start = local_midnight(options.first, declared.garden.zone)
    faults = Faults(_script(options, declared), declared, start, options.seed)
    with ExitStack() as running:
        results = running.enter_context(closing(Results(options.out)))
        record = record_for_daemon(options, weather)
        scratch = tempfile.TemporaryDirectory(prefix="steepwell-", dir=_memory())
        folder = Path(running.enter_context(scratch))
        broker = running.enter_context(run_broker())
        garden = replayed_garden(declared, options.place, broker, folder / "replay.db", record)
        world = world_on(garden, weather, options.first, last=options.last, seed=options.seed)
        results.whole("world", _true_garden(options, garden, world))
        clock = ReplayClock(start)
        daemon = _started(running, garden, clock, options, results.mail_folder)
        fleet = Fleet(garden, world, options.seed, faults)
        network = Network(broker.host, broker.port)
        season = _Season(
            options=options,
            garden=garden,
            weather=weather,
            world=world,
            clock=clock,
            daemon=daemon,
            fleet=fleet,
            faults=faults,
            hub=running.enter_context(Hub(broker.host, broker.port, fleet.client_ids)),
            gardener=Gardener(world, habit=options.habit, notes=notes),
            voice=Voice(garden.name, network.add(f"sim-{garden.name}-gardener")),
            results=results,
        )
        with network:
            season.run(progress)
        summary = season.summary()
        results.whole("summary", summary)
        return summary


def _script(options: Options, garden: Garden) -> list[Fault]:
    """Return what goes wrong in a replay."""
    faults = [] if options.faults is None else read_script(options.faults, garden)
    if any(fault.kind == "reconnect" for fault in faults):
        raise CommandError(
            "In a replay no device loses its connection; take 'reconnect' out of the script."
        )
    return faults


def _memory() -> Path | None:
    """Return a folder in memory, if there is one: a replay need not wait for a disk."""
    memory = Path("/dev/shm")  # noqa: S108 - a fresh folder with a name of its own is made in it
    return memory if os.access(memory, os.W_OK) else None


def _started(
    running: ExitStack, garden: Garden, clock: ReplayClock, options: Options, mail_folder: Path
) -> Daemon:
    """Return the real daemon, listening."""
    daemon = Daemon(
        garden,
        clock,
        seed=options.seed,
        mail_folder=mail_folder,
        warm_worker=True,
        outlook_every_days=options.outlook_every_days,
    )
    running.callback(daemon.stop)
    daemon.start()
    if not daemon.wait_connected(CONNECTED_WITHIN_S):
        raise BrokerError(
            f"The daemon has not reached the broker within {CONNECTED_WITHIN_S:.0f} s; try again."
        )
    return daemon


@dataclass(slots=True)
class _Season:
    """Everything that takes part in a replay."""

    options: Options
    garden: Garden
    weather: Record
    world: World
    clock: ReplayClock
    daemon: Daemon
    fleet: Fleet
    faults: Faults
    hub: Hub
    gardener: Gardener
    voice: Voice
    results: Results
    scores: Scores = field(default_factory=Scores)

    def run(self, progress: Progress) -> None:
        """Go through all days."""
        day = self.options.first
        self._report(local_midnight(day, self.garden.garden.zone))
        while day <= self.options.last:
            hours = hours_of_day(self.weather, day, self.garden.garden, self.options.seed)
            self.world.begin_day(hours[0].start)
            for hour in hours:
                self._pass_hour(hour)
            self.results.line("truth", {"date": day.isoformat(), **self.world.truth(hours[-1].end)})
            self.scores.end_day(day, self.world)
            progress(day, self.world)
            day += timedelta(days=1)

    def summary(self) -> dict[str, Any]:
        """Return what was asked and how it went."""
        return {
            "garden": self.garden.name,
            "from": self.options.first.isoformat(),
            "to": self.options.last.isoformat(),
            "gardener": self.options.habit,
            "seed": self.options.seed,
            **self.scores.summary(self.world, self.options.last),
        }

    def _pass_hour(self, hour: Hour) -> None:
        zone = self.garden.garden.zone
        self.faults.befall(self.world, hour.start)
        for moment in live_through(self.world, hour, self.options.every_minutes, zone):
            self._report(moment)
        self.clock.set(hour.end)
        self._let_daemon_work()
        self.gardener.hear(self.voice.plan)
        local = hour.end.astimezone(zone)
        done = self.gardener.do_what_is_noted(hour.end)
        if local.time() == EVENING:
            done += self.gardener.water(hour.end)
        self._await(lambda: self.voice.say(done), len(done), hour.end)

    def _report(self, now: datetime) -> None:
        self.clock.set(now)
        messages = self.fleet.messages(now)
        self._await(lambda: self.hub.send(messages), len(messages), now)

    def _await(self, speak: Callable[[], None], said: int, now: datetime) -> None:
        """Let somebody speak and wait until the daemon has stored what was said."""
        before = self.daemon.settled()
        speak()
        if said and not self.daemon.wait_settled(before + said, SETTLED_WITHIN_S):
            raise BrokerError(
                f"The daemon has not stored the messages of {now:%Y-%m-%d %H:%M} within "
                f"{SETTLED_WITHIN_S:.0f} s; try again on a machine with less to do."
            )

    def _await_plan(self, issued: str) -> None:
        """Wait until the gardener has heard a plan, so that nothing depends on how fast it came."""
        if not self.voice.wait_for_plan(issued, SETTLED_WITHIN_S):
            raise BrokerError(
                f"The plan of {issued} has not been posted within {SETTLED_WITHIN_S:.0f} s; "
                "try again on a machine with less to do."
            )

    def _let_daemon_work(self) -> None:
        for done in self.daemon.run_due():
            if done.outlook is not None:
                self.results.line("outlooks", done.outlook)
            if done.plan is not None:
                self.results.line("plans", done.plan)
                self._await_plan(done.plan["issued"])
            for notice in done.notices:
                self.results.line("notices", notice)
                self.scores.notices.append(notice)


def _true_garden(options: Options, garden: Garden, world: World) -> dict[str, Any]:
    return {
        "garden": garden.name,
        "seed": options.seed,
        "factors": draw_parameters(garden, options.seed).to_json(),
        "butts": {
            name: {"capacity_l": round(butt.capacity_l, 3), "dead_l": round(butt.dead_l, 3)}
            for name, butt in world.rainwater.butts.items()
        },
        "vessels": {
            name: {"lag_h": round(vessel.lag_h, 3)} for name, vessel in world.vessels.items()
        },
        "weights": {name: round(weight, 6) for name, weight in world.weights.items()},
    }
