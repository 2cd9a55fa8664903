"""The place Order: one plan for the whole lot, its order, and what comes of it."""

from __future__ import annotations

from pathlib import Path
from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, VerticalScroll
from textual.widgets import Static

from catalog.money import show
from triage.actions.ordering import Order, OrderLine, cancel_order, list_orders, place_order, receive, write_order
from triage.actions.planning import PlanView, plan_lot
from triage.bench_file import BenchFile
from triage.screens import order_draw
from triage.screens.dialogs import Choice, Choose, Form, Line, Page
from triage.screens.places import Place
from triage.screens.plain import styled

Orders = tuple[tuple[Order, tuple[OrderLine, ...]], ...]


class OrderScreen(Place):
    """The order of one lot."""

    PLACE = "order"
    ABOUT = (
        "One order for the whole lot: packs, price steps, postage, days and deadlines weighed for all units at once. "
        "Every line names its units. The plot shows what waiting saves; p notes that the order was sent."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("p", "place", "place", tooltip="The order was sent: note it", id="order.place"),
        Binding("f", "files", "files", tooltip="Write the order as files", id="order.files"),
        Binding("r", "receive", "receive", tooltip="Goods have come", id="order.receive"),
        Binding("d", "describe", "describe", tooltip="Describe what is still to be described", id="order.describe"),
        Binding("v", "decisions", "decided", tooltip="What was decided for each unit", id="order.decided"),
        Binding("w", "left_out", "why not", tooltip="What nearly serves, and why it is left out", id="order.left_out"),
        Binding("right", "walk(1)", "later", key_display="←→", tooltip="Walk the days", id="order.later"),
        Binding("left", "walk(-1)", "sooner", show=False, tooltip="Walk the days back", id="order.sooner"),
        Binding("g", "again", "again", show=False, tooltip="Plan again", id="order.again"),
        Binding("x", "cancel", "take back order", show=False, tooltip="A counter-entry to an order", id="order.cancel"),
        Binding("escape", "stop", "stop", show=False, tooltip="Stop planning", id="order.stop"),
        Binding("down,j", "scroll(2)", "down", show=False, tooltip="Scroll down", id="order.down"),
        Binding("up,k", "scroll(-2)", "up", show=False, tooltip="Scroll up", id="order.up"),
    ]

    def __init__(self) -> None:
        """Nothing is planned yet."""
        super().__init__()
        self._plan: PlanView | None = None
        self._orders: Orders = ()
        self._here = 0
        self._stopped = False

    # --- what is shown -------------------------------------------------------------------------------------------

    def compose_place(self) -> ComposeResult:
        """The order, the days, the decisions."""
        yield Static("", id="order-title")
        with Horizontal(id="order-body"):
            with VerticalScroll(id="order-left", can_focus=False):
                yield Static("", id="order-lines")
                yield Static("", id="order-way")
            with VerticalScroll(id="order-right", can_focus=False):
                yield Static("", id="order-front")
                yield Static("", id="order-decisions")

    def refresh_place(self) -> None:
        """Plan anew: something may have changed."""
        self._stopped = False
        self.query_one("#order-title", Static).update(styled((" planning the whole lot … Esc stops", "bold")))
        lot_id = self.shell.lot_id

        def planned(bench: BenchFile) -> tuple[PlanView, Orders]:
            return plan_lot(bench, lot_id, cancel=lambda: self._stopped), list_orders(bench, lot_id)

        self.work_out(planned, self._show_plan, kind="plan", lane="plan")

    def _show_plan(self, found: tuple[PlanView, Orders]) -> None:
        self._plan, self._orders = found
        points = self._plan.front
        self._here = next((place for place, point in enumerate(points) if point.cheapest), 0)
        self._show()

    def _show(self) -> None:
        if self._plan is None:
            return
        plan = self._plan
        self.query_one("#order-title", Static).update(order_draw.title(plan))
        left = max(60, (self.query_one("#order-left").size.width or self.size.width) - 3)
        self.query_one("#order-lines", Static).update(order_draw.order(plan, left))
        self.query_one("#order-way", Static).update(order_draw.on_the_way(self._orders))
        self._show_front()
        decided = self.query_one("#order-decisions", Static)
        decided.display = self.has_class("-wide")
        decided.update(order_draw.decisions(plan))
        self.query_one("#order-right").display = bool(plan.front) or self.has_class("-wide")

    def _show_front(self) -> None:
        if self._plan is not None:
            width = (self.query_one("#order-right").size.width or self.size.width) - 2
            drawn = order_draw.front(self._plan.front, self._here, width, self._plan.lot.currency)
            self.query_one("#order-front", Static).update(drawn)

    def on_resize(self, _: events.Resize) -> None:
        """Share the room out anew."""
        self.call_after_refresh(self._show)

    # --- doing ---------------------------------------------------------------------------------------------------

    def action_walk(self, by: int) -> None:
        """Walk the days of the plot."""
        if self._plan is not None and self._plan.front:
            self._here = max(0, min(len(self._plan.front) - 1, self._here + by))
            self._show_front()

    def action_scroll(self, by: int) -> None:
        """Scroll the order."""
        self.query_one("#order-left", VerticalScroll).scroll_relative(y=by, animate=False)

    def action_again(self) -> None:
        """Plan again."""
        self.refresh_place()

    def action_stop(self) -> None:
        """Stop planning; the best plan so far is shown."""
        self._stopped = True

    def action_place(self) -> None:
        """The order was sent."""
        plan = self._plan
        if plan is None or not plan.sheets:
            self.say("there is nothing to order")
            return
        total = show(plan.order_total, plan.lot.currency, with_code=True)
        names = ", ".join(sheet.supplier for sheet in plan.sheets)
        about = "u does not take it back; only a dated counter-entry does (x)."
        choices = [Choice("no", "not yet"), Choice("yes", f"yes, {total} was ordered from {names}")]
        lot_id = plan.lot.id

        def chosen(word: str | None) -> None:
            if word == "yes":
                self.act(
                    lambda bench: place_order(bench, lot_id), lambda _: self.say("noted; its parts are on the way")
                )

        self.app.push_screen(Choose("Was the order sent?", choices, about), chosen)

    def action_files(self) -> None:
        """Write the order as files."""
        plan = self._plan
        if plan is None or not plan.sheets:
            self.say("there is nothing to order")
            return
        lot_id = plan.lot.id

        def send(form: Form, typed: dict[str, str]) -> None:
            folder = Path(typed["folder"]).expanduser()

            def written(files: tuple[Path, ...]) -> None:
                form.accepted()
                self.say(f"written to {folder}: {', '.join(path.name for path in files)}")

            self.act(lambda bench: write_order(bench, lot_id, folder), written, otherwise=form.refused)

        folder = self.shell.bench.path.resolve().parent / "orders"
        line = Line("folder", "folder", str(folder))
        self.app.push_screen(Form("Write the order", [line], send, about="One CSV a supplier, and order.md to read."))

    def action_receive(self) -> None:
        """Goods have come."""
        coming = [
            (order, line)
            for order, lines in self._orders
            for line in lines
            if not order.cancelled and line.received < line.packs
        ]
        choices = [
            Choice(
                str(line.id),
                line.description or line.part_number,
                f"{line.packs - line.received} from {order.supplier}",
            )
            for order, line in coming
        ]

        def chosen(line_id: str | None) -> None:
            if line_id is not None:
                self._ask_packs(next(line for _, line in coming if str(line.id) == line_id))

        if choices:
            self.app.push_screen(Choose("What has come?", choices), chosen)
        else:
            self.say("nothing is on the way")

    def _ask_packs(self, line: OrderLine) -> None:
        missing = line.packs - line.received

        def send(form: Form, typed: dict[str, str]) -> None:
            self.act(lambda bench: _received(bench, line.id, typed["packs"]), form.accepted, otherwise=form.refused)

        about = f"{missing} of {line.packs} packs are still to come; the pieces go to the drawer."
        line_in = Line("packs", "packs that came", str(missing))
        self.app.push_screen(Form(line.description or line.part_number, [line_in], send, about=about))

    def action_cancel(self) -> None:
        """Take an order back by a counter-entry."""
        standing = [
            order for order, lines in self._orders if not order.cancelled and not any(x.received for x in lines)
        ]
        choices = [
            Choice(str(order.id), order.supplier, show(order.goods + order.shipping, order.currency))
            for order in standing
        ]

        def chosen(order_id: str | None) -> None:
            if order_id is not None:
                self.act(lambda bench: cancel_order(bench, int(order_id)))

        if choices:
            self.app.push_screen(Choose("Which order was taken back?", choices), chosen)
        else:
            self.say("there is no order that could be taken back")

    def action_describe(self) -> None:
        """Go and describe the first part that waits for it."""
        if self._plan is not None and self._plan.to_describe:
            self.shell.action_describe_need(self._plan.to_describe[0].unit)
        else:
            self.say("nothing is left to describe")

    def action_decisions(self) -> None:
        """What was decided for each unit."""
        if self._plan is not None:
            self.app.push_screen(Page("Decided together", order_draw.decisions(self._plan)))

    def action_left_out(self) -> None:
        """What nearly serves."""
        if self._plan is not None:
            self.app.push_screen(Page("Left out", order_draw.left_out(self._plan)))


def _received(bench: BenchFile, line_id: int, packs: str) -> OrderLine:
    return receive(bench, line_id, int(packs) if packs.isascii() and packs.isdigit() else -1)
