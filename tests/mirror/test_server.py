"""What is handed over to another server, refused by it, or has to wait for it."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

import pytest
from tests.gardens import make_garden
from tests.mirrors import MALFORMED, TOKEN
from tests.servers import free_port

from steepwell.errors import MirrorError
from steepwell.garden.site import MIRROR_TOKEN
from steepwell.mirror.server import MirrorServer, read_token, shown_address

if TYPE_CHECKING:
    from pathlib import Path

    from tests.mirrors import FaultyServer

    from steepwell.garden.garden import Garden

NOW = datetime(2031, 6, 1, 12, tzinfo=UTC)
LINES = [f"reading,garden=plum-lane volume_l={n}.5 {1_938_081_600_000 + n}" for n in range(1000)]
PATIENCE_S = 0.5


def mirrored(url: str, **more: Any) -> Garden:  # noqa: ANN401 - keys of the garden file
    return make_garden(mirror={"url": url, "organisation": "plum", "bucket": "garden", **more})


def send(url: str, lines: list[str]) -> list[tuple[str, str]]:
    with MirrorServer(mirrored(url), NOW, patience_s=PATIENCE_S) as server:
        return server.send(lines)


def failure(url: str, lines: list[str]) -> MirrorError:
    with pytest.raises(MirrorError) as raised:
        send(url, lines)
    return raised.value


def test_lines_are_posted_as_the_v2_api_wants_them(
    faulty_server: FaultyServer, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(MIRROR_TOKEN, f"{TOKEN}\n")
    assert send(faulty_server.url, LINES[:2]) == []
    ((path, asked, headers, lines),) = faulty_server.requests
    # InfluxDB OSS v2 API, POST /api/v2/write.
    assert path == "/api/v2/write"
    assert asked == {"org": ["plum"], "bucket": ["garden"], "precision": ["ms"]}
    assert headers["Authorization"] == f"Token {TOKEN}"
    assert lines == LINES[:2]


def test_without_a_token_none_is_sent(
    faulty_server: FaultyServer, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv(MIRROR_TOKEN, raising=False)
    send(faulty_server.url, LINES[:1])
    assert "Authorization" not in faulty_server.requests[0][2]


@pytest.mark.parametrize(
    "bad", [[], [0], [999], [3, 4, 500], list(range(17)), list(range(1, 1000, 20))]
)
def test_a_bad_line_is_found_among_the_others_which_are_taken(
    faulty_server: FaultyServer, bad: list[int]
) -> None:
    wrong = {LINES[n] for n in bad}
    faulty_server.refuses = wrong.__contains__
    refused = send(faulty_server.url, LINES)
    assert {line for line, _ in refused} == wrong
    assert all(MALFORMED in reason for _, reason in refused)
    assert len(faulty_server.taken) == len(LINES) - len(bad)


def test_too_much_at_once_is_sent_in_parts(faulty_server: FaultyServer) -> None:
    faulty_server.most_bytes = 5000
    assert send(faulty_server.url, LINES) == []
    assert len(faulty_server.taken) == len(LINES)


def test_a_server_that_takes_no_line_is_not_asked_line_by_line(faulty_server: FaultyServer) -> None:
    faulty_server.refuses = lambda _line: True
    error = failure(faulty_server.url, LINES)
    assert error.lasting
    assert "takes no line" in str(error)
    assert len(faulty_server.requests) < 100


def test_what_is_too_old_for_the_server_is_passed_over(faulty_server: FaultyServer) -> None:
    # As InfluxDB 2 words it; from memory.
    faulty_server.faults = [422]
    faulty_server.says = (
        '{"code": "unprocessable entity", "message": "failure writing points to database: '
        'partial write: points beyond retention policy dropped=7"}'
    )
    ((line, reason),) = send(faulty_server.url, LINES)
    assert line == f"{LINES[0]} and 999 more at most"
    assert "dropped=7" in reason
    assert len(faulty_server.requests) == 1


@pytest.mark.parametrize(
    ("status", "lasting"),
    [
        (401, True),
        (403, True),
        (404, True),
        (429, False),
        (500, False),
        (503, False),
        (200, True),
        (302, False),
    ],
)
def test_any_other_answer_has_to_wait(
    faulty_server: FaultyServer, status: int, *, lasting: bool
) -> None:
    faulty_server.faults = [status]
    error = failure(faulty_server.url, LINES[:1])
    assert str(status) in str(error)
    assert error.lasting == lasting
    assert len(faulty_server.requests) == 1


@pytest.mark.parametrize(
    ("retry_after", "wait"),
    [
        ("120", timedelta(minutes=2)),
        ("0", timedelta()),
        ("Sun, 01 Jun 2031 12:10:00 GMT", timedelta(minutes=10)),
        ("Sun, 01 Jun 2031 11:00:00 GMT", timedelta()),
        ("99999999999999999999", timedelta(days=1)),
        ("soon", None),
        ("-5", None),
    ],
)
def test_a_server_may_say_how_long_to_leave_it_alone(
    faulty_server: FaultyServer, retry_after: str, wait: timedelta | None
) -> None:
    faulty_server.faults = [503]
    faulty_server.headers = {"Retry-After": retry_after}
    assert failure(faulty_server.url, LINES[:1]).retry_after == wait


@pytest.mark.parametrize(
    ("fault", "told"),
    [("hang", "gave no answer within 0.5 s"), ("drop", "broke off"), ("deafen", "broke off")],
)
def test_a_server_that_falls_silent_has_to_be_waited_for(
    faulty_server: FaultyServer, fault: str, told: str
) -> None:
    faulty_server.faults = [fault]
    error = failure(faulty_server.url, LINES[:1])
    assert told in str(error)
    assert not error.lasting


def test_a_server_that_is_not_there_is_told_by_its_address() -> None:
    port = free_port()
    error = failure(f"http://127.0.0.1:{port}", LINES[:1])
    assert str(error) == f"http://127.0.0.1:{port} cannot be reached"
    assert not error.lasting


@pytest.mark.parametrize("status", [400, 401, 503])
def test_a_token_that_a_server_repeats_is_not_told(
    faulty_server: FaultyServer, status: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(MIRROR_TOKEN, TOKEN)
    faulty_server.faults = [status]
    faulty_server.says = f'{{"message": "no user has the token {TOKEN}"}}'
    try:
        told = str(send(faulty_server.url, LINES[:1]))
    except MirrorError as error:
        told = str(error)
    assert "no user has the token …" in told


def test_a_token_comes_from_its_file_first(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(MIRROR_TOKEN, "another")
    file = tmp_path / "token"
    file.write_text(f"{TOKEN}\n", encoding="utf-8")
    assert read_token(mirrored("http://127.0.0.1:8086", token_file=str(file))) == TOKEN
    assert read_token(mirrored("http://127.0.0.1:8086")) == "another"


@pytest.mark.parametrize("content", ["two words", f"{TOKEN}\nX-More: 1", f"{TOKEN}\N{SNOWMAN}"])
def test_what_is_no_token_is_refused_and_not_shown(tmp_path: Path, content: str) -> None:
    file = tmp_path / "token"
    file.write_text(content, encoding="utf-8")
    with pytest.raises(MirrorError, match="holds no token") as raised:
        read_token(mirrored("http://127.0.0.1:8086", token_file=str(file)))
    assert TOKEN not in str(raised.value)
    assert raised.value.lasting


def test_a_token_file_that_is_missing_is_named(tmp_path: Path) -> None:
    with pytest.raises(MirrorError, match=r"token cannot be read from .*/token \(no such file"):
        read_token(mirrored("http://127.0.0.1:8086", token_file=str(tmp_path / "token")))


@pytest.mark.parametrize(
    ("url", "shown"),
    [
        ("http://127.0.0.1:8086", "http://127.0.0.1:8086"),
        ("https://db.example.org/influx", "https://db.example.org"),
    ],
)
def test_an_address_is_shown_without_what_follows_the_host(url: str, shown: str) -> None:
    assert shown_address(url) == shown
