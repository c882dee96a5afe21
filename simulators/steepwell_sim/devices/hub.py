"""Devices in a process of their own, so that a replay keeps its own core for the daemon.

``python -m steepwell_sim.devices.hub HOST PORT`` reads the clients' names, then messages, as lines
of JSON in which each byte of a payload is a character; it says ``ready`` when every client is
connected, and ends with its input.
"""

from __future__ import annotations

import json
import subprocess
import sys
from typing import IO, TYPE_CHECKING, Self

from steepwell.errors import BrokerError
from steepwell_sim.network import Message, Network

if TYPE_CHECKING:
    from collections.abc import Sequence
    from types import TracebackType

_READY = "ready"
_ENDS_WITHIN_S = 10.0


class Hub:
    """The devices' way to the broker; a context that starts and ends their process.

    Parameters
    ----------
    host, port
        The broker.
    client_ids
        Names of the devices.
    """

    def __init__(self, host: str, port: int, client_ids: Sequence[str]) -> None:
        self._command = [sys.executable, "-m", "steepwell_sim.devices.hub", host, str(port)]
        self._client_ids = list(client_ids)
        self._process: subprocess.Popen[str] | None = None

    def __enter__(self) -> Self:
        """Start the process and wait until every device is connected.

        Raises
        ------
        BrokerError
            If it does not get that far.
        """
        self._process = subprocess.Popen(  # noqa: S603 - the command is ours
            self._command,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            process_group=0,  # an interrupt from the terminal is for us, who end it in order
        )
        try:
            self._write(self._client_ids)
            said = self._process.stdout.readline().strip() if self._process.stdout else ""
        except BaseException:  # an interrupt too: what was not entered is not left
            self._close()
            raise
        if said != _READY:
            self._close()
            raise BrokerError(said or "The devices did not start; try again.")
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """End the process."""
        self._close()

    def send(self, messages: Sequence[Message]) -> None:
        """Let each device send its message.

        Raises
        ------
        BrokerError
            If their process has ended.
        """
        self._write([(who, topic, payload.decode("latin-1")) for who, topic, payload in messages])

    def _write(self, line: object) -> None:
        if self._process is None or self._process.stdin is None:
            raise BrokerError("The devices are not running.")
        try:
            self._process.stdin.write(json.dumps(line) + "\n")
            self._process.stdin.flush()
        except BrokenPipeError:
            raise BrokerError("The devices have ended before their time; try again.") from None

    def _close(self) -> None:
        if self._process is None:
            return
        try:
            self._process.communicate(timeout=_ENDS_WITHIN_S)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.communicate()


def serve(host: str, port: int, lines: IO[str], answers: IO[str]) -> None:
    """Connect the clients named in the first line, and send what the others say.

    Parameters
    ----------
    host, port
        The broker.
    lines
        Names, then messages.
    answers
        Where ``ready`` goes, or the sentence that says why not.
    """
    # Nothing comes from a simulation that was ended at its start.
    first = lines.readline()
    if not first:
        return
    network = Network(host, port)
    for client_id in json.loads(first):
        network.add(client_id)
    try:
        with network:
            print(_READY, file=answers, flush=True)
            for line in lines:
                network.send(
                    [
                        Message(who, topic, payload.encode("latin-1"))
                        for who, topic, payload in json.loads(line)
                    ]
                )
    except BrokerError as error:
        print(error, file=answers, flush=True)


if __name__ == "__main__":
    serve(sys.argv[1], int(sys.argv[2]), sys.stdin, sys.stdout)
