"""Parts lifted out of a unit: the unit lacks them, the drawer holds them, another unit may have them.

Taking a part out means that the case is open, so it is refused by whatever refuses a repair in the open case.
"""

from __future__ import annotations

from collections.abc import Mapping

import msgspec

from catalog import store as catalog_store
from catalog.describe import read
from catalog.journal import Recorder
from catalog.pricelists import described, part_key
from catalog.rules import Grade, same_word
from catalog.text import Refused, clean_line
from triage import store
from triage.actions.holding import may_repair
from triage.actions.judging import judge_written
from triage.actions.makeshift import NOT_SAID
from triage.actions.model_sheets import keep_way_round, model_sheet
from triage.actions.parts import checked
from triage.actions.promises import is_called, promised_to, settle
from triage.actions.studies import case_of_unit, class_of_unit
from triage.actions.units import get_unit
from triage.bench_file import BenchFile, in_one_transaction
from triage.device_classes.schema import Part
from triage.lot import Happening, LiftedPart, Need, SetAside, pieces_missing, same_model
from triage.plans import Case


class Liftable(msgspec.Struct, frozen=True):
    """A part that may be taken out of a unit: how many are in it, how many were taken, and what it is, if described."""

    part: str
    name: str
    inside: int
    lifted: int
    words: str
    sat: str = ""
    """How it sits in this model, as its sheet says."""


class Taker(msgspec.Struct, frozen=True):
    """A need of another unit that a part lifted out may be promised to."""

    need: int
    unit: int
    part: str
    part_name: str
    words: str
    missing: int
    """Pieces that nothing is promised for yet."""
    same: bool
    """Whether it is the same part of the same class."""
    alike: bool
    """Whether the unit is of the same model, too: then it is most likely the very same thing."""


class Lifted(msgspec.Struct, frozen=True):
    """What was taken out: the happening, the line of the drawer it is on now, and the unit it is promised to."""

    happening: Happening
    drawer_part: int
    place: str
    words: str
    promised: int = 0
    """Pieces promised to the other unit; 0 for none."""
    for_unit: int | None = None


def liftable(bench: BenchFile, number: int) -> tuple[Liftable, ...]:
    """The parts of a unit's class that may be lifted out of it or put back, in class order.

    Raises:
        Refused: there is no such unit, or its class is still in doubt.
    """
    found, sheet = case_of_unit(bench, number), model_sheet(bench, number)
    return tuple(
        Liftable(
            part.id,
            part.name,
            found.state.inside(part),
            found.state.missing.get(part.id, 0),
            _words(bench, number, part),
            "; ".join(line.text for line in sheet if line.topic == "way_round" and line.part == part.id),
        )
        for part in found.device_class.parts
        if not part.consumable
    )


def takers(bench: BenchFile, number: int, part_id: str) -> tuple[Taker, ...]:
    """The described needs of other units for such a part which pieces are missing for, the same part first.

    Such a part is the same one of the same class, or one of its kind; one known by its number, of the same number.

    Raises:
        Refused: as `lift` for the unit and the part.
    """
    part = part_of(case_of_unit(bench, number), part_id, f"unit {number}.{part_id}")
    giver, promised, found = get_unit(bench, number), store.set_asides(bench.database), list[Taker]()
    words, proper = _words(bench, number, part), _makeshift(bench, number, part) is None
    for need in store.needs(bench.database):
        missing = 0 if need.over else pieces_missing(need, promised)
        other = get_unit(bench, need.unit)
        device_class = class_of_unit(bench, other)
        known = {one.id: one for one in device_class.parts} if device_class else {}
        if need.unit == number or missing <= 0 or need.part not in known or not need.text:
            continue
        wanted = known[need.part]
        same = (other.device_class, need.part) == (giver.device_class, part_id)
        kind = need.kind or wanted.kind
        if same or (kind == part.kind and (kind != "listed" or same_word(need.text, words))):
            alike = same and proper and same_model(giver, other)
            found.append(Taker(need.id, need.unit, need.part, wanted.name, need.text, missing, same=same, alike=alike))
    return tuple(sorted(found, key=lambda taker: (not taker.same, taker.need)))


