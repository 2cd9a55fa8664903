"""The invented demo lot: a fresh bench file made from the plain files of the demo, through the same actions as by hand.

The files hold no dates, only days before or after today, so the lot is always a few evenings old.
"""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from datetime import UTC, date, datetime, time, timedelta
from importlib.resources import as_file, files
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Any, TypeAlias

import msgspec

from catalog import money, rules
from catalog.safe_file import settle
from catalog.text import Refused
from triage.actions import looks, lots, needs, own_words, parts, prices, settings, units
from triage.bench_file import BenchFile
from triage.lot import Grade, Word

SCRIPT = "evenings.toml"
"""What happened on the evenings before today."""


class _Strict(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A table of the script; a misspelt key is refused."""


class LotTable(_Strict, frozen=True):
    """The lot. Amounts are written as in a shop; days count from today."""

    name: str
    paid: str
    postage: str
    bought: int
    deadline: int
    bench_hours: float
    place: str
    cash_limit: str
    note: str


class UnitTable(_Strict, frozen=True):
    """What the person knows better of one unit than its class file."""

    unit: int
    shelf: str = ""
    grade: Grade = ""
    complete: str = ""
    opened_before: Word = ""
    keep: Word = ""
    working: str | None = None
    as_is: str | None = None
    part_out: str | None = None
    own_worth: str | None = None


class Evening(_Strict, frozen=True):
    """One day's happenings in time, the first at `starts`, each a few minutes after the one before."""

    day: int
    """Days from today, negative for the past."""
    starts: time
    steps: tuple[Step, ...]


class Look(_Strict, frozen=True, tag_field="do", tag="look"):
    """An answer or reading of a check."""

    unit: int
    check: str
    said: str


class Hazard(_Strict, frozen=True, tag_field="do", tag="hazard"):
    """An answer to a hazard question."""

    unit: int
    hazard: str
    said: str


class Release(_Strict, frozen=True, tag_field="do", tag="release"):
    """A precaution that was taken."""

    unit: int
    hazard: str
    action: str


class Condition(_Strict, frozen=True, tag_field="do", tag="condition"):
    """A hidden cause that was found or ruled out."""

    unit: int
    condition: str
    said: str


class Repair(_Strict, frozen=True, tag_field="do", tag="repair"):
    """A repair; `used` names drawer parts by number, one piece each."""

    unit: int
    faults: tuple[str, ...]
    note: str = ""
    used: tuple[str, ...] = ()


class Note(_Strict, frozen=True, tag_field="do", tag="note"):
    """A note on a unit."""

    unit: int
    text: str


class Case(_Strict, frozen=True, tag_field="do", tag="close"):
    """The case was closed again."""

    unit: int


class Describe(_Strict, frozen=True, tag_field="do", tag="describe"):
    """What exactly a part of a unit is."""

    unit: int
    part: str
    text: str
    kind: str = ""
    role: str = ""
    pieces: int | None = None
    compromise_ok: bool = False


class StandIn(_Strict, frozen=True, tag_field="do", tag="pair"):
    """The person's word that one part number does, or does not, stand in for another."""

    wanted: str
    candidate: str
    grade: rules.Grade = rules.Grade.DROP_IN
    note: str = ""


class Overrule(_Strict, frozen=True, tag_field="do", tag="pile"):
    """A pile chosen against the sums."""

    unit: int
    pile: str
    reason: str


Step: TypeAlias = Look | Hazard | Release | Condition | Repair | Note | Case | Describe | StandIn | Overrule


class Script(_Strict, frozen=True):
    """The whole script."""

    settings: dict[str, Any]
    lot: LotTable
    units: tuple[UnitTable, ...]
    evenings: tuple[Evening, ...]


class _PastBench(BenchFile):
    """A bench file whose clock the script sets, so that each happening carries the evening it belongs to."""

    clock: datetime | None = None

    def now(self) -> str:
        """The scripted moment; the real one until the script sets it."""
        return super().now() if self.clock is None else self.clock.astimezone(UTC).isoformat(timespec="milliseconds")


def demo_folder() -> Traversable:
    """Where the demo files lie: inside the package once installed, beside the packages in a checkout.

    Raises:
        Refused: they are in neither place.
    """
    installed = files("triage") / "demo_files"
    beside = Path(__file__).parents[1] / "demo"
    for folder in (installed, beside):
        if (folder / SCRIPT).is_file():
            return folder
    raise Refused("the demo files are missing; install lotwright again", where=str(beside))


def load_script() -> Script:
    """The script of the demo.

    Raises:
        Refused: it is not sound, naming the key.
    """
    try:
        return msgspec.toml.decode((demo_folder() / SCRIPT).read_bytes(), type=Script)
    except msgspec.MsgspecError as error:
        raise Refused(str(error), where=SCRIPT) from error


def make_demo(path: Path, today: date) -> None:
    """Make a new bench file that holds the demo lot as it stands on the morning of `today`; all of it or nothing.

    Raises:
        Refused: the file exists already, or it cannot be written.
    """
    if path.exists():
        raise Refused("the file exists already; name a new one", where=str(path))
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(prefix=f".{path.name}.", dir=path.parent) as folder:
            part = Path(folder) / "bench.db"
            with _PastBench(part, today=today) as bench:
                _play(bench, load_script())
                bench.database.conn.execute("PRAGMA journal_mode=DELETE")
            settle(part, path)
    except OSError as error:
        raise Refused(f"cannot write here ({error.strerror}); name another file", where=str(path)) from error


def _play(bench: _PastBench, script: Script) -> None:
    bench.clock = _moment(bench.today, script.lot.bought, time(17, 30))
    settings.change_person(bench, **script.settings)
    _take_in(bench, "suppliers.csv", prices.import_suppliers)
    _take_in(bench, "parts.csv", parts.import_parts)
    _take_in(bench, "offers.csv", prices.import_offers)
    _start_lot(bench, script.lot)
    _take_in(bench, "units.csv", units.add_units_csv)
    for known in script.units:
        _figures(bench, known)
    for evening in script.evenings:
        bench.clock = _moment(bench.today, evening.day, evening.starts)
        for step in evening.steps:
            minutes = _take(bench, step)
            bench.clock += timedelta(minutes=max(1.0, minutes))


def _take_in(bench: BenchFile, name: str, action: Callable[[BenchFile, Path], object]) -> None:
    with as_file(demo_folder() / name) as file:
        action(bench, file)


def _moment(today: date, day: int, clock: time) -> datetime:
    """That time of day where the person is, in UTC."""
    return datetime.combine(today + timedelta(days=day), clock).astimezone(UTC)


def _start_lot(bench: BenchFile, told: LotTable) -> None:
    lots.new_lot(
        bench,
        told.name,
        paid=_amount(bench, told.paid),
        postage=_amount(bench, told.postage),
        bought_on=(bench.today + timedelta(days=told.bought)).isoformat(),
        deadline=(bench.today + timedelta(days=told.deadline)).isoformat(),
        bench_minutes=round(told.bench_hours * 60),
        place=told.place,
        cash_limit=_amount(bench, told.cash_limit),
        note=told.note,
    )


def _figures(bench: BenchFile, known: UnitTable) -> None:
    words = ("shelf", "grade", "complete", "opened_before", "keep")
    changes: dict[str, Any] = {name: getattr(known, name) for name in words if getattr(known, name)}
    for name in ("working", "as_is", "part_out", "own_worth"):
        text = getattr(known, name)
        if text is not None:
            changes[name] = _amount(bench, text)
    units.change_unit(bench, known.unit, **changes)


def _amount(bench: BenchFile, text: str) -> int:
    return money.minor(text, bench.currency)


def _take(bench: BenchFile, step: Step) -> float:
    """Do one step; returns the minutes it took."""
    match step:
        case Look(unit, check, said):
            return looks.answer(bench, unit, check, said).minutes
        case Repair(unit, faults, note, used):
            taken = tuple((_drawer_part(bench, number), 1) for number in used)
            return looks.repair(bench, unit, faults, note=note, parts=taken).minutes
        case Hazard(unit, hazard, said):
            looks.hazard(bench, unit, hazard, said)
        case Release(unit, hazard, action):
            looks.release(bench, unit, hazard, action)
        case Condition(unit, condition, said):
            looks.condition(bench, unit, condition, said)
        case Note(unit, text):
            looks.note(bench, unit, text)
        case Case(unit):
            looks.case(bench, unit, "closed")
        case Overrule(unit, pile, reason):
            units.overrule(bench, unit, pile, reason)
        case StandIn(wanted, candidate, grade, note):
            own_words.add_pair(bench, wanted, candidate, grade, note=note)
        case Describe(unit, part, text, kind, role, pieces, compromise_ok):
            needs.describe_need(
                bench, unit, part, text, kind=kind, role=role, pieces=pieces, compromise_ok=compromise_ok
            )
    return 0.0


def _drawer_part(bench: BenchFile, number: str) -> int:
    for part in parts.list_parts(bench):
        if part.part_number == number:
            return part.id
    raise Refused(f"no part of number “{number}” in parts.csv", where=f"{SCRIPT}:used")
