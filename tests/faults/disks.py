"""Disks that are small, full, slow or read-only: made for real where this machine lets us."""

from __future__ import annotations

import os
import resource
import shutil
import signal
import subprocess
from contextlib import contextmanager
from typing import TYPE_CHECKING

from tests.faults.faults_table import NotHereError, NotSeenError

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

WRITES = ("pwrite64", "ftruncate", "fallocate")
SYNCS = ("fdatasync", "fsync")


@contextmanager
def small_disk(folder: Path, megabytes: int) -> Iterator[Path]:
    """Mount a file system of a few megabytes, in memory, for the length of a block."""
    if os.geteuid() != 0 or shutil.which("mount") is None:
        raise NotHereError("only root can mount a file system")
    place = folder / "small"
    place.mkdir()
    size = f"size={megabytes}m"
    done = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", size, "tmpfs", place],  # noqa: S607 - as found
        check=False,
        capture_output=True,
        text=True,
    )
    if done.returncode:
        raise NotHereError(f"no file system can be mounted here ({done.stderr.strip()})")
    try:
        yield place
    finally:
        subprocess.run(["umount", "--lazy", place], check=True)  # noqa: S607 - as found


def remount(place: Path, how: str) -> None:
    """Make a mounted file system read-only ("ro") or not ("rw")."""
    subprocess.run(["mount", "-o", f"remount,{how}", place], check=True)  # noqa: S607 - as found


def fill(ballast: Path, leave_bytes: int) -> None:
    """Fill a disk up with a file, but for a little."""
    free = shutil.disk_usage(ballast.parent).free
    with ballast.open("wb") as file:
        os.posix_fallocate(file.fileno(), 0, max(free - leave_bytes, 1))


def let_files_grow(process: int, most_bytes: int | None) -> None:
    """Let a process write no file beyond a size, or any again."""
    most = resource.RLIM_INFINITY if most_bytes is None else most_bytes
    resource.prlimit(process, resource.RLIMIT_FSIZE, (most, resource.RLIM_INFINITY))


@contextmanager
def system_calls(process: int, *how: str) -> Iterator[None]:
    """Let system calls of a process fail or be slow, as ``strace --inject`` says it."""
    strace = shutil.which("strace")
    if strace is None:
        raise NotHereError("strace is not installed")
    rules = [word for each in how for word in ("-e", f"inject={each}")]
    calls = ",".join(each.split(":", 1)[0] for each in how)
    command = [strace, "-f", "-o", "/dev/null", "-p", str(process), "-e", f"trace={calls}", *rules]
    tracer = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    assert tracer.stderr is not None
    # It says so when it has got hold of the process.
    said = tracer.stderr.readline()
    try:
        if "attached" not in said:
            if "not permitted" in said:
                raise NotHereError(f"strace may not look into a process here ({said.strip()})")
            raise NotSeenError(said.strip())
        yield
    finally:
        tracer.send_signal(signal.SIGINT)
        tracer.communicate()
