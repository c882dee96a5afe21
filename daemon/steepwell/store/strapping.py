"""A butt measured can by can: what was poured, how high it stood, and the table that makes."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from steepwell.errors import JournalError
from steepwell.store.entry_kinds import FilledTo
from steepwell.words.saying import say

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from steepwell.store.entry_kinds import Entry

# A butt is filled in a day; what was poured longer ago belongs to another try.
WITHIN = timedelta(hours=24)


def check_filled(entry: FilledTo, existing: Iterable[Entry]) -> None:
    """Raise a JournalError if the water would stand no higher than before.

    Parameters
    ----------
    entry
        What was poured now, and how high it stands.
    existing
        What stands in the journal.
    """
    before = filling(existing, entry)
    if entry.depth_mm > 0 and before and entry.depth_mm <= before[-1].depth_mm:
        raise JournalError(
            say(
                "refused.stood-so-high",
                butt=entry.butt,
                centimetres=f"{before[-1].depth_mm / 10:g}",
            )
        )


def filling(entries: Iterable[Entry], last: FilledTo) -> Sequence[FilledTo]:
    """Return what was poured into the same butt since it was empty, up to an entry, in order.

    Parameters
    ----------
    entries
        The journal.
    last
        The entry; it is among them only if the journal holds it.

    Returns
    -------
    sequence of FilledTo
        From the last time it stood empty, of one day at most.
    """
    poured = [
        entry
        for entry in entries
        if isinstance(entry, FilledTo)
        and entry.butt == last.butt
        and last.at - WITHIN <= entry.at <= last.at
    ]
    poured.sort(key=lambda entry: entry.at)
    empty = [at for at, entry in enumerate(poured) if entry.depth_mm == 0.0]
    return poured[empty[-1] :] if empty else poured


def strapping_table(entries: Sequence[FilledTo]) -> tuple[list[float], list[float]]:
    """Return the table that one filling makes.

    Parameters
    ----------
    entries
        What was poured since the butt was empty, in order.

    Returns
    -------
    tuple of list
        Depths [mm] and the litres below each [L].
    """
    depths_mm: list[float] = []
    litres: list[float] = []
    poured_l = 0.0
    for entry in entries:
        if entry.depth_mm > 0.0:
            poured_l += entry.litres
            depths_mm.append(entry.depth_mm)
            litres.append(poured_l)
    return depths_mm, litres


def poured_l(entries: Iterable[Entry], last: FilledTo) -> float:
    """Return what stands in a butt after the last can that was poured into it [L]."""
    _, litres = strapping_table(filling(entries, last))
    return litres[-1] if litres else 0.0


def shape_line(entries: Sequence[FilledTo]) -> str:
    """Return the table as a line of the garden file."""
    depths_mm, litres = strapping_table(entries)
    depths = ", ".join(f'"{depth / 10:g} cm"' for depth in depths_mm)
    volumes = ", ".join(f'"{volume:g} L"' for volume in litres)
    return f'shape = {{ kind = "strapping table", depths = [{depths}], litres = [{volumes}] }}'
