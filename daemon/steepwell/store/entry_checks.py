"""Whether an entry fits the garden and what the journal says already."""

from __future__ import annotations

import difflib
from typing import TYPE_CHECKING

from steepwell.errors import JournalError
from steepwell.garden.garden import AIR
from steepwell.garden.tables import reference_tables
from steepwell.store.dated import check_dated
from steepwell.store.entry_kinds import (
    Answered,
    Away,
    BeanTest,
    ConductivityMeasured,
    Corrected,
    Decanted,
    DrawnOff,
    Entry,
    Fed,
    FilledTo,
    JobDone,
    JobNotDone,
    LevelRead,
    Mulched,
    Planted,
    PutToBed,
    ReadyConfirmed,
    Restriction,
    SicknessSeen,
    SteepStarted,
    TemperatureRead,
    TooStrong,
    ToppedUp,
    VesselEmptied,
    Woken,
)
from steepwell.store.job_checks import check_job
from steepwell.store.matter_checks import check_matter
from steepwell.store.stores import stores_at
from steepwell.store.strapping import check_filled
from steepwell.store.vessel_checks import check_is_empty, check_of_steep
from steepwell.words.figures import listed
from steepwell.words.saying import say

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from steepwell.garden.garden import Garden

OVERFULL = 1.05


def check_names(entry: Entry, garden: Garden, existing: Sequence[Entry]) -> None:
    """Raise a JournalError if an entry names what the garden file does not, nor a store of feed."""
    if is_of_store(entry, garden, existing):
        return
    for key, parts in (("butt", garden.butt), ("vessel", garden.vessel), ("bed", garden.bed)):
        name = getattr(entry, key, None)
        if name is not None:
            _check_name(name, key, [part.name for part in parts])
    if isinstance(entry, JobNotDone) and entry.instead is not None:
        _check_name(entry.instead, "bed", [bed.name for bed in garden.bed])
    if isinstance(entry, TemperatureRead):
        vessels = [vessel.name for vessel in garden.vessel]
        _check_name(entry.place, "vessel", [*vessels, AIR])
    _check_tables(entry)


def is_of_store(entry: Entry, garden: Garden, existing: Sequence[Entry]) -> bool:
    """Return whether what was emptied is no vessel but a store of decanted feed."""
    if not isinstance(entry, VesselEmptied):
        return False
    vessels = {vessel.name for vessel in garden.vessel}
    return entry.vessel not in vessels and entry.vessel in stores_at(existing, entry.at)


def _check_tables(entry: Entry) -> None:
    """Raise a JournalError if an entry names what no reference table does."""
    if isinstance(entry, Planted):
        try:
            reference_tables().crop(entry.crop)
        except ValueError as error:
            raise JournalError(str(error)) from None
    if isinstance(entry, SicknessSeen):
        try:
            reference_tables().sickness(entry.sickness)
        except ValueError as error:
            raise JournalError(say("refused.sickness-unknown", error=error)) from None
    if isinstance(entry, Mulched):
        try:
            reference_tables().mulch(entry.material)
        except ValueError as error:
            raise JournalError(str(error)) from None


def _check_name(name: str, what: str, known: Iterable[str]) -> None:
    names = list(known)
    if name in names:
        return
    near = difflib.get_close_matches(name, names, n=1)
    if near:
        hint = say("refused.did-you-mean", name=near[0])
    else:
        hint = (
            say("refused.there-are", names=listed(names))
            if names
            else say(f"refused.names-no-{what}")
        )
    raise JournalError(say(f"refused.unknown-{what}", name=name, hint=hint))


def check_sense(entry: Entry, garden: Garden, existing: Sequence[Entry]) -> None:
    """Raise a JournalError if an entry contradicts the garden or the journal."""
    match entry:
        case LevelRead():
            _check_fits(entry, garden)
        case FilledTo():
            check_filled(entry, existing)
        case SteepStarted():
            check_is_empty(entry, garden, existing)
            check_matter(entry.matter, garden, existing, entry.at)
        case VesselEmptied() if is_of_store(entry, garden, existing):
            pass
        case SicknessSeen() if entry.bed is None and entry.vessel is None:
            raise JournalError(say("refused.sick-where"))
        case (
            VesselEmptied()
            | DrawnOff()
            | Fed()
            | BeanTest()
            | ToppedUp()
            | Decanted()
            | ReadyConfirmed()
            | TooStrong()
            | ConductivityMeasured()
        ):
            check_of_steep(entry, garden, existing)
        case Restriction() | Away() | PutToBed() | Woken() | Answered():
            check_dated(entry, existing)
        case JobDone() | JobNotDone():
            _check_job(entry, garden, existing)
        case Corrected() if entry.withdraws not in {other.id for other in existing}:
            raise JournalError(say("refused.nothing-to-withdraw", number=entry.withdraws))
        case _:
            pass


def _check_job(entry: JobDone | JobNotDone, garden: Garden, existing: Sequence[Entry]) -> None:
    check_job(entry, existing)
    if isinstance(entry, JobDone):
        for part in entry.parts():
            check_sense(part, garden, existing)


def _check_fits(entry: LevelRead, garden: Garden) -> None:
    butt = next(butt for butt in garden.butt if butt.name == entry.butt)
    if entry.litres > OVERFULL * butt.capacity_l:
        raise JournalError(
            say(
                "refused.butt-holds-less",
                litres=f"{entry.litres:g}",
                butt=butt.name,
                holds=f"{butt.capacity_l:.0f}",
            )
        )
