"""What a text says beyond what was understood, and what that means for a fit: a check, a doubt, or a broken part.

What both texts say alike says nothing against either; a count says how many, not what. Pure.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import pairwise

import msgspec

from catalog.fit import Fit, Reason
from catalog.numbered import part_numbers
from catalog.rules import COMMON, Grade, worst

_WORD = re.compile(r"[^\s,;()\[\]\"/]+")
_PARTED = re.compile(r"[-?!.:]+")
_COUNT = re.compile(
    r"[x×х]\s?\d{1,4}|\d{1,4}\s?[x×х]|\d{1,4}\s?(?:шт\.?|pcs?\.?|pieces?|stk\.?|stück|pièces?)|lot of \d{1,4}"
)
_COUNTS = re.compile(rf"(?<![^\W_])(?<!\d\s)(?:{_COUNT.pattern})(?![^\W_])(?!\s?[x×х.,]?\s?\d)")
"""Counts among other words; of a size such as `5 x 20` no part is one."""
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
    r"|burn(?:t|ed)(?: out)?|swollen|swelling|swelled|bulg(?:ed|ing)|puff(?:ed|y)|bloated|empty|leak(?:ed|ing|s|y)"
    r"|dead|cracked|broken|bad|torn|stretched|pierced|punctured|dented|burst|charred|scorched|bridged"
    r"|dried out|recalled|defect(?:ive)?|faulty|damaged|shorted|short circuit(?:ed)?|short$|open circuit|corroded"
    r"|worn(?: out)?|not working|does not work|doesn't work|schrott|hors service|faults?|destroyed|melted|fried|junk"
    r"|doa|intermittent|wackelkontakt|inoperative|out of order|non[- ]?(?:working|functional|functioning)"
    r"|needs repair(?:s|ing)?"
    r"|for parts|parts only|spares? (?:or|and) repairs?|spares?/repairs?|bastler\w{0,8}|zum basteln|ohne funktion"
    r"|läuft nicht"
    r"|nicht funktionsfähig\w{0,2}|zerstört\w{0,2}|geschmolzen\w{0,2}|verschlissen\w{0,2}|en panne|à réparer"
    r"|pour pi[eè]ces|endommagée?|abîmée?|détruite?|ne (?:fonctionne|marche) p(?:as|lus)"
    r"|danneggiat[oa]|difettos[oa]|da riparare|per ricambi|non funziona\w{0,3}"
    r"|averiad[oa]|estropead[oa]|dañad[oa]|defectuos[oa]|para (?:piezas|repuestos)|no funciona"
    r"|avariad[oa]|com defeito|não funciona|defecte|beschadigd\w?|werkt niet|voor onderdelen"
    r"|uszkodzon\w|zepsut\w|niesprawn\w|nie działa|na części"
    r"|defekt\w{0,2}|kaputt\w{0,2}|durchgebrannt\w{0,2}|verbrannt\w{0,2}|leer\w{0,2}|ausgelaufen\w{0,2}|tot\w{0,2}"
    r"|aufgebläht\w{0,2}|gerissen\w{0,2}|gebrochen\w{0,2}|beschädigt\w{0,2}|funktioniert nicht|geht nicht"
    r"|grillée?|gonflée?|vide|morte?|cassée?|défectueu(?:x|se)|fundid[oa]|hinchad[oa]|vací[oa]|muert[oa]|rot[oa]"
    r"|bruciat[oa]|gonfi[oa]|scaric[oa]|rott[oa]|guast[oa]|kapot|leeg|gescheurd|сгорел\w{0,4}|вздут\w{0,3}|неисправ\w{0,4}"
    r"|не ?рабоч\w{0,4}|не работает|сломан\w{0,2}|дефект\w{0,5}|поврежд\w{0,6}|пробит\w{0,2}|на запчасти"
)
"""What says that a part is broken or used up, or sold as such, from memory of how people write."""
_ALONE = re.compile(rf"(?<![^\W_])(?:{_BROKEN.pattern})(?![^\W_])")
_AROUND = (
    r"(?:labels?|stickers?|print|printing|lettering|markings?|packaging|wrapper|blister|etikett\w{0,2}|aufkleber"
    r"|beschriftung|aufdruck|verpackung|étiquettes?|emballage|etiquetas?|embalaje|etichett[ae]|etykiet\w)"
)
_AROUND_BEHIND = re.compile(rf"[\s:]+{_AROUND}(?![^\W_])")
_AROUND_BEFORE = re.compile(rf"(?<![^\W_]){_AROUND}[\s:]+(?:is\s|ist\s|est\s)?$")
"""What is on or around a part: a worn label says nothing of the part."""
_ANOTHER = frozenset(
    {
        *("like", "similar", "equivalent", "equiv", "comparable", "replaces", "substitute", "same"),
        *("ähnlich", "ähnliche", "wie", "ersetzt", "entspricht", "vergleichbar", "gleichwertig"),
        *("équivalent", "remplace", "comme", "similaire", "equivalente", "sustituye", "come", "simile", "sostituisce"),
        *("vervangt", "zoals", "jak", "zamiennik", "аналог", "как", "заменяет"),
        *("fake", "counterfeit", "dummy", "replica", "clone", "suspect", "repaired", "unapproved", "uncertified"),
        *("gefälscht", "fälschung", "attrappe", "nachbau", "geflickt", "repariert", "contrefaçon", "подделка"),
    }
)
"""Of a candidate: it is only like the part named, or not what it says it is; from memory of how people write."""
_UNTESTED = re.compile(
    r"(?<![^\W_])(?:untested|not tested|as[- ]is|ungetestet\w{0,2}|ungeprüft\w{0,2}|nicht getestet|non testée?"
    r"|pas testée?|non testat[oa]|sin probar|não testad[oa]|niet getest|nietestowan\w|не ?провер\w{0,5})(?![^\W_])"
)
"""Of a candidate: nobody knows whether it is good; from memory likewise."""
_GUARDS = re.compile(
    r"safety|vde|approv(?:ed|al)|certified|flame\w*|fire\w*|\w*flammable|breaking|rupturing|protect(?:ed|ion)|isolation"
    r"|insulated|mains|\w*polar\w*|sicherheits?\w*|zugelassen|geprüft|netzseitig|flamm\w*|brand\w*|isoliert|geschützt|sécurité|secteur"
)
"""Of a wanted part: what it is to guard against was asked for, in words nobody understood; from memory likewise."""


class Rest(msgspec.Struct, frozen=True):
    """A text and the pieces of it that were not understood, in order."""

    text: str = ""
    pieces: tuple[str, ...] = ()
    several: bool = False
    """It can be read in several ways, and only what they share is known."""
    numbered: bool = False
    """Only the number was read, and the number says which part it is: other words do not make it another one."""


class Unread(msgspec.Struct, frozen=True):
    """What is said beyond what was understood on either side, and the best grade that leaves."""

    wanted: str | None
    candidate: str | None
    grade: Grade
    why: str
    do: str
    rule: str = "G4"


def rest_of(text: str, left_over: str, kind: str) -> Rest:
    """What a text says beyond its spec, as the catalogue keeps it: all of it where it has several readings or none."""
    numbered = kind == "listed"
    several = bool(left_over) and left_over == text and not numbered
    return Rest(text, (left_over,) if left_over else (), several, numbered)


def with_unread(verdict: Fit, left: Sequence[Unread]) -> Fit:
    """The verdict with what is said beyond what was understood; that never makes it better."""
    if not left:
        return verdict
    more = [Reason("text", one.wanted, one.candidate, one.grade, one.rule, one.why, COMMON) for one in left]
    reasons = sorted([*verdict.reasons, *more], key=lambda reason: -reason.result.rank)
    do = tuple(dict.fromkeys([*verdict.do, *(one.do for one in left)]))
    return Fit(worst(reason.result for reason in reasons), tuple(reasons), do, verdict.tell)


def unread(wanted: Rest, candidate: Rest, kind: str = "") -> tuple[Unread, ...]:
    """What to say of the pieces that were left over on either side.

    Args:
        wanted: of the wanted text.
        candidate: of the candidate's.
        kind: of the wanted part; several cells instead of one are another part, several of anything else are not.
    """
    worn = broken(candidate.pieces)
    found = [_several(wanted, "wanted")] if wanted.several else []
    found += [_several(candidate, "candidate")] if candidate.several else []
    if worn:
        found.append(Unread(None, worn, Grade.REFUSE, f"the text says that it is broken: {worn}", "Take another one"))
    if wanted.several or candidate.several:
        return tuple(found)
    wants, offers = (_words(side.pieces, kind) for side in (wanted, candidate))
    only = (
        [word for word in wants if word not in offers and not _ALONE.search(word)],  # the old part is broken as a rule
        [word for word in offers if word not in wants and not (worn and _ALONE.search(word))],
    )
    grade = _grade(only, (wanted.text, candidate.text), kind)
    if any(only) and not (grade is Grade.DROP_IN and (wanted.numbered or candidate.numbered)):
        shown = [" ".join(words) for words in only]
        said = " and ".join(f"“{one}”" for one in shown if one)
        doubt = ", and may say another part" if grade is Grade.UNKNOWN else ""
        why, do = f"check: not understood{doubt}: {said}", f"Check what is meant by {said}"
        found.append(Unread(shown[0] or None, shown[1] or None, grade, why, do))
    return tuple(found)


def _grade(only: tuple[Sequence[str], Sequence[str]], texts: tuple[str, str], kind: str) -> Grade:
    """Drop-in for words that only want a look; unknown where they may say another part."""
    another = (
        all(_figures(words, text) for words, text in zip(only, texts, strict=True))
        or any(_is_choice(side) for side in only)
        or (kind == "battery" and _counted(only))
        or not _ANOTHER.isdisjoint(part for word in only[1] for part in _PARTED.split(word))
        or any(_GUARDS.fullmatch(part) for word in only[0] for part in _PARTED.split(word))
        or _UNTESTED.search(" ".join(only[1])) is not None
        or any(word in _NOT and _GUARDS.fullmatch(after) for word, after in pairwise(only[1]))
    )
    return Grade.UNKNOWN if another else Grade.DROP_IN


def _several(rest: Rest, name: str) -> Unread:
    sides = (rest.text, None) if name == "wanted" else (None, rest.text)
    why = f"the {name} text can be read in more than one way"
    return Unread(sides[0], sides[1], Grade.UNKNOWN, why, f"Say more of the {name} part", "G1")


def broken(pieces: Sequence[str]) -> str:
    """The word that says so; empty when there is none, a not stands before it, or it is said of a label."""
    for piece in pieces:
        low = piece.casefold()
        for match in _ALONE.finditer(low):
            around = _AROUND_BEHIND.match(low, match.end()) or _AROUND_BEFORE.search(low[: match.start()])
            before = low[: match.start()].split()
            if not around and (not before or before[-1].strip("(") not in _NOT):
                return match[0]
    return ""


def _words(pieces: Sequence[str], kind: str) -> list[str]:
    """The words of what was left over, in one case, without counts and without marks that part."""
    found: list[str] = []
    for piece in pieces:
        low = piece.casefold().strip(" .:-")
        if kind == "battery":
            found += [match[0].replace(" ", "") for match in _COUNTS.finditer(low)]
        found += [word for word in _WORD.findall(_COUNTS.sub(" ", low)) if re.search(r"[^\W_]|\?", word)]
    return found


def _figures(words: Sequence[str], text: str) -> frozenset[str]:
    """The words with a digit that are no part number by their shape."""
    names = {text[start:end].casefold() for start, end in part_numbers(text)}
    return frozenset(word for word in words if re.search(r"\d", word) and word not in names)


def _is_choice(words: Sequence[str]) -> bool:
    return any(word in _OR and re.search(r"\d", after) for word, after in pairwise(words))


def _counted(sides: Sequence[Sequence[str]]) -> bool:
    return any(_COUNT.fullmatch(word) for side in sides for word in side)
