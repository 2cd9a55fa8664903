"""Taking back, doing again, and telling what was done."""

from __future__ import annotations

from collections.abc import Callable

from catalog.journal import Event, Recorder, Stands
from catalog.text import Refused
from triage.actions.holding import still_may
from triage.actions.promises import set_right
from triage.bench_file import BenchFile

_WORK = frozenset({"repair", "lift", "put_back", "exchange"})
"""Actions on a unit: done again only as far as safety still allows them."""
_INSTEAD = {
    "order_place": "take that order back on the Order screen, or with `lotwright order --cancel N`",
    "order_cancel": "place the order anew if it is wanted after all",
}
"""What reverses an action that no undo may touch."""


def take_back(bench: BenchFile) -> Event | None:
    """Undo the latest action of this program still in force; None when there is none.

    What it promises again is promised only as far as it is there: goods may have come, or gone, meanwhile.

    Raises:
        Refused: it stands until a counter-entry, or somebody changed the same rows since.
    """
    try:
        return bench.journal.undo(at=bench.now(), mend=_promises(bench))
    except Stands as stands:
        instead = _INSTEAD.get(stands.event.action, "correct it where it stands")
        raise Refused(
            f"undo stops here: “{stands.event.summary}” stands, only a dated counter-entry reverses it; {instead}",
            where="undo",
        ) from None


def do_again(bench: BenchFile) -> Event | None:
    """Redo what was taken back last; None when there is nothing to redo.

    Raises:
        Refused: somebody changed the same rows since, or a hazard said meanwhile holds that work back.
    """
    return bench.journal.redo(at=bench.now(), mend=_again(bench))


def _promises(bench: BenchFile) -> Callable[[Recorder, Event], None]:
    return lambda recorder, _: set_right(bench, recorder)


def _again(bench: BenchFile) -> Callable[[Recorder, Event], None]:
    def mend(recorder: Recorder, event: Event) -> None:
        if event.action in _WORK and event.unit is not None:
            still_may(bench, event.unit, event.action)
        set_right(bench, recorder)

    return mend


def newest(bench: BenchFile) -> int:
    """Number of the newest event of the journal, 0 for none: while it is the same, nothing was done."""
    return next((event.id for event in history(bench, limit=1)), 0)


def history(bench: BenchFile, unit: int | None = None, limit: int = 200) -> list[Event]:
    """The journal, newest first, of one unit or of everything."""
    return bench.journal.history(unit, limit)
