"""The calendar's address: it reads, answers only who knows it, and can be changed."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from icalendar import Calendar

from steepwell.page.calendar import calendar_report
from steepwell.tell.links import CALENDAR_LINKS

if TYPE_CHECKING:
    from starlette.testclient import TestClient

    from steepwell.garden.garden import Garden
    from steepwell.store.store import Store


def path_to(garden: Garden, *, renew: bool = False) -> str:
    address: str = calendar_report(garden, renew=renew)["address"]
    return address[address.index("/calendar/") :]


@pytest.mark.usefixtures("worked_out")
def test_who_knows_the_address_can_subscribe(page: TestClient, garden: Garden) -> None:
    path = path_to(garden)
    answer = page.get(path)
    assert answer.headers["content-type"] == "text/calendar; charset=utf-8"
    assert len(Calendar.from_ical(answer.content).walk("VEVENT")) > 3
    again = page.get(path, headers={"If-None-Match": answer.headers["etag"]})
    assert (again.status_code, again.content) == (304, b"")
    assert page.post(path).status_code == 405


def test_the_front_leads_a_phone_to_it(page: TestClient, garden: Garden) -> None:
    assert f'href="webcal://localhost:8088{path_to(garden)}"' in page.get("/").text


def test_nobody_else_can(page: TestClient, garden: Garden, store: Store) -> None:
    assert page.get("/calendar/anything.ics").status_code == 404
    path = path_to(garden)
    assert page.get(path.replace(".ics", "0.ics")).status_code == 404
    assert page.get("/calendar/%C3%BC.ics").status_code == 404
    assert path_to(garden) == path
    renewed = path_to(garden, renew=True)
    assert (page.get(path).status_code, page.get(renewed).status_code) == (404, 200)
    assert store.secrets.known(CALENDAR_LINKS) is not None


def test_who_guesses_is_not_listened_to_for_long(page: TestClient, garden: Garden) -> None:
    path = path_to(garden)
    codes = [page.get(f"/calendar/{guess}.ics").status_code for guess in range(12)]
    assert (codes[0], codes[-1]) == (404, 429)
    assert page.get(path).status_code == 200
