"""What else would help, as the letter says it."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import pytest

from steepwell.garden.load import garden_from
from steepwell.screens_ahead import plan_screen
from steepwell.tell.documents import Plan
from steepwell.tell.letter import LetterFacts, compose_letter
from steepwell.tell.would_help import would_help

if TYPE_CHECKING:
    from datetime import datetime

    from steepwell.garden.garden import Garden
    from steepwell.garden.site import Person

Json = dict[str, Any]
Change = Callable[..., Json]

LAWN = {"area": "40 m2", "treated": False}


def lever(kind: str, bed: str | None, litres: float, days: float, reason: str = "so it is") -> Json:
    return {"lever": kind, "bed": bed, "litres": litres, "days": days, "reason": reason}


@pytest.mark.parametrize(
    ("levers", "said"),
    [
        ([], ()),
        (
            [lever("tap", None, 90.0, 6.4, "10 cans bridge the next two weeks")],
            (
                (
                    "90 L from the tap, and the butts last 6 days longer. "
                    "10 cans bridge the next two weeks."
                ),
            ),
        ),
        # Of each kind the one of which the butts last longest; half a can is the least.
        (
            [
                lever("stop", "beans", 120.0, 4.2),
                lever("stop", "leeks", 80.0, 1.2),
                lever("shade", "leeks", 31.0, 0.9),
                lever("shade", "beans", 4.0, 1.5),
            ],
            (
                "Shade over leeks saves about 31 L in six weeks. So it is.",
                (
                    "To water beans no more saves about 120 L in six weeks, and the butts last "
                    "4 days longer. So it is."
                ),
            ),
        ),
        # Onions are left dry already.
        ([lever("stop", "onions", 120.0, 4.2), lever("shade", "onions", 30.0, 1.0)], ()),
        (
            [lever("mulch", "leeks", 25.0, 1.0)],
            (
                (
                    "Mulch on leeks, 2 to 3 cm thick, saves about 25 L in six weeks, and the butts "
                    "last 1 day longer. So it is."
                ),
            ),
        ),
    ],
)
def test_the_best_of_each_kind_is_said(
    garden: Garden, plan: Change, levers: list[Json], said: tuple[str, ...]
) -> None:
    document = Plan.model_validate({**plan(), "levers": levers})
    assert would_help(garden, document) == said


def test_mulch_of_a_lawn_is_told_in_boxes_only(garden_raw: Json, plan: Change) -> None:
    garden = garden_from({**garden_raw, "lawn": LAWN})
    document = Plan.model_validate({**plan(), "levers": [lever("mulch", "leeks", 25.0, 1.0)]})
    assert would_help(garden, document) == ()


@pytest.mark.parametrize(
    ("boxes", "words"),
    [
        (0.5, "Beans: half a mower box of clippings, 2.5 cm deep; saves about 25 L in six weeks."),
        (1.0, "Beans: 1 mower box of clippings"),
        (2.5, "Beans: 2.5 mower boxes of clippings"),
    ],
)
def test_the_letter_tells_levers_and_their_cautions(
    garden: Garden, person: Person, now: datetime, plan: Change, *, boxes: float, words: str
) -> None:
    mulch = {"bed": "beans", "depth_mm": 25.0, "boxes": boxes, "saves_l": 25.0, "reason": "open"}
    levers = [lever("tap", None, 90.0, 6.4)]
    told = {**plan(mulch=[mulch]), "levers": levers, "levers_on": "2031-06-06"}
    mail = compose_letter(LetterFacts(garden=garden, person=person, now=now, plan=told))
    body = mail.get_body(("plain",))
    assert body is not None
    text = " ".join(body.get_content().split()).replace("\u00a0", " ")
    for part in (
        words,
        "To make the water last",
        "90 L from the tap: 6 days longer.",
        "No hose end in a butt",
        "Local watering rules decide.",
        "Mulch on moist soil, clear of stems.",
    ):
        assert part in text


def test_the_plan_on_the_screen_lists_them_all(plan: Change) -> None:
    levers = [lever("stop", "beans", 120.0, 4.25), lever("tap", None, 90.0, 2.0)]
    screen = plan_screen({**plan(), "levers": levers}).splitlines()
    assert "  mulch beans: 1 box of clippings, 20 mm deep, save 12 L" in "\n".join(screen)
    table = screen[screen.index(next(line for line in screen if "days longer" in line)) :]
    assert [line.split() for line in table[1:3]] == [
        ["stop", "beans", "120", "L", "4.2"],
        ["cans", "from", "the", "tap", "90", "L", "2.0"],
    ]
