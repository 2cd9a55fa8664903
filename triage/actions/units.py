"""Adding units to a lot and changing what is known of one."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any, get_args

import msgspec

from catalog import money
from catalog.columns import Record, Table, read_table
from catalog.staged import PROBLEMS_SHOWN
from catalog.text import Refused, RefusedRows, clean_line
from triage import store
from triage.actions.lots import get_lot
from triage.bench_file import BenchFile, in_one_transaction
from triage.evidence import state_of
from triage.locks import in_force
from triage.lot import PILE_WORDS, Grade, Happening, SoldAs, Unit, Word
from triage.matching import match_class, match_symptoms
from triage.study import SELLING
from triage.typed_counts import COUNT_AT_MOST
from triage.typed_lines import TypedUnit, parse_units, take_untested

_UNSAID = {"grade": "looks", "complete": "complete", "opened_before": "opened before", "keep": "for your own shelf"}
"""Fields that are empty while they are not said, and how they are called."""
_WORDS: dict[str, tuple[str, ...]] = {
    "grade": get_args(Grade),
    "sold_as": get_args(SoldAs),
    "opened_before": get_args(Word),
    "keep": get_args(Word),
}
_NO_ANSWER = frozenset({"no", "n", "y"})
_SAY_WHAT = "say what is missing, such as “lid”; yes where nothing is"


class Added(msgspec.Struct, frozen=True):
    """The units that were added; the doubtful ones among them wait to be told what they are."""

    units: tuple[Unit, ...]
    asked: tuple[str, ...] = ()
    """What was taken and should be looked at: the words as typed, then the question."""
    note: str = ""
    """What was assumed of the encoding of a list; empty where nothing was."""

    @property
    def doubtful(self) -> tuple[Unit, ...]:
        """Units whose class is still in doubt."""
        return tuple(unit for unit in self.units if not unit.device_class)


def understood(bench: BenchFile, text: str) -> tuple[TypedUnit, ...]:
    """What the program makes of typed lines, before anything is added."""
    return parse_units(text, bench.classes)


def add_units(bench: BenchFile, text: str, *, lot_id: int | None = None, sold_as: SoldAs = "faulty") -> Added:
    """Add what is typed or pasted: many a line, several lines. Nothing typed is dropped.

    Raises:
        Refused: a count that is none, naming the line; then nothing is added.
    """
    return _add(bench, [(item, {}) for item in understood(bench, text)], lot_id, sold_as)


def add_units_csv(bench: BenchFile, path: Path, *, lot_id: int | None = None, sold_as: SoldAs = "faulty") -> Added:
    """Add the units of a CSV file with the columns count, class, symptom, model, note, grade, complete, opened_before.

    Raises:
        Refused: naming file, line and column; then nothing is added. Bad rows are all told, by `RefusedRows`.
    """
    table = read_table("units", path)
    if table.too_long:
        line, field = table.too_long[0]
        raise Refused("the cell is longer than a line may be; shorten it", where=table.place(line, field))
    if not table.records:
        raise Refused("a header and no rows; write a row for each kind of unit", where=str(path))
    typed: list[tuple[TypedUnit, dict[str, str]]] = []
    wrong: list[Refused] = []
    for record in table.records:
        try:
            typed.append(_row(bench, table, record))
        except Refused as refused:
            wrong.append(refused)
    if wrong:
        raise RefusedRows(wrong[0], wrong[1:PROBLEMS_SHOWN], len(wrong))
    return msgspec.structs.replace(_add(bench, typed, lot_id, sold_as), note=table.note)


def _row(bench: BenchFile, table: Table, record: Record) -> tuple[TypedUnit, dict[str, str]]:
    """The units that a row of a list states, and what it says of their looks; raises `Refused` with its place."""
    cells = record.cells
    said = " ".join(filter(None, (cells.get("class", ""), cells.get("symptom", ""))))
    said = said or cells.get("model", "") or cells.get("note", "")
    if not said:
        raise Refused("nothing says what it is; state the class", where=table.place(record.line, "class"))
    found = match_class(cells.get("class", ""), bench.classes)
    seen, untested = take_untested(cells.get("symptom", ""))
    symptoms = match_symptoms(seen, bench.classes[found.class_id]) if found.class_id else None
    left = symptoms.note if symptoms else ""
    item = TypedUnit(
        line=record.line,
        raw=said,
        count=_count(cells.get("count", ""), table.place(record.line, "count")),
        class_id=found.class_id,
        symptoms=symptoms.symptoms if symptoms else (),
        model=cells.get("model", ""),
        note="; ".join(filter(None, (left, cells.get("note", "")))),
        doubt=found.doubt,
        sold_as="untested" if untested else None,
    )
    return item, _told(cells, table, record.line)


@in_one_transaction
def change_unit(bench: BenchFile, number: int, **changes: Any) -> Unit:
    """Change fields of a unit: class, symptoms, model, note, shelf, sold_as, own figures, and the facts asked of it.

    A worth on the person's own shelf says that it is meant for it, and the other way round.

    Raises:
        Refused: no such unit, class or symptom, a negative amount, meant for one's own shelf without its worth there,
            another class while parts are taken out of it.
    """
    unit = get_unit(bench, number)
    changes = {name: clean_line(value) if isinstance(value, str) else value for name, value in changes.items()}
    try:
        changed = msgspec.convert({**msgspec.to_builtins(unit), **changes}, Unit)
    except msgspec.ValidationError as error:
        raise _wrong_field(error, changes, number) from None
    changed = _in_step(changed, changes)
    if changed.device_class != unit.device_class and unit.device_class in bench.classes:
        device_class = bench.classes[unit.device_class]
        if state_of(device_class, unit, store.happenings(bench.database, number)).missing:
            raise Refused("parts were taken out of it; put them back first", where=f"unit {number}.device_class")
    if "device_class" in changes and changed.device_class in bench.classes:
        changed = msgspec.structs.replace(changed, candidates=())
        if changed.device_class != unit.device_class and "symptoms" not in changes:
            again = match_symptoms(unit.typed, bench.classes[changed.device_class])
            changed = msgspec.structs.replace(changed, symptoms=again.symptoms)
    _check(bench, changed)
    said = ", ".join(_changed_to(bench, name, value) for name, value in changes.items())
    summary = f"unit {number}: {clean_line(said, 120)}"
    asked = store.happenings(bench.database, number) if changed.device_class != unit.device_class else []
    cleared = {item.subject: item.answer for item in asked if item.kind == "hazard"}
    with bench.journal.event("unit_change", summary, at=bench.now(), unit=number) as recorder:
        store.save(recorder, "units", changed, "number")
        for name, answer in cleared.items():
            if answer == "no":  # the question of another class is another one: it is asked again
                store.save(recorder, "happenings", Happening(0, number, bench.now(), "hazard", name, "unknown"))
    return changed


@in_one_transaction
def overrule(bench: BenchFile, number: int, pile: str, reason: str) -> Unit:
    """Put a unit on a pile against the sums; an empty pile gives it back to them. Both are kept.

    Raises:
        Refused: an unknown pile, no reason, or a hazard that keeps the unit from being sent to anybody.
    """
    if pile and (pile not in PILE_WORDS or pile == "undecided"):
        raise Refused(f"expected one of {', '.join(name for name in PILE_WORDS if name != 'undecided')}", where="pile")
    if pile and not reason.strip():
        raise Refused("say why in a few words, so that it can be judged later", where="pile reason")
    unit = msgspec.structs.replace(get_unit(bench, number), pile=pile, pile_reason=clean_line(reason))
    device_class = bench.classes.get(unit.device_class)
    if pile in SELLING and device_class is not None:
        state = state_of(device_class, unit, store.happenings(bench.database, number))
        why = in_force(device_class, state, frozenset({"posting"}))
        if why:
            raise Refused(f"locked: {why}", where=f"unit {number}.pile")
    summary = f"unit {number}: {PILE_WORDS[pile]} by hand" if pile else f"unit {number}: pile by the sums again"
    with bench.journal.event("overrule", summary, at=bench.now(), unit=number) as recorder:
        store.save(recorder, "units", unit, "number")
    return unit


@in_one_transaction
def remove_unit(bench: BenchFile, number: int) -> None:
    """Take out a unit that was typed by mistake; its number is not used again.

    Raises:
        Refused: something happened to it already.
    """
    unit = get_unit(bench, number)
    if store.happenings(bench.database, number) or store.needs(bench.database, number=number):
        raise Refused("things were seen or done on it; take them back first", where=f"unit {number}")
    with bench.journal.event("unit_remove", f"unit {number} removed ({unit.typed})", at=bench.now()) as recorder:
        recorder.delete("units", number)


def get_unit(bench: BenchFile, number: int) -> Unit:
    """The unit of that number; raises `Refused` when there is none."""
    unit = store.unit(bench.database, number)
    if unit is None:
        raise Refused(f"there is no unit {number}; `lotwright lot show` lists them", where="unit")
    return unit


def list_units(bench: BenchFile, lot_id: int | None = None) -> list[Unit]:
    """The units of a lot by number, the newest lot's when none is named; raises `Refused` when there is no such lot."""
    return store.units(bench.database, get_lot(bench, lot_id).id)


