"""Taking back, doing again, and telling what was done."""

from __future__ import annotations

from catalog.journal import Event
from triage.bench_file import BenchFile


def take_back(bench: BenchFile) -> Event | None:
    """Undo the latest action of this program still in force; None when there is none.

    Raises:
        Refused: it stands until a counter-entry, or somebody changed the same rows since.
    """
    return bench.journal.undo(at=bench.now())


def do_again(bench: BenchFile) -> Event | None:
    """Redo what was taken back last; None when there is nothing to redo."""
    return bench.journal.redo(at=bench.now())


def newest(bench: BenchFile) -> int:
    """Number of the newest event of the journal, 0 for none: while it is the same, nothing was done."""
    return next((event.id for event in history(bench, limit=1)), 0)


def history(bench: BenchFile, unit: int | None = None, limit: int = 200) -> list[Event]:
    """The journal, newest first, of one unit or of everything."""
    return bench.journal.history(unit, limit)
