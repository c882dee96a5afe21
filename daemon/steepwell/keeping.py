"""Keeps the store: backups, the way back from one, and what is done about a damaged file."""

from __future__ import annotations

import logging
import shutil
import tempfile
from dataclasses import asdict
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from sqlalchemy.exc import DatabaseError

from steepwell.clock import from_ms
from steepwell.errors import CommandError, StoreError
from steepwell.standing_by import Presence
from steepwell.store.backups import Backup, backups_in, last_good, make_backup, why_not_good
from steepwell.store.ledger import BACKED_UP
from steepwell.store.mark import Mark
from steepwell.store.migrate import bring_up_to_date
from steepwell.store.moving import copy_from_file, copy_to_file, is_empty
from steepwell.store.postgres import is_postgres
from steepwell.store.replacing import replace_store
from steepwell.store.size import KEPT_RAW
from steepwell.store.sqlite import back_up, damage, store_file
from steepwell.store.store import garden_store_url, open_store, store_engine
from steepwell.watch.storing import store_full

if TYPE_CHECKING:
    from steepwell.garden.garden import Garden
    from steepwell.store.notices import StandingNotice
    from steepwell.store.store import Store
    from steepwell.watch.finding import Finding

Json = dict[str, Any]

WAITS_FOR_MIRROR = timedelta(days=200)
# An hour in a transaction; the rest of a long time is done a minute later.
HOURS_AT_ONCE = 400

_LOG = logging.getLogger(__name__)


class Kept(NamedTuple):
    """A store that is open, and the mark that says so; a server looks after its own."""

    mark: Mark | None
    store: Store

    def close(self) -> None:
        """Close the store; one found damaged on the way is looked over when it is opened next."""
        self.store.close()
        if self.mark is not None and not self.store.is_damaged:
            self.mark.take_away()


def backup_folder(garden: Garden) -> Path | None:
    """Return where the backups of a garden's store go, None where none are wanted."""
    place = garden.store.backups
    if place is False:
        return None
    if place is None:
        return (_file(garden) or garden.path(Path("garden.toml"))).with_name("backups")
    return garden.path(place)


def open_kept(garden: Garden, now: datetime) -> Kept:
    """Open a garden's store to write to; a damaged one goes on from its last backup.

    It is looked over where it was not closed in order, or cannot be opened.

    Parameters
    ----------
    garden
        The garden.
    now
        The moment.

    Returns
    -------
    Kept
        To be closed when done with.

    Raises
    ------
    StoreError
        If it cannot be opened.
    """
    file = _file(garden)
    if file is None:
        return Kept(None, open_store(garden_store_url(garden), garden))
    mark = Mark(file)
    mended = _mend(garden, file, now) if mark.is_there() else None
    mark.put()
    try:
        store = open_store(garden_store_url(garden), garden)
    except StoreError:
        # Damage that shows only now, in a store that was closed in order.
        mended = mended or _mend(garden, file, now)
        if mended is None:
            mark.take_away()
            raise
        store = open_store(garden_store_url(garden), garden)
    if mended is not None:
        store.results.save("mended", now, mended)
    return Kept(mark, store)


def _mend(garden: Garden, file: Path, now: datetime) -> Json | None:
    """Look a store over, and put the last good backup in its place if it is damaged."""
    found = damage(file, thorough=False) if file.exists() else None
    if found is None:
        return None
    _LOG.error("the store %s is damaged (%s)", file, found)
    written = max(
        path.stat().st_mtime for path in (file, file.with_name(f"{file.name}-wal")) if path.exists()
    )
    folder = backup_folder(garden)
    backup = last_good(folder, _name(garden)) if folder is not None else None
    aside = replace_store(file, backup.file if backup is not None else None, "damaged", now)
    _LOG.error("it lies at %s now; %s", aside, "its last backup" if backup else "a new one")
    return {
        "schema": 1,
        "found": found,
        "kept_as": str(aside),
        "backup": str(backup.file) if backup is not None else None,
        "lost_from": backup.taken.isoformat() if backup is not None else None,
        "lost_to": datetime.fromtimestamp(written, UTC).isoformat(timespec="seconds"),
        "mended": now.isoformat(timespec="seconds"),
    }


def night_work(job: str, garden: Garden, store: Store, now: datetime) -> bool:
    """Do a job of the night; return whether it is done with for tonight.

    Parameters
    ----------
    job
        ``compact`` or ``backup``; a backup that fails is tried again the night after.
    garden, store
        The garden and its open store.
    now
        The moment of the job.
    """
    if job == "compact":
        return compact_store(garden, store, now)
    try:
        back_up_store(garden, store, now)
    except StoreError as error:
        _LOG.error("%s", error)
    return True


def room_left(
    garden: Garden, store: Store, now: datetime
) -> tuple[list[Finding], list[StandingNotice]]:
    """Return what is found about the room on the disk, and the notices that stand."""
    standing = store.notices.standing()
    return store_full(store.size(_file(garden), now), standing), standing


def back_up_store(garden: Garden, store: Store, now: datetime) -> Backup | None:
    """Make a backup of an open store, and note it; None where none are wanted.

    Raises
    ------
    StoreError
        If there is no room, or the copy is not sound.
    """
    folder = backup_folder(garden)
    if folder is None:
        return None
    made = _make(garden, folder, now)
    store.ledger.finish(BACKED_UP, now)
    return made


