"""What the commands print of the weeks ahead: short tables for a terminal."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

from steepwell.tell.wording import cans, day, days_listed, litres, spoken, the_butt, the_vessel

if TYPE_CHECKING:
    from collections.abc import Sequence

Json = dict[str, Any]


def vessel_line(vessel: Json) -> str:
    """Return in one line when the liquid of a vessel may be used."""
    name = the_vessel(vessel["name"])
    if vessel["ready"] is None:
        return f"  {name}: empty"
    if vessel["dilution_parts"] is not None:
        return f"  {name}: ready, use 1:{vessel['dilution_parts']}"
    ready = vessel["ready"]
    if ready["p50"] is None:
        return f"  {name}: not ready within the weeks looked at"
    about = day(date.fromisoformat(ready["p50"]))
    first = day(date.fromisoformat(ready["p10"]))
    last = day(date.fromisoformat(ready["p90"])) if ready["p90"] else "later"
    return f"  {name}: ready about {about} ({first} to {last})"


def outlook_screen(outlook: Json) -> str:
    """Return the answer of ``steepwell outlook``: one line a week."""
    water = outlook["water"]
    capacity_l = sum(butt["capacity_l"] for butt in outlook["butts"])
    rows = [["day", "low", "middle", "high", "chance of dry"]]
    rows += [
        [
            day(date.fromisoformat(outlook["days"][index])),
            *(litres(water["volume_l"][name][index]) for name in ("p10", "p50", "p90")),
            f"{water['p_dry'][index]:.0%}",
        ]
        for index in range(0, len(outlook["days"]), 7)
    ]
    lines = [
        f"{outlook['garden']}: water in the weeks ahead, of {capacity_l:,.0f} L",
        *table(rows),
    ]
    dry_by = water["dry_by"]
    if dry_by["p50"] is not None:
        lines.append(f"Dry by about {day(date.fromisoformat(dry_by['p50']))}.")
    elif dry_by["p10"] is not None:
        lines.append(f"One chance in ten to be dry by {day(date.fromisoformat(dry_by['p10']))}.")
    else:
        lines.append("No dry day in sight.")
    lines += [vessel_line(vessel).strip() for vessel in outlook["vessels"]]
    lines += _dry_lines(outlook.get("dryness"))
    return "\n".join(lines)


def _dry_lines(dryness: Json | None) -> list[str]:
    """Return how dry it has been, one line for all and one for each span compared."""
    if dryness is None:
        return []
    dry_d, longest_d = dryness["days_below_1_mm"], dryness["longest_dry_run_d"]
    lines = [f"Days without 1 mm of rain: {dry_d}; in half a year at most {longest_d} in a row."]
    for span in dryness["rain"]:
        usual = "" if span["usual_mm"] is None else f", usual are {span['usual_mm']:.0f} mm"
        index = "" if span["spi"] is None else f" (SPI {span['spi']:.1f}, {span['wetness']})"
        months = f"{span['months']} month{'s' if span['months'] > 1 else ''}"
        lines.append(f"Rain of {months}: {span['rain_mm']:.0f} mm{usual}{index}.")
    return lines


def plan_screen(plan: Json) -> str:
    """Return the answer of ``steepwell plan``."""
    first, last = (date.fromisoformat(text) for text in plan["week"])
    lines = [f"{day(first)} to {day(last)}: {litres(plan['in_hand_l'])} above the taps"]
    for line in plan["water"]:
        if line["daily_l"]:
            lines.append(
                f"  water {spoken(line['bed'])}: {litres(line['daily_l'])} every day from "
                f"{the_butt(line['from']) if line['from'] else 'the tap'} ({line['reason']})"
            )
        elif line["cans"]:
            days = days_listed([date.fromisoformat(text) for text in line["days"]])
            lines.append(
                f"  water {spoken(line['bed'])}: {cans(line['cans'])} from "
                f"{the_butt(line['from'])}, {days}; skip if more than "
                f"{line['skip_after_mm']} mm falls first ({line['reason']})"
            )
        else:
            lines.append(f"  leave {spoken(line['bed'])} dry: {line['reason']}")
    lines += [
        f"  feed {spoken(line['bed'])}: {cans(line['cans'])} with {line['spoons']} from "
        f"{the_vessel(line['vessel'])} (1:{line['dilution_parts']}) on "
        f"{days_listed([date.fromisoformat(line['day'])])}; {line['reason']}"
        for line in plan["feed"]
    ]
    lines += [f"  no feed for {spoken(line['bed'])}: {line['reason']}" for line in plan["unfed"]]
    lines += [_vessel_job(line) for line in plan["vessels"]]
    lines += [
        f"  mulch {spoken(line['bed'])}: {line['boxes']:g} "
        f"{'box' if line['boxes'] == 1 else 'boxes'} of clippings, "
        f"{line['depth_mm']:g} mm deep, save {litres(line['saves_l'])} ({line['reason']})"
        for line in plan["mulch"]
    ]
    lines += [f"  {_taken(line)}" for line in plan.get("taken", ())]
    lines += _lever_lines(plan["levers"])
    if plan["water"] or plan["feed"]:
        lines.append(
            "Butt water and feed go on the soil, never through a sprayer, and are not for drinking."
        )
    return "\n".join(lines)


def _lever_lines(levers: Sequence[Json]) -> list[str]:
    """Return what else would help as a table, that of which the butts last longest first."""
    if not levers:
        return []
    rows = [["what else would help", "water in six weeks", "days longer"]]
    rows += [
        [
            f"{line['lever']} {spoken(line['bed'])}" if line["bed"] else "cans from the tap",
            litres(max(line["litres"], 0.0)),
            f"{line['days']:.1f}",
        ]
        for line in levers
    ]
    return table(rows)


def _taken(line: Json) -> str:
    """Return what counts as done though nobody noted it, with the name by which it is undone."""
    what = f"fed from {the_vessel(line['vessel'])}" if line["vessel"] else "watered"
    amount = f", {litres(line['litres'])}" if line["litres"] else ""
    on_day = day(date.fromisoformat(line["day"]))
    return f"taken as done: {spoken(line['bed'])} {what} on {on_day}{amount} ({line['job']})"


def _vessel_job(line: Json) -> str:
    """Return in one line what to do with a vessel, by when and why."""
    by = f" by {day(date.fromisoformat(line['by']))}" if line["by"] else ""
    water = [f"{line['rainwater_l']} L of rainwater"] if line["rainwater_l"] else []
    what = " and ".join([*water, *([line["matter"]] if line["matter"] else [])])
    told = f"  {line['do']} {the_vessel(line['name'])}{by}{f' with {what}' if what else ''}"
    return f"{told}: {line['reason']}"


def table(rows: Sequence[Sequence[str]]) -> list[str]:
    """Return rows as lines with their columns one below the other."""
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
    return [
        "  " + "  ".join(cell.rjust(width) for cell, width in zip(row, widths, strict=True))
        for row in rows
    ]
