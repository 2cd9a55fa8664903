"""The dialogs on orders placed: goods that have come, whole with Enter or in part by number, and one taken back."""

from __future__ import annotations

from collections.abc import Callable
from typing import ClassVar

from textual import events, on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.content import Content
from textual.widgets import Static

from catalog.money import show
from triage.actions.ordering import Order, OrderLine
from triage.lot import Outcome
from triage.screens import order_draw
from triage.screens.dialogs import Choice, Choose, Over
from triage.screens.places import Place
from triage.screens.plain import day, plain, styled
from triage.screens.rows import RowList

Coming = tuple[tuple[Order, OrderLine], ...]


def coming(orders: order_draw.Orders) -> Coming:
    """Every line of standing orders that is not wholly here."""
    return tuple((order, line) for order, lines in orders if not order.cancelled for line in lines if line.open_packs)


def choose_order(place: Place, orders: order_draw.Orders, then: Callable[[int], None]) -> None:
    """Choose an order that may still be taken back, or say that there is none."""
    standing = [
        order
        for order, lines in orders
        if not order.cancelled and not any(line.received or line.failed for line in lines)
    ]
    if not standing:
        place.say("there is no order that could be taken back")
        return
    choices = [
        Choice(
            str(order.id),
            f"{order.supplier}, {show(order.goods + order.shipping, order.currency, with_code=True)}",
            f"noted {day(order.at)}",
        )
        for order in standing
    ]

    def chosen(order_id: str | None) -> None:
        if order_id is not None:
            then(int(order_id))

    about = "A dated counter-entry is written; it cannot be taken back itself."
    place.app.push_screen(Choose("Which order was taken back?", choices, about), chosen)


class Receive(Over[None]):
    """Stays open until everything is here or it is left."""

    CSS_PATH = "parts_order.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,q", "leave", "leave", tooltip="Close; what was taken in stays", id="receive.leave"),
        Binding("d", "failed('dud')", "dead", tooltip="It came, but dead", id="receive.dud"),
        Binding("w", "failed('wrong')", "wrong", tooltip="Something else came", id="receive.wrong"),
        Binding("x", "failed('never')", "not coming", tooltip="It will not come", id="receive.never"),
        Binding("backspace", "rub", "rub out", show=False, tooltip="Rub out the last digit", id="receive.rub"),
    ]

    def __init__(
        self,
        lines: Coming,
        send: Callable[[Receive, OrderLine, int | None, Outcome], None],
        *,
        at: int | None = None,
    ) -> None:
        """`send` gets this dialog, a line, the packs (None = all) and what came of them.

        Args:
            lines: what may have come.
            send: does it; it calls `accepted` or `refused`.
            at: id of the line to stand on.
        """
        super().__init__()
        self._lines = lines
        self._send = send
        self._at = at
        self._digits = ""

    def compose(self) -> ComposeResult:
        """The open lines, the number typed, and the keys."""
        with Vertical(classes="-dialog"):
            yield Static(plain("What has come?", "bold"), classes="-title")
            yield RowList(id="receive-rows")
            yield Static("", id="receive-count")
            yield Static("", classes="-refused")
            yield Static(
                plain("Enter: it came. d: dead, w: something else, x: not coming. Digits first: so many packs"),
                classes="-keys",
            )

    def on_mount(self) -> None:
        """The list takes the keys."""
        rows = self.query_one(RowList)
        place = next((place for place, (_, line) in enumerate(self._lines) if line.id == self._at), 0)
        rows.show(len(self._lines), self._row, at=place)
        rows.focus()

    def _row(self, row: int, width: int) -> Content:
        return order_draw.open_line(*self._lines[row], width)

    def on_key(self, event: events.Key) -> None:
        """A digit begins the number of packs."""
        if event.character and event.character.isascii() and event.character.isdigit() and len(self._digits) < 5:
            event.stop()
            self._digits += event.character
            self._show_count()

    def action_rub(self) -> None:
        """Rub out the last digit."""
        self._digits = self._digits[:-1]
        self._show_count()

    @on(RowList.Moved)
    def _moved(self, event: RowList.Moved) -> None:
        event.stop()
        self._digits = ""
        self._show_count()

    def _show_count(self) -> None:
        row = self.query_one(RowList).cursor
        if row is None:
            return
        line = self._lines[row][1]
        left = line.open_packs
        told = f"{self._digits} of {left}" if self._digits else f"all {left}" if left > 1 else "the one"
        pieces = f", {line.pack} pieces in each" if line.pack > 1 else ""
        self.query_one("#receive-count", Static).update(
            styled(("packs: ", "dim"), (told, "bold"), pieces, ("; they go to the drawer", "dim"))
        )

    @on(RowList.Picked)
    def _picked(self, event: RowList.Picked) -> None:
        event.stop()
        self.query_one(".-refused", Static).update("")
        if event.row is not None:
            self._tell(event.row, "came")

    def action_failed(self, outcome: Outcome) -> None:
        """Something was wrong with it."""
        row = self.query_one(RowList).cursor
        if row is not None:
            self._tell(row, outcome)

    def _tell(self, row: int, outcome: Outcome) -> None:
        self._send(self, self._lines[row][1], int(self._digits) if self._digits else None, outcome)

    def accepted(self, changed: OrderLine) -> None:
        """Show what is still open; close when nothing is."""
        self._digits = ""
        lines = [(order, changed if line.id == changed.id else line) for order, line in self._lines]
        self._lines = tuple((order, line) for order, line in lines if line.open_packs)
        if not self.is_current:
            return
        if not self._lines:
            self.dismiss(None)
            return
        self.query_one(RowList).show(len(self._lines), self._row)

    def refused(self, why: str) -> None:
        """Say why and stay open."""
        self.query_one(".-refused", Static).update(plain(f"! {why}", "bold"))

    def action_leave(self) -> None:
        """Close."""
        self.dismiss(None)
