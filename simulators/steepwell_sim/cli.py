"""The command ``steepwell-sim``: simulated devices, and the replay of a season."""

from __future__ import annotations

import argparse
import signal
import sys
import threading
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, get_args

from steepwell.clock import WallClock
from steepwell.errors import SteepwellError
from steepwell.garden.load import load_garden
from steepwell_sim.devices.fault_script import read_script
from steepwell_sim.devices.timing import check_interval
from steepwell_sim.gardener.habits import Habit
from steepwell_sim.live import moved_to, run_devices
from steepwell_sim.replay.driver import replay
from steepwell_sim.replay.options import Options, Place
from steepwell_sim.weather.invent import invent_years
from steepwell_sim.weather.record import read_record

if TYPE_CHECKING:
    from collections.abc import Sequence

    from steepwell_sim.world.world import World

_DEFAULT_PORT = 1883


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command and return its exit code.

    Parameters
    ----------
    argv
        Arguments without the command's name; None for those it was started with.

    Returns
    -------
    int
        0 fine, 1 what was asked for failed, 2 the command or a file given is wrong.
    """
    arguments = _parser().parse_args(argv)
    try:
        return int(arguments.run(arguments))
    except SteepwellError as error:
        if arguments.debug:
            raise
        sys.stderr.write(f"{error}\n")
        return error.exit_code
    except KeyboardInterrupt:
        sys.stderr.write("Ended before it was done.\n")
        return 1


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="steepwell-sim", description="A simulated garden: hardware, weather and a gardener."
    )
    parser.add_argument("--debug", action="store_true", help="show where an error comes from")
    commands = parser.add_subparsers(required=True, metavar="COMMAND")
    _add_devices(commands.add_parser("devices", help="simulated hardware against any broker"))
    _add_replay(commands.add_parser("replay", help="a season with the real daemon"))
    return parser


def _add_common(command: argparse.ArgumentParser) -> None:
    command.add_argument("garden", type=Path, metavar="GARDEN", help="the garden file")
    command.add_argument("--seed", type=int, default=1, help="equal seeds, equal gardens")
    command.add_argument(
        "--every", type=int, default=60, metavar="MINUTES", help="how often devices report"
    )


def _add_faults(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "--faults", type=Path, metavar="FILE", help="what goes wrong, and when; TOML"
    )


def _add_devices(command: argparse.ArgumentParser) -> None:
    _add_common(command)
    command.add_argument(
        "--broker", type=_address, required=True, metavar="HOST:PORT", help="where they report to"
    )
    command.add_argument(
        "--weather", type=Path, metavar="FILE", help="daily weather; without it, it is invented"
    )
    command.add_argument(
        "--speed", type=_speed, default=1.0, metavar="TIMES", help="run faster than the clock"
    )
    _add_faults(command)
    command.set_defaults(run=_run_devices)


def _add_replay(command: argparse.ArgumentParser) -> None:
    _add_common(command)
    command.add_argument(
        "--weather", type=Path, required=True, metavar="FILE", help="daily weather to go through"
    )
    command.add_argument(
        "--from", type=_day, required=True, dest="first", metavar="DATE", help="first day"
    )
    command.add_argument(
        "--to", type=_day, required=True, dest="last", metavar="DATE", help="last day"
    )
    command.add_argument(
        "--out", type=Path, required=True, metavar="DIR", help="folder for what comes of it"
    )
    command.add_argument(
        "--gardener", choices=get_args(Habit), default="weekly", help="how beds are watered"
    )
    command.add_argument(
        "--journal", type=Path, metavar="FILE", help="what is done beside watering, as JSON lines"
    )
    command.add_argument(
        "--outlook-every", type=int, default=1, metavar="DAYS", help="how often to look ahead"
    )
    command.add_argument(
        "--record", type=Path, metavar="FILE", help="the weather record the daemon knows"
    )
    _add_faults(command)
    command.add_argument(
        "--site",
        type=_place,
        metavar="LAT,LON,ELEVATION",
        help="where the garden is instead (with = if the latitude is below 0)",
    )
    command.set_defaults(run=_run_replay)


def _address(text: str) -> tuple[str, int]:
    host, _, port = text.rpartition(":")
    if not host:
        return text, _DEFAULT_PORT
    if not port.isdecimal():
        raise argparse.ArgumentTypeError(f"{text!r} is no HOST:PORT, for instance 127.0.0.1:1883")
    return host, int(port)


def _speed(text: str) -> float:
    speed = float(text)
    if not 0 < speed < float("inf"):
        raise argparse.ArgumentTypeError("a speed is a number above 0")
    return speed


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"{text!r} is no date like 1976-06-01") from None


def _place(text: str) -> Place:
    try:
        latitude, longitude, elevation_m = (float(part) for part in text.split(","))
    except ValueError:
        raise argparse.ArgumentTypeError(
            f"{text!r} is no latitude, longitude and metres, for instance 50.8,4.35,100"
        ) from None
    if abs(latitude) > 90 or abs(longitude) > 180:  # noqa: PLR2004 - degrees of the globe
        raise argparse.ArgumentTypeError(f"{text!r} is no place on the globe")
    return Place(latitude, longitude, elevation_m)


def _run_devices(arguments: argparse.Namespace) -> int:
    check_interval(arguments.every)
    garden = load_garden(arguments.garden)
    faults = [] if arguments.faults is None else read_script(arguments.faults, garden)
    start = WallClock().now()
    today = start.astimezone(garden.garden.zone).date()
    if arguments.weather is None:
        weather = invent_years(today.year - 1, today.year + 1, arguments.seed, dry_summer=True)
    else:
        weather = moved_to(read_record(arguments.weather), today)
    ended = threading.Event()
    signal.signal(signal.SIGTERM, lambda _number, _frame: ended.set())
    signal.signal(signal.SIGINT, lambda _number, _frame: ended.set())

    def told(moment: datetime, messages: int) -> None:
        local = moment.astimezone(garden.garden.zone)
        _show_progress(f"{local:%Y-%m-%d %H:%M}  {messages} messages")

    host, port = arguments.broker
    run_devices(
        garden,
        weather,
        host=host,
        port=port,
        start=start,
        speed=arguments.speed,
        every_minutes=arguments.every,
        seed=arguments.seed,
        faults=faults,
        ended=ended,
        told=told,
    )
    _end_progress()
    return 0


def _run_replay(arguments: argparse.Namespace) -> int:
    options = Options(
        garden=arguments.garden,
        weather=arguments.weather,
        first=arguments.first,
        last=arguments.last,
        out=arguments.out,
        habit=arguments.gardener,
        journal=arguments.journal,
        seed=arguments.seed,
        outlook_every_days=arguments.outlook_every,
        every_minutes=arguments.every,
        record=arguments.record,
        place=arguments.site,
        faults=arguments.faults,
    )
    total = (options.last - options.first).days + 1
    # Else the broker and the devices, which are processes of their own, would outlive it.
    signal.signal(signal.SIGTERM, signal.default_int_handler)

    def progress(day: date, world: World) -> None:
        done = (day - options.first).days + 1
        _show_progress(f"{day}  {done} of {total} days  {world.rainwater.above_taps_l():.0f} L")

    try:
        summary = replay(options, progress)
    finally:
        _end_progress()
    sys.stdout.write(_in_words(summary, options.out))
    return 0


def _in_words(summary: dict[str, Any], out: Path) -> str:
    dry = summary["first_dry_day"]
    told = sum(notice["event"] == "raised" for notice in summary["notices"])
    return (
        f"{f'The butts ran dry first on {dry}' if dry else 'The butts never ran dry'}; "
        f"{summary['days_dry']} days ended dry.\n"
        f"{summary['given_l']:.0f} L given of {summary['wanted_l']:.0f} wanted, "
        f"{summary['spilled_l']:.0f} spilled, {summary['bought_l']:.0f} from the tap; "
        f"weighted loss {summary['weighted_loss']:.1%}; {told} notices.\n"
        f"What came of it is in {out}.\n"
    )


def _show_progress(text: str) -> None:
    if sys.stderr.isatty():
        sys.stderr.write(f"\r{text}\033[K")
        sys.stderr.flush()


def _end_progress() -> None:
    if sys.stderr.isatty():
        sys.stderr.write("\n")
