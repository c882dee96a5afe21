"""What the commands print: short tables for a terminal."""

from __future__ import annotations

from datetime import date, datetime, tzinfo
from typing import TYPE_CHECKING, Any

from pydantic import BaseModel

from steepwell.clock import from_ms
from steepwell.errors import WeatherRecordError
from steepwell.store.store import garden_store_url, open_store
from steepwell.tell.wording import cans, day, days_listed, litres, spoken, the_butt, the_vessel

if TYPE_CHECKING:
    from collections.abc import Sequence

    from steepwell.garden.garden import Garden

Json = dict[str, Any]


def check_report(garden: Garden) -> Json:
    """Return what a garden file holds and which defaults fill it up."""
    return {
        "garden": garden.name,
        "capacity_l": round(garden.capacity_l, 1),
        "counts": {
            kind: len(getattr(garden, kind)) for kind in ("roof", "butt", "vessel", "bed", "sensor")
        },
        "remarks": _remarks(garden),
        "defaults": _defaults(garden, ""),
    }


def _remarks(garden: Garden) -> list[str]:
    """Return what is no fault of the file but keeps something from working."""
    remarks = []
    record = garden.weather_record
    if record is None:
        remarks.append("There is no [weather_record]: there will be no outlook.")
    elif record.daily is not None and not garden.path(record.daily).is_file():
        remarks.append(
            f"{record.daily} is not there yet: no outlook until it is put beside the garden file."
        )
    elif record.daily is not None:
        remarks += _record_remarks(garden)
    if garden.sensor and garden.broker is None:
        remarks.append("There are sensors and no [broker]: they are not heard.")
    if garden.told.people and garden.told.mail is None:
        remarks.append("There are people to tell and no [told.mail]: they are told nothing.")
    unused = [name for name in ("mirror", "page") if getattr(garden, name) is not None]
    remarks += [f"[{name}] is understood but does nothing in this version." for name in unused]
    return remarks


def _record_remarks(garden: Garden) -> list[str]:
    from steepwell.outlook.record import record_remarks  # noqa: PLC0415 - NumPy is slow to load
    from steepwell.outlook.weather import known_weather  # noqa: PLC0415 - the same

    try:
        record = known_weather(garden)
    except WeatherRecordError as error:
        return [f"There will be no outlook: {error}."]
    return record_remarks(record) if record else []


def check_screen(report: Json) -> str:
    """Return the answer of ``steepwell check``."""
    counts = ", ".join(_counted(kind, count) for kind, count in report["counts"].items())
    lines = [
        f"{report['garden']}: no faults.",
        f"{counts}; {report['capacity_l']:,.0f} L of butts.",
    ]
    lines += report["remarks"]
    if report["defaults"]:
        lines += ["Taken by default:"]
        lines += [f"  {key} = {value}" for key, value in report["defaults"].items()]
    return "\n".join(lines)


def _counted(kind: str, count: int) -> str:
    return f"{count} {kind}{'' if count == 1 else 's'}"


def _defaults(part: BaseModel, path: str) -> dict[str, Any]:
    """Return every value that stands in no line of the file, by key path."""
    found: dict[str, Any] = {}
    for key in type(part).model_fields:
        value = getattr(part, key)
        here = f"{path}.{key}" if path else key
        if isinstance(value, BaseModel):
            found.update(_defaults(value, here))
        elif isinstance(value, tuple) and value and isinstance(value[0], BaseModel):
            for index, item in enumerate(value, start=1):
                found.update(_defaults(item, f"{here}[{index}]"))
        elif key not in part.model_fields_set and value not in (None, ()) and key != "folder":
            found[here] = str(value)
    return found


