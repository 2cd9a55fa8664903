"""What can be done about the unit that is shown, besides answering: its repair, its sums, its pile, notes and parts."""

from __future__ import annotations

from triage.actions import looks
from triage.actions.asides import Aside
from triage.actions.questions import still_assumed
from triage.actions.unit_view import Moved, UnitView, why
from triage.actions.units import get_unit
from triage.screens import bench_draw, bench_forms
from triage.screens.bench_found import ask_found
from triage.screens.bench_lift import lift_a_part
from triage.screens.bench_sheet import show_sheet
from triage.screens.bench_suspect import ask_suspect
from triage.screens.bench_swap import swap_a_part
from triage.screens.dialogs import Page
from triage.screens.later import ask_later
from triage.screens.places import Place
from triage.screens.trace import TracePage
from triage.screens.unit_forms import edit_unit, put_on_pile


class UnitActions(Place):
    """A place that shows one unit, with the keys that do not answer its question."""

    _view: UnitView | None
    _aside: Aside
    """The unit shown."""

    def action_repair(self) -> None:
        """Note a repair."""
        if self._view is not None and self._view.suspects:
            bench_forms.ask_repair(self, self._view)

    def action_sums(self) -> None:
        """The sums of the unit."""
        if self._view is not None:
            bench = self.shell.bench
            text = bench_draw.sums(self._view, bench.currency, still_assumed(bench, self._view.unit))
            self.app.push_screen(Page(f"Unit {self._view.unit.number}: the sums (e changes prices)", text))

    def action_why(self) -> None:
        """Which answers moved what."""
        if self._view is not None and self._view.suspects:
            number = self._view.unit.number
            self.work_out(lambda bench: why(bench, number), self._tell_why, kind="ask")

    def _tell_why(self, lines: tuple[Moved, ...]) -> None:
        conflict = self._view is not None and bool(self._view.conflict)
        self.app.push_screen(
            Page("Points of chance that each answer moved", bench_draw.moved(lines, conflict=conflict))
        )

    def action_dangers(self) -> None:
        """Hazards and hidden causes."""
        if self._view is not None:
            bench_forms.ask_dangers(self, self._view)

    def action_mend(self) -> None:
        """Mend an older answer."""
        if self._view is not None:
            bench_forms.mend(self, self._view.unit.number, self._view.done)

    def action_pile(self) -> None:
        """A pile by hand."""
        if self._view is not None:
            put_on_pile(self, self._view.unit)

    def action_note(self) -> None:
        """A note."""
        if self._view is not None:
            bench_forms.ask_note(self, self._view.unit.number)

    def action_suspect(self) -> None:
        """A fault that is on no list."""
        if self._view is not None:
            ask_suspect(self, self._view.unit.number)

    def action_edit(self) -> None:
        """What is known of the unit, prices included."""
        if self._view is not None:
            edit_unit(self, get_unit(self.shell.bench, self._view.unit.number))

    def action_describe(self) -> None:
        """Describe the part it needs."""
        if self._view is not None:
            self.shell.action_describe_need(self._view.unit.number)

    def action_lift(self) -> None:
        """Take a part out, or put it back."""
        if self._view is not None:
            lift_a_part(self, self._view.unit.number)

    def action_found(self) -> None:
        """What was wrong with it."""
        if self._view is not None and self._view.suspects:
            ask_found(self, self._view.unit.number)

    def action_sheet(self) -> None:
        """The sheet of its model."""
        if self._view is not None and self._view.suspects:
            show_sheet(self, self._view.unit.number)

    def action_follow(self) -> None:
        """Follow a signal along its path, the offered one first."""
        if self._view is not None and self._view.suspects:
            offered = self._aside.follow.path if self._aside.follow is not None else ""
            self.app.push_screen(TracePage(self, self._view.unit.number, self._view.class_name, offered))

    def action_swap(self) -> None:
        """A swap test with a like unit."""
        if self._view is not None and self._view.suspects:
            swap_a_part(self, self._view.unit.number)

    def action_later(self) -> None:
        """What is makeshift in it."""
        if self._view is not None:
            ask_later(self, self._view.unit.number)

    def action_case(self) -> None:
        """The case was opened or closed."""
        if self._view is not None:
            number = self._view.unit.number
            self.act(
                lambda bench: looks.turn_case(bench, number).answer,
                lambda state: self.say(f"unit {number}: case {state}"),
            )