def _told(cells: Mapping[str, str], table: Table, line: int) -> dict[str, str]:
    """What a row says of looks, completeness and an earlier opening."""
    told = {
        "grade": cells.get("grade", "").upper(),
        "complete": cells.get("complete", ""),
        "opened_before": cells.get("opened_before", "").lower(),
    }
    for field, words in _WORDS.items():
        if field in told and told[field] not in words:
            raise Refused(_one_of(words), where=table.place(line, field))
    if told["complete"].casefold() in _NO_ANSWER:
        raise Refused(_SAY_WHAT, where=table.place(line, "complete"))
    return told


def _add(
    bench: BenchFile, typed: Sequence[tuple[TypedUnit, dict[str, str]]], lot_id: int | None, sold_as: SoldAs
) -> Added:
    if not typed:
        raise Refused("type what is in the box, such as “3 gamepads drift”", where="units")
    lot = get_lot(bench, lot_id)
    count = sum(item.count for item, _ in typed)
    added: list[Unit] = []
    summary = f"{count} unit{'s' if count != 1 else ''} added to “{lot.name}”"
    with bench.journal.event("units_add", summary, at=bench.now()) as recorder:
        for item, told in typed:
            for _ in range(item.count):
                unit = Unit(
                    number=0,
                    lot=lot.id,
                    device_class=item.class_id or "",
                    typed=item.raw,
                    candidates=() if item.class_id else tuple(candidate.id for candidate in item.doubt),
                    symptoms=item.symptoms,
                    sold_as=item.sold_as or sold_as,
                    model=item.model,
                    note=item.note,
                )
                unit = msgspec.structs.replace(unit, **told)
                number = store.save(recorder, "units", unit, "number")
                added.append(msgspec.structs.replace(unit, number=number))
    return Added(tuple(added), tuple(f"“{item.raw}”: {item.ask}" for item, _ in typed if item.ask))


