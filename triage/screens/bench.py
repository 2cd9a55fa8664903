"""The place Bench."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.widgets import Static

from triage.screens.places import Place
from triage.screens.plain import plain


class BenchScreen(Place):
    """One unit, one question at a time."""

    PLACE = "bench"

    def compose_place(self) -> ComposeResult:
        """Nothing yet."""
        yield Static(plain("Bench"))
