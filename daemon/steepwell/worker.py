"""The worker: heavy work in a process of its own, one JSON object in, one out."""

from __future__ import annotations

import json
import os
import sys
import threading
from dataclasses import replace
from datetime import datetime, timedelta
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from steepwell.decide.lever_lines import lever_lines
from steepwell.decide.orders import under_orders
from steepwell.decide.plan import make_plan
from steepwell.errors import SteepwellError
from steepwell.garden.days import local_day
from steepwell.garden.garden import AIR, Garden
from steepwell.note_answers import may_be_fed_task
from steepwell.outlook.dryness import dryness
from steepwell.outlook.now import state_now
from steepwell.outlook.observed import observe
from steepwell.outlook.outlook import make_outlook
from steepwell.outlook.record import extend_record
from steepwell.outlook.weather import known_weather
from steepwell.sense.forecasts import latest_forecast
from steepwell.store.dated import away_between, rests
from steepwell.store.outbox import MAIL
from steepwell.store.store import Store, garden_store_url, open_store
from steepwell.tell.answers import answers_now, unanswered
from steepwell.tell.beside import beside
from steepwell.tell.charts import water_ahead_png
from steepwell.tell.letter import LetterFacts, compose_letter, compose_sheet
from steepwell.tell.links import JOB_LINKS
from steepwell.tell.looking_back import LOOKS_BACK, how_it_did, how_ranges_did, weeks_held
from steepwell.tell.pushing import send_pushes
from steepwell.tell.resting import is_first_of_month
from steepwell.tell.state import below_taps
from steepwell.watch.daily import daily_findings
from steepwell.watch.vessels import vessels_ready
from steepwell.watch.water import (
    RUNNING_DRY,
    SHORTFALL,
    above_tap_l,
    running_dry,
    shortfall_ahead,
)
from steepwell.watch.water_faults import water_faults
from steepwell.words.saying import speak

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from steepwell.outlook.record import Record
    from steepwell.store.entries import Entry
    from steepwell.watch.finding import Finding

Json = dict[str, Any]

LOOKS_UP_AFTER_S = 1.0
# An absence that begins before the next letter is told of in this one.
UNTIL_NEXT = timedelta(days=7)
# What a letter said its readers know for so many weeks.
WEEKS_KNOWN, A_LITTLE_LATER = 4, timedelta(days=1)


def record_of(garden: Garden, store: Store, now: datetime) -> Record | None:
    """Return what the weather of a garden has been: what its file names, and since then its own.

    Parameters
    ----------
    garden
        The garden.
    store
        Readings and journal.
    now
        The moment; nothing later is looked at.

    Returns
    -------
    Record or None
        None where the garden file says nothing of past weather.

    Raises
    ------
    WeatherRecordError
        If the daily record cannot be used.
    """
    record = known_weather(garden)
    probe = garden.temperature_sensor(AIR)
    begun = store.readings.first_good(probe.name, now) if probe is not None else None
    if record is None or begun is None:
        return record
    first = max(local_day(garden, begun), record.first + timedelta(days=record.days))
    if first >= local_day(garden, now):
        return record
    entries = store.journal.entries(now, kinds=("rain-read",))
    return extend_record(record, observe(garden, store, None, entries, first=first, now=now))


