"""The program's entry: its daemon at once, and all other commands from beside it."""

from __future__ import annotations

import argparse
import os
import sys
from typing import TYPE_CHECKING

from steepwell.answering import add_common, add_garden, answer_in_json
from steepwell.clock import WallClock
from steepwell.errors import SteepwellError
from steepwell.logs import begin_log

if TYPE_CHECKING:
    from collections.abc import Sequence

    from steepwell.garden.garden import Garden

_RUN = "look after the garden until stopped"


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command.

    Parameters
    ----------
    argv
        The words after the program's name; those of the process by default.

    Returns
    -------
    int
        0 fine, 1 what was asked for failed, 2 the command or the garden file is wrong.
    """
    words = sys.argv[1:] if argv is None else argv
    options = _parser(words).parse_args(words)
    begin_log()
    try:
        options.command(options)
    except SteepwellError as error:
        if options.debug:
            raise
        print(f"steepwell: {error}", file=sys.stderr)  # noqa: T201 - the command's voice
        return error.exit_code
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    return 0


def _parser(words: Sequence[str] = ()) -> argparse.ArgumentParser:
    """Return what reads these words; the daemon, which lives for years, loads no other command."""
    parser = argparse.ArgumentParser(
        prog="steepwell",
        description="Looks after the rainwater and the home-made feeds of a kitchen garden.",
    )
    parser.set_defaults(debug=False, units="metric")
    commands = parser.add_subparsers(title="commands", required=True, metavar="COMMAND")
    running = commands.add_parser("run", help=_RUN, description=_RUN)
    add_garden(running)
    add_common(running, _run)
    if [*words[:1]] != ["run"]:
        from steepwell.commands import add_commands  # noqa: PLC0415 - see above

        add_commands(commands)
    return parser


def _run(options: argparse.Namespace) -> None:
    from steepwell.running import run  # noqa: PLC0415 - the other commands start without it
    from steepwell.service import Service  # noqa: PLC0415 - the same

    def started(garden: Garden) -> None:
        if options.json:
            answer_in_json({"garden": garden.name, "running": True})

    run(options.garden, WallClock(), Service(), started)


if __name__ == "__main__":
    sys.exit(main())
