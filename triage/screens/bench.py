"""The place Bench: one unit, its hazards first, then one question at a time."""

from __future__ import annotations

from collections.abc import Callable
from typing import ClassVar, TypeVar

import msgspec
from textual import events, on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.content import Content
from textual.widgets import Static

from triage.actions import looks
from triage.actions.asides import Aside, aside_of
from triage.actions.look_view import Look, other_looks
from triage.actions.lot_view import next_paying
from triage.actions.lots import get_lot, list_lots
from triage.actions.questions import question_now
from triage.actions.unit_view import Done, UnitView, unit_view
from triage.actions.units import list_units
from triage.asking import Question
from triage.bench_file import BenchFile
from triage.lot import Lot
from triage.screens import bench_draw, bench_forms
from triage.screens.bench_ask import NOTHING_BEFORE, Prompt, below_title, kept, prompt_of
from triage.screens.bench_keys import KEYS
from triage.screens.bench_questions import GRADES, class_ids, pick_class, reply, say_hour
from triage.screens.big_text import big
from triage.screens.plain import plain, stacked, styled
from triage.screens.reading_line import STARTS, ReadingLine
from triage.screens.unit_actions import UnitActions

T = TypeVar("T")

_PRESSED = {
    "yes": "yes",
    "no": "no",
    "cant_tell": "can't tell",
    "not_now": "not now",
    "does_not_apply": "does not apply",
}


