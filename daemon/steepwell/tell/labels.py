"""Labels for vessels, as a page to print."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

from steepwell.tell.templating import filled
from steepwell.tell.wording import the_vessel, vessel_named
from steepwell.words.figures import day, joined, litres, spoken
from steepwell.words.saying import say

if TYPE_CHECKING:
    from collections.abc import Sequence

    from steepwell.tell.units import Units

Json = dict[str, Any]


def labels_page(facts: Sequence[Json], today: date, units: Units = "metric") -> str:
    """Return a page with a label for each vessel that holds a steep.

    Parameters
    ----------
    facts
        What each label says.
    today
        The day it is printed.
    units
        In which amounts are told.

    Returns
    -------
    str
        HTML that prints by itself, without anything fetched.
    """
    labels = [_label(each) for each in facts]
    return filled("labels.html.j2", units=units, labels=labels, printed=day(today))


def _label(fact: Json) -> Json:
    parts = fact["dilution_parts"]
    use = say("labels.not-ready")
    if parts is not None:
        use = say("labels.use", parts=parts, can=litres(fact["can_l"]), dose=fact["dose"])
    started = date.fromisoformat(fact["started"])
    store, vessel = fact["store"], fact["vessel"]
    made = {
        "plants": joined([spoken(plant) for plant in fact["plants"]]).capitalize(),
        "family": joined(fact["families"]),
        "since": say("labels.since", day=day(started), year=started.year),
    }
    return {
        "name": vessel_named(vessel) if store is None else spoken(store).capitalize(),
        "decanted": store is not None,
        "made": say("labels.made", **made)
        if store is None
        else say("labels.decanted", vessel=the_vessel(vessel), **made),
        "use": use,
        "locks": [say("labels.locked", why=why) for why in fact["locks"]],
    }
