"""Row dropping: would the tests notice if a row of the substitution rules were missing or looser?

Each row of every kind is in turn removed, and loosened in every way its data allows: a grade one better, a window or
step a tenth wider, not must-know any more, not locked any more, its conditions removed, silence forgiven. After each
change the fast tests of a fit run in this process. What they let pass is a survivor; `row_dropping.txt` says of each
that is left why it may stand, and those it does not name are printed last.

    python tests/bench/row_dropping.py [KIND ...]
"""

from __future__ import annotations

import importlib.util
import itertools
import re
import sys
import time
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path
from types import MappingProxyType

import msgspec

import catalog.kinds
from catalog.figures import changed, named
from catalog.kinds.family import Family, Route
from catalog.rules import AtLeast, AtMost, Equal, Grade, Ladder, Matrix, Present, Ratio, Rule, Special, Test

HERE = Path(__file__).parent
SUITES = (
    "catalog/test_fit_rows.py",
    "catalog/test_fit_decisions.py",
    "catalog/test_fit_limits.py",
    "catalog/test_fit.py",
    "catalog/test_rules.py",
    "catalog/test_own_rules.py",
    "catalog/test_fit_corners.py",
    "catalog/test_fit_special.py",
    "catalog/test_fit_tables.py",
    "catalog/test_fit_told.py",
    "catalog/test_fit_whole.py",
    "catalog/test_fit_said.py",
    "catalog/test_fit_good.py",
    "catalog/test_rule_words.py",
    "catalog/test_unread.py",
    "outside/test_outside_fit.py",
)
WIDER = (0.9, 1.1)
_UPPER = (" to", " within", " over by", "within percent")
Case = Callable[[], object]


def cases() -> list[tuple[str, Case]]:
    """Every test of the suites as a call without arguments, parametrised ones spelled out."""
    found: list[tuple[str, Case]] = []
    for suite in SUITES:
        place = importlib.util.spec_from_file_location(Path(suite).stem, HERE.parent / suite)
        module = importlib.util.module_from_spec(place)
        place.loader.exec_module(module)
        for name, test in vars(module).items():
            if name.startswith("test_") and callable(test):
                found += [(f"{name}{given}", one) for given, one in spelled_out(test)]
    return found


def spelled_out(test: Callable[..., object]) -> Iterator[tuple[str, Case]]:
    """The calls that its parameters ask for."""
    tables = []
    for mark in getattr(test, "pytestmark", ()):
        names, values = mark.args[:2]
        names = [name.strip() for name in names.split(",")] if isinstance(names, str) else list(names)
        tables.append([dict(zip(names, value if len(names) > 1 else (value,), strict=True)) for value in values])
    for chosen in itertools.product(*tables):
        given = {name: value for one in chosen for name, value in one.items()}
        yield str(tuple(given.values()))[:80] if given else "", lambda given=given: test(**given)


def better(grade: Grade) -> Grade:
    """One better; exact stays."""
    return tuple(Grade)[max(0, grade.rank - 1)]


def looser_tests(test: Test) -> Iterator[tuple[str, Test]]:
    """The test with one grade better or one figure wider."""
    swap = msgspec.structs.replace
    grades = {
        Equal: ("broken",), AtLeast: ("broken",), AtMost: ("broken",), Ratio: ("otherwise",), Matrix: ("otherwise",),
        Ladder: ("below", "above"), Present: ("broken", "extra"),
    }.get(type(test), ())  # fmt: skip
    for field in grades:
        grade = getattr(test, field)
        if grade is not None and better(grade) is not grade:
            yield f"{field} {better(grade)}", swap(test, **{field: better(grade)})
    for name, value in named(test):
        factors = WIDER[:1] if name.endswith(" from") else WIDER[1:] if name.endswith(_UPPER) else WIDER
        for factor in factors if value else ():
            yield f"{name} × {factor}", changed(test, name, value * factor)
    if isinstance(test, Ratio | Special):
        for place, window in enumerate(test.windows):
            if isinstance(test, Ratio) and window.grade is Grade.DROP_IN:
                continue  # a window never earns more than that
            windows = [*test.windows[:place], swap(window, grade=better(window.grade)), *test.windows[place + 1 :]]
            yield f"window {place} {better(window.grade)}", swap(test, windows=tuple(windows))
    steps = {Equal: "near", AtMost: "over"}.get(type(test))
    for place, step in enumerate(getattr(test, steps) if steps else ()):
        held = list(getattr(test, steps))
        held[place] = swap(step, grade=better(step.grade))
        yield f"step {place} {better(step.grade)}", swap(test, **{steps: tuple(held)})
    if isinstance(test, Matrix):
        for wanted, row in test.cells.items():
            for candidate, grade in row.items():
                cells = {**test.cells, wanted: {**row, candidate: better(grade)}}
                yield f"{candidate} for {wanted} {better(grade)}", swap(test, cells=cells)


