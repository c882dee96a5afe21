"""What the commands print of the weeks ahead: short tables for a terminal."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

from steepwell.tell.wording import cans, days_listed, sentence, the_butt, the_vessel
from steepwell.words.figures import day, joined, litres, spoken
from steepwell.words.saying import say, say_count

if TYPE_CHECKING:
    from collections.abc import Sequence

Json = dict[str, Any]


def vessel_line(vessel: Json) -> str:
    """Return in one line when the liquid of a vessel may be used."""
    return f"  {_of_vessel(vessel)}"


def _of_vessel(vessel: Json) -> str:
    name = the_vessel(vessel["name"])
    if vessel["ready"] is None:
        return say("screen.empty", vessel=name)
    if vessel["dilution_parts"] is not None:
        return say("screen.ready", vessel=name, use=f"1:{vessel['dilution_parts']}")
    ready = vessel["ready"]
    if ready["p50"] is None:
        return say("screen.not-ready", vessel=name)
    return say(
        "screen.ready-about",
        vessel=name,
        day=day(date.fromisoformat(ready["p50"])),
        first=day(date.fromisoformat(ready["p10"])),
        last=day(date.fromisoformat(ready["p90"])) if ready["p90"] else say("screen.later"),
    )


def outlook_screen(outlook: Json) -> str:
    """Return the answer of ``steepwell outlook``: one line a week."""
    lines = _water_lines(outlook) if outlook["butts"] else [sentence(say("screen.no-butt"))]
    lines += [_of_vessel(vessel) for vessel in outlook["vessels"]]
    lines += _dry_lines(outlook.get("dryness"))
    return "\n".join(lines)


def _water_lines(outlook: Json) -> list[str]:
    """Return a line a week, and when the garden runs dry."""
    water = outlook["water"]
    capacity_l = sum(butt["capacity_l"] for butt in outlook["butts"])
    rows = [
        [
            say("screen.day"),
            say("screen.low"),
            say("screen.middle"),
            say("screen.high"),
            say("screen.chance-of-dry"),
        ]
    ]
    rows += [
        [
            day(date.fromisoformat(outlook["days"][index])),
            *(litres(water["volume_l"][name][index]) for name in ("p10", "p50", "p90")),
            f"{water['p_dry'][index]:.0%}",
        ]
        for index in range(0, len(outlook["days"]), 7)
    ]
    lines = [
        say("screen.water-ahead", garden=outlook["garden"], litres=f"{capacity_l:,.0f}"),
        *table(rows),
    ]
    dry_by = water["dry_by"]
    if dry_by["p50"] is not None:
        lines.append(say("screen.dry-by", day=day(date.fromisoformat(dry_by["p50"]))))
    elif dry_by["p10"] is not None:
        lines.append(say("screen.dry-one-in-ten", day=day(date.fromisoformat(dry_by["p10"]))))
    else:
        lines.append(say("screen.no-dry-day"))
    return lines


def _dry_lines(dryness: Json | None) -> list[str]:
    """Return how dry it has been, one line for all and one for each span compared."""
    if dryness is None:
        return []
    dry_d, longest_d = dryness["days_below_1_mm"], dryness["longest_dry_run_d"]
    lines = [say("screen.dry-days", days=dry_d, longest=longest_d)]
    for span in dryness["rain"]:
        fell = f"{span['rain_mm']:.0f}"
        rain = say_count("screen.rain", span["months"], mm=fell)
        if span["usual_mm"] is not None:
            rain = say("screen.rain-usual", rain=rain, usual=f"{span['usual_mm']:.0f}")
        if span["spi"] is not None:
            index = f"{span['spi']:.1f}"
            rain = say("screen.rain-index", rain=rain, index=index, wetness=span["wetness"])
        lines.append(sentence(rain))
    return lines


def plan_screen(plan: Json) -> str:
    """Return the answer of ``steepwell plan``."""
    first, last = (date.fromisoformat(text) for text in plan["week"])
    if plan["in_hand_l"] is None:
        in_hand = say("screen.no-butt")
    else:
        in_hand = say("screen.above-taps", litres=litres(plan["in_hand_l"]))
    jobs = [
        *(_water(line) for line in plan["water"]),
        *(_feed(line) for line in plan["feed"]),
        *(
            say("screen.no-feed", bed=spoken(line["bed"]), reason=line["reason"])
            for line in plan["unfed"]
        ),
        *(_vessel_job(line) for line in plan["vessels"]),
        *(_mulch(line) for line in plan["mulch"]),
        *(_taken(line) for line in plan.get("taken", ())),
    ]
    lines = [
        say("screen.in-hand", first=day(first), last=day(last), in_hand=in_hand),
        *(f"  {job}" for job in jobs or (say("screen.nothing-to-do"),)),
        *_lever_lines(plan["levers"]),
    ]
    if plan["water"] or plan["feed"]:
        lines.append(say("screen.soil-only"))
    return "\n".join(lines)


def _water(line: Json) -> str:
    bed, reason = spoken(line["bed"]), line["reason"]
    if line["daily_l"]:
        butt = the_butt(line["from"]) if line["from"] else say("screen.the-tap")
        daily = litres(line["daily_l"])
        return say("screen.water-daily", bed=bed, litres=daily, butt=butt, reason=reason)
    if not line["cans"]:
        return say("screen.leave-dry", bed=bed, reason=reason)
    return say(
        "screen.water",
        bed=bed,
        cans=cans(line["cans"]),
        butt=the_butt(line["from"]),
        days=days_listed([date.fromisoformat(text) for text in line["days"]]),
        mm=line["skip_after_mm"],
        reason=reason,
    )


def _feed(line: Json) -> str:
    return say(
        "screen.feed",
        bed=spoken(line["bed"]),
        cans=cans(line["cans"]),
        measure=line["spoons"],
        vessel=the_vessel(line["vessel"]),
        dilution=f"1:{line['dilution_parts']}",
        day=days_listed([date.fromisoformat(line["day"])]),
        reason=line["reason"],
    )


def _mulch(line: Json) -> str:
    return say_count(
        "screen.mulch",
        2 if line["boxes"] != 1 else 1,
        bed=spoken(line["bed"]),
        boxes=f"{line['boxes']:g}",
        mm=f"{line['depth_mm']:g}",
        litres=litres(line["saves_l"]),
        reason=line["reason"],
    )


def _lever_lines(levers: Sequence[Json]) -> list[str]:
    """Return what else would help as a table, that of which the butts last longest first."""
    if not levers:
        return []
    rows = [[say("screen.would-help"), say("screen.six-weeks"), say("screen.days-longer")]]
    rows += [
        [
            say(f"screen.lever-{line['lever']}", bed=spoken(line["bed"] or "")),
            litres(max(line["litres"], 0.0)),
            f"{line['days']:.1f}",
        ]
        for line in levers
    ]
    return table(rows)


def _taken(line: Json) -> str:
    """Return what counts as done though nobody noted it, with the name by which it is undone."""
    bed, on_day = spoken(line["bed"]), day(date.fromisoformat(line["day"]))
    if line["vessel"]:
        what = say("screen.was-fed", bed=bed, vessel=the_vessel(line["vessel"]), day=on_day)
    else:
        what = say("screen.was-watered", bed=bed, day=on_day)
    if line["litres"]:
        what = say("screen.so-much", what=what, litres=litres(line["litres"]))
    return say("screen.taken", what=what, job=line["job"])


def _vessel_job(line: Json) -> str:
    """Return in one line what to do with a vessel, by when and why."""
    told = say(f"screen.do-{line['do'].replace(' ', '-')}", vessel=the_vessel(line["name"]))
    if line["by"]:
        told = say("screen.by", what=told, day=day(date.fromisoformat(line["by"])))
    parts = []
    if line["rainwater_l"]:
        parts.append(say("screen.rainwater", litres=f"{line['rainwater_l']}"))
    if line["matter"]:
        parts.append(line["matter"])
    if parts:
        told = say("screen.with", what=told, parts=joined(parts))
    return say("screen.because", what=told, reason=line["reason"])


def table(rows: Sequence[Sequence[str]]) -> list[str]:
    """Return rows as lines with their columns one below the other."""
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
    return [
        "  " + "  ".join(cell.rjust(width) for cell, width in zip(row, widths, strict=True))
        for row in rows
    ]
