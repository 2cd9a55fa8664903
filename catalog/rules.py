"""The one form of a substitution rule, built in or the person's own, and how a rule judges a candidate.

A rule is directed: it says when a candidate may replace the wanted part. Its test is data (equal, at least, at most,
ratio, ladder, matrix, listed, present); what does not fit these forms is a named function.
"""

from __future__ import annotations

import enum
import re
from collections.abc import Callable, Iterable, Mapping, Sequence

import msgspec

from catalog.spec import PartSpec
from catalog.text import Refused

SLACK = 1e-3
"""Relative slack for rounding when two nominal numbers are compared."""
LIMIT = 1e-6
"""Relative slack at a stated limit such as 2.2 times; limits are inclusive."""
COMMON = "common practice"
MEMORY = "from memory"

Plain = float | str | bool | None


class Grade(enum.StrEnum):
    """How well a candidate stands in, best first."""

    EXACT = "exact"
    DROP_IN = "drop-in"
    REWORK = "rework"
    COMPROMISE = "compromise"
    UNKNOWN = "unknown"
    REFUSE = "refuse"

    @property
    def rank(self) -> int:
        """0 for exact to 5 for refuse."""
        return _RANKS[self]


_RANKS = {grade: rank for rank, grade in enumerate(Grade)}


def worst(grades: Iterable[Grade]) -> Grade:
    """The worst of the grades; exact when there are none."""
    return max(grades, key=lambda grade: grade.rank, default=Grade.EXACT)


