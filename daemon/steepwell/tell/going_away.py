"""What a gardener does before going away, and the sheet for who waters meanwhile."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from steepwell.tell.jobs import amount_of, days_of
from steepwell.tell.skipping import skip_of
from steepwell.tell.templating import filled
from steepwell.tell.wording import (
    day_range,
    every_day,
    joined,
    litres,
    spoken,
    the_butt,
)

if TYPE_CHECKING:
    from steepwell.garden.garden import Garden
    from steepwell.store.entries import Away
    from steepwell.tell.documents import Plan, WaterLine

Json = dict[str, Any]

_CARE = (
    "In the evening, slowly and on the soil, not on the leaves.",
    "What wilts at dawn needs water, whatever is written here.",
    "Butt water is not for drinking, nor for a sprayer. Put lids back, and keep children off them.",
    "Leave the vessels with feed closed.",
)


def before_you_go(garden: Garden, plan: Plan, away: Away) -> tuple[str, ...]:
    """Return what to do before going away.

    Parameters
    ----------
    garden
        The garden.
    plan
        What is watered this week.
    away
        The absence.

    Returns
    -------
    tuple of str
        Sentences.
    """
    days = day_range(away.first, away.last)
    helps = away.helper is not None
    said = [f"You are away {days}, and {away.helper if helps else 'nobody'} waters."]
    daily = [spoken(line.bed) for line in plan.watered if line.daily_l]
    if helps:
        said.append(_where_the_sheet_is(garden, away))
    elif daily:
        said.append(f"No rain reaches {joined(daily)}: ask somebody, or bring them into the shade.")
    said += [
        "On the last evening water what is dry, mulch open rows on moist soil, pick what is ripe.",
        "Close taps and lids, and leave no hose in a butt.",
    ]
    return tuple(said)


def _where_the_sheet_is(garden: Garden, away: Away) -> str:
    by_mail = {person.name for person in garden.told.people if person.role == "helper"}
    if away.helper in by_mail:
        return f"{spoken(away.helper).capitalize()} gets a sheet by mail each week: cans and butts."
    return 'Print the sheet with cans and butts: "steepwell plan --sheet FILE.html".'


def sheet_page(garden: Garden, plan: Plan) -> str:
    """Return the week's watering on one page to print.

    Parameters
    ----------
    garden
        The garden.
    plan
        What is watered this week; its feed is left out.

    Returns
    -------
    str
        HTML that prints by itself, without anything fetched.
    """
    return filled("sheet.html.j2", units=garden.garden.units, sheet=_sheet(garden, plan))


def sheet_text(garden: Garden, plan: Plan) -> str:
    """Return the same as plain text."""
    return filled("sheet.txt.j2", units=garden.garden.units, sheet=_sheet(garden, plan))


def sheet_title(garden: Garden, plan: Plan) -> str:
    """Return its title, for instance "Watering at quince yard, 5 to 11 July"."""
    return f"Watering at {spoken(garden.garden.name)}, {day_range(plan.week[0], plan.week[1])}"


def _sheet(garden: Garden, plan: Plan) -> Json:
    watered = sorted(plan.watered, key=lambda line: min(line.days, default=plan.week[0]))
    notes = [f"A can is {litres(garden.can.size)}; half cans are fine."]
    if len(garden.butt) > 1:
        butts = joined([the_butt(butt.name) for butt in garden.butt])
        notes.append(f"When a butt is empty, take the next: {butts}.")
    outdoors = [rule.after_mm for line in watered if (rule := skip_of(line, garden))]
    if outdoors:
        notes.append(
            f"Once more than {min(outdoors):g} mm of rain has fallen this week, leave out the beds "
            "outdoors."
        )
    return {
        "title": sheet_title(garden, plan),
        "rows": [_row(line) for line in watered],
        "dry": joined([spoken(line.bed) for line in plan.left_dry]),
        "notes": [*notes, *_CARE],
    }


def _row(line: WaterLine) -> tuple[str, ...]:
    """Return bed, amount, days and butt, each as it stands in a table."""
    amount = litres(line.daily_l) if line.daily_l else amount_of(line)
    days = every_day() if line.daily_l else days_of(line)
    origin = the_butt(line.butt) if line.butt else ""
    return tuple(cell[:1].upper() + cell[1:] for cell in (spoken(line.bed), amount, days, origin))