def looser(rule: Rule) -> Iterator[tuple[str, Rule]]:
    """Every way to loosen a row."""
    swap = msgspec.structs.replace
    for said, test in looser_tests(rule.test):
        yield said, swap(rule, test=test)
    for field in ("must_know", "locked"):
        decided_inside = field == "must_know" and isinstance(rule.test, Special)  # there the flag only tells
        if getattr(rule, field) and not decided_inside:
            yield f"not {field}", swap(rule, **{field: False})
    for field, empty in (
        ("roles", ()),
        ("not_roles", ()),
        ("only_if", ()),
        ("not_if", ()),
        ("when", {}),
        ("unless", {}),
    ):
        if getattr(rule, field):
            yield f"no {field}", swap(rule, **{field: empty})
    if rule.assume is not None:
        yield "nothing assumed", swap(rule, assume=None)
    if rule.silent is not None:
        yield f"silent {better(rule.silent)}", swap(rule, silent=better(rule.silent))
    if len(rule.attributes) > 1 and not isinstance(rule.test, Special):
        for name in rule.attributes:
            yield f"not of {name}", swap(rule, attributes=tuple(one for one in rule.attributes if one != name))


def changes(family: Family) -> Iterator[tuple[str, Family]]:
    """The family with one row missing or looser, said in words."""
    swap = msgspec.structs.replace
    for said, rules in changed_rules(family.rules):
        yield said, swap(family, rules=rules)
    for other, route in family.routes.items():
        for said, rules in changed_rules(route.rules):
            yield f"← {other} {said}", swap(family, routes={**family.routes, other: Route(rules, route.settled)})


def changed_rules(rules: tuple[Rule, ...]) -> Iterator[tuple[str, tuple[Rule, ...]]]:
    """The rows with one missing or looser."""
    for place, rule in enumerate(rules):
        name = f"{rule.id} {','.join(rule.attributes)}"
        yield f"{name}: dropped", (*rules[:place], *rules[place + 1 :])
        for said, other in looser(rule):
            yield f"{name}: {said}", (*rules[:place], other, *rules[place + 1 :])


def notices(tests: list[tuple[str, Case]]) -> str:
    """The name of the first test that fails; empty when none does. It goes to the front: it may notice the next one."""
    for place, (name, test) in enumerate(tests):
        try:
            test()
        except BaseException:
            tests.insert(0, tests.pop(place))
            return name
    return ""


def explained(file: Path) -> Counter[str]:
    """The survivors that the file names, with how often each: the lines that begin with `- `, `×2` at their end."""
    found: Counter[str] = Counter()
    for line in file.read_text(encoding="utf-8").splitlines():
        if entry := re.fullmatch(r"- (.+?)(?: ×(\d+))?", line):
            found[entry[1]] += int(entry[2] or 1)
    return found


def main(kinds: list[str]) -> int:
    """Run it over the kinds named, or all; returns the number of survivors that are not explained."""
    tests = cases()
    broken = notices(tests)
    if broken:
        print(f"the tests fail before anything is changed: {broken}")
        return 1
    whole = catalog.kinds.FAMILIES
    began, made, survivors = time.monotonic(), 0, []
    for kind in kinds or whole:
        for said, family in changes(whole[kind]):
            catalog.kinds.FAMILIES = MappingProxyType({**whole, kind: family})
            try:
                noticed = notices(tests)
            finally:
                catalog.kinds.FAMILIES = whole
            made += 1
            if not noticed:
                survivors.append(f"{kind} {said}")
    print(*survivors, sep="\n")
    print(
        f"{made} changes, {made - len(survivors)} noticed, {len(survivors)} survive; {time.monotonic() - began:.0f} s"
    )
    told = explained(HERE / "row_dropping.txt")
    unexplained = Counter(survivors) - told
    about = Counter({said: count for said, count in told.items() if said.split()[0] in (kinds or whole)})
    print("not explained:", *unexplained.elements(), sep="\n  ")
    print("explained, but noticed now:", *(about - Counter(survivors)).elements(), sep="\n  ")
    return unexplained.total()


if __name__ == "__main__":
    sys.exit(min(1, main(sys.argv[1:])))