class Window(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A range of candidate ÷ wanted and the grade it earns; both ends belong to it. `high` null is no upper end."""

    low: float
    high: float | None
    grade: Grade


class Step(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """The grade up to and with this difference from the wanted value, in the attribute's own unit."""

    limit: float
    grade: Grade


class _Test(msgspec.Struct, frozen=True, tag_field="test", forbid_unknown_fields=True):
    """A test is told by its `test` key in files."""


class Equal(_Test, frozen=True, tag="equal"):
    """The same value or word; a number within `percent` or one of `near` is accepted at drop-in or that grade."""

    broken: Grade
    percent: float = 0.0
    near: tuple[Step, ...] = ()
    slack: float = SLACK


class AtLeast(_Test, frozen=True, tag="at_least"):
    """A rating: the candidate's must not be lower."""

    broken: Grade


class AtMost(_Test, frozen=True, tag="at_most"):
    """The candidate's must not be higher; an excess up to a step's limit earns that step's grade."""

    broken: Grade
    over: tuple[Step, ...] = ()
    slack: float = SLACK


class Ratio(_Test, frozen=True, tag="ratio"):
    """Candidate ÷ wanted, best window first; an equal value is always right."""

    windows: tuple[Window, ...]
    otherwise: Grade = Grade.REFUSE


class Ladder(_Test, frozen=True, tag="ladder"):
    """Words in ascending order. A word that is not on the ladder is only accepted when equal."""

    order: tuple[str, ...]
    below: Grade
    above: Grade = Grade.DROP_IN


class Matrix(_Test, frozen=True, tag="matrix"):
    """Wanted word, then candidate word, to grade. Equal words are always right."""

    cells: Mapping[str, Mapping[str, Grade]]
    otherwise: Grade = Grade.REFUSE


class Listed(_Test, frozen=True, tag="listed"):
    """Equal, or a pair on the person's own list."""

    otherwise: Grade = Grade.UNKNOWN


class Present(_Test, frozen=True, tag="present"):
    """A feature: silence means it is absent. `broken`: wanted has it, candidate not; `extra`: the other way round."""

    broken: Grade | None = None
    extra: Grade | None = None


class Special(_Test, frozen=True, tag="special"):
    """A named function of `catalog.kinds.special`."""

    name: str


Test = Equal | AtLeast | AtMost | Ratio | Ladder | Matrix | Listed | Present | Special


class Rule(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One row: what is compared, how, and what it means when it fails. Several rules may share an id."""

    id: str
    attributes: tuple[str, ...]
    test: Test
    must_know: bool = False
    """Missing on either side gives unknown."""
    locked: bool = False
    """A refusal by this rule cannot be overruled."""
    roles: tuple[str, ...] = ()
    """Only in these places; empty means in all."""
    not_roles: tuple[str, ...] = ()
    only_if: tuple[str, ...] = ()
    """Attributes the wanted part must state for the rule to speak."""
    not_if: tuple[str, ...] = ()
    """Attributes which, stated for the wanted part, silence the rule."""
    when: Mapping[str, tuple[str, ...]] = msgspec.field(default_factory=dict)
    """Words of the wanted part, one of which must stand for the rule to speak."""
    unless: Mapping[str, tuple[str, ...]] = msgspec.field(default_factory=dict)
    """Words of the wanted part, one of which silences the rule."""
    assume: float | str | None = None
    """What silence on either side means."""
    silent: Grade | None = None
    """Grade when the wanted part states it and the candidate does not; null leaves it to the general rule."""
    remark: str = ""
    """Name of a function of `catalog.kinds.remarks` that adds a worked figure to the reason."""
    why: str = ""
    source: str = COMMON
    do: str = ""
    """What to do at the bench when the rule gives rework or compromise."""
    tell: str = ""
    """What to tell a buyer then."""


class Pair(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """An entry of the person's own list: this candidate for that wanted number. `refuse` says it does not fit."""

    wanted: str
    candidate: str
    grade: Grade = Grade.DROP_IN
    note: str = ""

    def names(self, wanted: str, candidate: str) -> bool:
        """Whether the entry is about these two numbers, spacing and case aside."""
        return bool(wanted and candidate) and (same_word(self.wanted, wanted) and same_word(self.candidate, candidate))


class Case(msgspec.Struct, frozen=True):
    """One question put to the rules: may `candidate` replace `wanted` in this place."""

    wanted: PartSpec
    candidate: PartSpec
    role: str | None = None
    pairs: tuple[Pair, ...] = ()
    mains: float | None = None
    """The person's mains in volts."""

    def plain(self, name: str) -> tuple[Plain, Plain]:
        """The attribute as stated on either side; a feature that is not named is null."""
        return _plain(self.wanted, name), _plain(self.candidate, name)

    def numbers(self, name: str) -> tuple[float | None, float | None]:
        """The attribute as a number on either side."""
        return self.wanted.number(name), self.candidate.number(name)

    def words(self, name: str) -> tuple[str, str]:
        """The attribute as a word in comparable form on either side; empty when not stated."""
        return normal(self.wanted.word(name) or ""), normal(self.candidate.word(name) or "")

    def flags(self, name: str) -> tuple[bool, bool]:
        """Whether either side names the feature."""
        return self.wanted.flag(name), self.candidate.flag(name)

    @property
    def same_type(self) -> bool:
        """Whether both carry the same full type number."""
        return same_word(identity(self.wanted), identity(self.candidate))


class Outcome(msgspec.Struct, frozen=True):
    """What one rule found of one attribute; empty texts are taken from the rule."""

    attribute: str
    grade: Grade
    detail: str = ""
    wanted: Plain = None
    candidate: Plain = None
    do: str = ""
    tell: str = ""
    rule: str = ""
    unlocked: bool = False
    """True for a refusal that may be overruled although its rule is locked."""


Function = Callable[[Case], Outcome | None]

_JOINS = re.compile(r"\s+|(?<=[^\W_])[-_/]+(?=[^\W_])")
_IDENTITY = ("part_number", "type_number", "model_code", "code")


def normal(word: str) -> str:
    """A word in the form in which words are compared: case, spaces and marks that only join do not count."""
    return _JOINS.sub("", word.casefold().replace(",", ".").replace("×", "x").replace("−", "-"))


def same_word(one: str, other: str) -> bool:
    """Whether two words say the same; two empty ones do not."""
    return bool(one) and normal(one) == normal(other)


def identity(spec: PartSpec) -> str:
    """The full number a part goes by: its part number, type number, model code or cell code."""
    return spec.part_number or next((word for name in _IDENTITY if (word := spec.word(name))), "")


def same_number(one: float, other: float, slack: float = SLACK) -> bool:
    """Whether two nominal numbers are the same but for rounding."""
    return abs(one - other) <= slack * max(abs(one), abs(other))


def over(value: float, limit: float) -> bool:
    """Whether the value is beyond an inclusive limit."""
    return value > limit + LIMIT * abs(limit)


def judge(rule: Rule, case: Case, functions: Mapping[str, Function]) -> list[Outcome]:
    """Apply one rule; an empty list means it has nothing to say. Refused when it names a function that is not there."""
    if not speaks(rule, case):
        return []
    if isinstance(rule.test, Special):
        if rule.test.name not in functions:
            raise Refused(f"no test is called '{rule.test.name}'", where=f"rules[{rule.id}].test")
        found = functions[rule.test.name](case)
        return [found] if found else []
    return [found for name in rule.attributes if (found := _attribute(rule, rule.test, case, name))]


def speaks(rule: Rule, case: Case) -> bool:
    """Whether the rule is about this place and this wanted part."""
    if (rule.roles and case.role not in rule.roles) or case.role in rule.not_roles:
        return False
    if any(_plain(case.wanted, name) is None for name in rule.only_if):
        return False
    if any(_plain(case.wanted, name) is not None for name in rule.not_if):
        return False
    return all(_says(case.wanted, name, words) for name, words in rule.when.items()) and not any(
        _says(case.wanted, name, words) for name, words in rule.unless.items()
    )


def can_refuse(test: Test, wanted: Plain) -> bool:
    """Whether some value of the candidate would be refused by this test for this wanted value."""
    match test:
        case Equal() | AtLeast() | AtMost():
            return test.broken is Grade.REFUSE
        case Ratio():
            return Grade.REFUSE in {test.otherwise, *(window.grade for window in test.windows)}
        case Ladder():
            place = _place(test, str(wanted))
            return (test.below is Grade.REFUSE and place != 0) or (
                test.above is Grade.REFUSE and place != len(test.order) - 1
            )
        case Matrix():
            return Grade.REFUSE in {test.otherwise, *_row(test, str(wanted)).values()}
        case _:
            return False


def _plain(spec: PartSpec, name: str) -> Plain:
    held = spec.attributes.get(name)
    return None if held is None or held.value is False or held.value == "" else held.value


def _says(spec: PartSpec, name: str, words: Sequence[str]) -> bool:
    return any(same_word(spec.word(name) or "", word) for word in words)


def _attribute(rule: Rule, test: Test, case: Case, name: str) -> Outcome | None:
    wanted, candidate = case.plain(name)
    if isinstance(test, Present):
        return _present(test, name, named=(wanted is not None, candidate is not None))
    wanted = rule.assume if wanted is None else wanted
    candidate = rule.assume if candidate is None else candidate
    if wanted is None:
        if not rule.must_know or (candidate is None and case.same_type):
            return None
        return Outcome(name, Grade.UNKNOWN, "not stated for the wanted part", None, candidate)
    if candidate is None:
        unsure = rule.must_know or can_refuse(test, wanted)
        grade = rule.silent or (Grade.UNKNOWN if unsure else Grade.DROP_IN)
        return Outcome(name, grade, "check: not stated for the candidate", wanted, None)
    grade, detail = _compare(test, wanted, candidate, case)
    return Outcome(name, grade, detail, wanted, candidate)


def _present(test: Present, name: str, *, named: tuple[bool, bool]) -> Outcome | None:
    wanted, candidate = named
    if wanted and candidate:
        return Outcome(name, Grade.EXACT, "", wanted, candidate)
    if wanted and test.broken:
        return Outcome(name, test.broken, "the candidate does not have it", wanted, candidate)
    if candidate and not wanted and test.extra:
        return Outcome(name, test.extra, "only the candidate has it", wanted, candidate)
    return None


def _compare(test: Test, wanted: Plain, candidate: Plain, case: Case) -> tuple[Grade, str]:
    if isinstance(test, Listed):
        return _listed(test, wanted, candidate, case)
    if isinstance(wanted, str) or isinstance(candidate, str):
        return _words(test, str(wanted), str(candidate))
    return _numbers(test, float(wanted or 0), float(candidate or 0))


def _listed(test: Listed, wanted: Plain, candidate: Plain, case: Case) -> tuple[Grade, str]:
    if same_word(str(wanted), str(candidate)):
        return Grade.EXACT, ""
    entries = [pair for pair in case.pairs if pair.names(str(wanted), str(candidate))]
    if not entries:
        return test.otherwise, "the pair is not on the list"
    note = next((f": {pair.note}" for pair in entries if pair.note), "")
    return worst([Grade.DROP_IN, *(pair.grade for pair in entries)]), f"by the person's own list{note}"


def _words(test: Test, wanted: str, candidate: str) -> tuple[Grade, str]:
    if same_word(wanted, candidate):
        return Grade.EXACT, ""
    match test:
        case Ladder():
            places = _place(test, wanted), _place(test, candidate)
            if places[0] is None or places[1] is None:
                return worst([test.below, test.above]), "different"
            higher = places[1] > places[0]
            return (test.above, "further up the ladder") if higher else (test.below, "further down the ladder")
        case Matrix():
            row = _row(test, wanted)
            return row.get(normal(candidate), test.otherwise), "different"
        case Equal():
            return test.broken, "different"
        case _:
            return Grade.UNKNOWN, "a number was expected on both sides"


def _numbers(test: Test, wanted: float, candidate: float) -> tuple[Grade, str]:
    if same_number(wanted, candidate, getattr(test, "slack", SLACK)):
        return Grade.EXACT, ""
    match test:
        case Equal():
            return _near(test, wanted, abs(candidate - wanted))
        case AtLeast():
            higher = abs(candidate) > abs(wanted)
            return (Grade.DROP_IN, "higher than wanted") if higher else (test.broken, "lower than wanted")
        case AtMost():
            lower = candidate < wanted
            grade = Grade.DROP_IN if lower else _stepped(test.over, candidate - wanted, test.broken)
            return grade, "lower than wanted" if lower else "higher than wanted"
        case Ratio():
            return _window(test, wanted, candidate)
        case _:
            return Grade.UNKNOWN, "a word was expected on both sides"


def _near(test: Equal, wanted: float, difference: float) -> tuple[Grade, str]:
    if test.percent and not over(difference, test.percent / 100 * abs(wanted)):
        return Grade.DROP_IN, f"within {test.percent:g} %"
    return _stepped(test.near, difference, test.broken), "different"


def _window(test: Ratio, wanted: float, candidate: float) -> tuple[Grade, str]:
    if wanted == 0:
        return test.otherwise, "the wanted value is zero"
    ratio = candidate / wanted
    for window in test.windows:
        if not over(window.low, ratio) and (window.high is None or not over(ratio, window.high)):
            return worst([Grade.DROP_IN, window.grade]), f"{ratio:.3g} times the wanted value"
    return test.otherwise, f"{ratio:.3g} times the wanted value"


def _stepped(steps: Sequence[Step], difference: float, beyond: Grade) -> Grade:
    return next((step.grade for step in steps if not over(difference, step.limit)), beyond)


def _place(test: Ladder, word: str) -> int | None:
    return next((place for place, step in enumerate(test.order) if same_word(step, word)), None)


def _row(test: Matrix, wanted: str) -> dict[str, Grade]:
    row = next((cells for word, cells in test.cells.items() if same_word(word, wanted)), {})
    return {normal(word): grade for word, grade in row.items()}
