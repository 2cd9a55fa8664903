"""The search line of the place Parts: typed into like any line, but `?` in an empty one asks for help."""

from __future__ import annotations

from textual import events
from textual.widgets import Input


class QueryLine(Input):
    """A line of search; nobody searches for a bare question mark."""

    async def _on_key(self, event: events.Key) -> None:
        """`?` in an empty line opens the help page; everything else is typed."""
        if event.character == "?" and not self.value:
            event.stop()
            event.prevent_default()
            await self.app.run_action("help")
