"""A typed line to its entries: where one kind of device ends and the next begins. Pure functions."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping

from catalog.text import Refused
from triage.device_classes.schema import DeviceClass
from triage.matching import WORD, Hit, class_of, near_classes, symptom_hits, tokens_of
from triage.typed_counts import BOX, is_count, leading_count

MOST_SIGNS = 40
"""Commas and numbers in one line; more of them are no line that anybody types."""
NOTE = re.compile(r"\bnotes?\s*:\s*(.*)$", re.IGNORECASE)
_ANOTHER = re.compile(r"\s*[,;+&]\s*|\s+and\s+|\s+/\s+", re.IGNORECASE)
_OPEN_LIST = re.compile(r":|\([^)]*$")
NO_PART_AFTER = frozenset({"with", "no", "not", "without", "plus", "incl", "including", "has", "have", "model", "the"})


def entries_of(line: str, classes: Mapping[str, DeviceClass], where: str) -> list[str]:
    """The entries of one cleaned line, each about one class; what is said before a colon is said of each.

    Raises:
        Refused: of more than `MOST_SIGNS` commas and numbers.
    """
    return _with_title(list(_pieces(line, classes, where)), classes)


def _with_title(pieces: list[str], classes: Mapping[str, DeviceClass]) -> list[str]:
    """`all dead: 2 radios, 1 amp`: what is said before the colon is said of each."""
    if len(pieces) < 2 or not pieces[0].endswith(":") or held_in(pieces[0], classes):
        return pieces
    return [f"{piece}, {pieces[0].rstrip(' :')}" for piece in pieces[1:]]


def _pieces(line: str, classes: Mapping[str, DeviceClass], where: str) -> Iterator[str]:
    """Entries of a line, each beginning with a class of its own."""
    note = NOTE.search(line)
    end = note.start() if note else len(line)
    signs = {found.end(): (found.start(), found[0].strip().lower()) for found in _ANOTHER.finditer(line, 0, end)}
    for word in WORD.finditer(line, 0, end):
        if word.start() not in signs and line[: word.start()].endswith(" ") and is_count(word.group()):
            signs[word.start()] = word.start(), ""
    ends = sorted(signs)
    if len(ends) > MOST_SIGNS:
        raise Refused(f"too much for one line; type one kind a line ({len(ends)} commas and numbers)", where=where)
    start = 0
    for place, at in enumerate(ends):
        stop, sign = signs[at]
        following = next((signs[other][0] for other in ends[place + 1 :] if signs[other][1]), end)
        if start < stop and _begins(line[start:stop], sign, line[at : max(at, following)], line[at:], classes):
            yield line[start:stop].strip()
            start = at
    yield line[start:].strip()


def _begins(before: str, sign: str, chunk: str, after: str, classes: Mapping[str, DeviceClass]) -> bool:
    """Whether a new entry starts behind `before`; `chunk` reaches to the next sign."""
    counted = leading_count(after, classes)
    rest = chunk[counted[1] :] if counted is not None else chunk
    tokens = tokens_of(rest)
    _, named = class_of(rest, tokens, classes)
    if named is None and not (sign and (counted is not None or sign == "/")):
        return False
    held = held_in(before, classes)
    theirs = {index for each in held for hit in symptom_hits(tokens, each) for index in _span(hit)}
    if named is not None and named.first == 0 and (counted is not None or sign == ";"):
        if theirs & set(_span(named)) and _OPEN_LIST.search(before):
            return False  # `consoles: 1 pads dead` is about a console
        titled = bool(held) or before.rstrip().endswith(":")
        return bool(sign) or (titled and counted is not None and _counts_on(before, counted[0], rest, named))
    if named is None:
        theirs |= {index for each in held for hit in symptom_hits(tokens_of(chunk), each) for index in _span(hit)}
        return not theirs and bool(near_classes(" ".join(token.stem for token in tokens[:2]), classes))
    own = {index for hit in symptom_hits(tokens, classes[named.id]) for index in _span(hit)}
    words = {tokens[index].stem for index in _span(named)}
    inside = any(each.id != named.id and any(words <= stems(name) for name in each.words) for each in held)
    told = bool(own - set(_span(named))) and set(range(named.first)) <= own
    if not told or not held or theirs & set(_span(named)):
        return False  # `console, pad port dead` is about the console
    return _counts_on(before, counted[0], rest, named) if counted and not sign else bool(sign) and not inside


def _counts_on(before: str, count: str, rest: str, named: Hit) -> bool:
    """Whether a count and a class in mid-line start an entry: not `with 2 pads`, not `a 3 amp fuse`."""
    words = WORD.findall(before)
    box = BOX.fullmatch(f"{before.strip()} ")
    if box or not words or words[-1].lower() in NO_PART_AFTER or not count.isdigit():
        return False
    tokens = tokens_of(rest)
    after = tokens[named.first + named.words :]
    return (count == "1" or plural(rest, named)) and not (after and after[0].stem == "fus")


def held_in(text: str, classes: Mapping[str, DeviceClass]) -> tuple[DeviceClass, ...]:
    """The class that a text names, or those it may mean."""
    match, _ = class_of(text, tokens_of(text), classes)
    ids = (match.class_id,) if match.class_id else tuple(candidate.id for candidate in match.doubt)
    return tuple(classes[name] for name in ids if name in classes)


def _span(hit: Hit) -> range:
    return range(hit.first, hit.first + hit.words)


def stems(words: str) -> set[str]:
    """The stems of some words."""
    return {token.stem for token in tokens_of(words)}


def plural(text: str, named: Hit) -> bool:
    """Whether the class stands in the plural where it is named."""
    last = tokens_of(text)[named.first + named.words - 1]
    word = text[last.start : last.end].lower()
    return len(word) > 3 and word.endswith("s") and not word.endswith("ss")
