"""What the commands print of many years or many outlooks: short tables for a terminal."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from steepwell.clock import from_ms
from steepwell.errors import SteepwellError
from steepwell.screens_ahead import table
from steepwell.store.store import garden_store_url, open_store
from steepwell.tell.wording import day, litres

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from steepwell.garden.garden import Garden
    from steepwell.tell.units import Units

# Any year that is no leap year will do for a day of the year.
SOME_YEAR = 2001

Json = dict[str, Any]

_SIZE_NOTES = (
    "Butts are full and the soil is wet at first. Once a week the beds are given what they drew,",
    "while there is water. Dry is less than a can above the taps; dry from and short are those of",
    "the middle summer.",
)

_SCORE_NOTES = (
    "Held is how often the water came to lie between low and high: eight times in ten is right,",
    "more often while butts stand full or empty. Off by is the mean score of all quantiles (CRPS).",
    "Better is by which share, against a level that stays as it is, and against what is usual on",
    "the date in the years on record, for a garden watered as this one is.",
)


def size_report(garden: Garden) -> Json:
    """Return what other butts, roofs and beds would have done in every year on record."""
    from steepwell.decide.sizing import size  # noqa: PLC0415 - NumPy is slow to load
    from steepwell.outlook.weather import known_weather  # noqa: PLC0415 - the same

    return size(garden, known_weather(garden))


def size_picture(sizes: Json, units: Units) -> bytes:
    """Return the same as a picture, a PNG."""
    from steepwell.tell.size_chart import sizes_png  # noqa: PLC0415 - matplotlib is slow to load

    return sizes_png(sizes, units)


def size_screen(sizes: Json) -> str:
    """Return the answer of ``steepwell size``: one line a size."""
    first, last = (_day_of_year(text) for text in sizes["season"])
    rows = [["", "butts", "summers dry", "dry from", "earliest", "short", "worst summer"]]
    rows += [_size_row(variant, sizes["summers"]) for variant in sizes["variants"]]
    return "\n".join(
        [
            f"{sizes['garden']}: {_summers(sizes)}, {first} to {last}",
            *table(rows),
            *_SIZE_NOTES,
            *_one_more(sizes),
            *sizes["remarks"],
        ]
    )


def _one_more(sizes: Json) -> list[str]:
    """Return what one more butt would have changed, as a sentence, if it is that."""
    dry = {variant["name"]: variant["dry"] for variant in sizes["variants"]}
    says = {variant["name"]: variant["says"] for variant in sizes["variants"]}
    if dry["one-more-butt"] == dry["as-it-is"]:
        return []
    more = f"With {says['one-more-butt']} the garden would have run dry in {dry['one-more-butt']}"
    return [f"{more} of {sizes['summers']} summers instead of {dry['as-it-is']}."]


def _summers(sizes: Json) -> str:
    if sizes["years"] is None:
        return f"{sizes['summers']} summers made from the monthly normals"
    first, last = sizes["years"]
    count = sizes["summers"]
    return f"the summer of {first}" if count == 1 else f"{count} summers, {first} to {last}"


def _size_row(variant: Json, summers: int) -> list[str]:
    worst = litres(variant["short_l"]["worst"])
    if variant["worst_year"] is not None and variant["short_l"]["worst"] > 0.0:
        worst += f" ({variant['worst_year']})"
    return [
        variant["says"],
        f"{variant['capacity_l']:,.0f} L",
        f"{variant['dry']} of {summers}",
        *(_day_of_year(variant["first_dry"][key]) for key in ("p50", "earliest")),
        litres(variant["short_l"]["p50"]),
        worst,
    ]


def _day_of_year(text: str | None) -> str:
    return "never" if text is None else day(date.fromisoformat(f"{SOME_YEAR}-{text}"))


def score_report(garden: Garden, now: datetime) -> Json:
    """Return how the outlooks in the store did, by the levels read since."""
    from steepwell.outlook.evenings import read_evenings  # noqa: PLC0415 - NumPy is slow to load
    from steepwell.outlook.now import state_now  # noqa: PLC0415 - the same
    from steepwell.outlook.usual import usual_of  # noqa: PLC0415 - the same
    from steepwell.outlook.verdict import LEADS_D, judged, said_by  # noqa: PLC0415 - the same
    from steepwell.outlook.weather import known_weather  # noqa: PLC0415 - the same

    with open_store(garden_store_url(garden), garden, read_only=True) as store:
        said = [said_by(garden, each) for each in store.results.between("outlook", from_ms(0), now)]
        if not said:
            raise SteepwellError(
                "there is no outlook in the store yet; the daemon makes one every day, if there is "
                "a weather record"
            )
        last = said[-1].day + timedelta(days=LEADS_D[-1])
        evenings = read_evenings(garden, store, said[0].day, last, now)
        record = known_weather(garden)
        habit = state_now(garden, store, record, now)
    usual = usual_of(garden, record, every_d=habit.every_d, use_factor=habit.use_factor)
    return judged(garden, said, evenings, usual)


def score_screen(scores: Json) -> str:
    """Return the answer of ``steepwell score``: a line for each span of days."""
    first, last = (date.fromisoformat(scores[key]) for key in ("from", "to"))
    count = "1 outlook" if scores["outlooks"] == 1 else f"{scores['outlooks']} outlooks"
    span = f"{day(first)} {first.year} to {day(last)} {last.year}"
    lines = [f"{scores['garden']}: {count} of {span}"]
    stored = [line for line in scores["stored"] if line["outlooks"]]
    if not stored:
        lines.append("None can be judged yet: in no evening since has every butt been read.")
        return "\n".join(lines)
    heads = ["water after", "outlooks", "held", "off by", "better than today's", "than usual"]
    lines += table([heads, *(_stored_row(line) for line in stored)])
    dry = [line for line in scores["dry"] if line["outlooks"]]
    heads = ["dry within", "outlooks", "came", "score", "better than today's", "than usual"]
    lines += table([heads, *(_dry_row(line) for line in dry)]) if dry else []
    return "\n".join([*lines, *_SCORE_NOTES])


def _stored_row(line: Json) -> Sequence[str]:
    return (
        f"{line['after_d']} days",
        f"{line['outlooks']}",
        f"{line['held']} of {line['outlooks']}",
        litres(line["crps_l"]),
        _share(line["over_level"]),
        _share(line["over_usual"]),
    )


def _dry_row(line: Json) -> Sequence[str]:
    return (
        f"{line['within_d']} days",
        f"{line['outlooks']}",
        f"{line['came']} of {line['outlooks']}",
        f"{line['brier']:.3f}",
        _share(line["over_level"]),
        _share(line["over_usual"]),
    )


def _share(value: float | None) -> str:
    return "" if value is None else f"{100 * value:.0f} %"
