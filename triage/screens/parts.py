"""The place Parts: find what is typed, in the drawer and on offer, and say which part a unit needs."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.widgets import Input, OptionList, Static
from textual.widgets.option_list import Option

from catalog.fit import Fit
from catalog.money import minor
from catalog.search import Hit
from triage.actions.judging import fit_texts
from triage.actions.needs import WantedPart, allow_compromise, describe_need, drop_need, wanted_parts
from triage.actions.parts import add_part, change_part
from triage.actions.prices import import_any
from triage.bench_file import BenchFile
from triage.screens import parts_draw
from triage.screens.dialogs import Form, Line
from triage.screens.parts_describe import Describe, Search, searched
from triage.screens.places import Place
from triage.screens.plain import styled


class HitList(OptionList):
    """What was found; the place formats the lines."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "screen.to_query", "search", tooltip="Back to the search line", id="hits.query"),
        Binding("a", "screen.add", "add", tooltip="Put a part into the drawer", id="hits.add"),
        Binding("plus", "screen.count(1)", "one more", show=False, tooltip="One piece more", id="hits.more"),
        Binding("minus", "screen.count(-1)", "one less", show=False, tooltip="One piece less", id="hits.less"),
        Binding("equals_sign", "screen.set_count", "count", tooltip="Say how many there are", id="hits.count"),
        Binding("i", "screen.take_in", "import", tooltip="Take in a CSV list", id="hits.import"),
        Binding("w", "screen.to_wanted", "wanted", tooltip="What the units want", id="hits.wanted"),
    ]


class WantedList(OptionList):
    """What the units that lean to fix want."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "screen.to_query", "search", tooltip="Back to the search line", id="wanted.query"),
        Binding("k", "screen.compromise", "compromise", tooltip="Allow a compromise, or not", id="wanted.compromise"),
        Binding("x", "screen.drop", "not wanted", tooltip="It is not wanted after all", id="wanted.drop"),
        Binding("j", "cursor_down", "down", show=False, tooltip="Next", id="wanted.down"),
        Binding("w", "screen.to_hits", "found", show=False, tooltip="What was found", id="wanted.hits"),
    ]


class QueryInput(Input):
    """The search line."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("down", "screen.to_hits", "to the list", tooltip="Into what was found", id="query.hits"),
        Binding("tab", "screen.to_wanted", "wanted", tooltip="What the units want", id="query.wanted"),
        Binding("escape", "screen.clear", "clear", tooltip="Empty the line", id="query.clear"),
    ]


