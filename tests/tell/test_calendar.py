"""The calendar against RFC 5545: read by icalendar, and its rules held to the bytes."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING, Any

import pytest
from icalendar import Calendar
from tests.tell.conftest import NOW

from steepwell.tell.calendar import calendar_of
from steepwell.tell.documents import Outlook, Plan
from steepwell.tell.letter import LetterFacts, compose_letter

if TYPE_CHECKING:
    from icalendar.cal import Component

    from steepwell.garden.garden import Garden

Json = dict[str, Any]
Change = Callable[..., Json]

LONG = "in flower, when dryness costs pods; ½ a can more, said Ünal, \\ or so: " * 3


@pytest.fixture
def written(garden: Garden, plan: Change, water: Change, outlook: Json) -> bytes:
    lines = [water(reason=LONG), water(bed="leeks", daily_l=2.0, cans=0, litres=14.0)]
    document = Plan.model_validate(plan(water=lines))
    return calendar_of(garden, document, Outlook.model_validate(outlook))


def events(calendar: bytes) -> dict[str, Component]:
    found = Calendar.from_ical(calendar).walk("VEVENT")
    return {str(event["UID"]).partition("@")[0]: event for event in found}


def test_it_holds_jobs_ready_days_and_what_to_fill(written: bytes) -> None:
    told = {name: (str(e["SUMMARY"]), e.decoded("DTSTART")) for name, e in events(written).items()}
    assert {name: summary for name, (summary, _) in told.items()} == {
        "feed-2031-06-07": "Feed leeks",
        "water-2031-06-08": "Water beans 2½ cans",
        "water-2031-06-11": "Water beans 2½ cans",
        "fill-comfrey-2031": "Fill the comfrey vessel",
        "ready-comfrey-2031-06-06": "The comfrey vessel is ready about now",
    }
    days = {name: start for name, (_, start) in told.items() if not name.startswith("water")}
    assert days == {
        "feed-2031-06-07": date(2031, 6, 7),
        "fill-comfrey-2031": date(2031, 6, 12),
        "ready-comfrey-2031-06-06": date(2031, 6, 11),
    }
    # 19:00 in British Summer Time is 18:00 in UTC.
    evening = told["water-2031-06-08"][1]
    assert evening.astimezone(UTC) == datetime(2031, 6, 8, 18, tzinfo=UTC)


def test_text_comes_back_as_it_was(written: bytes) -> None:
    assert LONG.strip().removeprefix("in") in str(
        events(written)["water-2031-06-08"]["DESCRIPTION"]
    )


def test_lines_are_folded_at_75_octets_and_end_by_crlf(written: bytes) -> None:
    # RFC 5545, section 3.1: lines longer than 75 octets, the break not counted, are folded; the
    # break is CRLF and a space, and a character of several octets stays whole here.
    assert written.endswith(b"\r\n")
    assert b"\n" not in written.replace(b"\r\n", b"")
    lines = written.split(b"\r\n")
    assert max(len(line) for line in lines) <= 75
    assert sum(line.startswith(b" ") for line in lines) > 3
    for line in lines:
        line.decode()


def test_what_has_to_be_there_is_there_once(written: bytes) -> None:
    # RFC 5545, sections 3.6 and 3.6.1.
    calendar = Calendar.from_ical(written)
    assert str(calendar["VERSION"]) == "2.0"
    assert str(calendar["PRODID"])
    for event in calendar.walk("VEVENT"):
        for name in ("UID", "DTSTAMP", "DTSTART", "SEQUENCE", "LAST-MODIFIED"):
            assert not isinstance(event[name], list)
        assert ("DTEND" in event) != ("DURATION" in event)
        assert str(event["TRANSP"]) == "TRANSPARENT"
        assert not calendar.errors
        assert not event.errors


def test_stamps_are_in_utc_and_days_end_before_the_next(written: bytes) -> None:
    text = written.decode()
    # Section 3.3.5, form 2: UTC carries Z and no TZID.
    assert set(re.findall(r"^(?:DTSTAMP|LAST-MODIFIED):(\S+)\r$", text, re.MULTILINE)) == {
        "20310606T053000Z"
    }
    # Section 3.6.1: the end is not part of the event; a day lasts to the next one.
    starts = re.findall(r"^DTSTART;VALUE=DATE:(\d{8})\r$", text, re.MULTILINE)
    ends = re.findall(r"^DTEND;VALUE=DATE:(\d{8})\r$", text, re.MULTILINE)
    assert starts == ["20310607", "20310611", "20310612"]
    assert ends == ["20310608", "20310612", "20310613"]


def test_the_zone_that_is_named_is_told(written: bytes) -> None:
    text = written.decode()
    named = set(re.findall(r";TZID=([^:;]+):", text))
    assert named == {"Europe/London"}
    zones = {str(zone["TZID"]): zone for zone in Calendar.from_ical(written).walk("VTIMEZONE")}
    assert set(zones) == named
    # Section 3.6.5: at least one part, each with DTSTART, TZOFFSETFROM and TZOFFSETTO.
    parts = zones["Europe/London"].subcomponents
    assert {part.name for part in parts} == {"STANDARD", "DAYLIGHT"}
    for part in parts:
        assert {"DTSTART", "TZOFFSETFROM", "TZOFFSETTO"} <= set(part)
    summer = next(part for part in parts if part.name == "DAYLIGHT")
    assert summer.decoded("TZOFFSETTO") == timedelta(hours=1)


def test_a_change_keeps_its_name_and_raises_its_number(
    garden: Garden, plan: Change, water: Change, written: bytes
) -> None:
    again = plan(issued="2031-06-07T06:30:00+01:00", water=[water(cans=4, litres=36)])
    later = events(calendar_of(garden, Plan.model_validate(again), None))
    before, after = events(written)["water-2031-06-08"], later["water-2031-06-08"]
    assert (str(before["SUMMARY"]), str(after["SUMMARY"])) == (
        "Water beans 2½ cans",
        "Water beans 2 cans",
    )
    for name in ("SEQUENCE", "DTSTAMP", "LAST-MODIFIED"):
        assert after.decoded(name) > before.decoded(name)


def test_the_same_facts_give_the_same_bytes(garden: Garden, plan: Change) -> None:
    document = Plan.model_validate(plan())
    assert calendar_of(garden, document, None) == calendar_of(garden, document, None)


def test_a_calendar_is_never_empty(garden: Garden) -> None:
    # Section 3.6: at least one component.
    (event,) = Calendar.from_ical(calendar_of(garden, None, None)).walk("VEVENT")
    assert str(event["SUMMARY"]) == "Nothing to do in the garden"


@pytest.mark.parametrize("wanted", [False, True])
def test_the_letter_brings_it_along_only_if_asked_to(
    garden: Garden, plan: Change, outlook: Json, *, wanted: bool
) -> None:
    told = garden.told.model_copy(update={"attach_calendar": wanted})
    asked = garden.model_copy(update={"told": told})
    mail = compose_letter(
        LetterFacts(
            garden=asked, person=told.people[0], now=NOW, plan=plan(), outlook=outlook, picture=b"p"
        )
    )
    attached = [part for part in mail.walk() if part.get_content_type() == "text/calendar"]
    assert len(attached) == wanted
    for part in attached:
        assert part.get_param("method") == "PUBLISH"
        content = part.get_payload(decode=True)
        assert content == calendar_of(
            asked, Plan.model_validate(plan()), Outlook.model_validate(outlook)
        )
