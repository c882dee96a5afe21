"""A bad network between daemon and broker, wrong passwords, certificates that have run out."""

from __future__ import annotations

import random
import re
import signal
import subprocess
from contextlib import contextmanager
from pathlib import Path
from time import monotonic
from typing import TYPE_CHECKING

from tests.faults.faults_table import Fault, NotHereError, Seen
from tests.faults.kills import broker_in
from tests.faults.proxy import Proxy
from tests.faults.under_load import Rig, Stream, await_that, waiter
from tests.servers import free_port

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    Live = Callable[[Path, float], Seen]

WHOLE = "none lost, none doubled"
CONNECTED = "connected to the broker"
PASSWORD = "sloe-and-damson"  # noqa: S105 - opens nothing


@contextmanager
def rig_behind(folder: Path) -> Iterator[tuple[Rig, Proxy]]:
    """Run broker, proxy, daemon and stream; only the daemon goes through the proxy."""
    with broker_in(folder) as broker:
        proxy = Proxy(broker.port)
        rig = Rig(folder, broker, port=proxy.port)
        try:
            rig.start()
            rig.stream.start()
            yield rig, proxy
        finally:
            rig.stream.finish()
            rig.end()
            proxy.close()


def delayed(folder: Path, seconds: float) -> Seen:
    """Keep every piece back for 0.3 s, both ways."""
    with rig_behind(folder) as (rig, proxy):
        proxy.delay_s = 0.3
        waiter.wait(seconds)
        furthest = rig.behind()
        proxy.delay_s = 0.0
        account = rig.settle()
        return Seen(
            f"{furthest:,} messages behind after {seconds:g} s; {account}", account.is_whole
        )


def cut(folder: Path, times: int) -> Seen:
    """Break the connection in the middle of whatever is being said."""
    draw = random.Random(11)  # noqa: S311 - a seeded draw, no secret
    with rig_behind(folder) as (rig, proxy):
        for _ in range(times):
            waiter.wait(draw.uniform(0.05, 1.5))
            _cut(proxy)
        account = rig.settle()
        return Seen(f"{times} cuts: {account}", account.is_whole)


def _cut(proxy: Proxy) -> None:
    """Cut the connection and wait for the next; of many the log does not tell each."""
    before = proxy.connections
    proxy.cut()
    await_that(lambda: proxy.connections > before, "the daemon stays away")


def dead(folder: Path, seconds: float) -> Seen:
    """Let everything said vanish without a word, then break the connection."""
    with rig_behind(folder) as (rig, proxy):
        waiter.wait(1.0)
        proxy.swallows = True
        waiter.wait(seconds)
        proxy.swallows = False
        proxy.cut()
        rig.await_said(CONNECTED, 2)
        account = rig.settle()
        return Seen(f"{seconds:g} s of silence: {account}", account.is_whole)


def reconnects(folder: Path, seconds: float) -> Seen:
    """Break the connection a hundred times a minute."""
    with rig_behind(folder) as (rig, proxy):
        assert rig.process is not None
        before = _held(rig.process.pid)
        ends = monotonic() + seconds
        while monotonic() < ends:
            waiter.wait(0.6)
            proxy.cut()
        account = rig.settle()
        after = _held(rig.process.pid)
        lines = len(re.findall("no connection to the broker", rig.said()))
        words = (
            f"{proxy.connections} connections in {seconds:g} s, each wait longer than the last; "
            f"{account}; open files {before[0]} and {after[0]}, "
            f"threads {before[1]} and {after[1]}, {lines} lines in the log"
        )
        return Seen(words, account.is_whole and after[0] <= before[0] + 3 and after[1] <= before[1])


def _held(process: int) -> tuple[int, int]:
    """Return how many files and threads a process holds."""
    place = Path(f"/proc/{process}")
    return len(list((place / "fd").iterdir())), len(list((place / "task").iterdir()))


