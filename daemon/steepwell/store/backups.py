"""Backups: copies of a store, each with its checksum, kept for days, weeks and months."""

from __future__ import annotations

import contextlib
import hashlib
import os
import shutil
from datetime import UTC, datetime
from typing import TYPE_CHECKING, NamedTuple

from steepwell.errors import StoreError
from steepwell.store.sqlite import damage

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable
    from pathlib import Path

# Of each of so many days, weeks and months that have any, the last is kept.
KEPT_DAYS, KEPT_WEEKS, KEPT_MONTHS = 7, 4, 12
# With less room than a copy needs, all go but these.
KEPT_ALWAYS = 2
# A copy leaves as much room as it takes itself, for the store to grow into.
COPIES_OF_ROOM, SPARE_BYTES = 2, 16_000_000

OWNERS_ONLY = 0o600

_STAMP = "%Y%m%dT%H%M%SZ"
_SUM = ".sha256"


class Backup(NamedTuple):
    """A copy of a store, and when it was taken (UTC)."""

    file: Path
    taken: datetime


def backups_in(folder: Path, name: str) -> list[Backup]:
    """Return the backups of a store that lie in a folder, newest first.

    Parameters
    ----------
    folder
        The folder; it need not be there.
    name
        What the names of its backups begin with.
    """
    found = []
    for file in folder.glob(f"{name}-*.db"):
        try:
            stamp = file.stem.removeprefix(f"{name}-")
            taken = datetime.strptime(stamp, _STAMP).replace(tzinfo=UTC)
        except ValueError:
            continue
        found.append(Backup(file, taken))
    return sorted(found, key=lambda backup: backup.taken, reverse=True)


def make_backup(
    folder: Path, name: str, now: datetime, *, size: int, copy: Callable[[Path], object]
) -> Backup:
    """Make a backup, check it, write its checksum, and drop those that are no longer kept.

    Parameters
    ----------
    folder
        Where it goes; made if it is not there.
    name
        What its name begins with.
    now
        The moment.
    size
        How large the store is [bytes].
    copy
        Writes the copy to a file.

    Returns
    -------
    Backup
        The new one.

    Raises
    ------
    StoreError
        If there is no room, or the copy is not sound.
    """
    moment = now.astimezone(UTC).replace(microsecond=0)
    made = Backup(folder / f"{name}-{moment:{_STAMP}}.db", moment)
    part = made.file.with_suffix(".part")
    try:
        folder.mkdir(parents=True, exist_ok=True)
        _make_room(folder, name, size)
        copy(part)
        # What the store knows is nobody else's: who may see the page, how links are signed.
        part.chmod(OWNERS_ONLY)
        found = damage(part, thorough=True)
        if found is not None:
            raise StoreError(f"the copy of the store is not sound ({found}); it was not kept")
        _write(made.file.with_name(made.file.name + _SUM), f"{_sha256(part)}  {made.file.name}\n")
        part.replace(made.file)
        _give_to_owner(folder, made.file)
        _sync(folder)
        _drop(set(backups_in(folder, name)) - kept(backups_in(folder, name)))
    except OSError as error:
        raise StoreError(
            f"no backup can be made in {folder} ({error}); see that there is room and that the "
            "folder can be written"
        ) from error
    finally:
        part.unlink(missing_ok=True)
    return made


def why_not_good(file: Path) -> str | None:
    """Return why a backup cannot be trusted, None for a good one.

    Parameters
    ----------
    file
        The backup; its checksum lies beside it.
    """
    try:
        written = file.with_name(file.name + _SUM).read_text(encoding="ascii").split()
        if not written or written[0] != _sha256(file):
            return "it is not what its checksum says"
    except (OSError, UnicodeDecodeError) as error:
        return f"it or its checksum cannot be read ({error})"
    return damage(file, thorough=False)


def last_good(folder: Path, name: str) -> Backup | None:
    """Return the newest backup that can be trusted, or None."""
    return next((one for one in backups_in(folder, name) if why_not_good(one.file) is None), None)


def kept(backups: Iterable[Backup]) -> set[Backup]:
    """Return the backups to keep: the last of each of some days, weeks and months.

    Parameters
    ----------
    backups
        All there are.

    Returns
    -------
    set of Backup
        Those of the last seven days, four weeks and twelve months that have any.
    """
    newest_first = sorted(backups, key=lambda backup: backup.taken, reverse=True)
    keep: set[Backup] = set()
    for count, period in (
        (KEPT_DAYS, lambda taken: taken.date()),
        (KEPT_WEEKS, lambda taken: taken.isocalendar()[:2]),
        (KEPT_MONTHS, lambda taken: (taken.year, taken.month)),
    ):
        last: dict[object, Backup] = {}
        for backup in newest_first:
            last.setdefault(period(backup.taken), backup)
        keep.update(list(last.values())[:count])
    return keep


def _make_room(folder: Path, name: str, size: int) -> None:
    """Drop the oldest backups until there is room for one more, down to a few."""
    needed = COPIES_OF_ROOM * size + SPARE_BYTES
    old = backups_in(folder, name)[KEPT_ALWAYS:]
    while old and shutil.disk_usage(folder).free < needed:
        _drop([old.pop()])
    free = shutil.disk_usage(folder).free
    if free < needed:
        raise StoreError(
            f"there is no room for a backup in {folder}: {free / 1e6:,.0f} MB are free and "
            f"{needed / 1e6:,.0f} MB are needed; make room, or name another folder under [store] "
            "backups"
        )


def _drop(backups: Iterable[Backup]) -> None:
    for backup in backups:
        backup.file.unlink(missing_ok=True)
        backup.file.with_name(backup.file.name + _SUM).unlink(missing_ok=True)


def _sha256(file: Path) -> str:
    with file.open("rb") as opened:
        return hashlib.file_digest(opened, "sha256").hexdigest()


def _write(file: Path, text: str) -> None:
    with file.open("w", encoding="ascii") as opened:
        opened.write(text)
        opened.flush()
        os.fsync(opened.fileno())


def _give_to_owner(folder: Path, file: Path) -> None:
    """Give a file that root made to the owner of its folder: the daemon is another user."""
    if os.geteuid() == 0:
        owner = folder.stat()
        # What a stick is formatted with may know no owners.
        with contextlib.suppress(PermissionError):
            os.chown(file, owner.st_uid, owner.st_gid)


def _sync(folder: Path) -> None:
    """Have the names in a folder on the disk."""
    opened = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(opened)
    finally:
        os.close(opened)
