"""Amounts in the units of the gardener's choice, in whatever he reads."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import TYPE_CHECKING, Any, get_args

import pytest
from tests.tell.conftest import NOW

from steepwell.garden.garden import Garden
from steepwell.screens_ahead import outlook_screen, plan_screen
from steepwell.store.notices import NoticeEvent
from steepwell.tell.calendar import calendar_of
from steepwell.tell.documents import Outlook, Plan
from steepwell.tell.going_away import sheet_page, sheet_text
from steepwell.tell.letter import LetterFacts, compose_letter
from steepwell.tell.notice_mail import digest_text
from steepwell.tell.units import Units, in_units, screen_in_units

if TYPE_CHECKING:
    from email.message import EmailMessage

Json = dict[str, Any]
Change = Callable[..., Json]

TAKEN: Json = {
    "job": "water/beans/2031-06-02",
    "bed": "beans",
    "day": "2031-06-02",
    "litres": 27.0,
    "vessel": None,
}
# What must not be left over; what is to be typed stands in quotation marks.
METRIC = re.compile(r"\d[\s\u00a0](?:L|mL|mm|cm|m²|kg|°C|hPa)(?![\w²])|litre")
TYPED = re.compile(r"\"[^\"\n]*\"|&#34;[^&\n]*&#34;")


@pytest.mark.parametrize(
    ("metric", "imperial", "us"),
    [
        # One imperial gallon is 4.54609 L, one US gallon 3.785411784 L, one inch 25.4 mm, one foot
        # 0.3048 m, one pound 0.45359237 kg (NIST Handbook 44, appendix C).
        ("45 L", "9.9 gal", "12 gal"),
        ("310 of 630 L in hand", "68 of 140 gal in hand", "82 of 170 gal in hand"),
        ("1,400 L", "310 gal", "370 gal"),
        ("18 to 27 L", "4 to 5.9 gal", "4.8 to 7.1 gal"),
        # Fluid ounces: 28.4130625 mL and 29.5735295625 mL.
        ("0.5 L", "18 fl oz", "17 fl oz"),
        ("2 tablespoons (30 mL)", "2 tablespoons (1.1 fl oz)", "2 tablespoons (1 fl oz)"),
        ("more than 10 mm", "more than 0.4 in", "more than 0.4 in"),
        ("2 cm deep", "0.8 in deep", "0.8 in deep"),
        ("2.5 cm deep", "1 in deep", "1 in deep"),
        ("8 mm", "0.31 in", "0.31 in"),
        ("20 m² in all", "220 sq ft in all", "220 sq ft in all"),
        # 15 L/m²: 15/4.54609 gal on 10.7639 sq ft.
        ("15 L/m²", "0.31 gal/sq ft", "0.37 gal/sq ft"),
        ("about 5 kg", "about 11 lb", "about 11 lb"),
        ("20 to 45 °C", "68 to 113 °F", "68 to 113 °F"),
        ("-2.5 °C", "27.5 °F", "27.5 °F"),
        # A difference has no zero to shift.
        ("parted by 1.5 °C", "parted by 2.7 °F", "parted by 2.7 °F"),
        ("1:300, 6 June 2031, 3 cans", "1:300, 6 June 2031, 3 cans", "1:300, 6 June 2031, 3 cans"),
        ('note rain-read "4 mm"', 'note rain-read "4 mm"', 'note rain-read "4 mm"'),
        ("30\u00a0mL", "1.1\u00a0fl oz", "1\u00a0fl oz"),
        # Names and addresses are no amounts.
        ("butt-3 L", "butt-3 L", "butt-3 L"),
        ("12 Lilies, 3 mmm", "12 Lilies, 3 mmm", "12 Lilies, 3 mmm"),
    ],
)
def test_amounts_are_turned(metric: str, imperial: str, us: str) -> None:
    told = {units: in_units(metric, units) for units in get_args(Units)}
    assert told == {"metric": metric, "imperial": imperial, "us": us}
    for units, text in told.items():
        assert in_units(text, units) == text or units == "metric"


def test_columns_stay_where_they_are() -> None:
    screen = (
        "            now     ahead\nnorth     143 L     1,400 L\nsouth      70 L        8 mm  dry"
    )
    assert screen_in_units(screen, "us").split("\n") == [
        "            now     ahead",
        "north  37.8 gal     370 gal",
        "south    18 gal     0.31 in  dry",
    ]


def read_by(mail: EmailMessage) -> list[str]:
    parts = [mail.get_body((kind,)) for kind in ("plain", "html")]
    return [str(mail["Subject"]), *(str(part.get_content()) for part in parts if part)]


@pytest.mark.parametrize("units", get_args(Units))
def test_nothing_metric_is_left_in_what_is_read(
    garden: Garden,
    plan: Change,
    water: Change,
    outlook: Json,
    units: Units,
) -> None:
    raw = garden.to_json()
    raw["garden"]["units"] = units
    chosen = Garden.from_json(raw)
    reason = "below 7 °C on average, 25 mm in 20 m², 3 cm deep, 0.5 kg"
    document = plan(water=[water(reason=reason), water(bed="seedlings", daily_l=1.5, cans=0)])
    event = NoticeEvent(
        id="leak/north",
        kind="leak",
        subject="north",
        event="raised",
        at=NOW,
        urgency="Immediate",
        severity="Moderate",
        certainty="Likely",
        headline="Butt north loses about 12 L a day",
        text="It has fallen by 1.5 °C and 300 mm.",
        figures={},
        reason="found",
    )
    week, ahead = Plan.model_validate(document), Outlook.model_validate(outlook)
    facts = LetterFacts(
        garden=chosen,
        person=chosen.told.people[0],
        now=NOW,
        plan=document,
        outlook=outlook,
        first_week=True,
        last_forecast="A week ago 120 to 180 L were expected, and there are 150 L",
    )
    told = [
        *read_by(compose_letter(facts)),
        sheet_text(chosen, week),
        sheet_page(chosen, week),
        digest_text([event], units),
        calendar_of(chosen, week, ahead).decode().replace("\r\n ", ""),
        *(
            screen_in_units(screen, units)
            for screen in (
                outlook_screen(outlook),
                plan_screen({**document, "levers": [], "levers_on": None, "taken": [TAKEN]}),
            )
        ),
    ]
    left = [METRIC.findall(TYPED.sub("", text)) for text in told]
    if units == "metric":
        assert all(left[1:3])
    else:
        assert left == [[] for _ in told]
        assert all(" gal" in text.replace("\u00a0", " ") for text in told[1:3])