def outlook_task(
    garden: Garden, store: Store, now: datetime, seed: int, *, keep_levers: bool = True
) -> Json:
    """Work out the weeks ahead, the plan, and what is worth telling.

    Parameters
    ----------
    garden
        The garden.
    store
        Readings and journal.
    now
        The moment; nothing later is looked at.
    seed
        Equal seeds give equal results.
    keep_levers
        Whether what else would help is worked out once a week only; it takes as long as the rest.

    Returns
    -------
    dict
        ``outlook`` (None without a weather record), ``plan``, ``findings``, and what the page shows
        ``beside`` them (None without a page).
    """
    record = record_of(garden, store, now)
    entries = store.journal.entries(now)
    garden = under_orders(garden, entries, local_day(garden, now))
    state = state_now(garden, store, record, now)
    outlook = document = None
    forecast = latest_forecast(garden, store, now)
    if record is not None:
        outlook = make_outlook(garden, state, record, entries, seed=seed, forecast=forecast)
        document = {**outlook.document, "dryness": dryness(garden, store, record, entries, now)}
        outlook = replace(outlook, document=document)
    standing = store.notices.standing()
    stand = {notice.kind for notice in standing}
    in_hand_l = above_tap_l(garden, state)
    dry = running_dry(garden, in_hand_l, document, stands=RUNNING_DRY in stand)
    findings: list[Finding | None] = [dry, *water_faults(garden, store, entries, now)]
    if document is not None:
        findings.append(
            shortfall_ahead(
                document, in_hand_l, stands=SHORTFALL in stand, runs_dry=dry is not None
            )
        )
    last_plan = store.results.latest("plan", now) if keep_levers else None
    plan = {
        **make_plan(garden, state, outlook, entries, record),
        **lever_lines(garden, state, outlook, entries, last_plan),
    }
    if document is not None:
        wanted = {line["vessel"] for line in plan["feed"]}
        findings.extend(vessels_ready(garden, state, document, wanted))
    findings.extend(
        daily_findings(
            garden,
            store,
            state,
            outlook,
            plan["vessels"],
            entries=entries,
            record=record,
            forecast=forecast is not None,
            standing=standing,
        )
    )
    return {
        "outlook": document,
        "plan": plan,
        "beside": beside(garden, state, document, entries) if garden.page is not None else None,
        "findings": [found.to_json() for found in findings if found is not None],
    }


def letter_task(garden: Garden, store: Store, now: datetime, seed: int) -> Json:  # noqa: ARG001
    """Compose the letter of the week to everybody who gets one.

    Parameters
    ----------
    garden
        The garden.
    store
        Where outlook, plan and notices are.
    now
        The moment of the job.
    seed
        Not used: a letter tells what was worked out before.

    Returns
    -------
    dict
        ``letters``: person, address and mail of each.
    """
    outlook = store.results.latest("outlook", now)
    plan = store.results.latest("plan", now)
    if plan is None:
        return {"letters": []}
    kinds = ("restriction", "away", "put-to-bed", "woken")
    entries = store.journal.entries(now, kinds=kinds)
    today = local_day(garden, now)
    garden = under_orders(garden, entries, today)
    asleep = rests(entries, now)
    if asleep and not is_first_of_month(today):
        return {"letters": []}
    away = away_between(entries, today, today + UNTIL_NEXT)
    picture = None
    if outlook is not None and not asleep:
        picture = water_ahead_png(
            outlook,
            dry_line_l=garden.dry_line_l,
            below_taps_l=below_taps(garden),
            units=garden.garden.units,
        )
    first_week = store.results.latest("letter", now) is None and not store.readings.latest(now)
    standing = tuple(unanswered(store.notices.standing(), answers_now(store, now), today))
    looking_back = _looking_back(garden, store, now)
    weeks = _weeks_told(store, entries, now)
    plans = [store.results.latest("plan", at) for at in weeks]
    letters = []
    for person in garden.told.people:
        helps = away is not None and person.role == "helper" and person.name == away.helper
        if person.role != "gardener" and not helps:
            continue
        facts = LetterFacts(
            garden=garden,
            now=now,
            person=person,
            outlook=outlook,
            plan=plan,
            plans_before=[each for each in plans if each is not None],
            outlook_before=store.results.latest("outlook", weeks[0]) if weeks else None,
            standing=standing,
            first_week=first_week,
            picture=picture,
            last_forecast=looking_back,
            away=away,
            rests=asleep,
            secret=store.secrets.known(JOB_LINKS),
        )
        mail = compose_sheet(facts) if helps else compose_letter(facts)
        letters.append({"person": person.name, "to": person.mail, "mail": mail.as_bytes().decode()})
    return {"letters": letters}


