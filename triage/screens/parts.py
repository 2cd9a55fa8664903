"""The place Parts."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.widgets import Static

from triage.screens.places import Place
from triage.screens.plain import plain


class PartsScreen(Place):
    """The person's own parts."""

    PLACE = "parts"

    def compose_place(self) -> ComposeResult:
        """Nothing yet."""
        yield Static(plain("Parts"))
