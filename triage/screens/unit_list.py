"""The list of a lot's units: one line each, kept in step with the sums as they come and with the unit one is on."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import ClassVar

from textual import events
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.widgets import OptionList
from textual.widgets.option_list import Option

from triage.actions.lot_view import LotView
from triage.device_classes.schema import DeviceClass
from triage.lot import Unit
from triage.screens import lot_draw


class UnitList(OptionList):
    """The units by number."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("j", "cursor_down", "down", show=False, tooltip="Next unit", id="units.down"),
        Binding("k", "cursor_up", "up", show=False, tooltip="Previous unit", id="units.up"),
    ]

    def __init__(self) -> None:
        """Nothing is listed yet."""
        super().__init__(id="units-list")
        self._currency = ""
        self._units: Sequence[Unit] = ()
        self._view: LotView | None = None
        self._classes_known: Mapping[str, DeviceClass] = {}
        self._here: int | None = None
        self._planned: Mapping[int, str] = {}
        self._moved: frozenset[int] = frozenset()
        self._columns = lot_draw.Columns(40)

    async def _on_click(self, event: events.Click) -> None:
        """A first click stands on a unit, a second one takes it to the Bench."""
        place = event.style.meta.get("option")
        if place is not None and place != self.highlighted:
            event.prevent_default()
            self.highlighted = place

    def titles(self, width: int, *, planned: bool = False) -> Content:
        """The heads of the columns."""
        return lot_draw.Columns(max(40, width) - 2, planned=planned).titles()

    def show(
        self,
        units: Sequence[Unit],
        view: LotView | None,
        classes: Mapping[str, DeviceClass],
        here: int | None,
        *,
        planned: Mapping[int, str],
        currency: str,
        width: int,
    ) -> None:
        """Show the units; `view` is None while the sums are worked out, `here` the unit one is on.

        `planned` is {unit: the pile that the plan of the lot puts it on}, where that is another one.
        """
        self._planned = planned
        self._moved = frozenset(one.move.unit for one in view.standing.moved) if view is not None else frozenset()
        self._currency = currency
        self._units, self._view, self._classes_known, self._here = units, view, classes, here
        self._columns = lot_draw.Columns(max(40, width) - 2, planned=bool(planned))
        lines = [self._line(unit) for unit in units]
        at = next((place for place, unit in enumerate(units) if unit.number == here), None)
        with self.prevent(OptionList.OptionHighlighted):
            if [option.id for option in self.options] == [str(unit.number) for unit in units]:
                for place, line in enumerate(lines):
                    self.replace_option_prompt_at_index(place, line)
            else:
                self.clear_options()
                self.add_options(Option(line, id=str(unit.number)) for unit, line in zip(units, lines, strict=True))
            self.highlighted = at

    def stand_on(self, number: int) -> None:
        """Mark the unit one is on now."""
        before, self._here = self._here, number
        for place, unit in enumerate(self._units):
            if unit.number in {before, number}:
                self.replace_option_prompt_at_index(place, self._line(unit))

    def _line(self, unit: Unit) -> Content:
        here = unit.number == self._here
        rows = self._view.rows if self._view is not None else ()
        row = next((row for row in rows if row.number == unit.number), None)
        if row is not None:
            planned, moved = self._planned.get(unit.number, ""), unit.number in self._moved
            return self._columns.row(row, unit, self._currency, here=here, planned=planned, moved=moved)
        held = self._classes_known.get(unit.device_class)
        return self._columns.waiting(unit, held.name if held else "?", here=here)
