from __future__ import annotations

from datetime import UTC, datetime, timedelta
from email import message_from_bytes, policy
from email.message import EmailMessage
from typing import TYPE_CHECKING, Any

import pytest

from steepwell.store.notices import NoticeEvent
from steepwell.tell.notice_mail import compose_digest

if TYPE_CHECKING:
    from steepwell.garden.garden import Garden
    from steepwell.garden.site import Person

WHEN = datetime(2031, 7, 20, 6, 0, tzinfo=UTC)


def event(headline: str, **changes: Any) -> NoticeEvent:  # noqa: ANN401 - fields of many types
    kind = headline.lower().replace(" ", "-")
    fields: dict[str, Any] = {
        "id": f"{kind}/it",
        "kind": kind,
        "subject": "it",
        "event": "raised",
        "at": WHEN,
        "urgency": "Expected",
        "severity": "Minor",
        "certainty": "Observed",
        "headline": headline,
        "text": f"About {headline.lower()}: 8 L are left. Water by the can. Over at 40 L.",
        "figures": {"thermal_age_d": 9.1},
        "reason": "found for the first time",
    }
    return NoticeEvent(**{**fields, **changes})


DRY = event("The butts are dry", urgency="Immediate", severity="Severe")
SILENT = event("The gauge is silent")
READY = event("The leek vessel is ready", urgency="Future")
AHEAD = event("Water may run out", urgency="Future", severity="Moderate")
OVER = event("Over", event="cleared", urgency="Past", severity="Severe")


def text_of(mail: EmailMessage) -> str:
    content = mail.get_content()
    assert isinstance(content, str)
    return content


def test_one_notice_is_its_own_subject(garden: Garden, person: Person) -> None:
    mail = compose_digest(garden, person, [DRY], WHEN)
    assert mail["Subject"] == "The butts are dry"
    assert text_of(mail).startswith("About the butts are dry: 8 L are left. Water by the can.")


@pytest.mark.parametrize("turned", [False, True])
def test_the_most_urgent_comes_first_and_what_is_over_last(
    garden: Garden, person: Person, *, turned: bool
) -> None:
    events = [OVER, READY, AHEAD, SILENT, DRY]
    mail = compose_digest(garden, person, events[::-1] if turned else events, WHEN)
    text = text_of(mail)
    assert mail["Subject"] == "The butts are dry, and 4 more"
    places = [text.find(f"{each.headline}\n---") for each in (DRY, SILENT, AHEAD, READY, OVER)]
    assert -1 not in places
    assert places == sorted(places)


def test_what_is_over_comes_after_what_is_not(garden: Garden, person: Person) -> None:
    over = event("Over", event="cleared", urgency="Immediate", severity="Extreme")
    assert compose_digest(garden, person, [over, READY], WHEN)["Subject"].startswith("The leek")


def test_figures_of_the_machine_stay_with_it(garden: Garden, person: Person) -> None:
    text = text_of(compose_digest(garden, person, [DRY], WHEN))
    assert "9.1" not in text
    assert "thermal" not in text


def test_the_mail_is_a_mail(garden: Garden, person: Person) -> None:
    long = event("Leek feed is ready: 2½ cans", text="word " * 500)
    raw = compose_digest(garden, person, [long], WHEN).as_bytes()
    mail = message_from_bytes(raw, policy=policy.default)
    assert isinstance(mail, EmailMessage)
    assert mail["Subject"] == "Leek feed is ready: 2½ cans"
    assert mail["To"].addresses[0].addr_spec == "robin@example.org"
    assert mail["From"].addresses[0].addr_spec == "garden@mail.example.org"
    assert mail["Auto-Submitted"] == "auto-generated"
    assert mail["Date"].datetime == WHEN
    assert raw.isascii()
    assert all(len(line) <= 78 for line in raw.split(b"\r\n"))


def test_a_headline_cannot_add_a_header(garden: Garden, person: Person) -> None:
    mail = compose_digest(garden, person, [event("Dry\r\nBcc: nobody@example.org")], WHEN)
    assert mail["Bcc"] is None
    assert mail["Subject"] == "Dry Bcc: nobody@example.org"


def test_the_same_notices_are_the_same_mail_and_others_another(
    garden: Garden, person: Person
) -> None:
    mail = compose_digest(garden, person, [DRY, SILENT], WHEN)
    assert mail.as_bytes() == compose_digest(garden, person, [SILENT, DRY], WHEN).as_bytes()
    later = event("The butts are dry", at=WHEN + timedelta(days=1), urgency="Immediate")
    marks = {
        compose_digest(garden, person, events, WHEN)["Message-ID"]
        for events in ([DRY, SILENT], [DRY], [later])
    }
    assert len(marks) == 3


def test_there_is_no_mail_about_nothing(garden: Garden, person: Person) -> None:
    with pytest.raises(ValueError, match="at least one"):
        compose_digest(garden, person, [], WHEN)
