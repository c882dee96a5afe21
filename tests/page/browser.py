"""Headless Chromium, driven over a pipe by its DevTools protocol."""

from __future__ import annotations

import base64
import json
import os
import select
import shutil
import subprocess
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from pathlib import Path

Json = dict[str, Any]

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
ANSWERS_WITHIN_S = 20.0
# The browser reads commands from descriptor 3 and writes to 4; plain sh cannot number so high.
BASH = "/bin/bash"
PIPES = 'exec "$0" "$@" 3<&{given} 4>&{told}'
OPTIONS = (
    "--headless=new",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-dev-shm-usage",
    "--disable-extensions",
    "--disable-background-networking",
    "--no-first-run",
    "--remote-debugging-pipe",
)


class Browser:
    """A browser with one page open.

    Parameters
    ----------
    folder
        Where its profile goes.
    """

    def __init__(self, folder: Path) -> None:
        assert CHROMIUM is not None
        given, self._to = os.pipe()
        self._from, told = os.pipe()
        command = [CHROMIUM, *OPTIONS, f"--user-data-dir={folder}", "about:blank"]
        self._process = subprocess.Popen(
            [BASH, "-c", PIPES.format(given=given, told=told), *command],
            pass_fds=(given, told),
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        os.close(given)
        os.close(told)
        self._rest, self._number, self._session = b"", 0, ""
        self.events: list[Json] = []
        target = self.call("Target.createTarget", url="about:blank")["targetId"]
        attached = self.call("Target.attachToTarget", targetId=target, flatten=True)
        self._session = attached["sessionId"]
        for domain in ("Page", "Runtime", "Log"):
            self.call(f"{domain}.enable")

    def call(self, method: str, **params: object) -> Json:
        """Have the browser do something, and return what it answers."""
        self._number += 1
        asked: Json = {"id": self._number, "method": method, "params": params}
        if self._session:
            asked["sessionId"] = self._session
        os.write(self._to, json.dumps(asked).encode() + b"\0")
        while True:
            heard = self._hear()
            if heard.get("id") == self._number:
                assert "error" not in heard, heard
                result: Json = heard["result"]
                return result
            self.events.append(heard)

    def look_at(self, url: str) -> None:
        """Open a page and wait until it is there."""
        self.events.clear()
        self.call("Page.navigate", url=url)
        self._await("Page.loadEventFired")

    def press(self, selector: str) -> None:
        """Press what leads to another page, and wait until that is there."""
        self.events.clear()
        self.run(f"document.querySelector({selector!r}).click()")
        self._await("Page.loadEventFired")

    def press_return_in(self, selector: str) -> None:
        """Press the return key in a field, and wait until the page is there that follows."""
        self.events.clear()
        self.run(f"document.querySelector({selector!r}).focus()")
        for kind in ("keyDown", "keyUp"):
            self.call("Input.dispatchKeyEvent", type=kind, key="Enter", code="Enter", text="\r")
        self._await("Page.loadEventFired")

    def run(self, script: str) -> Any:  # noqa: ANN401 - whatever the script gives
        """Return what a script comes to."""
        answer = self.call(
            "Runtime.evaluate", expression=script, awaitPromise=True, returnByValue=True
        )
        assert "exceptionDetails" not in answer, answer
        return answer["result"].get("value")

    def hold(self, width: int, *, dark: bool) -> None:
        """Make the screen so wide, and the day light or dark."""
        self.call(
            "Emulation.setDeviceMetricsOverride",
            width=width,
            height=800,
            deviceScaleFactor=1,
            mobile=width < 600,
        )
        scheme = {"name": "prefers-color-scheme", "value": "dark" if dark else "light"}
        self.call("Emulation.setEmulatedMedia", features=[scheme])

    def picture(self) -> bytes:
        """Return the page as a PNG."""
        taken = self.call("Page.captureScreenshot", format="png", captureBeyondViewport=True)
        return base64.b64decode(taken["data"])

    def complaints(self) -> list[str]:
        """Return what the browser found wrong with the page: blocked, missing, broken."""
        return [
            str(event["params"]["entry"]["text"])
            for event in self.events
            if event.get("method") == "Log.entryAdded"
        ]

    def close(self) -> None:
        """End the browser."""
        self._session = ""
        self.call("Browser.close")
        self._process.wait(ANSWERS_WITHIN_S)
        os.close(self._to)
        os.close(self._from)

    def _await(self, method: str) -> None:
        while not any(event.get("method") == method for event in self.events):
            self.events.append(self._hear())

    def _hear(self) -> Json:
        while b"\0" not in self._rest:
            ready, _, _ = select.select([self._from], [], [], ANSWERS_WITHIN_S)
            assert ready, "the browser says nothing"
            more = os.read(self._from, 1 << 16)
            assert more, "the browser ended"
            self._rest += more
        said, _, self._rest = self._rest.partition(b"\0")
        heard: Json = json.loads(said)
        return heard
