"""The place Order: one plan for the whole lot, its order, and what comes of it."""

from __future__ import annotations

from typing import ClassVar, Final

from textual import events, on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.content import Content
from textual.widgets import Static

from catalog.text import Refused
from triage.actions.history import newest
from triage.actions.order_timing import TimingView
from triage.actions.ordering import OrderLine, list_orders
from triage.actions.plan_view import Contested, PlannedLine, PlanView, Riding
from triage.actions.planning import plan_lot
from triage.bench_file import BenchFile
from triage.papers import OrderSheet
from triage.screens import order_contest, order_days, order_draw
from triage.screens.bench_lift import lift_for
from triage.screens.dialogs import Page
from triage.screens.later import ask_later, ask_riding, new_spare
from triage.screens.order_ask import ask_cash_limit
from triage.screens.order_doing import note_sent, receive_goods, take_back_order, write_files
from triage.screens.order_keys import KEYS
from triage.screens.order_pins import ask_pin, lift
from triage.screens.order_rows import Planning, PlanRows, so_far
from triage.screens.order_supplier import edit_supplier
from triage.screens.order_timing import ask_timing
from triage.screens.order_why import tell_why
from triage.screens.places import Place
from triage.screens.plain import plain, styled
from triage.screens.rows import RowList
from triage.wants import WantedPart

FOR_THAT_DAY: Final = "cheapest for that day"


class _Stop(Exception):  # noqa: N818 - the person's wish, not an error
    """Ends a plan that is not wanted any more."""