def _weeks_told(store: Store, entries: Sequence[Entry], now: datetime) -> list[datetime]:
    """Return when the letters of the last weeks were written, but for those of a rest."""
    weeks = [now - week * LOOKS_BACK for week in range(1, WEEKS_KNOWN + 1)]
    awake = [at for at in weeks if not rests(entries, at)]
    return [at for at in awake if store.results.latest("letter", at + A_LITTLE_LATER) is not None]


def _looking_back(garden: Garden, store: Store, now: datetime) -> str | None:
    """Return how last week's outlook did, once a month how often ranges held, None without one."""
    did = how_it_did(
        store.results.latest("outlook", now - LOOKS_BACK),
        store.results.latest("outlook", now),
        below_taps_l=below_taps(garden),
    )
    if did is None or not is_first_of_month(local_day(garden, now)):
        return did
    return how_ranges_did(weeks_held(garden, store, now)) or did


def outlook_now(garden: Garden, now: datetime) -> Json:
    """Work out outlook and plan for a person who asks, without telling anybody else.

    Parameters
    ----------
    garden
        The garden; its store is made if there is none yet.
    now
        The moment.

    Returns
    -------
    dict
        As ``outlook_task``.
    """
    with open_store(garden_store_url(garden), garden) as store:
        return outlook_task(garden, store, now, seed=0, keep_levers=False)


def mirror_task(garden: Garden, store: Store, now: datetime, seed: int) -> Json:  # noqa: ARG001
    """Send the mirror what it lacks.

    Parameters
    ----------
    garden
        The garden, with its mirror.
    store
        Where readings, journal and outlooks are.
    now
        The moment of the job.
    seed
        Not used.

    Returns
    -------
    dict
        As ``mirror.flush``.
    """
    from steepwell.mirror.flush import flush  # noqa: PLC0415 - its client is slow to load

    return flush(garden, store, now)


def push_task(garden: Garden, store: Store, now: datetime, seed: int) -> Json:  # noqa: ARG001
    """Hand over the pushes whose time has come.

    Parameters
    ----------
    garden
        The garden, with the ways of its people.
    store
        Where the outbox is.
    now
        The moment of the job.
    seed
        Not used.

    Returns
    -------
    dict
        ``sent``, as ``tell.pushing.send_pushes``.
    """
    waits = [item for item in store.outbox.due(now) if item.way != MAIL]
    return {"sent": send_pushes(garden, waits)}


TASKS: dict[str, Callable[..., Json]] = {
    "outlook": outlook_task,
    "letter": letter_task,
    "mirror": mirror_task,
    "push": push_task,
    "may-be-fed": may_be_fed_task,
}


def answer(request: Json) -> Json:
    """Do what one request asks.

    Parameters
    ----------
    request
        ``task``, ``garden`` (in the units used inside), ``now`` and ``seed``.

    Returns
    -------
    dict
        What the task gives, or ``error`` with a sentence.
    """
    garden = Garden.from_json(request["garden"])
    speak(garden.garden.language)
    now = datetime.fromisoformat(request["now"])
    try:
        store = _store(garden_store_url(garden), json.dumps(request["garden"]))
        task = TASKS[request["task"]]
        with store.moment():
            return task(garden, store, now, request["seed"], **request.get("more", {}))
    except SteepwellError as error:
        return {"error": str(error)}


@lru_cache(maxsize=1)
def _store(url: str, garden: str) -> Store:
    """Keep the store open from one request to the next."""
    return open_store(url, Garden.from_json(json.loads(garden)), read_only=True)


def _end_with(parent: int) -> None:
    """End when the process that asked is gone: one killed over and over would leave many of us."""
    waiting = threading.Event()
    while os.getppid() == parent:
        waiting.wait(LOOKS_UP_AFTER_S)
    os._exit(1)


def main() -> None:
    """Answer each line of standard input with one line on standard output.

    Whoever wants it to end with him says his number as the word of the command.
    """
    if len(sys.argv) > 1:
        threading.Thread(target=_end_with, args=(int(sys.argv[1]),), daemon=True).start()
    for line in sys.stdin:
        print(json.dumps(answer(json.loads(line))), flush=True)  # noqa: T201 - the way out


if __name__ == "__main__":
    main()
