"""What a gardener does beside watering, and when: from a file, or the usual filling of vessels."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import TYPE_CHECKING, Any

from steepwell.errors import CommandError
from steepwell.garden.tables import reference_tables

if TYPE_CHECKING:
    from pathlib import Path

    from steepwell.garden.garden import Garden
    from steepwell.garden.growing import Vessel

EVENING = time(19)
_USUAL_DAY = (5, 1)
_USUAL_PLANT = "nettle"
_LITRES_TO_A_BUCKET = 15


@dataclass(frozen=True, slots=True)
class Note:
    """Something that is done at a time: a journal entry, as it will be said."""

    at: datetime
    entry: dict[str, Any]


def read_notes(path: Path, garden: Garden) -> list[Note]:
    """Read a file with one journal entry a line.

    Parameters
    ----------
    path
        JSON lines; each with ``kind`` and ``at``, a time with its zone.
    garden
        Whose beds, butts and vessels the entries name.

    Returns
    -------
    list of Note
        In the order of their times.

    Raises
    ------
    CommandError
        If the file cannot be read or a line is no entry.
    """
    try:
        lines = path.read_text(encoding="utf-8").splitlines()
    except (OSError, UnicodeDecodeError):
        raise CommandError(
            f"The journal file {path} cannot be read; give a text file of JSON lines."
        ) from None
    notes = []
    for number, line in enumerate(lines, start=1):
        if not line.strip():
            continue
        try:
            notes.append(_read_note(line, garden))
        except ValueError as error:
            raise CommandError(
                f"Line {number} of the journal file {path} cannot be used: {error}."
            ) from None
    return sorted(notes, key=lambda note: note.at)


def _read_note(line: str, garden: Garden) -> Note:
    entry = json.loads(line)
    if not isinstance(entry, dict) or not isinstance(entry.get("kind"), str):
        raise ValueError(  # noqa: TRY004 - of what stands in the file, not of a type here
            'an entry is a JSON object with "kind" and "at"'
        )
    at = datetime.fromisoformat(str(entry.get("at")))
    if at.tzinfo is None:
        raise ValueError('"at" needs its zone, for instance "2031-05-01T18:00:00+01:00"')
    for key, parts in (("bed", garden.bed), ("butt", garden.butt), ("vessel", garden.vessel)):
        if entry.get(key) is not None and entry[key] not in {part.name for part in parts}:
            raise ValueError(f"the garden has no {key} {entry[key]!r}")
    return Note(at, entry)


def usual_notes(garden: Garden, first: date, last: date) -> list[Note]:
    """Return the filling of every vessel on 1 May, or on the first day if that is later.

    Parameters
    ----------
    garden
        Declares the vessels.
    first, last
        Days of the simulation, both in it.

    Returns
    -------
    list of Note
        None if 1 May lies after the last day.
    """
    day = max(first, date(first.year, *_USUAL_DAY))
    if day > last:
        return []
    at = datetime.combine(day, EVENING, tzinfo=garden.garden.zone)
    return [Note(at, _filling(vessel, at)) for vessel in garden.vessel]


def _filling(vessel: Vessel, at: datetime) -> dict[str, Any]:
    return {
        "kind": "steep-started",
        "at": at.isoformat(),
        "vessel": vessel.name,
        "matter": [
            {
                **_plant_of(vessel.name),
                "buckets": max(1, round(vessel.liquid_l / _LITRES_TO_A_BUCKET)),
                "healthy": True,
            }
        ],
        "water_l": round(vessel.liquid_l, 1),
    }


def _plant_of(vessel: str) -> dict[str, str]:
    """Return the plant a vessel is called after, else nettles."""
    for plant in (vessel, vessel.removesuffix("s"), _USUAL_PLANT):
        try:
            return {"plant": plant, "family": reference_tables().plant_family(plant)}
        except ValueError:
            continue
    return {"plant": _USUAL_PLANT}
