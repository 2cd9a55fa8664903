"""The keys of the place Order and what each does, for the footer, for help and for `lotwright keys`."""

from __future__ import annotations

from typing import Final

from textual.binding import Binding, BindingType

KEYS: Final[list[BindingType]] = [
    Binding("p", "place", "sent", tooltip="The order was sent: note it", id="order.place"),
    Binding("f", "files", "files", tooltip="Write the order as files", id="order.files"),
    Binding("r", "receive", "received", tooltip="Goods have come", id="order.receive"),
    Binding("v", "decisions", "units", tooltip="Unit by unit: its pile, its value, what it gets", id="order.decided"),
    Binding(
        "w",
        "left_out",
        "why not",
        show=False,
        tooltip="What nearly serves, and why it is left out",
        id="order.left_out",
    ),
    Binding("s", "contest", "substitute", tooltip="To where a substitute stands against waiting", id="order.contest"),
    Binding("y", "why", "why", tooltip="Why this line: what every other way would cost", id="order.why"),
    Binding(
        "t",
        "timing",
        "now or later",
        tooltip="What to order today, and what only after the looks",
        id="order.timing",
    ),
    Binding(
        "h",
        "pin",
        "hold",
        tooltip="Keep this line, or say where not to buy",
        id="order.pin",
    ),
    Binding("left", "walk(-1)", "sooner", show=False, tooltip="Walk the days of the plot back", id="order.sooner"),
    Binding("right", "walk(1)", "later", show=False, tooltip="Walk the days of the plot", id="order.later"),
    Binding(
        "enter",
        "go_there",
        "go there",
        show=False,
        tooltip="From a row to its unit, its part or its goods",
        id="order.go",
    ),
    Binding(
        "c",
        "cancel",
        "take back order",
        show=False,
        tooltip="Take an order back by a dated counter-entry",
        id="order.cancel",
    ),
    Binding("g", "again", "plan again", show=False, tooltip="Plan again", id="order.again"),
    Binding(
        "d",
        "describe",
        "describe",
        show=False,
        tooltip="Describe the first part that waits for it",
        id="order.describe",
    ),
    Binding(
        "escape",
        "stop",
        "stop",
        show=False,
        tooltip="Stop planning; the best plan so far is shown",
        id="order.stop",
    ),
    Binding("e", "supplier", "supplier", tooltip="What the supplier of this row asks", id="order.supplier"),
    Binding("i", "arrivals", "arrivals", tooltip="When what arrives", id="order.arrivals"),
    Binding("L", "later", "makeshift", tooltip="What is makeshift, and spares: worth, drop, add", id="order.makeshift"),
    Binding("a", "spare", "spares", tooltip="Add spares that would be good to have", id="order.spare"),
]
