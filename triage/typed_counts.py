"""How many units a typed text says: in digits or words, before the class or behind it. Pure functions."""

from __future__ import annotations

import re
from collections.abc import Mapping

from catalog.text import Refused
from triage.device_classes.schema import DeviceClass
from triage.matching import WORD, stem

COUNT_AT_MOST = 99
_DIGITS = re.compile(
    r"([-+]?\d[\d.,]*)(?:\s*[x×*](?=[\s\d]|[^\W\d_]{2})|\s*(?:pcs?|pieces|off)\b\.?|(?=[\s,:)]|$))", re.IGNORECASE
)
_GLUED = re.compile(r"(\d+)([^\W\d_]{3,})")
AFTER = re.compile(r"(?<!\d)(?:(?:^|[\s(\[])[x×*]|(?<=[^\W\d_])[×*])\s?(\d+)(?:[)\]]|(?=$|[\s,;]))", re.IGNORECASE)
_BULLET = re.compile(r"\s*(?:[-*•–]\s+)?")
BOX = re.compile(
    r"(?:(?:an?|one|the)\s+)?(?:job\s+)?(?:lot|box|bag|crate|pile|carton|bundle|set|tray|batch|case)\s+(?:full\s+)?"
    r"(?:of|with)\s+",
    re.IGNORECASE,
)
VAGUE = re.compile(
    r"\b(?:few|several|some|many|lots?|bunch|load|loads|handful|box|bag|crate|pile|carton|bundle|batch)\b",
    re.IGNORECASE,
)
NUMBERS = dict.fromkeys(("a", "an"), 1) | {"pair": 2, "couple": 2, "dozen": 12, "hundred": 100, "thousand": 1000}
NUMBERS |= {word: value for value, word in enumerate(("zero", "one", "two", "three", "four", "five", "six", "seven"))}
NUMBERS |= {word: value for value, word in enumerate(("eight", "nine", "ten", "eleven", "twelve", "thirteen"), 8)}
NUMBERS |= {f"{word}teen": value for value, word in enumerate(("four", "fif", "six", "seven", "eigh", "nine"), 14)}
NUMBERS |= {f"{word}ty": 10 * value for value, word in enumerate(("twen", "thir", "for", "fif", "six", "seven"), 2)}
NUMBERS |= {"eighty": 80, "ninety": 90}


def is_count(word: str) -> bool:
    """Whether a word is a count; `a` and `an` alone are none."""
    return word[0].isdigit() or (word.lower() in NUMBERS and word.lower() not in {"a", "an"})


def counted_off(text: str, classes: Mapping[str, DeviceClass], where: str) -> tuple[int | None, str]:
    """(count, or None where none is stated; the text without it)."""
    leading = leading_count(text, classes)
    if leading is not None:
        stated, end = leading
        return sane(stated, where), text[end:]
    if after := AFTER.search(text):
        return sane(after.group(1), where), f"{text[: after.start()]} {text[after.end() :]}"
    return None, text


def sane(stated: str, where: str) -> int:
    """The count as a number; raises `Refused` for one that nobody can mean."""
    if re.fullmatch(r"\d{3,}", stated) and int(stated) > COUNT_AT_MOST:
        raise Refused(f"really {stated[:20]}? expected 1 to {COUNT_AT_MOST}; type more than that in parts", where=where)
    if not re.fullmatch(r"\d{1,2}", stated) or int(stated) < 1:
        raise Refused(f"{stated} is no count of units; expected 1 to {COUNT_AT_MOST}", where=where)
    return int(stated)


def leading_count(text: str, classes: Mapping[str, DeviceClass]) -> tuple[str, int] | None:
    """(the count as digits, where it ends) of a text that starts with one."""
    begin = _BULLET.match(text)
    start = begin.end() if begin else 0
    if box := BOX.match(text, start):
        inner = leading_count(text[box.end() :], classes)
        return (inner[0], box.end() + inner[1]) if inner is not None else None
    if found := _DIGITS.match(text, start):
        return found.group(1).rstrip(".,"), found.end()
    if found := _GLUED.match(text, start):
        first_words = {stem(words.split()[0]) for each in classes.values() for words in each.words}
        return (found.group(1), found.end(1)) if stem(found.group(2)) in first_words else None
    total, end = None, start
    for word in WORD.finditer(text, start):
        value = NUMBERS.get(word.group().lower())
        joined = text[end : word.start()].strip(" -") == ""
        if value is None or not joined or (total is not None and not _adds(total, value)):
            if total == 1 and joined and VAGUE.match(word.group()):
                return None  # `a few`, `a bag of`
            break
        total = value if total in {None, 1} and value >= 2 else (total or 0) + value
        end = word.end()
    if total is None:
        return None
    of = re.compile(r"\s+of\b(?!\s+(?:them|these|those|which)\b)", re.IGNORECASE).match(text, end)
    return str(total), of.end() if of else end


def _adds(total: int, value: int) -> bool:
    """Whether a number word goes on from the last: `twenty one`, `a dozen`, `one hundred`."""
    return (total == 1 and value in {2, 12, 100, 1000}) or (20 <= total < 100 and total % 10 == 0 and 1 <= value <= 9)
