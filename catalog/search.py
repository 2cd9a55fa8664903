"""What finding deals in: the form texts are compared in, how a query is read, an entry, and a hit.

Kept apart from the finder itself, which needs numpy: whoever writes a part only has to know its search form.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Sequence
from typing import Literal, Protocol

import msgspec

from catalog.spec import PartSpec

_UNITS = "pf|nf|uf|mf|f|ohm|kohm|mohm|r|k|m|v|a|ma|w|hz|khz|mhz|mm|h|uh|mh"
_SIGNS = str.maketrans({"μ": "u", "µ": "u", "ω": "ohm", "×": "x", "°": ""})
_BETWEEN = re.compile(r"(?<=\d),(?=\d)")
_SEPARATOR = re.compile(r"[^\w.%+]|_|(?<!\d)\.|\.(?!\d)")
_OHMS = re.compile(r"(?<=\d)([km]) ?ohms?\b")
_NO_LETTER = re.compile(r"[^a-z0-9]")
_VALUE = re.compile(rf"(?<=\d) (?=(?:{_UNITS})\b)")


class Words(msgspec.Struct, frozen=True, kw_only=True):
    """What is written of one thing that can be found."""

    source: Literal["part", "offer"]
    id: int
    part_number: str
    description: str
    kind: str
    left_over: str
    """What of the description was not understood."""


class Entry(Words, frozen=True, kw_only=True):
    """One thing that can be found."""

    spec: PartSpec | None
    quantity: int | None
    """Pieces there are; None = plenty."""
    place: str
    """Where it lies, for a part."""
    supplier: str
    """Who sells it, for an offer."""
    search: str
    """`search_form` of what it is to be found by, made when it was written."""


class Hit(msgspec.Struct, frozen=True):
    """An entry found."""

    entry: Entry
    grade: str | None
    """How the entry fits what the query reads as; None when that cannot be judged."""
    why: str
    score: float
    """Likeness of the texts, 0 to 100."""
    same_number: bool
    """The query is its part number."""
    bad: str = ""
    """What says that the pieces are not good, such as `blown` of the description; empty where nothing does."""


class QueryReading(Protocol):
    """What the query is understood as."""

    @property
    def status(self) -> str:
        """`ok`, `ambiguous` (then see `readings`), or another word."""

    @property
    def spec(self) -> PartSpec | None:
        """The one reading."""

    @property
    def readings(self) -> Sequence[QueryReading]:
        """Every reading of an ambiguous text."""


Reader = Callable[[str], QueryReading]


def search_form(text: str) -> str:
    """The form texts are compared in: small letters, no accents, plain units, `4,7 µF` and `4.7uF` alike."""
    plain = unicodedata.normalize("NFKD", text.casefold()).translate(_SIGNS).casefold()
    plain = "".join(character for character in plain if not unicodedata.combining(character))
    plain = _SEPARATOR.sub(" ", _BETWEEN.sub(".", plain))
    return _OHMS.sub(r"\1", _VALUE.sub("", " ".join(plain.split())))


def number_form(part_number: str) -> str:
    """Letters and digits only: `ab-12 c` and `AB12C` are the same part number."""
    if part_number.isascii():  # the same, by a way that takes a tenth of the time
        plain = _NO_LETTER.sub("", part_number.lower())
        if "ohm" not in plain:
            return plain
    return re.sub(r"[\W_]", "", search_form(part_number))
