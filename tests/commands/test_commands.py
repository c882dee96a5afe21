"""The commands as a person gives them: what they print, and with which exit code they end."""

from __future__ import annotations

import json
import subprocess
import sys
from datetime import timedelta
from typing import TYPE_CHECKING

import pytest
from tests.commands.answers import GARDEN
from tests.gardens import put_readings

from steepwell.cli import main
from steepwell.clock import WallClock
from steepwell.errors import StoreError
from steepwell.garden.load import load_garden
from steepwell.sense.forecasts import take_forecast
from steepwell.store.store import garden_store_url, open_store
from steepwell.tell import documents
from steepwell.words.figures import moment

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from tests.commands.answers import Command

# What the installed command does.
STEEPWELL = (sys.executable, "-c", "import sys; from steepwell.cli import main; sys.exit(main())")
WEATHER = '[weather_record]\ndaily = "weather.csv"\n'


def ago(days: float) -> str:
    return (WallClock().now() - timedelta(days=days)).isoformat(timespec="seconds")


# --- check ----------------------------------------------------------------------------------------


def test_check_tells_what_is_in_the_garden(garden: Path, steepwell: Command) -> None:
    answer = steepwell("check", str(garden))
    assert (answer.code, answer.err) == (0, "")
    lines = answer.out.splitlines()
    assert lines[0] == "plum-lane: no faults."
    assert lines[1] == "1 roof, 1 butt, 2 vessels, 1 bed, 1 sensor; 200 L of butts."
    assert '  can.size = "9 L"' in lines


def test_check_looks_for_the_garden_file_here(garden: Path, steepwell: Command) -> None:
    assert garden.name == "garden.toml"
    answer = steepwell("check", "--json")
    assert answer.code == 0
    assert answer.json["counts"] == {"roof": 1, "butt": 1, "vessel": 2, "bed": 1, "sensor": 1}
    assert answer.json["defaults"]["bed[1].soil"] == '"loam"'


def test_check_lists_every_fault_with_its_line(garden: Path, steepwell: Command) -> None:
    text = GARDEN.replace('"200 L"', '"200 gallon"').replace('into = "north"', 'into = "nort"')
    garden.write_text(text.replace("[[bed]]\nname", "[[bed]]\nsize"), encoding="utf-8")
    answer = steepwell("check", str(garden))
    assert (answer.code, answer.out) == (2, "")
    assert f"{garden}: " in answer.err
    for line, words in (
        (13, ("roof[1].into", "'nort'", "north")),
        (17, ("butt[1].litres", "gallon", "imperial", "us_gallon")),
        (28, ("bed[1].name", "needed")),
        (29, ("bed[1].size",)),
    ):
        told = next(told for told in answer.err.splitlines() if f"line {line}:" in told)
        assert all(word in told for word in words), told


def test_a_garden_file_that_is_not_there_is_named(tmp_path: Path, steepwell: Command) -> None:
    answer = steepwell("check", str(tmp_path / "no.toml"))
    assert answer.code == 2
    assert answer.err.startswith("steepwell: ")
    assert "no.toml" in answer.err


# --- status ---------------------------------------------------------------------------------------


def test_status_before_anything_was_kept(garden: Path, steepwell: Command) -> None:
    answer = steepwell("status", str(garden))
    assert (answer.code, answer.out) == (1, "")
    assert "there is no store" in answer.err
    assert "start the daemon" in answer.err


def test_status_tells_of_sensors_and_mail(garden: Path, steepwell: Command) -> None:
    steepwell("note", "level-read", "north", "half")
    answer = steepwell("status", str(garden))
    assert answer.code == 0
    assert "no outlook yet: the daemon makes one each day at 06:30" in answer.out
    assert "  gauge: never heard" in answer.out
    assert "Mails waiting: 0; messages refused: 0." in answer.out
    report = steepwell("status", str(garden), "--json").json
    assert set(report) == {
        *("garden", "now", "outlook", "sensors", "notices", "mail_waiting", "refused"),
        *("refused_last", "forecast", "mirror", "passed_over", "health", "store", "outlook_due"),
    }
    assert report["outlook"] is None
    assert report["sensors"][0]["flag"] == 9


