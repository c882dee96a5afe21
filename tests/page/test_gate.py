"""Who is let in: whoever is at this machine, and from beyond it whoever was invited."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, Any

import pytest
from starlette.testclient import TestClient
from tests.page.conftest import ALL_OF_THE_NETWORK

from steepwell.garden.load import garden_from
from steepwell.page.app import page_app
from steepwell.page.gate import MOST_WRONG, WRONG_WITHIN

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from steepwell.clock import ReplayClock
    from steepwell.garden.garden import Garden
    from steepwell.page.desk import Ask
    from steepwell.store.store import Store

    Json = dict[str, Any]
    Caller = Callable[..., TestClient]

AFAR = "192.0.2.20"
NAME = "http://garden.example.org:8088"


@pytest.fixture
def garden(raw: Json, tmp_path: Path) -> Garden:
    raw["page"] = {"host": ALL_OF_THE_NETWORK, "address": NAME}
    return garden_from(raw, path=tmp_path / "garden.toml")


@pytest.fixture
def caller(garden: Garden, store: Store, clock: ReplayClock, ask: Ask) -> Iterator[Caller]:
    assert garden.page is not None
    app = page_app(garden, garden.page, store, clock, ask)
    with TestClient(app):
        yield lambda address=AFAR, base=NAME: TestClient(
            app, base_url=base, client=(address, 50_000)
        )


def test_nobody_from_afar_sees_anything_without_a_token(caller: Caller) -> None:
    for path in ("/", "/bed/beans", "/journal", "/healthz", "/metrics", "/nothing"):
        answer = caller().get(path)
        assert answer.status_code == 401
        assert "beans" not in answer.text


def test_an_invitation_opens_the_page_until_it_is_withdrawn(
    caller: Caller, store: Store, clock: ReplayClock
) -> None:
    phone = caller()
    token = store.invitations.add(clock.now())
    entered = phone.get(f"/enter/{token}")
    assert entered.status_code == 200
    assert 'content="0; url=/"' in entered.text
    left = {header.partition("=")[0]: header for header in entered.headers.get_list("set-cookie")}
    for rule in ("HttpOnly", "SameSite=strict", "Path=/"):
        assert all(rule in header for header in left.values())
    assert set(left) == {"steepwell", "steepwell-form"}
    assert phone.get("/").status_code == 200
    assert store.invitations.withdraw(store.invitations.all()[0].id, clock.now())
    assert phone.get("/").status_code == 401
    assert caller().get(f"/enter/{token}").status_code == 401


def test_a_program_brings_its_token_in_a_header(
    caller: Caller, store: Store, clock: ReplayClock
) -> None:
    token = store.invitations.add(clock.now())
    assert caller().get("/", headers={"Authorization": f"Bearer {token}"}).status_code == 200
    assert caller().get("/", headers={"Authorization": f"Basic {token}"}).status_code == 401


def test_a_token_is_not_to_be_found_in_the_store(
    garden: Garden, store: Store, clock: ReplayClock
) -> None:
    token = store.invitations.add(clock.now())
    files = garden.folder.glob("steepwell.db*")
    assert not any(token.encode() in file.read_bytes() for file in files)


def test_who_brings_wrong_tokens_is_not_heard_for_ten_minutes_and_nobody_else_minds(
    caller: Caller, store: Store, clock: ReplayClock
) -> None:
    token = store.invitations.add(clock.now())
    for _ in range(MOST_WRONG - 1):
        assert caller().get("/enter/wrong").status_code == 401
    last = caller().get("/enter/wrong")
    assert (last.status_code, last.headers["Retry-After"]) == (429, "600")
    assert caller().get(f"/enter/{token}").status_code == 429
    assert caller("192.0.2.21").get(f"/enter/{token}").status_code == 200
    clock.set(clock.now() + WRONG_WITHIN + timedelta(seconds=1))
    assert caller().get(f"/enter/{token}").status_code == 200


def test_a_whole_network_of_the_new_kind_is_one_caller(caller: Caller) -> None:
    for number in range(MOST_WRONG):
        caller(f"2001:db8::{number:x}").get("/enter/wrong")
    assert caller("2001:db8::ffff").get("/enter/wrong").status_code == 429
    assert caller("2001:db8:0:1::1").get("/enter/wrong").status_code == 401


@pytest.mark.parametrize(
    ("address", "base", "headers", "status"),
    [
        ("127.0.0.1", "http://localhost:8088", {}, 200),
        ("::1", "http://[::1]:8088", {}, 200),
        ("127.0.0.1", "http://127.0.0.1:8088", {}, 200),
        # A program on this machine that speaks for somebody else.
        ("127.0.0.1", NAME, {}, 401),
        ("127.0.0.1", "http://localhost:8088", {"X-Forwarded-For": AFAR}, 401),
        ("127.0.0.1", "http://localhost:8088", {"Forwarded": f"for={AFAR}"}, 401),
        # From afar under the name of this machine.
        (AFAR, "http://localhost:8088", {}, 401),
        ("testclient", "http://localhost:8088", {}, 401),
    ],
)
def test_only_who_is_at_this_machine_needs_no_token(
    caller: Caller, address: str, base: str, headers: dict[str, str], status: int
) -> None:
    assert caller(address, base).get("/", headers=headers).status_code == status
