"""The place Order."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.widgets import Static

from triage.screens.places import Place
from triage.screens.plain import plain


class OrderScreen(Place):
    """The person's parts order."""

    PLACE = "order"

    def compose_place(self) -> ComposeResult:
        """Nothing yet."""
        yield Static(plain("Order"))
