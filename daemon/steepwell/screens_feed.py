"""The feeds of the year ahead, as the command line prints them, and labels to print."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

from steepwell.decide.season import season_document
from steepwell.decide.vessel_labels import label_facts
from steepwell.errors import WeatherRecordError
from steepwell.outlook.now import state_now
from steepwell.store.store import garden_store_url, open_store
from steepwell.tell.labels import labels_page
from steepwell.tell.wording import sentence, the_vessel
from steepwell.words.figures import day, joined, listed, litres, spoken
from steepwell.words.saying import say, say_count
from steepwell.worker import record_of

if TYPE_CHECKING:
    from datetime import datetime

    from steepwell.garden.garden import Garden
    from steepwell.outlook.record import Record
    from steepwell.store.store import Store

LEAST_L = 0.1

Json = dict[str, Any]


def season_now(garden: Garden, now: datetime) -> tuple[Json, str]:
    """Work out the feeds of the year ahead, and the labels of the vessels.

    Parameters
    ----------
    garden
        The garden; its store is made if there is none yet.
    now
        The moment.

    Returns
    -------
    tuple
        The document, with what is said of a weather record that cannot be used, and the labels as
        HTML.
    """
    with open_store(garden_store_url(garden), garden) as store:
        record, lacking = _record_or_why(garden, store, now)
        entries = store.journal.entries(now)
        state = state_now(garden, store, record, now)
    document = season_document(garden, state, record, entries)
    facts = label_facts(garden, state, entries)
    labels = labels_page(facts, state.today, garden.garden.units)
    return {**document, "record_lacks": lacking}, labels


def _record_or_why(garden: Garden, store: Store, now: datetime) -> tuple[Record | None, str | None]:
    """Return the weather record, or why there is none; what is in hand is known without it."""
    try:
        record = record_of(garden, store, now)
    except WeatherRecordError as error:
        return None, str(error)
    if record is None or not record.days:
        return record, say("screen.no-daily-record")
    return record, None


def season_screen(document: Json) -> str:
    """Return the answer of ``steepwell plan --season``."""
    lines = [say("screen.feeds-ahead", garden=document["garden"])]
    for start in document["starts"]:
        lines += [f"  {_fill(start)}", f"    {sentence(start['reason'])}"]
        enough = start["wanted_l"] >= LEAST_L
        taken = litres(start["wanted_l"]) if enough else say("screen.next-to-nothing")
        told = say_count(
            "screen.feeds-take", start["cans"], litres=taken, size=f"{start['size_l']}"
        )
        lines.append(f"    {told}")
    if not document["starts"]:
        lines.append(f"  {say('screen.nothing-to-begin')}")
    lines += _in_hand(document)
    if document["record_lacks"]:
        lines.append(say("screen.without-a-record", why=sentence(document["record_lacks"])))
    lines.append(say("screen.rules-of-thumb"))
    return "\n".join(lines)


def _fill(start: Json) -> str:
    """Return which vessel to fill with what, and by when."""
    feed, matter = spoken(start["feed"]), start["matter"]
    where = the_vessel(start["vessel"]) if start["vessel"] else say("screen.none-free")
    if not start["by"]:
        return say("screen.fill", feed=feed, vessel=where, matter=matter)
    by = day(date.fromisoformat(start["by"]))
    return say("screen.fill-by", feed=feed, vessel=where, day=by, matter=matter)


def _in_hand(document: Json) -> list[str]:
    """Return what feed there is, and how far each vessel is thinned over the year."""
    lines = []
    for rung in document["by_rung"]:
        told = say_count(
            "screen.feed-in-hand",
            rung["cans"],
            litres=litres(rung["litres"]),
            dilution=f"1:{rung['dilution_parts']}",
            cans=f"{rung['cans']:,}",
            whom=joined(rung["families"]) or say("screen.any-bed"),
        )
        lines.append(f"  {told}")
    for year in document["year"]:
        steps = [_step_said(step, later=index > 0) for index, step in enumerate(year["steps"])]
        told = say(
            "screen.left-alone",
            litres=litres(year["litres"]),
            vessel=the_vessel(year["vessel"]),
            steps=listed(steps),
        )
        lines.append(f"  {told}")
    return lines


def _step_said(step: Json, *, later: bool) -> str:
    parts = step["dilution_parts"]
    said = say("screen.step-not-ready") if parts is None else f"1:{parts}"
    if not later:
        return said
    return say("screen.step-from", step=said, day=day(date.fromisoformat(step["from"])))