def wrong_password(folder: Path) -> Seen:
    """Change the broker's password for us while the daemon is away, and tell it later."""
    passwords, ours = folder / "passwords", folder / "broker-password"
    _tool("mosquitto_passwd", "-b", "-c", passwords, "robin", PASSWORD)
    passwords.chmod(0o644)
    settings = {"allow_anonymous": f"false\npassword_file {passwords}"}
    with broker_in(folder, settings) as broker:
        keys = 'username = "robin"\npassword_file = "broker-password"\n'
        stream = Stream(broker.port, ("robin", PASSWORD))
        rig = Rig(folder, broker, keys=keys, stream=stream)
        try:
            ours.write_text(PASSWORD, encoding="utf-8")
            rig.start()
            rig.stream.start()
            rig.end(signal.SIGTERM)
            ours.write_text("quince-and-medlar", encoding="utf-8")
            rig.start(wait=False)
            rig.await_said("it refuses us: Not authorized")
            waiter.wait(3.0)
            rig.end(signal.SIGTERM)
            ours.write_text(PASSWORD, encoding="utf-8")
            rig.start()
            account = rig.settle()
        finally:
            rig.stream.finish()
            rig.end()
        said = rig.said()
    is_shown = PASSWORD in said or "quince-and-medlar" in said
    refused = said.count("Not authorized")
    words = f"said {refused} time, without the password; put right: {account}"
    return Seen(words, account.is_whole and not is_shown and refused == 1)


def expired(folder: Path) -> Seen:
    """Let the broker's certificate run out, and renew it later."""
    _make_certificates(folder)
    certificate = folder / "server.crt"
    certificate.write_bytes((folder / "good.crt").read_bytes())
    plain = free_port()
    secured = f"true\ncafile {folder}/ca.crt\ncertfile {certificate}\nkeyfile {folder}/server.key\n"
    with broker_in(folder, {"allow_anonymous": f"{secured}listener {plain} 127.0.0.1"}) as broker:
        keys = 'tls = true\nca_file = "ca.crt"\n'
        rig = Rig(folder, broker, keys=keys, stream=Stream(plain))
        try:
            rig.start()
            rig.stream.start()
            waiter.wait(1.0)
            broker.stop()
            certificate.write_bytes((folder / "old.crt").read_bytes())
            broker.start()
            rig.end(signal.SIGTERM)
            rig.start(wait=False)
            rig.await_said("certificate has expired")
            waiter.wait(3.0)
            broker.stop()
            certificate.write_bytes((folder / "good.crt").read_bytes())
            broker.start()
            rig.await_said(CONNECTED, 2)
            account = rig.settle()
        finally:
            rig.stream.finish()
            rig.end()
        told = rig.said().count("certificate has expired")
    words = f"not connected to, and said {told} time; renewed: {account}"
    return Seen(words, account.is_whole and told == 1)


def _make_certificates(folder: Path) -> None:
    """Make an authority, and two certificates of this machine, one of which has run out."""
    key = ("-newkey", "rsa:2048", "-nodes")
    authority = ("-addext", "basicConstraints=critical,CA:TRUE", "-subj", "/CN=plum-lane")
    ca, ca_key = folder / "ca.crt", folder / "ca.key"
    _tool("openssl", "req", "-x509", *key, "-keyout", ca_key, "-out", ca, "-days", "9", *authority)
    asked, names = folder / "server.csr", folder / "names"
    server_key = folder / "server.key"
    subject = ("-subj", "/CN=localhost")
    _tool("openssl", "req", *key, "-keyout", server_key, "-out", asked, *subject)
    names.write_text("subjectAltName=IP:127.0.0.1\n", encoding="utf-8")
    signed = ("-CA", ca, "-CAkey", ca_key, "-CAcreateserial", "-extfile", names)
    for name, days in (("good.crt", "9"), ("old.crt", "-1")):
        made = ("-req", "-in", asked, "-days", days, "-out", folder / name)
        _tool("openssl", "x509", *made, *signed)


def _tool(name: str, *words: str | Path) -> None:
    try:
        subprocess.run([name, *map(str, words)], check=True, capture_output=True)
    except FileNotFoundError:
        raise NotHereError(f"{name} is not installed") from None


def rows(*, quick: bool) -> list[Fault]:
    """Return the rows, shorter ones when it has to be quick."""
    waits = "said once; messages wait; put right, all is stored"

    def lasting(live: Live, short: float, usual: float) -> Callable[[Path], Seen]:
        return lambda folder: live(folder, short if quick else usual)

    return [
        Fault("network slow (0.3 s each way)", WHOLE, lasting(delayed, 3, 20)),
        Fault("connection cut", WHOLE, lambda folder: cut(folder, 3 if quick else 20)),
        Fault("network dead, then cut", WHOLE, lasting(dead, 3, 20)),
        Fault(
            "connection cut 100 times a minute",
            f"{WHOLE}; nothing piles up",
            lasting(reconnects, 6, 60),
        ),
        Fault("broker's password wrong", waits, wrong_password),
        Fault("broker's certificate expired", waits, expired),
    ]
