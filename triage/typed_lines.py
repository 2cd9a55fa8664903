"""Typed lines to units: how many, which class, which symptoms; what is not understood stays as the note.

`gamepads: 2 drift, 1 dead` is three units. Nothing typed is dropped, and what is in doubt is asked: an entry carries
its question, and a count that cannot be right is refused by its line. Pure functions.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence

import msgspec

from catalog.text import LINE_LIMIT, Refused, clean_line
from triage.device_classes.schema import DeviceClass
from triage.lot import SoldAs
from triage.matching import (
    WORD,
    Candidate,
    ClassMatch,
    SymptomMatch,
    class_of,
    left_over,
    match_symptoms,
    stem,
    symptom_hits,
    tokens_of,
)
from triage.typed_counts import AFTER, VAGUE, counted_off, is_count, leading_count, sane
from triage.typed_entries import NO_PART_AFTER, NOTE, entries_of, held_in, plural, stems

ASK_FROM = 80.0
"""Score from which a near miss of a symptom is worth a question."""

_MODEL = re.compile(r"\bmodel\b\s*:?\s*([^\s,;]+(?:\s+(?=[^\s,;]*\d)[^\s,;]+)*)", re.IGNORECASE)
_UNTESTED = re.compile(
    r"(?:\ball\s+)?(?:\b(?:sold|bought)\s+as\s+)?\b(?:un-?tested|(?:not|never)\s+(?:yet\s+)?tested|un-?checked)\b",
    re.IGNORECASE,
)
_OF_THEM = re.compile(
    r"\s*[x×]?\s*(?:of\s+(?:them|these|those|which)\b\s*)?(?:(?:is|are|has|have|with|only|just)\b\s*)*", re.IGNORECASE
)
_REST = re.compile(r"(?:the\s+)?(?:rest|others?)\b", re.IGNORECASE)
_PART = re.compile(r"(?:(?<=\s)|(?<=[(:,;/]))(?=\d|[^\W\d_])")
"""Where a count of a part may begin."""
_ASIDE = re.compile(r"^\s*[(\[]\s*(\d+)\s*[)\]]|^\s*(\d+)\s*$")
"""A count behind the class: `amps (3) hum`, `gamepads 4`."""
_LISTED = re.compile(r"^\s*(?::|\(|-\s)")
"""What opens a list of parts right behind the class."""
_STATES = frozenset(map(stem, ("untested", "working", "works", "ok", "okay", "fine", "good", "unknown", "faulty")))


class TypedUnit(msgspec.Struct, frozen=True):
    """One entry of a typed list: `count` units alike."""

    line: int
    """From 1, in the text as typed."""
    raw: str
    """What says it; of a part of an entry, its class and its own words."""
    count: int
    class_id: str | None
    """None while it is in doubt; the symptoms are read once the class is known."""
    count_stated: bool = True
    """False where no number was typed and 1 is assumed."""
    symptoms: tuple[str, ...] = ()
    model: str = ""
    note: str = ""
    doubt: tuple[Candidate, ...] = ()
    symptom_doubt: tuple[Candidate, ...] = ()
    sold_as: SoldAs | None = None
    """How it was bought, where the words say so."""
    ask: str = ""
    """What the person should look at before it is kept; empty where nothing is in doubt."""


class _Entry(msgspec.Struct, frozen=True):
    """An entry taken apart: what says the class, what all of it has, its parts with a count of their own."""

    before: str
    named: str
    common: str
    parts: tuple[tuple[int, str], ...]


def parse_units(text: str, classes: Mapping[str, DeviceClass], *, source: str = "typed list") -> tuple[TypedUnit, ...]:
    """Units of a typed or pasted text, several a line: `3 gamepads drift, 2 disc console dead note: no lids`.

    A count is 1 to 99, in digits or words, before the class or behind it (`x3`, `(3)`); counts behind a plural share
    it out (`4 radios, 1 dead`). `model WORD` and `note: …` are taken as they stand, `untested` is how it was bought.
    Every word that is not understood is kept in the note.

    Raises:
        Refused: naming `source:line:count` for a count out of range or parts that are more than the whole, and
            `source:line` for a line longer than `LINE_LIMIT` or of more than `MOST_SIGNS` commas and numbers.
    """
    units: list[TypedUnit] = []
    for number, line in enumerate(text.splitlines(), start=1):
        if len(line) > LINE_LIMIT:
            raise Refused(f"line of {len(line):,} characters; at most {LINE_LIMIT:,}", where=f"{source}:{number}")
        cleaned = clean_line(line)
        if any(character.isalnum() for character in cleaned):
            where = f"{source}:{number}:count"
            for piece in entries_of(cleaned, classes, f"{source}:{number}"):
                units.extend(_units(piece, number, classes, where))
    return tuple(units)


def take_untested(text: str) -> tuple[str, bool]:
    """(the text without words for `untested`, whether there were any)."""
    kept, found = _UNTESTED.subn(" ", text)
    return (left_over(kept, []), True) if found else (text, False)


# --- an entry into units ------------------------------------------------------------------------------------------


def _units(piece: str, line: int, classes: Mapping[str, DeviceClass], where: str) -> Iterator[TypedUnit]:
    """One entry: taken apart from its ends (note, model, count), then its parts, each with class and symptoms."""
    rest, note = _take(NOTE, piece)
    rest, model = _take(_MODEL, rest)
    count, rest = counted_off(rest, classes, where)
    entry, count = _apart(rest, count, classes, where)
    if not entry.parts:
        text = f"{entry.before}{entry.named}{entry.common}"
        ask = _how_many(text, count, classes) or _of_each(entry.common, count)
        yield _unit(piece, text, line, classes, count=count, model=model, note=note, ask=ask)
        return
    told = sum(number for number, _ in entry.parts)
    if count is not None and told > count:
        raise Refused(f"{count} in all, but {told} in parts; which is it?", where=where)
    parts = [(number, words, "") for number, words in entry.parts]
    if count is not None and told < count:
        parts.append((count - told, "", f"nothing is said of {'these' if count - told > 1 else 'this one'}: right?"))
    head = f"{entry.before}{entry.named}"
    shared = f"{head}{entry.common}".rstrip(" ,:;-")
    for number, words, ask in parts:
        text = ", ".join(filter(None, (shared, words)))
        yield _unit(text.strip(), text, line, classes, head=head, count=number, model=model, note=note, ask=ask)


def _unit(
    raw: str,
    text: str,
    line: int,
    classes: Mapping[str, DeviceClass],
    *,
    head: str | None = None,
    count: int | None,
    model: str,
    note: str,
    ask: str,
) -> TypedUnit:
    """Units alike; where `head`, the start of the text, is given, it alone says the class."""
    rest, untested = _UNTESTED.subn(" ", text)
    named_in = _UNTESTED.sub(" ", head) if head is not None else rest
    tokens = tokens_of(named_in)
    match, named = class_of(named_in, tokens, classes)
    symptoms = SymptomMatch((), note=left_over(rest, []))
    if match.class_id is not None:
        if named is not None:
            words = tokens[named.first : named.first + named.words]
            # The gap left by the class is closed with a comma, so that the note reads well.
            rest = f"{rest[: words[0].start]}, {rest[words[-1].end :]}"
        symptoms = match_symptoms(rest, classes[match.class_id])
    return TypedUnit(
        line=line,
        raw=raw,
        count=count or 1,
        class_id=match.class_id,
        count_stated=count is not None,
        symptoms=symptoms.symptoms,
        model=model,
        note="; ".join(filter(None, (symptoms.note, note))),
        doubt=match.doubt,
        symptom_doubt=symptoms.doubt,
        sold_as="untested" if untested else None,
        ask=ask or _doubtful(match, symptoms, classes) or _loose_count(rest, match, classes),
    )


def _doubtful(match: ClassMatch, symptoms: SymptomMatch, classes: Mapping[str, DeviceClass]) -> str:
    """What is asked about the words left over; empty where the class itself is still to be asked."""
    if match.class_id is None:
        return ""
    note = symptoms.note
    tokens = tokens_of(note)
    _, other = class_of(note, tokens, classes)
    said = note[tokens[other.first].start : tokens[other.first + other.words - 1].end] if other is not None else ""
    own = any(stems(said) <= stems(words) for words in classes[match.class_id].words)
    if said and (not own or (other is not None and other.id == match.class_id)) and "," not in said:
        return f"is “{said}” one more unit? then put its count before it"
    near = next((one for one in symptoms.doubt if one.score >= ASK_FROM), None)
    if near is None:
        return ""
    words = {symptom.id: symptom.words[0] for symptom in classes[match.class_id].symptoms}
    return f"is “{words[near.id]}” meant?"


def _loose_count(text: str, match: ClassMatch, classes: Mapping[str, DeviceClass]) -> str:
    """A number before a symptom that was taken for no count: `1 handheld no sound and 1 dead screen`."""
    if match.class_id is None:
        return ""
    for word in WORD.finditer(text):
        rest = text[word.end() :]
        if is_count(word.group()) and not re.search(r"\d\D|\d{3}", word[0]):
            after = WORD.search(rest)
            if after is not None and not rest[: after.start()].strip() and _says(rest, (classes[match.class_id],)):
                return f"is “{word.group()} {after.group()} …” one more unit? then name its class too"
    return ""


def _how_many(text: str, count: int | None, classes: Mapping[str, DeviceClass]) -> str:
    if count is not None:
        twice = AFTER.search(text)
        return f"{count} or {twice.group(1)} of them? {count} is taken" if twice else ""
    _, named = class_of(text, tokens_of(text), classes)
    many = named is not None and (plural(text, named) or VAGUE.search(text[: tokens_of(text)[named.first].start]))
    return "how many? 1 is taken" if many else ""


def _of_each(common: str, count: int | None) -> str:
    """A list as long as there are units may mean one thing each."""
    things = [words for words in re.split(r"\s*[,;/]\s*|\s+and\s+", common.strip(" :(-)")) if words]
    if count is None or count < 2 or not _LISTED.match(common) or len(things) != count:
        return ""
    return f"has each of the {count} all of this? else say 1 {things[0]}, 1 {things[1]}"


def _take(pattern: re.Pattern[str], text: str) -> tuple[str, str]:
    found = pattern.search(text)
    if found is None or not found.group(1):
        return text, ""
    return f"{text[: found.start()]} {text[found.end() :]}", found.group(1).strip()


def _apart(text: str, count: int | None, classes: Mapping[str, DeviceClass], where: str) -> tuple[_Entry, int | None]:
    """The entry in its pieces, and its count where one stands behind the class."""
    tokens = tokens_of(text)
    _, named = class_of(text, tokens, classes)
    if named is None:
        return _Entry(text, "", "", ()), count
    begin, end = tokens[named.first].start, tokens[named.first + named.words - 1].end
    tail = text[end:]
    if count is None and (aside := _ASIDE.match(tail)):
        count = sane(aside.group(1) or aside.group(2), where)
        tail = tail[aside.end() :]
    common = tail
    parts: list[tuple[int, str]] = []
    if (count or 0) > 1 or (count is None and plural(text, named)):
        common, parts = _parts(tail, count, held_in(text, classes), classes, where)
    return _Entry(text[:begin], text[begin:end], common, tuple(parts)), count


def _parts(
    tail: str, count: int | None, held: Sequence[DeviceClass], classes: Mapping[str, DeviceClass], where: str
) -> tuple[str, list[tuple[int, str]]]:
    """(what all of them have, the parts with counts of their own) of what stands behind the class."""
    listed = bool(_LISTED.match(tail))
    starts: list[tuple[int, int, int | None]] = []  # where it starts, where its words start, how many (None: the rest)
    loose = False
    for at in _PART.finditer(tail):
        begun = _part_count(tail[at.start() :], classes, where)
        before = tail[: at.start()].rstrip()
        words = WORD.findall(before)
        phrase = any(hit.first == 0 for each in held for hit in symptom_hits(tokens_of(tail[at.start() :]), each))
        if begun is None or phrase or (starts and at.start() < starts[-1][1]):
            continue
        set_off = not before or before[-1] in ",;:(/-+&" or words[-1].lower() == "and"
        if not set_off and words[-1].lower() in NO_PART_AFTER:
            continue
        if not _says(tail[at.start() + begun[1] :], held, anything=listed and set_off):
            continue
        loose = loose or not set_off
        starts.append((at.start(), at.start() + begun[1], begun[0]))
    stated = sum(number or 0 for _, _, number in starts)
    rest = [number for _, _, number in starts if number is None]
    if not starts or len(rest) > 1 or (rest and (count is None or count <= stated)):
        return tail, []
    if loose and count is not None and not rest and stated != count:
        return tail, []
    bounds = [start for start, _, _ in starts[1:]] + [len(tail)]
    common, close = tail[: starts[0][0]], ""
    parts: list[tuple[int, str]] = []
    for (_, said, number), stop in zip(starts, bounds, strict=True):
        words_of = tail[said:stop]
        if "(" in common and ")" in words_of:
            words_of, _, close = words_of.partition(")")
        words_of = re.sub(r"[\s,;:(/+&-]+$|\s+and\s*$", "", words_of, flags=re.IGNORECASE).strip()
        parts.append((number if number is not None else (count or 0) - stated, words_of))
    return common.rstrip(" :(-,;/") + (f",{close}" if close.strip() else ""), parts


def _part_count(text: str, classes: Mapping[str, DeviceClass], where: str) -> tuple[int | None, int] | None:
    """(how many, where its words begin) of a text that begins with a count; how many is None for `the rest`."""
    if rest := _REST.match(text):
        of = _OF_THEM.match(text, rest.end())
        return None, of.end() if of else rest.end()
    word = WORD.match(text)
    if word is None or not is_count(word.group()):
        return None
    counted = leading_count(text, classes)
    if counted is None or not counted[0].isdigit() or not int(counted[0]):
        return None
    of = _OF_THEM.match(text, counted[1])
    return sane(counted[0], where), of.end() if of else counted[1]


def _says(words: str, held: Sequence[DeviceClass], *, anything: bool = False) -> bool:
    """Whether the words behind a count say how those units are, at once."""
    tokens = tokens_of(_UNTESTED.sub(" untested ", words))
    if not tokens:
        return False
    if anything or tokens[0].stem in _STATES:
        return True
    return any(hit.first == 0 for each in held for hit in symptom_hits(tokens, each))
