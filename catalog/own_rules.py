"""The person's own rules: which may stand, and how they speak beside the built-in ones or instead of a row.

A rule beside the others can only make a verdict stricter, for the worst result counts. A rule instead of a row takes
its place wherever that row speaks and both parts state what is compared; a locked row has no such place. Pure.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

import msgspec

from catalog.figures import alike, named, rows_of
from catalog.kinds import FAMILIES
from catalog.kinds.family import Family
from catalog.reading import FAR
from catalog.rules import (
    AtLeast,
    AtMost,
    Equal,
    Grade,
    Ladder,
    Listed,
    Matrix,
    Present,
    Ratio,
    Rule,
    Special,
    Test,
    said_by,
)
from catalog.spec import FLAG, KINDS, ROLES, TEXT, WORD
from catalog.text import Refused, clean_line

_BUILT_IN_ONLY = ("locked", "assume", "silent", "vouched", "remark")
"""What only a built-in rule may say: it could promise something of a part that states nothing."""


def checked(rule: Rule) -> Rule:
    """The person's own rule, cleaned, as it may stand; words that are known are written as they are known.

    Raises:
        Refused: with the field; it names nothing that is known, or could make something pass that must not.
    """
    rule = _cleaned(rule)
    if not rule.id:
        raise Refused("expected a name of your own for the rule", where="id")
    family = FAMILIES.get(rule.kind)
    if family is None:
        raise Refused(f"no kind is called “{rule.kind}”; known are {', '.join(FAMILIES)}", where="kind")
    if any(one.id.casefold() == rule.id.casefold() for each in FAMILIES.values() for one in rows_of(each)):
        raise Refused(f"“{rule.id}” is a built-in rule; give yours a name of its own", where="id")
    empty = Rule(id="", attributes=(), test=rule.test)
    for name in _BUILT_IN_ONLY:
        if getattr(rule, name) != getattr(empty, name):
            raise Refused("only a built-in rule says this; leave it out", where=name)
    for name in (*rule.roles, *rule.not_roles):
        if name not in ROLES:
            raise Refused(f"“{name}” is no role; known are {', '.join(ROLES)}", where="roles")
    _check_attributes(rule)
    row = _replaced(rule, family)
    _check_test(rule, row)
    return rule


def ratings(kind: str) -> frozenset[str]:
    """The attributes of a kind of which more is never worse."""
    family = FAMILIES[kind]
    found = {name for rule in rows_of(family) if isinstance(rule.test, AtLeast) for name in rule.attributes}
    return frozenset(found | ({"voltage_ac", "voltage_dc"} & set(KINDS.get(kind, ()))))


def source_of(rule: Rule) -> str:
    """Whose rule it is and from when."""
    return said_by("the person's own rule", rule.by, rule.at) if rule.kind else rule.source


def of_kind(rules: Iterable[Rule], kind: str) -> tuple[Rule, ...]:
    """The rules for one kind of wanted part; one that names no kind is for all."""
    return tuple(rule for rule in rules if rule.kind in {"", kind})


def merged(*lists: Iterable[Rule]) -> tuple[Rule, ...]:
    """All rules; of two with the same kind and name the later one counts."""
    return tuple({(rule.kind, rule.id): rule for rules in lists for rule in rules}.values())


def _cleaned(rule: Rule) -> Rule:
    texts = {name: clean_line(getattr(rule, name)) for name in ("why", "do", "tell", "by", "at", "source")}
    kind = alike(clean_line(rule.kind), FAMILIES)
    attributes = tuple(alike(clean_line(name), KINDS.get(kind, ())) for name in rule.attributes)
    rows = rows_of(FAMILIES[kind]) if kind in FAMILIES else ()
    instead_of = alike(clean_line(rule.instead_of), (row.id for row in rows))
    return msgspec.structs.replace(
        rule, id=clean_line(rule.id, 80), kind=kind, attributes=attributes, instead_of=instead_of, **texts
    )


def _check_attributes(rule: Rule) -> None:
    known = KINDS.get(rule.kind, {})
    if not rule.attributes:
        raise Refused(f"expected one of {', '.join(known)}", where="attributes")
    for field in ("attributes", "only_if", "not_if", "when", "unless"):
        for name in getattr(rule, field):
            if name not in known:
                raise Refused(f"{rule.kind} has no “{name}”; it has {', '.join(known)}", where=field)


def _replaced(rule: Rule, family: Family) -> Rule | None:
    if not rule.instead_of:
        return None
    rows = [one for one in rows_of(family) if one.id == rule.instead_of]
    if not rows:
        known = ", ".join(dict.fromkeys(one.id for one in rows_of(family)))
        raise Refused(f"{family.kind} has no rule “{rule.instead_of}”; it has {known}", where="instead_of")
    if any(one.locked for one in rows):
        raise Refused(
            f"{rule.instead_of} is locked for safety; a stricter rule may stand beside it, none in its place",
            where="instead_of",
        )
    meant = [one for one in rows if set(rule.attributes) <= set(one.attributes)]
    if not meant:
        said = ", ".join(name for one in rows for name in one.attributes)
        raise Refused(f"{rule.instead_of} compares {said}", where="attributes")
    return meant[0]


def _check_test(rule: Rule, row: Rule | None) -> None:
    match rule.test:
        case Special():
            if row is None or not isinstance(row.test, Special) or row.test.name != rule.test.name:
                raise Refused("a named test stands only instead of the row that has it", where="test.name")
            if set(rule.test.figures) != set(row.test.figures) or bool(rule.test.windows) != bool(row.test.windows):
                known = ", ".join(name for name, _ in named(row.test))
                raise Refused(f"expected the same figures as {row.id}: {known}", where="test.figures")
        case Listed():
            raise Refused("pairs of part numbers are kept as pairs, not as a rule", where="test")
        case Equal() | AtLeast() | AtMost() | Ratio() | Ladder() | Matrix() | Present():
            _check_unit(rule)
    for name, value in named(rule.test):
        if not math.isfinite(value) or value < 0:
            raise Refused(f"{name}: expected a number of zero or more", where="test")
    _check_windows(rule.test)
    _check_ratings(rule)


def _check_unit(rule: Rule) -> None:
    """A test of words for words, of numbers for numbers, of a feature for a feature."""
    units = {KINDS[rule.kind][name] for name in rule.attributes}
    match rule.test:
        case Present():
            wrong = units - {FLAG}
        case Ladder() | Matrix():
            wrong = units - {WORD, TEXT}
        case AtLeast() | AtMost() | Ratio():
            wrong = units & {WORD, TEXT, FLAG}
        case _:
            wrong = units & {FLAG}
    if wrong:
        raise Refused(f"this test does not suit {', '.join(rule.attributes)}", where="test.test")


def _check_windows(test: Test) -> None:
    """No window reaches further than any search looks, and each holds something."""
    for window in test.windows if isinstance(test, Ratio | Special) else ():
        if window.high is not None and window.low > window.high:
            raise Refused(f"a window from {window.low:g} to {window.high:g} holds nothing", where="test.windows")
        if window.high is not None and window.high > FAR:
            raise Refused(f"expected at most {FAR:g} times the wanted value", where="test.windows")


def _check_ratings(rule: Rule) -> None:
    """More of a rating is never worse: no own rule may say so."""
    rated = ratings(rule.kind) & set(rule.attributes)
    if rated and not isinstance(rule.test, AtLeast | Special):
        raise Refused(f"{', '.join(sorted(rated))}: more is never worse; use a test of at least", where="test.test")


def grade_instead(built_in: Grade, own: Grade) -> Grade:
    """The grade of a row whose place an own rule takes; what the row does not call equal is never exact."""
    return Grade.DROP_IN if own is Grade.EXACT and built_in is not Grade.EXACT else own
