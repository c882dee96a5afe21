"""Reads from the store what the page says."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

from steepwell.decide.orders import under_orders
from steepwell.garden.days import local_day
from steepwell.store.dated import away_between, rests
from steepwell.store.ledger import CAUGHT_UP, LATE
from steepwell.tell.answers import answers_now, unanswered
from steepwell.tell.documents import Outlook, Plan
from steepwell.tell.sensor_words import rain_today_mm

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date

    from steepwell.garden.garden import Garden
    from steepwell.page.desk import Desk
    from steepwell.store.devices import Device
    from steepwell.store.entries import Away, Entry
    from steepwell.store.notices import StandingNotice
    from steepwell.store.readings import Reading
    from steepwell.store.store import Store

Json = dict[str, Any]

DATED = ("restriction", "away", "put-to-bed", "woken")
TURNS = ("steep-started", "vessel-emptied")
LOOKS_BACK = timedelta(days=60)
# An absence that begins before the next letter is spoken of in this week's words.
UNTIL_NEXT = timedelta(days=7)


@dataclass(frozen=True, slots=True, kw_only=True)
class Facts:
    """Everything the page is made of.

    Attributes
    ----------
    garden
        The garden as orders leave it.
    now, today
        The moment, and its local day.
    plan, outlook
        The newest documents, None before there are any.
    beside
        What the worker made beside them for the page: a picture, doses, crops.
    standing
        The notices that stand and that nobody answered.
    entries
        The journal of the last weeks.
    latest
        The newest reading of each sensor heard.
    devices
        What each device said of itself.
    rain_today_mm
        What the gauge caught since midnight, None where there is none [mm].
    away
        An absence that is near, or None.
    turns
        Every steep that was begun or ended.
    at_rest
        Whether the garden was put to bed.
    unsettled
        Whether something came for which the outlook is about to be worked out anew.
    """

    garden: Garden
    now: datetime
    today: date
    plan: Plan | None
    outlook: Outlook | None
    beside: Json
    standing: Sequence[StandingNotice]
    entries: Sequence[Entry]
    latest: Mapping[str, Reading]
    devices: Mapping[str, Device]
    rain_today_mm: float | None
    away: Away | None
    turns: Sequence[Entry]
    at_rest: bool
    unsettled: bool


def facts_of(desk: Desk) -> Facts:
    """Return what the page is made of now."""
    garden, store, now = desk.garden, desk.store, desk.clock.now()
    today = local_day(garden, now)
    plan = store.results.latest("plan", now)
    outlook = store.results.latest("outlook", now)
    dated = store.journal.entries(now, kinds=DATED)
    return Facts(
        garden=under_orders(garden, dated, today),
        now=now,
        today=today,
        plan=Plan.model_validate(plan) if plan is not None else None,
        outlook=Outlook.model_validate(outlook) if outlook is not None else None,
        beside=store.results.latest("page", now) or {},
        standing=unanswered(store.notices.standing(), answers_now(store, now), today),
        entries=store.journal.entries(now, since=now - LOOKS_BACK),
        latest=store.readings.latest(now),
        devices=store.devices.all(),
        rain_today_mm=rain_today_mm(desk.garden, store, now),
        away=away_between(dated, today, today + UNTIL_NEXT),
        turns=store.journal.entries(now, kinds=TURNS),
        at_rest=rests(dated, now),
        unsettled=_unsettled(store),
    )


def _unsettled(store: Store) -> bool:
    done = store.ledger.all()
    late, caught_up = done.get(LATE), done.get(CAUGHT_UP)
    return late is not None and (caught_up is None or caught_up < late)
