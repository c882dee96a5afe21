"""What a garden is told in its first week, when little has been measured."""

from __future__ import annotations

from typing import TYPE_CHECKING

from steepwell.tell.state import below_taps
from steepwell.tell.wording import the_butt, the_roof
from steepwell.words.figures import joined, litres, spoken
from steepwell.words.saying import say, say_count

if TYPE_CHECKING:
    from steepwell.garden.garden import Garden

GOOD_RAIN_MM = 10.0


def known(garden: Garden) -> list[str]:
    """Return what the garden file alone tells.

    Parameters
    ----------
    garden
        The garden.

    Returns
    -------
    list of str
        Sentences with the figures a gardener can check.
    """
    import numpy as np  # noqa: PLC0415 - the page says what a letter says, and goes without it

    from steepwell.outlook.butts import chain_of  # noqa: PLC0415 - the same

    said = []
    if garden.butt:
        names = joined([spoken(butt.name) for butt in garden.butt])
        full, dead_l = f"{garden.capacity_l:,.0f}", below_taps(garden)
        said.append(
            say("first-week.butts-below", butts=names, amount=full, below=f"{dead_l:,.0f}")
            if dead_l
            else say("first-week.butts", butts=names, amount=full)
        )
    for roof, gutter in zip(garden.roof, chain_of(garden).gutters, strict=True):
        caught_l = float(gutter.of_days_l(np.array(GOOD_RAIN_MM), roof.runoff))
        said.append(
            say(
                "first-week.roof",
                rain=f"{GOOD_RAIN_MM:.0f}",
                roof=the_roof(roof.name),
                litres=litres(caught_l),
                butt=the_butt(roof.into),
            )
        )
    area_m2 = sum(bed.area for bed in garden.bed)
    said.append(
        say_count(
            "first-week.beds",
            len(garden.bed),
            area=f"{area_m2:.3g}",
            rain=f"{GOOD_RAIN_MM:.0f}",
            litres=litres(GOOD_RAIN_MM * area_m2),
        )
    )
    return said


def wanted_readings(garden: Garden, steeping: set[str]) -> list[tuple[str, tuple[str, ...]]]:
    """Return the readings by hand that would help most, each with its command.

    Parameters
    ----------
    garden
        The garden.
    steeping
        Vessels that are known to hold a steep.

    Returns
    -------
    list of tuple
        What to read, and the commands that note it; the most useful first.
    """
    unread = [butt for butt in garden.butt if garden.level_sensor(butt.name) is None]
    largest_first = sorted(unread, key=lambda butt: -butt.capacity_l)
    levels = tuple(_note("level-read", butt.name, '"half"') for butt in largest_first)
    unknown = [vessel.name for vessel in garden.vessel if vessel.name not in steeping]
    wanted = {
        say("first-week.levels"): levels,
        say("first-week.rain"): (
            () if garden.rain_sensor is not None else (_note("rain-read", '"4 mm"'),)
        ),
        say("first-week.steeps"): tuple(
            _note("steep-started", vessel, "nettle") for vessel in unknown[:1]
        ),
    }
    return [(what, commands) for what, commands in wanted.items() if commands]


def _note(*words: str) -> str:
    return " ".join(("steepwell", "note", *words))
