"""What the commands say of a broker that is there: who speaks, and how much it keeps."""

from __future__ import annotations

import json
import threading
from typing import TYPE_CHECKING

import pytest
from tests.servers import mosquitto
from tests.system.conftest import Publisher

from steepwell.cli import main
from steepwell.clock import WallClock
from steepwell.sense.listening import listen

if TYPE_CHECKING:
    from pathlib import Path

    from tests.servers import Mosquitto

    from steepwell.garden.garden import Garden

pytestmark = pytest.mark.mosquitto


def test_what_is_published_is_told(garden: Garden, broker: Mosquitto, publisher: Publisher) -> None:
    publisher.say("yard/old", "12.5 Cel", retain=True)
    has_begun = threading.Event()

    def speak() -> None:
        has_begun.wait(30)
        another = Publisher(broker.port)
        another.say("yard/pod", *(f'{{"temp": {14 + number / 10}}}' for number in range(5)))
        another.say("quince/shade", "15.0")
        another.close()

    speaking = threading.Thread(target=speak)
    speaking.start()
    report = listen(garden, WallClock(), seconds=3, topic="#", tell=lambda *_: has_begun.set())
    speaking.join()
    topics = {topic["topic"]: topic for topic in report["topics"]}
    assert list(topics) == ["quince/shade", "yard/old", "yard/pod"]
    assert topics["quince/shade"]["known_as"] == ["shade"]
    assert topics["yard/pod"]["messages"] == 5
    assert 'pointer = "/temp"' in topics["yard/pod"]["sections"][0]
    assert "nobody knows how old" in topics["yard/old"]["warnings"][0]


@pytest.mark.parametrize(
    ("settings", "keeps_all"),
    [({}, True), ({"max_queued_messages": "1000"}, False)],
    ids=["our settings", "the usual ones"],
)
def test_a_broker_that_would_drop_messages_is_told(
    garden_file: Path,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    settings: dict[str, str],
    *,
    keeps_all: bool,
) -> None:
    folder = tmp_path / "other"
    folder.mkdir()
    with mosquitto(folder, settings) as other:
        text = garden_file.read_text(encoding="utf-8").splitlines()
        ported = [f"port = {other.port}" if line.startswith("port") else line for line in text]
        garden_file.write_text("\n".join(ported), encoding="utf-8")
        assert main(["check", str(garden_file), "--connect", "--json"]) == 0
        told = json.loads(capsys.readouterr().out)["connection"]
        assert main(["check", str(garden_file), "--connect"]) == 0
    assert (told["kept"] == told["tried_with"]) is keeps_all
    remarks = " ".join(told["remarks"])
    assert ("max_queued_messages 60000" in remarks) is not keeps_all
    assert "answers (MQTT 5, not encrypted)" in capsys.readouterr().out


def test_a_broker_that_is_not_there_is_told(
    garden_file: Path, broker: Mosquitto, capsys: pytest.CaptureFixture[str]
) -> None:
    broker.stop()
    for command in (["check", "--connect"], ["listen"]):
        assert main([command[0], str(garden_file), *command[1:]]) == 1
        assert "cannot be reached" in capsys.readouterr().err
