"""The shipped settings for a broker on the network: encrypted, passwords, topics of one's own."""

from __future__ import annotations

import shutil
import subprocess
from contextlib import contextmanager
from typing import TYPE_CHECKING

import paho.mqtt.client as mqtt
import pytest
from paho.mqtt.enums import CallbackAPIVersion
from tests.servers import CONFIG, Mosquitto, mosquitto, require_mosquitto

from steepwell.clock import WallClock
from steepwell.garden.load import load_garden
from steepwell.sense.intake import Intake
from steepwell.store.store import garden_store_url, open_store

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

pytestmark = pytest.mark.mosquitto

WITHIN_S = 30.0
PASSWORDS = {"steepwell": "well-kept", "gauge": "tip-tap", "butt": "drip-drop"}
GARDEN = """
[garden]
name = "quince-yard"
latitude = 52.1
longitude = 0.3
timezone = "Europe/London"

[broker]
host = "127.0.0.1"
port = {port}
tls = true
ca_file = "broker.crt"
username = "steepwell"
password_file = "broker-password"

[[butt]]
name = "north"
litres = "200 L"

[[sensor]]
name = "gauge"
measures = "rain"
topic = "garden/gauge"
payload = "number"
counts = "mm since start"

[[sensor]]
name = "butt"
measures = "level"
of = "north"
reads = "litres"
topic = "garden/butt/litres"
payload = "number"
"""


@pytest.fixture
def broker(tmp_path: Path) -> Iterator[Mosquitto]:
    require_mosquitto()
    certificate, key = tmp_path / "broker.crt", tmp_path / "broker.key"
    kind = ("-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1", "-nodes", "-days", "1")
    names = ("-subj", "/CN=broker", "-addext", "subjectAltName=IP:127.0.0.1")
    files = ("-keyout", str(key), "-out", str(certificate))
    made = ("openssl", "req", "-x509", *kind, *names, *files)
    subprocess.run(made, check=True, capture_output=True)
    passwords = tmp_path / "passwords"
    passwords.touch(mode=0o600)
    for user, password in PASSWORDS.items():
        added = (shutil.which("mosquitto_passwd") or "mosquitto_passwd", "-b", str(passwords))
        subprocess.run((*added, user, password), check=True, capture_output=True)
    settings = {
        "certfile": str(certificate),
        "keyfile": str(key),
        "password_file": str(passwords),
        "acl_file": str(CONFIG.with_name("mosquitto.acl")),
    }
    folder = tmp_path / "broker"
    folder.mkdir()
    with mosquitto(folder, settings, config=CONFIG.with_name("mosquitto-network.conf")) as broker:
        yield broker


@contextmanager
def device(broker: Mosquitto, user: str, certificate: Path) -> Iterator[mqtt.Client]:
    client = mqtt.Client(CallbackAPIVersion.VERSION2)
    client.username_pw_set(user, PASSWORDS[user])
    client.tls_set(ca_certs=str(certificate))
    client.connect("127.0.0.1", broker.port)
    client.loop_start()
    try:
        yield client
    finally:
        client.disconnect()
        client.loop_stop()


def say(client: mqtt.Client, topic: str, payload: str) -> None:
    """Publish, and wait until the broker has it; one that it does not pass on it takes too."""
    said = client.publish(topic, payload, qos=1)
    said.wait_for_publish(WITHIN_S)
    assert said.is_published()


def test_a_device_that_writes_the_topic_of_another_is_not_heard(
    broker: Mosquitto, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # The password comes as the service manager hands it over.
    handed = tmp_path / "credentials"
    handed.mkdir()
    (handed / "broker-password").write_text("well-kept\n", encoding="utf-8")
    monkeypatch.setenv("CREDENTIALS_DIRECTORY", str(handed))
    file = tmp_path / "garden.toml"
    file.write_text(GARDEN.format(port=broker.port), encoding="utf-8")
    garden = load_garden(file)
    with open_store(garden_store_url(garden), garden) as store:
        intake = Intake(garden, store, WallClock())
        intake.start()
        assert intake.connected.wait(WITHIN_S)
        with device(broker, "gauge", tmp_path / "broker.crt") as gauge:
            say(gauge, "garden/butt/litres", "199")
            say(gauge, "steepwell/quince-yard/journal", '{"kind": "woken"}')
            say(gauge, "garden/gauge", "7.4")
        with device(broker, "butt", tmp_path / "broker.crt") as butt:
            say(butt, "garden/butt/litres", "61")
        assert intake.wait_settled(2, WITHIN_S)
        intake.stop()
        now = WallClock().now()
        assert {n: r.value for n, r in store.readings.latest(now).items()} == {
            "gauge": 7.4,
            "butt": 61.0,
        }
        assert store.refused.count(now) == 0
        assert store.journal.entries(now) == []


@pytest.mark.parametrize(("user", "password"), [("gauge", "tip"), (None, None)])
def test_nobody_is_let_in_without_his_password(
    broker: Mosquitto, user: str | None, password: str | None, tmp_path: Path
) -> None:
    answers: list[bool] = []
    client = mqtt.Client(CallbackAPIVersion.VERSION2)
    if user is not None:
        client.username_pw_set(user, password)
    client.tls_set(ca_certs=str(tmp_path / "broker.crt"))

    def on_connect(client: mqtt.Client, *answer: object) -> None:
        answers.append(bool(getattr(answer[2], "is_failure", False)))
        client.disconnect()

    client.on_connect = on_connect
    client.connect("127.0.0.1", broker.port)
    client.loop_forever(retry_first_connection=False)
    assert answers == [True]
