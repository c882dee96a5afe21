"""What the commands print of many years or many outlooks: short tables for a terminal."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

from steepwell.screens_ahead import table
from steepwell.tell.wording import day, litres

if TYPE_CHECKING:
    from steepwell.garden.garden import Garden

# Any year that is no leap year will do for a day of the year.
SOME_YEAR = 2001

Json = dict[str, Any]

_SIZE_NOTES = (
    "Butts are full and the soil is wet at first. Once a week the beds are given what they drew,",
    "while there is water. Dry is less than a can above the taps; dry from and short are those of",
    "the middle summer.",
)


def size_report(garden: Garden) -> Json:
    """Return what other butts, roofs and beds would have done in every year on record."""
    from steepwell.decide.sizing import size  # noqa: PLC0415 - NumPy is slow to load
    from steepwell.outlook.weather import known_weather  # noqa: PLC0415 - the same

    return size(garden, known_weather(garden))


def size_picture(sizes: Json) -> bytes:
    """Return the same as a picture, a PNG."""
    from steepwell.tell.size_chart import sizes_png  # noqa: PLC0415 - matplotlib is slow to load

    return sizes_png(sizes)


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
