"""``steepwell check --connect``: what it tries, and what it says has to be mended."""

from __future__ import annotations

import socket
from contextlib import closing
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

import pytest
from aiosmtpd.controller import Controller
from aiosmtpd.handlers import Sink
from aiosmtpd.smtp import AuthResult
from tests.gardens import make_garden
from tests.mirrors import TOKEN, FaultyServer
from tests.servers import free_port

from steepwell.connecting import connection_lines, try_connections
from steepwell.errors import CommandError
from steepwell.standing_by import Presence

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

NOW = datetime(2031, 6, 1, 12, 0, tzinfo=UTC)
PASSWORD = "quill-and-ink"  # noqa: S105 - opens nothing


@pytest.fixture
def mail_port() -> Iterator[int]:
    def knows(_server: object, _session: object, _envelope: object, _how: str, said: Any) -> Any:  # noqa: ANN401 - as the library has it
        return AuthResult(success=said.password == PASSWORD.encode(), handled=False)

    port = free_port()
    controller = Controller(
        Sink(),
        hostname="127.0.0.1",
        port=port,
        authenticator=knows,
        auth_require_tls=False,
    )
    controller.start()
    yield port
    controller.stop()


def tried(folder: Path, **sections: Any) -> dict[str, tuple[bool, str]]:  # noqa: ANN401 - as the file has them
    answers = try_connections(make_garden(folder, **sections), NOW)["tried"]
    return {one["name"]: (one["well"], one["said"]) for one in answers}


def told(port: int, **person: object) -> dict[str, object]:
    mail = {
        "server": "127.0.0.1",
        "port": port,
        "sender": "steepwell@example.org",
        "username": "steepwell",
        "password_file": "mail-password",
    }
    return {"mail": mail, "people": [{"name": "maud", "mail": "maud@example.org", **person}]}


@pytest.mark.parametrize(
    ("password", "well", "words"),
    [(PASSWORD, True, "lets us in; no mail was sent"), ("wrong", False, "535")],
)
def test_mail_is_tried_without_sending(
    password: str, words: str, mail_port: int, tmp_path: Path, *, well: bool
) -> None:
    (tmp_path / "mail-password").write_text(password, encoding="utf-8")
    found, said = tried(tmp_path, told=told(mail_port))["mail"]
    assert found == well
    assert words in said
    assert password not in said


def test_a_missing_password_file_is_told(mail_port: int, tmp_path: Path) -> None:
    well, said = tried(tmp_path, told=told(mail_port))["mail"]
    assert not well
    assert said.startswith("the password for the mail server cannot be read from")
    assert "put it there" in said


@pytest.mark.parametrize(
    ("status", "well", "words"),
    [(None, True, "takes what we send"), (400, True, "takes"), (401, False, "answers 401")],
)
def test_the_mirror_is_tried_with_nothing(
    status: int | None, words: str, tmp_path: Path, *, well: bool
) -> None:
    (tmp_path / "token").write_text(TOKEN, encoding="utf-8")
    server = FaultyServer()
    server.faults = [status]
    try:
        mirror = {"url": server.url, "organisation": "plum", "bucket": "garden"}
        found, said = tried(tmp_path, mirror={**mirror, "token_file": "token"})["mirror"]
    finally:
        server.close()
    assert found == well
    assert words in said
    assert server.taken == {}


# What pushes loads a module that Python 3.13 does without.
@pytest.mark.filterwarnings("ignore:'imghdr':DeprecationWarning")
def test_a_push_is_tried_without_sending(tmp_path: Path) -> None:
    (tmp_path / "push-address").write_text("json://127.0.0.1:1/secret-path", encoding="utf-8")
    (tmp_path / "nonsense").write_text("nowhere://else", encoding="utf-8")
    ways = ["file:push-address", "file:nonsense", "file:missing"]
    answers = tried(tmp_path, told={"people": told(1, ways=ways)["people"]})
    assert [answers[f"push {way}"][0] for way in ways] == [True, False, False]
    assert "secret-path" not in str(answers)


def test_the_port_of_the_page(tmp_path: Path) -> None:
    port = free_port()
    page = {"port": port}
    assert tried(tmp_path, page=page)["page"] == (True, f"127.0.0.1:{port} is free for it")
    with closing(socket.create_server(("127.0.0.1", port))):
        well, said = tried(tmp_path, page=page)["page"]
        assert not well
        assert "another program" in said
        with Presence(make_garden(tmp_path)):
            assert tried(tmp_path, page=page)["page"] == (True, f"it answers at 127.0.0.1:{port}")
    with Presence(make_garden(tmp_path)):
        well, said = tried(tmp_path, page=page)["page"]
    assert not well
    assert "nothing answers" in said


def test_a_broker_that_is_away_keeps_nothing_else_from_being_tried(tmp_path: Path) -> None:
    page = {"port": free_port()}
    answers = try_connections(
        make_garden(tmp_path, broker={"host": "127.0.0.1", "port": 1}, page=page), NOW
    )
    assert answers["connection"] is None
    assert [(one["name"], one["well"]) for one in answers["tried"]] == [
        ("broker", False),
        ("page", True),
    ]
    assert connection_lines(answers["tried"])[0].startswith("Broker: the broker at 127.0.0.1:1")


def test_a_garden_that_speaks_to_nobody_has_nothing_to_try(tmp_path: Path) -> None:
    with pytest.raises(CommandError, match="nothing to connect to"):
        try_connections(make_garden(tmp_path), NOW)
