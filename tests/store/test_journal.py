from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import pytest

from steepwell.store.entries import Corrected, LevelRead, RainRead, SteepStarted, VesselEmptied
from steepwell.store.entry_base import Matter
from steepwell.store.ledger import LATE
from steepwell.store.sqlite import store_file

if TYPE_CHECKING:
    from steepwell.store.entries import Entry
    from steepwell.store.store import Store

NOW = datetime(2031, 6, 1, 12, tzinfo=UTC)


def ago(hours: float) -> datetime:
    return NOW - timedelta(hours=hours)


def test_entries_come_in_the_order_of_what_they_tell(store: Store) -> None:
    late = store.journal.append(RainRead(at=ago(1), mm=2.0), NOW)
    early = store.journal.append(LevelRead(at=ago(5), butt="north", litres=120.5), NOW)
    same = store.journal.append(RainRead(at=ago(1), mm=2.5), NOW)
    assert [entry.id for entry in store.journal.entries(NOW)] == [early, late, same]
    assert [entry.id for entry in store.journal.entries(NOW, since=ago(2))] == [late, same]
    assert [entry.id for entry in store.journal.entries(NOW, kinds=["level-read"])] == [early]
    assert store.journal.entries(ago(6)) == []


def test_an_entry_comes_back_as_it_was(store: Store) -> None:
    matter = Matter(plant="leek", family="onion", buckets=1.5, healthy=False)
    entry = SteepStarted(at=ago(3), by="robin", vessel="leek", matter=(matter,), water_l=40)
    number = store.journal.append(entry, NOW)
    assert store.journal.entries(NOW) == [entry.model_copy(update={"id": number})]


def test_a_wrong_entry_is_withdrawn_by_another(store: Store) -> None:
    wrong = store.journal.append(RainRead(at=ago(5), mm=20.0), ago(5))
    store.journal.append(Corrected(at=ago(2), withdraws=wrong), ago(2))
    right = store.journal.append(RainRead(at=ago(5), mm=2.0), ago(2))
    assert [entry.id for entry in store.journal.entries(NOW)] == [right]


def test_the_journal_of_a_past_moment_knows_no_later_correction(store: Store) -> None:
    wrong = store.journal.append(RainRead(at=ago(5), mm=20.0), ago(5))
    store.journal.append(Corrected(at=ago(2), withdraws=wrong), ago(2))
    assert [entry.id for entry in store.journal.entries(ago(3))] == [wrong]


@pytest.mark.parametrize("change", ["UPDATE journal SET kind = 'fed'", "DELETE FROM journal"])
def test_nothing_in_the_journal_is_changed(store: Store, url: str, change: str) -> None:
    store.journal.append(VesselEmptied(at=ago(1), vessel="leek"), NOW)
    with (
        closing(sqlite3.connect(store_file(url))) as connection,
        pytest.raises(sqlite3.IntegrityError, match="the journal is append-only"),
    ):
        connection.execute(change)
    assert len(store.journal.entries(NOW)) == 1


@pytest.mark.parametrize(
    ("entry", "again"),
    [
        (VesselEmptied(at=ago(1), vessel="leek"), True),
        (RainRead(at=ago(1), mm=2.0), False),
    ],
)
def test_an_entry_that_unsettles_what_is_told_makes_the_outlook_due_again(
    store: Store, entry: Entry, *, again: bool
) -> None:
    store.journal.append(entry, NOW)
    assert store.ledger.last(LATE) == (NOW if again else None)