class BenchScreen(UnitActions):
    """One unit, one question at a time."""

    PLACE = "bench"
    ABOUT = (
        "One unit at a time. Cautions stand first, then the one question that pays most. y, n, c and s answer it; a "
        "digit, -, + or . starts a reading where one is asked for (4k7, 4,9, o for open). Every answer is on disk "
        "before the next question comes; u takes it back."
    )
    BINDINGS: ClassVar[list[BindingType]] = KEYS

    def __init__(self) -> None:
        """Nothing is shown yet."""
        super().__init__()
        self._view: UnitView | None = None
        self._lot: Lot | None = None
        self._prompt: Prompt | None = None
        self._chosen: Look | None = None
        self._question: Question | None = None
        self._aside = Aside()
        self._met: tuple[Done, ...] = ()
        """What was done on the unit when one came to it: until something more is, it is told where one was."""
        self._busy = False
        """True from anything done, or a move to another unit, until its question stands.

        Keys in between answer nothing, so that no answer goes to a question that is not in front any more."""

    # --- what is shown -------------------------------------------------------------------------------------------

    def compose_place(self) -> ComposeResult:
        """Head, cautions, the question, then what is known."""
        yield Static("", id="unit-head")
        yield Static("", id="unit-cautions")
        yield Static("", id="unit-where")
        with VerticalScroll(id="unit-body", can_focus=False):
            with Vertical(id="ask"):
                yield Static("", id="ask-title")
                yield Static("", id="ask-below")
                yield ReadingLine(id="reading")
            yield Static("", id="unit-again")
            yield Static("", id="unit-follow")
            yield Static("", id="unit-tool")
            with Horizontal(id="known"):
                yield Static("", id="unit-suspects")
                yield Static("", id="unit-branches")
            yield Static("", id="unit-gap")
            yield Static("", id="unit-untested")
            yield Static("", id="unit-locked")
            yield Static("", id="unit-done")

    def refresh_place(self) -> None:
        """Work the unit out anew and show it."""
        number = self._settle_number()
        if number is None:
            self._view = None
            self._busy = False
            self.query_one("#ask-title", Static).update(plain("No unit yet: press F2 and type what is in the box."))
            return
        if self._view is None or self._view.unit.number != number:
            self._chosen = None
            self.query_one("#unit-head", Static).update(styled((f" {number} ", "bold reverse"), " …"))
            for name, told in (("#ask-title", "working it out …"), ("#unit-where", "")):
                self._put(name, plain(told, "dim"))
        self._busy = True
        put_off = frozenset(self.shell.put_off)
        self.work_out(lambda bench: _seen(bench, number, put_off), self._worked, otherwise=lambda _: self._free())

    def act(
        self,
        job: Callable[[BenchFile], T],
        then: Callable[[T], None] | None = None,
        *,
        otherwise: Callable[[str], None] | None = None,
    ) -> None:
        """Like every place; until it is done and shown, no key answers."""

        def refused(why: str) -> None:
            self._free()
            if "locked: " in why:
                self.say(f"{why}; h confirms what was done about it", trouble=True)
            if otherwise is not None:
                otherwise(why)

        self._busy = True
        super().act(job, then, otherwise=refused)

    def _free(self) -> None:
        self._busy = False

    def _settle_number(self) -> int | None:
        bench = self.shell.bench
        if self.shell.unit_number is None:
            lots = [lot.id for lot in list_lots(bench)]
            if not lots:
                return None
            units = list_units(bench, self.shell.lot_id if self.shell.lot_id in lots else lots[-1])
            self.shell.unit_number = units[0].number if units else None
        return self.shell.unit_number

    def _worked(self, seen: tuple[UnitView, Lot, Question | None]) -> None:
        view, lot, question = seen
        if view.unit.number != self.shell.unit_number:
            return
        arrived = self._view is None or self._view.unit.number != view.unit.number
        if arrived:
            self._met = view.done
            if self._view is not None:
                self.say("")
        self._view, self._lot, self._question, self._busy = view, lot, question, False
        if arrived or not view.suspects:
            self._aside = Aside()
        self.shell.lot_id = lot.id
        self._show()
        if view.suspects:  # after the question, which it is not to hold up
            number = view.unit.number
            self.work_out(
                lambda bench: aside_of(bench, number), lambda aside: self._aside_worked(number, aside), kind="aside"
            )

    def _show(self) -> None:
        view = self._view
        if view is None or self._lot is None:
            return
        currency = self.shell.bench.currency
        ids = class_ids(self, view) if view.action == "choose_class" else ()  # reads every class file
        names = tuple(self.shell.bench.classes[name].name for name in ids)
        self._prompt = prompt_of(view, self._chosen, self._repair_words(view), names, self._question)
        self.query_one("#unit-head", Static).update(bench_draw.head(view, self._lot.name, currency, self.size.width))
        self._put("#unit-cautions", bench_draw.cautions(view))
        where = f"Where was I: {view.where_was_i}" if view.done and view.done == self._met else ""
        self._put("#unit-where", plain(where, "italic"))
        self._show_title()
        self.query_one("#ask-below", Static).update(below_title(self._prompt))
        self.query_one(ReadingLine).leave()
        wide = self.size.width
        half = (wide - 2) // 2 if wide < 140 else wide * 55 // 100
        roomy = self.size.height >= 36
        self._put("#unit-suspects", bench_draw.suspects(view, half - 1, 12 if roomy else 4))
        self._put("#unit-branches", bench_draw.branches(view, currency, wide - half - 2))
        self._put("#unit-gap", bench_draw.gap(view, currency))
        self._show_aside(self._aside)
        self._put("#unit-untested", bench_draw.untested(view))
        self._put("#unit-locked", bench_draw.locked(view) if roomy else Content(""))
        self._put("#unit-done", stacked([bench_draw.done(view.done, 20 if roomy else 3), bench_draw.came_as(view)]))
        self.query_one("#unit-body").scroll_home(animate=False)

    def _aside_worked(self, number: int, aside: Aside) -> None:
        if self._view is not None and self._view.unit.number == number:
            self._show_aside(aside)

    def _show_aside(self, aside: Aside) -> None:
        self._aside = aside
        currency = self.shell.bench.currency
        self._put("#unit-follow", bench_draw.follow(aside, currency))
        self._put("#unit-again", bench_draw.second_look(aside, self.size.width - 4))
        self._put("#unit-tool", bench_draw.tool_worth(aside, self._question, currency, self.size.width - 4))

    def _put(self, where: str, content: Content) -> None:
        """Show content, or take no room where there is none."""
        widget = self.query_one(where, Static)
        widget.set_class(not content.plain, "-empty")
        widget.update(content)

    def _show_title(self) -> None:
        if self._prompt is None:
            return
        title = self.query_one("#ask-title", Static)
        if self.has_class("-big"):
            cautions = len(self._view.cautions) if self._view is not None else 0
            title.update(big(self._prompt.title, max(20, self.size.width - 7), self.size.height - 9 - cautions))
        else:
            title.update(plain(self._prompt.title, "bold"))

    def _repair_words(self, view: UnitView) -> tuple[str, ...]:
        known = {item.fault: item.what for item in view.suspects}
        return tuple(known.get(fault, fault) for fault in view.repair)

    def on_resize(self, _: events.Resize) -> None:
        """Share the room out anew."""
        self.call_after_refresh(self._show)

    # --- answering -----------------------------------------------------------------------------------------------

    def action_answer(self, pressed: str) -> None:
        """Answer the question in front, whatever it is."""
        view, prompt = self._view, self._prompt
        if view is None or prompt is None or (pressed == "keep" and prompt.question is None):
            return
        if self._busy:
            self.say("still working it out: that key was not taken", trouble=True)
            return
        number, hazard = view.unit.number, prompt.hazard
        if hazard is not None:
            if pressed not in {"yes", "no"}:
                self.say("a hazard takes y or n; when in doubt, y", trouble=True)
                return
            self._send(
                lambda bench: looks.hazard(bench, number, hazard.id, pressed),
                pressed,
                then=(lambda: bench_forms.ask_release(self, number, hazard)) if pressed == "yes" else None,
            )
        elif prompt.look is not None:
            check = prompt.look.check
            self._send(lambda bench: looks.answer(bench, number, check, pressed), pressed)
        elif prompt.question is not None:
            reply(self, prompt.question, pressed, self._send)
        else:
            self.say(f"nothing is asked here; {prompt.reason}")

    def _send(self, job: Callable[[BenchFile], object], pressed: str, then: Callable[[], None] | None = None) -> None:
        """Write an answer down; the question stays until it is on disk."""
        title = self._prompt.title if self._prompt is not None else ""
        self.query_one("#ask-below", Static).update(
            styled((f" {_PRESSED.get(pressed, pressed)} ", "bold reverse"), ("   next …", "dim"))
        )

        def done(result: object) -> None:
            asked = self._prompt.hazard if self._prompt is not None and pressed == "no" else None
            if asked is not None and self._chosen is not None:  # on to the look that was chosen
                left = tuple(hazard for hazard in self._chosen.ask_first if hazard.id != asked.id)
                self._chosen = msgspec.structs.replace(self._chosen, ask_first=left)
            else:
                self._chosen = None
            self.say(kept(title, _PRESSED.get(pressed, pressed), result))
            if then is not None:
                then()

        def refused(_: str) -> None:
            if self._prompt is not None:
                self.query_one("#ask-below", Static).update(below_title(self._prompt))

        self.act(job, done, otherwise=refused)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """While a reading is typed, a letter is part of it."""
        typing = self.is_mounted and self.query_one(ReadingLine).open
        return action == "back" or not typing

    def on_key(self, event: events.Key) -> None:
        """A digit or sign starts a reading, or chooses where a choice is in front."""
        typed, prompt = event.character, self._prompt
        line = self.query_one(ReadingLine)
        if line.open and typed is not None and event.is_printable:
            event.stop()
            event.prevent_default()
            line.add(typed)
            return
        if typed is None or prompt is None or self._busy or line.open:
            return
        if prompt.kind in {"class", "conflict"} and typed.isascii() and typed.isdigit():
            event.stop()
            self._pick(int(typed))
        elif prompt.question is not None and prompt.question.kind == "grade" and typed in GRADES:
            event.stop()
            self.action_answer(typed)
        elif typed in STARTS or (typed == "o" and prompt.look is not None and prompt.look.reading):
            event.stop()
            self._start_reading(typed)

    def _pick(self, digit: int) -> None:
        view, prompt = self._view, self._prompt
        if view is None or prompt is None:
            return
        if prompt.kind == "class":
            pick_class(self, view, digit, self._send)
        elif 0 < digit <= len(view.conflict):
            bench_forms.mend_one(self, view.unit.number, view.conflict[digit - 1])

    def _start_reading(self, typed: str) -> None:
        if self._prompt is None:
            return
        look, question = self._prompt.look, self._prompt.question
        if question is not None and question.kind == "hour":
            self.query_one(ReadingLine).begin(f"an hour is worth, {self.shell.bench.currency}", typed)
        elif look is None or not look.reading:
            self.say("no reading is asked for here; y, n, c or s answers it", trouble=True)
        else:
            of = f"measured / {look.relative_to}, as 10.9/12" if look.relative_to else f"good is {look.reading}"
            self.query_one(ReadingLine).begin(f"reading ({of})", typed)

    @on(ReadingLine.Read)
    def _read(self, event: ReadingLine.Read) -> None:
        event.stop()
        view, prompt, said = self._view, self._prompt, event.said
        if view is None or prompt is None or self._busy:
            return
        number, look, question = view.unit.number, prompt.look, prompt.question
        if question is not None:
            say_hour(question, said, self._send)
        elif look is not None:
            self._send(lambda bench: looks.answer(bench, number, look.check, said), said)

    def action_back(self) -> None:
        """Leave the reading, or the chosen look."""
        if self.query_one(ReadingLine).open:
            self.query_one(ReadingLine).leave()
        elif self._chosen is not None:
            self._chosen = None
            self._show()

    # --- the other keys ------------------------------------------------------------------------------------------

    def action_looks(self) -> None:
        """Choose another look."""
        if self._view is not None and self._view.suspects:
            number = self._view.unit.number
            self.work_out(lambda bench: other_looks(bench, number), self._offer, kind="ask")

    def _offer(self, offered: tuple[Look, ...]) -> None:
        if not offered:
            mend = self._view is not None and self._view.conflict
            self.say(NOTHING_BEFORE if mend else "no other look may be taken now; h lists what locks them")
            return
        bench_forms.choose_look(self, offered, self._choose_look)

    def _choose_look(self, look: Look) -> None:
        self._chosen = look
        self._show()

    def action_step(self, by: int) -> None:
        """The unit before or after, in the order of the numbers."""
        numbers = [unit.number for unit in list_units(self.shell.bench, self.shell.lot_id)]
        if self.shell.unit_number in numbers and len(numbers) > 1:
            self.shell.unit_number = numbers[(numbers.index(self.shell.unit_number) + by) % len(numbers)]
            self.refresh_place()

    def action_next_paying(self) -> None:
        """The next unit with a look that pays, the best one first."""
        here, lot_id, room = self.shell.unit_number, self.shell.lot_id, self.shell.room()
        self.say("looking through the lot …")
        self.work_out(
            lambda bench: next_paying(bench, lot_id, here, progress=lambda *_: room.check_way()),
            self._go_on,
            kind="ask",
        )

    def _go_on(self, number: int | None) -> None:
        if number is None:
            self.say("no other unit has a look that pays; the piles stand (F2)")
            return
        self.say("")
        self.shell.unit_number = number
        self.refresh_place()

    def action_big(self) -> None:
        """Large letters, or back."""
        self.toggle_class("-big")
        self._show()


def _seen(bench: BenchFile, number: int, put_off: frozenset[str]) -> tuple[UnitView, Lot, Question | None]:
    view = unit_view(bench, number)
    return view, get_lot(bench, view.unit.lot), question_now(bench, number, put_off)
