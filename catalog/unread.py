"""What the words and figures that no reader understood mean for a fit: a check, a doubt, or that the part is broken.

What both texts say alike says nothing against either; a count says how many, not what. Pure.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import pairwise

import msgspec

from catalog.numbered import part_numbers
from catalog.rules import COMMON, Grade

_WORD = re.compile(r"[^\s,;()\[\]\"/]+")
_COUNT = re.compile(
    r"[x×х]\s?\d{1,4}|\d{1,4}\s?[x×х]|\d{1,4}\s?(?:шт\.?|pcs?\.?|pieces?|stk\.?|stück|pièces?)|lot of \d{1,4}"
)
_OR = frozenset({"or", "oder", "ou", "o", "of", "lub", "или"})
_NOT = frozenset(
    {
        "not",
        "no",
        "non",
        "never",
        "without",
        "nicht",
        "kein",
        "keine",
        "nie",
        "ohne",
        "sans",
        "pas",
        "jamais",
        "sin",
        "senza",
        "niet",
        "не",
        "нет",
        "без",
    }
)
_BROKEN = re.compile(
    r"blown|duds?|duff|no good|not good|scrap|failed|exploded|popped|unusable"
    r"|burn(?:t|ed)(?: out)?|swollen|bulg(?:ed|ing)|empty|leak(?:ed|ing|s|y)|dead|cracked|broken|bad|torn"
    r"|stretched|defect(?:ive)?|faulty|damaged|shorted|corroded|worn out|not working|does not work|doesn't work"
    r"|schrott|hors service|defekt\w{0,2}"
    r"|kaputt\w{0,2}|durchgebrannt\w{0,2}|verbrannt\w{0,2}|leer\w{0,2}|ausgelaufen\w{0,2}|tot\w{0,2}"
    r"|aufgebläht\w{0,2}|gerissen\w{0,2}|gebrochen\w{0,2}|beschädigt\w{0,2}|funktioniert nicht|geht nicht"
    r"|grillée?|gonflée?|vide|morte?|cassée?|défectueu(?:x|se)|fundid[oa]|hinchad[oa]|vací[oa]|muert[oa]|rot[oa]"
    r"|bruciat[oa]|gonfi[oa]|scaric[oa]|rott[oa]|guast[oa]|kapot|leeg|gescheurd|сгорел\w{0,4}|вздут\w{0,3}|неисправ\w{0,4}"
    r"|нерабоч\w{0,4}|не работает"
)
"""What says that a part is broken or used up, from memory of how people write."""
_ALONE = re.compile(rf"(?<![^\W_])(?:{_BROKEN.pattern})(?![^\W_])")


class Unread(msgspec.Struct, frozen=True):
    """What the two texts hold beyond what was understood, and the best grade that leaves."""

    wanted: str | None
    candidate: str | None
    grade: Grade
    why: str
    do: str
    source: str = COMMON


def unread(
    wanted: Sequence[str], candidate: Sequence[str], *, texts: tuple[str, str] = ("", ""), kind: str = ""
) -> tuple[Unread, ...]:
    """What to say of the pieces that were left over on either side.

    Args:
        wanted: left over of the wanted text, in order.
        candidate: left over of the candidate's.
        texts: both whole texts, in which part numbers are known by their shape.
        kind: of the wanted part; several cells instead of one are another part, several of anything else are not.
    """
    found = []
    worn = broken(candidate)
    if worn:
        found.append(Unread(None, worn, Grade.REFUSE, f"the text says that it is broken: {worn}", "Take another one"))
    sides = _words(wanted, kind), _words(candidate, kind)
    only = tuple([word for word in side if word not in other] for side, other in (sides, sides[::-1]))
    if worn:
        only = only[0], [word for word in only[1] if not _ALONE.search(word)]
    only = [word for word in only[0] if not _ALONE.search(word)], only[1]  # what is to be replaced is broken as a rule
    if not any(only):
        return tuple(found)
    shown = " ".join(only[0]) or None, " ".join(only[1]) or None
    figures = [_figures(words, text) if words else frozenset() for words, text in zip(only, texts, strict=True)]
    said = " and ".join(f"“{one}”" for one in shown if one)
    if all(figures) or any(_is_choice(side) for side in only) or (kind == "battery" and _counted(only)):
        why, grade = f"check: not understood, and may say another part: {said}", Grade.UNKNOWN
    else:
        why, grade = f"check: not understood: {said}", Grade.DROP_IN
    found.append(Unread(*shown, grade, why, f"Check what is meant by {said}"))
    return tuple(found)


def broken(pieces: Sequence[str]) -> str:
    """The word that says so; empty when there is none, or a not stands before it."""
    for piece in pieces:
        low = piece.casefold()
        for match in _ALONE.finditer(low):
            before = low[: match.start()].split()
            if not before or before[-1].strip(",;(") not in _NOT:
                return match[0]
    return ""


def _words(pieces: Sequence[str], kind: str) -> list[str]:
    """The words of what was left over, in one case, without counts and without marks that part."""
    found: list[str] = []
    for piece in pieces:
        low = piece.casefold().strip(" .:-")
        if _COUNT.fullmatch(low):
            found += [low.replace(" ", "")] if kind == "battery" else []
            continue
        found += [word for word in _WORD.findall(low) if re.search(r"[^\W_]|\?", word)]
    return found


def _figures(words: Sequence[str], text: str) -> frozenset[str]:
    """The words with a digit that are no part number by their shape."""
    names = {text[start:end].casefold() for start, end in part_numbers(text)}
    return frozenset(word for word in words if re.search(r"\d", word) and word not in names)


def _is_choice(words: Sequence[str]) -> bool:
    return any(word in _OR and re.search(r"\d", after) for word, after in pairwise(words))


def _counted(sides: Sequence[Sequence[str]]) -> bool:
    return any(_COUNT.fullmatch(word) for side in sides for word in side)
