"""Checks that names in a garden file are unique and point to something that is there."""

from __future__ import annotations

import difflib
from collections.abc import Iterator
from typing import Any, NamedTuple

NAMED_SECTIONS = ("roof", "butt", "vessel", "bed", "sensor")


class Link(NamedTuple):
    """A place in the file that points wrong: where, what stands there, what should."""

    where: tuple[int | str, ...]
    found: str
    wanted: str


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
            yield Link((section, index, "name"), f"{name!r} a second time", f"a {section} of its own name")
        elif isinstance(name, str):
            seen.add(name)


def _dangling(
    where: tuple[int | str, ...], name: str, target: str, known: list[str]
) -> Iterator[Link]:
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
    for index, part in _parts(raw, "butt"):
        name = part.get("name")
        here, steps = following.get(name) if isinstance(name, str) else None, 0
        while here is not None and here != name and steps <= len(following):
            here, steps = following.get(here), steps + 1
        if here is not None and here == name:
            yield Link(
                ("butt", index, "overflow_to"),
                f"{following[name]!r}, which in the end spills back into {name!r}",
                "a chain of butts that ends on the ground",
            )


def _sensor_links(raw: dict[str, Any], names: dict[str, list[str]]) -> Iterator[Link]:
    spoken: dict[tuple[object, ...], str] = {}
    measured: dict[tuple[object, object], str] = {}
    for index, part in _parts(raw, "sensor"):
        target = {"level": "butt", "temperature": "vessel"}.get(str(part.get("measures")))
        places = part.get("of", [])
        for place in [places] if isinstance(places, str) else places if isinstance(places, list) else []:
            if target == "vessel" and place == "air":
                known = [place]
            else:
                known = names[target] if target else [str(place)]
            yield from _dangling(("sensor", index, "of"), str(place), target or "", known)
            yield from _twice(measured, (part.get("measures"), place), part, ("sensor", index, "of"))
        if part.get("measures") == "rain":
            yield from _twice(measured, ("rain", None), part, ("sensor", index, "measures"))
        yield from _shared_topic(spoken, index, part)


def _twice(
    measured: dict[tuple[object, object], str],
    key: tuple[object, object],
    part: dict[str, Any],
    where: tuple[int | str, ...],
) -> Iterator[Link]:
    if key in measured:
        what = "the rain" if key[0] == "rain" else f"the {key[0]} of {key[1]}"
        yield Link(where, f"{what}, which {measured[key]!r} measures already", "one sensor for each thing")
    else:
        measured[key] = str(part.get("name"))


def _shared_topic(
    spoken: dict[tuple[object, ...], str], index: int, part: dict[str, Any]
) -> Iterator[Link]:
    """Refuse two sensors that would read the same value of the same message."""
    topic = part.get("topic")
    if not isinstance(topic, str):
        return
    name = str(part.get("name"))
    voice = (part.get("payload"), part.get("record") or part.get("pointer"))
    for (other_topic, *other_voice), other in spoken.items():
        whole_message = voice[1] is None or other_voice[1] is None
        if topic == other_topic and (whole_message or voice == tuple(other_voice)):
            yield Link(
                ("sensor", index, "topic"),
                f"{topic!r}, on which {other!r} is heard already",
                "one sensor to a topic, or each with a record or pointer of its own",
            )
            return
    spoken[(topic, *voice)] = name
