"""The later list: what is makeshift in a unit for now, and the proper part that is wished for in its place.

A wish is a need that waits: it rides along in an order whose cost it raises by less than the proper part is worth, and
the unit says what is makeshift until the exchange.
"""

from __future__ import annotations

from collections.abc import Iterator

import msgspec

from catalog import store as catalog_store
from catalog.describe import read
from catalog.journal import Recorder
from catalog.money import rounded
from catalog.rules import Grade
from catalog.spec import KINDS
from catalog.text import Refused, clean_line
from triage import store
from triage.actions.holding import may_exchange
from triage.actions.makeshift import NOT_SAID, usual_cut
from triage.actions.needs import understood
from triage.actions.promises import coming, let_go, promised_to
from triage.actions.studies import case_of_unit, class_of_unit, plain_study
from triage.actions.units import get_unit
from triage.bench_file import BenchFile, in_one_transaction
from triage.device_classes.schema import DeviceClass
from triage.lot import Happening, Need
from triage.worth import repair_minutes

NOT_SOLD_WHOLE = frozenset({"part_out", "hand_over", "dispose"})
"""Piles of units whose sale price nothing adds to."""


class Wish(msgspec.Struct, frozen=True):
    """One line of the later list."""

    need: Need
    part_name: str
    worth: int
    """What the proper part is worth in minor units: stated, or what it adds to the sale price less the exchange."""


def later_list(bench: BenchFile, *, everything: bool = False) -> tuple[Wish, ...]:
    """The wishes of all units that are still open or on their way, by unit; with `everything` dropped ones too."""
    held = [need for need in store.needs(bench.database) if need.wish and need.state != "fitted"]
    return tuple(
        Wish(need, part_name(bench, need), wish_worth(bench, need))
        for need in sorted(held, key=lambda need: (need.unit, need.id))
        if everything or need.state != "dropped"
    )


def part_name(bench: BenchFile, need: Need) -> str:
    """What the part is called in the class of its unit, or as the person called it."""
    device_class = class_of_unit(bench, get_unit(bench, need.unit))
    known = {part.id: part.name for part in device_class.parts} if device_class else {}
    return known.get(need.part, need.part)


def wish_worth(bench: BenchFile, need: Need) -> int:
    """What the proper part is worth: by the person's word, or what a compromise of its kind takes off the price.

    That is the price of what the unit is meant for; one that is not sold whole has none. The minutes of the exchange
    are taken off at the person's hour, as a plan reckons before it knows how scarce they are.
    """
    if need.worth is not None:
        return need.worth
    unit = get_unit(bench, need.unit)
    device_class = class_of_unit(bench, unit)
    if device_class is None:
        return 0
    found = plain_study(bench, unit)
    worth = found.case.worth
    price = 0.0 if found.pile in NOT_SOLD_WHOLE else worth.as_is if found.pile == "as_is" else worth.working
    minutes = _exchange_minutes(device_class, need.part, case_open=found.case.state.case_open)
    return max(0, rounded(price * usual_cut(need.kind, Grade.COMPROMISE) - minutes * found.case.rate))


@in_one_transaction
def add_wish(
    bench: BenchFile,
    number: int,
    part: str,
    text: str,
    *,
    instead: str = "",
    kind: str = "",
    pieces: int = 1,
    worth: int | None = None,
) -> Need:
    """Say that something in a unit is makeshift, and what the proper part would be.

    Args:
        bench: the open bench file.
        number: the unit.
        part: a part of its class, or any name, such as `feet`.
        text: the proper part, in the words of a parts list; empty while it is not known.
        instead: what is fitted for now.
        kind: its kind, where it is not the one of the class file.
        pieces: how many.
        worth: what having it is worth, minor units; None = what it adds to the sale price less the exchange.

    Raises:
        Refused: no such unit, no name, a wish for it already, a bad kind or number, or a description that is not
            understood.
    """
    name, words = clean_line(part, 60), clean_line(text)
    where = f"unit {number}.{name}"
    device_class = class_of_unit(bench, get_unit(bench, number))
    known = {one.id: one for one in device_class.parts} if device_class else {}
    kind = kind or (known[name].kind if name in known else "") or kind_read(words)
    if not name:
        raise Refused("name the part that is makeshift", where=f"unit {number}")
    for other in store.needs(bench.database, number=number):
        if other.wish and other.state != "fitted" and other.part.casefold() == name.casefold():
            raise Refused(f"wish {other.id} is for it already; change that one, or name this otherwise", where=where)
    if kind not in KINDS:
        raise Refused(f"unknown kind; known are {', '.join(KINDS)}", where=where)
    if not 1 <= pieces <= 999 or (worth is not None and worth < 0):
        raise Refused("expected 1 to 999 pieces and a worth of 0 or more", where=where)
    if words:
        understood(words, kind, where)
    need = Need(
        id=0,
        unit=number,
        fault="",
        part=name,
        pieces=pieces,
        text=words,
        kind=kind,
        instead=clean_line(instead) or NOT_SAID,
        worth=worth,
    )
    summary = clean_line(f"unit {number}: {name} is makeshift; wished for later: {words or 'to be described'}", 200)
    with bench.journal.event("wish", summary, at=bench.now(), unit=number) as recorder:
        return msgspec.structs.replace(need, id=store.save(recorder, "needs", need))


