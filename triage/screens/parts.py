"""The place Parts: find what is typed, in the drawer and on offer, and say which part a unit needs."""

from __future__ import annotations

from collections.abc import Callable
from typing import ClassVar

from textual import events, on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.content import Content
from textual.widgets import Input, Static

from catalog.fit import Fit
from triage.actions.drawer import Counted, count_more
from triage.actions.finding import Found, Search, why_it_fits
from triage.actions.needs import allow_compromise, describe_from_sheets, describe_need, turn_need, wanted_parts
from triage.bench_file import BenchFile
from triage.screens import parts_draw
from triage.screens.dialogs import Page
from triage.screens.later import new_spare
from triage.screens.parts_count import count_a_place
from triage.screens.parts_describe import Describe, Described, searched
from triage.screens.parts_dialogs import add_form, count_form, move_form
from triage.screens.parts_keys import KEYS
from triage.screens.parts_own import own_word
from triage.screens.parts_query import QueryLine, make_ready, settle
from triage.screens.places import Place
from triage.screens.plain import plain
from triage.screens.rows import RowList
from triage.screens.take_in import take_in_form
from triage.wants import WantedPart

_ON_HITS = frozenset({"add", "count", "set_count", "move", "spare", "take_in", "to_wanted"})
_ON_WANTED = frozenset({"compromise", "drop", "from_sheets", "to_hits"})
_ON_LISTS = frozenset({"to_query", "count_place", "own_word"})


