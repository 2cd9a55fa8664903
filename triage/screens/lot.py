"""The place Lot."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.widgets import Static

from triage.screens.places import Place
from triage.screens.plain import plain


class LotScreen(Place):
    """All units of one lot."""

    PLACE = "lot"

    def compose_place(self) -> ComposeResult:
        """Nothing yet."""
        yield Static(plain("Lot"))
