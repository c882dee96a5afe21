"""What is answered at all, how much may come, and what a browser may load."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from tests.page.conftest import ALL_OF_THE_NETWORK

from steepwell.garden.site import Page
from steepwell.page.guard import is_answered, names_answered

if TYPE_CHECKING:
    from starlette.testclient import TestClient

HOME = Page()
NETWORK = Page(host=ALL_OF_THE_NETWORK, address="http://garden.example.org")


@pytest.mark.parametrize(
    ("settings", "host", "answered"),
    [
        (HOME, "localhost:8088", True),
        (HOME, "127.0.0.1", True),
        (HOME, "[::1]:8088", True),
        # A page elsewhere whose name leads here (DNS rebinding).
        (HOME, "rebound.example.net:8088", False),
        (HOME, "192.0.2.7:8088", False),
        (HOME, "", False),
        (HOME, "localhost.example.net", False),
        (HOME, "[::1", False),
        (NETWORK, "garden.example.org", True),
        (NETWORK, "GARDEN.example.org:8088", True),
        (NETWORK, "shed:8088", True),
        (NETWORK, "shed.local", True),
        (NETWORK, "192.0.2.7:8088", True),
        (NETWORK, "rebound.example.net:8088", False),
    ],
)
def test_the_page_answers_to_its_own_names(settings: Page, host: str, *, answered: bool) -> None:
    assert is_answered(host, names_answered(settings, "Shed")) is answered


def test_a_foreign_name_is_turned_away_before_anything_else(page: TestClient) -> None:
    answer = page.get("/", headers={"Host": "rebound.example.net"})
    assert answer.status_code == 421
    assert "orchard" not in answer.text


@pytest.mark.parametrize("path", ["/", "/nothing", "/enter/wrong"])
def test_every_answer_says_that_nothing_is_loaded_from_elsewhere(
    page: TestClient, path: str
) -> None:
    headers = page.get(path).headers
    rules = dict(
        rule.strip().split(" ", 1) for rule in headers["Content-Security-Policy"].split(";")
    )
    assert rules == {
        "default-src": "'none'",
        "style-src": "'self'",
        "img-src": "'self'",
        "form-action": "'self'",
        "base-uri": "'none'",
        "frame-ancestors": "'none'",
    }
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["Referrer-Policy"] == "same-origin"
    assert headers["Cache-Control"] == "no-store"


def test_the_style_sheet_is_kept_and_asked_for_once(page: TestClient) -> None:
    address = page.get("/").text.partition('rel="stylesheet" href="')[2].partition('"')[0]
    sheet = page.get(address)
    assert sheet.headers["Content-Type"].startswith("text/css")
    assert "immutable" in sheet.headers["Cache-Control"]
