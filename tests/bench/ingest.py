"""Measures durable ingest against a bare client, each draining the same backlog in one run.

Run ``python -m tests.bench.ingest [--messages 60000] [--packs]``. The broker, the publisher and the
two listeners are processes of their own; the publisher has ended before the first of them listens.
With ``--packs`` each message holds a reading of twelve sensors.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import tempfile
import threading
import time
import tomllib
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import paho.mqtt.client as mqtt
from paho.mqtt.enums import CallbackAPIVersion, MQTTProtocolVersion
from paho.mqtt.packettypes import PacketTypes
from paho.mqtt.properties import Properties
from tests.servers import mosquitto

from steepwell.clock import WallClock
from steepwell.garden.load import garden_from
from steepwell.sense.intake import Intake
from steepwell.store.store import garden_store_url, open_store

if TYPE_CHECKING:
    from collections.abc import Callable

ROOT = Path(__file__).resolve().parents[2]
PACKS, OBJECTS, NUMBERS = 10, 5, 5
TOPICS = [f"bench/{index}" for index in range(PACKS + OBJECTS + NUMBERS)]
IN_A_PACK = 12
PACK_TOPIC = "bench/pack"
FIRST_S = 1_760_000_000
NEVER_EXPIRES = 0xFFFFFFFF
WITHIN_S = 600.0

GARDEN = """
garden = {name = "bench", latitude = 51.5, longitude = -0.1, timezone = "Europe/London"}
bed = [{name = "all", area = "25 m2"}]
"""


def garden_text(port: int) -> str:
    lines = [GARDEN, f'broker = {{host = "127.0.0.1", port = {port}}}']
    for index in range(PACKS + OBJECTS + NUMBERS):
        if index < PACKS:
            spoken = f'payload = "senml"\nrecord = "urn:dev:mac:{index}:t"'
        elif index < PACKS + OBJECTS:
            spoken = 'payload = "json"\npointer = "/t"\ntime_pointer = "/at"'
        else:
            spoken = 'payload = "number"'
        lines.append(f'[[vessel]]\nname = "v{index}"\nvolume = "60 L"')
        lines.append(
            f'[[sensor]]\nname = "s{index}"\ntopic = "bench/{index}"\nmeasures = "temperature"\n'
            f'of = "v{index}"\n{spoken}'
        )
    lines += [
        f'[[vessel]]\nname = "p{index}"\nvolume = "60 L"\n'
        f'[[sensor]]\nname = "in-pack-{index}"\ntopic = "{PACK_TOPIC}"\n'
        f'measures = "temperature"\nof = "p{index}"\npayload = "senml"\n'
        f'record = "urn:dev:mac:pack:t{index}"'
        for index in range(IN_A_PACK)
    ]
    return "\n".join(lines)


def pack(number: int) -> tuple[str, str]:
    """Return topic and payload of a message of all sensors of one device."""
    value = number % 397 / 10
    first = f'{{"bn":"urn:dev:mac:pack:","bt":{FIRST_S + number},"bu":"Cel","n":"t0","v":{value}}}'
    more = (f'{{"n":"t{index}","v":{value + index}}}' for index in range(1, IN_A_PACK))
    return PACK_TOPIC, f"[{','.join((first, *more))}]"


def payload(number: int) -> tuple[str, str]:
    index, value = number % (PACKS + OBJECTS + NUMBERS), number % 397 / 10
    time_s = FIRST_S + number
    if index < PACKS:
        said = f'[{{"bn":"urn:dev:mac:{index}:","n":"t","u":"Cel","t":{time_s},"v":{value}}}]'
    elif index < PACKS + OBJECTS:
        said = f'{{"t":{value},"at":{time_s},"battery":2.91}}'
    else:
        said = str(value)
    return f"bench/{index}", said


def session() -> Properties:
    properties = Properties(PacketTypes.CONNECT)  # type: ignore[no-untyped-call]
    properties.SessionExpiryInterval = NEVER_EXPIRES
    return properties


def bare_client(name: str) -> mqtt.Client:
    return mqtt.Client(
        CallbackAPIVersion.VERSION2, client_id=name, protocol=MQTTProtocolVersion.MQTTv5
    )


def subscribe(name: str, port: int) -> None:
    """Open a session with every topic, and leave."""
    client = bare_client(name)

    def ask(*_: object) -> None:
        client.subscribe([(topic, 1) for topic in (*TOPICS, PACK_TOPIC)])

    def leave(*_: object) -> None:
        client.disconnect()

    client.on_connect = ask
    client.on_subscribe = leave
    client.connect("127.0.0.1", port, clean_start=False, properties=session())
    client.loop_forever()


def publish(port: int, messages: int, said: Callable[[int], tuple[str, str]] = payload) -> None:
    client = bare_client("publisher")
    client.max_inflight_messages_set(500)
    done = threading.Event()
    sent = 0

    def count(*_: object) -> None:
        nonlocal sent
        sent += 1
        if sent == messages:
            done.set()

    client.on_publish = count
    client.connect("127.0.0.1", port)
    client.loop_start()
    for number in range(messages):
        topic, text = said(number)
        client.publish(topic, text, qos=1)
    done.wait()
    client.disconnect()
    client.loop_stop()


def drain_bare(port: int, messages: int) -> None:
    client = bare_client("bare")
    heard = 0

    def count(*_: object) -> None:
        nonlocal heard
        heard += 1
        if heard == messages:
            client.disconnect()

    client.on_message = count
    client.connect("127.0.0.1", port, clean_start=False, properties=session())
    start = time.perf_counter()
    client.loop_forever()
    sys.stdout.write(f"{messages / (time.perf_counter() - start)}\n")


def drain_durable(port: int, messages: int) -> None:
    with tempfile.TemporaryDirectory() as folder:
        garden = garden_from(tomllib.loads(garden_text(port)), path=Path(folder) / "garden.toml")
        with open_store(garden_store_url(garden), garden) as store:
            intake = Intake(garden, store, WallClock(), journal_topic=False)
            start = time.perf_counter()
            intake.start()
            if not intake.wait_settled(messages, WITHIN_S):
                sys.exit(f"only {intake.settled()} of {messages} messages came")
            sys.stdout.write(f"{messages / (time.perf_counter() - start)}\n")
            intake.stop()


STEPS: dict[str, Callable[[int, int], None]] = {
    "publish": publish,
    "publish-packs": partial(publish, said=pack),
    "bare": drain_bare,
    "durable": drain_durable,
}


def run(step: str, port: int, messages: int) -> float:
    """Run one step in a process of its own, and return the rate it prints, or 0."""
    command = [sys.executable, "-m", "tests.bench.ingest", "--messages", str(messages)]
    command += ["--step", step, str(port)]
    done = subprocess.run(command, check=True, stdout=subprocess.PIPE, text=True, cwd=ROOT)
    return float(done.stdout or 0)


def measure(messages: int, *, packs: bool) -> None:
    """Fill the queues of both listeners, then let one after the other empty its own."""
    with tempfile.TemporaryDirectory() as folder, mosquitto(Path(folder), quiet=True) as broker:
        for name in ("bare", "steepwell-bench"):
            subscribe(name, broker.port)
        run("publish-packs" if packs else "publish", broker.port, messages)
        bare = run("bare", broker.port, messages)
        durable = run("durable", broker.port, messages)
    sys.stdout.write(
        f"bare client    {bare:8.0f} messages/s\n"
        f"durable ingest {durable:8.0f} messages/s\n"
        f"ratio          {durable / bare:8.2f}\n"
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--messages", type=int, default=60_000)
    parser.add_argument("--packs", action="store_true", help="twelve readings a message")
    parser.add_argument("--step", nargs=2, metavar=("STEP", "PORT"), help=argparse.SUPPRESS)
    given = parser.parse_args()
    if given.step is None:
        measure(given.messages, packs=given.packs)
    else:
        STEPS[given.step[0]](int(given.step[1]), given.messages)


if __name__ == "__main__":
    main()
