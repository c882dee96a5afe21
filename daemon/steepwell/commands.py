"""All commands but the one that runs the daemon; what they do is done elsewhere."""

from __future__ import annotations

import sys
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from steepwell.answering import DEFAULT_GARDEN, add_common, add_garden, answer_with, garden_of
from steepwell.clock import WallClock
from steepwell.connecting import try_connections
from steepwell.errors import CommandError, SteepwellError
from steepwell.exporting import KINDS, export, export_screen
from steepwell.garden.quantity import DURATION, magnitude
from steepwell.importing import bring_in, import_screen
from steepwell.keeping import backup_report, restore_report
from steepwell.mirroring import send_again
from steepwell.note_arguments import NOTE_KINDS, add_note_arguments
from steepwell.noting import note
from steepwell.screens import check_report, check_screen, status_report, status_screen
from steepwell.screens_ahead import outlook_screen, plan_screen
from steepwell.screens_why import decisions_report, decisions_screen
from steepwell.screens_years import (
    score_report,
    score_screen,
    size_picture,
    size_report,
    size_screen,
)
from steepwell.setup.questions import OPTIONS
from steepwell.words.saying import say

if TYPE_CHECKING:
    import argparse

    from steepwell.garden.garden import Garden

_INIT = "ask for a new garden, and write its file"

Json = dict[str, Any]


_OPTIONS: dict[str, dict[str, Json]] = {
    "size": {"--picture": {"type": Path, "metavar": "FILE", "help": "draw it too, as a PNG"}},
    "status": {"--why": {"action": "store_true", "help": "who was told what, or why not"}},
    "check": {"--connect": {"action": "store_true", "help": "try broker, mail, mirror, page"}},
    "listen": {
        "--for": {"dest": "span", "default": "60 s", "metavar": "TIME", "help": "how long"},
        "--topic": {"default": "#", "metavar": "TOPIC", "help": "with wildcards, if any"},
    },
    "export": {
        "--of": {
            "nargs": "+",
            "choices": tuple(KINDS),
            "default": ["hours", "journal", "outlooks"],
            "help": "what: readings as they came, what each hour came to, the journal, outlooks",
        },
        "--from": {
            "dest": "first",
            "metavar": "DATE",
            "help": "the first day, else from the first",
        },
        "--to": {"dest": "last", "metavar": "DATE", "help": "the last day, else up to now"},
        "--as": {"dest": "form", "choices": ("csv", "jsonl"), "default": "csv", "help": "how"},
        "--into": {"type": Path, "metavar": "FOLDER", "help": "where, if not standard output"},
        "--schemas": {"action": "store_true", "help": "the JSON Schemas of what is posted instead"},
    },
    "import": {"--from": {"dest": "files", "nargs": "+", "required": True, "type": Path}},
    "calendar": {"--renew": {"action": "store_true", "help": "make another address instead"}},
    "page": {
        "--invite": {"action": "store_true", "help": "let one more in, by a QR code"},
        "--withdraw": {"type": int, "metavar": "NUMBER", "help": "one invitation"},
    },
    "backup": {"--to": {"type": Path, "metavar": "FOLDER", "help": "where, if not as usual"}},
    "restore": {
        "--from": {
            "type": Path,
            "dest": "backup",
            "metavar": "FILE",
            "help": "which; the newest good one if not said",
        }
    },
    "mirror": {"--from": {"required": True, "dest": "first", "metavar": "DATE"}},
}


