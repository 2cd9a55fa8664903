"""The forms of the place Lot: a new lot, more units, and a lot's details."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.widgets import Input, Static

from catalog.money import figure, minor, show
from triage.actions.bench_time import bench_time
from triage.actions.lots import change_lot, new_lot, share_of
from triage.actions.units import Added, add_units
from triage.bench_file import BenchFile
from triage.lot import Lot
from triage.screens.dialogs import Choice, Choose, Form, FormLine, Line, Over
from triage.screens.places import Place
from triage.screens.plain import plain
from triage.screens.units_field import UnitsField

HOW = "One kind a line, as you would say it: 3 gamepads drift. Pasting works too."


class NewLot(Vertical):
    """The first thing a person meets: what is in the box, what it is called, what was paid."""

    class Sent(UnitsField.Sent):
        """Everything for a new lot is typed."""

        def __init__(self, text: str, name: str, paid: str) -> None:
            """Carry what was typed."""
            super().__init__(text)
            self.name = name
            self.paid = paid

    def __init__(self, name: str, currency: str) -> None:
        """Suggest `name` for the lot."""
        super().__init__(classes="new-lot")
        self._suggested = name
        self._currency = currency

    def compose(self) -> ComposeResult:
        """The units first, since they are what one has in hand."""
        yield Static(plain("What is in the box?", "bold"), classes="-title")
        yield Static(plain(HOW))
        yield UnitsField()
        yield FormLine(Line("name", "the lot is called", self._suggested))
        yield FormLine(Line("paid", f"paid for all of it, {self._currency}", "", "0.00"))
        yield Static("", classes="-refused")
        yield Static(plain("Enter on an empty line starts; Tab goes to name and price"), classes="-keys")

    def take_focus(self) -> None:
        """Start with the units."""
        self.query_one(UnitsField).take_focus()

    def refused(self, why: str) -> None:
        """Say why; what was typed stays."""
        self.query_one(".-refused", Static).update(plain(f"! {why}", "bold"))

    @on(UnitsField.Sent)
    def _units_sent(self, event: UnitsField.Sent) -> None:
        if not isinstance(event, NewLot.Sent):
            event.stop()
            self.send()

    @on(Input.Submitted)
    def _line_sent(self, event: Input.Submitted) -> None:
        event.stop()
        if event.input.id == "in-name":
            self.query_one("#in-paid", Input).focus()
        else:
            self.send()

    def send(self) -> None:
        """Hand over what is typed."""
        name = self.query_one("#in-name", Input).value
        self.post_message(
            self.Sent(self.query_one(UnitsField).text, name or self._suggested, self.query_one("#in-paid", Input).value)
        )


def start_lot(bench: BenchFile, text: str, name: str, paid: str) -> tuple[Lot, Added | None]:
    """The job behind `NewLot`: the lot, then its units, if any are typed."""
    lot = new_lot(bench, name, paid=minor(paid, bench.currency) if paid.strip() else 0)
    return lot, add_units(bench, text, lot_id=lot.id) if text.strip() else None


class NewLotDialog(Over[None]):
    """The same for a further lot."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "leave", "leave", tooltip="No new lot", id="newlot.leave"),
        Binding("ctrl+s", "send", "start", tooltip="Start the lot", id="newlot.send"),
    ]

    def __init__(self, name: str, currency: str, send: Callable[[NewLotDialog, NewLot.Sent], None]) -> None:
        """`send` gets this dialog and what was typed; it calls `accepted` or `refused`."""
        super().__init__()
        self._suggested = name
        self._currency = currency
        self._send = send

    def compose(self) -> ComposeResult:
        """The shared widget in a frame."""
        with Vertical(classes="-dialog -tall"):
            yield NewLot(self._suggested, self._currency)

    def on_mount(self) -> None:
        """Type at once."""
        self.query_one(NewLot).take_focus()

    @on(NewLot.Sent)
    def _sent(self, event: NewLot.Sent) -> None:
        event.stop()
        self._send(self, event)

    def accepted(self, *_: object) -> None:
        """Close."""
        if self.is_current:
            self.dismiss(None)

    def refused(self, why: str) -> None:
        """Say why and stay open."""
        self.query_one(NewLot).refused(why)

    def action_send(self) -> None:
        """Start with what is typed."""
        self.query_one(NewLot).send()

    def action_leave(self) -> None:
        """No new lot."""
        self.dismiss(None)