class PartsScreen(Place):
    """Drawer and offers, and what the units want."""

    PLACE = "parts"
    ABOUT = (
        "Type what you see or remember: 4.7 25v elko small, T1.6A 5x20, belt 135 mm circumference square 1.2. Found is "
        "what fits best: how many are held, where they lie, and how many of them are promised to which unit. Below "
        "stands what the units want; Enter there says exactly what it is. While the cursor blinks in the search line, "
        "letters are typed: Esc, ↓ or Enter goes to the list, where they are keys; Tab goes over to what is wanted."
    )
    CSS_PATH = "parts_order.tcss"
    BINDINGS: ClassVar[list[BindingType]] = KEYS

    def __init__(self) -> None:
        """Nothing is searched yet."""
        super().__init__()
        self._found: Search | None = None
        self._wanted: tuple[WantedPart, ...] = ()
        self._query = ""
        self._verdict: tuple[Found, Fit | None] | None = None

    # --- what is shown -------------------------------------------------------------------------------------------

    def compose_place(self) -> ComposeResult:
        """The search line and what it is read as; what was found; what is wanted."""
        yield QueryLine(placeholder="what you see on it, or remember of it", id="parts-query", compact=True)
        yield Static("", id="parts-read")
        with Horizontal(id="parts-body"):
            with Vertical(id="parts-left"):
                yield RowList(id="parts-hits")
                with VerticalScroll(id="parts-under", can_focus=False):
                    yield Static("", id="parts-detail")
            with Vertical(id="parts-right"):
                yield Static(plain("working out what the units want …", "dim"), id="parts-wanted-head")
                yield RowList(id="parts-wanted")

    @property
    def _line(self) -> Input:
        return self.query_one("#parts-query", Input)

    @property
    def _hits_list(self) -> RowList:
        return self.query_one("#parts-hits", RowList)

    @property
    def _wanted_list(self) -> RowList:
        return self.query_one("#parts-wanted", RowList)

    def refresh_place(self) -> None:
        """Search again and list what is wanted."""
        if self.focused is None and self.app.screen is self:
            self.set_focus(self._line)
        lot_id = self.shell.lot_id
        make_ready(self, lambda: self._search(self._query))
        self._search(self._query)
        self.work_out(lambda bench: wanted_parts(bench, lot_id, aside=True), self._show_wanted, kind="wanted")

    @on(Input.Changed, "#parts-query")
    def _typed(self, event: Input.Changed) -> None:
        event.stop()
        if event.value != self._query:
            self._search(event.value)

    def _search(self, text: str) -> None:
        self._query = text
        way = self.shell.room("find").check_way
        self.work_out(lambda bench: searched(bench, text, way), self._show_found, kind="find", lane="find")

    def _show_found(self, found: Search) -> None:
        if found.query != self._query:
            return
        same = self._found is not None and self._found.query == found.query
        self._found = found
        settle(self, found, lambda: self._search(self._query))
        self.query_one("#parts-read", Static).update(parts_draw.reading(found))
        self._hits_list.show(len(found.found), self._draw_hit, at=None if same else 0, empty=parts_draw.nothing(found))

    def _draw_hit(self, row: int, width: int) -> Content:
        return parts_draw.hit(self._found, row, width) if self._found is not None else Content("")

    def _show_wanted(self, wanted: tuple[WantedPart, ...]) -> None:
        self._wanted = wanted
        self.query_one("#parts-wanted-head", Static).update(parts_draw.wanted_head(wanted))
        self._wanted_list.show(len(wanted), self._draw_wanted)
        self._lead_to_unit()

    def _draw_wanted(self, row: int, width: int) -> Content:
        return parts_draw.wanted(self._wanted[row], width, self.shell.bench.currency)

    def _lead_to_unit(self) -> None:
        """Coming from the Bench or the Order: stand on what that unit wants and is not described yet."""
        unit, self.shell.describe_unit = self.shell.describe_unit, None
        if unit is None:
            return
        mine = [place for place, item in enumerate(self._wanted) if item.unit == unit]
        open_ones = [place for place in mine if not self._wanted[place].described]
        if not mine:
            self.say(f"unit {unit} wants no part as things stand")
            return
        self._wanted_list.cursor = (open_ones or mine)[0]
        self.set_focus(self._wanted_list)
        if open_ones:
            self._describe(self._wanted[open_ones[0]])

    # --- under the cursor ----------------------------------------------------------------------------------------

    @on(RowList.Moved, "#parts-hits")
    def _on_hit(self, event: RowList.Moved) -> None:
        event.stop()
        found = self._hit()
        self._verdict = None
        if found is None or self._found is None:
            self._show_detail()
            return
        query, kind = self._found.query, self._found.kind
        self.work_out(
            lambda bench: (found, why_it_fits(bench, query, kind, found.hit.entry)),
            self._show_why,
            kind="why",
            lane="find",
        )

    def _show_why(self, verdict: tuple[Found, Fit | None]) -> None:
        if verdict[0] is self._hit():
            self._verdict = verdict
            self._show_detail()

    @on(RowList.Moved, "#parts-wanted")
    def _on_wanted(self, event: RowList.Moved) -> None:
        event.stop()
        if self.focused is self._wanted_list:
            self._show_detail()

    @on(events.DescendantFocus)
    def _focus_moved(self) -> None:
        self._show_detail()

    def _show_detail(self) -> None:
        item = self._item()
        if self.focused is self._wanted_list and item is not None:
            told = parts_draw.wanted_lines(item, self.shell.bench.currency)
        elif self._verdict is not None:
            told = parts_draw.hit_lines(*self._verdict)
        else:
            told = Content("")
        self.query_one("#parts-detail", Static).update(told)
        self.query_one("#parts-under").scroll_home(animate=False)

    def _hit(self) -> Found | None:
        row, found = self._hits_list.cursor, self._found
        return found.found[row] if found is not None and row is not None and row < len(found.found) else None

    def _item(self) -> WantedPart | None:
        row = self._wanted_list.cursor
        return self._wanted[row] if row is not None and row < len(self._wanted) else None

    # --- found ---------------------------------------------------------------------------------------------------

    @on(RowList.Picked, "#parts-hits")
    def _whole_why(self, event: RowList.Picked) -> None:
        event.stop()
        if self._verdict is not None:
            self.app.push_screen(Page("Why it fits, or not", parts_draw.hit_lines(*self._verdict)))

    def action_count(self, by: int) -> None:
        """One piece more or less in the drawer."""
        found = self._counted()
        if found is not None:
            part_id = found.hit.entry.id
            self.act(lambda bench: count_more(bench, part_id, by), self._told_count)

    def _told_count(self, counted: Counted) -> None:
        self.say(f"{counted.told}; u takes it back" if counted.changed else "there is none to take away")

    def action_set_count(self) -> None:
        """Say how many there are, and where."""
        found = self._counted()
        if found is not None:
            self.app.push_screen(count_form(self, found.hit.entry))

    def action_count_place(self) -> None:
        """Count a whole place."""
        count_a_place(self)

    def action_move(self) -> None:
        """Move it to another place."""
        found = self._counted()
        if found is not None:
            move_form(self, found.hit.entry)

    def _counted(self) -> Found | None:
        found = self._hit()
        if found is None or found.hit.entry.source != "part":
            self.say("only what lies in your drawer can be counted or moved")
            return None
        return found

    def action_spare(self) -> None:
        """Spares of what was found would be good to have."""
        found = self._hit()
        if found is None:
            self.say("stand on what was found; s says that spares of it would be good to have")
            return
        entry = found.hit.entry
        by_number = entry.kind == "listed" and entry.part_number
        new_spare(self, entry.part_number if by_number else entry.description or entry.part_number, entry.kind)

    def action_add(self) -> None:
        """A part for the drawer."""
        self.app.push_screen(add_form(self, self._query))

    def action_own_word(self) -> None:
        """What the person says themselves about what stands in for what."""
        own_word(self, self._found, self._hit(), self._verdict[1] if self._verdict is not None else None)

    def action_take_in(self) -> None:
        """A CSV list of parts, suppliers or prices."""
        self.app.push_screen(take_in_form(self))

    # --- wanted --------------------------------------------------------------------------------------------------

    @on(RowList.Picked, "#parts-wanted")
    def _pick_wanted(self, event: RowList.Picked) -> None:
        event.stop()
        item = self._item()
        if item is not None:
            self._describe(item)

    def _describe(self, item: WantedPart) -> None:
        held = item.need

        def send(dialog: Describe, said: Described) -> None:
            self.act(
                lambda bench: describe_need(
                    bench,
                    item.unit,
                    item.part,
                    said.text,
                    kind=held.kind if held else "",
                    role=held.role if held else "",
                    pieces=parts_draw.pieces(said.pieces),
                    compromise_ok=bool(held and held.compromise_ok),
                ),
                dialog.accepted,
                otherwise=dialog.refused,
            )

        self.app.push_screen(Describe(item, send))

    def action_compromise(self) -> None:
        """Allow a compromise for this part, or forbid it again."""
        item = self._item()
        allowed = not (item is not None and item.need is not None and item.need.compromise_ok)
        self._on_need(lambda bench, need_id: allow_compromise(bench, need_id, allowed=allowed))

    def action_drop(self) -> None:
        """Not wanted after all, or wanted again."""
        self._on_need(turn_need)

    def action_from_sheets(self) -> None:
        """Describe everything that a sheet of a model knows."""
        lot_id = self.shell.lot_id
        self.act(
            lambda bench: describe_from_sheets(bench, lot_id),
            lambda kept: self.say(f"{len(kept)} described as on their model's sheet; u takes it back"),
        )

    def _on_need(self, job: Callable[[BenchFile, int], object]) -> None:
        item = self._item()
        if item is None or item.need is None:
            self.say("describe it first: Enter")
            return
        need_id = item.need.id
        self.act(lambda bench: job(bench, need_id))

    # --- moving --------------------------------------------------------------------------------------------------

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Only what the line or list with the focus can do."""
        if not self.is_mounted:
            return True
        hits, wanted = self.focused is self._hits_list, self.focused is self._wanted_list
        if action in _ON_HITS:
            return hits
        if action in _ON_WANTED:
            return wanted
        if action in _ON_LISTS:
            return hits or wanted
        if action == "leave_query":
            return self.focused is self._line
        return super().check_action(action, parameters)

    @on(RowList.PastTop)
    def _past_top(self, event: RowList.PastTop) -> None:
        event.stop()
        self.action_to_query()

    def on_key(self, event: events.Key) -> None:
        """What is typed while this place is only just coming up goes where it will stand."""
        if self.focused is None and event.character is not None and event.is_printable:
            event.stop()
            self.set_focus(self._line)
            self._line.post_message(events.Key(event.key, event.character))

    def action_leave_query(self) -> None:
        """Out of the search line, into what was found."""
        self.set_focus(self._hits_list)

    def action_switch(self) -> None:
        """Over to what is wanted, or back to the search line."""
        if self.focused is self._wanted_list:
            self.set_focus(self._line)
        else:
            self.set_focus(self._wanted_list)

    def action_to_hits(self) -> None:
        """Into what was found."""
        self.set_focus(self._hits_list)

    def action_to_wanted(self) -> None:
        """Into what is wanted."""
        self.set_focus(self._wanted_list)

    def action_to_query(self) -> None:
        """Back to the search line."""
        self.set_focus(self._line)
