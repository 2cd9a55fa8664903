"""What is done about an order from its screen: noted as sent, written out, received, taken back."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from catalog.money import show
from triage.actions.goods_in import FAILED, ready_to_finish, receive, went_wrong
from triage.actions.ordering import OrderLine, cancel_order, list_orders, place_order, write_order
from triage.actions.plan_view import PlanView
from triage.bench_file import BenchFile
from triage.lot import Outcome
from triage.ready import Ready
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
        asked, about = "Set aside what is at hand?", "It is promised to its units; u takes it back."
        choices = [Choice("no", "not yet"), Choice("yes", "yes, what lies ready and what is on its way")]

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

    def send(dialog: Receive, line: OrderLine, packs: int | None, outcome: Outcome) -> None:
        name, lot_id = line.description or line.part_number, place.shell.lot_id

        def came(told: tuple[OrderLine, tuple[Ready, ...]]) -> None:
            dialog.accepted(told[0])
            word = "came in" if outcome == "came" else FAILED[outcome]
            place.say("; ".join(filter(None, (f"{word}: {name}", _finish_first(told[1])))))

        def noted(bench: BenchFile, instead: str = "") -> tuple[OrderLine, tuple[Ready, ...]]:
            if outcome == "came":
                changed = receive(bench, line.id, packs)
            else:
                changed = went_wrong(bench, line.id, outcome, packs, instead=instead)
            return changed, ready_to_finish(bench, lot_id) if outcome == "came" else ()

        if outcome != "wrong":
            place.act(noted, came, otherwise=dialog.refused)
            return

        def say_what(form: Form, typed: dict[str, str]) -> None:
            def kept(told: tuple[OrderLine, tuple[Ready, ...]]) -> None:
                form.accepted()
                came(told)

            place.act(lambda bench: noted(bench, typed["instead"]), kept, otherwise=form.refused)

        about = "What came lies in the drawer from now on; what was ordered is to be found again."
        place.app.push_screen(
            Form(f"Instead of {name}", [Line("instead", "what came", "", "empty: it is no use")], say_what, about=about)
        )

    place.app.push_screen(Receive(lines, send, at=line_id))


def _finish_first(ready: Sequence[Ready]) -> str:
    """Which units can be finished now, the first one with its minutes; empty for none."""
    if not ready:
        return ""
    rest = ", ".join(str(one.unit) for one in ready[1:4])
    return f"finish unit {ready[0].unit} first ({ready[0].minutes:.0f} min)" + (f", then {rest}" if rest else "")


def take_back_order(place: Place, orders: Orders) -> None:
    """Choose an order that may still be taken back, and write its counter-entry."""

    def cancel(order_id: int) -> None:
        place.act(
            lambda bench: cancel_order(bench, order_id),
            lambda order: place.say(f"the order with {order.supplier} is taken back; its parts are wanted again"),
        )

    choose_order(place, orders, cancel)
