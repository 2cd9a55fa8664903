"""A supplier on the Order: how far its goods are from free postage, and the form on what it asks."""

from __future__ import annotations

from textual.content import Content

from catalog.money import show
from triage.actions.suppliers import FIELDS, change_supplier, find_supplier, supplier_texts
from triage.papers import OrderSheet
from triage.screens.dialogs import Form, Line
from triage.screens.places import Place
from triage.screens.plain import Piece, day, fitted, stacked, styled

_FULL, _EMPTY = "█", "░"
_HINTS = {
    "lead_days_late": "empty: as the usual ones",
    "shipping_by_value": "empty: not; such as 0: 4.95; 20: 2.95",
    "shipping_by_weight": "empty: not; such as 0: 2.50; 500: 4.50",
    "free_from": "empty: never",
    "import_above": "empty: never asked",
}


def postage_bar(sheet: OrderSheet, width: int) -> str:
    """How far the goods are to free postage, `width` cells; empty where postage is free or never is."""
    if sheet.to_free is None:
        return ""
    share = sheet.goods / (sheet.goods + sheet.to_free)
    full = min(width - 1, int(share * width))  # full only where it is free
    return _FULL * full + _EMPTY * (width - full)


def head(sheet: OrderSheet, width: int) -> Content:
    """A supplier: when it is here, what goods and postage come to, how far it is to free postage."""
    goods, postage = show(sheet.goods, sheet.currency), show(sheet.shipping, sheet.currency)
    more = f", fees and tax {show(sheet.charges, sheet.currency)}" if sheet.charges else ""
    sums = f"  {show(sheet.total, sheet.currency)}: goods {goods}, postage {postage}{more}"
    pieces: list[Piece] = []
    if sheet.to_free is not None:
        left = show(sheet.to_free, sheet.currency)
        bar = postage_bar(sheet, 6 if width < 100 else 12)
        pieces = [f" {bar} ", (f"{left} to free", "dim")]
    elif not sheet.shipping:
        pieces = [" (free)"]
    due = day(sheet.due)
    taken = len(due) + 1 + len(sums) + sum(len(piece if isinstance(piece, str) else piece[0]) for piece in pieces)
    name = fitted(sheet.supplier, max(6, width - taken)).rstrip()
    return styled((f"{due} ", "bold"), (name, "bold underline"), sums, *pieces)


def detail(sheet: OrderSheet) -> Content:
    """The same in sentences."""
    late = f", at the latest {day(sheet.due_late)}" if sheet.due_late != sheet.due else ""
    lines = [styled((sheet.supplier, "bold"), f", here {day(sheet.due)}{late}; Enter or e changes what it asks")]
    if sheet.to_free is not None:
        bar, left = postage_bar(sheet, 30), show(sheet.to_free, sheet.currency)
        lines.append(styled(f"postage {bar} ", (f"free for {left} more of goods", "bold")))
        lines.append(styled(("more is only bought where it pays by itself", "dim")))
    return stacked(lines)


def edit_supplier(place: Place, name: str) -> None:
    """Open the form on one supplier."""
    texts = supplier_texts(find_supplier(place.shell.bench, name))
    lines = [Line(field, words, texts[field], _HINTS.get(field, "")) for field, words in FIELDS.items()]

    def send(form: Form, typed: dict[str, str]) -> None:
        changes = {field: text for field, text in typed.items() if text != texts[field]}
        if changes:
            place.act(lambda bench: change_supplier(bench, name, changes), form.accepted, otherwise=form.refused)
        else:
            form.accepted()

    about = "Amounts in its own currency. Days that it really took weigh in by themselves."
    place.app.push_screen(Form(name, lines, send, about=about, first="lead_days"))
