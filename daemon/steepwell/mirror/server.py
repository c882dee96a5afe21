"""The other server: hands it lines, and tells what it does not take from what has to wait."""

from __future__ import annotations

import os
import re
from datetime import UTC, timedelta
from email.utils import parsedate_to_datetime
from typing import TYPE_CHECKING, Self
from urllib.parse import urlsplit

from influxdb_client import InfluxDBClient, WriteService
from influxdb_client.rest import ApiException
from urllib3 import exceptions as urllib3_errors

from steepwell.errors import MirrorError, SecretError, SteepwellError
from steepwell.garden.secrets import read_secret
from steepwell.garden.site import MIRROR_TOKEN

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime
    from types import TracebackType

    from steepwell.garden.garden import Garden

PATIENCE_S = 10.0
TAKEN = 204
REFUSES = frozenset({400, 413, 422})
WANTS_THE_KEEPER = frozenset({401, 403, 404})
# When so many lines of one lot are refused and none is taken, it is not the lines.
MOST_REFUSED = 20
LONGEST_REASON = 300
LONGEST_WAIT = timedelta(days=1)
_TOO_OLD = "beyond retention policy"


class _RefusedError(SteepwellError):
    """The other server does not take these lines, or not all of them."""


class MirrorServer:
    """One server that speaks the InfluxDB v2 API.

    Every write is handed over at once and waited for: what ``send`` has returned from was taken.

    Parameters
    ----------
    garden
        The garden, with its mirror.
    now
        The moment of the job.
    patience_s
        How long to wait for an answer [s].

    Raises
    ------
    MirrorError
        If the token cannot be read.
    """

    def __init__(self, garden: Garden, now: datetime, *, patience_s: float = PATIENCE_S) -> None:
        if garden.mirror is None:
            raise MirrorError("the garden file has no [mirror]", lasting=True)
        self._mirror = garden.mirror
        self._now = now
        self._patience_s = patience_s
        self._token = read_token(garden)
        self._client = InfluxDBClient(
            url=self._mirror.url,
            token=self._token,
            org=self._mirror.organisation,
            timeout=round(patience_s * 1000),
        )
        self._write = WriteService(self._client.api_client)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        traceback: TracebackType | None,
    ) -> None:
        self._client.close()

    def send(self, lines: Sequence[str]) -> list[tuple[str, str]]:
        """Hand over lines, and find the ones that are not taken by halving.

        Parameters
        ----------
        lines
            Line protocol, times in ms.

        Returns
        -------
        list of tuple
            Each line that is not taken, and the reason; all others were taken.

        Raises
        ------
        MirrorError
            If the server is away, busy, or wants something else; some lines may have been taken.
        """
        refused: list[tuple[str, str]] = []
        taken = False
        waiting = [list(lines)]
        while waiting:
            some = waiting.pop()
            try:
                self._post(some)
                taken = True
            except _RefusedError as error:
                reason = str(error)
                if _TOO_OLD in reason:
                    # The server took what is young enough.
                    refused.append((f"{some[0]} and {len(some) - 1} more at most", reason))
                elif len(some) == 1:
                    refused.append((some[0], reason))
                else:
                    half = len(some) // 2
                    waiting += [some[half:], some[:half]]
                if len(refused) > MOST_REFUSED and not taken:
                    raise MirrorError(
                        f"{self.where} takes no line ({reason})", lasting=True
                    ) from None
        return refused

    def greet(self) -> None:
        """Send nothing, to see whether the server would take it from us.

        Raises
        ------
        MirrorError
            If the server is away, or does not let us write.
        """
        try:
            self._post([])
        except _RefusedError:
            # Some want at least a line, and tell so when they have let us in.
            return

    @property
    def where(self) -> str:
        """The server as it may be shown."""
        return shown_address(self._mirror.url)

    def _post(self, lines: Sequence[str]) -> None:
        try:
            _, status, _ = self._write.post_write_with_http_info(
                self._mirror.organisation,
                self._mirror.bucket,
                "\n".join(lines).encode(),
                precision="ms",
                content_type="text/plain; charset=utf-8",
            )
        except ApiException as error:
            raise self._answered(error) from None
        except (urllib3_errors.HTTPError, OSError, ValueError) as error:
            raise MirrorError(f"{self.where} {self._broken(error)}") from None
        if status != TAKEN:
            raise MirrorError(
                f"{self.where} answers {status} where a time series database answers {TAKEN}",
                lasting=True,
            )

    def _answered(self, error: ApiException) -> SteepwellError:
        """Return what an answer other than "taken" comes to."""
        status = int(error.status or 0)
        body = error.body.decode(errors="replace") if isinstance(error.body, bytes) else error.body
        said = self._hushed(str(body or error.reason or "no reason given"))
        if status in REFUSES:
            return _RefusedError(f"{status}: {said}")
        if not status:
            return MirrorError(f"{self.where} is not trusted ({said})", lasting=True)
        after = (error.headers or {}).get("Retry-After")
        return MirrorError(
            f"{self.where} answers {status} ({said})",
            lasting=status in WANTS_THE_KEEPER,
            retry_after=_retry_after(after, self._now),
        )

    def _broken(self, error: Exception) -> str:
        # It is a timeout too, in that library's tree.
        if isinstance(error, urllib3_errors.NewConnectionError):
            return "cannot be reached"
        if isinstance(error, urllib3_errors.TimeoutError):
            return f"gave no answer within {self._patience_s:g} s"
        if isinstance(error, urllib3_errors.SSLError):
            return f"is not trusted ({self._hushed(str(error))})"
        return f"broke off ({type(error).__name__})"

    def _hushed(self, text: str) -> str:
        """Return what a server said on one line, short, and without the token if it repeats it."""
        if self._token:
            text = text.replace(self._token, "…")
        return " ".join(text.split())[:LONGEST_REASON]


def shown_address(url: str) -> str:
    """Return an address without what might be a secret in it."""
    parts = urlsplit(url)
    port = f":{parts.port}" if parts.port else ""
    return f"{parts.scheme}://{parts.hostname}{port}"


def read_token(garden: Garden) -> str | None:
    """Return the token from its file, or from the environment; None where there is neither.

    Parameters
    ----------
    garden
        The garden, with its mirror.

    Raises
    ------
    MirrorError
        If the file cannot be read, or what is found cannot be a token.
    """
    file = garden.mirror.token_file if garden.mirror is not None else None
    if file is None:
        where, token = f"the variable {MIRROR_TOKEN}", os.environ.get(MIRROR_TOKEN, "").strip()
        if not token:
            return None
    else:
        where = f"the mirror's token file {file}"
        try:
            token = read_secret("the mirror's token", file, garden.folder)
        except SecretError as error:
            raise MirrorError(str(error), lasting=True) from None
    # What is no header is shown in full by the library that refuses it.
    if not re.fullmatch(r"[!-~]+", token):
        raise MirrorError(f"{where} holds no token: it is one word of plain letters", lasting=True)
    return token


def _retry_after(text: str | None, now: datetime) -> timedelta | None:
    """Return how long a server asks to be left alone: seconds or a date (RFC 9110, 10.2.3)."""
    if text is None:
        return None
    if text.strip().isdecimal():
        asked = timedelta(seconds=min(int(text), LONGEST_WAIT.total_seconds()))
    else:
        try:
            until = parsedate_to_datetime(text)
        except ValueError:
            return None
        asked = (until if until.tzinfo else until.replace(tzinfo=UTC)) - now
    return min(max(asked, timedelta()), LONGEST_WAIT)
