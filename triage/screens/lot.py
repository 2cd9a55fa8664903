"""The place Lot: every unit of a lot on one line, the piles, and where to go on."""

from __future__ import annotations

from collections.abc import Callable
from typing import ClassVar

from textual import events, on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.widgets import OptionList, Static

from triage.actions.lot_view import LotView, UnitRow, lot_view, planned_elsewhere
from triage.actions.lots import list_lots
from triage.actions.moved import mark_seen, note_new
from triage.actions.questions import still_assumed
from triage.actions.unit_view import UnitView, unit_view
from triage.actions.units import Added, add_units, list_units, remove_unit
from triage.lot import Lot, Unit
from triage.screens import bench_draw, lot_draw
from triage.screens.batch import look_down_the_list
from triage.screens.dialogs import Page
from triage.screens.lot_forms import (
    AddUnitsDialog,
    NewLot,
    NewLotDialog,
    added_words,
    ask_details,
    choose_lot,
    start_lot,
)
from triage.screens.lot_keys import KEYS
from triage.screens.places import Place
from triage.screens.plain import plain
from triage.screens.take_in import take_in_form
from triage.screens.unit_forms import choose_class, edit_unit, put_on_pile, settle
from triage.screens.unit_list import UnitList

_NEEDS_A_LOT = frozenset(
    ("to_bench", "add", "edit", "pile", "batch", "best", "new", "switch", "details", "choose_class", "remove", "moved")
)


