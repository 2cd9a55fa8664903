"""A list of one-line rows that draws only what is in sight, so that its length costs nothing.

The owner says how many rows there are and draws each when asked; the list keeps the cursor, the keys and the mouse.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import ClassVar

from rich.segment import Segment
from textual import events
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.geometry import Region, Size
from textual.message import Message
from textual.reactive import reactive
from textual.scroll_view import ScrollView
from textual.strip import Strip
from textual.style import Style
from textual.visual import Visual

MARK = 1
"""Cells at the left that hold the pointer to the cursor's row."""

Draw = Callable[[int, int], Content]
"""Row number and width in cells to the row's text."""


class RowList(ScrollView, can_focus=True):
    """Rows with a cursor that rests only on live ones."""

    DEFAULT_CSS = """
    RowList { height: 1fr; background: $background; scrollbar-size-vertical: 1; scrollbar-gutter: stable; }
    RowList > .rows--here { text-style: bold; background: $boost; }
    """
    COMPONENT_CLASSES: ClassVar[set[str]] = {"rows--here"}
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up", "step(-1)", "up", show=False, tooltip="Row above", id="rows.up"),
        Binding("down", "step(1)", "down", show=False, tooltip="Row below", id="rows.down"),
        Binding("pageup", "page(-1)", "page up", show=False, tooltip="A screenful up", id="rows.page_up"),
        Binding("pagedown", "page(1)", "page down", show=False, tooltip="A screenful down", id="rows.page_down"),
        Binding("home", "end(-1)", "first", show=False, tooltip="First row", id="rows.first"),
        Binding("end", "end(1)", "last", show=False, tooltip="Last row", id="rows.last"),
        Binding("enter", "pick", "choose", show=False, tooltip="Take the row", id="rows.pick"),
    ]
    cursor: reactive[int | None] = reactive(None)
    """The row one stands on; None while no row is live."""

    class Told(Message):
        """Base of what the list tells."""

        def __init__(self, rows: RowList, row: int | None) -> None:
            """`row` of `rows`."""
            super().__init__()
            self.rows = rows
            self.row = row

        @property
        def control(self) -> RowList:
            """The list, for `on` selectors."""
            return self.rows

    class Moved(Told):
        """The cursor stands on another row, or on other content."""

    class Picked(Told):
        """Enter, or a click on the row one stands on already."""

    class PastTop(Told):
        """Up was pressed on the first row."""

    def __init__(self, *, id: str | None = None, empty: str = "") -> None:  # noqa: A002 - the base class's word
        """`empty` is said while there are no rows."""
        super().__init__(id=id)
        self._count = 0
        self._draw: Draw = lambda _, __: Content("")
        self._live: Callable[[int], bool] = lambda _: True
        self._empty = empty

    def show(
        self,
        count: int,
        draw: Draw,
        *,
        live: Callable[[int], bool] = lambda _: True,
        at: int | None = None,
        empty: str | None = None,
    ) -> None:
        """Show `count` rows.

        Args:
            count: how many.
            draw: draws one row.
            live: whether the cursor may rest on a row.
            at: where to stand, None = as near as possible to where one stood.
            empty: what is said when there are none; None leaves it as it was.
        """
        self._count, self._draw, self._live = count, draw, live
        self._empty = self._empty if empty is None else empty
        self.virtual_size = Size(0, count)
        wanted = at if at is not None else self.cursor or 0
        self.set_reactive(RowList.cursor, self._nearest(min(max(wanted, 0), max(count - 1, 0))))
        self.refresh()
        self._in_sight()
        self.post_message(self.Moved(self, self.cursor))

    def __len__(self) -> int:
        return self._count

    @property
    def text_width(self) -> int:
        """Cells that a row's text has."""
        return max(10, self.scrollable_content_region.width - MARK)

    def render_line(self, y: int) -> Strip:
        """One line of the window."""
        row, width = y + self.scroll_offset.y, self.scrollable_content_region.width
        if not self._count and row == 0 and self._empty:
            return self._strip(Content.styled(f" {self._empty}", "dim"), width, self.visual_style)
        if row >= self._count:
            return Strip.blank(width, self.rich_style)
        here = row == self.cursor
        style = self.visual_style
        if here:
            style += self.get_visual_style("rows--here")
            style += Style(reverse=self.has_focus)  # said here: component styles lose it
        text = self._draw(row, self.text_width)
        if here and self.has_focus:
            text = Content(text.plain)  # a dim piece would be hard to read in reverse
        mark = Strip([Segment("▸" if here else " ", style.rich_style)], MARK)
        return Strip.join([mark, self._strip(text, width - MARK, style)])

    def _strip(self, text: Content, width: int, style: Style) -> Strip:
        drawn = Visual.to_strips(self, text, max(1, width), 1, style, pad=True, apply_selection=False)
        line = drawn[0] if drawn else Strip.blank(width, style.rich_style)
        return line.crop(0, width)

    def watch_cursor(self, before: int | None, now: int | None) -> None:
        """Draw the two rows anew and tell the owner."""
        for row in {before, now} - {None}:
            if row is not None:
                self.refresh(Region(0, row - self.scroll_offset.y, self.size.width, 1))
        self._in_sight()
        self.post_message(self.Moved(self, now))

    def _in_sight(self) -> None:
        if self.cursor is not None and self.is_mounted:
            top = self.cursor
            while top > 0 and not self._live(top - 1):  # the headings above come along
                top -= 1
            height = self.cursor - top + 1
            if height > self.scrollable_content_region.height:
                top, height = self.cursor, 1
            self.scroll_to_region(Region(0, top, 1, height), animate=False, force=True)

    def _nearest(self, row: int) -> int | None:
        """The live row at `row`, else the next below, else above."""
        below = next((place for place in range(row, self._count) if self._live(place)), None)
        if below is not None:
            return below
        return next((place for place in range(row - 1, -1, -1) if self._live(place)), None)

    def action_step(self, by: int) -> None:
        """To the next live row; the text scrolls on where there is none."""
        if self.cursor is None:
            self.scroll_relative(y=by, animate=False)
            return
        row = self.cursor + by
        while 0 <= row < self._count and not self._live(row):
            row += by
        if 0 <= row < self._count:
            self.cursor = row
        elif by < 0 and self.scroll_offset.y == 0:
            self.post_message(self.PastTop(self, self.cursor))
        else:
            self.scroll_relative(y=by, animate=False)

    def action_page(self, by: int) -> None:
        """A screenful on."""
        if self.cursor is None:
            self.scroll_relative(y=by * self.scrollable_content_region.height, animate=False)
            return
        step = max(1, self.scrollable_content_region.height - 1)
        self.cursor = self._nearest(min(max(self.cursor + by * step, 0), self._count - 1))

    def action_end(self, which: int) -> None:
        """First or last row."""
        if self._count:
            self.cursor = self._nearest(0 if which < 0 else self._count - 1)

    def action_pick(self) -> None:
        """Tell the owner that the row was taken."""
        if self.cursor is not None:
            self.post_message(self.Picked(self, self.cursor))

    def on_click(self, event: events.Click) -> None:
        """A click moves the cursor; on the row one stands on it takes the row."""
        event.stop()
        row = event.y + self.scroll_offset.y
        if row < self._count and self._live(row):
            if row == self.cursor:
                self.post_message(self.Picked(self, row))
            else:
                self.cursor = row
