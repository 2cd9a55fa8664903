"""The search line of the place Parts, and what it searches: made ready once, in a room of its own."""

from __future__ import annotations

import gc
from collections.abc import Callable

from textual import events
from textual.widgets import Input

from triage.actions.findable import findable, is_ready, will_be_made
from triage.actions.finding import Drawer, Search
from triage.screens.places import Place

_LOOK_AGAIN = 0.5
"""Seconds between two looks at how far the index is."""


class QueryLine(Input):
    """Typed into like any line, but `?` in an empty one asks for help: nobody searches for a bare question mark."""

    async def _on_key(self, event: events.Key) -> None:
        """`?` in an empty line opens the help page; everything else is typed."""
        if event.character == "?" and not self.value:
            event.stop()
            event.prevent_default()
            await self.app.run_action("help")


def make_ready(place: Place, then: Callable[[], None]) -> None:
    """Make the index where there is none yet, and do `then` when it is there."""
    if is_ready(place.shell.bench):
        return

    def ready(_: object) -> None:
        gc.freeze()
        then()

    will_be_made(place.shell.bench)
    gc.freeze()  # what stands now stays: else every full collection walks through it and holds up the keys
    place.work_out(lambda bench: len(findable(bench).index), ready, kind="ready", lane="ready")


def settle(place: Place, found: Search, again: Callable[[], None]) -> None:
    """Let a drawer be read by the screen's own connection, and look `again` soon while the index is being made."""
    if isinstance(found.found, Drawer):
        found.found.read_by(place.shell.bench)
    if found.making is not None:
        place.set_timer(_LOOK_AGAIN, again)
