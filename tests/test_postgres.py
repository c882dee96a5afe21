"""A garden whose store is a PostgreSQL database, moved there and back by a line of its file."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

import pytest
from sqlalchemy import create_engine, text
from sqlalchemy.exc import DatabaseError
from tests.gardens import GAUGE, PASS, make_garden

from steepwell.app import Daemon
from steepwell.clock import ReplayClock, to_ms
from steepwell.errors import CommandError, GardenFileError, StoreError
from steepwell.keeping import backup_report, restore_report, size_line, size_report
from steepwell.store.arrivals import Batch
from steepwell.store.entries import parse_entry
from steepwell.store.store import garden_store_url, open_store

if TYPE_CHECKING:
    from pathlib import Path

    from tests.servers import Postgres

    from steepwell.garden.garden import Garden
    from steepwell.store.store import Store

pytestmark = pytest.mark.postgres
NOW = datetime(2031, 6, 1, 12, tzinfo=UTC)
LATER = NOW + timedelta(days=99)
DAY = timedelta(days=1)


def garden_at(folder: Path, url: str, **more: str) -> Garden:
    folder.mkdir(exist_ok=True)
    return make_garden(folder, sensor=[GAUGE], store={"url": url, **more})


def live(store: Store, garden: Garden, day: int) -> int:
    """Let a day leave its traces, and return the number of its entry in the journal."""
    moment = NOW + day * DAY
    row = to_ms(moment), store.readings.ids["gauge"], float(day), PASS, None
    store.readings.write(
        Batch(timed=[row], origins=[(to_ms(moment), "t", b"")], refused=[(1, "t", b"\0x", "\0?")])
    )
    store.results.save("plan", moment, {"schema": 1, "week": ["süß", None]})
    store.ledger.finish("watch", moment)
    raw = {"kind": "rain-read", "mm": 1.5, "at": moment}
    return store.journal.append(parse_entry(raw, garden, moment, []), moment)


def contents(garden: Garden) -> list[Any]:
    with open_store(garden_store_url(garden), garden, read_only=True) as store:
        return [
            store.readings.latest(LATER),
            store.journal.entries(LATER),
            store.results.latest("plan", LATER),
            store.refused.newest(9),
            {job: at for job, at in store.ledger.all().items() if job != "backed-up"},
        ]


def test_a_garden_moves_to_the_server_and_back(postgres_server: Postgres, tmp_path: Path) -> None:
    at_home = garden_at(tmp_path / "shed", "sqlite:///steepwell.db")
    with open_store(garden_store_url(at_home), at_home) as store:
        for day in range(3):
            live(store, at_home, day)
    file = tmp_path / "shed" / "backups" / "steepwell-20310605T120000Z.db"
    backup_report(at_home, None, NOW + 4 * DAY)

    on_server = garden_at(tmp_path / "house", postgres_server.make("moved"))
    restore_report(on_server, file, NOW)
    assert contents(on_server) == contents(at_home)
    with pytest.raises(CommandError, match="holds something already; name an empty one"):
        restore_report(on_server, file, NOW)
    with open_store(garden_store_url(on_server), on_server) as store:
        # What is numbered by the database goes on after what came with its number.
        assert live(store, on_server, 3) == 4
        assert "MB are free" not in size_line(size_report(on_server, store, NOW))

    back = garden_at(tmp_path / "back", "sqlite:///steepwell.db")
    made = backup_report(on_server, tmp_path / "stick", NOW + 5 * DAY)
    restore_report(back, tmp_path / "stick" / "plum-lane-20310606T120000Z.db", NOW)
    assert made["file"].endswith("plum-lane-20310606T120000Z.db")
    assert contents(back) == contents(on_server)


def test_a_daemon_and_its_worker_work_on_the_server(
    postgres_server: Postgres, tmp_path: Path
) -> None:
    garden = garden_at(tmp_path, postgres_server.make("lived"))
    clock = ReplayClock(NOW)
    daemon = Daemon(garden, clock)
    daemon.start()
    done = daemon.run_due()
    daemon.stop()
    assert {one.job for one in done} >= {"outlook", "watch", "backup", "compact"}
    with open_store(garden_store_url(garden), garden, read_only=True) as store:
        assert store.results.latest("plan", NOW) is not None
        assert [notice.id for notice in store.notices.standing()] == []
    assert len(list((tmp_path / "backups").glob("plum-lane-*.db"))) == 1


def test_who_only_reads_cannot_write(postgres_server: Postgres, tmp_path: Path) -> None:
    garden = garden_at(tmp_path, postgres_server.make("read"))
    with pytest.raises(StoreError, match="start the daemon once to update it"):
        open_store(garden.store.url, garden, read_only=True)
    open_store(garden.store.url, garden).close()
    with (
        open_store(garden.store.url, garden, read_only=True) as store,
        pytest.raises(StoreError, match="cannot be read or written"),
    ):
        store.ledger.finish("watch", NOW)


@pytest.mark.parametrize("change", ["UPDATE journal SET kind = 'x'", "DELETE FROM journal"])
def test_nothing_in_the_journal_is_changed(
    postgres_server: Postgres, tmp_path: Path, change: str
) -> None:
    garden = garden_at(tmp_path, postgres_server.make(f"journal{len(change)}"))
    with open_store(garden.store.url, garden) as store:
        live(store, garden, 0)
    engine = create_engine(garden.store.url)
    with (
        engine.connect() as connection,
        pytest.raises(DatabaseError, match="the journal is append-only"),
    ):
        connection.execute(text(change))
    engine.dispose()


def test_the_password_comes_from_a_file_and_is_never_said(
    postgres_server: Postgres, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PGPASSFILE", str(tmp_path / "none"))
    postgres_server.make("guarded")
    url = f"postgresql+psycopg://steepwell@127.0.0.1:{postgres_server.port}/guarded"
    garden = garden_at(tmp_path, url, password_file="word")  # noqa: S106 - the name of a file
    with pytest.raises(StoreError, match="the password of the store cannot be read"):
        open_store(url, garden)
    (tmp_path / "word").write_text("medlar\n", encoding="utf-8")
    with pytest.raises(StoreError, match="database, user and password are right") as wrong:
        open_store(url, garden)
    assert "medlar" not in str(wrong.value)
    (tmp_path / "word").write_text(f"{postgres_server.PASSWORD}\n", encoding="utf-8")
    open_store(url, garden).close()
    with pytest.raises(GardenFileError, match="without its password"):
        garden_at(tmp_path, url.replace("steepwell@", "steepwell:medlar@"))


def test_a_server_that_was_restarted_is_found_again(
    postgres_server: Postgres, tmp_path: Path
) -> None:
    garden = garden_at(tmp_path, postgres_server.make("restarted"))
    with open_store(garden.store.url, garden) as store:
        live(store, garden, 0)
        postgres_server.stop()
        try:
            with pytest.raises(StoreError, match="cannot be read or written"):
                live(store, garden, 1)
        finally:
            postgres_server.restart()
        live(store, garden, 1)
        assert len(store.journal.entries(LATER)) == 2