@in_one_transaction
def lift(
    bench: BenchFile,
    number: int,
    part_id: str,
    pieces: int | None = None,
    *,
    place: str = "",
    words: str = "",
    need: int | None = None,
    way_round: str = "",
    minutes: float | None = None,
) -> Lifted:
    """Note that a part was taken out of a unit; it lies in the drawer from now on. One event.

    Args:
        bench: the open bench file.
        number: the unit it comes out of.
        part_id: a part of the unit's class.
        pieces: how many; None takes all that are in it.
        place: where it is put; empty = `from unit N`.
        words: what exactly it is; empty = what was described for that part of that unit, else its name.
        need: a need of another unit that it is promised to.
        way_round: how it sat: which way round, the order of ribbons, which screws. It is kept on the sheet of the
            unit's model, or as a note of the unit where its model was not said.
        minutes: what it took; None counts the minutes of the class file.

    Raises:
        Refused: no such unit or part, it is never taken from a donor, so many are not in it, a hazard holds it back or
            was not asked about, or the need is none, is the unit's own, wants nothing more, or does not fit.
    """
    found = case_of_unit(bench, number)
    where = f"unit {number}.{part_id}"
    part = part_of(found, part_id, where)
    may_repair(found, where, opening=True)
    inside = found.state.inside(part)
    count = inside if pieces is None else pieces
    if not 1 <= count <= inside:
        raise Refused(f"it holds {inside or 'none'} of them; say how many came out", where=where)
    described_as = clean_line(words) or _words(bench, number, part)
    held = _drawer_line(bench, number, part, described_as, clean_line(place) or f"from unit {number}")
    wanted = None if need is None else _wanted(bench, need, number, part_id, held)
    spent = part.harvest_minutes if minutes is None else minutes
    what = f"{count} × {part.name}"
    summary = f"unit {number}: taken out: {what}" + (f", for unit {wanted.unit}" if wanted else "")
    with bench.journal.event("lift", clean_line(summary, 200), at=bench.now(), unit=number) as recorder:
        if not found.state.case_open:
            store.save(recorder, "happenings", Happening(0, number, bench.now(), "case", "", "opened"))
        to = f"for unit {wanted.unit}" if wanted else held.place
        seen = Happening(0, number, bench.now(), "lift", part.id, "out", float(count), clean_line(to), spent)
        seen = msgspec.structs.replace(seen, id=store.save(recorder, "happenings", seen))
        line = catalog_store.save_part(recorder, msgspec.structs.replace(held, quantity=held.quantity + count))
        if not held.id:
            store.save(recorder, "lifted_parts", LiftedPart(0, line, number, part.id))
        keep_way_round(bench, recorder, number, part, way_round)
        promised = _promise(bench, recorder, wanted, line, count) if wanted else 0
        settle(bench, recorder, {wanted.id} if wanted else (), held.place)
    return Lifted(seen, line, held.place, held.name, promised, wanted.unit if wanted else None)


def part_of(found: Case, part_id: str, where: str) -> Part:
    """The part of the unit's class, if it may be lifted; Refused otherwise."""
    known = {part.id: part for part in found.device_class.parts}
    if part_id not in known:
        raise Refused(f"no part of that name; known are {', '.join(known)}", where=where)
    if known[part_id].consumable:
        raise Refused("it is used up; it is never taken from a donor", where=where)
    return known[part_id]


def _words(bench: BenchFile, number: int, part: Part) -> str:
    """What that part of that unit is by the latest word; empty where nothing was said of what is in it."""
    makeshift = _makeshift(bench, number, part)
    if makeshift is not None:  # what was described is the proper one
        return "" if makeshift.instead == NOT_SAID else makeshift.instead
    said = [need.text for need in store.needs(bench.database, number=number) if need.part == part.id and need.text]
    return said[-1] if said else ""


