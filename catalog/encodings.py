"""The bytes of a list as text: UTF-8, UTF-16 with its mark, and Windows-1252 where nothing else can be meant. Pure.

Each byte is a letter in a dozen older encodings, so bytes that are no UTF-8 are read as Windows-1252 only where every
sign is one that lists in western European languages hold and stands where such a sign stands; else they are refused.
What was assumed is said beside the text.
"""

from __future__ import annotations

import re

import msgspec

from catalog.text import Refused

_LETTERS = "äöüÄÖÜßàâáãåçéèêëíîïìóôõòúûùñÀÂÁÅÇÉÈÊËÍÎÓÔÚÛÑ"
"""Letters of western European words (our choice, from memory).

Not among them: æ and ø, which in other encodings are µ and °, and what only other encodings need.
"""
_IN_A_WORD = re.compile(rf"(?<![{_LETTERS}])[{_LETTERS}]{{1,2}}(?![{_LETTERS}])")
_SIGNS = frozenset("°µ±×·²³½¼¾€£§®©™–—‘’“”„…«»Ø\xa0")
_BETWEEN_LETTERS = re.compile(r"(?<=[^\W\d_])[°±×·²³½¼¾€£§®©™“”„…«»Ø\xa0](?=[^\W\d_])")
"""No such sign parts a word in two; where one seems to, it is a letter of another encoding."""
_SAVE = "save it as CSV in UTF-8"


class Text(msgspec.Struct, frozen=True):
    """A text, and in which encoding it was taken to be; empty where that is certain."""

    text: str
    assumed: str = ""

    @property
    def note(self) -> str:
        """What to tell the person; empty where nothing was assumed."""
        return f"read as {self.assumed}; see that its letters are right" if self.assumed else ""


def decoded(data: bytes, name: str) -> Text:
    """Bytes as text, with or without a byte-order mark; `name` is what to call them.

    Raises:
        Refused: naming the line; the encoding cannot be told.
    """
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        try:
            return Text(data.decode("utf-16"), "UTF-16")
        except UnicodeDecodeError:
            raise Refused(f"this is damaged UTF-16; {_SAVE}", where=f"{name}:1") from None
    try:
        return Text(data.decode("utf-8-sig"))
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        if b"\0" in data:
            raise Refused(f"this is no text; {_SAVE}", where=f"{name}:{line}") from None
    try:
        text = data.decode("cp1252")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise _unknown(f"{name}:{line}") from None
    doubtful = next((number for number, one in enumerate(text.split("\n"), 1) if not _western(one)), 0)
    if doubtful:
        raise _unknown(f"{name}:{doubtful}")
    return Text(text, "Windows-1252")


def _western(line: str) -> bool:
    """Whether every sign beyond ASCII of a line is one of Windows-1252 where such a sign may stand."""
    if line.isascii():
        return True
    if _BETWEEN_LETTERS.search(line):
        return False
    rest = "".join(" " if sign in _SIGNS else sign for sign in line)
    words = re.findall(r"[^\W\d_]+", rest)
    whole = all(word.isascii() or re.search("[A-Za-z]", word) for word in words)
    return whole and _IN_A_WORD.sub("", rest).isascii()


def _unknown(where: str) -> Refused:
    return Refused(f"this is no UTF-8 text, and which letters are meant cannot be told; {_SAVE}", where=where)
