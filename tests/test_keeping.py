"""Backups, the way back from one, and a damaged store, as the daemon and its keeper meet them."""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import lru_cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any

import pytest
from tests.gardens import GAUGE, PASS, make_garden

from steepwell.app import Daemon
from steepwell.clock import ReplayClock, to_ms
from steepwell.errors import CommandError, SteepwellError, StoreError
from steepwell.keeping import backup_folder, backup_report, open_kept, restore_report
from steepwell.schedule import due
from steepwell.standing_by import Presence
from steepwell.store.arrivals import Batch
from steepwell.store.entries import parse_entry
from steepwell.store.notices import StandingNotice
from steepwell.store.size import Size
from steepwell.store.store import garden_store_url, open_store
from steepwell.watch.finding import events_of
from steepwell.watch.kinds import STORE_FULL
from steepwell.watch.storing import store_full

if TYPE_CHECKING:
    from steepwell.garden.garden import Garden
    from steepwell.store.rows import Row
    from steepwell.store.store import Store

NOW = datetime(2031, 6, 1, 12, tzinfo=UTC)
DAY = timedelta(days=1)
PAGE = 4096


def garden_in(folder: Path, **parts: Any) -> Garden:  # noqa: ANN401 - as make_garden
    folder.mkdir(exist_ok=True)
    return make_garden(folder, zone="Europe/London", sensor=[GAUGE], **parts)


@dataclass(frozen=True)
class Contents:
    """What a garden remembers."""

    readings: object
    journal: object
    ledger: object
    notices: object


def contents(garden: Garden) -> Contents:
    with open_store(garden_store_url(garden), garden, read_only=True) as store:
        return Contents(
            store.readings.latest(NOW + 99 * DAY),
            store.journal.entries(NOW + 99 * DAY),
            store.ledger.all(),
            store.notices.history(NOW + 99 * DAY),
        )


def live(store: Store, garden: Garden, day: int) -> None:
    """Let a day leave its traces: a reading, an entry, a job done."""
    moment = NOW + day * DAY
    row = to_ms(moment), store.readings.ids["gauge"], float(day), PASS, None
    store.readings.write(Batch(timed=[row], origins=[(to_ms(moment), "gauge", b"")]))
    raw = {"kind": "rain-read", "mm": 1.5, "at": moment}
    store.journal.append(parse_entry(raw, garden, moment, []), moment)
    store.ledger.finish("watch", moment)


@lru_cache(maxsize=1)
def empty_store() -> bytes:
    """Return an empty store, which takes longer to make than to copy."""
    with TemporaryDirectory() as folder:
        garden = garden_in(Path(folder))
        open_store(garden_store_url(garden), garden).close()
        return (Path(folder) / "steepwell.db").read_bytes()


def lived(folder: Path, days: int, **parts: Any) -> Garden:  # noqa: ANN401 - as make_garden
    garden = garden_in(folder, **parts)
    (folder / "steepwell.db").write_bytes(empty_store())
    with open_store(garden_store_url(garden), garden) as store:
        for day in range(days):
            live(store, garden, day)
        # No worker is wanted here.
        for job in ("outlook", "letter"):
            store.ledger.finish(job, NOW + 99 * DAY)
    return garden


def spoil(file: Path, first_page: int = 1, pages: int = 8) -> None:
    """Write over some pages of a store, as a failing card does."""
    with file.open("r+b") as opened:
        opened.seek(first_page * PAGE)
        opened.write(b"\xa5" * pages * PAGE)


def test_what_is_restored_is_what_was_backed_up(tmp_path: Path) -> None:
    garden = lived(tmp_path, 3)
    backup_report(garden, None, NOW + 3 * DAY)
    before = contents(garden)
    with open_store(garden_store_url(garden), garden) as store:
        live(store, garden, 4)
    answer = restore_report(garden, None, NOW + 5 * DAY)
    assert contents(garden).readings == before.readings
    assert contents(garden).journal == before.journal
    aside = garden.model_copy(
        update={"store": garden.store.model_copy(update={"url": f"sqlite:///{answer['kept_as']}"})}
    )
    # What was there is kept as it was, the fourth day too.
    assert contents(aside).readings["gauge"].value == 4.0  # type: ignore[index]