class AddUnitsDialog(Over[str | None]):
    """More units for a lot; gives back what was typed."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "leave", "leave", tooltip="Add nothing", id="addunits.leave"),
        Binding("ctrl+s", "send", "add", tooltip="Add them", id="addunits.send"),
    ]

    def __init__(self, lot_name: str, text: str = "", why: str = "") -> None:
        """Start with `text` where it was refused before for the reason `why`."""
        super().__init__()
        self._lot_name = lot_name
        self._text = text
        self._why = why

    def compose(self) -> ComposeResult:
        """The field and the keys."""
        with Vertical(classes="-dialog -tall"):
            yield Static(plain(f"More units for “{self._lot_name}”", "bold"), classes="-title")
            yield Static(plain(HOW))
            yield UnitsField()
            yield Static(plain(f"! {self._why}" if self._why else "", "bold"), classes="-refused")
            yield Static(plain("Enter on an empty line adds them (ctrl+s too), Esc leaves it"), classes="-keys")

    def on_mount(self) -> None:
        """Type at once."""
        field = self.query_one(UnitsField)
        field.fill(self._text)
        field.take_focus()

    @on(UnitsField.Sent)
    def _sent(self, event: UnitsField.Sent) -> None:
        event.stop()
        self.dismiss(event.text)

    def action_send(self) -> None:
        """Add what is typed."""
        self.dismiss(self.query_one(UnitsField).text or None)

    def action_leave(self) -> None:
        """Add nothing."""
        self.dismiss(None)


def ask_details(place: Place, lot: Lot) -> None:
    """Open the form on a lot's own details."""

    def send(form: Form, typed: dict[str, str]) -> None:
        place.act(lambda bench: _change_details(bench, lot, typed), form.accepted, otherwise=form.refused)

    today = bench_time(place.shell.bench, lot).today
    about = "" if today is None else f"{today}; the plan goes by that"
    place.app.push_screen(Form(f"Lot “{lot.name}”", _details_lines(lot), send, about=about))


def _details_lines(lot: Lot) -> list[Line]:
    """A lot's details as lines of a form."""
    limit = show(lot.cash_limit, lot.currency) if lot.cash_limit is not None else "no" if lot.no_cash_limit else ""
    hours = f"{lot.bench_minutes / 60:g}" if lot.bench_minutes is not None else ""
    return [
        Line("name", "called", lot.name),
        Line("paid", f"paid, {lot.currency}", show(lot.paid, lot.currency)),
        Line("postage", f"postage and fuel, {lot.currency}", show(lot.postage, lot.currency)),
        Line("place", "bought where", lot.place),
        Line("bought_on", "bought on", lot.bought_on, "such as 2026-11-30"),
        Line("hours", "bench hours for it", hours, "say how many you have, or leave it empty"),
        Line("week", "bench hours by day", lot.week, "such as Mon-Fri 1; Sat 4"),
        Line("deadline", "to be done before", lot.deadline, "empty: no last day; such as 2026-12-20"),
        Line("price_fall", "prices fall, % a week", f"{lot.price_fall * 100:g}" if lot.price_fall else "", "0"),
        Line("cash_limit", f"most to spend on parts, {lot.currency}", limit, "not said yet; no = no limit"),
        Line("note", "note", lot.note),
    ]


def _change_details(bench: BenchFile, lot: Lot, typed: dict[str, str]) -> Lot:
    """The job behind the details form."""
    changes: dict[str, object] = {
        name: typed[name] for name in ("name", "place", "bought_on", "deadline", "week", "note")
    }
    changes["price_fall"] = share_of(typed["price_fall"])
    changes |= {name: minor(typed[name] or "0", lot.currency) for name in ("paid", "postage")}
    changes["bench_minutes"] = round(float(figure(typed["hours"])) * 60) if typed["hours"] else None
    none = typed["cash_limit"].casefold() == "no"
    changes["cash_limit"] = minor(typed["cash_limit"], lot.currency) if typed["cash_limit"] and not none else None
    changes["no_cash_limit"] = none
    changes = {name: value for name, value in changes.items() if value != getattr(lot, name)}
    return change_lot(bench, lot.id, **changes) if changes else lot


def added_words(added: Added) -> str:
    """Which units were added, and what to do with their numbers."""
    first, last = added.units[0].number, added.units[-1].number
    which = f"unit {first}" if first == last else f"units {first} to {last}"
    return f"{which} added; write the number on each"


def choose_lot(place: Place, lots: Sequence[Lot], then: Callable[[int], None]) -> None:
    """Choose one of the lots, the newest first."""
    choices = [
        Choice(str(lot.id), lot.name, f"paid {show(lot.paid, lot.currency)} {lot.currency}") for lot in reversed(lots)
    ]

    def chosen(lot_id: str | None) -> None:
        if lot_id is not None:
            then(int(lot_id))

    if choices:
        place.app.push_screen(Choose("Which lot?", choices), chosen)
