"""A fault that the person adds to one unit, and taking it off again."""

from __future__ import annotations

import msgspec

from catalog.text import Refused, clean_line
from triage import store
from triage.actions.look_view import told_apart
from triage.actions.studies import case_of_unit
from triage.bench_file import BenchFile, in_one_transaction
from triage.lot import Happening
from triage.own_faults import OwnFault, next_id, own_faults

_LONGEST = 80


class Shown(msgspec.Struct, frozen=True):
    """A check that a fault may show in, and whether it reads bad now."""

    check: str
    question: str
    bad: bool


class Suspecting(msgspec.Struct, frozen=True):
    """What a person chooses from who suspects something that is on no list."""

    checks: tuple[Shown, ...]
    """Those that read bad first, then the others that were answered, then the rest."""
    own: dict[str, str]
    """Id of each fault of the person's own to what it is called."""


def suspecting(bench: BenchFile, number: int) -> Suspecting:
    """What may be said of a further suspect of a unit; raises `Refused` where its class is in doubt."""
    found = case_of_unit(bench, number)
    latest = found.record.latest
    ranked = sorted(
        found.device_class.checks, key=lambda check: (latest.get(check.id) != "bad", check.id not in latest)
    )
    own = own_faults(store.happenings(bench.database, number))
    questions = told_apart(ranked)
    return Suspecting(
        checks=tuple(Shown(check.id, questions[check.id], latest.get(check.id) == "bad") for check in ranked),
        own={name: fault.what for name, fault in own.items()},
    )


@in_one_transaction
def add_suspect(bench: BenchFile, number: int, said: OwnFault) -> Happening:
    """Add a fault of the person's own to a unit; it joins the suspects at once.

    Without `shows` it is taken to show in every check that reads bad now.

    Raises:
        Refused: nothing to call it, no check it shows in, an unknown check, or a figure out of range.
    """
    found = case_of_unit(bench, number)
    where = f"unit {number}"
    what = clean_line(said.what, _LONGEST)
    if not what:
        raise Refused("say what you suspect, in a few words", where=f"{where}.what")
    if what.casefold() in {fault.what.casefold() for fault in found.device_class.faults}:
        raise Refused("that fault is listed already", where=f"{where}.what")
    checks = {check.id for check in found.device_class.checks}
    for name in said.shows:
        if name not in checks:
            known = ", ".join(check.id for check in found.device_class.checks)
            raise Refused(f"no check {clean_line(name, 40)!r}; known are {known}", where=f"{where}.shows")
    bad = tuple(check.id for check in found.device_class.checks if found.record.latest.get(check.id) == "bad")
    shows = tuple(dict.fromkeys(said.shows)) or bad
    if not shows:
        raise Refused("no check reads bad yet; say in which check it shows", where=f"{where}.shows")
    for field, fits, expected in (
        ("chance", 0.0 < said.chance < 1.0, "a chance between 0 and 1, such as 0.1"),
        ("success", 0.0 <= said.success <= 1.0, "a chance from 0 to 1, such as 0.8"),
        ("minutes", 0.0 <= said.minutes < 100_000, "minutes such as 15"),
        ("cost", 0 <= said.cost < 10**12, "an amount from 0 up"),
    ):
        if not fits:
            raise Refused(f"expected {expected}", where=f"{where}.{field}")
    kept = msgspec.structs.replace(said, what=what, shows=shows)
    fault_id = next_id(store.happenings(bench.database, number))
    raw = msgspec.json.encode(kept).decode()
    added = Happening(0, number, bench.now(), "own_fault", fault_id, "added", None, raw)
    return _kept(bench, added, f"unit {number}: suspected too: {what}")


@in_one_transaction
def drop_suspect(bench: BenchFile, number: int, fault_id: str) -> Happening:
    """Take a fault of the person's own off a unit's list; what was done about it stays in the history.

    Raises:
        Refused: the unit has no such fault of the person's own.
    """
    case_of_unit(bench, number)
    own = own_faults(store.happenings(bench.database, number))
    if fault_id not in own:
        known = ", ".join(f"{name} ({fault.what})" for name, fault in own.items()) or "none"
        raise Refused(f"no fault of your own of that name; there are: {known}", where=f"unit {number}")
    dropped = Happening(0, number, bench.now(), "own_fault", fault_id, "taken off")
    return _kept(bench, dropped, f"unit {number}: no longer suspected: {own[fault_id].what}")


def _kept(bench: BenchFile, seen: Happening, summary: str) -> Happening:
    with bench.journal.event("suspect", clean_line(summary, 200), at=bench.now(), unit=seen.unit) as recorder:
        row_id = store.save(recorder, "happenings", seen)
    return msgspec.structs.replace(seen, id=row_id)