@pytest.mark.skipif(os.geteuid() != 0, reason="only root gives files to others")
def test_what_root_restores_stays_with_who_runs_the_daemon(tmp_path: Path) -> None:
    garden = lived(tmp_path, 1)
    made = Path(backup_report(garden, None, NOW)["file"])
    os.chown(tmp_path / "steepwell.db", 65534, 65534)
    (tmp_path / "steepwell.db").chmod(0o640)
    restore_report(garden, None, NOW)
    restored = (tmp_path / "steepwell.db").stat()
    assert (restored.st_uid, restored.st_gid) == (65534, 65534)
    assert (made.stat().st_mode & 0o777, restored.st_mode & 0o777) == (0o600, 0o640)


def test_a_garden_goes_on_on_another_board(tmp_path: Path) -> None:
    old = lived(tmp_path / "shed", 3)
    made = backup_report(old, tmp_path / "stick", NOW + 3 * DAY)
    new = garden_in(tmp_path / "house")
    with pytest.raises(CommandError, match="no good backup"):
        restore_report(new, None, NOW)
    restore_report(new, Path(made["file"]), NOW + 4 * DAY)
    assert contents(new).readings == contents(old).readings
    assert contents(new).journal == contents(old).journal
    kept = open_kept(new, NOW + 4 * DAY)
    done = kept.store.ledger.all()
    # The watch of the last day is not done again, the next quarter of an hour is.
    assert all(one.job != "watch" for one in due(new, done, NOW + 2 * DAY + timedelta(minutes=14)))
    live(kept.store, new, 5)
    kept.close()
    assert contents(new).readings["gauge"].value == 5.0  # type: ignore[index]


def test_a_store_in_use_is_not_replaced(tmp_path: Path) -> None:
    garden = lived(tmp_path, 1)
    backup_report(garden, None, NOW)
    with (
        Presence(garden),
        pytest.raises(SteepwellError, match=r"looks after this garden already .*; stop it first"),
    ):
        restore_report(garden, None, NOW)
    restore_report(garden, None, NOW)


def test_a_backup_that_was_changed_is_refused(tmp_path: Path) -> None:
    garden = lived(tmp_path, 1)
    file = Path(backup_report(garden, None, NOW)["file"])
    file.write_bytes(file.read_bytes()[:-1])
    with pytest.raises(CommandError, match="not what its checksum says"):
        restore_report(garden, file, NOW)
    assert contents(garden).journal


def test_every_night_there_is_a_backup(tmp_path: Path) -> None:
    garden = lived(tmp_path, 1)
    clock = ReplayClock(NOW)
    daemon = Daemon(garden, clock, warm_worker=True)
    daemon.start()
    for hours in (0, 12, 24, 48):
        clock.set(NOW + timedelta(hours=hours))
        daemon.run_due()
    daemon.stop()
    folder = backup_folder(garden)
    assert folder is not None
    # At first, and after ten past three of both nights: the day is London's.
    assert len(list(folder.glob("*.db"))) == 3


def test_no_backups_are_made_where_none_are_wanted(tmp_path: Path) -> None:
    garden = lived(tmp_path, 1, store={"backups": False})
    assert backup_folder(garden) is None
    assert all(one.job != "backup" for one in due(garden, {}, NOW))
    with pytest.raises(CommandError, match="say where this one goes with --to FOLDER"):
        backup_report(garden, None, NOW)


def ended_without_order(garden: Garden) -> None:
    """Let a process write to the store and end, as the power does it."""
    kept = open_kept(garden, NOW)
    kept.store.close()


@pytest.mark.parametrize("first_page", [0, 1, 3])
def test_a_damaged_store_goes_on_from_its_last_backup(tmp_path: Path, first_page: int) -> None:
    garden = lived(tmp_path, 3, told={"people": [{"name": "pat", "mail": "p@x.example"}]})
    backup_report(garden, None, NOW + 3 * DAY)
    before = contents(garden)
    with open_store(garden_store_url(garden), garden) as store:
        live(store, garden, 4)
    ended_without_order(garden)
    spoil(tmp_path / "steepwell.db", first_page)
    clock = ReplayClock(NOW + 5 * DAY)
    daemon = Daemon(garden, clock, mail_folder=tmp_path / "mail")
    daemon.start()
    daemon.run_due()
    daemon.stop()
    after = contents(garden)
    assert (after.readings, after.journal) == (before.readings, before.journal)
    told = [n for n in after.notices if n.kind == "store-restored"]  # type: ignore[attr-defined]
    assert len(told) == 1
    assert "backup of 4 June 2031 13:00: what came from then to" in told[0].text
    assert len(list(tmp_path.glob("steepwell.db.damaged-*Z"))) == 1
    mails = [path.read_text(encoding="utf-8") for path in (tmp_path / "mail").iterdir()]
    assert any("The store was damaged" in mail for mail in mails)


