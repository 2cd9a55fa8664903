"""The place Bench: one unit, one question at a time, and what follows from the answer."""

from __future__ import annotations

from collections.abc import Callable
from typing import ClassVar

from textual import events, on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.widgets import Input, Static

from catalog.text import Refused
from triage.actions import looks
from triage.actions.lot_view import lot_view
from triage.actions.lots import get_lot
from triage.actions.unit_view import UnitView, other_looks, unit_view, why
from triage.actions.units import change_unit, list_units
from triage.bench_file import BenchFile
from triage.screens import bench_ask, bench_draw
from triage.screens.bench_question import AnswerKey, answer_keys, question
from triage.screens.dialogs import Choice, Choose, Form, Line, Page
from triage.screens.places import Place
from triage.screens.plain import styled
from triage.screens.unit_forms import choose_class, edit_unit, put_on_pile

READING_STARTS = set("0123456789-+.")


class ReadingInput(Input):
    """The field for a measured value; Escape gives up."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "screen.leave_reading", "leave", tooltip="No reading", id="reading.leave"),
    ]


class BenchScreen(Place):
    """One unit on the bench."""

    PLACE = "bench"
    ABOUT = (
        "One unit, one question. Cautions first; answer what you see: y yes, n no, c can't tell, s not now, a digit "
        "starts a reading (4.9, 4,9, 4k7; o for open). Every answer is on disk before the next question."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("y", "answer('yes')", "yes", show=False, tooltip="Yes, that is what is seen", id="bench.yes"),
        Binding("n", "answer('no')", "no", show=False, tooltip="No, it is not", id="bench.no"),
        Binding("c", "answer('cant_tell')", "can't tell", show=False, tooltip="It can't be told", id="bench.cant"),
        Binding("s", "answer('not_now')", "not now", show=False, tooltip="Put this look off", id="bench.not_now"),
        Binding("z", "answer('does_not_apply')", "has none", show=False, tooltip="This unit has none", id="bench.none"),
        Binding("o", "open_reading", "open", show=False, tooltip="The meter shows open, over range", id="bench.open"),
        Binding("r", "repair", "repaired", tooltip="A repair is done: say what", id="bench.repair"),
        Binding("right,right_square_bracket", "step(1)", "next", key_display="→", tooltip="Next unit", id="bench.next"),
        Binding("left,left_square_bracket", "step(-1)", "back", show=False, tooltip="Unit before", id="bench.before"),
        Binding("b", "best", "best", tooltip="Go to the unit whose look pays most", id="bench.best"),
        Binding("l", "others", "looks", tooltip="Other looks that may be taken now", id="bench.looks"),
        Binding("v", "sums", "sums", tooltip="The sums term by term, and where the answer flips", id="bench.sums"),
        Binding("w", "why", "why", show=False, tooltip="Which answers moved which suspect", id="bench.why"),
        Binding("e", "edit", "edit", show=False, tooltip="Model, note, grade, your own prices", id="bench.edit"),
        Binding("d", "describe", "part", tooltip="Say exactly which part it needs", id="bench.describe"),
        Binding("h", "hazard", "hazards", show=False, tooltip="Hazards, and what releases them", id="bench.hazards"),
        Binding("k", "case", "case", show=False, tooltip="The case was opened, or closed", id="bench.case"),
        Binding("p", "pile", "pile", show=False, tooltip="Put the unit on a pile by hand", id="bench.pile"),
        Binding("t", "note", "note", show=False, tooltip="A note: screws, which way round", id="bench.note"),
        Binding("m", "mend", "mend", show=False, tooltip="Correct an old answer", id="bench.mend"),
        Binding("i", "condition", "past", show=False, tooltip="Say what it went through: leak, damp", id="bench.past"),
        Binding("B", "big", "large", show=False, tooltip="Large letters for the question", id="bench.large"),
        Binding("enter", "enter", "go on", show=False, tooltip="What is proposed", id="bench.go"),
    ]

    def __init__(self) -> None:
        """Nothing is on the bench yet."""
        super().__init__()
        self._view: UnitView | None = None
        self._chosen = ""
        """A look the person chose instead of the proposed one."""
        self._busy = False
        self._greeted: int | None = None

    # --- what is shown -------------------------------------------------------------------------------------------

    def compose_place(self) -> ComposeResult:
        """Cautions above, the question, what speaks for what, and what was done."""
        yield Static("", id="bench-head")
        yield Static("", id="bench-cautions")
        with Horizontal(id="bench-body"):
            with Vertical(id="bench-left"):
                yield Static("", id="bench-question")
                with Horizontal(id="bench-keys"):
                    for key, action in answer_keys():
                        yield AnswerKey(key, action)
                yield ReadingInput(id="bench-reading", compact=True)
                yield Static("", id="bench-reason")
            with VerticalScroll(id="bench-right", can_focus=False):
                yield Static("", id="bench-suspects")
                yield Static("", id="bench-branches")
                yield Static("", id="bench-untested")
                yield Static("", id="bench-done")

    def refresh_place(self) -> None:
        """Load the unit anew."""
        self.query_one(ReadingInput).display = False
        number = self.shell.unit_number
        if number is None:
            units = list_units(self.shell.bench, self.shell.lot_id) if self.shell.lot_id else []
            number = self.shell.unit_number = units[0].number if units else None
        if number is None:
            self._view = None
            self.query_one("#bench-head", Static).update(
                styled(" no unit on the bench: F2, then type what is in the box")
            )
            return
        self._busy = True
        chosen = self._chosen
        self.work_out(lambda bench: _shown(bench, number, chosen), self._show)

    def _show(self, found: tuple[UnitView, str]) -> None:
        view, lot_name = found
        self._busy = False
        self._view = view
        currency = self.shell.bench.currency
        wide = self.has_class("-wide")
        width = self.size.width
        self.query_one("#bench-head", Static).update(bench_draw.head(view, lot_name, currency))
        cautions = self.query_one("#bench-cautions", Static)
        cautions.update(bench_draw.cautions(view))
        cautions.display = bool(view.cautions)
        left = self.query_one("#bench-left").size.width or width
        big = self.has_class("-big")
        self.query_one("#bench-question", Static).update(question(view, max(40, left - 2), large_letters=big))
        self.query_one("#bench-keys").display = view.ask_first is not None or view.look is not None
        for key in self.query(AnswerKey):
            key.display = key.applies_to(view)
        self.query_one("#bench-reason", Static).update(styled(" ", (view.reason, "dim")))
        right = (self.query_one("#bench-right").size.width or width) - 2
        few = 4 if self.size.height < 30 else 12
        self.query_one("#bench-suspects", Static).update(bench_draw.suspects(view, min(right, 78), few))
        self.query_one("#bench-branches", Static).update(bench_draw.branches(view, currency))
        self.query_one("#bench-untested", Static).update(bench_draw.untested(view))
        self.query_one("#bench-done", Static).update(
            bench_draw.done(view.done, 20 if wide or self.size.height > 30 else 2)
        )
        if self._greeted != view.unit.number:
            self._greeted = view.unit.number
            if view.done:
                self.say(f"where you were: {view.where_was_i}")

    def on_resize(self, _: events.Resize) -> None:
        """Share the room out anew."""
        self.call_after_refresh(self._again)

    def _again(self) -> None:
        if self._view is not None and not self._busy:
            self.refresh_place()

    # --- answers -------------------------------------------------------------------------------------------------

    def action_answer(self, said: str) -> None:
        """Write the answer down; the next question comes when it is on disk."""
        view = self._view
        if view is None or self._busy:
            return
        number = view.unit.number
        if view.ask_first is not None and not self._chosen:
            hazard = view.ask_first.id
            if said not in {"yes", "no"}:
                self.say("a hazard wants yes or no; when in doubt, yes", trouble=True)
                return
            self._do(lambda bench: looks.hazard(bench, number, hazard, said))
        elif view.look is not None:
            check = view.look.check
            self._do(lambda bench: looks.answer(bench, number, check, said))

    def on_key(self, event: events.Key) -> None:
        """A digit or sign starts a reading; in doubt about the class it chooses."""
        if event.character is None or event.character not in READING_STARTS or self._view is None or self._busy:
            return
        if isinstance(self.focused, Input):
            return
        event.stop()
        if self._view.action == "choose_class":
            self.action_enter()
        elif self._view.action == "contradiction":
            self.action_mend()
        elif self._view.look is None or self._view.ask_first is not None or not self._view.look.reading:
            self.say("this takes no number: y yes, n no, c can't tell, s not now")
        else:
            field = self.query_one(ReadingInput)
            field.display = True
            field.value = event.character
            field.focus()
            field.cursor_position = len(field.value)

    def action_open_reading(self) -> None:
        """The meter shows open."""
        view = self._view
        if view is not None and view.look is not None and view.look.reading and view.ask_first is None:
            number, check = view.unit.number, view.look.check
            self._do(lambda bench: looks.reading(bench, number, check, "open"))

    @on(Input.Submitted, "#bench-reading")
    def _read(self, event: Input.Submitted) -> None:
        event.stop()
        view, text = self._view, event.value
        if view is None or view.look is None or self._busy:
            return
        number, check = view.unit.number, view.look.check
        self._do(lambda bench: looks.reading(bench, number, check, text), keep_field=True)

    def action_leave_reading(self) -> None:
        """No reading after all."""
        self.query_one(ReadingInput).display = False
        self.set_focus(None)

    def _do(self, job: Callable[[BenchFile], object], *, keep_field: bool = False) -> None:
        """Write something down, then show the unit anew; what is refused is said and nothing changes."""
        self._busy = True

        def done(_: object) -> None:
            self._chosen = ""
            self.say("")
            if keep_field:
                self.action_leave_reading()

        def refused(_: str) -> None:
            self._busy = False

        self.act(job, done, otherwise=refused)

    # --- moving --------------------------------------------------------------------------------------------------

    def action_step(self, by: int) -> None:
        """The next or previous unit of the lot."""
        if self._view is None:
            return
        numbers = [unit.number for unit in list_units(self.shell.bench, self._view.unit.lot)]
        place = numbers.index(self._view.unit.number) if self._view.unit.number in numbers else 0
        self._go_to(numbers[(place + by) % len(numbers)])

    def action_best(self) -> None:
        """The unit whose look pays most."""
        if self._view is None:
            return
        lot = self._view.unit.lot
        self.say("looking for the look that pays most …")
        self.work_out(lambda bench: lot_view(bench, lot).best_look, self._go_to_best, kind="best")

    def _go_to_best(self, number: int | None) -> None:
        if number is None:
            self.say("no look pays more than it costs; the piles stand as they are")
        else:
            self.say("")
            self._go_to(number)

    def _go_to(self, number: int) -> None:
        self._chosen = ""
        self.shell.unit_number = number
        self.refresh_place()

    def action_enter(self) -> None:
        """Do what the screen proposes."""
        view = self._view
        if view is None:
            return
        if view.action == "choose_class":
            number = view.unit.number
            choose_class(self, view.unit, lambda name: self._settle(number, name))
        elif view.action == "contradiction":
            self.action_mend()
        elif view.action == "repair":
            self.action_repair()
        elif view.action == "stop" and view.ask_first is None:
            self.action_step(1)

    def _settle(self, number: int, device_class: str | None) -> None:
        if device_class is not None:
            self._do(lambda bench: change_unit(bench, number, device_class=device_class))

    # --- more about the unit -------------------------------------------------------------------------------------

    def action_repair(self) -> None:
        """Say what was repaired."""
        if self._view is not None:
            bench_ask.ask_repair(self, self._view, self._do)

    def action_hazard(self) -> None:
        """Hazards and their releases."""
        if self._view is not None:
            bench_ask.ask_hazard(self, self._view, self._do)

    def action_mend(self) -> None:
        """Correct an old answer."""
        if self._view is not None:
            bench_ask.ask_mend(self, self._view, self._do)

    def action_condition(self) -> None:
        """What the unit went through."""
        if self._view is not None:
            bench_ask.ask_past(self, self._view, self._do)

    def action_others(self) -> None:
        """Another look than the proposed one."""
        if self._view is None:
            return
        number = self._view.unit.number

        def choose(found: tuple[object, ...]) -> None:
            bench_ask.ask_look(self, found, self._take_look)

        self.work_out(lambda bench: tuple(other_looks(bench, number)), choose, kind="others")

    def _take_look(self, check: str) -> None:
        self._chosen = check
        self.refresh_place()

    def action_sums(self) -> None:
        """The sums, term by term."""
        if self._view is not None and self._view.branches:
            title = f"Sums of unit {self._view.unit.number} (e changes your own figures)"
            self.app.push_screen(Page(title, bench_draw.sums(self._view, self.shell.bench.currency)))

    def action_why(self) -> None:
        """What moved what."""
        if self._view is None or self._view.action == "choose_class":
            return
        number = self._view.unit.number
        self.say("reckoning what each answer did …")

        def show(found: tuple[object, ...]) -> None:
            self.say("")
            self.app.push_screen(Page(f"Why, unit {number}", bench_draw.moved(found)))  # type: ignore[arg-type]

        self.work_out(lambda bench: why(bench, number), show, kind="why", lane="why")

    def action_edit(self) -> None:
        """What is known of the unit."""
        if self._view is not None:
            edit_unit(self, self._view.unit)

    def action_pile(self) -> None:
        """A pile by hand."""
        if self._view is not None:
            put_on_pile(self, self._view.unit)

    def action_describe(self) -> None:
        """Which part exactly."""
        if self._view is not None:
            self.shell.action_describe_need(self._view.unit.number)

    def action_case(self) -> None:
        """The case was opened or closed."""
        view = self._view
        if view is None:
            return
        choices = [Choice("opened", "the case was opened"), Choice("closed", "the case was closed")]
        number = view.unit.number

        def chosen(state: str | None) -> None:
            if state == "opened":
                self._do(lambda bench: looks.case(bench, number, "opened"))
            elif state == "closed":
                self._do(lambda bench: looks.case(bench, number, "closed"))

        self.app.push_screen(Choose(f"Unit {number}", choices), chosen)

    def action_note(self) -> None:
        """A note in the unit's history."""
        if self._view is None:
            return
        number = self._view.unit.number

        def send(form: Form, typed: dict[str, str]) -> None:
            self.act(lambda bench: looks.note(bench, number, typed["note"]), form.accepted, otherwise=form.refused)

        line = Line("note", "note", "", "screws in bag 14, red wire to the left")
        self.app.push_screen(Form(f"Note on unit {number}", [line], send))

    def action_big(self) -> None:
        """Large letters on or off."""
        self.toggle_class("-big")
        self.refresh_place()


def _shown(bench: BenchFile, number: int, chosen: str) -> tuple[UnitView, str]:
    view = unit_view(bench, number)
    if chosen:
        view = bench_ask.with_look(bench, view, chosen)
    try:
        name = get_lot(bench, view.unit.lot).name
    except Refused:
        name = ""
    return view, name