def compact_store(garden: Garden, store: Store, now: datetime) -> bool:
    """Keep only hours of readings that are old enough; return whether that is done for today.

    What the mirror has not taken yet waits for it, but not for ever.
    """
    until = now - KEPT_RAW
    if garden.mirror is not None:
        until = min(until, max(from_ms(store.mirror.unsent_from()), until - WAITS_FOR_MIRROR))
    return store.retention.compact(until, most_hours=HOURS_AT_ONCE)


def backup_report(garden: Garden, folder: Path | None, now: datetime) -> Json:
    """Make a backup at once.

    Parameters
    ----------
    garden
        The garden.
    folder
        Where it goes; by default where those of every night go.
    now
        The present moment.

    Returns
    -------
    dict
        ``changed``, a sentence, ``file``, ``bytes``, and ``kept``, all that are there.
    """
    place = folder or backup_folder(garden)
    if place is None:
        raise CommandError("[store] backups is false; say where this one goes with --to FOLDER")
    made = _make(garden, place, now)
    with open_store(garden_store_url(garden), garden) as store:
        store.ledger.finish(BACKED_UP, now)
    size = made.file.stat().st_size
    there = backups_in(place, _name(garden))
    return {
        "changed": f"{made.file} holds all of {garden.name} ({size / 1e6:,.1f} MB), checked.",
        "file": str(made.file),
        "bytes": size,
        "kept": [str(backup.file) for backup in there],
    }


def restore_report(garden: Garden, chosen: Path | None, now: datetime) -> Json:
    """Put a backup in the place of the store.

    Parameters
    ----------
    garden
        The garden.
    chosen
        The backup; by default the newest that can be trusted.
    now
        The present moment.

    Returns
    -------
    dict
        ``changed``, a sentence, ``file``, and ``kept_as``, what was there before or None.

    Raises
    ------
    CommandError
        If there is no such backup, or it is not what its checksum says.
    StoreError
        If the daemon runs, or the backup cannot be put in place.
    """
    source = chosen or _newest(garden)
    fault = why_not_good(source) if source.is_file() else "there is no such file"
    if fault is not None:
        raise CommandError(f"{source} cannot be used as a backup: {fault}")
    with Presence(garden):
        aside = _put_in_place(garden, source, now)
    kept = f" What was there lies at {aside}." if aside is not None else ""
    return {
        "changed": f"{garden.name} goes on from {source}.{kept}",
        "file": str(source),
        "kept_as": str(aside) if aside is not None else None,
    }


def _put_in_place(garden: Garden, backup: Path, now: datetime) -> Path | None:
    """Put a good backup where the store is, or into a database that is empty."""
    url, file = garden_store_url(garden), _file(garden)
    if file is not None:
        aside = replace_store(file, backup, "replaced", now)
        Mark(file).take_away()
        open_store(url, garden).close()
        return aside
    engine = store_engine(url, garden, read_only=False)
    try:
        bring_up_to_date(engine, "the database")
        if not is_empty(engine):
            raise CommandError(
                "the database under [store] holds something already; name an empty one there"
            )
        with tempfile.TemporaryDirectory() as folder:
            copy = Path(shutil.copy(backup, folder))
            copy_from_file(copy, engine)
    except DatabaseError as error:
        raise StoreError(f"the database under [store] cannot be written ({error.orig})") from error
    finally:
        engine.dispose()
    return None


def _newest(garden: Garden) -> Path:
    folder = backup_folder(garden)
    found = last_good(folder, _name(garden)) if folder is not None else None
    if found is None:
        where = f"in {folder}" if folder is not None else "for [store] backups is false"
        raise CommandError(f"there is no good backup {where}; name one with --from FILE")
    return found.file


def _make(garden: Garden, folder: Path, now: datetime) -> Backup:
    file, name = _file(garden), _name(garden)
    if file is None:
        return _make_of_server(garden, folder, now)
    if not file.is_file():
        raise StoreError(f"there is no store {file} yet; start the daemon, or note something")
    size = file.stat().st_size
    return make_backup(folder, name, now, size=size, copy=lambda part: back_up(file, part))


def _make_of_server(garden: Garden, folder: Path, now: datetime) -> Backup:
    """Make a backup of a database of a server: an SQLite file like any other."""
    with open_store(garden_store_url(garden), garden, read_only=True) as store:
        size = store.size(None, now).used
    engine = store_engine(garden_store_url(garden), garden, read_only=True)
    try:
        return make_backup(
            folder, _name(garden), now, size=size, copy=lambda part: copy_to_file(engine, part)
        )
    finally:
        engine.dispose()


def _file(garden: Garden) -> Path | None:
    """Return the file of a garden's store, None for a database of a server."""
    url = garden_store_url(garden)
    return None if is_postgres(url) else store_file(url)


def _name(garden: Garden) -> str:
    """Return what the names of its backups begin with."""
    file = _file(garden)
    return garden.name if file is None else file.stem


def size_report(garden: Garden, store: Store, now: datetime) -> Json:
    """Return how large the store is, what is left beside it, and its growth [bytes]."""
    return asdict(store.size(_file(garden), now))


def size_line(report: Json) -> str:
    """Return what ``steepwell status`` says of the store's size."""
    line = f"Store: {report['used'] / 1e6:,.1f} MB, "
    line += f"about {report['a_year'] / 1e6:,.0f} MB more in a year"
    free = report["free"]
    return f"{line}." if free is None else f"{line}; {free / 1e6:,.0f} MB are free."
