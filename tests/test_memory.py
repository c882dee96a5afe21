from __future__ import annotations

import platform
import subprocess
import sys

import pytest

# Four threads that hold memory at once; malloc_info(3) then tells the arenas, each as a heap.
THREADS = """
import ctypes, threading
from steepwell.memory import share_one_arena
{begin}
held = threading.Barrier(5)
def hold():
    mine = [bytes(5000 + each) for each in range(100)]
    held.wait()
    held.wait()
    return mine
threads = [threading.Thread(target=hold) for _ in range(4)]
for each in threads:
    each.start()
held.wait()
libc = ctypes.CDLL(None)
libc.fdopen.restype = ctypes.c_void_p
out = ctypes.c_void_p(libc.fdopen(1, b"w"))
libc.malloc_info(0, out)
libc.fflush(out)
held.wait()
"""


@pytest.mark.skipif(platform.libc_ver()[0] != "glibc", reason="another C library")
@pytest.mark.parametrize(("begin", "one"), [("", False), ("share_one_arena()", True)])
def test_threads_share_one_arena(begin: str, *, one: bool) -> None:
    command = [sys.executable, "-c", THREADS.format(begin=begin)]
    told = subprocess.run(command, capture_output=True, text=True, check=True).stdout
    assert (told.count("<heap nr=") == 1) is one


# A thousand blocks below what is mapped of its own, each second one given back to the library.
HOLES = """
from pathlib import Path
from steepwell.memory import hand_back
def resident():
    return int(Path("/proc/self/statm").read_text().split()[1])
blocks = [bytes(60_000) for _ in range(1000)]
del blocks[::2]
before = resident()
{then}
print(before - resident())
"""


@pytest.mark.skipif(platform.libc_ver()[0] != "glibc", reason="another C library")
@pytest.mark.parametrize(("then", "given_back"), [("", False), ("hand_back()", True)])
def test_holes_go_back_to_the_system(then: str, *, given_back: bool) -> None:
    command = [sys.executable, "-c", HOLES.format(then=then)]
    pages = int(subprocess.run(command, capture_output=True, text=True, check=True).stdout)
    # 500 holes of 14 whole pages or so.
    assert (pages > 5000) is given_back
