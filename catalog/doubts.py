"""Words that deny or doubt what stands beside them: `not X2`, `ohne Schalter`, `X2 removed`, `X2?`.

What is denied or doubted is no fact. Which piece of a line a word touches is said here; `catalog.describe` reads the
line with that piece and without it.
"""

from __future__ import annotations

import re
from collections.abc import Set as AbstractSet

from catalog.attribute_words import ATTRIBUTE_WORDS
from catalog.words import DIMENSION_WORDS, KIND_WORDS, ROLE_WORDS

_DENYING = (
    "not no non never without w/o except neither nor isn't isnt aren't don't cannot "
    "kein keine keinen keiner nicht ohne statt anstatt außer weder sans pas sauf aucun aucune sin senza zonder geen "
    "niet utan inte bez nie sem não nao не без нет вместо "
    "maybe perhaps probably possibly allegedly unsure vielleicht vermutlich wahrscheinlich evtl eventuell angeblich"
)
_DENYING_PAIRS = (
    r"instead\s+of|rather\s+than|in\s+place\s+of|other\s+than|au\s+lieu\s+de|anstelle\s+von|looks\s+like|peut[- ]être"
)
_SMALL = (
    r"(?:(?:a|an|the|any|for|really|longer|very|quite|as|is|with|of|in|to|at|be|rated|für|ein|eine|einen|der|die|das|den|"
    r"mit|als|de|du|des|la|le|les|un|une|pour|con|для|с)\s+|d')"
)
_BEFORE = re.compile(
    rf"(?<![^\W_])(?:{_DENYING_PAIRS}|{'|'.join(sorted(_DENYING.split(), key=len, reverse=True))})(?![^\W_'])"
    rf"(?P<gap>[\s\-:(\"']*{_SMALL}{{0,3}}[(\"']?)"
)
_BEHIND = re.compile(
    r"[\s\-:,(\"']{0,3}(?<![^\W_])(?:is |was |ist |war )?(?:removed|missing|entfernt|fehlt|fehlend|uncertain|unsure|"
    r"doubtful|unclear|unklar|fraglich|unbekannt|absent|"
    r"(?:not|no|nicht|non|pas)\s+(?:fitted|present|approved|certified|marked|included|available|there|sure|certain|"
    r"vorhanden|sicher|dabei|zugelassen)|"
    r"(?:not|no|non|nicht|nein|нет)(?=\s*(?:$|[,;.)!])))(?![^\W_])"
)
_MARK = re.compile(r"\s{0,1}[(\[\"']?\s?\?")
_UNDER = re.compile(r"[?¿](?=[^\s?)\],;])")
_PIECE = re.compile(r"(?:[^\s,;()\[\]?!\"']|(?<=\d),(?=\d))+")
_UNIT = re.compile(r"\s?[^\W\d_]{1,5}(?![^\W_])")
_NUMBER = re.compile(r"[\d.,]+")
_FIGURE = re.compile(r"\s?[:=]?\s?\d(?:[^\s,;()]|,(?=\d))*(?:\s?(?:mm|cm|[vaw])(?![^\W_]))?")
_LABELS = frozenset(
    {"hold", "trip", "max", "min", "coil", "case", "size", "type", "series", "marked", "code", "awg", "gain", "hfe"}
)
"""Words that say which figure follows: who denies them denies the figure."""
_PHRASES = frozenset(
    {*KIND_WORDS, *ROLE_WORDS, *DIMENSION_WORDS, *(phrase for table in ATTRIBUTE_WORDS.values() for phrase in table)}
)
_TOKEN = re.compile(r"[^\W_]+")


def doubts(low: str, kinds: AbstractSet[str]) -> tuple[tuple[int, int], ...]:
    """Places in the line that a word beside them denies or doubts; empty for a line that says all plainly.

    Args:
        low: the line in small letters, with a space for a hyphen between letters (`Scan.low`).
        kinds: the kinds of part the line may be about.

    A phrase of the trade that holds the word itself (`non polar`, `no tabs`) is a fact of its own where each of the
    kinds knows it.
    """
    found: list[tuple[int, int]] = []
    own: list[tuple[int, int]] | None = None
    for match in _BEFORE.finditer(low):
        own = _own_phrases(low, kinds) if own is None else own
        if any(start <= match.start() < end for start, end in own):
            continue
        if re.match(r"no(?:\.\s?\d+(?![\w.,])|\s\d{1,2}\s?(?:$|[,;)](?!\d)))", low[match.start() :]) or re.match(
            r"pas\s?[:=]?\s?\d", low[match.start() :]
        ):
            continue  # a number, or the pitch in French
        place = _piece_from(low, match.end())
        if place:
            found.append(place)
    for pattern in (_BEHIND, _MARK):
        for match in pattern.finditer(low):
            place = _piece_before(low, match.start())
            if place:
                found.append(place)
    found += [place for match in _UNDER.finditer(low) if (place := _piece_from(low, match.end()))]
    return tuple(sorted(set(found)))


def _own_phrases(low: str, kinds: AbstractSet[str]) -> list[tuple[int, int]]:
    tables = [ATTRIBUTE_WORDS.get(kind, {}) for kind in sorted(kinds)]
    tokens = [match.span() for match in _TOKEN.finditer(low)]
    runs = [
        (tokens[at][0], tokens[end][1]) for at in range(len(tokens)) for end in range(at + 1, len(tokens[: at + 4]))
    ]
    return [run for run in runs if tables and all(low[run[0] : run[1]] in table for table in tables)]


def _piece_from(low: str, at: int) -> tuple[int, int] | None:
    """The longest phrase of the trade that begins at `at`, else the piece there, a number with its unit."""
    piece = _PIECE.match(low, at)
    if piece is None:
        return None
    tokens = [match.end() for _, match in zip(range(4), _TOKEN.finditer(low, at), strict=False)]
    ends = [end for end in tokens if low[at:end] in _PHRASES]
    end = max([*ends, piece.end()])
    label = low[at:end] in DIMENSION_WORDS or low[at:end] in _LABELS
    if label and (figure := _FIGURE.match(low, end)):
        end = figure.end()
    if _NUMBER.fullmatch(piece[0]) and (unit := _UNIT.match(low, end)):
        end = unit.end()
    return at, end


def _piece_before(low: str, at: int) -> tuple[int, int] | None:
    """The longest phrase of the trade that ends at `at`, else the piece there, a unit with its number."""
    stripped = low[:at].rstrip(" \t,;:()[]\"'?!-")
    pieces = list(_PIECE.finditer(stripped))
    if not pieces or pieces[-1].end() != len(stripped):
        return None
    end, start = len(stripped), pieces[-1].start()
    tokens = [match.start() for match in _TOKEN.finditer(stripped)][-4:]
    start = min([start, *(token for token in tokens if stripped[token:end] in _PHRASES)])
    named = stripped[start:end] in DIMENSION_WORDS
    number = re.search(r"[\d.,]*\d\s?(?:mm|cm)?\s$" if named else r"[\d.,]*\d\s$", stripped[:start])
    if number and (named or _UNIT.fullmatch(stripped, start)):
        start = number.start()
    return start, end
