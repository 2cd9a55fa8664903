"""The same look down a list of units: one question above, the units below, one key an answer, each on disk at once."""

from __future__ import annotations

from typing import ClassVar

from textual import events, on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.content import Content
from textual.widgets import Static

from catalog.journal import Event
from catalog.money import shown
from triage.actions import looks
from triage.actions.batch import Batch, BatchUnit, batches
from triage.actions.history import take_back
from triage.actions.telling import judged
from triage.device_classes.schema import Hazard
from triage.lot import Happening
from triage.screens.dialogs import Choice, Choose, Over
from triage.screens.places import Place
from triage.screens.plain import Piece, counted, fitted, plain, pressable, stacked, styled
from triage.screens.reading_line import STARTS, ReadingLine
from triage.screens.rows import RowList

_KEYS = (("y", "yes"), ("n", "no"), ("c", "can't tell"), ("s", "not now"))
_WORDS = {"cant_tell": "can't tell", "not_tested": "not now", "does_not_apply": "does not apply"}


class BatchPage(Over[None]):
    """One look, the units of which it is open and pays, and what was answered."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("y", "answer('y')", "yes", tooltip="Answer yes for this unit", id="batch.yes"),
        Binding("n", "answer('n')", "no", tooltip="Answer no for this unit", id="batch.no"),
        Binding("c", "answer('c')", "can't tell", tooltip="Looked, but cannot tell", id="batch.cant_tell"),
        Binding("s", "answer('s')", "not now", tooltip="Put it off for this unit", id="batch.not_now"),
        Binding("u", "take_back", "take back", tooltip="Take back what was done last", id="batch.undo"),
        Binding("escape,q", "leave", "leave", tooltip="Back to the Lot", id="batch.leave"),
    ]

    def __init__(self, place: Place, batch: Batch) -> None:
        """Go through the units of `batch`; `place` is the Lot below."""
        super().__init__()
        self._below = place
        self._batch = batch
        self._said: dict[int, str] = {}
        """Unit -> what was answered, or why it could not be."""
        self._cleared: set[tuple[int, str]] = set()
        """(unit, hazard) answered no here."""
        self._busy = False

    def compose(self) -> ComposeResult:
        """The question, how to look, the keys, the units, what was kept last."""
        look = self._batch.look
        with Vertical(id="batch"):
            yield Static(
                styled((f" {self._batch.class_name} ", "bold reverse"), f" {len(self._batch.units)} units"),
                id="batch-head",
            )
            if look.caution:
                yield Static(styled((" ! ", "bold reverse"), (f" {look.caution}", "bold")), id="batch-caution")
            yield Static(plain(look.question, "bold"), id="batch-question")
            yield Static(plain(look.do), id="batch-do")
            yield Static("", id="batch-hazard")
            yield Static("", id="batch-keys")
            yield ReadingLine(id="reading")
            yield RowList(id="batch-rows")
            yield Static("", id="batch-said")

    def on_mount(self) -> None:
        """Start on the first unit."""
        rows = self.query_one(RowList)
        rows.show(len(self._batch.units), self._row, at=0)
        rows.focus()
        self.query_one(ReadingLine).leave()
        rows.focus()
        self._show()

    @property
    def _here(self) -> BatchUnit | None:
        cursor = self.query_one(RowList).cursor
        return None if cursor is None else self._batch.units[cursor]

    def _hazard(self, unit: BatchUnit) -> Hazard | None:
        return next((hazard for hazard in unit.ask_first if (unit.unit, hazard.id) not in self._cleared), None)

    def _row(self, row: int, width: int) -> Content:
        unit = self._batch.units[row]
        gain = fitted(f"+{shown(unit.gain, self._below.shell.bench.currency)}", 9, right=True)
        said = self._said.get(unit.unit, "")
        room = max(10, width - 5 - 9 - 34)
        return styled(
            (fitted(str(unit.unit), 4, right=True), "bold"),
            " ",
            (fitted(said or "…", 24), "bold" if said else "dim"),
            fitted("  ".join(filter(None, (unit.model, unit.seen))), room),
            (gain, "dim"),
        )

    @on(RowList.Moved)
    def _moved(self, event: RowList.Moved) -> None:
        event.stop()
        self._show()

    def _show(self) -> None:
        unit = self._here
        hazard = self._hazard(unit) if unit is not None else None
        line = self.query_one("#batch-hazard", Static)
        line.set_class(hazard is None, "-empty")
        if hazard is not None and unit is not None:
            line.update(styled((f" ? unit {unit.unit}: ", "bold reverse"), (f" {hazard.question}", "bold")))
        pieces: list[Piece] = []
        for key, text in _KEYS if hazard is None else (("y", "yes: locked at once"), ("n", "no")):
            pieces += [pressable(key, (f" {key} ", "reverse bold"), f" {text}"), "   "]
        if hazard is None and self._batch.look.reading:
            pieces.append(f"0-9 a reading, good is {self._batch.look.reading}")
        more = plain("↑ ↓ another unit, u takes back, Esc leaves", "dim")
        self.query_one("#batch-keys", Static).update(stacked([styled(*pieces), more]))

    # --- the keys --------------------------------------------------------------------------------------------------

    def on_key(self, event: events.Key) -> None:
        """A digit or a sign starts a reading where one is asked for."""
        typed, line = event.character, self.query_one(ReadingLine)
        if line.open or typed is None or not self._batch.look.reading:
            return
        if typed in STARTS or typed == "o":
            event.stop()
            line.begin(f"reading (good is {self._batch.look.reading})", typed)

    @on(ReadingLine.Read)
    def _read(self, event: ReadingLine.Read) -> None:
        event.stop()
        self._leave_reading()
        self.action_answer(event.said)

    def _leave_reading(self) -> None:
        self.query_one(ReadingLine).leave()
        self.query_one(RowList).focus()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """While a reading is typed, a letter is part of it."""
        typing = self.is_mounted and self.query_one(ReadingLine).open
        return action == "leave" or not typing

    def action_answer(self, said: str) -> None:
        """Answer for the unit under the cursor; or the hazard that comes before."""
        unit = self._here
        if unit is None or self._busy:
            return
        hazard, check, number = self._hazard(unit), self._batch.look.check, unit.unit
        self._busy = True
        if hazard is not None:
            if said not in {"y", "n"}:
                self._refused("a hazard takes y or n; when in doubt, y")
                return
            self._below.act(
                lambda bench: looks.hazard(bench, number, hazard.id, said),
                lambda _: self._hazard_said(number, hazard, said),
                otherwise=self._refused,
            )
            return
        self._below.act(
            lambda bench: looks.answer(bench, number, check, said),
            lambda seen: self._kept(number, seen),
            otherwise=lambda why: self._not_kept(number, why),
        )

    def _kept(self, number: int, seen: Happening) -> None:
        word = _WORDS.get(seen.answer) or f"{seen.raw}: {judged(seen)}"
        self._say(f"kept: unit {number}: {word}")
        self._said[number] = word
        self._go_on()

    def _not_kept(self, number: int, why: str) -> None:
        if "locked: " in why:
            self._said[number] = "locked"
            self._go_on()
        self._refused(why)

    def _hazard_said(self, number: int, hazard: Hazard, said: str) -> None:
        self._say(f"kept: unit {number}: {hazard.question} {'yes' if said == 'y' else 'no'}")
        self._cleared.add((number, hazard.id))
        self._busy = False
        if said == "y":
            self._said[number] = "locked"
            self._go_on()
        else:
            self._show()

    def _go_on(self) -> None:
        """The next unit without an answer, after this one first."""
        self._busy = False
        rows = self.query_one(RowList)
        count, here = len(self._batch.units), rows.cursor or 0
        order = [(here + step) % count for step in range(1, count + 1)]
        left = next((row for row in order if self._batch.units[row].unit not in self._said), None)
        if left is not None:
            rows.cursor = left
        else:
            self._say("every unit of the list is answered; Esc leaves")
        rows.refresh()
        self._show()

    def _refused(self, why: str) -> None:
        self._busy = False
        self.query_one("#batch-said", Static).update(plain(f"! {why}", "bold"))

    def _say(self, text: str) -> None:
        self.query_one("#batch-said", Static).update(plain(text))

    def action_take_back(self) -> None:
        """Undo the latest action of this program, and stand on its unit."""
        if self._busy:
            return
        self._busy = True

        def told(event: Event | None) -> None:
            self._busy = False
            self._say(f"taken back: {event.summary}" if event else "nothing left to take back")
            if event is None:
                return
            places = [row for row, unit in enumerate(self._batch.units) if unit.unit == event.unit]
            self._said.pop(event.unit or 0, None)
            if event.action == "hazard":
                self._cleared = {entry for entry in self._cleared if entry[0] != event.unit}
            rows = self.query_one(RowList)
            if places:
                rows.cursor = places[0]
            rows.refresh()
            self._show()

        self._below.act(take_back, told, otherwise=self._refused)

    def action_leave(self) -> None:
        """Leave the reading, or the list."""
        if self.query_one(ReadingLine).open:
            self._leave_reading()
        else:
            self.dismiss(None)


def look_down_the_list(place: Place) -> None:
    """Choose a look that pays on units of the lot, then go down their list."""
    room, lot_id = place.shell.room(), place.shell.lot_id
    currency = place.shell.bench.currency

    def offer(found: tuple[Batch, ...]) -> None:
        choices = [
            Choice(
                str(at),
                f"{batch.look.question}",
                f"{batch.class_name}: {counted(len(batch.units), 'unit', 'units')}, +{shown(batch.gain, currency)}",
            )
            for at, batch in enumerate(found)
        ]

        def chosen(picked: str | None) -> None:
            if picked is not None:
                place.app.push_screen(BatchPage(place, found[int(picked)]))

        if not choices:
            place.say("no look pays on any unit now; the piles stand")
            return
        place.say("")
        about = "The units of which it is open and pays, one after another."
        place.app.push_screen(Choose("Which look, down the list?", choices, about), chosen)

    place.say("looking through the lot …")
    place.work_out(lambda bench: batches(bench, lot_id, progress=lambda *_: room.check_way()), offer, kind="ask")
