"""Labels for vessels, as a page to print."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

from steepwell.tell.templating import filled
from steepwell.tell.wording import day, joined, litres, spoken, the_vessel

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
    use = "Not ready yet."
    if parts is not None:
        use = f"1:{parts}. For a can of {litres(fact['can_l'])}: {fact['dose']}."
    started = date.fromisoformat(fact["started"])
    name = the_vessel(fact["vessel"]).removeprefix("the ").capitalize()
    return {
        "name": name if fact["store"] is None else spoken(fact["store"]).capitalize(),
        "from_vessel": None if fact["store"] is None else the_vessel(fact["vessel"]),
        "of": joined([spoken(plant) for plant in fact["plants"]]).capitalize(),
        "family": joined(fact["families"]),
        "since": f"{day(started)} {started.year}",
        "use": use,
        "locks": [f"Locked: {why}." for why in fact["locks"]],
    }