def test_status_tells_what_a_sensor_read_last(garden: Path, steepwell: Command) -> None:
    declared, now = load_garden(garden), WallClock().now()
    with open_store(garden_store_url(declared), declared) as store:
        put_readings(store, "gauge", {now - timedelta(seconds=2): 7.0, now: 9.4})
    when = moment(now.astimezone(declared.garden.zone))
    assert f"  gauge: 2.4 mm today, {when}" in steepwell("status", str(garden)).out


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("roof[1].wetting_loss", '"0.3 mm"'),
        ("roof[1].first_flush_after", '"24 h"'),
        ("can.size", '"9 L"'),
        ("garden.wind", '"2 m/s"'),
        ("told.attach_calendar", "false"),
        ("bed[1].priority", "1"),
    ],
)
def test_what_is_taken_by_default_is_told_as_it_would_be_written(
    garden: Path, steepwell: Command, key: str, value: str
) -> None:
    assert f"  {key} = {value}\n" in steepwell("check", str(garden)).out


# --- outlook and plan -----------------------------------------------------------------------------


def test_status_tells_which_forecast_was_heard_last(garden: Path, steepwell: Command) -> None:
    section = 'topic = "hill/days"\ndate = "/day"\nrain = "/mm"\ntmin = "/low"\ntmax = "/high"\n'
    text = garden.read_text(encoding="utf-8") + f"\n[forecast]\n{section}"
    garden.write_text(text, encoding="utf-8")
    declared = load_garden(garden)
    said = b'{"day": ["2999-06-01", "2999-06-02"], "mm": [1, 2], "low": [9, 9], "high": [20, 20]}'
    with open_store(garden_store_url(declared), declared) as store:
        take_forecast(declared, store, said, where="hill/days", now=WallClock().now())
    answer = steepwell("status", str(garden))
    assert answer.code == 0
    assert ", for 2999-06-01 to 2999-06-02" in answer.out


def test_outlook_prints_a_line_a_week(garden: Path, steepwell: Command) -> None:
    steepwell("note", "level-read", "north", "150 L")
    steepwell("note", "steep-started", "nettle", "nettle", "--at", ago(3))
    answer = steepwell("outlook", str(garden))
    assert (answer.code, answer.err) == (0, "")
    lines = answer.out.splitlines()
    assert lines[0] == "plum-lane: water in the weeks ahead, of 200 L"
    assert lines[1].split() == ["day", "low", "middle", "high", "chance", "of", "dry"]
    weeks = [line for line in lines if line.endswith("%")]
    assert len(weeks) == 18  # 120 days
    assert any("nettle" in line and "ready" in line for line in lines)
    assert any("leek" in line and "empty" in line for line in lines)


def test_outlook_in_json_is_the_document(garden: Path, steepwell: Command) -> None:
    steepwell("note", "level-read", "north", "150 L")
    answer = steepwell("outlook", str(garden), "--json")
    outlook = documents.Outlook.model_validate(answer.json)
    assert outlook.garden == "plum-lane"
    assert outlook.butts[0].now_l == 150.0
    assert len(outlook.days) == 120


def test_plan_says_what_to_do(garden: Path, steepwell: Command) -> None:
    steepwell("note", "level-read", "north", "full")
    answer = steepwell("plan", str(garden))
    assert (answer.code, answer.err) == (0, "")
    assert "190 L above the taps" in answer.out.splitlines()[0]
    plan = documents.Plan.model_validate(steepwell("plan", str(garden), "--json").json)
    assert plan.in_hand_l == 190
    assert len(plan.week) == 2


def test_a_garden_without_a_weather_record_has_a_plan_and_no_outlook(
    garden: Path, steepwell: Command
) -> None:
    garden.write_text(GARDEN.replace(WEATHER, ""), encoding="utf-8")
    steepwell("note", "steep-started", "nettle", "nettle", "--at", ago(90))
    outlook = steepwell("outlook")
    assert (outlook.code, outlook.out) == (1, "")
    assert "no outlook without a weather record" in outlook.err
    plan = steepwell("plan", "--json")
    assert plan.code == 0
    assert plan.json["lasts_to"] is None


def _too_short(text: str) -> str:
    return "\n".join(text.splitlines()[: 5 * 365])