def _in_step(unit: Unit, changes: dict[str, Any]) -> Unit:
    """The changed unit with `keep` and `own_worth` in step, by the one of them that was stated."""
    if unit.keep == "yes" and unit.own_worth is None and changes.get("keep") != "yes":
        return msgspec.structs.replace(unit, keep="")
    if unit.own_worth is None or unit.keep == "yes":
        return unit
    if "keep" in changes and "own_worth" not in changes:
        return msgspec.structs.replace(unit, own_worth=None)
    return unit if "keep" in changes else msgspec.structs.replace(unit, keep="yes")


def _count(cell: str, where: str) -> int:
    if not cell:
        return 1
    if not (cell.isascii() and cell.isdigit() and 1 <= int(cell) <= COUNT_AT_MOST):
        raise Refused(f"expected a whole number from 1 to {COUNT_AT_MOST}, not “{clean_line(cell, 40)}”", where=where)
    return int(cell)


def _changed_to(bench: BenchFile, name: str, value: object) -> str:
    if name in _UNSAID and value == "":
        return f"{_UNSAID[name]} not said"
    word = "class" if name == "device_class" else name.replace("_", " ")
    if isinstance(value, int):
        return f"{word} {money.show(value, bench.currency)}"
    return f"{word} {'as guessed' if value is None else value or 'empty'}"


def _wrong_field(error: msgspec.ValidationError, changes: dict[str, Any], number: int) -> Refused:
    """What a field may be, in words."""
    for field, words in _WORDS.items():
        if field in changes and changes[field] not in words:
            return Refused(_one_of(words), where=f"unit {number}.{field}")
    return Refused(str(error).split(" - at")[0], where=f"unit {number}")


def _one_of(words: Sequence[str]) -> str:
    empty = ", or nothing while it is not said" if "" in words else ""
    return f"expected one of {', '.join(filter(None, words))}{empty}"


def _check(bench: BenchFile, unit: Unit) -> None:
    where = f"unit {unit.number}"
    if unit.device_class:
        if unit.device_class not in bench.classes:
            raise Refused(
                f"there is no class “{clean_line(unit.device_class)}”; known are {', '.join(bench.classes)}",
                where=where,
            )
        known = {symptom.id for symptom in bench.classes[unit.device_class].symptoms}
        for symptom in unit.symptoms:
            if symptom not in known:
                raise Refused(f"no such symptom; known are {', '.join(sorted(known))}", where=f"{where}.symptoms")
    for field in ("working", "as_is", "part_out", "own_worth"):
        value = getattr(unit, field)
        if value is not None and value < 0:
            raise Refused("expected zero or more", where=f"{where}.{field}")
    if unit.keep == "yes" and unit.own_worth is None:
        raise Refused("say what it is worth to you there (own_worth)", where=f"{where}.keep")
    if unit.keep != "yes" and unit.own_worth is not None:
        raise Refused("a worth on your own shelf is only for what is meant for it", where=f"{where}.own_worth")
    if unit.complete.casefold() in _NO_ANSWER:
        raise Refused(_SAY_WHAT, where=f"{where}.complete")