@in_one_transaction
def change_wish(
    bench: BenchFile, need_id: int, *, text: str | None = None, worth: int | None = None, by_price: bool = False
) -> Need:
    """Say anew what the proper part is, or what it is worth; `by_price` reckons the worth from the sale price again.

    Raises:
        Refused: no such wish, it is on its way, or a description that is not understood.
    """
    need = _wish(bench, need_id)
    changed = need
    if text is not None:
        words = clean_line(text)
        if words:
            understood(words, need.kind, f"wish {need_id}")
        _not_coming(bench, need)
        changed = msgspec.structs.replace(changed, text=words)
    if worth is not None or by_price:
        if worth is not None and worth < 0:
            raise Refused("expected a worth of 0 or more", where=f"wish {need_id}")
        changed = msgspec.structs.replace(changed, worth=None if by_price else worth)
    summary = clean_line(f"unit {need.unit}: later: {need.part} is {changed.text}", 200)
    with bench.journal.event("wish", summary, at=bench.now(), unit=need.unit) as recorder:
        if changed.text != need.text:
            let_go(bench, recorder, need)
            changed = msgspec.structs.replace(changed, state="open", source="")
        store.save(recorder, "needs", changed)
    return changed


@in_one_transaction
def drop_wish(bench: BenchFile, need_id: int) -> Need:
    """The proper part is not wished for any more; what is makeshift stays told. Dropping a dropped one wishes again.

    Raises:
        Refused: no such wish, or it is on its way.
    """
    need = _wish(bench, need_id)
    again = need.state == "dropped"
    _not_coming(bench, need)
    changed = msgspec.structs.replace(need, state="open" if again else "dropped", source="")
    word = "wished for again" if again else "not wished for"
    with bench.journal.event(
        "wish_drop", f"unit {need.unit}: proper {need.part} {word}", at=bench.now(), unit=need.unit
    ) as recorder:
        let_go(bench, recorder, need)
        store.save(recorder, "needs", changed)
    return changed


@in_one_transaction
def exchange(bench: BenchFile, need_id: int, *, minutes: float | None = None) -> Need:
    """The proper part was put in place of what was makeshift; its functions are to be tested anew.

    What was set aside for it leaves the drawer. `minutes` None counts those of the repair of its part.

    Raises:
        Refused: no such wish, it is still on its way, or a hazard holds it back or was not asked about.
    """
    need = _wish(bench, need_id)
    _not_coming(bench, need)
    number, device_class = need.unit, class_of_unit(bench, get_unit(bench, need.unit))
    inside = device_class is not None and any(part.id == need.part for part in device_class.parts)
    spent, opening = 0.0, False
    if device_class is not None:
        found = case_of_unit(bench, number)
        opening = may_exchange(found, need.part, f"unit {number}.{need.part}") and not found.state.case_open
        spent = _exchange_minutes(device_class, need.part, case_open=found.state.case_open)
    summary = clean_line(f"unit {number}: proper {need.part} is in", 200)
    with bench.journal.event("exchange", summary, at=bench.now(), unit=number) as recorder:
        if opening:
            store.save(recorder, "happenings", Happening(0, number, bench.now(), "case", "", "opened"))
        used = tuple(_leave(bench, recorder, need))
        recorder.update("needs", need.id, {"state": "fitted"})
        told = "; ".join(used) or need.text
        kind, answer = ("lift", "exchanged") if inside else ("note", "")
        raw = told if inside else f"{need.part} exchanged for the proper one: {told}"
        store.save(
            recorder,
            "happenings",
            Happening(
                id=0,
                unit=number,
                at=bench.now(),
                kind=kind,  # type: ignore[arg-type]
                subject=need.part if inside else "",
                answer=answer,
                value=float(need.pieces) if inside else None,
                raw=clean_line(raw),
                minutes=spent if minutes is None else minutes,
            ),
        )
    return msgspec.structs.replace(need, state="fitted")


def kind_read(text: str) -> str:
    """The kind that a description speaks of by itself; `listed` where it tells none."""
    spec = read(text).spec
    return spec.kind if spec is not None else "listed"


def _exchange_minutes(device_class: DeviceClass, part: str, *, case_open: bool) -> float:
    """Those of the repair of the part; none for what the class does not know."""
    faults = [fault.id for fault in device_class.faults if part in fault.needs][:1]
    return repair_minutes(device_class, faults, case_open=case_open)


def _leave(bench: BenchFile, recorder: Recorder, need: Need) -> Iterator[str]:
    """What is set aside for the wish leaves the drawer; in words."""
    for item in promised_to(bench, need.id):
        part = catalog_store.part(bench.database, item.part) if item.part is not None else None
        if part is not None:
            recorder.update("parts", part.id, {"quantity": max(0, part.quantity - item.pieces)})
            yield f"{item.pieces} × {part.name}" + (f", {part.place}" if part.place else "")
    let_go(bench, recorder, need)


def _wish(bench: BenchFile, need_id: int) -> Need:
    need = next((one for one in store.needs(bench.database) if one.id == need_id and one.wish), None)
    if need is None or need.state == "fitted":
        raise Refused("there is no such wish; `lotwright later` lists them", where=f"wish {need_id}")
    return need


def _not_coming(bench: BenchFile, need: Need) -> None:
    if coming(bench, need.id):
        raise Refused("it is on its way; receive it, or take its order back first", where=f"wish {need.id}")