def _with_a_fault(text: str) -> str:
    lines = text.splitlines()
    lines[2] = lines[2].replace("2010-01-02,", "2010-01-02,-")
    return "\n".join(lines)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (_too_short, ("years with 120 unbroken days", "needs 10 or more")),
        (_with_a_fault, ("weather.csv: line 3:", "rain of -", "0 or more")),
        (lambda _: "", ("weather.csv: line 1: no column date",)),
    ],
)
def test_a_record_that_cannot_be_used_is_told(
    garden: Path,
    weather: str,
    steepwell: Command,
    change: Callable[[str], str],
    words: Sequence[str],
) -> None:
    (garden.parent / "weather.csv").write_text(change(weather), encoding="utf-8")
    for command in ("outlook", "plan"):
        answer = steepwell(command)
        assert (answer.code, answer.out) == (2, "")
        assert all(word in answer.err for word in words), answer.err


# --- The command line itself ----------------------------------------------------------------------


@pytest.mark.parametrize(
    "words", [(), ("water",), ("note",), ("note", "rained"), ("note", "rain-read"), ("check", "-x")]
)
def test_a_command_that_is_none_is_refused(
    capsys: pytest.CaptureFixture[str], words: tuple[str, ...]
) -> None:
    with pytest.raises(SystemExit) as ended:
        main(words)
    assert ended.value.code == 2
    assert "usage: steepwell" in capsys.readouterr().err


def test_a_store_that_is_none_is_told(garden: Path, steepwell: Command) -> None:
    (garden.parent / "steepwell.db").write_text("This is a shopping list.", encoding="utf-8")
    for command in ("status", "plan"):
        answer = steepwell(command)
        assert (answer.code, answer.out) == (1, "")
        assert "steepwell.db cannot be opened" in answer.err


def run(*words: str, folder: Path) -> subprocess.CompletedProcess[str]:
    command = [*STEEPWELL, *words]
    return subprocess.run(
        command, cwd=folder, check=False, capture_output=True, text=True, timeout=60
    )


def test_the_daemon_goes_without_what_only_others_need() -> None:
    heavy = {"numpy", "scipy", "matplotlib", "influxdb_client", "apprise", "steepwell.commands"}
    asked = f"""
import sys, steepwell.cli, steepwell.app
steepwell.cli._parser(["run"])
print({heavy!r} & {{*sys.modules}})
"""
    answer = subprocess.run([sys.executable, "-c", asked], check=True, capture_output=True)
    assert answer.stdout.strip() == b"set()"


def test_as_a_process_of_its_own(garden: Path) -> None:
    noted = run("note", "level-read", "north", "150 L", "--json", folder=garden.parent)
    assert (noted.returncode, noted.stderr) == (0, "")
    assert json.loads(noted.stdout)["entry"]["litres"] == 150.0
    refused = run("note", "level-read", "nort", "150 L", folder=garden.parent)
    assert (refused.returncode, refused.stdout) == (1, "")
    assert refused.stderr.startswith("steepwell: there is no butt 'nort'")
    garden.write_text("[garden\n", encoding="utf-8")
    wrong = run("check", folder=garden.parent)
    assert (wrong.returncode, wrong.stdout) == (2, "")
    assert "line 1" in wrong.stderr
    assert "Traceback" not in wrong.stderr


def test_a_reader_that_has_seen_enough_is_no_trouble(garden: Path) -> None:
    command = [*STEEPWELL, "check", str(garden)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.close()
        told = process.stderr.read()
    assert (process.returncode, told) == (0, b"")


def test_debug_shows_where_an_error_came_from(garden: Path) -> None:
    with pytest.raises(StoreError, match="there is no store"):
        main(["status", str(garden), "--debug"])


def test_run_looks_after_the_garden_until_it_is_stopped(garden: Path) -> None:
    command = [*STEEPWELL, "run", str(garden), "--json"]
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    ) as process:
        assert process.stdout is not None
        assert json.loads(process.stdout.readline()) == {"garden": "plum-lane", "running": True}
        process.terminate()
        rest, told = process.communicate(timeout=60)
    assert (process.returncode, rest) == (0, "")
    # Whoever reads the journal of the machine finds what Steepwell says, not how it is made.
    assert "looking after plum-lane" in told
    assert not any(name in told for name in ("alembic", "Context impl", "Job ", "Scheduler"))
