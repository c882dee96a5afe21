"""What a page elsewhere makes a browser send is not written; what a name holds is only a name."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

import pytest
from tests.gardens import note
from tests.page.conftest import HOME, NOW
from tests.page.visitor import forms_on, parsed

from steepwell.page.guard import MOST_BYTES

if TYPE_CHECKING:
    from collections.abc import Iterator

    from starlette.testclient import TestClient

    from steepwell.garden.garden import Garden
    from steepwell.store.store import Store

pytestmark = pytest.mark.usefixtures("worked_out")


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({"Origin": HOME}, 303),
        ({"Sec-Fetch-Site": "same-origin"}, 303),
        ({}, 403),
        ({"Origin": "http://elsewhere.example.net"}, 403),
        # Another program of this machine is another site.
        ({"Origin": "http://localhost:3000"}, 403),
        ({"Origin": "null"}, 403),
        ({"Sec-Fetch-Site": "same-site"}, 403),
        ({"Sec-Fetch-Site": "cross-site"}, 403),
        ({"Origin": "http://elsewhere.example.net", "Sec-Fetch-Site": "same-origin"}, 403),
    ],
)
def test_only_forms_of_our_own_pages_are_taken(
    page: TestClient, store: Store, headers: dict[str, str], status: int
) -> None:
    form = next(f for f in forms_on(page.get("/bed/beans").text) if f.action == "/note/picking")
    answer = page.post(form.action, data=dict(form.fields), headers=headers, follow_redirects=False)
    assert answer.status_code == status
    assert len(store.journal.entries(NOW)) == (status == 303)


@pytest.mark.parametrize("key", ["", "guessed", None])
def test_a_form_without_the_key_of_its_browser_is_not_taken(
    page: TestClient, store: Store, key: str | None
) -> None:
    form = next(f for f in forms_on(page.get("/bed/beans").text) if f.action == "/note/picking")
    sent = {name: value for name, value in form.fields if name != "form_key"}
    sent |= {} if key is None else {"form_key": key}
    answer = page.post(form.action, data=sent, headers={"Origin": HOME})
    assert answer.status_code == 403
    assert "load the page anew" in answer.text
    assert not store.journal.entries(NOW)
    page.cookies.clear()
    assert page.post(form.action, data=sent, headers={"Origin": HOME}).status_code == 403


def test_nothing_is_written_by_looking(page: TestClient, store: Store) -> None:
    assert page.get("/note/picking?bed=beans").status_code == 405
    assert not store.journal.entries(NOW)


def test_what_is_typed_in_is_shown_as_words_and_is_never_markup(
    page: TestClient, store: Store, garden: Garden
) -> None:
    start = NOW - timedelta(days=20)
    note(store, garden, start, "steep-started", vessel="leek", matter=[{"plant": "leek"}])
    evil = '<script>alert("1")</script>'
    entry = note(store, garden, NOW, "decanted", vessel="leek", litres=1.0, into=evil)
    assert entry.kind == "decanted"
    for path in ("/?noted=2", "/journal"):
        said = page.get(path).text
        assert "&lt;script&gt;" in said
        assert not [e for e in parsed(said).iter() if e.tag.endswith("script")]


def in_pieces() -> Iterator[bytes]:
    for _ in range(3):
        yield b"x=" + b"y" * (MOST_BYTES // 2)


def test_more_than_any_form_sends_is_not_read(page: TestClient) -> None:
    kind = {"Content-Type": "application/x-www-form-urlencoded", "Origin": HOME}
    said_so = page.post("/note/picking", content=b"x" * (MOST_BYTES + 1), headers=kind)
    assert said_so.status_code == 413
    did_not_say = page.post("/note/picking", content=in_pieces(), headers=kind)
    assert did_not_say.status_code == 413
