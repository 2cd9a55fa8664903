"""The keys of the place Lot and what each does, for the footer, for help and for `lotwright keys`."""

from __future__ import annotations

from typing import Final

from textual.binding import Binding, BindingType

KEYS: Final[list[BindingType]] = [
    Binding("enter", "to_bench", "bench", tooltip="Take the unit under the cursor to the Bench", id="lot.bench"),
    Binding("a", "add", "add units", tooltip="Add units to this lot: type or paste them", id="lot.add"),
    Binding("e", "edit", "edit", tooltip="What is known of the unit: model, note, shelf, prices", id="lot.edit"),
    Binding("x,p", "pile", "pile", tooltip="Put the unit on a pile by hand, with the reason", id="lot.pile"),
    Binding("d", "batch", "same look", tooltip="The same look down a list of units", id="lot.batch"),
    Binding("b", "best", "best look", tooltip="Go to the unit whose look pays most", id="lot.best"),
    Binding("i", "take_in", "import", tooltip="Take in a CSV list: units, parts, suppliers, prices", id="lot.import"),
    Binding("w", "moved", "moved", tooltip="Which decisions moved, and why", id="lot.moved"),
    Binding("n", "new", "new lot", show=False, tooltip="Start a new lot", id="lot.new"),
    Binding("L", "switch", "lots", show=False, tooltip="Switch to another lot", id="lot.switch"),
    Binding("m", "details", "details", tooltip="The lot's name, price, hours, last day", id="lot.details"),
    Binding("c", "choose_class", "what is it", show=False, tooltip="Say what the unit is", id="lot.class"),
    Binding(
        "delete", "remove", "remove", show=False, tooltip="Remove a unit that nothing happened to", id="lot.remove"
    ),
    Binding("ctrl+s", "start", "start", show=False, tooltip="Start the first lot with what is typed", id="lot.start"),
]
