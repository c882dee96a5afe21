"""Puts a backup in the place of a store, and keeps what was there."""

from __future__ import annotations

import contextlib
import os
import shutil
import sqlite3
import stat
from contextlib import closing
from datetime import UTC
from pathlib import Path
from typing import TYPE_CHECKING

from steepwell.errors import StoreError
from steepwell.store.backups import OWNERS_ONLY

if TYPE_CHECKING:
    from datetime import datetime


def replace_store(file: Path, backup: Path | None, why: str, now: datetime) -> Path | None:
    """Put a backup in the place of a store that nobody uses.

    A process that is ended on the way leaves the old store or the new one in its place.

    Parameters
    ----------
    file
        The store; it need not be there.
    backup
        What takes its place, None for nothing.
    why
        A word for the name of what was there: ``damaged``, ``replaced``.
    now
        The moment.

    Returns
    -------
    Path or None
        What was there, under its new name.

    Raises
    ------
    StoreError
        If there is no room, or the folder cannot be written.
    """
    part = file.with_name(f"{file.name}.part")
    aside = file.with_name(f"{file.name}.{why}-{now.astimezone(UTC):%Y%m%dT%H%M%SZ}")
    try:
        if backup is not None:
            shutil.copyfile(backup, part)
            _make_over(part, file)
            with part.open("rb") as opened:
                os.fsync(opened.fileno())
        was_there = file.exists()
        if was_there:
            _set_aside(file, aside, leave=backup is not None)
        if backup is not None:
            part.replace(file)
    except OSError as error:
        part.unlink(missing_ok=True)
        raise StoreError(
            f"{backup or 'nothing'} cannot be put in the place of {file} ({error}); see that there "
            "is room and that the folder can be written"
        ) from error
    return aside if was_there else None


def _make_over(part: Path, file: Path) -> None:
    """Give a new file the owner of the store it is for, and who may read it."""
    was_there = file.exists()
    like = (file if was_there else file.parent).stat()
    part.chmod(stat.S_IMODE(like.st_mode) if was_there else OWNERS_ONLY)
    if os.geteuid() == 0:
        os.chown(part, like.st_uid, like.st_gid)


def _set_aside(file: Path, aside: Path, *, leave: bool) -> None:
    """Give a store another name, too or instead, with what is written but not in the file yet."""
    with contextlib.suppress(sqlite3.DatabaseError), closing(sqlite3.connect(file)) as connection:
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    # The log of one database must never lie beside another.
    log = Path(f"{file}-wal")
    if log.exists():
        log.rename(f"{aside}-wal")
    Path(f"{file}-shm").unlink(missing_ok=True)
    if leave:
        try:
            os.link(file, aside)
        except OSError:  # a file system without second names
            file.rename(aside)
    else:
        file.rename(aside)
