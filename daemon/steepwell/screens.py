"""What the commands print of the garden as it is: its file, and how things stand."""

from __future__ import annotations

import os
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

from pydantic import BaseModel

from steepwell.clock import from_ms
from steepwell.connecting import connection_lines
from steepwell.errors import WeatherRecordError
from steepwell.garden.quantity import Kind
from steepwell.garden.secrets import has_secret
from steepwell.garden.site import MIRROR_TOKEN
from steepwell.health import health_line, health_report
from steepwell.keeping import size_line, size_report
from steepwell.mirroring import mirror_lines, mirror_report
from steepwell.screens_ahead import vessel_line
from steepwell.store.devices import NO_NUMBERS
from steepwell.store.store import garden_store_url, open_store
from steepwell.tell.sensor_words import rain_today_mm, reading_told
from steepwell.tell.wording import the_butt
from steepwell.words.figures import listed, litres, moment
from steepwell.words.saying import say

if TYPE_CHECKING:
    from datetime import tzinfo

    from pydantic.fields import FieldInfo

    from steepwell.garden.garden import Garden
    from steepwell.garden.sensors import Sensor
    from steepwell.garden.site import Mirror
    from steepwell.store.devices import Device
    from steepwell.store.readings import Reading

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
    remarks = [
        told
        for kind, told in (
            ("butt", "There is no butt: it cannot be told how long rainwater lasts."),
            ("roof", "There is no roof: the butts fill only by what is noted or read off them."),
            ("bed", "There is no bed: nothing is known of what is drawn, and nobody is watered."),
        )
        if not getattr(garden, kind)
    ]
    record = garden.weather_record
    if record is None:
        remarks.append("There is no [weather_record]: there will be no outlook.")
    elif record.daily is not None and not garden.path(record.daily).is_file():
        remarks.append(
            f"{record.daily} is not there yet: no outlook until it is put beside the garden file."
        )
    elif record.daily is not None:
        remarks += _record_remarks(garden)
    if garden.forecast is not None and garden.forecast.topic and garden.broker is None:
        remarks.append("The [forecast] has a topic and there is no [broker]: it is not heard.")
    if garden.sensor and garden.broker is None:
        remarks.append("There are sensors and no [broker]: they are not heard.")
    if garden.told.people and garden.told.mail is None:
        remarks.append("There are people to tell and no [told.mail]: they are told nothing.")
    if garden.mirror is not None:
        remarks += _mirror_remarks(garden, garden.mirror)
    return remarks


def _mirror_remarks(garden: Garden, mirror: Mirror) -> list[str]:
    file = mirror.token_file
    if file is not None and not has_secret(file, garden.folder):
        return [f"{file} is not there yet: nothing goes to the mirror until it holds the token."]
    if file is None and not os.environ.get(MIRROR_TOKEN):
        return [f"[mirror] names no token_file and {MIRROR_TOKEN} is not set: no token is sent."]
    return []


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
    if report.get("connection") is not None:
        lines += _connection_lines(report["connection"])
    lines += connection_lines(report.get("tried", []))
    if report["defaults"]:
        lines += ["Taken by default:"]
        lines += [f"  {key} = {value}" for key, value in report["defaults"].items()]
    return "\n".join(lines)


def _connection_lines(report: Json) -> list[str]:
    way = "encrypted" if report["encrypted"] else "not encrypted"
    lines = [f"The broker at {report['broker']} answers (MQTT {report['protocol']}, {way})."]
    if report["kept"] == report["tried_with"]:
        lines.append(f"It keeps at least {report['kept']:,} messages while the daemon is away.")
    lines += report["remarks"]
    return [*lines, "Whether they outlive a restart of the broker cannot be asked from here."]


def _counted(kind: str, count: int) -> str:
    return f"{count} {kind}{'' if count == 1 else 's'}"


def _defaults(part: BaseModel, path: str) -> dict[str, Any]:
    """Return every value that stands in no line of the file, by key path."""
    found: dict[str, Any] = {}
    for key, field in type(part).model_fields.items():
        value = getattr(part, key)
        here = f"{path}.{key}" if path else key
        if isinstance(value, BaseModel):
            found.update(_defaults(value, here))
        elif isinstance(value, tuple) and value and isinstance(value[0], BaseModel):
            for index, item in enumerate(value, start=1):
                found.update(_defaults(item, f"{here}[{index}]"))
        elif key not in part.model_fields_set and value not in (None, ()) and key != "folder":
            found[here] = _as_in_the_file(value, field)
    return found


def _as_in_the_file(value: object, field: FieldInfo) -> str:
    kind = next((each for each in field.metadata if isinstance(each, Kind)), None)
    if kind is not None and kind.symbol:
        return f'"{value:g} {kind.symbol}"'
    if isinstance(value, bool):
        return str(value).lower()
    return f"{value:g}" if isinstance(value, float) else f'"{value}"'


