"""What a gardener does before going away, and the sheet for who waters meanwhile."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from steepwell.tell.jobs import amount_of, days_of
from steepwell.tell.skipping import skip_of
from steepwell.tell.templating import filled
from steepwell.tell.wording import cans, day_range, every_day, the_butt
from steepwell.words.figures import joined, litres, spoken
from steepwell.words.saying import say

if TYPE_CHECKING:
    from steepwell.garden.garden import Garden
    from steepwell.store.entries import Away
    from steepwell.tell.documents import Plan, WaterLine

Json = dict[str, Any]

NEAR = 0.15


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
    daily = [spoken(line.bed) for line in plan.watered if line.daily_l]
    said = []
    if away.helper is not None:
        said += [
            say("going-away.helped", days=days, helper=spoken(away.helper).capitalize()),
            _where_the_sheet_is(garden, away.helper),
        ]
    else:
        said.append(say("going-away.alone", days=days))
        if daily:
            said.append(say("going-away.no-rain", beds=joined(daily)))
    return (*said, say("going-away.last-evening"), say("going-away.close"))


def _where_the_sheet_is(garden: Garden, helper: str) -> str:
    by_mail = {person.name for person in garden.told.people if person.role == "helper"}
    if helper in by_mail:
        return say("going-away.sheet-by-mail", helper=spoken(helper).capitalize())
    return say("going-away.print-sheet")


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
    week = day_range(plan.week[0], plan.week[1])
    return say("sheet.title", garden=spoken(garden.garden.name), week=week)


def _sheet(garden: Garden, plan: Plan) -> Json:
    watered = sorted(plan.watered, key=lambda line: min(line.days, default=plan.week[0]))
    notes = [say("sheet.can", litres=litres(garden.can.size))]
    if len(garden.butt) > 1:
        butts = joined([the_butt(butt.name) for butt in garden.butt])
        notes.append(say("sheet.next-butt", butts=butts))
    outdoors = [rule.after_mm for line in watered if (rule := skip_of(line, garden))]
    if outdoors:
        notes.append(say("sheet.rain", mm=f"{min(outdoors):g}"))
    notes += [say("sheet.how"), say("sheet.wilts"), say("sheet.care"), say("sheet.vessels")]
    return {
        "title": sheet_title(garden, plan),
        "rows": [_row(line, garden.can.size) for line in watered],
        "dry": joined([spoken(line.bed) for line in plan.left_dry]),
        "notes": notes,
    }


def _row(line: WaterLine, can_l: float) -> tuple[str, ...]:
    """Return bed, amount, days and butt, each as it stands in a table."""
    amount = _a_day(line.daily_l, can_l) if line.daily_l else amount_of(line)
    days = every_day() if line.daily_l else days_of(line)
    origin = the_butt(line.butt) if line.butt else ""
    return tuple(cell[:1].upper() + cell[1:] for cell in (spoken(line.bed), amount, days, origin))


def _a_day(daily_l: float, can_l: float) -> str:
    """Return the water of a day, beside it the cans where half cans come near."""
    halves = round(2 * daily_l / can_l)
    near_l = halves * can_l / 2
    if not halves or abs(near_l - daily_l) > NEAR * daily_l:
        return litres(daily_l)
    return say("sheet.litres-and-cans", litres=litres(daily_l), cans=cans(halves / 2))
