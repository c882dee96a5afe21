"""What a gardener needs of a letter, and what a mail program needs of it."""

from __future__ import annotations

import dataclasses
import re
from datetime import UTC, datetime
from email import message_from_bytes, policy
from email.message import EmailMessage
from html.parser import HTMLParser
from typing import TYPE_CHECKING, Any

import pytest

from steepwell.garden.load import garden_from
from steepwell.tell.letter import LetterFacts, compose_letter

if TYPE_CHECKING:
    from collections.abc import Callable

    from steepwell.garden.garden import Garden
    from steepwell.garden.site import Person

Json = dict[str, Any]
PICTURE = b"\x89PNG\r\n\x1a\n the picture"
WITH_CONTENT_OF_OTHERS = {"script", "link", "iframe", "object", "embed", "a", "form", "button"}


class Page(HTMLParser):
    """Gathers the words, tags and addresses of an HTML part."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.words: list[str] = []
        self.tags: set[str] = set()
        self.addresses: list[str] = []
        self.images: list[dict[str, str | None]] = []
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        self.addresses += [value or "" for name, value in attrs if name in {"src", "href"}]
        if tag == "img":
            self.images.append(dict(attrs))

    def handle_data(self, data: str) -> None:
        if self.lasttag != "style":
            self.words.append(data)

    @property
    def text(self) -> str:
        return squeezed(" ".join(self.words))


def squeezed(text: str) -> str:
    return " ".join(text.replace("\u00a0", " ").split())


def part(mail: EmailMessage, kind: str) -> str:
    body = mail.get_body((kind,))
    assert isinstance(body, EmailMessage)
    content = body.get_content()
    assert isinstance(content, str)
    return content


def received(mail: EmailMessage) -> EmailMessage:
    parsed = message_from_bytes(mail.as_bytes(), policy=policy.default)
    assert isinstance(parsed, EmailMessage)
    return parsed


@pytest.fixture
def facts(
    garden: Garden, person: Person, plan: Callable[..., Json], outlook: Json, now: datetime
) -> LetterFacts:
    outlook["water"]["dry_by"] = {"p10": "2031-06-30", "p50": "2031-07-04", "p90": "2031-07-20"}
    return LetterFacts(
        garden=garden,
        person=person,
        now=now,
        plan=plan(),
        outlook=outlook,
        picture=PICTURE,
        last_forecast="a week ago 300 to 340 L were expected for today",
    )


def test_the_letter_says_its_parts_in_order(facts: LetterFacts) -> None:
    parts = [
        "310 of 630 L in hand. Shared out as below it lasts to about 22 July (18 July to 8 August)",
        "Water: beans 5 cans.",
        "Feed: leeks, 2 tablespoons (30 mL) in 1 can.",
        "This week, 6 to 12 June",
        "Feed leeks On Saturday 7, from the leek vessel, 1:300.",
        "Water beans, 2½ cans each time",
        "On Sunday 8 and Wednesday 11, from the north butt.",
        "Skip it if your gauge catches more than 10 mm first.",
        "and does not replace compost.",
        "Onions: ripening, and they keep better dry.",
        "1 mower box of clippings, 2 cm deep; saves about 12 L in six weeks.",
        (
            "Fill the comfrey vessel by 12 June: 14 L of rainwater and 2 buckets of comfrey "
            "leaves. The first cut is due now."
        ),
        "A week ago 300 to 340 L were expected for today.",
        "nor spray",
    ]
    mail = compose_letter(facts)
    for text in (squeezed(part(mail, "plain")), Page(part(mail, "html")).text):
        told = text.replace(" 1. ", " ").replace(" 2. ", " ").replace(" - ", " ")
        places = [told.find(each) for each in parts]
        assert -1 not in places, parts[places.index(-1)]
        assert places == sorted(places)


def test_the_subject_says_the_one_thing(facts: LetterFacts) -> None:
    subject = compose_letter(facts)["Subject"]
    assert subject == "Water to about 22 July. Soak beans, feed leeks"


def first_line(facts: LetterFacts, **changes: Any) -> str:  # noqa: ANN401 - fields of many types
    mail = compose_letter(dataclasses.replace(facts, plan={**facts.plan, **changes}))
    return squeezed(part(mail, "plain").partition("\nWater:")[0])


def test_a_plan_claims_no_saving_it_has_not_worked_out(facts: LetterFacts) -> None:
    assert facts.outlook is not None
    assert first_line(facts, lasts_to=facts.outlook["water"]["dry_by"]) == (
        "310 of 630 L in hand. As you water now, it lasts to about 4 July (30 June to 20 July)."
    )


def test_beds_fed_alike_are_named_together(facts: LetterFacts, feed: Callable[..., Json]) -> None:
    by_jug = feed(bed="kale", feed_ml=160, spoons="160 mL", measure="jug")
    lines = [feed(bed="leeks"), feed(bed="onions"), by_jug]
    for count, *told in (
        (
            2,
            "Feed: leeks and onions, 2 tablespoons (30 mL) in 1 can each.",
            "Feed leeks and onions",
        ),
        # How much of each its job says.
        (
            3,
            "Feed: leeks, onions and kale, a can each.",
            "Leeks and onions, each: 2 tablespoons.",
        ),
    ):
        plan = {**facts.plan, "feed": lines[:count]}
        text = squeezed(part(compose_letter(dataclasses.replace(facts, plan=plan)), "plain"))
        assert all(each in text for each in told)
        assert text.count("2 tablespoons") == 1


def test_vessels_that_need_the_same_are_named_together(facts: LetterFacts) -> None:
    lines = [
        {**facts.plan["vessels"][0], "name": name, "rainwater_l": water_l, "by": None}
        for name, water_l in (("kale", 54), ("leek", 36))
    ]
    mail = compose_letter(dataclasses.replace(facts, plan={**facts.plan, "vessels": lines}))
    assert (
        "Fill the kale vessel and the leek vessel: 54 L and 36 L of rainwater and 2 buckets of "
        "comfrey leaves. The first cut is due now."
    ) in squeezed(part(mail, "plain"))


def test_feed_that_will_not_do_is_told(facts: LetterFacts) -> None:
    short = {"family": "onion family", "there_l": 0.4, "wanted_l": 0.87, "by": "2031-07-10"}
    mail = compose_letter(dataclasses.replace(facts, plan={**facts.plan, "short_feed": [short]}))
    assert (
        "Of feed for the onion family there is 0.4 L in hand; its beds will take about 0.9 L by "
        "10 July."
    ) in squeezed(part(mail, "plain"))


def test_less_than_a_can_is_dry(facts: LetterFacts) -> None:
    # 2 % of 630 L are 12.6 L, more than a can of 9 L.
    assert first_line(facts, in_hand_l=12) == "12 of 630 L in hand, which is as good as dry."
    assert "as good as dry" not in first_line(facts, in_hand_l=13)


def test_both_forms_say_the_same(facts: LetterFacts) -> None:
    mail = compose_letter(facts)
    page = Page(part(mail, "html")).text
    text = part(mail, "plain").partition("\n-- \n")[0]
    paragraphs = re.split(r"\n\n|:\n|\n(?=\d\. |- |   (?=[A-Z]))", text)
    said = [squeezed(re.sub(r"^\s*(\d\.|-)\s+", "", each)) for each in paragraphs]
    missing = [each for each in said if each.strip("-") and each.strip("- ") not in page]
    assert not missing


@pytest.mark.parametrize("kind", ["plain", "html"])
def test_a_supplement_is_called_one_once_and_only_with_feed(facts: LetterFacts, kind: str) -> None:
    unfed = dataclasses.replace(facts, plan={**facts.plan, "feed": []})
    assert squeezed(part(compose_letter(facts), kind)).count("does not replace compost") == 1
    assert "compost." not in part(compose_letter(unfed), kind)


def test_the_html_names_its_language(facts: LetterFacts) -> None:
    # WCAG 2.2, success criterion 3.1.1.
    language = facts.garden.garden.language
    assert f'<html lang="{language}">' in part(compose_letter(facts), "html")


def test_the_html_needs_nothing_from_elsewhere(facts: LetterFacts) -> None:
    html = part(compose_letter(facts), "html")
    page = Page(html)
    assert not page.tags & WITH_CONTENT_OF_OTHERS
    assert not re.search(r"https?:|url\(|@import|@font-face|//", html)
    assert [address.partition(":")[0] for address in page.addresses] == ["cid"]


def test_the_picture_is_in_the_mail_and_told_in_words(facts: LetterFacts) -> None:
    mail = received(compose_letter(facts))
    (image,) = Page(part(mail, "html")).images
    (inside,) = [each for each in mail.walk() if each.get_content_type() == "image/png"]
    assert inside["Content-ID"] == f"<{str(image['src']).removeprefix('cid:')}>"
    assert inside.get_content_disposition() == "inline"
    assert inside.get_payload(decode=True) == PICTURE
    assert "it lasts to about 22 July" in str(image["alt"])


def test_without_a_picture_nothing_points_at_one(facts: LetterFacts) -> None:
    mail = compose_letter(dataclasses.replace(facts, picture=None))
    assert not Page(part(mail, "html")).images
    assert [each.get_content_type() for each in mail.walk()] == [
        "multipart/alternative",
        "text/plain",
        "text/html",
    ]


def test_the_best_form_comes_last(facts: LetterFacts) -> None:
    # RFC 2046, section 5.1.4: the last alternative is the one preferred.
    mail = received(compose_letter(facts))
    assert mail.get_content_type() == "multipart/alternative"
    assert [each.get_content_type() for each in mail.iter_parts()] == [
        "text/plain",
        "multipart/related",
    ]


def test_the_headers_are_those_of_a_machine_that_wants_no_answer(facts: LetterFacts) -> None:
    mail = received(compose_letter(facts))
    assert mail["From"].addresses[0].addr_spec == "garden@mail.example.org"
    assert mail["To"].addresses[0].addr_spec == "robin@example.org"
    assert mail["Date"].datetime == facts.now
    assert mail["Auto-Submitted"] == "auto-generated"  # RFC 3834, section 5
    assert mail["MIME-Version"] == "1.0"
    # Friday of ISO week 23.
    assert mail["Message-ID"] == "<steepwell-orchard-end-2031-W23-5-robin@mail.example.org>"
    assert "List-Unsubscribe" not in mail


def test_of_beds_that_are_not_fed_the_letter_names_those_whose_turn_it_was(
    facts: LetterFacts,
) -> None:
    unfed = [
        {"bed": "leeks", "reason": "it wants water first, on 8 June", "due": True},
        {"bed": "beans", "reason": "bean is never fed", "due": False},
    ]
    told = part(
        compose_letter(dataclasses.replace(facts, plan={**facts.plan, "unfed": unfed})), "plain"
    )
    assert "wants water first" in told
    assert "never fed" not in told


def test_no_line_is_longer_than_a_mail_may_have(facts: LetterFacts) -> None:
    # RFC 5322, section 2.1.1: 998 must, 78 should, without the CRLF.
    plan = {**facts.plan, "unfed": [{"bed": "beans", "reason": "word " * 500}]}
    mail = compose_letter(dataclasses.replace(facts, plan=plan)).as_bytes()
    assert all(len(line) <= 78 for line in mail.split(b"\r\n"))
    assert b"\n" not in mail.replace(b"\r\n", b"")
    assert mail.isascii()


def test_the_text_is_narrow_enough_to_read_and_to_quote(facts: LetterFacts) -> None:
    assert all(len(line) <= 72 for line in part(compose_letter(facts), "plain").splitlines())


def test_the_same_facts_give_the_same_bytes(facts: LetterFacts) -> None:
    assert compose_letter(facts).as_bytes() == compose_letter(facts).as_bytes()


def test_letters_of_different_days_are_different_mails(facts: LetterFacts) -> None:
    late = dataclasses.replace(facts, now=datetime(2031, 6, 2, 5, 0, tzinfo=UTC))
    assert compose_letter(late)["Message-ID"] != compose_letter(facts)["Message-ID"]


def test_the_day_of_a_letter_is_the_garden_s_day(facts: LetterFacts) -> None:
    # 23:30 UTC on Friday is Saturday in British summer.
    night = dataclasses.replace(facts, now=datetime(2031, 6, 6, 23, 30, tzinfo=UTC))
    assert "2031-W23-6-robin@" in compose_letter(night)["Message-ID"]


def test_what_stands_in_a_reason_cannot_become_markup(facts: LetterFacts) -> None:
    lines = [{"bed": "beans", "reason": 'dry <b onclick="x">& "hot"</b>'}]
    html = part(
        compose_letter(dataclasses.replace(facts, plan={**facts.plan, "unfed": lines})), "html"
    )
    assert "<b onclick" not in html
    assert 'dry <b onclick="x">& "hot"</b>' in Page(html).text


def test_a_garden_without_a_mail_server_still_writes_letters(
    facts: LetterFacts, garden_raw: Json
) -> None:
    del garden_raw["told"]["mail"]
    mail = compose_letter(dataclasses.replace(facts, garden=garden_from(garden_raw)))
    # RFC 2606, section 2: .invalid is nobody's.
    assert mail["From"].addresses[0].domain.endswith(".invalid")


def test_an_outlook_of_yesterday_is_called_that(facts: LetterFacts, outlook: Json) -> None:
    old = dataclasses.replace(facts, outlook={**outlook, "issued": "2031-06-05T06:30:00+01:00"})
    text = squeezed(part(compose_letter(old), "plain"))
    assert "those of yesterday's outlook, of Thursday 5 June: today's could not be made" in text
    assert "could not be made" not in part(compose_letter(facts), "plain")


@pytest.mark.parametrize(
    ("record", "why"),
    [(None, "names no weather record"), ({"daily": "weather.csv"}, "could not be made")],
)
def test_a_missing_outlook_is_explained(
    facts: LetterFacts, garden_raw: Json, record: Json | None, why: str
) -> None:
    garden_raw["weather_record"] = record
    if record is None:
        del garden_raw["weather_record"]
    without = dataclasses.replace(
        facts,
        garden=garden_from(garden_raw),
        outlook=None,
        picture=None,
        plan={**facts.plan, "lasts_to": None},
    )
    text = squeezed(part(compose_letter(without), "plain"))
    assert why in text
    assert "310 of 630 L in hand. How long that lasts cannot be said yet." in text
    assert "Water beans, 2½ cans each time" in text


def test_an_age_is_never_shown(facts: LetterFacts) -> None:
    text = part(compose_letter(facts), "plain") + part(compose_letter(facts), "html")
    assert "330" not in text
    assert "9.1" not in text


def test_a_week_without_anything_to_do_says_so(facts: LetterFacts) -> None:
    idle = {**facts.plan, "water": [], "feed": [], "unfed": [], "vessels": [], "mulch": []}
    mail = compose_letter(dataclasses.replace(facts, plan=idle))
    assert mail["Subject"] == "Water to about 22 July. Nothing to do now"
    assert "Nothing to do." in part(mail, "plain")
    assert "Take care" not in part(mail, "plain")


@pytest.mark.parametrize(("tap", "told"), [("unknown", True), ("yes", True), ("no", False)])
def test_dry_butts_leave_the_tap(
    facts: LetterFacts,
    garden_raw: Json,
    water: Callable[..., Json],
    tap: str,
    *,
    told: bool,
) -> None:
    garden = garden_from({**garden_raw, "tap": {"available": tap}})
    nothing = [water(cans=0, litres=0, days=[], **{"from": None})]
    dry = {**facts.plan, "in_hand_l": 2, "water": nothing, "feed": [], "vessels": [], "mulch": []}
    text = part(compose_letter(dataclasses.replace(facts, garden=garden, plan=dry)), "plain")
    assert ("1. Water from the tap what wilts at dawn" in text) is told
    assert ("Nothing to do." in text) is not told


def test_a_plan_that_is_none_is_refused(facts: LetterFacts) -> None:
    with pytest.raises(ValueError, match="water"):
        compose_letter(dataclasses.replace(facts, plan={"schema": 1}))
