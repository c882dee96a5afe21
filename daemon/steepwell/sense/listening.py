"""What the broker carries, told to a person: topics, intervals, and sections to paste."""

from __future__ import annotations

import re
import threading
from typing import TYPE_CHECKING, Any

from steepwell.clock import from_ms, to_ms
from steepwell.errors import BrokerError, MessageRefusedError
from steepwell.sense.heard import Place, Topic, shown_payload
from steepwell.sense.moments import moment_of
from steepwell.sense.text import JsonPointer, json_of
from steepwell.sense.visit import visiting

if TYPE_CHECKING:
    from collections.abc import Callable

    import paho.mqtt.client as mqtt

    from steepwell.clock import Clock
    from steepwell.garden.garden import Garden

Json = dict[str, Any]

MOST_TOPICS = 1000
STALE_MS = 3_600_000
LOOKS_UP_AFTER_S = 0.5

_BATTERY = re.compile(r"batt|cell|volt|vcc", re.IGNORECASE)
_SIGNAL = re.compile(r"rssi|signal|snr|dbm|link", re.IGNORECASE)
_LENGTHS, _WARMTHS = {"m", "cm", "mm"}, {"Cel", "K", "degF"}
_PRESSURES = {"Pa", "hPa", "kPa", "mbar", "bar"}
# What a place is called, and the keys its sensor has then. Units tell more, and go first.
_BY_NAME: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("tip", ('measures = "rain"', 'counts = "tips since start"', 'tip = "0.2 mm"')),
    ("rain|precip|gauge", ('measures = "rain"', 'counts = "mm since start"')),
    (
        "dist|range|echo|water|butt",
        ('measures = "level"', 'reads = "distance from lid"', 'lid = "..."'),
    ),
    ("water", ('measures = "level"', 'reads = "distance from lid"', 'lid = "..."')),
    ("depth|level|height", ('measures = "level"', 'reads = "depth"')),
    ("litre|liter|volume", ('measures = "level"', 'reads = "litres"')),
    ("full|fill|percent", ('measures = "level"', 'reads = "percent"')),
    ("baro|press|hpa", ('measures = "pressure"',)),
    ("temp|cel|warm|air|deg|shade|probe", ('measures = "temperature"', 'of = "air"')),
)
METRES, CENTIMETRES, _IN_LENGTHS = 5, 250, 'reads = "d'
_UNKNOWN = ('measures = "..."',)


def listen(
    garden: Garden, clock: Clock, *, seconds: float, topic: str, tell: Callable[[int, int], None]
) -> Json:
    """Hear what is published for a while, and return what it looks like.

    Parameters
    ----------
    garden
        The garden, for its broker and the sensors it has already.
    clock
        Tells when messages arrive.
    seconds
        How long [s].
    topic
        What to listen to, wildcards allowed.
    tell
        Called now and then with the number of topics and of messages.

    Raises
    ------
    BrokerError
        If there is no broker, it cannot be reached, or does not let us hear.
    """
    broker = garden.broker
    if broker is None:
        raise BrokerError("the garden file names no broker; add a [broker] section")
    topics: dict[str, Topic] = {}
    count = 0

    def hear(message: mqtt.MQTTMessage) -> None:
        nonlocal count
        name = message.topic
        if name.startswith(f"steepwell/{garden.name}/"):
            return
        count += 1
        if name in topics or len(topics) < MOST_TOPICS:
            at_s = to_ms(clock.now()) / 1000
            heard = topics.setdefault(name, Topic(name))
            heard.hear(bytes(message.payload), at_s, retained=bool(message.retain))

    with visiting(garden, broker, hear) as visit:
        visit.subscribe(topic)
        begun_ms = to_ms(clock.now())
        ended = threading.Event()
        try:
            while to_ms(clock.now()) - begun_ms < seconds * 1000:
                ended.wait(min(LOOKS_UP_AFTER_S, seconds))
                tell(len(topics), count)
        except KeyboardInterrupt:
            pass
        heard_s = (to_ms(clock.now()) - begun_ms) / 1000
    now_ms = to_ms(clock.now())
    return {
        "broker": visit.where,
        "heard_s": round(heard_s, 1),
        "messages": count,
        "topics": [told(topics[name], garden, now_ms) for name in sorted(topics)],
    }


def listening_screen(report: Json) -> str:
    """Return the answer of ``steepwell listen``."""
    heard = f"{report['messages']} messages in {report['heard_s']:g} s at {report['broker']}"
    if not report["topics"]:
        return f"{heard}. See that the devices run, and listen longer: some speak once an hour."
    lines = [f"{heard}, on {len(report['topics'])} topics."]
    for topic in report["topics"]:
        every = topic["every_s"]
        often = f"every {every:g} s" if every is not None else f"{topic['messages']} heard"
        known = f", which is {' and '.join(topic['known_as'])}" if topic["known_as"] else ""
        lines += ["", f"{topic['topic']}  ({often}{known})", f"  {topic['last']}"]
        lines += [f"  Beware: {warning}." for warning in topic["warnings"]]
        for section in topic["sections"]:
            lines += ["", *section.splitlines()]
    if any(topic["sections"] for topic in report["topics"]):
        lines += [
            "",
            "Copy the sections you want into the garden file. What each measures is a guess by its",
            'name; write what is so, and fill in where "..." stands.',
        ]
    return "\n".join(lines)


