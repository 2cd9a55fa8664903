"""The person's own signal paths: kept for a class, or for one model of it, and offered on every such unit."""

from __future__ import annotations

import msgspec

from catalog.text import Refused, clean_line
from triage import store
from triage.actions.units import get_unit
from triage.bench_file import BenchFile, in_one_transaction
from triage.own_paths import OwnPath, read_chain


def own_paths(bench: BenchFile) -> list[OwnPath]:
    """All of them, oldest first."""
    return store.own_paths(bench.database)


@in_one_transaction
def add_path(
    bench: BenchFile, number: int, chain: str, *, name: str = "", tools: tuple[str, ...] = (), only_model: bool = True
) -> OwnPath:
    """Keep a chain for units like this one: of its model where that is said and `only_model`, else of its class.

    Raises:
        Refused: no such unit, its class is in doubt, or the chain cannot be read.
    """
    unit = get_unit(bench, number)
    if unit.device_class not in bench.classes:
        raise Refused("it is not settled yet what this is; choose its class first", where=f"unit {number}")
    read = read_chain(chain)
    kept = OwnPath(
        id=0,
        device_class=unit.device_class,
        model=unit.model if only_model else "",
        name=clean_line(name) or f"{read.points[0]} to {read.points[-1]}",
        chain=clean_line(chain),
        tools=tuple(filter(None, (clean_line(tool, 40).casefold().replace(" ", "_") for tool in tools))),
    )
    summary = clean_line(f"own path kept: {kept.name}", 200)
    with bench.journal.event("path_add", summary, at=bench.now(), unit=number) as recorder:
        path_id = store.save(recorder, "own_paths", kept)
    return msgspec.structs.replace(kept, id=path_id)


@in_one_transaction
def drop_path(bench: BenchFile, path_id: int) -> OwnPath:
    """Let go of an own path; what was probed along it stays in the history and is evidence no more.

    Raises:
        Refused: there is no such path, or a part of it was repaired or is wanted.
    """
    found = next((own for own in store.own_paths(bench.database) if own.id == path_id), None)
    if found is None:
        raise Refused("there is no own path of that number", where=f"path {path_id}")
    mine = f"{found.path_id}_"
    for need in store.needs(bench.database):
        if need.part.startswith(mine) and not need.over:
            raise Refused(f"unit {need.unit} still wants a part of it; drop that first", where=f"path {path_id}")
    with bench.journal.event(
        "path_drop", clean_line(f"own path let go: {found.name}", 200), at=bench.now()
    ) as recorder:
        recorder.delete("own_paths", path_id)
    return found
