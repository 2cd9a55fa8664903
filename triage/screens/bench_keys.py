"""The keys of the place Bench and what each does, for the footer, for help and for `lotwright keys`."""

from __future__ import annotations

from typing import Final

from textual.binding import Binding, BindingType

KEYS: Final[list[BindingType]] = [
    Binding("y", "answer('yes')", "yes", show=False, tooltip="Answer yes", id="bench.yes"),
    Binding("n", "answer('no')", "no", show=False, tooltip="Answer no", id="bench.no"),
    Binding(
        "c",
        "answer('cant_tell')",
        "can't tell",
        show=False,
        tooltip="Looked, but cannot tell",
        id="bench.cant_tell",
    ),
    Binding("s", "answer('not_now')", "not now", show=False, tooltip="Put this question off", id="bench.not_now"),
    Binding("enter", "answer('keep')", "as assumed", show=False, tooltip="Keep what is assumed", id="bench.keep"),
    Binding(
        "x",
        "answer('does_not_apply')",
        "n/a",
        show=False,
        tooltip="This unit has no such thing",
        id="bench.does_not_apply",
    ),
    Binding("r", "repair", "repaired", tooltip="Note a repair; the retest comes next", id="bench.repair"),
    Binding("l", "looks", "looks", tooltip="Choose another look", id="bench.looks"),
    Binding("v", "sums", "sums", tooltip="The sums term by term, and where the answer flips", id="bench.sums"),
    Binding("w", "why", "why", tooltip="Which answers moved which suspect", id="bench.why"),
    Binding("f", "follow", "follow", tooltip="Follow a signal to where it is gone", id="bench.follow"),
    Binding("b", "next_paying", "next", tooltip="The next unit with a look that pays", id="bench.next_paying"),
    Binding(
        "h",
        "dangers",
        "hazards",
        tooltip="Hazards, what releases them, hidden causes",
        id="bench.dangers",
    ),
    Binding(
        "z",
        "suspect",
        "idea",
        tooltip="An idea of your own: a fault that is on no list, or take it off",
        id="bench.suspect",
    ),
    Binding("m", "mend", "mend", tooltip="Mend an older answer", id="bench.mend"),
    Binding("p", "pile", "pile", show=False, tooltip="Put the unit on a pile by hand", id="bench.pile"),
    Binding("t", "note", "note", tooltip="Keep a note: screws, ribbons, where the bag is", id="bench.note"),
    Binding("e", "edit", "edit", tooltip="Model, shelf, looks and your own prices", id="bench.edit"),
    Binding("d", "describe", "part", show=False, tooltip="Describe the part it needs", id="bench.describe"),
    Binding(
        "j",
        "lift",
        "lift",
        show=False,
        tooltip="Take a part out, into the drawer or for another unit; or put it back",
        id="bench.lift",
    ),
    Binding("g", "found", "found", tooltip="Say what was wrong with it in the end", id="bench.found"),
    Binding("i", "sheet", "sheet", tooltip="What is known of this model, and adding to it", id="bench.sheet"),
    Binding("a", "swap", "swap", show=False, tooltip="Swap test: exchange a part with a like unit", id="bench.swap"),
    Binding(
        "L", "later", "later", show=False, tooltip="What is makeshift in it: exchange, worth, add", id="bench.later"
    ),
    Binding("k", "case", "case", show=False, tooltip="Say that the case was opened or closed", id="bench.case"),
    Binding("left,left_square_bracket", "step(-1)", "before", show=False, tooltip="The unit before", id="bench.before"),
    Binding("right,right_square_bracket", "step(1)", "after", show=False, tooltip="The unit after", id="bench.after"),
    Binding("B", "big", "big", show=False, tooltip="The question in large letters, or back", id="bench.big"),
    Binding("escape", "back", "back", show=False, tooltip="Leave the reading, or the look you chose", id="bench.back"),
]
