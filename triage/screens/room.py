"""A back room: one thread with its own bench file, where everything runs that may take longer than a frame.

One thread, so that jobs keep their order and share the studies kept between keystrokes. A long job gives way: it asks
`check_way` between its steps and is put behind what came in since.
"""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from threading import Lock
from typing import TypeVar

from triage.bench_file import BenchFile

T = TypeVar("T")


class GaveWay(Exception):  # noqa: N818 - no error: the job is put behind the others
    """Raised by `check_way` inside a long job when another one waits."""


class Room:
    """Jobs on one bench file, one after the other, in a thread of their own."""

    def __init__(self, opened: Callable[[], BenchFile], name: str) -> None:
        """Open the bench file with `opened` when the first job comes."""
        self._opened = opened
        self._thread = ThreadPoolExecutor(max_workers=1, thread_name_prefix=name)
        self._bench: BenchFile | None = None
        self._lock = Lock()
        self._waiting = 0
        self.closing = False

    def submit(self, job: Callable[[BenchFile], T], *, urgent: bool = True) -> Future[T]:
        """Run `job` with the room's bench file; long jobs give way to an urgent one, not to one that gave way."""
        if not urgent:
            return self._thread.submit(self._run, job)
        with self._lock:
            self._waiting += 1
        sent = self._thread.submit(self._run_urgent, job)
        sent.add_done_callback(self._given_up)
        return sent

    def check_way(self, *_: object) -> None:
        """Called by a long job between its steps: raises `GaveWay` when it should stop."""
        if self._waiting or self.closing:
            raise GaveWay

    def close(self) -> None:
        """Finish what was sent, then close the bench file."""
        self.closing = True
        self._thread.submit(self._leave)
        self._thread.shutdown(wait=True)

    def _given_up(self, sent: Future[T]) -> None:
        """A job that was called off before it began waits no more."""
        if sent.cancelled():
            with self._lock:
                self._waiting -= 1

    def _run_urgent(self, job: Callable[[BenchFile], T]) -> T:
        with self._lock:
            self._waiting -= 1
        return self._run(job)

    def _run(self, job: Callable[[BenchFile], T]) -> T:
        if self._bench is None:
            self._bench = self._opened()
        return job(self._bench)

    def _leave(self) -> None:
        if self._bench is not None:
            self._bench.close()
