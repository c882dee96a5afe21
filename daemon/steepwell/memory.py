"""Keeps the memory of a process small that has threads and lives for years."""

from __future__ import annotations

import ctypes

# malloc.h of the GNU C library: how many arenas it makes at most.
M_ARENA_MAX = -8


def share_one_arena() -> None:
    """Have all threads take their memory from one place.

    The GNU C library gives each thread one of its own and hands little of it back, 8 of 80 MB in a
    daemon at rest; only one thread runs Python at a time, so none has to wait. Another C library
    does as it does. To be called before there are threads.
    """
    choose = getattr(ctypes.CDLL(None), "mallopt", None)
    if choose is not None:
        choose(M_ARENA_MAX, 1)


def hand_back() -> None:
    """Give the system the memory that is free between what is in use.

    What is read, judged and shown is large for a moment and leaves holes behind. Where there are
    none this takes a tenth of a millisecond. Another C library does as it does.
    """
    trim = getattr(ctypes.CDLL(None), "malloc_trim", None)
    if trim is not None:
        trim(0)
