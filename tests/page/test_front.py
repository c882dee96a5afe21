"""The front of the page says what to do, in the order of what a person needs."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET

import pytest
from tests.gardens import note
from tests.page.conftest import NOW
from tests.page.visitor import forms_on, parsed, send

from steepwell.store.ledger import CAUGHT_UP
from steepwell.store.notices import NoticeEvent
from steepwell.tell import charts

if TYPE_CHECKING:
    from starlette.testclient import TestClient

    from steepwell.garden.garden import Garden
    from steepwell.store.notices import Urgency
    from steepwell.store.store import Store


@pytest.mark.usefixtures("worked_out")
def test_what_to_do_comes_first_then_water_vessels_beds_and_sensors(page: TestClient) -> None:
    said = page.get("/").text
    parsed(said)
    order = [
        said.index(words)
        for words in (
            "Water beans, 2½ cans each time",
            "310 of 630",
            "use 1:300",
            ">Beans<",
            "never heard",
        )
    ]
    assert order == sorted(order)


def test_a_garden_of_which_nothing_is_worked_out_yet_has_a_page(page: TestClient) -> None:
    answer = page.get("/")
    assert answer.status_code == 200
    parsed(answer.text)
    assert "Nothing is worked out yet" in answer.text


def tell(store: Store, urgency: Urgency) -> None:
    """Have a notice stand."""
    event = NoticeEvent(
        id="leak/north",
        kind="leak",
        subject="north",
        event="raised",
        at=NOW - timedelta(hours=1),
        urgency=urgency,
        severity="Moderate",
        certainty="Likely",
        headline="The north butt leaks",
        text="It loses 5 L a day. Look at its tap & <b>seams</b>",
        figures={},
        reason="raised",
    )
    store.notices.record([event])


@pytest.mark.usefixtures("worked_out")
def test_what_cannot_wait_comes_before_the_jobs(page: TestClient, store: Store) -> None:
    tell(store, "Immediate")
    said = page.get("/").text
    assert said.index("The north butt leaks") < said.index("Water beans")
    assert "tap &amp; &lt;b&gt;seams" in said


@pytest.mark.usefixtures("worked_out")
@pytest.mark.parametrize(
    ("index", "button"),
    [(0, ("answer", "seen")), (0, ("answer", "no-more")), (1, ("answer", "later"))],
)
def test_a_notice_that_was_answered_is_not_shown_again(
    page: TestClient, store: Store, index: int, button: tuple[str, str]
) -> None:
    tell(store, "Expected")
    answers = [f for f in forms_on(page.get("/").text) if f.action == "/note/answered"]
    assert button in answers[index].buttons
    assert send(page, answers[index], button).status_code == 303
    assert "The north butt leaks" not in page.get("/").text


@pytest.mark.usefixtures("worked_out")
def test_a_garden_that_rests_is_told_so(page: TestClient, store: Store, garden: Garden) -> None:
    note(store, garden, NOW - timedelta(days=1), "put-to-bed")
    said = page.get("/").text
    parsed(said)
    assert "At rest, 310 L in hand" in said
    assert "Water beans" not in said


def test_the_picture_is_in_the_ink_of_the_page(page: TestClient, store: Store) -> None:
    assert page.get("/water-ahead.svg").status_code == 404
    drawn = f'<svg><defs></defs><path style="fill: {charts.WIDE}; stroke: {charts.INK}"/></svg>'
    store.results.save("page", NOW, {"schema": 1, "water_ahead": drawn})
    answer = page.get("/water-ahead.svg")
    assert answer.headers["Content-Type"] == "image/svg+xml"
    # A browser that opens it alone runs nothing in it.
    assert "sandbox" in answer.headers["Content-Security-Policy"]
    svg = ET.fromstring(answer.text)  # noqa: S314 - we made it
    (path,) = svg.iter("path")
    assert path.get("style") == "fill: var(--wide); stroke: var(--ink)"
    assert "prefers-color-scheme:dark" in answer.text


@pytest.mark.usefixtures("worked_out")
def test_figures_that_a_note_unsettles_are_said_to_be_worked_out_anew(
    page: TestClient, store: Store, garden: Garden
) -> None:
    paths, said = ("/", "/vessel/leek"), "worked out anew"
    assert not any(said in page.get(path).text for path in paths)
    matter = [{"plant": "leek"}]
    note(store, garden, NOW, "steep-started", vessel="leek", matter=matter, water_l=10)
    assert all(said in page.get(path).text for path in paths)
    store.ledger.finish(CAUGHT_UP, NOW)
    assert not any(said in page.get(path).text for path in paths)
