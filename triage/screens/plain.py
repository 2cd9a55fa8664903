"""The only way data becomes displayable: cleaned once more and never read as markup.

Textual reads most plain strings as markup and passes control characters on to the terminal, so no screen hands it a
string that came from data: it goes through `plain`, `styled` or `stacked`.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from datetime import date

from rich.cells import cell_len
from textual.content import Content
from textual.style import Style

from catalog.text import clean_line

_WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")

Piece = str | Content | tuple[str, str]
"""Data as it stands, something already displayable, or data with a style of ours."""


def plain(text: str, style: str = "") -> Content:
    """One line of data, shown literally."""
    return Content.styled(clean_line(text), style) if style else Content(clean_line(text))


def styled(*pieces: Piece) -> Content:
    """Pieces side by side; spaces at their ends are kept."""
    return Content("").join(_piece(piece) for piece in pieces)


def pressable(key: str, *pieces: Piece) -> Content:
    """Pieces that a click turns into a press of `key`, a key's name of ours."""
    return styled(*pieces).stylize(Style.from_meta({"@click": f"app.simulate_key({key!r})"}))


def stacked(lines: Iterable[Content]) -> Content:
    """Lines one below the other."""
    return Content("\n").join(lines)


def fitted(text: str, width: int, *, right: bool = False) -> str:
    """The text in exactly `width` terminal cells: cut with `…`, or padded."""
    text = clean_line(text)
    if cell_len(text) > width:
        while text and cell_len(text) > width - 1:
            text = text[:-1]
        text = text.rstrip() + "…" if width > 0 else ""
    gap = " " * max(0, width - cell_len(text))
    return gap + text if right else text + gap


def _piece(piece: Piece) -> Content:
    if isinstance(piece, Content):
        return piece
    text, style = piece if isinstance(piece, tuple) else (piece, "")
    kept = text if text.isprintable() else clean_line(text)
    kept = unicodedata.normalize("NFC", kept)
    return Content.styled(kept, style) if style else Content(kept)


def day(iso: str) -> str:
    """A day as people say it: Thu 4 Dec."""
    if not iso:
        return ""
    there = date.fromisoformat(iso[:10])
    return f"{_WEEKDAYS[there.weekday()]} {there.day} {_MONTHS[there.month - 1]}"


def counted(count: int, one: str, more: str) -> str:
    """`1 entry`, `4,866 entries`."""
    return f"{count:,} {one if count == 1 else more}"
