"""Typed lines to units: how many, which class, which symptoms; what is not understood stays as the note.

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

from catalog.text import LINE_LIMIT, Refused, clean_line
from triage.device_classes.schema import DeviceClass

COUNT_AT_MOST = 99
LEAD = 6.0
"""Points by which the best class must lead before it is taken without asking."""
NEAR = 60.0
"""Score from which a class is worth asking about."""
SLIP = 72.0
"""The same for a symptom: there are many of them, and most words are not about any."""

_WORD = re.compile(r"[^\W_]+(?:['’][^\W_]+)*")
_NOTE = re.compile(r"\bnotes?\s*:\s*(.*)$", re.IGNORECASE)
_MODEL = re.compile(r"\bmodel\b\s*:?\s*([^\s,;]+(?:\s+(?=[^\s,;]*\d)[^\s,;]+)*)", re.IGNORECASE)
_DIGITS = re.compile(
    r"([-+]?\d[\d.,]*)(?:\s*[x×*](?=[\s\d]|[^\W\d_]{2})|\s*(?:pcs?|pieces|off)\b\.?|(?=\s|$))", re.IGNORECASE
)
_GLUED = re.compile(r"(\d+)([^\W\d_]{3,})")
_AFTER = re.compile(r"(?:^|\s)[x×]\s?(\d+)(?=$|[\s,;])", re.IGNORECASE)
_BULLET = re.compile(r"\s*(?:[-*•–]\s+)?")
_ANOTHER = re.compile(r"\s*[,;+&]\s*|\s+and\s+", re.IGNORECASE)

_NUMBERS = dict.fromkeys(("a", "an"), 1) | {"pair": 2, "couple": 2, "dozen": 12, "hundred": 100, "thousand": 1000}
_NUMBERS |= {word: value for value, word in enumerate(("zero", "one", "two", "three", "four", "five", "six", "seven"))}
_NUMBERS |= {word: value for value, word in enumerate(("eight", "nine", "ten", "eleven", "twelve", "thirteen"), 8)}
_NUMBERS |= {f"{word}teen": value for value, word in enumerate(("four", "fif", "six", "seven", "eigh", "nine"), 14)}
_NUMBERS |= {f"{word}ty": 10 * value for value, word in enumerate(("twen", "thir", "for", "fif", "six", "seven"), 2)}
_NUMBERS |= {"eighty": 80, "ninety": 90}

_NEGATIONS = {"not", "no", "without"}
_NOT = {"not", "never", "cannot"}
_NOT |= {word + ending for word in ("won", "doesn", "don", "can", "isn", "didn") for ending in ("t", "'t")}
_SKIPPED = {"a", "an", "the", "is", "are", "was", "it", "its", "of", "on", "in", "at", "to", "any", "all", "my", "and"}
_SKIPPED |= {"but", "with", "when", "that", "this", "be", "been", "has", "have"}
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


class TypedUnit(msgspec.Struct, frozen=True):
    """One entry of a typed list: `count` units alike."""

    line: int
    """From 1, in the text as typed."""
    raw: str
    count: int
    class_id: str | None
    """None while it is in doubt; the symptoms are then read by `settle`, once the class is known."""
    count_stated: bool = True
    """False where no number was typed and 1 is assumed."""
    symptoms: tuple[str, ...] = ()
    model: str = ""
    note: str = ""
    doubt: tuple[Candidate, ...] = ()
    symptom_doubt: tuple[Candidate, ...] = ()


class _Token(msgspec.Struct, frozen=True):
    start: int
    end: int
    stem: str


class _Hit(msgspec.Struct, frozen=True):
    id: str
    score: float
    first: int
    """Index of its first word among the words that count."""
    words: int


def parse_units(text: str, classes: Mapping[str, DeviceClass], *, source: str = "typed list") -> tuple[TypedUnit, ...]:
    """Units of a typed or pasted text, several a line: `3 gamepads drift, 2 disc console dead note: no lids`.

    A count is 1 to 99, in digits or words, before the class or as `x3` behind it; `model WORD` and `note: …` are
    taken as they stand. Every word that is not understood is kept in the note. Raises Refused naming
    `source:line:count` for a count out of range and `source:line` for a line longer than `LINE_LIMIT`.
    """
    units: list[TypedUnit] = []
    for number, line in enumerate(text.splitlines(), start=1):
        if len(line) > LINE_LIMIT:
            raise Refused(f"line of {len(line):,} characters; at most {LINE_LIMIT:,}", where=f"{source}:{number}")
        cleaned = clean_line(line)
        if any(character.isalnum() for character in cleaned):
            where = f"{source}:{number}:count"
            units.extend(_unit(piece, number, classes, where) for piece in _pieces(cleaned, classes))
    return tuple(units)


def settle(unit: TypedUnit, device_class: DeviceClass) -> TypedUnit:
    """The same entry once the person has said its class: its symptoms are read, and nothing is in doubt about it."""
    only = {device_class.id: device_class}
    return _unit(unit.raw, unit.line, only, f"line {unit.line}:count", said=device_class.id)


def match_class(text: str, classes: Mapping[str, DeviceClass]) -> ClassMatch:
    """The class that a text names. One that leads clearly is taken; else the candidates are given, best first."""
    match, _ = _class_of(text, _tokens(text), classes)
    return match


def match_symptoms(text: str, device_class: DeviceClass) -> SymptomMatch:
    """The symptoms of a class that a text names, in the order of the text; `no drift` names no drift."""
    tokens = _tokens(text)
    hits = _symptom_hits(tokens, device_class)
    used = [token for hit in hits for token in tokens[hit.first : hit.first + hit.words]]
    left = [token for token in tokens if token not in used]
    symptoms = tuple(dict.fromkeys(hit.id for hit in sorted(hits, key=lambda hit: hit.first)))
    doubt = _near_symptoms(left, device_class, symptoms)
    return SymptomMatch(symptoms, doubt, _left_over(text, [(token.start, token.end) for token in used]))


def _unit(
    piece: str, line: int, classes: Mapping[str, DeviceClass], where: str, *, said: str | None = None
) -> TypedUnit:
    """One entry: taken apart from its ends (note, model, count), then its class (unless it is said), its symptoms."""
    rest, note = _take(_NOTE, piece)
    rest, model = _take(_MODEL, rest)
    count, rest = _count(rest, classes, where)
    tokens = _tokens(rest)
    match, named = _class_of(rest, tokens, classes)
    if said is not None:
        match = ClassMatch(said)
    symptoms = SymptomMatch((), note=_left_over(rest, []))
    if match.class_id is not None:
        if named is not None:
            words = tokens[named.first : named.first + named.words]
            # The gap left by the class is closed with a comma, so that the note reads well.
            rest = f"{rest[: words[0].start]}, {rest[words[-1].end :]}"
        symptoms = match_symptoms(rest, classes[match.class_id])
    return TypedUnit(
        line=line,
        raw=piece,
        count=count or 1,
        class_id=match.class_id,
        count_stated=count is not None,
        symptoms=symptoms.symptoms,
        model=model,
        note="; ".join(filter(None, (symptoms.note, note))),
        doubt=match.doubt,
        symptom_doubt=symptoms.doubt,
    )


def _take(pattern: re.Pattern[str], text: str) -> tuple[str, str]:
    found = pattern.search(text)
    if found is None or not found.group(1):
        return text, ""
    return f"{text[: found.start()]} {text[found.end() :]}", found.group(1).strip()


def _pieces(line: str, classes: Mapping[str, DeviceClass]) -> Iterator[str]:
    """Entries of a line.

    A new one starts behind a comma (and the like) where a count and a class follow, behind a semicolon where a class
    does.
    """
    note = _NOTE.search(line)
    start = 0
    for separator in _ANOTHER.finditer(line, 0, note.start() if note else len(line)):
        after = line[separator.end() :]
        counted = _leading_count(after, classes)
        apart = ";" in separator[0]  # a semicolon alone sets entries apart, other signs only before a count
        if (counted is not None or apart) and start < separator.start():
            rest = after[counted[1] :] if counted is not None else after
            _, named = _class_of(rest, _tokens(rest), classes)
            if named is not None and named.first == 0:
                yield line[start : separator.start()].strip()
                start = separator.end()
    yield line[start:].strip()


def _count(text: str, classes: Mapping[str, DeviceClass], where: str) -> tuple[int | None, str]:
    """(count, or None where none is stated; the text without it)."""
    leading = _leading_count(text, classes)
    if leading is not None:
        stated, end = leading
        rest = text[end:]
    elif after := _AFTER.search(text):
        stated, rest = after.group(1), f"{text[: after.start()]} {text[after.end() :]}"
    else:
        return None, text
    if not re.fullmatch(r"\d{1,4}", stated) or not 1 <= int(stated) <= COUNT_AT_MOST:
        raise Refused(f"{stated} is no count of units; expected 1 to {COUNT_AT_MOST}", where=where)
    return int(stated), rest


def _leading_count(text: str, classes: Mapping[str, DeviceClass]) -> tuple[str, int] | None:
    """(the count as digits, where it ends) of a text that starts with one."""
    begin = _BULLET.match(text)
    start = begin.end() if begin else 0
    if found := _DIGITS.match(text, start):
        return found.group(1).rstrip(".,"), found.end()
    if found := _GLUED.match(text, start):
        first_words = {_stem(words.split()[0]) for each in classes.values() for words in each.words}
        return (found.group(1), found.end(1)) if _stem(found.group(2)) in first_words else None
    total, end = None, start
    for word in _WORD.finditer(text, start):
        value = _NUMBERS.get(word.group().lower())
        joined = text[end : word.start()].strip(" -") == ""
        if value is None or not joined or (total is not None and not _adds(total, value)):
            break
        total = value if total in {None, 1} and value >= 2 else (total or 0) + value
        end = word.end()
    if total is None:
        return None
    of = re.compile(r"\s+of\b", re.IGNORECASE).match(text, end)
    return str(total), of.end() if of else end


def _adds(total: int, value: int) -> bool:
    """Whether a number word goes on from the last: `twenty one`, `a dozen`, `one hundred`."""
    return (total == 1 and value in {2, 12, 100, 1000}) or (20 <= total < 100 and total % 10 == 0 and 1 <= value <= 9)


def _tokens(text: str) -> list[_Token]:
    """The words that count, by stem; small words are passed over, so that they split no phrase."""
    found = (_Token(word.start(), word.end(), _stem(word.group())) for word in _WORD.finditer(text))
    return [token for token in found if token.stem not in _SKIPPED]


def _stem(word: str) -> str:
    """`crackles`, `crackly` and `crackling` to one form; every way of saying not to `not`."""
    stem = word.lower().replace("’", "'")
    if stem in _NOT:
        return "not"
    stem = stem.removesuffix("'s").replace("disk", "disc")
    if len(stem) > 3 and stem.endswith("s") and not stem.endswith("ss"):
        stem = stem[:-1]
    for ending in ("ing", "ed"):
        if stem.endswith(ending) and len(stem) - len(ending) >= 3 and not stem.endswith("eed"):
            stem = stem.removesuffix(ending)
            if len(stem) > 3 and stem[-1] == stem[-2] and stem[-1] not in "lsz":
                stem = stem[:-1]
            break
    for ending in ("ie", "y", "e"):
        if stem.endswith(ending) and len(stem) - len(ending) >= 3:
            return stem.removesuffix(ending)
    return stem


@lru_cache(maxsize=4096)
def _phrase(words: str) -> tuple[str, ...]:
    """The stems of words of a class file: a thousand or so, held against every line at every keystroke."""
    return tuple(token.stem for token in _tokens(words))


def _alike(typed: str, meant: str) -> float:
    """0 to 1: same word, or a slip of the finger (one in short words, two in long ones, none in tiny ones)."""
    if typed == meant:
        return 1.0
    slips = 0 if len(meant) <= 3 else 1 if len(meant) <= 7 else 2
    # A wrong first letter makes another word more often than a slip.
    if not slips or typed[0] != meant[0] or abs(len(typed) - len(meant)) > slips:
        return 0.0
    distance = OSA.distance(typed, meant, score_cutoff=slips)
    return 1 - distance / max(len(typed), len(meant)) if distance <= slips else 0.0


def _hits(tokens: Sequence[_Token], phrase: Sequence[str], name: str) -> Iterator[_Hit]:
    """Every place where a phrase stands; one of two words may be turned round (`stuck tray`)."""
    if not phrase:
        return
    orders = [phrase]
    if len(phrase) == 2 and phrase[0] not in _NEGATIONS:
        orders.append(phrase[::-1])
    for first in range(len(tokens) - len(phrase) + 1):
        window = tokens[first : first + len(phrase)]
        best = 0.0
        for order in orders:
            each = [_alike(token.stem, word) for token, word in zip(window, order, strict=True)]
            best = max(best, 0.0 if 0.0 in each else sum(each) / len(each))
        if best:
            yield _Hit(name, 100 * best, first, len(phrase))


def _class_of(
    text: str, tokens: Sequence[_Token], classes: Mapping[str, DeviceClass]
) -> tuple[ClassMatch, _Hit | None]:
    """(the match, where the best class is named). Longer names count more, and so do those at the start."""
    best: dict[str, tuple[float, _Hit]] = {}
    for each in classes.values():
        for words in each.words:
            for hit in _hits(tokens, _phrase(words), each.id):
                rank = hit.score + LEAD * (hit.words - 1) - 4.0 * min(hit.first, 4)
                if each.id not in best or rank > best[each.id][0]:
                    best[each.id] = (rank, hit)
    ranked = sorted(best.values(), key=lambda entry: -entry[0])
    if not ranked:
        return ClassMatch(None, _near_classes(text, classes)), None
    top, hit = ranked[0]
    rivals = [entry for entry in ranked if top - entry[0] < LEAD]
    if len(rivals) == 1:
        return ClassMatch(hit.id), hit
    return ClassMatch(None, tuple(Candidate(rival.id, round(rival.score, 1)) for _, rival in rivals)), hit


def _near_classes(text: str, classes: Mapping[str, DeviceClass]) -> tuple[Candidate, ...]:
    """Classes whose words are somewhere near, when none is named."""
    plain = " ".join(token.stem for token in _tokens(text))
    scores = ((each.id, _nearness(plain, (_phrase(words) for words in each.words))) for each in classes.values())
    return _best(scores)


def _symptom_hits(tokens: Sequence[_Token], device_class: DeviceClass) -> list[_Hit]:
    """Symptoms that are named, the longest phrases first, each word used once."""
    found = [
        hit
        for symptom in device_class.symptoms
        for phrase in map(_phrase, symptom.words)
        for hit in _hits(tokens, phrase, symptom.id)
        if phrase[0] in _NEGATIONS or hit.first == 0 or tokens[hit.first - 1].stem not in _NEGATIONS
    ]
    found.sort(key=lambda hit: (-hit.words, -hit.score, hit.first))
    used: set[int] = set()
    taken: list[_Hit] = []
    for hit in found:
        places = set(range(hit.first, hit.first + hit.words))
        if not places & used:
            used |= places
            taken.append(hit)
    return taken


def _near_symptoms(left: Sequence[_Token], device_class: DeviceClass, named: Sequence[str]) -> tuple[Candidate, ...]:
    plain = " ".join(token.stem for token in left)
    others = (symptom for symptom in device_class.symptoms if symptom.id not in named)
    scores = ((each.id, _nearness(plain, (_phrase(words) for words in each.words))) for each in others)
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


def _left_over(text: str, used: Iterable[tuple[int, int]]) -> str:
    """The text without what was understood; nothing at all where only small words are left."""
    kept, at = [], 0
    for start, end in sorted(used):
        kept.append(text[at:start])
        at = end
    left = " ".join(("".join([*kept, text[at:]])).split())
    left = re.sub(r"\s+(?=[,;])", "", re.sub(r"(?:\s*[,;]\s*){2,}", ", ", left)).strip(" ,;:")
    return left if any(word.lower() not in _NOT_WORTH_A_NOTE for word in _WORD.findall(left)) else ""