class PartsScreen(Place):
    """Drawer and offers, and what the units want."""

    PLACE = "parts"
    ABOUT = (
        "Type what you see or remember: 4.7 25v elko small, T1.6A 5x20, belt 135 mm circumference square 1.2. Found is "
        "what fits best, with where it lies. Below stands what the units want; Enter says exactly what it is."
    )

    def __init__(self) -> None:
        """Nothing is searched yet."""
        super().__init__()
        self._hits: tuple[Hit, ...] = ()
        self._wanted: tuple[WantedPart, ...] = ()
        self._query = ""

    # --- what is shown -------------------------------------------------------------------------------------------

    def compose_place(self) -> ComposeResult:
        """The search line and what it is read as; what was found; what is wanted."""
        yield QueryInput(placeholder="what you see on it, or remember of it", id="parts-query", compact=True)
        yield Static("", id="parts-read")
        with Horizontal(id="parts-body"):
            with Vertical(id="parts-left"):
                yield HitList(id="parts-hits")
                with VerticalScroll(id="parts-under", can_focus=False):
                    yield Static("", id="parts-detail")
            with Vertical(id="parts-right"):
                yield Static("", id="parts-wanted-head")
                yield WantedList(id="parts-wanted")

    def refresh_place(self) -> None:
        """Search again and list what is wanted."""
        if self.focused is None and self.app.screen is self:
            self.query_one(QueryInput).focus()
        lot_id = self.shell.lot_id
        self._search(self._query)
        self.work_out(lambda bench: wanted_parts(bench, lot_id), self._show_wanted, kind="wanted")

    @on(Input.Changed, "#parts-query")
    def _typed(self, event: Input.Changed) -> None:
        event.stop()
        self._search(event.value)

    def _search(self, text: str) -> None:
        self._query = text
        way = self.shell.room("find").check_way
        self.work_out(lambda bench: searched(bench, text, way), self._show_found, kind="find", lane="find")

    def _show_found(self, found: Search) -> None:
        if found.query != self._query:
            return
        self._hits = found.hits
        self.query_one("#parts-read", Static).update(parts_draw.reading(found))
        listed = self.query_one(HitList)
        width = max(40, listed.size.width - 2)
        listed.clear_options()
        listed.add_options([Option(parts_draw.hit(item, width)) for item in found.hits])
        self.query_one("#parts-detail", Static).update(styled((" ↓ goes into the list, Enter on it tells why", "dim")))

    def _show_wanted(self, wanted: tuple[WantedPart, ...]) -> None:
        self._wanted = wanted
        listed = self.query_one(WantedList)
        before = listed.highlighted
        width = max(38, listed.size.width - 2)
        listed.clear_options()
        listed.add_options([Option(parts_draw.wanted(item, width, self.shell.bench.currency)) for item in wanted])
        listed.highlighted = min(before, len(wanted) - 1) if before is not None and wanted else None
        self.query_one("#parts-wanted-head", Static).update(parts_draw.wanted_head(wanted))
        self._lead_to_unit()

    def _lead_to_unit(self) -> None:
        """Coming from the Bench with `d`: stand on what that unit wants and is not described yet."""
        unit, self.shell.describe_unit = self.shell.describe_unit, None
        if unit is None:
            return
        mine = [place for place, item in enumerate(self._wanted) if item.unit == unit]
        open_ones = [place for place in mine if not self._wanted[place].described]
        if not mine:
            self.say(f"unit {unit} wants no part as things stand")
            return
        listed = self.query_one(WantedList)
        listed.highlighted = (open_ones or mine)[0]
        listed.focus()
        if open_ones:
            self._describe(self._wanted[open_ones[0]])

    # --- found ---------------------------------------------------------------------------------------------------

    @on(OptionList.OptionHighlighted, "#parts-hits")
    def _on_hit(self, event: OptionList.OptionHighlighted) -> None:
        event.stop()
        if event.option_index < len(self._hits):
            found = self._hits[event.option_index]
            self.query_one("#parts-detail", Static).update(parts_draw.hit_line(found))

    @on(OptionList.OptionSelected, "#parts-hits")
    def _why(self, event: OptionList.OptionSelected) -> None:
        event.stop()
        found, query = self._hits[event.option_index], self._query
        text = found.entry.description or found.entry.part_number
        self.work_out(
            lambda bench: fit_texts(bench, query, text),
            lambda verdict: self._show_why(found, verdict),
            kind="why",
        )

    def _show_why(self, found: Hit, verdict: Fit) -> None:
        self.query_one("#parts-detail", Static).update(parts_draw.verdict(found, verdict))

    def _hit(self) -> Hit | None:
        place = self.query_one(HitList).highlighted
        return self._hits[place] if place is not None and place < len(self._hits) else None

    def action_count(self, by: int) -> None:
        """One piece more or less in the drawer."""
        found = self._hit()
        if found is None or found.entry.source != "part":
            self.say("only what lies in your drawer can be counted")
            return
        part_id, quantity = found.entry.id, max(0, (found.entry.quantity or 0) + by)
        self.act(lambda bench: change_part(bench, part_id, quantity=quantity))

    def action_set_count(self) -> None:
        """Say how many there are, and where."""
        found = self._hit()
        if found is None or found.entry.source != "part":
            self.say("only what lies in your drawer can be counted")
            return
        entry = found.entry

        def send(form: Form, typed: dict[str, str]) -> None:
            self.act(lambda bench: _counted(bench, entry.id, typed), form.accepted, otherwise=form.refused)

        lines = [Line("quantity", "pieces", str(entry.quantity or 0)), Line("place", "lies where", entry.place)]
        self.app.push_screen(Form(entry.description or entry.part_number, lines, send))

    def action_add(self) -> None:
        """A part for the drawer."""
        currency = self.shell.bench.currency

        def send(form: Form, typed: dict[str, str]) -> None:
            self.act(lambda bench: _added(bench, typed), form.accepted, otherwise=form.refused)

        lines = [
            Line("description", "what it is", self._query, "electrolytic 100 uF 25 V radial"),
            Line("part_number", "part number, if it has one"),
            Line("quantity", "pieces", "1"),
            Line("place", "lies where", "", "drawer 3"),
            Line("unit_cost", f"paid for each, {currency}", "", "empty: not known"),
        ]
        self.app.push_screen(Form("Into the drawer", lines, send))

    def action_take_in(self) -> None:
        """A CSV list of parts, suppliers or prices."""

        def send(form: Form, typed: dict[str, str]) -> None:
            path = Path(typed["path"]).expanduser()

            def done(imported: object) -> None:
                form.accepted()
                self.say(str(getattr(imported, "summary", "taken in")))

            self.act(lambda bench: import_any(bench, path), done, otherwise=form.refused)

        about = "Its header tells whether it holds parts, suppliers or prices; u takes it back as one."
        self.app.push_screen(Form("Take in a CSV list", [Line("path", "file", "", "~/list.csv")], send, about=about))

    # --- wanted --------------------------------------------------------------------------------------------------

    @on(OptionList.OptionSelected, "#parts-wanted")
    def _pick_wanted(self, event: OptionList.OptionSelected) -> None:
        event.stop()
        self._describe(self._wanted[event.option_index])

    def _describe(self, item: WantedPart) -> None:
        def send(dialog: Describe, text: str, role: str) -> None:
            self.act(
                lambda bench: describe_need(bench, item.unit, item.part, text, role=role),
                dialog.accepted,
                otherwise=dialog.refused,
            )

        self.app.push_screen(Describe(item, send))

    def _on_need(self, job: Callable[[BenchFile, int], object]) -> None:
        place = self.query_one(WantedList).highlighted
        item = self._wanted[place] if place is not None and place < len(self._wanted) else None
        if item is None or item.need is None:
            self.say("describe it first: Enter")
            return
        need_id = item.need.id
        self.act(lambda bench: job(bench, need_id))

    def action_compromise(self) -> None:
        """Allow a compromise for this part, or forbid it again."""
        place = self.query_one(WantedList).highlighted
        item = self._wanted[place] if place is not None and place < len(self._wanted) else None
        allowed = not (item is not None and item.need is not None and item.need.compromise_ok)
        self._on_need(lambda bench, need_id: allow_compromise(bench, need_id, allowed=allowed))

    def action_drop(self) -> None:
        """Not wanted after all."""
        self._on_need(drop_need)

    # --- moving --------------------------------------------------------------------------------------------------

    def action_to_hits(self) -> None:
        """Into what was found."""
        listed = self.query_one(HitList)
        if self._hits:
            listed.focus()
            if listed.highlighted is None:
                listed.highlighted = 0

    def action_to_wanted(self) -> None:
        """Into what is wanted."""
        listed = self.query_one(WantedList)
        if self._wanted:
            listed.focus()
            if listed.highlighted is None:
                listed.highlighted = 0
        else:
            self.action_to_hits()

    def action_to_query(self) -> None:
        """Back to the search line."""
        self.query_one(QueryInput).focus()

    def action_clear(self) -> None:
        """Empty the search line."""
        self.query_one(QueryInput).value = ""


def _counted(bench: BenchFile, part_id: int, typed: dict[str, str]) -> object:
    return change_part(bench, part_id, quantity=parts_draw.pieces(typed["quantity"]), place=typed["place"])


def _added(bench: BenchFile, typed: dict[str, str]) -> object:
    cost = typed["unit_cost"]
    return add_part(
        bench,
        typed["description"],
        part_number=typed["part_number"],
        quantity=parts_draw.pieces(typed["quantity"]),
        place=typed["place"],
        unit_cost=minor(cost, bench.currency) if cost else None,
    )