def test_damage_that_shows_only_when_it_is_opened_is_mended_too(tmp_path: Path) -> None:
    garden = lived(tmp_path, 3)
    backup_report(garden, None, NOW + 3 * DAY)
    spoil(tmp_path / "steepwell.db", pages=60)
    kept = open_kept(garden, NOW + 4 * DAY)
    assert kept.store.ledger.last("watch") == NOW + 2 * DAY
    kept.close()


def test_damage_found_at_work_is_looked_for_at_the_next_start(tmp_path: Path) -> None:
    garden = lived(tmp_path, 3)
    backup_report(garden, None, NOW + 3 * DAY)
    kept = open_kept(garden, NOW + 4 * DAY)
    spoil(tmp_path / "steepwell.db", pages=60)
    with pytest.raises(StoreError, match="malformed"):
        kept.store.journal.entries(NOW)
    kept.close()
    again = open_kept(garden, NOW + 4 * DAY)
    assert len(again.store.journal.entries(NOW + 4 * DAY)) == 3
    again.close()


def test_without_a_backup_a_damaged_store_is_kept_and_a_new_one_begun(tmp_path: Path) -> None:
    garden = lived(tmp_path, 3)
    ended_without_order(garden)
    spoil(tmp_path / "steepwell.db")
    kept = open_kept(garden, NOW + 4 * DAY)
    mended = kept.store.results.latest("mended", NOW + 4 * DAY)
    kept.close()
    assert mended is not None
    assert mended["lost_from"] is None
    assert (tmp_path / "steepwell.db.damaged-20310605T120000Z").is_file()
    assert contents(garden).journal == []


def test_a_sound_store_left_in_disorder_goes_on(tmp_path: Path) -> None:
    garden = lived(tmp_path, 3)
    ended_without_order(garden)
    before = contents(garden)
    kept = open_kept(garden, NOW)
    assert kept.store.results.latest("mended", NOW + 99 * DAY) is None
    kept.close()
    assert contents(garden) == before


MONTH = 1_000_000_000 / 12


@pytest.mark.parametrize(
    ("free", "told", "expected"),
    [
        # At a thousand megabytes a year: told with less than six months, over with nine.
        (6.1 * MONTH, False, None),
        (5.9 * MONTH, False, "room for 6 months"),
        (8.9 * MONTH, True, "room for 9 months"),
        (9.1 * MONTH, True, None),
        (0.5 * MONTH, False, "room for less than a month"),
    ],
)
def test_a_disk_that_fills_is_told_in_time(
    free: float, expected: str | None, *, told: bool
) -> None:
    first = store_full(Size(0, 0, 1_000_000_000), [])
    events = events_of(first, [], frozenset({STORE_FULL}), NOW)
    last = StandingNotice("store-full/store", STORE_FULL, "store", NOW, events[0])
    found = store_full(Size(1, round(free), 1_000_000_000), [last] if told else [])
    assert [expected in one.text for one in found if expected] == [True] * (expected is not None)
    assert bool(found) == (expected is not None)


def test_growth_is_that_of_readings_then_of_hours(tmp_path: Path) -> None:
    garden = garden_in(tmp_path)
    with open_store(garden_store_url(garden), garden) as store:
        number = store.readings.ids["gauge"]
        minute = 60_000
        rows: list[Row] = [
            (to_ms(NOW) - step * minute, number, 1.0, PASS, None) for step in range(2 * 24 * 60)
        ]
        store.readings.write(Batch(timed=rows, origins=[(row[0], "t", b"") for row in rows]))
        size = store.size(tmp_path / "steepwell.db", NOW)
    # One reading a minute, 27.5 bytes each when measured, is 14.5 MB a year.
    assert size.a_year == pytest.approx(365 * 1440 * 27.5, rel=0.05)
    assert size.used > 50_000


def test_pages_are_what_the_tests_think(tmp_path: Path) -> None:
    lived(tmp_path, 1)
    with closing(sqlite3.connect(tmp_path / "steepwell.db")) as store:
        assert store.execute("PRAGMA page_size").fetchone() == (PAGE,)
