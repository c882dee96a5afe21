from __future__ import annotations

import sqlite3
import threading
from contextlib import closing
from datetime import UTC, datetime
from typing import TYPE_CHECKING

import pytest

from steepwell.errors import StoreError
from steepwell.store.sqlite import store_file
from steepwell.store.store import Store, open_store

if TYPE_CHECKING:
    from steepwell.garden.garden import Garden

NOW = datetime(2031, 6, 1, 12, tzinfo=UTC)


class PowerCutError(Exception):
    """Nothing more is done."""


def write_a_job(store: Store) -> None:
    store.results.save("outlook", NOW, {"schema": 1})
    store.outbox.put("letter/2031-22", "robin@example.org", b"Soak beans", NOW)
    store.ledger.finish("outlook", NOW)


def write_half_a_job(store: Store) -> None:
    with store.transaction():
        write_a_job(store)
        raise PowerCutError


def written(store: Store) -> tuple[bool, int, bool]:
    return (
        store.results.latest("outlook", NOW) is not None,
        store.outbox.waiting(NOW),
        store.ledger.last("outlook") is not None,
    )


def test_a_job_is_written_as_one(store: Store) -> None:
    with store.transaction():
        write_a_job(store)
    assert written(store) == (True, 1, True)


def test_an_interrupted_job_leaves_nothing(store: Store) -> None:
    with pytest.raises(PowerCutError):
        write_half_a_job(store)
    assert written(store) == (False, 0, False)
    write_a_job(store)
    assert written(store) == (True, 1, True)


def test_others_see_a_job_when_it_is_finished(store: Store) -> None:
    seen = []
    with store.transaction():
        write_a_job(store)
        assert written(store) == (True, 1, True)
        other = threading.Thread(target=lambda: seen.append(written(store)))
        other.start()
        other.join()
    assert seen == [(False, 0, False)]


def test_what_is_written_meanwhile_is_not_seen_within_a_moment(store: Store) -> None:
    with store.moment():
        assert written(store) == (False, 0, False)
        other = threading.Thread(target=write_a_job, args=(store,))
        other.start()
        other.join()
        assert written(store) == (False, 0, False)
    assert written(store) == (True, 1, True)


def test_two_writers_wait_for_one_another(store: Store) -> None:
    jobs = [f"job-{number}" for number in range(8)]
    begin = threading.Barrier(len(jobs))

    def finish(job: str) -> None:
        begin.wait()
        with store.transaction():
            assert store.ledger.last(job) is None
            store.ledger.finish(job, NOW)

    threads = [threading.Thread(target=finish, args=(job,)) for job in jobs]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert [store.ledger.last(job) for job in jobs] == [NOW] * len(jobs)


def test_a_store_another_program_holds_is_an_error_in_words(store: Store, url: str) -> None:
    store._database._engine.dispose()
    with store._database.reading() as connection:
        connection.exec_driver_sql("PRAGMA busy_timeout = 1")
    with closing(sqlite3.connect(store_file(url), isolation_level=None)) as holder:
        holder.execute("BEGIN EXCLUSIVE")
        with pytest.raises(StoreError, match=r"database is locked.*held by another program"):
            store.ledger.finish("outlook", NOW)
        holder.execute("ROLLBACK")
    store.ledger.finish("outlook", NOW)
    assert store.ledger.last("outlook") == NOW


def test_a_command_may_write_while_the_daemon_runs(store: Store, garden: Garden, url: str) -> None:
    with open_store(url, garden) as command:
        command.ledger.finish("letter", NOW)
    assert store.ledger.last("letter") == NOW
