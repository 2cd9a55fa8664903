"""The numbers inside the rules: each by name with its origin, and a test with one of them changed.

A window is told by its grade and end ("drop-in to"), a step by its grade ("rework over by"), the figure of a named
function by its own name. Pure.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence

import msgspec

from catalog.kinds import FAMILIES
from catalog.kinds.family import Family
from catalog.rules import AtMost, Equal, Grade, Ratio, Rule, Special, Step, Test, Window
from catalog.text import Refused


class Figure(msgspec.Struct, frozen=True):
    """One number of a built-in rule."""

    kind: str
    rule: str
    attribute: str
    """The first attribute the row compares; with kind and rule id it tells rows of one id apart."""
    name: str
    value: float
    source: str
    locked: bool


def rows_of(family: Family) -> tuple[Rule, ...]:
    """Every row of a family, those for candidates of another kind included, each once."""
    found = [*family.rules, *(rule for route in family.routes.values() for rule in route.rules)]
    return tuple(rule for place, rule in enumerate(found) if rule not in found[:place])


def all_figures() -> tuple[Figure, ...]:
    """Every number of every built-in rule, by kind and row."""
    found = dict.fromkeys(
        Figure(kind, rule.id, rule.attributes[0] if rule.attributes else "", name, value, rule.source, rule.locked)
        for kind, family in FAMILIES.items()
        for rule in rows_of(family)
        for name, value in named(rule.test)
    )
    return tuple(found)


def alike(word: str, known: Iterable[str]) -> str:
    """The one of the known words that is meant, letter case and blanks, hyphens or underscores aside; else the word."""
    plain = _plain(word)
    return next((one for one in known if _plain(one) == plain), word)


def _plain(word: str) -> str:
    return re.sub(r"[\s_-]+", " ", word.strip()).casefold()


def named(test: Test) -> Iterator[tuple[str, float]]:
    """The numbers of a test with their names."""
    match test:
        case Ratio():
            yield from _of_windows(test.windows)
        case Special():
            yield from _of_windows(test.windows)
            yield from ((name.replace("_", " "), value) for name, value in test.figures.items())
        case Equal():
            if test.percent:
                yield "within percent", test.percent
            yield from ((f"{step.grade} within", step.limit) for step in test.near)
        case AtMost():
            yield from ((f"{step.grade} over by", step.limit) for step in test.over)
        case _:
            return


def changed(test: Test, name: str, value: float) -> Test:
    """The test with one number changed. Refused when it has no such number, or a window would hold nothing."""
    name = alike(name, dict(named(test)))
    if name not in dict(named(test)):
        known = ", ".join(f"“{one}”" for one, _ in named(test)) or "none"
        raise Refused(f"this rule has no figure “{name}”; it has {known}", where="figure")
    if isinstance(test, Equal):
        if name == "within percent":
            return msgspec.structs.replace(test, percent=value)
        return msgspec.structs.replace(test, near=_steps(test.near, name, value, "within"))
    if isinstance(test, AtMost):
        return msgspec.structs.replace(test, over=_steps(test.over, name, value, "over by"))
    key = name.replace(" ", "_")
    if isinstance(test, Special) and key in test.figures:
        return msgspec.structs.replace(test, figures={**test.figures, key: value})
    assert isinstance(test, Ratio | Special)  # noqa: S101 - no other test has a number
    return msgspec.structs.replace(test, windows=_windows(test.windows, name, value))


def row_of(kind: str, rule_id: str, figure: str = "") -> Rule:
    """The built-in row of that kind and id, the one that has the figure where several share the id.

    Upper and lower case are alike. Refused when there is none.
    """
    kind = alike(kind, FAMILIES)
    family = FAMILIES.get(kind)
    if family is None:
        raise Refused(f"no kind is called “{kind}”; known are {', '.join(FAMILIES)}", where="kind")
    rows = [rule for rule in rows_of(family) if _plain(rule.id) == _plain(rule_id)]
    if not rows:
        known = ", ".join(dict.fromkeys(rule.id for rule in rows_of(family)))
        raise Refused(f"{kind} has no rule “{rule_id}”; it has {known}", where="rule")
    meant = _plain(figure)
    return next((rule for rule in rows if any(_plain(name) == meant for name, _ in named(rule.test))), rows[0])


def _of_windows(windows: Sequence[Window]) -> Iterator[tuple[str, float]]:
    for window in windows:
        yield f"{window.grade} from", window.low
        if window.high is not None:
            yield f"{window.grade} to", window.high


def _windows(windows: Sequence[Window], name: str, value: float) -> tuple[Window, ...]:
    grade, _, end = name.rpartition(" ")
    found = []
    for window in windows:
        mine = window
        if window.grade is Grade(grade):
            mine = msgspec.structs.replace(window, **{"low" if end == "from" else "high": value})
            if mine.high is not None and mine.low > mine.high:
                raise Refused(f"a window from {mine.low:g} to {mine.high:g} holds nothing", where="figure")
        found.append(mine)
    return tuple(found)


def _steps(steps: Sequence[Step], name: str, value: float, ending: str) -> tuple[Step, ...]:
    return tuple(
        msgspec.structs.replace(step, limit=value) if name == f"{step.grade} {ending}" else step for step in steps
    )
