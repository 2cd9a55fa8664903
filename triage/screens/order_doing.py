"""What is done about an order from its screen: noted as sent, written out, received, taken back."""

from __future__ import annotations

from pathlib import Path

from catalog.money import show
from triage.actions.ordering import OrderLine, cancel_order, list_orders, place_order, receive, write_order
from triage.actions.plan_view import PlanView
from triage.screens.dialogs import Choice, Choose, Form, Line
from triage.screens.order_draw import Orders
from triage.screens.order_receive import Receive, choose_order, coming
from triage.screens.places import Place


def note_sent(place: Place, plan: PlanView) -> None:
    """Ask whether the order was sent, then note it."""
    total = show(plan.order_total, plan.lot.currency, with_code=True)
    names = ", ".join(sheet.supplier for sheet in plan.sheets)
    about = "Once noted, u does not take it back: only a dated counter-entry does (c), before anything has come."
    choices = [Choice("no", "not yet"), Choice("yes", f"yes, {total} was ordered from {names}")]
    asked = "Was the order sent?"
    if not plan.sheets:
        asked, about = "Set these parts of the drawer aside?", "They are promised to their units; u takes it back."
        choices = [Choice("no", "not yet"), Choice("yes", "yes, they lie ready")]

    def chosen(word: str | None) -> None:
        if word == "yes":
            place.act(
                lambda bench: place_order(bench, plan.lot.id, as_shown=plan),
                lambda _: place.say("noted; its parts are on their way" if plan.sheets else "set aside"),
            )

    place.app.push_screen(Choose(asked, choices, about), chosen)


def write_files(place: Place, plan: PlanView) -> None:
    """Ask for a folder, then write the order there."""

    def send(form: Form, typed: dict[str, str]) -> None:
        folder = Path(typed["folder"]).expanduser()

        def written(files: tuple[Path, ...]) -> None:
            form.accepted()
            place.say(f"written to {folder}: {', '.join(path.name for path in files)}")

        place.act(lambda bench: write_order(bench, plan.lot.id, folder, as_shown=plan), written, otherwise=form.refused)

    folder = place.shell.bench.path.resolve().parent / "orders"
    line = Line("folder", "folder", str(folder))
    place.app.push_screen(Form("Write the order", [line], send, about="One CSV a supplier, and order.md to read."))


def receive_goods(place: Place, line_id: int | None = None) -> None:
    """Tick off what has come, beginning at one line; also while a plan is worked out."""
    lines = coming(list_orders(place.shell.bench, place.shell.lot_id))
    if not lines:
        place.say("nothing is on its way")
        return

    def send(dialog: Receive, line: OrderLine, packs: int | None) -> None:
        def came(changed: OrderLine) -> None:
            dialog.accepted(changed)
            place.say(f"came in: {line.description or line.part_number}")

        place.act(lambda bench: receive(bench, line.id, packs), came, otherwise=dialog.refused)

    place.app.push_screen(Receive(lines, send, at=line_id))


def take_back_order(place: Place, orders: Orders) -> None:
    """Choose an order that may still be taken back, and write its counter-entry."""

    def cancel(order_id: int) -> None:
        place.act(
            lambda bench: cancel_order(bench, order_id),
            lambda order: place.say(f"the order with {order.supplier} is taken back; its parts are wanted again"),
        )

    choose_order(place, orders, cancel)