def status_report(garden: Garden, now: datetime) -> Json:
    """Return how things stand: the last outlook, readings, notices, mail, refused messages."""
    with open_store(garden_store_url(garden), garden, read_only=True) as store:
        latest = store.readings.latest(now)
        rain_mm = rain_today_mm(garden, store, now)
        devices = store.devices.all()
        zone = garden.garden.zone
        return {
            "garden": garden.name,
            "now": _local(now, zone),
            "outlook": store.results.latest("outlook", now),
            "outlook_due": garden.hours.daily if garden.weather_record is not None else None,
            "forecast": store.results.latest("forecast", now) if garden.forecast else None,
            "sensors": [
                {
                    **_sensor_line(sensor, latest.get(sensor.name), now, zone, rain_mm=rain_mm),
                    **_device(devices.get(sensor.name)),
                }
                for sensor in garden.sensor
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
            "health": health_report(garden, store, now),
            "store": size_report(garden, store, now),
            "mail_waiting": store.outbox.waiting(now),
            "mirror": mirror_report(store, zone) if garden.mirror is not None else None,
            "refused": store.refused.count(now),
            "passed_over": store.devices.tally(NO_NUMBERS),
            "refused_last": [
                {"at": _local(from_ms(r.time_ms), zone), "topic": r.topic, "reason": r.reason}
                for r in store.refused.newest(3)
            ],
        }


def _local(moment: datetime, zone: tzinfo) -> str:
    return moment.astimezone(zone).isoformat(timespec="seconds")


def _sensor_line(
    sensor: Sensor, reading: Reading | None, now: datetime, zone: tzinfo, *, rain_mm: float | None
) -> Json:
    if reading is None:
        return {
            "name": sensor.name,
            "heard": None,
            "age_s": None,
            "value": None,
            "told": "",
            "flag": 9,
            "reason": "never heard",
        }
    return {
        "name": sensor.name,
        "heard": _local(from_ms(reading.time_ms), zone),
        "age_s": (now - from_ms(reading.time_ms)) // timedelta(seconds=1),
        "value": round(reading.value, 2),
        "told": reading_told(sensor, reading, rain_mm),
        "flag": reading.flag,
        "reason": reading.reason,
    }


def _device(device: Device | None) -> Json:
    """Return what a device said of itself, in its own units."""
    told = {} if device is None else {"battery": device.battery, "signal": device.signal}
    return {key: value for key, value in told.items() if value is not None}


def _when(iso: str) -> str:
    return moment(datetime.fromisoformat(iso))


def _butt(butt: Json) -> str:
    now, capacity = litres(butt["now_l"]), f"{butt['capacity_l']:,.0f}"
    return say("screen.butt", butt=the_butt(butt["name"]), litres=now, capacity=capacity)


def status_screen(report: Json) -> str:
    """Return the answer of ``steepwell status``."""
    lines = [f"{report['garden']}, {_when(report['now'])}", health_line(report["health"])]
    if report["outlook"] is not None:
        ahead = report["outlook"]
        lines += [f"  {say('screen.outlook-of', moment=_when(ahead['issued']))}"]
        lines += [f"  {_butt(butt)}" for butt in ahead["butts"]]
        lines += [vessel_line(vessel) for vessel in ahead["vessels"]]
    elif report["outlook_due"] is None:
        lines += [f"  {say('screen.no-record')}"]
    else:
        lines += [f"  {say('screen.no-outlook', time=report['outlook_due'])}"]
    if report["forecast"] is not None:
        first, last = (report["forecast"]["days"][index]["day"] for index in (0, -1))
        issued = report["forecast"]["issued"]
        lines += [f"  {say('screen.forecast-of', moment=issued, first=first, last=last)}"]
    if report["notices"]:
        lines += [say("screen.standing")]
        lines += [
            f"  {notice['headline']}. {notice['text']} ({notice['id']})"
            for notice in report["notices"]
        ]
        lines += [f"  {say('screen.answer', notice=report['notices'][0]['id'])}"]
    lines += [say("screen.sensors")] if report["sensors"] else []
    for sensor in report["sensors"]:
        heard = _when(sensor["heard"]) if sensor["heard"] else say("screen.never-heard")
        told = listed([each for each in (sensor["told"], heard) if each])
        doubt = f"  ({sensor['reason']})" if sensor["reason"] and sensor["heard"] else ""
        itself = "".join(
            f", {key} {sensor[key]:g}" for key in ("battery", "signal") if key in sensor
        )
        lines.append(f"  {sensor['name']}: {told}{itself}{doubt}")
    lines += mirror_lines(report["mirror"]) if report["mirror"] is not None else []
    lines.append(size_line(report["store"]))
    lines.append(say("screen.waiting", mails=report["mail_waiting"], refused=report["refused"]))
    if report["passed_over"]:
        lines.append(say("screen.passed-over", count=report["passed_over"]))
    lines += [
        f"  {_when(refused['at'])} {refused['topic']}: {refused['reason']}"
        for refused in report["refused_last"]
    ]
    return "\n".join(lines)
