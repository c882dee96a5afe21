"""Starts workers, hands each one JSON object and takes one back."""

from __future__ import annotations

import contextlib
import json
import os
import selectors
import subprocess
import sys
from typing import TYPE_CHECKING, Any

from steepwell.errors import WorkerError

if TYPE_CHECKING:
    from datetime import datetime

    from steepwell.garden.garden import Garden

TIME_LIMIT_S = 120.0
_COMMAND = (sys.executable, "-m", "steepwell.worker", str(os.getpid()))

Json = dict[str, Any]


class Workshop:
    """Does heavy work in a fresh process, or in one kept warm for a replay.

    Parameters
    ----------
    garden
        The garden every request is about.
    seed
        Goes into every request.
    warm
        Whether to keep the process from one request to the next.
    time_limit_s
        How long one request may take [s].
    """

    def __init__(
        self, garden: Garden, *, seed: int, warm: bool, time_limit_s: float = TIME_LIMIT_S
    ) -> None:
        self._garden = garden.to_json()
        self._seed = seed
        self._warm = warm
        self._time_limit_s = time_limit_s
        self._process: subprocess.Popen[str] | None = None

    def ask(self, task: str, now: datetime, **more: object) -> Json:
        """Have a worker do a task.

        Parameters
        ----------
        task
            Its name in ``worker.TASKS``.
        now
            The moment of the job.
        **more
            What else the task has to know, ready for JSON.

        Returns
        -------
        dict
            What the task gives.

        Raises
        ------
        WorkerError
            If the worker fails, is killed, or takes too long.
        """
        request = {
            "task": task,
            "garden": self._garden,
            "now": now.isoformat(),
            "seed": self._seed,
            "more": more,
        }
        process = self._process or self._start()
        self._process = process
        try:
            answer = self._exchange(process, json.dumps(request))
        except WorkerError:
            self.close()
            raise
        if not self._warm:
            self.close()
        if "error" in answer:
            raise WorkerError(str(answer["error"]))
        return answer

    def close(self) -> None:
        """End the worker."""
        process, self._process = self._process, None
        if process is None:
            return
        for pipe in (process.stdin, process.stdout):
            if pipe is not None:
                # A request that a dead worker never took is still in the pipe.
                with contextlib.suppress(OSError):
                    pipe.close()
        try:
            process.wait(timeout=2)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()

    @staticmethod
    def _start() -> subprocess.Popen[str]:
        return subprocess.Popen(  # noqa: S603 - our own module
            _COMMAND,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            env={**os.environ, "OPENBLAS_NUM_THREADS": "1"},
            process_group=0,  # an interrupt from the terminal is for us, who end it in order
        )

    def _exchange(self, process: subprocess.Popen[str], request: str) -> Json:
        if process.stdin is None or process.stdout is None:
            raise WorkerError("the worker has no pipes")
        try:
            process.stdin.write(request + "\n")
            process.stdin.flush()
        except OSError:
            raise WorkerError(f"the worker ended early ({_ending(process)})") from None
        with selectors.DefaultSelector() as selector:
            selector.register(process.stdout, selectors.EVENT_READ)
            if not selector.select(self._time_limit_s):
                process.kill()
                raise WorkerError(f"the worker took longer than {self._time_limit_s:g} s")
        line = process.stdout.readline()
        if not line.endswith("\n"):
            raise WorkerError(f"the worker ended early ({_ending(process)})")
        answer: Json = json.loads(line)
        return answer


def _ending(process: subprocess.Popen[str]) -> str:
    code = process.wait()
    return f"signal {-code}" if code < 0 else f"exit code {code}"
