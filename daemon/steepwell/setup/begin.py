"""The command ``steepwell init``: asks, listens, writes the garden file."""

from __future__ import annotations

import tomllib
from typing import TYPE_CHECKING, Any, TextIO

from steepwell.errors import BrokerError, CommandError, GardenFileError
from steepwell.garden.load import garden_from
from steepwell.garden.secrets import has_secret
from steepwell.garden.sensors import LevelSensor
from steepwell.screens import check_report
from steepwell.setup.garden_text import (
    ahead_text,
    broker_text,
    butt_name,
    commented,
    ground_text,
    page_text,
    post_text,
    quoted,
)
from steepwell.setup.interview import Interview
from steepwell.setup.questions import ask_ahead, ask_broker, ask_ground, ask_page, ask_post
from steepwell.words.figures import joined

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from steepwell.clock import Clock
    from steepwell.garden.garden import Garden
    from steepwell.setup.questions import Ground, Spoken

Json = dict[str, Any]


def begin(
    path: Path,
    given: Mapping[str, str],
    clock: Clock,
    *,
    answers: TextIO | None,
    screen: TextIO | None,
) -> Json:
    """Ask for a garden and write its file.

    Parameters
    ----------
    path
        The file to write; what is there already is never touched.
    given
        What options say, by key.
    clock
        Tells when messages of the broker arrive.
    answers
        Where answers are read from; None for the defaults.
    screen
        Where questions are shown, if somebody sees them.

    Returns
    -------
    dict
        ``file``, ``garden``, ``sensors`` (names), ``to_fill_in`` (sections), ``remarks``, ``next``.

    Raises
    ------
    CommandError
        If the file is there, or answers end or are wrong.
    """
    _refuse_to_overwrite(path)
    interview = Interview(given, answers, screen)
    ground = ask_ground(interview)
    spoken = ask_broker(interview)
    text, unfinished = ground_text(ground, path.parent.resolve()), 0
    remarks: list[str] = []
    if spoken is not None:
        text = f"{text}\n{broker_text(spoken)}"
        sections, remarks = _listened(text, path, spoken, clock, interview)
        for section in sections:
            whole = section.replace("of = " + quoted("..."), f"of = {_only(ground.butts_l)}")
            fits = _fits(f"{text}\n{whole}\n", path)
            text = f"{text}\n{whole if fits else commented(section)}\n"
            unfinished += not fits
    post = ask_post(interview)
    text += f"\n{post_text(post)}" if post is not None else ""
    text += f"\n{page_text(ask_page(interview))}"
    text += f"\n{ahead_text(ask_ahead(interview))}"
    garden = garden_from(tomllib.loads(text), text=text, path=path)
    _write(path, text)
    return {
        "file": str(path),
        "garden": garden.name,
        "holds": _holds(ground),
        "sensors": [sensor.name for sensor in garden.sensor],
        "to_fill_in": unfinished,
        "remarks": [*remarks, *check_report(garden)["remarks"]],
        "next": _next(path, garden),
    }


def _holds(ground: Ground) -> str:
    """Return what was understood, for who answered."""
    butts = joined([f"{litres:g}" for litres in ground.butts_l])
    length_m, depth_m = ground.roof_m
    roof = f"{ground.share:.0%} of {length_m * depth_m:g} m² of roof"
    return f"{butts} L of butts, {roof}, {ground.bed_m2:g} m² of bed"


def _refuse_to_overwrite(path: Path) -> None:
    if path.exists():
        raise CommandError(f"{path} is there already and stays as it is; name another file")
    if not path.parent.is_dir():
        raise CommandError(f"{path.parent} is no folder; make it first, or name another file")


def _write(path: Path, text: str) -> None:
    try:
        with path.open("x", encoding="utf-8") as file:
            file.write(text)
    except FileExistsError:
        _refuse_to_overwrite(path)
    except OSError as error:
        raise CommandError(f"{path}: it cannot be written there ({error})") from None


def _only(butts_l: tuple[float, ...]) -> str:
    """Return the butt a level is that of, where there is but one."""
    return quoted(butt_name(0, butts_l) if len(butts_l) == 1 else "...")


def _listened(
    text: str, path: Path, spoken: Spoken, clock: Clock, interview: Interview
) -> tuple[list[str], list[str]]:
    """Return a section for each number that sensors say, and remarks."""
    from steepwell.sense.listening import listen  # noqa: PLC0415 - loads paho

    garden = garden_from(tomllib.loads(text), text=text, path=path)
    interview.tell(f"Listening for {spoken.listen_s:g} s ...")
    try:
        heard = listen(
            garden, clock, seconds=spoken.listen_s, topic="#", tell=lambda _topics, _messages: None
        )
    except BrokerError as error:
        return [], [f"No sensors were written down: {error}. Later: steepwell listen {path}"]
    sections = [section for topic in heard["topics"] for section in topic["sections"]]
    if not sections:
        later = f"{heard['messages']} messages in {heard['heard_s']:g} s"
        return [], [f"No sensors were heard ({later}); later: steepwell listen {path}"]
    return sections, []


def _fits(text: str, path: Path) -> bool:
    """Return whether a section as it is guessed may stand, or somebody has to look at it."""
    try:
        garden = garden_from(tomllib.loads(text), text=text, path=path)
    except GardenFileError:
        return False
    last = garden.sensor[-1]
    return not isinstance(last, LevelSensor) or last.lid is None


def _next(path: Path, garden: Garden) -> list[str]:
    """Return what to do now, in order."""
    steps = []
    for part, named in ((garden.broker, "broker"), (garden.told.mail, "mail server")):
        file = None if part is None else part.password_file
        if file is not None and not has_secret(file, garden.folder):
            steps.append(
                f"Put the password for the {named} into {garden.path(file)}, readable only by you."
            )
    return [
        *steps,
        f"steepwell check {path} --connect" if garden.broker else f"steepwell check {path}",
        f"steepwell run {path}",
        *([f"steepwell page {path} --invite"] if garden.page is not None else []),
        f'steepwell note level-read {garden.butt[0].name} "half full" --garden {path}',
        f"steepwell outlook {path}",
    ]


def begin_screen(report: Json) -> str:
    """Return the answer of ``steepwell init``."""
    lines = ["", f"{report['file']} holds {report['garden']}: {report['holds']}."]
    if report["sensors"]:
        lines.append(f"Sensors, by what their names suggest: {', '.join(report['sensors'])}.")
    if report["to_fill_in"]:
        lines.append(
            f"Sensors that have to be filled in first, in the file: {report['to_fill_in']}."
        )
    return "\n".join([*lines, *report["remarks"], "Next:", *(f"  {s}" for s in report["next"])])
