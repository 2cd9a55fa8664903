"""Words to device classes and symptoms, as people type them.

Typing at the bench is hasty, so words are compared by their stems and a slip of the finger is let through. What
could be two classes is not decided here: the candidates go back to be asked. Pure functions.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import lru_cache

import msgspec
from rapidfuzz import fuzz
from rapidfuzz.distance import OSA

from triage.device_classes.schema import DeviceClass

LEAD = 6.0
"""Points by which the best class must lead before it is taken without asking."""
NEAR = 60.0
"""Score from which a class is worth asking about."""
SLIP = 72.0
"""The same for a symptom: there are many of them, and most words are not about any."""

SHORT = 5
"""Letters of a stem up to which a letter that is another one is no slip."""

WORD = re.compile(r"[^\W_]+(?:['’][^\W_]+)*")

_ON_AND_OFF = re.compile(r"\bon\s*(?:and|&|\bn\b)\s*off\b", re.IGNORECASE)
"""One word of its own: `off` alone says nothing of coming and going."""
_STRANGER = re.compile(
    r"\b(?:reel[- ]to[- ]reel|open[- ]reel|(?:8|eight)[- ]track|wire|video|vhs)\b(?=.*\b(?:recorder|player|deck|tape))",
    re.IGNORECASE,
)
"""A device of another kind that shares its last word with one of ours: it is asked what it is."""
_SET_OFF = re.compile(r"[,;:/()]")
"""Behind these a word is no part of the name before them."""
_TOKEN = re.compile(f"{_ON_AND_OFF.pattern}|{WORD.pattern}", re.IGNORECASE)
NEGATIONS = {"not", "no", "without"}
_NOT = {"not", "never", "cannot"}
_NOT |= {word + ending for word in ("won", "doesn", "don", "can", "isn", "didn") for ending in ("t", "'t")}
_SKIPPED = {"a", "an", "the", "is", "are", "was", "it", "its", "of", "on", "in", "at", "to", "any", "all", "my", "and"}
_SKIPPED |= {"but", "with", "when", "that", "this", "be", "been", "has", "have"}
ORDINARY = frozenset(("quit", "reall", "real", "relat", "should", "need", "crack", "cash", "donor", "grid", "solder"))
ORDINARY |= {"hol", "how", "path", "production", "styl", "thick", "tip", "tri"}
"""Stems of everyday words that are a letter away from one of a symptom: quite, really, need, cracked, solder, tried."""
_WELL = {"ok", "okay", "fin", "good", "new", "perfect", "enough"}
"""Stems that say of the part named before them that nothing is wrong with it."""
_NOT_WORTH_A_NOTE = _SKIPPED | {"do", "does", "did", "will", "can", "or", "some", "from", "for"}


class Candidate(msgspec.Struct, frozen=True):
    """Something that the words may mean, and how near they are (0 to 100)."""

    id: str
    score: float


class ClassMatch(msgspec.Struct, frozen=True):
    """The class that a text names, or None and what it may be, best first (empty when nothing is near)."""

    class_id: str | None
    doubt: tuple[Candidate, ...] = ()


class SymptomMatch(msgspec.Struct, frozen=True):
    """The symptoms that a text names, what else it may mean, and the words that named none."""

    symptoms: tuple[str, ...]
    doubt: tuple[Candidate, ...] = ()
    note: str = ""


class Token(msgspec.Struct, frozen=True):
    """A word that counts: where it stands, its stem, and whether a comma or the like parts it from the one before."""

    start: int
    end: int
    stem: str
    parted: bool = False


class Hit(msgspec.Struct, frozen=True):
    """A phrase that was found: whose, how near (0 to 100), and where."""

    id: str
    score: float
    first: int
    """Index of its first word among the words that count."""
    words: int


def match_class(text: str, classes: Mapping[str, DeviceClass]) -> ClassMatch:
    """The class that a text names. One that leads clearly is taken; else the candidates are given, best first."""
    match, _ = class_of(text, tokens_of(text), classes)
    return match


def match_symptoms(text: str, device_class: DeviceClass) -> SymptomMatch:
    """The symptoms of a class that a text names, in the order of the text; `no drift` names no drift."""
    tokens = tokens_of(text)
    hits = symptom_hits(tokens, device_class)
    used = [token for hit in hits for token in tokens[hit.first : hit.first + hit.words]]
    left = [token for token in tokens if token not in used]
    symptoms = tuple(dict.fromkeys(hit.id for hit in sorted(hits, key=lambda hit: hit.first)))
    doubt = _near_symptoms(left, device_class, symptoms)
    return SymptomMatch(symptoms, doubt, left_over(text, [(token.start, token.end) for token in used]))


def tokens_of(text: str) -> list[Token]:
    """The words that count, by stem; small words are passed over, so that they split no phrase."""
    tokens: list[Token] = []
    end = 0
    for word in _TOKEN.finditer(text):
        form = "on and off" if _ON_AND_OFF.fullmatch(word[0]) else stem(word[0])
        if form not in _SKIPPED:
            tokens.append(Token(word.start(), word.end(), form, bool(_SET_OFF.search(text[end : word.start()]))))
            end = word.end()
    return tokens


def stem(word: str) -> str:
    """`crackles`, `crackly` and `crackling` to one form; every way of saying not to `not`."""
    form = word.lower().replace("’", "'")
    if form in _NOT:
        return "not"
    form = form.removesuffix("'s").replace("disk", "disc")
    if len(form) > 3 and form.endswith("s") and not form.endswith("ss"):
        form = form[:-1]
    for ending in ("ing", "ed"):
        if form.endswith(ending) and len(form) - len(ending) >= 3 and not form.endswith("eed"):
            form = form.removesuffix(ending)
            if len(form) > 3 and form[-1] == form[-2] and form[-1] not in "lsz":
                form = form[:-1]
            break
    for ending in ("ie", "y", "e"):
        if form.endswith(ending) and len(form) - len(ending) >= 3:
            return form.removesuffix(ending)
    return form


@lru_cache(maxsize=4096)
def phrase_of(words: str) -> tuple[str, ...]:
    """The stems of words of a class file: a thousand or so, held against every line at every keystroke."""
    return tuple(token.stem for token in tokens_of(words))


def alike(typed: str, meant: str) -> float:
    """0 to 1: same word, or a slip of the finger (one in short words, two in long ones, none in tiny ones).

    In a short word another letter in place of one makes another word more often than a slip: belt and bent, week and
    weak, stock and shock.
    """
    if typed == meant:
        return 1.0
    if typed in ORDINARY:
        return 0.0
    if len(typed) == len(meant) <= SHORT and sorted(typed) != sorted(meant):
        return 0.0
    slips = 0 if len(meant) <= 3 else 1 if len(meant) <= 7 else 2
    # A wrong first letter makes another word more often than a slip.
    if not slips or typed[0] != meant[0] or abs(len(typed) - len(meant)) > slips:
        return 0.0
    distance = OSA.distance(typed, meant, score_cutoff=slips)
    return 1 - distance / max(len(typed), len(meant)) if distance <= slips else 0.0


def _hits(tokens: Sequence[Token], phrase: Sequence[str], name: str) -> Iterator[Hit]:
    """Every place where a phrase stands; one of two words may be turned round (`stuck tray`)."""
    if not phrase:
        return
    orders = [phrase]
    if len(phrase) == 2 and phrase[0] not in NEGATIONS:
        orders.append(phrase[::-1])
    for first in range(len(tokens) - len(phrase) + 1):
        window = tokens[first : first + len(phrase)]
        best = 0.0
        for order in orders:
            each = [alike(token.stem, word) for token, word in zip(window, order, strict=True)]
            best = max(best, 0.0 if 0.0 in each else sum(each) / len(each))
        if best:
            yield Hit(name, 100 * best, first, len(phrase))


def class_of(text: str, tokens: Sequence[Token], classes: Mapping[str, DeviceClass]) -> tuple[ClassMatch, Hit | None]:
    """(the match, where the best class is named). Longer names count more, and so do those at the start."""
    best: dict[str, tuple[float, Hit]] = {}
    for each in classes.values():
        for words in each.words:
            for hit in _hits(tokens, phrase_of(words), each.id):
                rank = hit.score + LEAD * (hit.words - 1) - 4.0 * min(hit.first, 4)
                if each.id not in best or rank > best[each.id][0]:
                    best[each.id] = (rank, hit)
    ranked = sorted(best.values(), key=lambda entry: -entry[0])
    if not ranked:
        return ClassMatch(None, near_classes(text, classes)), None
    top, hit = ranked[0]
    end = tokens[hit.first + hit.words - 1].end
    rivals = [
        entry
        for entry in ranked
        if top - entry[0] < LEAD and not _SET_OFF.search(text[end : max(end, tokens[entry[1].first].start)])
    ]
    if len(rivals) == 1 and not _STRANGER.search(text):
        return ClassMatch(hit.id), hit
    return ClassMatch(None, tuple(Candidate(rival.id, round(rival.score, 1)) for _, rival in rivals)), hit


def near_classes(text: str, classes: Mapping[str, DeviceClass]) -> tuple[Candidate, ...]:
    """Classes whose words are somewhere near, when none is named."""
    plain = " ".join(token.stem for token in tokens_of(text))
    scores = ((each.id, _nearness(plain, (phrase_of(words) for words in each.words))) for each in classes.values())
    return _best(scores)


def symptom_hits(tokens: Sequence[Token], device_class: DeviceClass) -> list[Hit]:
    """Symptoms that are named, the longest phrases first, each word used once."""
    found = [
        hit
        for symptom in device_class.symptoms
        for phrase in map(phrase_of, symptom.words)
        for hit in _hits(tokens, phrase, symptom.id)
        if not _denied(tokens, hit, phrase)
    ]
    found.sort(key=lambda hit: (-hit.words, -hit.score, hit.first))
    used: set[int] = set()
    taken: list[Hit] = []
    for hit in found:
        places = set(range(hit.first, hit.first + hit.words))
        if not places & used:
            used |= places
            taken.append(hit)
    return taken


def _denied(tokens: Sequence[Token], hit: Hit, phrase: Sequence[str]) -> bool:
    """`no drift`, and of one word that may be a part's name `tray ok`."""
    if phrase[0] in NEGATIONS:
        return False
    after = tokens[hit.first + hit.words] if hit.first + hit.words < len(tokens) else None
    well = len(phrase) == 1 and after is not None and after.stem in _WELL and not after.parted
    return well or (hit.first > 0 and tokens[hit.first - 1].stem in NEGATIONS)


