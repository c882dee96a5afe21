"""What another butt, more roof, mulch or a bed fewer would have changed in the years on record."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

import numpy as np

from steepwell.errors import SteepwellError, WeatherRecordError
from steepwell.garden.growing import Mulch
from steepwell.garden.water import Butt
from steepwell.outlook.seasons import MADE_YEARS, SEASON_D, run_seasons, seasons_of
from steepwell.outlook.summary import dry_days
from steepwell.words.figures import spoken
from steepwell.words.saying import say

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from steepwell.garden.garden import Garden
    from steepwell.outlook.futures import Futures
    from steepwell.outlook.record import Record
    from steepwell.outlook.seasons import Seasons

ONE_MORE_L = 210.0
BIGGER = 1.5
# The gardener goes round once a week and gives what the beds drew since.
EVERY_D = 7
SCHEMA = 1

Json = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Variant:
    """A garden as it might be, and what is different about it in words."""

    name: str
    says: str
    garden: Garden


def size(garden: Garden, record: Record | None) -> Json:
    """Carry a garden, and what it might be, through every season on record.

    Each season begins in spring with full butts and wet soil. The same weather is given to all.

    Parameters
    ----------
    garden
        The garden.
    record
        What its weather has been, or None.

    Returns
    -------
    dict
        Ready for ``json.dumps``; volumes in L, areas in m², dates local. Of each variant: in how
        many summers the butts ran dry, the day on which they first did, and what was wanted and
        not there.

    Raises
    ------
    SteepwellError
        If there is no butt, no bed, or no weather to tell anything from.
    """
    seasons = _seasons(garden, record)
    garden = garden.model_copy(update={"vessel": ()})
    tried, remarks = variants(garden)
    return {
        "schema": SCHEMA,
        "garden": garden.name,
        "summers": seasons.count,
        "years": [seasons.years[0], seasons.years[-1]] if seasons.years else None,
        "season": [_day(seasons, 0), _day(seasons, SEASON_D - 1)],
        "every_d": EVERY_D,
        "variants": [_outcome(variant, seasons) for variant in tried],
        "remarks": remarks,
    }


def _seasons(garden: Garden, record: Record | None) -> Seasons:
    if not garden.butt:
        raise SteepwellError(
            "there is no butt in the garden file, so there is no store to be sized; name one "
            "under [[butt]]"
        )
    if not garden.bed:
        raise SteepwellError(
            "there is no bed in the garden file, so nothing can be told of how long the water "
            "lasts; name what is watered under [[bed]]"
        )
    if record is None:
        raise SteepwellError(
            "nothing can be told of past summers without a weather record; name one under "
            "[weather_record]"
        )
    seasons = seasons_of(garden, record)
    if seasons is None:
        raise WeatherRecordError(
            "the weather record has no year that is whole from spring to autumn; complete it, or "
            f"give monthly normals, from which {MADE_YEARS} years are made"
        )
    return seasons


def variants(garden: Garden) -> tuple[list[Variant], list[str]]:
    """Return what a garden might be, itself first, and what cannot be told of it.

    Parameters
    ----------
    garden
        The garden, with a butt and a bed at least.

    Returns
    -------
    list of Variant, list of str
        One at least; a sentence for each that makes no sense here.
    """
    tried = [Variant("as-it-is", say("sizing.as-it-is"), garden)]
    remarks = []
    more = say("sizing.one-more-butt", litres=f"{ONE_MORE_L:.0f}")
    tried.append(Variant("one-more-butt", more, one_more_butt(garden)))
    if garden.roof:
        bigger = say("sizing.bigger-roof")
        tried.append(Variant("bigger-roof", bigger, bigger_roof(garden)))
    else:
        remarks.append(say("sizing.no-roof"))
    if any(_is_open(garden, index) for index in range(len(garden.bed))):
        mulched = say("sizing.mulch-everywhere")
        tried.append(Variant("mulch-everywhere", mulched, mulch_everywhere(garden)))
    else:
        remarks.append(say("sizing.all-mulched"))
    if len(garden.bed) > 1:
        without = bed_to_leave_out(garden)
        fewer = tuple(bed for bed in garden.bed if bed.name != without)
        tried.append(
            Variant(
                "one-bed-fewer",
                say("sizing.one-bed-fewer", bed=spoken(without)),
                garden.model_copy(update={"bed": fewer}),
            )
        )
    else:
        remarks.append(say("sizing.one-bed"))
    return tried, remarks


def one_more_butt(garden: Garden) -> Garden:
    """Return a garden with a butt more, which takes what most of the roofs spill to the ground.

    Its tap stands as high, for its size, as that of the butt before it.
    """
    spills_l = dict.fromkeys((butt.name for butt in garden.butt if butt.overflow_to is None), 0.0)
    into = {butt.name: butt.overflow_to for butt in garden.butt}
    for roof in garden.roof:
        last = roof.into
        while (following := into[last]) is not None:
            last = following
        spills_l[last] += roof.area * roof.share * roof.runoff * roof.filter_efficiency
    before = next(b for b in garden.butt if b.name == max(spills_l, key=lambda n: spills_l[n]))
    name = _unused("one-more", set(into))
    more = Butt.model_construct(
        name=name,
        litres=ONE_MORE_L,
        dead_volume=before.dead_volume / before.capacity_l * ONE_MORE_L,
    )
    joined = before.model_copy(update={"overflow_to": name})
    butts = tuple(joined if butt is before else butt for butt in garden.butt)
    return garden.model_copy(update={"butt": (*butts, more)})


def _unused(name: str, taken: set[str]) -> str:
    while name in taken:
        name += "-more"
    return name


def bigger_roof(garden: Garden) -> Garden:
    """Return a garden with half as much roof again."""
    roofs = tuple(roof.model_copy(update={"area": BIGGER * roof.area}) for roof in garden.roof)
    return garden.model_copy(update={"roof": roofs})


def mulch_everywhere(garden: Garden) -> Garden:
    """Return a garden in which mulch covers all ground, trays left out."""
    beds = tuple(
        bed.model_copy(update={"mulch": Mulch()}) if _is_open(garden, index) else bed
        for index, bed in enumerate(garden.bed)
    )
    return garden.model_copy(update={"bed": beds})


def _is_open(garden: Garden, index: int) -> bool:
    bed = garden.bed[index]
    return bed.kind != "tray" and (bed.mulch is None or bed.mulch.cover < 1.0)


def bed_to_leave_out(garden: Garden) -> str:
    """Return the bed the gardener would miss least: the last by priority, the largest of those."""
    return min(garden.bed, key=lambda bed: (bed.priority, -bed.area)).name


def _outcome(variant: Variant, seasons: Seasons) -> Json:
    garden = variant.garden
    run = run_seasons(garden, seasons.first, seasons.weather, every_d=EVERY_D)
    dry = dry_days(garden, run)
    short_l = (run.wanted_l - run.given_l).sum(axis=0)
    first = first_dry(dry)
    worst = int(short_l.argmax())
    return {
        "name": variant.name,
        "says": variant.says,
        "capacity_l": round(garden.capacity_l, 1),
        "roof_m2": round(sum(roof.area for roof in garden.roof), 1),
        "bed_m2": round(sum(bed.area for bed in garden.bed), 1),
        "dry": int(dry.any(axis=0).sum()),
        "first_dry": {"p50": _day(seasons, _middle(first)), "earliest": _day(seasons, min(first))},
        "short_l": {
            "p50": round(float(np.median(short_l)), 1),
            "worst": round(float(short_l[worst]), 1),
        },
        "worst_year": seasons.years[worst] if seasons.years else None,
        "by_summer": _by_summer(seasons, first, short_l, run),
    }


def first_dry(dry: NDArray[np.bool_]) -> list[int]:
    """Return the first dry day of each season, their number where there is none [d]."""
    days: list[int] = np.where(dry.any(axis=0), dry.argmax(axis=0), len(dry)).tolist()
    return days


def _middle(first: list[int]) -> int:
    """Return the day by which half of the summers have run dry."""
    return int(np.quantile(first, 0.5, method="inverted_cdf"))


def _day(seasons: Seasons, index: int) -> str | None:
    """Return month and day of a day of the season, None beyond it."""
    if index >= SEASON_D:
        return None
    day: date = seasons.first + timedelta(days=index)
    return f"{day:%m-%d}"


def _by_summer(
    seasons: Seasons, first: list[int], short_l: NDArray[np.float64], run: Futures
) -> list[Json]:
    wanted_l = run.wanted_l.sum(axis=0)
    return [
        {
            "year": seasons.years[index] if seasons.years else None,
            "first_dry": _day(seasons, first[index]),
            "wanted_l": round(float(wanted_l[index]), 1),
            "short_l": round(float(short_l[index]), 1),
        }
        for index in range(seasons.count)
    ]