def told(topic: Topic, garden: Garden, now_ms: int) -> Json:
    """Return what one topic looks like.

    Parameters
    ----------
    topic
        What was heard on it.
    garden
        The garden, for the sensors that speak there.
    now_ms
        The moment [ms since 1970].
    """
    every_s = topic.interval_s()
    known = [sensor.name for sensor in garden.sensor if sensor.topic == topic.name]
    return {
        "topic": topic.name,
        "messages": len(topic.arrivals_s),
        "every_s": None if every_s is None else round(every_s, 1),
        "last": shown_payload(topic.said),
        "numbers": [
            {"where": place.where, "unit": place.unit, "last": values[-1]}
            for place, values in topic.values.items()
        ],
        "known_as": known,
        "warnings": _warnings(topic, now_ms),
        "sections": [] if known else sections(topic),
    }


def _warnings(topic: Topic, now_ms: int) -> list[str]:
    warnings = []
    if topic.retained is not None:
        warnings.append(_of_retained(topic, now_ms))
    if topic.has_two_voices():
        warnings.append(
            "it sounds as if two devices spoke here in turn; give each a topic of its own, or "
            "their readings cannot be told apart"
        )
    if topic.why_not is not None:
        warnings.append(f"the last message cannot be read: {topic.why_not}")
    return warnings


def _of_retained(topic: Topic, now_ms: int) -> str:
    at_ms = None
    if topic.time_pointer is not None and topic.retained is not None:
        try:
            at_ms = moment_of(JsonPointer(topic.time_pointer).find(json_of(topic.retained)))
        except MessageRefusedError:
            at_ms = None
    if at_ms is None:
        return (
            "the broker keeps a message here, and nobody knows how old it is; a kept message "
            "without a time is no reading"
        )
    if now_ms - at_ms > STALE_MS:
        return f"the broker keeps an old message here, of {from_ms(at_ms):%Y-%m-%d %H:%M} UTC"
    return "the broker keeps the newest message here, which does no harm: it carries its time"


def sections(topic: Topic) -> list[str]:
    """Return a sensor section for each number on a topic that may be a measurement."""
    places = [place for place in topic.values if not _is_of_the_device(place)]
    return [_section(topic, place) for place in places]


def _is_of_the_device(place: Place) -> bool:
    last = place.where.rsplit("/", 1)[-1].rsplit(":", 1)[-1]
    return bool(_BATTERY.search(last) or _SIGNAL.search(last))


def _section(topic: Topic, place: Place) -> str:
    lines = ["[[sensor]]", f'name = "{_name(topic, place)}"', *_measures(topic, place)]
    lines += [f"topic = {_quoted(topic.name)}", f'payload = "{place.kind}"']
    if place.kind == "senml":
        lines.append(f"record = {_quoted(place.where)}")
    if place.kind == "json":
        lines.append(f"pointer = {_quoted(place.where)}")
        if topic.time_pointer is not None:
            lines.append(f"time_pointer = {_quoted(topic.time_pointer)}")
        for key, pattern in (("battery_pointer", _BATTERY), ("signal_pointer", _SIGNAL)):
            found = [p.where for p in topic.values if pattern.search(p.where.rsplit("/", 1)[-1])]
            lines += [f"{key} = {_quoted(found[0])}"] if found else []
    if place.unit is None and any(_IN_LENGTHS in line for line in lines):
        # What a gardener's butt can be deep.
        last = abs(topic.values[place][-1])
        lines.append(f'unit = "{"m" if last <= METRES else "cm" if last <= CENTIMETRES else "mm"}"')
    return "\n".join(lines)


def _measures(topic: Topic, place: Place) -> tuple[str, ...]:
    # What the number itself is called tells more than where it was said.
    names = (place.where.lower(), topic.name.lower())
    by_name = next(
        (keys for name in names for word, keys in _BY_NAME if re.search(word, name)), _UNKNOWN
    )
    is_rain = "rain" in by_name[0]
    if place.unit in _WARMTHS:
        return ('measures = "temperature"', 'of = "air"')
    if place.unit in _PRESSURES and "level" not in by_name[0]:
        return ('measures = "pressure"',)
    if place.unit in _PRESSURES:
        return ('measures = "level"', 'of = "..."', 'reads = "pressure"')
    if place.unit in _LENGTHS and not is_rain and "level" not in by_name[0]:
        by_name = ('measures = "level"', 'reads = "distance from lid"', 'lid = "..."')
    if "level" in by_name[0]:
        return (by_name[0], 'of = "..."', *by_name[1:])
    return by_name


def _name(topic: Topic, place: Place) -> str:
    last = re.split(r"[/:]", place.where)[-1] if place.where else ""
    words = f"{topic.name.rsplit('/', 1)[-1]}-{last}" if last else topic.name.rsplit("/", 1)[-1]
    return re.sub(r"[^a-z0-9]+", "-", words.lower()).strip("-")[:40] or "sensor"


def _quoted(text: str) -> str:
    """Return a text as TOML writes it."""
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return '"' + "".join(c if c.isprintable() else f"\\u{ord(c):04x}" for c in escaped) + '"'
