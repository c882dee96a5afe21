from __future__ import annotations

import os
import shutil
import sqlite3
from contextlib import closing
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, NamedTuple

import pytest

from steepwell.errors import StoreError
from steepwell.store.backups import Backup, backups_in, kept, last_good, make_backup, why_not_good
from steepwell.store.sqlite import back_up, store_file

if TYPE_CHECKING:
    from pathlib import Path

    from steepwell.store.store import Store

NOW = datetime(2031, 6, 1, 2, 10, tzinfo=UTC)
DAY = timedelta(days=1)


class Room(NamedTuple):
    total: int
    used: int
    free: int


def made(url: str, folder: Path, now: datetime) -> Backup:
    file = store_file(url)
    return make_backup(
        folder, "plum", now, size=file.stat().st_size, copy=lambda part: back_up(file, part)
    )


def test_a_backup_of_a_store_in_use_holds_all_that_was_committed(
    store: Store, url: str, tmp_path: Path
) -> None:
    store.ledger.finish("outlook", NOW)
    with store.transaction():
        store.ledger.finish("letter", NOW)
        backup = made(url, tmp_path / "copies", NOW)
    with closing(sqlite3.connect(backup.file)) as copy:
        jobs = copy.execute("SELECT job FROM ledger").fetchall()
    assert jobs == [("outlook",)]
    # One file, and its checksum as sha256sum writes it: nothing is left lying about.
    assert sorted(path.name for path in (tmp_path / "copies").iterdir()) == [
        "plum-20310601T021000Z.db",
        "plum-20310601T021000Z.db.sha256",
    ]


def test_the_newest_backup_that_is_as_it_was_written_is_trusted(
    store: Store, url: str, tmp_path: Path
) -> None:
    store.ledger.finish("outlook", NOW)
    older, newer = made(url, tmp_path, NOW), made(url, tmp_path, NOW + DAY)
    assert last_good(tmp_path, "plum") == newer
    content = bytearray(newer.file.read_bytes())
    content[-1] ^= 1
    newer.file.write_bytes(content)
    assert "checksum" in str(why_not_good(newer.file))
    assert last_good(tmp_path, "plum") == older
    older.file.with_name(f"{older.file.name}.sha256").unlink()
    assert last_good(tmp_path, "plum") is None


def test_a_copy_that_is_not_sound_is_not_kept(tmp_path: Path) -> None:
    with pytest.raises(StoreError, match="not sound"):
        make_backup(tmp_path, "plum", NOW, size=1, copy=lambda part: part.write_bytes(b"x" * 9000))
    assert list(tmp_path.iterdir()) == []


def test_of_a_year_of_backups_days_weeks_and_months_stay(tmp_path: Path) -> None:
    every = [Backup(tmp_path / str(day), NOW - day * DAY) for day in range(500)]
    days = sorted((NOW - one.taken).days for one in kept(every))
    # The last seven days; the last of each of four weeks (1 June 2031 is a Sunday, so those are
    # Sundays); the last of each of twelve months, June's being today's.
    assert days[:7] == [0, 1, 2, 3, 4, 5, 6]
    assert {7, 14, 21} < set(days)
    assert [(NOW - day * DAY).strftime("%m-%d") for day in days[10:]] == [
        "04-30",
        "03-31",
        "02-28",
        "01-31",
        "12-31",
        "11-30",
        "10-31",
        "09-30",
        "08-31",
        "07-31",
    ]
    assert days[7:10] == [7, 14, 21]


def test_without_room_the_oldest_go_but_for_two(
    store: Store, url: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    store.ledger.finish("outlook", NOW)
    days = [made(url, tmp_path / "copies", NOW + day * DAY) for day in range(4)]
    monkeypatch.setattr(shutil, "disk_usage", lambda _: Room(0, 0, 1000))
    with pytest.raises(StoreError, match=r"no room for a backup in .*; make room"):
        made(url, tmp_path / "copies", NOW + 4 * DAY)
    assert backups_in(tmp_path / "copies", "plum") == [days[3], days[2]]


@pytest.mark.skipif(os.geteuid() != 0, reason="only root makes files of others")
def test_a_backup_that_root_made_is_the_daemons(store: Store, url: str, tmp_path: Path) -> None:
    store.ledger.finish("outlook", NOW)
    (tmp_path / "copies").mkdir()
    os.chown(tmp_path / "copies", 4711, 4712)
    found = made(url, tmp_path / "copies", NOW).file.stat()
    assert (found.st_uid, found.st_gid) == (4711, 4712)