def status_report(garden: Garden, now: datetime) -> Json:
    """Return how things stand: the last outlook, readings, notices, mail, refused messages."""
    with open_store(garden_store_url(garden), garden, read_only=True) as store:
        latest = store.readings.latest(now)
        zone = garden.garden.zone
        return {
            "garden": garden.name,
            "now": _local(now, zone),
            "outlook": store.results.latest("outlook", now),
            "sensors": [
                _sensor_line(sensor.name, latest.get(sensor.name), zone) for sensor in garden.sensor
            ],
            "notices": [
                {
                    "id": n.id,
                    "since": _local(n.since, zone),
                    "headline": n.last.headline,
                    "text": n.last.text,
                }
                for n in store.notices.standing()
            ],
            "mail_waiting": store.outbox.waiting(now),
            "refused": store.refused.count(now),
            "refused_last": [
                {"at": _local(from_ms(r.time_ms), zone), "topic": r.topic, "reason": r.reason}
                for r in store.refused.newest(3)
            ],
        }


def _local(moment: datetime, zone: tzinfo) -> str:
    return moment.astimezone(zone).isoformat(timespec="seconds")


def _sensor_line(name: str, reading: Any, zone: tzinfo) -> Json:  # noqa: ANN401 - a Reading or None
    if reading is None:
        return {"name": name, "heard": None, "value": None, "flag": 9, "reason": "never heard"}
    return {
        "name": name,
        "heard": _local(from_ms(reading.time_ms), zone),
        "value": round(reading.value, 2),
        "flag": reading.flag,
        "reason": reading.reason,
    }


def status_screen(report: Json) -> str:
    """Return the answer of ``steepwell status``."""
    lines = [f"{report['garden']}, {report['now']}"]
    if report["outlook"] is not None:
        ahead = report["outlook"]
        lines += [f"  outlook of {ahead['issued']}"]
        lines += [
            f"  {the_butt(butt['name'])}: {litres(butt['now_l'])} of {butt['capacity_l']:,.0f} L"
            for butt in ahead["butts"]
        ]
        lines += [_vessel_line(vessel) for vessel in ahead["vessels"]]
    else:
        lines += ["  no outlook yet"]
    if report["notices"]:
        lines += ["Standing:"]
        lines += [f"  {notice['headline']}. {notice['text']}" for notice in report["notices"]]
    lines += ["Sensors:"] if report["sensors"] else []
    for sensor in report["sensors"]:
        heard = sensor["heard"] or "never heard"
        doubt = f"  ({sensor['reason']})" if sensor["reason"] and sensor["heard"] else ""
        lines.append(f"  {sensor['name']}: {heard}{doubt}")
    lines.append(f"Mails waiting: {report['mail_waiting']}; messages refused: {report['refused']}.")
    lines += [
        f"  {refused['at']} {refused['topic']}: {refused['reason']}"
        for refused in report["refused_last"]
    ]
    return "\n".join(lines)


def _vessel_line(vessel: Json) -> str:
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
        *_table(rows),
    ]
    dry_by = water["dry_by"]
    if dry_by["p50"] is not None:
        lines.append(f"Dry by about {day(date.fromisoformat(dry_by['p50']))}.")
    elif dry_by["p10"] is not None:
        lines.append(f"One chance in ten to be dry by {day(date.fromisoformat(dry_by['p10']))}.")
    else:
        lines.append("No dry day in sight.")
    lines += [_vessel_line(vessel).strip() for vessel in outlook["vessels"]]
    return "\n".join(lines)


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
        f"{the_vessel(line['vessel'])} (1:{line['dilution_parts']}); {line['reason']}"
        for line in plan["feed"]
    ]
    lines += [f"  no feed for {spoken(line['bed'])}: {line['reason']}" for line in plan["unfed"]]
    for line in plan["vessels"]:
        lines.append(
            f"  {line['do']} {the_vessel(line['name'])} with {line['rainwater_l']} L: "
            f"{line['reason']}"
        )
    if plan["water"] or plan["feed"]:
        lines.append(
            "Butt water and feed go on the soil, never through a sprayer, and are not for drinking."
        )
    return "\n".join(lines)


def _table(rows: Sequence[Sequence[str]]) -> list[str]:
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
    return [
        "  " + "  ".join(cell.rjust(width) for cell, width in zip(row, widths, strict=True))
        for row in rows
    ]
