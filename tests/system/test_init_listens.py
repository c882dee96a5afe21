"""``steepwell init`` hears a real broker, and writes down the sensors that speak to it."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest

from steepwell.cli import main
from steepwell.garden.load import load_garden

if TYPE_CHECKING:
    from pathlib import Path

    from tests.servers import Mosquitto
    from tests.system.conftest import Publisher

pytestmark = pytest.mark.mosquitto


def test_sensors_that_are_heard_are_written_down(
    broker: Mosquitto, publisher: Publisher, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    publisher.say("yard/shade", '{"celsius": 14.5, "at": "2031-06-01T06:00:00Z"}', retain=True)
    publisher.say("yard/butt", '{"percent": 61}', retain=True)
    publisher.say("yard/echo", '{"distance": 31}', retain=True)
    file = tmp_path / "plot.toml"
    options = ("--broker", f"127.0.0.1:{broker.port}", "--listen", "2 s", "--json")
    assert main(["init", str(file), "--yes", *options]) == 0
    report = json.loads(capsys.readouterr().out)
    sensors = {sensor.topic: sensor for sensor in load_garden(file).sensor}
    # The butt has no shape, so a distance can be told only when somebody has filled it in.
    assert set(sensors) == {"yard/shade", "yard/butt"}
    assert sensors["yard/shade"].measures == "temperature"
    assert (report["to_fill_in"], len(report["sensors"])) == (1, 2)
    assert '# topic = "yard/echo"' in file.read_text(encoding="utf-8")


def test_without_a_broker_that_answers_the_rest_is_written(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "plot.toml"
    assert main(["init", str(file), "--yes", "--broker", "127.0.0.1:1", "--listen", "1 s"]) == 0
    assert "No sensors were written down" in capsys.readouterr().out
    assert load_garden(file).broker is not None
