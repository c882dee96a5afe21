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
from steepwell.tell.wording import day, joined, litres, sentence, spoken, the_vessel
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
        return record, "the garden file names no daily weather record"
    return record, None


def season_screen(document: Json) -> str:
    """Return the answer of ``steepwell plan --season``."""
    lines = [f"{document['garden']}: feeds for the year ahead"]
    for start in document["starts"]:
        where = the_vessel(start["vessel"]) if start["vessel"] else "a vessel, but none is free"
        by = f" by {day(date.fromisoformat(start['by']))}" if start["by"] else ""
        lines += [
            f"  {spoken(start['feed'])}: fill {where}{by}: {start['matter']}.",
            f"    {sentence(start['reason'])}",
        ]
        taken = litres(start["wanted_l"]) if start["wanted_l"] >= LEAST_L else "next to nothing"
        lines.append(
            f"    {start['cans']} feeds take {taken}; {start['size_l']} L of vessel are enough."
        )
    if not document["starts"]:
        lines.append("  Nothing is to be begun: what beds will want steeps already.")
    lines += _in_hand(document)
    if document["record_lacks"]:
        lines.append(
            f"{sentence(document['record_lacks'])} Without one the last days to begin are not "
            "known, and feeds age by the calendar."
        )
    lines.append("Days and amounts are rules of thumb; only healthy plants with clean roots go in.")
    return "\n".join(lines)


def _in_hand(document: Json) -> list[str]:
    """Return what feed there is, and how far each vessel is thinned over the year."""
    lines = []
    for rung in document["by_rung"]:
        whom = joined(rung["families"]) or "any bed"
        lines.append(
            f"  In hand: {litres(rung['litres'])} at 1:{rung['dilution_parts']}, "
            f"{rung['cans']:,} cans, for {whom}."
        )
    for year in document["year"]:
        steps = [_step_said(step, later=index > 0) for index, step in enumerate(year["steps"])]
        of = f"{litres(year['litres'])} in {the_vessel(year['vessel'])}, left alone"
        lines.append(f"  {of}: {', '.join(steps)}.")
    return lines


def _step_said(step: Json, *, later: bool) -> str:
    parts = step["dilution_parts"]
    said = "not ready" if parts is None else f"1:{parts}"
    return f"{said} from {day(date.fromisoformat(step['from']))}" if later else said
