"""What is promised to which need: keeping the state of a need true to the pieces set aside for it."""

from __future__ import annotations

from collections.abc import Iterable

from catalog.journal import Recorder
from triage import store
from triage.bench_file import BenchFile
from triage.lot import Need, SetAside, need_state


def promised_to(bench: BenchFile, need_id: int) -> list[SetAside]:
    """What is promised to one need, oldest first."""
    return [item for item in store.set_asides(bench.database) if item.need == need_id]


def reserved(bench: BenchFile) -> dict[int, int]:
    """{part id: pieces of the drawer that are promised to some need}."""
    held: dict[int, int] = {}
    for item in store.set_asides(bench.database):
        if item.part is not None:
            held[item.part] = held.get(item.part, 0) + item.pieces
    return held


def let_go(bench: BenchFile, recorder: Recorder, need: Need) -> None:
    """Nothing is promised to the need any more; what lies in the drawer is free again."""
    for item in promised_to(bench, need.id):
        recorder.delete("set_asides", item.id)


def settle(bench: BenchFile, recorder: Recorder, need_ids: Iterable[int], source: str | None = None) -> None:
    """Give the needs the state that follows from what is promised; `source` says where it comes from."""
    wanted = set(need_ids)
    promised = store.set_asides(bench.database)
    for need in store.needs(bench.database):
        if need.id not in wanted:
            continue
        state = need_state(need, promised)
        where = "" if state == "open" else need.source if source is None else source
        if (state, where) != (need.state, need.source):
            recorder.update("needs", need.id, {"state": state, "source": where})
