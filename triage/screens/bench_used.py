"""What went into a repair out of the drawer: told for what leaves by itself, ticked for what else was used."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import ClassVar

from textual import events, on
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.message import Message
from textual.widget import Widget
from textual.widgets import Input, OptionList, Static
from textual.widgets.option_list import Option

from triage.actions.using import Chosen, Usable, Using
from triage.bench_file import BenchFile
from triage.screens.dialogs import Form, FormLine, Line
from triage.screens.places import Place
from triage.screens.plain import plain, stacked, styled

Look = Callable[[BenchFile, str, tuple[tuple[int, int], ...]], Using]
"""Finds what is used, by what is searched for and the (part id, pieces) that are ticked."""


class UsedList(OptionList):
    """Drawer parts to tick: Space takes one or none, a digit says how many. What is ticked stays in sight.

    What a plan takes is ticked at once, until the person says otherwise of it.
    """

    class Ticked(Message):
        """Something else is ticked now."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("space", "select", "tick", show=False, tooltip="One of it was used, or none", id="used.turn"),
        Binding("enter", "screen.send", "keep", show=False, tooltip="Keep it", id="used.keep"),
    ]

    def __init__(self) -> None:
        """Nothing is offered yet."""
        super().__init__(id="used-list", compact=True)
        self._offered: tuple[Usable, ...] = ()
        self._rows: list[Usable] = []
        self._taken: dict[int, tuple[Usable, int]] = {}
        self._chosen: tuple[Chosen, ...] = ()
        self._by_hand: set[int] = set()
        """Parts of which the person said how many."""

    @property
    def taken(self) -> tuple[tuple[int, int], ...]:
        """(part id, pieces) of what is ticked."""
        return tuple((part, pieces) for part, (_, pieces) in self._taken.items())

    def offer(self, offered: Sequence[Usable], chosen: Sequence[Chosen] = ()) -> None:
        """Show these below what is ticked already, and tick what a plan has `chosen`."""
        if (tuple(offered), tuple(chosen)) == (self._offered, self._chosen):
            return  # the cursor stays where it is
        before = self.taken
        for one in self._chosen:
            if one.usable.part not in self._by_hand:
                self._taken.pop(one.usable.part, None)
        for one in chosen:
            if one.usable.part not in self._by_hand:
                self._taken[one.usable.part] = one.usable, one.pieces
        self._offered, self._chosen = tuple(offered), tuple(chosen)
        kept = [one for one, _ in self._taken.values()]
        self._rows = [*kept, *(one for one in self._offered if one.part not in self._taken)]
        self.clear_options()
        self.add_options(Option(self._drawn(one)) for one in self._rows)
        self.display = bool(self._rows)
        if self.taken != before:
            self.post_message(self.Ticked())

    def on_focus(self) -> None:
        """Stand on a row, so that Space ticks at once."""
        if self.highlighted is None and self._rows:
            self.highlighted = 0

    def on_key(self, event: events.Key) -> None:
        """A digit says how many of the row were used; 0 takes the tick away."""
        if event.character and event.character.isascii() and event.character.isdigit() and self.highlighted is not None:
            event.stop()
            self._take(self.highlighted, int(event.character))

    @on(OptionList.OptionSelected)
    def _turned(self, event: OptionList.OptionSelected) -> None:
        event.stop()
        ticked = self._rows[event.option_index].part in self._taken
        self._take(event.option_index, 0 if ticked else 1)

    def _take(self, row: int, pieces: int) -> None:
        one = self._rows[row]
        self._by_hand.add(one.part)
        self._taken.pop(one.part, None)
        if pieces:
            self._taken[one.part] = (one, min(pieces, one.free))
        self.replace_option_prompt_at_index(row, self._drawn(one))
        self.post_message(self.Ticked())

    def _drawn(self, one: Usable) -> Content:
        pieces = self._taken[one.part][1] if one.part in self._taken else 0
        mark = f"[{pieces}] " if pieces else "[ ] "
        grade = (f"{one.grade}  ", "bold") if one.grade else ""
        plan = ", as planned" if any(one.part == each.usable.part for each in self._chosen) else ""
        return styled((mark, "bold"), grade, one.name, (f"  {one.free} free, {one.place or 'drawer'}{plan}", "dim"))


class UsingForm(Form):
    """A form that tells what leaves the drawer with it, and lets other parts be ticked that were used."""

    def __init__(
        self,
        place: Place,
        title: str,
        lines: Sequence[Line],
        send: Callable[[dict[str, str]], None],
        look: Look,
        *,
        about: str = "",
    ) -> None:
        """`look` finds, in the back room of `place`, what leaves by itself and what was typed for the rest."""
        super().__init__(title, lines, lambda _, typed: send(typed), about=about)
        self._place = place
        self._look = look
        self._using = Using((), ())
        self.add_class("-using")

    def compose_below(self) -> Sequence[Widget]:
        """What leaves by itself, a line to search the rest, and what was found."""
        search = Line("used", "other parts used", "", "search the drawer; ↓ to what is found")
        return [Static("", id="used-told"), FormLine(search), UsedList()]

    def on_mount(self) -> None:
        """Look for the first time; the base class has put the cursor into its first line."""
        self.look_again()

    @on(Input.Changed, "#in-used")
    def _searched(self, event: Input.Changed) -> None:
        event.stop()
        self.look_again()

    @on(UsedList.Ticked)
    def _ticked_part(self, event: UsedList.Ticked) -> None:
        event.stop()
        self.look_again()

    def look_again(self) -> None:
        """What leaves, and what else may have been used, as things are ticked and typed now."""
        query, look = self.query_one("#in-used", Input).value, self._look
        taken = self.query_one(UsedList).taken
        self._place.work_out(lambda bench: look(bench, query, taken), self._show, kind="using")

    def _show(self, using: Using) -> None:
        if not self.is_mounted:
            return
        self._using = using
        told = [styled(("from the drawer: ", "bold"), str(item)) for item in using.leaving]
        told += [styled(("! ", "bold"), words) for words in using.makeshift]
        self.query_one("#used-told", Static).update(stacked(told) if told else plain(""))
        self.query_one("#used-told").display = bool(told)
        self.query_one(UsedList).offer(using.others, using.chosen)

    @property
    def named(self) -> tuple[tuple[int, int], ...]:
        """The (part id, pieces) to name: what is ticked, and with it what would leave for its words alone."""
        taken = self.query_one(UsedList).taken
        ticked = {part for part, _ in taken}
        by_words = (item for item in self._using.leaving if not item.promised and item.part not in ticked)
        return (*taken, *((item.part, item.pieces) for item in by_words)) if taken else ()