def _makeshift(bench: BenchFile, number: int, part: Part) -> Need | None:
    """The wish for the proper part, where what is in the unit is makeshift."""
    mine = (need for need in store.needs(bench.database, number=number) if need.part == part.id)
    return next((need for need in mine if need.wish and need.state != "fitted"), None)


def _drawer_line(bench: BenchFile, number: int, part: Part, words: str, place: str) -> catalog_store.Part:
    """The line of the drawer for what comes out of this unit, or a new one, empty yet.

    It is never mixed with other pieces: how likely it is good follows from the unit it came out of.
    """
    unit = get_unit(bench, number)
    by_number = part.kind == "listed" and bool(words)
    text = words or " ".join(filter(None, (f"{part.name},", bench.classes[unit.device_class].name, unit.model)))
    name = text if by_number else ""
    origins = store.lifted_parts(bench.database)
    whole = part.name if by_number else text
    origin = f"from unit {number}"
    apart = place if place == origin else f"{place}, {origin}"
    for called, said, put in ((name, whole, place), ("", text, apart)):
        key = part_key(called, said, put)
        held = [one for one in catalog_store.parts(bench.database) if part_key(*_named(one)) == key]
        if held and not _from(origins, held[0].id, number, part.id):
            continue  # it lies there already and came from elsewhere
        fresh = catalog_store.Part(
            id=0,
            part_number=called,
            description=said,
            kind=part.kind,
            spec=None,
            left_over="",
            quantity=0,
            place=put,
            unit_cost=None,
            currency="",
            search="",
        )
        return held[0] if held else checked(bench, fresh)
    raise Refused("such parts lie there already; name another place", where=f"unit {number}.{part.id}")


def _named(one: catalog_store.Part) -> tuple[str, str, str]:
    return one.part_number, one.description, one.place


def _from(origins: Mapping[int, LiftedPart], line: int, number: int, part_id: str) -> bool:
    origin = origins.get(line)
    return origin is not None and (origin.unit, origin.unit_part) == (number, part_id)


def _wanted(bench: BenchFile, need_id: int, number: int, part_id: str, held: catalog_store.Part) -> Need:
    """The need that the piece is promised to, when it may be."""
    where = f"need {need_id}"
    need = next((item for item in store.needs(bench.database) if item.id == need_id), None)
    if need is None or need.unit == number:
        raise Refused("expected a need of another unit; `lotwright need UNIT` lists them", where=where)
    if need.over or pieces_missing(need, promised_to(bench, need_id)) <= 0:
        raise Refused("it wants nothing more; what is promised to it, or fitted, is enough", where=where)
    taker = next((one for one in takers(bench, number, part_id) if one.need == need_id), None)
    if taker is None:
        raise Refused(f"unit {need.unit} waits for no such part", where=where)
    seen = described(need.text, need.text if need.kind == "listed" else "", need.kind, read)
    grade, why = Grade.UNKNOWN, "say what exactly it is"
    verdict = judge_written(bench, need.role or None)(need.text, seen, held)
    if verdict is not None:
        grade = verdict.grade
        why = next((reason.why for reason in verdict.reasons if reason.result is grade), "")
    if grade is Grade.REFUSE:
        raise Refused(f"it does not fit unit {need.unit}: {why}".rstrip(": "), where=where)
    if grade is Grade.COMPROMISE and not need.compromise_ok:
        raise Refused("it would be a compromise, which is not allowed for this need", where=where)
    the_same = taker.alike or is_called(held, need.text)
    if grade is Grade.UNKNOWN and not the_same:
        raise Refused(f"it is not known whether it fits unit {need.unit}: {why}".rstrip(": "), where=where)
    return need


def _promise(bench: BenchFile, recorder: Recorder, need: Need, part_id: int, count: int) -> int:
    pieces = min(count, pieces_missing(need, promised_to(bench, need.id)))
    store.save(recorder, "set_asides", SetAside(0, need.id, pieces, part=part_id))
    return pieces
