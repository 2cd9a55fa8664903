"""Cleaning every string that comes from outside, once, on entry.

Listings, price lists, class files, the clipboard and the command line may carry escape sequences, bidirectional
overrides or zero-width characters. They are removed here, before anything is stored, so that no later module has
to think about them. `Refused` lives here too, because refusing input is the other half of the same gate.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence

LINE_LIMIT = 2_000
"""Longest line kept, in characters. Longer input is refused by readers, not silently cut."""

BEGIN = r"(?<![\w.])(?<![\d\s],)"
"""Where a number or code may begin in a pattern: not inside a word or number, but after the comma of `10k,5%`."""
END = r"(?!\w|[.,]\d)"
"""Where it may end: a point or comma that no digit follows is punctuation."""

_ESCAPE = re.compile(
    "(?:\x1b\\[|\x9b)[0-?]*[ -/]*[@-~]"  # CSI
    # OSC, DCS, SOS, PM, APC, with their end: without one the words behind it stay, as a wrongly decoded quote mark
    # looks the same.
    "|(?:\x1b[\\]PX^_]|[\x90\x98\x9d-\x9f])[^\x07\x1b\x90\x98\x9c-\x9f]*(?:\x07|\x1b\\\\|\x9c)"
    "|\x1b[ -/]*[0-~]?"  # any other escape
)


class Refused(ValueError):  # noqa: N818 - a refusal is an answer, not a malfunction
    """Input that is not accepted; nothing was changed.

    `str()` gives one line: where (file, line, field), what was expected, what to do.
    """

    def __init__(self, problem: str, *, where: str = "") -> None:
        """Say what is wrong; `where` is a place such as `units.csv:3:count` or `checks[rail_5v].leak`."""
        self.where = clean_line(where)
        self.problem = clean_line(problem)
        super().__init__(f"{self.where}: {self.problem}" if self.where else self.problem)


class RefusedRows(Refused):
    """A list of which several rows are not accepted; `str()` gives the first and where the others are, in one line."""

    def __init__(self, first: Refused, others: Sequence[Refused], count: int) -> None:
        """Name the first, the others that are told, and how many there are in all."""
        more = count - 1
        untold = more - len(others)
        rest = ""
        if more:
            places = [_after(first.where, other.where) for other in others] + (["…"] if untold else [])
            rest = f" (and {more} more problem{'s' if more > 1 else ''}: {', '.join(places)}; nothing was taken over)"
        super().__init__(first.problem + rest, where=first.where)
        end = (f"and {untold} more problem{'s' if untold > 1 else ''} of this list",) if untold else ()
        self.lines: tuple[str, ...] = (*map(str, (first, *others)), *end)
        """Everything that is wrong as far as it is told, a line each."""


def _after(first: str, other: str) -> str:
    """A second place without the file that it has in common with the first: line:column."""
    start = first.rsplit(":", 2)[0] + ":"
    return other.removeprefix(start)


def clean_line(text: str, limit: int = LINE_LIMIT) -> str:
    """One printable line: no control or format characters, NFC, white space folded, at most `limit` characters."""
    if not text.isprintable():
        text = _ESCAPE.sub("", text)
        text = "".join(_plain(character) for character in text)
    text = unicodedata.normalize("NFC", " ".join(text.split()))
    return text if len(text) <= limit else text[: limit - 1] + "…"


def clean_block(text: str, limit: int = LINE_LIMIT) -> str:
    """Several lines, each cleaned like `clean_line`; empty lines at both ends are dropped."""
    return "\n".join(clean_line(line, limit) for line in text.splitlines()).strip("\n")


def _plain(character: str) -> str:
    if character.isprintable():
        return character
    if character.isspace() or character in "\t\x0b\x0c\x1c\x1d\x1e\x1f\x85\xa0":
        return " "
    category = unicodedata.category(character)
    if category.startswith("Z"):
        return " "
    return "" if category in {"Cf", "Cc"} else "�"