class LotScreen(Place):
    """All units of one lot."""

    PLACE = "lot"
    ABOUT = (
        "All units of one lot: what was seen, the main suspect, the pile and what it brings. ▸ marks the unit you are "
        "on, ! a hazard, ~ one that moved since you looked, * a pile by hand; AS-IS→PART-OUT says where the last plan "
        "of the lot puts it instead. LOOK "
        "means that a look still pays; Enter takes the unit to the Bench."
    )
    BINDINGS: ClassVar[list[BindingType]] = KEYS

    def __init__(self) -> None:
        """Nothing is known yet."""
        super().__init__()
        self._lot: Lot | None = None
        self._units: list[Unit] = []
        self._view: LotView | None = None
        self._unit_view: UnitView | None = None
        self._fresh = True
        """True until the cursor was put on the best look of this lot once."""

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """On the first screen only starting and lists to take in make sense."""
        if self.has_class("-first"):
            return action not in _NEEDS_A_LOT
        return action != "start"

    # --- what is shown -------------------------------------------------------------------------------------------

    def compose_place(self) -> ComposeResult:
        """The first screen and the list; one of them is in sight."""
        with VerticalScroll(id="first", can_focus=False):
            yield NewLot(self._suggested_name(), self.shell.bench.currency)
            yield Static("", id="assumed")
        with Vertical(id="lot"):
            yield Static("", id="lot-head")
            yield Static("", id="lot-piles")
            yield Static("", id="lot-hint")
            yield Static("", id="lot-told")
            with Horizontal(id="lot-body"):
                with Vertical(id="lot-left"):
                    yield Static("", id="lot-titles")
                    yield UnitList()
                    yield Static("", id="lot-under")
                with VerticalScroll(id="lot-side", can_focus=False):
                    yield Static("", id="lot-unit")

    def refresh_place(self) -> None:
        """Load the lot and its units at once, then have the sums worked out."""
        lots = list_lots(self.shell.bench)
        self.set_class(not lots, "-first")
        self.refresh_bindings()
        if not lots:
            self._lot, self._units, self._view = None, [], None
            self._show_first()
            return
        known = {lot.id for lot in lots}
        if self.shell.lot_id not in known:
            self.shell.lot_id = lots[-1].id
        before = self._lot.id if self._lot is not None else None
        self._lot = next(lot for lot in lots if lot.id == self.shell.lot_id)
        if before != self._lot.id:
            self._view, self._fresh = None, True
        self._units = list_units(self.shell.bench, self._lot.id)
        if self.shell.unit_number not in {unit.number for unit in self._units}:
            self.shell.unit_number = self._units[0].number if self._units else None
        self._show()
        if not self.query_one(UnitList).has_focus and self.app.screen is self:
            self.query_one(UnitList).focus()
        lot_id, room = self._lot.id, self.shell.room()
        self.work_out(
            lambda bench: lot_view(
                bench, lot_id, progress=lambda done, all_: self._progress(room.check_way, done, all_)
            ),
            self._worked,
        )

    def _progress(self, check_way: Callable[[], None], done: int, units: int) -> None:
        """In the back room: tell how far it is, and give way to what waits."""
        self.app.call_from_thread(self._tell, done, units)
        check_way()

    def _tell(self, done: int, units: int) -> None:
        if done < units and self._view is None:
            self.query_one("#lot-hint", Static).update(plain(f"working out unit {done + 1} of {units} …", "dim"))

    def _worked(self, view: LotView) -> None:
        self._view = view
        if view.standing.unrecorded:
            self.work_out(lambda bench: note_new(bench, view), lambda _: None, kind="seen")
        if self._fresh and view.rows:
            self._fresh = False
            for problem in self.shell.bench.class_problems[:1]:
                self.say(f"left out: {problem}", trouble=True)
            if view.best_look is not None and self.shell.place is self:
                self.shell.unit_number = view.best_look
        self._show()

    def _show_first(self) -> None:
        self.query_one("#assumed", Static).update(lot_draw.assumed(still_assumed(self.shell.bench)))
        if self.app.screen is self and self.focused is None:
            self.query_one(NewLot).take_focus()

    def _show(self) -> None:
        if self._lot is None:
            return
        currency = self.shell.bench.currency
        self.query_one("#lot-head", Static).update(
            lot_draw.head(self._lot, len(self._units), self._view, currency, self.size.width)
        )
        sums = self._view.piles if self._view else ()
        self.query_one("#lot-piles", Static).update(lot_draw.piles(sums, currency, self.size.width))
        self.query_one("#lot-hint", Static).update(
            lot_draw.hint(self._units, self._view, still_assumed(self.shell.bench))
        )
        told = lot_draw.told(self._view, currency, self.size.width)
        self.query_one("#lot-told", Static).update(told)
        self.query_one("#lot-told").display = bool(told)
        self._show_list()
        self._show_under()

    def _show_list(self) -> None:
        listed = self.query_one(UnitList)
        width = listed.size.width or self.size.width
        self.query_one("#lot-titles", Static).update(listed.titles(width, planned=bool(self._planned())))
        bench = self.shell.bench
        listed.show(
            self._units,
            self._view,
            bench.classes,
            self.shell.unit_number,
            planned=self._planned(),
            currency=bench.currency,
            width=width,
        )

    def _planned(self) -> dict[int, str]:
        """Where the last plan of the lot, if one was made, puts units that lean elsewhere alone."""
        plan = self.shell.planned.get(self._lot.id) if self._lot is not None else None
        return planned_elsewhere(self._view.rows, plan.units) if self._view is not None and plan is not None else {}

    def _row(self, number: int | None) -> UnitRow | None:
        rows = self._view.rows if self._view is not None else ()
        return next((row for row in rows if row.number == number), None)

    def _show_under(self) -> None:
        row = self._row(self.shell.unit_number)
        under = self.query_one("#lot-under", Static)
        under.update(lot_draw.under_cursor(row, self.shell.bench.currency, self._planned()) if row else "")
        if self.has_class("-wide"):
            self._show_side()

    def _show_side(self) -> None:
        """The unit under the cursor, where there is room beside the list."""
        number = self.shell.unit_number
        if number is None:
            self.query_one("#lot-unit", Static).update("")
            return
        self.work_out(lambda bench: unit_view(bench, number), self._show_unit, kind="side")

    def _show_unit(self, view: UnitView) -> None:
        if view.unit.number == self.shell.unit_number:
            width = max(20, self.query_one("#lot-side").size.width - 2)
            self.query_one("#lot-unit", Static).update(bench_draw.card(view, width, self.shell.bench.currency))

    def on_resize(self, _: events.Resize) -> None:
        """Share the columns out anew."""
        self.call_after_refresh(self._show)

    # --- moving --------------------------------------------------------------------------------------------------

    @on(OptionList.OptionHighlighted, "#units-list")
    def _moved(self, event: OptionList.OptionHighlighted) -> None:
        event.stop()
        if event.option.id is None or int(event.option.id) == self.shell.unit_number:
            return
        self._fresh = False
        self.shell.unit_number = int(event.option.id)
        self.query_one(UnitList).stand_on(self.shell.unit_number)
        self._show_under()

    @on(OptionList.OptionSelected, "#units-list")
    async def _picked(self, event: OptionList.OptionSelected) -> None:
        event.stop()
        await self.action_to_bench()

    async def action_to_bench(self) -> None:
        """Take the unit to the Bench."""
        if self.shell.unit_number is not None:
            await self.shell.go_to_bench(self.shell.unit_number)

    def action_batch(self) -> None:
        """One look on many units."""
        look_down_the_list(self)

    async def action_best(self) -> None:
        """To the look that pays most, on the Bench."""
        if self._view is not None and self._view.best_look is not None:
            await self.shell.go_to_bench(self._view.best_look)
        elif self._view is not None:
            self.say("no look pays any more; the piles stand")

    def _unit(self) -> Unit | None:
        return next((unit for unit in self._units if unit.number == self.shell.unit_number), None)

    # --- doing ---------------------------------------------------------------------------------------------------

    @on(NewLot.Sent)
    def _first_sent(self, event: NewLot.Sent) -> None:
        event.stop()
        self._start(event, self.query_one(NewLot).refused)

    def action_start(self) -> None:
        """Start the first lot."""
        if self._lot is None:
            self.query_one(NewLot).send()

    def action_new(self) -> None:
        """A further lot."""
        if self._lot is not None:
            self.app.push_screen(
                NewLotDialog(
                    self._suggested_name(),
                    self.shell.bench.currency,
                    lambda dialog, sent: self._start(sent, dialog.refused, dialog.accepted),
                )
            )

    def _start(
        self, sent: NewLot.Sent, refused: Callable[[str], None], accepted: Callable[[], None] | None = None
    ) -> None:
        def started(result: tuple[Lot, Added | None]) -> None:
            lot, added = result
            self.shell.lot_id = lot.id
            if accepted is not None:
                accepted()
            self._added(added)

        self.act(
            lambda bench: start_lot(bench, sent.text, sent.name, sent.paid),
            started,
            otherwise=refused,
        )

    def _added(self, added: Added | None) -> None:
        if added is None:
            return
        if added.units:
            self.shell.unit_number = added.units[0].number
            self._fresh = True
            self.say(added_words(added))
        self._ask_classes(list(added.doubtful))

    def _ask_classes(self, doubtful: list[Unit]) -> None:
        """Ask once for all units that were typed alike, then for the next kind."""
        if not doubtful:
            return
        first = doubtful[0]
        alike = [unit for unit in doubtful if unit.typed == first.typed]
        rest = [unit for unit in doubtful if unit.typed != first.typed]

        def chosen(device_class: str | None) -> None:
            if device_class is not None:
                self.act(lambda bench: settle(bench, alike, device_class))
            self._ask_classes(rest)

        choose_class(self, first, chosen)

    def action_choose_class(self) -> None:
        """Say what the unit under the cursor is."""
        unit = self._unit()
        if unit is not None:
            choose_class(self, unit, lambda name: self._settle_one(unit, name))

    def _settle_one(self, unit: Unit, device_class: str | None) -> None:
        if device_class is not None:
            self.act(lambda bench: settle(bench, [unit], device_class))

    def action_add(self, text: str = "", why: str = "") -> None:
        """More units."""
        if self._lot is None:
            return
        lot = self._lot

        def typed(new: str | None) -> None:
            if new:
                self.act(
                    lambda bench: add_units(bench, new, lot_id=lot.id),
                    self._added,
                    otherwise=lambda refusal: self.action_add(new, refusal),
                )

        self.app.push_screen(AddUnitsDialog(lot.name, text, why), typed)

    def action_edit(self) -> None:
        """What is known of the unit."""
        unit = self._unit()
        if unit is not None:
            edit_unit(self, unit)

    def action_pile(self) -> None:
        """A pile by hand."""
        unit = self._unit()
        if unit is not None:
            put_on_pile(self, unit)

    def action_remove(self) -> None:
        """Remove a unit that was typed by mistake."""
        unit = self._unit()
        if unit is not None:
            self.act(
                lambda bench: remove_unit(bench, unit.number),
                lambda _: self.say(f"unit {unit.number} removed; u brings it back"),
            )

    def action_moved(self) -> None:
        """How the decisions moved since one last looked; what was read is seen."""
        view = self._view
        if view is None or not view.standing.moved:
            self.say("no decision moved since you last looked")
            return
        text = lot_draw.moved(view, self.shell.bench.currency, 74)

        def read(_: None) -> None:
            self.work_out(lambda bench: mark_seen(bench, view), lambda _: self.refresh_place(), kind="seen")

        self.app.push_screen(Page("Moved since you looked", text), read)

    def action_take_in(self) -> None:
        """A CSV list."""

        def done(said: str) -> None:
            self._fresh = True
            self.say(said)

        self.app.push_screen(take_in_form(self, units=True, after=done))

    def action_switch(self) -> None:
        """Another lot."""
        choose_lot(self, list_lots(self.shell.bench), self._switch)

    def _switch(self, lot_id: int) -> None:
        self.shell.lot_id = lot_id
        self.refresh_place()

    def action_details(self) -> None:
        """The lot's own details."""
        if self._lot is not None:
            ask_details(self, self._lot)

    def _suggested_name(self) -> str:
        today = self.shell.bench.today
        return f"box of {today.day} {today:%b}"
