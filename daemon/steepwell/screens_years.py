"""What the commands print of many years or many outlooks: short tables for a terminal."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from steepwell.clock import from_ms
from steepwell.errors import SteepwellError
from steepwell.screens_ahead import table
from steepwell.store.store import garden_store_url, open_store
from steepwell.words.figures import day, litres
from steepwell.words.saying import say, say_count

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from steepwell.garden.garden import Garden
    from steepwell.tell.units import Units

# Any year that is no leap year will do for a day of the year.
SOME_YEAR = 2001

Json = dict[str, Any]


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
    heads = [
        "",
        say("screen.butts"),
        say("screen.summers-dry"),
        say("screen.dry-from"),
        say("screen.earliest"),
        say("screen.short"),
        say("screen.worst-summer"),
    ]
    rows = [heads]
    rows += [_size_row(variant, sizes["summers"]) for variant in sizes["variants"]]
    return "\n".join(
        [
            say(
                "screen.sizes",
                garden=sizes["garden"],
                summers=_summers(sizes),
                first=first,
                last=last,
            ),
            *table(rows),
            say("screen.size-notes"),
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
    return [
        say_count(
            "screen.one-more",
            sizes["summers"],
            variant=says["one-more-butt"],
            dry=dry["one-more-butt"],
            now=dry["as-it-is"],
        )
    ]


def _summers(sizes: Json) -> str:
    if sizes["years"] is None:
        return say("screen.summers-made", summers=sizes["summers"])
    first, last = sizes["years"]
    return say_count("screen.summers", sizes["summers"], first=first, last=last)


def _size_row(variant: Json, summers: int) -> list[str]:
    worst = litres(variant["short_l"]["worst"])
    if variant["worst_year"] is not None and variant["short_l"]["worst"] > 0.0:
        worst += f" ({variant['worst_year']})"
    return [
        variant["says"],
        f"{variant['capacity_l']:,.0f} L",
        say("screen.so-many-of", some=variant["dry"], all=summers),
        *(_day_of_year(variant["first_dry"][key]) for key in ("p50", "earliest")),
        litres(variant["short_l"]["p50"]),
        worst,
    ]


def _day_of_year(text: str | None) -> str:
    return say("screen.never") if text is None else day(date.fromisoformat(f"{SOME_YEAR}-{text}"))


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
    lines = [
        say_count(
            "screen.scores",
            scores["outlooks"],
            garden=scores["garden"],
            first=f"{day(first)} {first.year}",
            last=f"{day(last)} {last.year}",
        )
    ]
    stored = [line for line in scores["stored"] if line["outlooks"]]
    if not stored:
        lines.append(say("screen.none-judged"))
        return "\n".join(lines)
    better = [say("screen.better-than-today"), say("screen.than-usual")]
    count, held, off_by = say("screen.outlooks"), say("screen.held"), say("screen.off-by")
    heads = [say("screen.water-after"), count, held, off_by, *better]
    lines += table([heads, *(_stored_row(line) for line in stored)])
    dry = [line for line in scores["dry"] if line["outlooks"]]
    heads = [say("screen.dry-within"), count, say("screen.came"), say("screen.score"), *better]
    lines += table([heads, *(_dry_row(line) for line in dry)]) if dry else []
    return "\n".join([*lines, say("screen.score-notes")])


def _stored_row(line: Json) -> Sequence[str]:
    return (
        say_count("screen.days", line["after_d"]),
        f"{line['outlooks']}",
        say("screen.so-many-of", some=line["held"], all=line["outlooks"]),
        litres(line["crps_l"]),
        _share(line["over_level"]),
        _share(line["over_usual"]),
    )


def _dry_row(line: Json) -> Sequence[str]:
    return (
        say_count("screen.days", line["within_d"]),
        f"{line['outlooks']}",
        say("screen.so-many-of", some=line["came"], all=line["outlooks"]),
        f"{line['brier']:.3f}",
        _share(line["over_level"]),
        _share(line["over_usual"]),
    )


def _share(value: float | None) -> str:
    return "" if value is None else f"{100 * value:.0f} %"