def _near_symptoms(left: Sequence[Token], device_class: DeviceClass, named: Sequence[str]) -> tuple[Candidate, ...]:
    plain = " ".join(token.stem for token in left)
    others = (symptom for symptom in device_class.symptoms if symptom.id not in named)
    scores = ((each.id, _nearness(plain, (phrase_of(words) for words in each.words))) for each in others)
    # Full likeness here is a phrase that was passed over because it is denied: `no drift`.
    return _best((name, score) for name, score in scores if SLIP <= score < 100)


def _nearness(plain: str, phrases: Iterable[Sequence[str]]) -> float:
    """0 to 100: the best likeness of any stretch of the text, of a phrase's length in words, to a phrase."""
    words = plain.split()
    best = 0.0
    for phrase in phrases:
        size = len(phrase)
        for first in range(max(1, len(words) - size + 1)) if words else ():
            best = max(best, fuzz.ratio(" ".join(words[first : first + size]), " ".join(phrase)))
    return best


def _best(scores: Iterable[tuple[str, float]]) -> tuple[Candidate, ...]:
    near = sorted(((score, name) for name, score in scores if score >= NEAR), key=lambda pair: (-pair[0], pair[1]))
    return tuple(Candidate(name, round(score, 1)) for score, name in near[:5])


def left_over(text: str, used: Iterable[tuple[int, int]]) -> str:
    """The text without what was understood; nothing at all where only small words are left."""
    kept, at = [], 0
    for start, end in sorted(used):
        kept.append(text[at:start])
        at = end
    left = " ".join(("".join([*kept, text[at:]])).split())
    left = re.sub(r"\s+(?=[,;])", "", re.sub(r"(?:\s*[,;]\s*){2,}", ", ", left)).strip(" ,;:")
    left = re.sub(r"^(?:and|but)\b[\s,]*", "", left, flags=re.IGNORECASE)
    return left if any(word.lower() not in _NOT_WORTH_A_NOTE for word in WORD.findall(left)) else ""