class OrderScreen(Place):
    """The order of one lot."""

    PLACE = "order"
    ABOUT = (
        "One order for the whole lot: packs, price steps, postage, days and deadlines weighed for all units at once. "
        "Every line names its units. The plot shows what waiting saves; p notes that the order was sent."
    )
    CSS_PATH = "parts_order.tcss"
    BINDINGS: ClassVar[list[BindingType]] = KEYS

    def __init__(self) -> None:
        """Nothing is planned yet."""
        super().__init__()
        self._plan: PlanView | None = None
        self._orders: order_draw.Orders = ()
        self._rows: list[order_draw.Row] = []
        self._best: PlanView | None = None
        """The plan with the lowest total; `_plan` is the same with the order of the day one walked to."""
        self._other = ""
        """Why `_plan` is another order than the best one."""
        self._here = 0
        self._turn = 0
        """Number of the plan being worked out."""
        self._stopped = 0
        """Number of the last plan that Escape stopped."""
        self._planning = False
        self._plan_is_old = False
        self._planned: tuple[int | None, int] | None = None
        """The lot that was planned last, and the newest event then."""

    # --- what is shown -------------------------------------------------------------------------------------------

    def compose_place(self) -> ComposeResult:
        """The order, the row under the cursor, the days, the decisions."""
        yield Static("", id="order-title")
        with Horizontal(id="order-body"):
            with Vertical(id="order-left"):
                yield PlanRows(id="order-rows")
                with VerticalScroll(id="order-under", can_focus=False):
                    yield Static("", id="order-detail")
            with VerticalScroll(id="order-right", can_focus=False):
                yield Static("", id="order-front")
                yield Static("", id="order-arrivals")
                yield Static("", id="order-decisions")

    def come_back(self) -> None:
        """Plan anew only if something was done since: a day or a way that was chosen stands."""
        if self._plan_is_old or self._planned != (self.shell.lot_id, newest(self.shell.bench)):
            self.refresh_place()
        elif self._plan is not None:
            self._show()

    def refresh_place(self) -> None:
        """Plan anew: something may have changed."""
        self._planned = self.shell.lot_id, newest(self.shell.bench)
        self._turn += 1
        self._planning = True
        self._tell("")
        if self.focused is None and self.app.screen is self:
            self.query_one(PlanRows).focus()
        lot_id, turn, room = self.shell.lot_id, self._turn, self.shell.room("plan")
        currency = self.shell.bench.currency

        def unwanted() -> bool:
            return self._turn != turn or self._stopped == turn or room.closing

        def progress(done: int, units: int) -> None:
            if unwanted():
                raise _Stop
            self.post_message(Planning(turn, done, units))  # does not wait, so that leaving never waits for it

        def better(total: float, more: float) -> None:
            self.post_message(Planning(turn, 0, 0, so_far(total, more, currency)))

        def planned(bench: BenchFile) -> tuple[int, PlanView | str, order_draw.Orders]:
            orders = list_orders(bench, lot_id)
            try:
                return turn, plan_lot(bench, lot_id, cancel=unwanted, progress=progress, better=better), orders
            except _Stop:
                return turn, "planning was stopped; g plans again", orders
            except Refused as refused:
                return turn, str(refused), orders

        self.work_out(planned, self._show_plan, kind="plan", lane="plan")

    @on(Planning)
    def _went_on(self, event: Planning) -> None:
        event.stop()
        if event.turn == self._turn and self._planning:
            far = f"unit {event.done + 1} of {event.units}" if event.done < event.units else "every order there is"
            self._tell(f": {event.so_far or far}")

    def _tell(self, far: str) -> None:
        """How far the plan is."""
        told = styled((f" planning the whole lot{far} … ", "bold"), "Esc stops")
        self.query_one("#order-title", Static).update(told)

    def _show_plan(self, found: tuple[int, PlanView | str, order_draw.Orders]) -> None:
        turn, plan, orders = found
        if turn != self._turn:
            return
        self._planning = False
        self._orders = orders
        if isinstance(plan, str):
            older = "; what stands below is an older plan" if self._plan is not None else ""
            self._plan_is_old = True
            self.query_one("#order-title", Static).update(styled((f" {plan}", "bold"), older))
            return
        self._plan_is_old = False
        self._best = self._plan = plan
        self._other = ""
        self._here = self._cheapest(plan)
        self._show()

    @staticmethod
    def _cheapest(plan: PlanView) -> int:
        return next((place for place, point in enumerate(plan.days) if point.cheapest), 0)

    def _show(self) -> None:
        plan = self._plan
        if plan is None:
            return
        self.shell.planned[plan.lot.id] = plan
        if not self._planning and not self._plan_is_old:
            self.query_one("#order-title", Static).update(order_draw.title(plan, self._other))
        listed = self.query_one(PlanRows)
        self._rows = order_draw.rows(plan, self._orders, listed.text_width, self.shell.bench.today)
        listed.show(len(self._rows), self._draw, live=self._is_live)
        wide = self.has_class("-wide")
        right = self.query_one("#order-right")
        right.display = bool(plan.days) or wide
        decided = self.query_one("#order-decisions", Static)
        decided.display = wide
        days = self.query_one("#order-arrivals", Static)
        days.display = wide
        if wide:
            width = max(30, right.size.width - 4)
            decided.update(order_draw.decisions(plan, width))
            days.update(self._timeline(width))
        self._show_front()

    def _draw(self, row: int, _: int) -> Content:
        return self._rows[row].text

    def _is_live(self, row: int) -> bool:
        return self._rows[row].target is not None

    def _show_front(self) -> None:
        if self._plan is not None:
            wide = self.has_class("-wide")
            width = (self.query_one("#order-right").size.width or self.size.width) - 2
            rows, way = 8 if wide else 3, "" if self._other == FOR_THAT_DAY else self._other
            drawn = order_days.front(self._plan.days, self._here, width, self._plan.lot.currency, rows=rows, way=way)
            self.query_one("#order-front", Static).update(drawn)

    def _timeline(self, width: int, *, titled: bool = True) -> Content:
        coming = order_days.arrivals_of(self._plan, self._orders) if self._plan is not None else []
        return order_days.timeline(coming, self.shell.bench.today, width, titled=titled)

    @on(RowList.Moved)
    def _moved(self, event: RowList.Moved) -> None:
        event.stop()
        if self._plan is not None:
            told = order_draw.detail(self._target(), self._plan.lot.currency)
            self.query_one("#order-detail", Static).update(told)
            self.query_one("#order-under").scroll_home(animate=False)

    def _target(self) -> order_draw.Target | None:
        row = self.query_one(PlanRows).cursor
        return self._rows[row].target if row is not None and row < len(self._rows) else None

    def on_resize(self, _: events.Resize) -> None:
        """Share the room out anew."""
        self.call_after_refresh(self._show)

    # --- moving --------------------------------------------------------------------------------------------------

    def action_walk(self, by: int) -> None:
        """Walk the days of the plot; the order of that day is shown, and it is the one that is noted or written."""
        best = self._best
        if best is not None and best.days and not self._planning:
            self._here = max(0, min(len(best.days) - 1, self._here + by))
            here = self._here == self._cheapest(best)
            self._plan = best if here else best.ordering(best.days[self._here].ordered)
            self._other = "" if here else FOR_THAT_DAY
            self._show()

    def _choose_way(self, contest: Contested) -> None:
        """Take the substitute or wait; the order of that way is shown, and it is the one that is noted or written."""
        best = self._best

        def chosen(word: str | None) -> None:
            side = {"now": contest.now, "wait": contest.wait}.get(word or "")
            if best is None or side is None or self._planning:
                return
            as_planned = word == contest.taken
            self._plan = best if as_planned else best.ordering(side.ordered)
            self._other = "" if as_planned else f"unit {contest.unit} {'waits' if word == 'wait' else 'does not wait'}"
            self._show()

        self.app.push_screen(order_contest.choose(contest, self.shell.bench.currency), chosen)

    def action_contest(self) -> None:
        """On to the next need where a substitute stands against waiting."""
        listed = self.query_one(PlanRows)
        here = [place for place, row in enumerate(self._rows) if isinstance(row.target, Contested)]
        if self._planning:
            self.say("still planning; a moment")
            return
        if not here:
            self.say("no substitute stands against waiting in this plan")
            return
        listed.cursor = next((place for place in here if listed.cursor is None or place > listed.cursor), here[0])
        listed.focus()

    def action_again(self) -> None:
        """Plan again."""
        self.refresh_place()

    def action_stop(self) -> None:
        """Stop planning; the best plan so far is shown."""
        if self._planning:
            self._stopped = self._turn

    @on(RowList.Picked)
    async def _picked(self, event: RowList.Picked) -> None:
        event.stop()
        await self.action_go_there()

    async def action_go_there(self) -> None:
        """From a row to its unit, its part, its goods."""
        target = self._target()
        if isinstance(target, WantedPart):
            self.shell.action_describe_need(target.unit)
        elif isinstance(target, order_draw.Look):
            await self.shell.go_to_bench(target.unit)
        elif isinstance(target, OrderLine):
            receive_goods(self, target.id)
        elif isinstance(target, Contested):
            self._choose_way(target)
        elif isinstance(target, order_draw.Pin):
            lift(self, target)
        elif isinstance(target, OrderSheet):
            edit_supplier(self, target.supplier)
        elif isinstance(target, Riding):
            ask_riding(self, target)
        elif isinstance(target, PlannedLine) and target.donor is not None and target.needs:
            lift_for(self, target.donor, target.donor_part, target.donor_words, target.needs[0])
        elif target is not None and self._plan is not None:
            told = order_draw.detail(target, self._plan.lot.currency)
            self.app.push_screen(Page("This line", told))

    def action_describe(self) -> None:
        """Go and describe the first part that waits for it."""
        if self._plan is not None and self._plan.to_describe:
            self.shell.action_describe_need(self._plan.to_describe[0].unit)
        else:
            self.say("nothing is left to describe")

    # --- doing ---------------------------------------------------------------------------------------------------

    def _orderable(self) -> PlanView | None:
        """The plan as shown, if it is up to date and has something to order."""
        if self._planning:
            self.say("still planning; a moment")
            return None
        if self._plan is None or self._plan_is_old:
            self.say("there is no plan of things as they stand; g plans again")
            return None
        if not (self._plan.sheets or self._plan.drawer or self._plan.coming):
            self.say("there is nothing to order")
            return None
        return self._plan

    def action_place(self) -> None:
        """The order was sent."""
        plan = self._orderable()
        if plan is not None:
            ask_cash_limit(self, plan, lambda: note_sent(self, plan))

    def action_files(self) -> None:
        """Write the order as files."""
        plan = self._orderable()
        if plan is not None:
            write_files(self, plan)

    def action_receive(self) -> None:
        """Goods have come."""
        receive_goods(self)

    def action_cancel(self) -> None:
        """Take an order back by a counter-entry."""
        take_back_order(self, self._orders)

    def action_decisions(self) -> None:
        """Unit by unit."""
        if self._plan is not None:
            self.app.push_screen(Page("Decided together", order_draw.decisions(self._plan, 74)))

    def action_why(self) -> None:
        """Why the line under the cursor is as it is."""
        if (plan := self._orderable()) is not None:
            tell_why(self, plan, self._target(), best=not self._other)

    def action_pin(self) -> None:
        """Say what is to hold of the line under the cursor."""
        if (plan := self._orderable()) is not None:
            ask_pin(self, plan, self._target())

    def action_supplier(self) -> None:
        """What the supplier of this row asks."""
        target = self._target()
        name = target.supplier if isinstance(target, OrderSheet | PlannedLine) else ""
        if name:
            edit_supplier(self, name)
        else:
            self.say("stand on a supplier or on a line that is bought; e changes what its supplier asks")

    def action_arrivals(self) -> None:
        """When what arrives."""
        if self._plan is not None:
            told = self._timeline(74, titled=False)
            self.app.push_screen(Page("When what arrives", told if told.plain else plain("nothing is to come")))

    def action_later(self) -> None:
        """What is makeshift, and spares."""
        ask_later(self)

    def action_spare(self) -> None:
        """Spares that would be good to have."""
        new_spare(self)

    def action_timing(self) -> None:
        """Order now, or after the looks."""
        best = self._best
        if self._planning or self._plan_is_old or best is None:
            self.say("there is no plan of things as they stand yet; a moment, or g plans again")
            return

        def take(view: TimingView) -> None:
            if self._best is best and not self._planning:
                self._plan = best.ordering(view.ordered)
                self._other = "rest after looks"
                self._show()

        ask_timing(self, best, take)

    def action_left_out(self) -> None:
        """What nearly serves."""
        if self._plan is not None:
            self.app.push_screen(Page("Left out", order_draw.left_out(self._plan)))
