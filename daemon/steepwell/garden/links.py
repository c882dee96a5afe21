"""Checks that names in a garden file are unique and point to something that is there."""

from __future__ import annotations

import difflib
from typing import TYPE_CHECKING, Any, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterator

NAMED_SECTIONS = ("roof", "butt", "vessel", "bed", "sensor")
_AIR = "air"
_Steps = tuple[int | str, ...]


class Link(NamedTuple):
    """A place in the file that points wrong: where, what stands there, what should."""

    where: _Steps
    found: str
    wanted: str


class _Voice(NamedTuple):
    """What tells the message of one sensor from that of another; ``part`` may be missing."""

    topic: str
    payload: str
    part: object

    def sounds_like(self, other: _Voice) -> bool:
        if self.topic != other.topic:
            return False
        return self == other or self.part is None or other.part is None


def broken_links(raw: dict[str, Any]) -> Iterator[Link]:
    """Yield every name that is used twice or points nowhere.

    Parameters
    ----------
    raw
        The parsed file; parts of the wrong type are passed over, other checks report them.

    Yields
    ------
    Link
        One per fault.
    """
    names = {section: _names(raw, section) for section in NAMED_SECTIONS}
    for section in NAMED_SECTIONS:
        yield from _doubles(raw, section)
        yield from _former_names(raw, section, names[section])
    for section, key, target in (
        ("roof", "into", "butt"),
        ("butt", "overflow_to", "butt"),
        ("bed", "butt", "butt"),
    ):
        for index, part in _parts(raw, section):
            if isinstance(part.get(key), str):
                yield from _dangling((section, index, key), part[key], target, names[target])
    yield from _overflow_circles(raw)
    yield from _sensor_links(raw, names)


def _parts(raw: dict[str, Any], section: str) -> list[tuple[int, dict[str, Any]]]:
    parts = raw.get(section)
    if not isinstance(parts, list):
        return []
    return [(index, part) for index, part in enumerate(parts) if isinstance(part, dict)]


def _names(raw: dict[str, Any], section: str) -> list[str]:
    return [part["name"] for _, part in _parts(raw, section) if isinstance(part.get("name"), str)]


def _doubles(raw: dict[str, Any], section: str) -> Iterator[Link]:
    seen: set[str] = set()
    for index, part in _parts(raw, section):
        name = part.get("name")
        if isinstance(name, str) and name in seen:
            yield Link(
                (section, index, "name"), f"{name!r} a second time", f"a {section} of its own name"
            )
        elif isinstance(name, str):
            seen.add(name)


def _former_names(raw: dict[str, Any], section: str, names: list[str]) -> Iterator[Link]:
    """Refuse a former name that is in use or claimed twice, for whose past would it be."""
    claimed: dict[str, str] = {}
    for index, part in _parts(raw, section):
        was = part.get("was")
        if not isinstance(was, str):
            continue
        if was in names:
            found = f"{was!r}, which is the name of a {section} now"
            yield Link((section, index, "was"), found, "a name that no longer is one")
        elif was in claimed:
            found = f"{was!r}, which {claimed[was]!r} was too"
            yield Link((section, index, "was"), found, "a former name of one alone")
        claimed[was] = str(part.get("name"))


def _dangling(where: _Steps, name: str, target: str, known: list[str]) -> Iterator[Link]:
    if name in known:
        return
    near = difflib.get_close_matches(name, known, n=1)
    if near:
        wanted = f"the name of a {target}; did you mean {near[0]!r}?"
    elif known:
        wanted = f"the name of a {target}: {', '.join(known)}"
    else:
        wanted = f"a [[{target}]] of that name, and there is none"
    yield Link(where, repr(name), wanted)


def _overflow_circles(raw: dict[str, Any]) -> Iterator[Link]:
    following = {
        part["name"]: part["overflow_to"]
        for _, part in _parts(raw, "butt")
        if isinstance(part.get("name"), str) and isinstance(part.get("overflow_to"), str)
    }
    told: set[str] = set()
    for index, part in _parts(raw, "butt"):
        name = part.get("name")
        if not isinstance(name, str) or name in told:
            continue
        chain = _spills_through(name, following)
        if chain[-1:] == [name]:
            told.update(chain)
            yield Link(
                ("butt", index, "overflow_to"),
                f"{following[name]!r}, which in the end spills back into {name!r}",
                "a chain of butts that ends on the ground",
            )


def _spills_through(name: str, following: dict[str, str]) -> list[str]:
    """Return the butts below one, down to the last or to the first that comes again."""
    chain: list[str] = []
    here = following.get(name)
    while here is not None and here not in chain:
        chain.append(here)
        here = None if here == name else following.get(here)
    return chain


def _sensor_links(raw: dict[str, Any], names: dict[str, list[str]]) -> Iterator[Link]:
    heard: list[tuple[_Voice, str]] = []
    measured: dict[tuple[str, str], str] = {}
    for index, part in _parts(raw, "sensor"):
        here = ("sensor", index)
        yield from _heard_twice(heard, part, here)
        measures = part.get("measures")
        if measures in ("rain", "pressure"):
            yield from _measured_twice(measured, (measures, ""), part, (*here, "measures"))
        elif measures in ("level", "temperature"):
            target = "butt" if measures == "level" else "vessel"
            for where, place in _places(part, here):
                if (target, place) != ("vessel", _AIR):
                    yield from _dangling(where, place, target, names[target])
                yield from _measured_twice(measured, (measures, place), part, where)


def _places(part: dict[str, Any], here: _Steps) -> list[tuple[_Steps, str]]:
    of = part.get("of")
    if isinstance(of, str):
        return [((*here, "of"), of)]
    if not isinstance(of, list):
        return []
    return [((*here, "of", i), place) for i, place in enumerate(of) if isinstance(place, str)]


def _measured_twice(
    measured: dict[tuple[str, str], str], key: tuple[str, str], part: dict[str, Any], where: _Steps
) -> Iterator[Link]:
    if key in measured:
        what = f"the {key[0]} of {key[1]!r}" if key[1] else f"the {key[0]}"
        yield Link(
            where, f"{what}, which {measured[key]!r} measures already", "one sensor for each thing"
        )
    else:
        measured[key] = str(part.get("name"))


def _heard_twice(
    heard: list[tuple[_Voice, str]], part: dict[str, Any], here: _Steps
) -> Iterator[Link]:
    """Refuse two sensors that would read the same value of the same message."""
    topic = part.get("topic")
    if not isinstance(topic, str):
        return
    voice = _Voice(topic, str(part.get("payload")), part.get("record") or part.get("pointer"))
    for other, name in heard:
        if voice.sounds_like(other):
            yield Link(
                (*here, "topic"),
                f"{topic!r}, on which {name!r} is heard already",
                "one sensor to a topic, or each with a record or pointer of its own",
            )
            return
    heard.append((voice, str(part.get("name"))))