def add_commands(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Have the program take them."""
    for name, command, told in (
        ("reload", _reload, "have the running daemon read the garden file anew"),
        ("check", _check, "read the garden file and say what is in it, or all its faults"),
        ("status", _status, "say how things stand"),
        ("outlook", _outlook, "work out the weeks ahead"),
        ("plan", _plan, "work out who gets water and feed this week"),
        ("size", _size, "work out what other butts, roofs and beds would do, by past years"),
        ("score", _score, "judge past outlooks by what came"),
        ("listen", _listen, "hear what the broker carries, and write sensor sections for it"),
        ("export", _export, "write readings, journal and outlooks for other programs"),
        ("import", _import, "take in readings and journal that were exported"),
        ("calendar", _calendar, "say where to subscribe to the calendar of jobs"),
        ("page", _page, "say where the page is, and who may see it from beyond this machine"),
        ("backup", _backup, "copy the store, in use or not, and check the copy"),
        ("restore", _restore, "put a backup in the place of the store, which is kept"),
        ("mirror", _mirror, "have the mirror sent again what it should have, from a day on"),
    ):
        sub = commands.add_parser(name, help=told, description=told)
        add_garden(sub)
        for option, settings in _OPTIONS.get(name, {}).items():
            sub.add_argument(option, **settings)
        if name == "plan":
            _season_arguments(sub)
        add_common(sub, command)
    _init_arguments(commands.add_parser("init", help=_INIT, description=_INIT))
    noting = commands.add_parser("note", help="write into the journal what was done or read off")
    kinds = noting.add_subparsers(title="what to note", required=True, metavar="KIND")
    for kind in NOTE_KINDS:
        told = say(f"hints.{kind}")
        sub = kinds.add_parser(kind, help=told, description=told)
        add_note_arguments(sub, kind)
        sub.add_argument("--garden", type=Path, default=DEFAULT_GARDEN, metavar="FILE")
        add_common(sub, _note)
        sub.set_defaults(kind=kind)


def _init_arguments(parser: argparse.ArgumentParser) -> None:
    add_garden(parser)
    parser.add_argument("--yes", action="store_true", help="take the defaults for all not said")
    for key, told in OPTIONS.items():
        parser.add_argument(f"--{key}", dest=f"init_{key}", metavar="ANSWER", help=told)
    add_common(parser, _init)


def _season_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--season", action="store_true", help="which vessel to fill when, for the year ahead"
    )
    parser.add_argument("--labels", type=Path, metavar="FILE", help="write labels to print, HTML")
    parser.add_argument(
        "--reserve", type=Path, metavar="FILE", help="draw the feed in hand over the year, as a PNG"
    )
    parser.add_argument(
        "--sheet", type=Path, metavar="FILE", help="write the watering on one page to print, HTML"
    )


def _reload(options: argparse.Namespace) -> None:
    from steepwell.standing_by import have_reloaded  # noqa: PLC0415 - one command needs it

    answer = {"changed": have_reloaded(options.garden)}
    answer_with(options, answer, lambda answer: str(answer["changed"]))


def _init(options: argparse.Namespace) -> None:
    from steepwell.setup.begin import begin, begin_screen  # noqa: PLC0415 - loads what asks

    said = {k.removeprefix("init_"): v for k, v in vars(options).items() if k.startswith("init_")}
    report = begin(
        options.garden,
        {key: value for key, value in said.items() if value is not None},
        WallClock(),
        answers=None if options.yes else sys.stdin,
        screen=sys.stderr if sys.stdin.isatty() else None,
    )
    answer_with(options, report, begin_screen)


def _check(options: argparse.Namespace) -> None:
    garden = garden_of(options)
    report = check_report(garden)
    if options.connect:
        report |= try_connections(garden, WallClock().now())
    answer_with(options, report, check_screen)
    failed = [f"{one['name']}: {one['said']}" for one in report.get("tried", ()) if not one["well"]]
    if failed:
        raise SteepwellError("\n".join(["not everything answers as it should", *failed]))


def _listen(options: argparse.Namespace) -> None:
    from steepwell.sense.listening import listen, listening_screen  # noqa: PLC0415 - loads paho

    garden = garden_of(options)
    try:
        seconds = 3600 * magnitude(options.span, DURATION)
    except ValueError as error:
        raise CommandError(f"--for {options.span!r}: {error}") from None

    def tell(topics: int, messages: int) -> None:
        if sys.stderr.isatty():
            print(f"\r{topics} topics, {messages} messages ", end="", file=sys.stderr, flush=True)  # noqa: T201 - the command's voice

    heard = listen(garden, WallClock(), seconds=seconds, topic=options.topic, tell=tell)
    answer_with(options, heard, listening_screen)


def _status(options: argparse.Namespace) -> None:
    garden = garden_of(options)
    now = WallClock().now()
    report = status_report(garden, now)
    if not options.why:
        answer_with(options, report, status_screen)
        return
    told = {**report, "decisions": decisions_report(garden, now)}
    answer_with(
        options, told, lambda told: "\n".join([status_screen(told), decisions_screen(told)])
    )


def _outlook(options: argparse.Namespace) -> None:
    garden = garden_of(options)
    answer = _worked_out(garden)
    if answer["outlook"] is None:
        raise SteepwellError(
            "there is no outlook without a weather record; name one under [weather_record]"
        )
    answer_with(options, answer["outlook"], outlook_screen)


def _plan(options: argparse.Namespace) -> None:
    garden = garden_of(options)
    of_year = options.season or options.labels or options.reserve
    if options.sheet is not None or not of_year:
        plan = _worked_out(garden)["plan"]
        if options.sheet is not None:
            from steepwell.tell.documents import Plan  # noqa: PLC0415 - only to print
            from steepwell.tell.going_away import sheet_page  # noqa: PLC0415 - the same

            _write(options.sheet, sheet_page(garden, Plan.model_validate(plan)).encode())
        if not of_year:
            answer_with(options, plan, plan_screen)
            return
    from steepwell.screens_feed import season_now, season_screen  # noqa: PLC0415 - loads NumPy

    season, labels = season_now(garden, WallClock().now())
    if options.labels is not None:
        _write(options.labels, labels.encode())
    if options.reserve is not None:
        from steepwell.tell.reserve_chart import reserve_png  # noqa: PLC0415 - loads matplotlib

        _write(options.reserve, reserve_png(season, options.units))
    answer_with(options, season, season_screen)


def _size(options: argparse.Namespace) -> None:
    garden = garden_of(options)
    answer = size_report(garden)
    if options.picture is not None:
        _write(options.picture, size_picture(answer, options.units))
    answer_with(options, answer, size_screen)


def _score(options: argparse.Namespace) -> None:
    garden = garden_of(options)
    answer_with(options, score_report(garden, WallClock().now()), score_screen)


def _export(options: argparse.Namespace) -> None:
    answer = export(garden_of(options), options, WallClock().now())
    if answer is not None:
        answer_with(options, answer, export_screen)


def _import(options: argparse.Namespace) -> None:
    answer_with(
        options, bring_in(garden_of(options), options.files, WallClock().now()), import_screen
    )


def _calendar(options: argparse.Namespace) -> None:
    from steepwell.page.calendar import (  # noqa: PLC0415 - loads the page
        calendar_report,
        calendar_screen,
    )

    garden = garden_of(options)
    answer_with(options, calendar_report(garden, renew=options.renew), calendar_screen)


def _page(options: argparse.Namespace) -> None:
    from steepwell.page.inviting import page_report, page_screen  # noqa: PLC0415 - loads Starlette

    garden, now = garden_of(options), WallClock().now()
    report = page_report(garden, now, invite=options.invite, withdraw=options.withdraw)
    answer_with(options, report, page_screen)


def _backup(options: argparse.Namespace) -> None:
    answer = backup_report(garden_of(options), options.to, WallClock().now())
    answer_with(options, answer, lambda answer: str(answer["changed"]))


def _restore(options: argparse.Namespace) -> None:
    answer = restore_report(garden_of(options), options.backup, WallClock().now())
    answer_with(options, answer, lambda answer: str(answer["changed"]))


def _mirror(options: argparse.Namespace) -> None:
    garden = garden_of(options)
    try:
        first = date.fromisoformat(options.first)
    except ValueError:
        raise CommandError(f'{options.first!r} is no date; write it like "2031-06-01"') from None
    answer = send_again(garden, first, WallClock().now())
    answer_with(options, answer, lambda answer: str(answer["changed"]))


def _write(path: Path, content: bytes) -> None:
    try:
        path.write_bytes(content)
    except OSError as error:
        raise CommandError(f"{path}: it cannot be written there ({error})") from None


def _note(options: argparse.Namespace) -> None:
    garden = garden_of(options)
    answer = note(garden, options, WallClock().now())
    answer_with(options, answer, lambda answer: str(answer["changed"]))


def _worked_out(garden: Garden) -> Json:
    from steepwell.worker import outlook_now  # noqa: PLC0415 - NumPy is slow to load

    return outlook_now(garden, WallClock().now())
