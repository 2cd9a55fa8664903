"""The keys of the place Parts and what each does, most used first: key line, help and `lotwright keys` show them.

The keys that leave the search line are heard before it (`priority`): a line handles its keys one after the other, and
a key behind the one that leaves would still go into it when several are typed at once.
"""

from __future__ import annotations

from typing import Final

from textual.binding import Binding, BindingType

KEYS: Final[list[BindingType]] = [
    Binding("escape,slash", "to_query", "search", tooltip="From a list back to the search line", id="parts.query"),
    Binding(
        "escape",
        "leave_query",
        "to the list and its keys",
        priority=True,
        tooltip="Out of the search line, to the list and its keys",
        id="parts.leave",
    ),
    Binding(
        "down,enter",
        "leave_query",
        "list",
        show=False,
        priority=True,
        tooltip="Out of the search line",
        id="parts.down",
    ),
    Binding(
        "tab", "switch", "wanted", priority=True, tooltip="Over to what the units want, and back", id="parts.switch"
    ),
    Binding("a", "add", "add", tooltip="Put a part into the drawer", id="parts.add"),
    Binding("plus", "count(1)", "one more", show=False, key_display="+", tooltip="One piece more", id="parts.more"),
    Binding("minus", "count(-1)", "one less", show=False, key_display="-", tooltip="One piece less", id="parts.less"),
    Binding(
        "equals_sign",
        "set_count",
        "count",
        key_display="=",
        tooltip="Say how many there are, and where",
        id="parts.count",
    ),
    Binding("s", "spare", "spares", show=False, tooltip="Spares of it would be good to have", id="parts.spare"),
    Binding(
        "k",
        "compromise",
        "compromise",
        tooltip="Allow a compromise for a wanted part, or not",
        id="parts.compromise",
    ),
    Binding(
        "x", "drop", "not wanted", tooltip="A described part is not wanted after all, or is again", id="parts.drop"
    ),
    Binding("p", "count_place", "place", tooltip="Count a whole place as one step", id="parts.place"),
    Binding(
        "o",
        "own_word",
        "own word",
        tooltip="Your own word on substitutes: part numbers, figures, rules",
        id="parts.own",
    ),
    Binding(
        "i",
        "take_in",
        "import",
        tooltip="Take in a list of parts, suppliers or prices, from a file or address",
        id="parts.import",
    ),
    Binding("m", "move", "move", tooltip="Move it, and others of its place, to another place", id="parts.move"),
    Binding(
        "s",
        "from_sheets",
        "sheets",
        show=False,
        tooltip="Describe all that the sheets of the models know",
        id="parts.sheets",
    ),
    Binding("w", "to_wanted", "wanted", show=False, tooltip="What the units want", id="parts.wanted"),
    Binding("w", "to_hits", "found", tooltip="What was found", id="parts.found"),
]
