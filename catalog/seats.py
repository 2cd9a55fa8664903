"""Seats: which of the programs that are running on a bench file now is which.

A seat is a number that one running program holds on one file, from 1. It is held by a lock of the operating system on
one byte of a small file beside the bench file, so it falls free when the program ends, however it ends: no process
number that was given out anew, no renamed computer and no restart can make a dead program look alive.
"""

from __future__ import annotations

import os
import sys
import threading
import weakref
from pathlib import Path

SUFFIX = "-seats"
"""Added to the bench file's name; the file holds no data and may be removed while no program runs."""
MOST = 1_000


class Seat:
    """One seat, shared by everything in this process that works on the same file; free when nothing refers to it."""

    def __init__(self, number: int, handle: int | None) -> None:
        """Hold `handle`, the open lock file, for as long as the seat is used; None for a file in memory."""
        self.number = number
        if handle is not None:
            weakref.finalize(self, os.close, handle)


_TAKEN: weakref.WeakValueDictionary[tuple[int, Path], Seat] = weakref.WeakValueDictionary()
_GUARD = threading.Lock()


def take_seat(path: Path | None) -> Seat:
    """The seat of this process on the bench file: the one it holds already, else the lowest that is free.

    Args:
        path: the bench file; None when it is in memory only.

    Raises:
        OSError: the lock file cannot be made, or a thousand programs are running.
    """
    if path is None:
        return Seat(1, None)
    with _GUARD:
        # The process is part of the key because a forked child inherits this table, but not the locks.
        key = (os.getpid(), path.resolve())
        seat = _TAKEN.get(key)
        if seat is None:
            seat = _TAKEN[key] = _lowest_free(key[1])
        return seat


def _lowest_free(path: Path) -> Seat:
    handle = os.open(path.with_name(path.name + SUFFIX), os.O_RDWR | os.O_CREAT, 0o600)
    try:
        number = next(number for number in range(1, MOST) if _lock(handle, number))
    except StopIteration:
        os.close(handle)
        raise OSError(f"no seat is free beside {path}") from None
    except BaseException:
        os.close(handle)
        raise
    return Seat(number, handle)


if sys.platform == "win32":
    import msvcrt

    def _lock(handle: int, number: int) -> bool:
        os.lseek(handle, number, os.SEEK_SET)
        try:
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        return True
else:
    import fcntl

    def _lock(handle: int, number: int) -> bool:
        try:
            fcntl.lockf(handle, fcntl.LOCK_EX | fcntl.LOCK_NB, 1, number)
        except (BlockingIOError, PermissionError):
            return False
        return True
