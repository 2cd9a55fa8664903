"""The one form of a substitution rule, built in or the person's own, with the words that all rules share.

A rule is directed: it says when a candidate may replace the wanted part. Its test is data (equal, at least, at most,
ratio, ladder, matrix, listed, present); what does not fit these forms is a named function.
"""

from __future__ import annotations

import enum
import re
from collections.abc import Callable, Iterable, Mapping

import msgspec

from catalog.spec import PartSpec

SLACK = 1e-3
"""Relative slack for rounding when two nominal numbers are compared."""
LIMIT = 1e-6
"""Relative slack at a stated limit such as 2.2 times; limits are inclusive."""
COMMON = "common practice"
MEMORY = "from memory"
HIGHER, LOWER = "higher than wanted, which is better", "lower than wanted, which does no harm"
FURTHER = "further up the ladder, which does no harm"
NOT_WANTED, NOT_CANDIDATE = "not stated for the wanted part", "check: not stated for the candidate"
HARMLESS = frozenset({HIGHER, LOWER, FURTHER})
"""Details of what differs for the good: why the row fails a part says nothing there."""

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
    """A named function of `catalog.kinds.special`, with its numbers: windows as for a ratio, others by name."""

    name: str
    windows: tuple[Window, ...] = ()
    figures: Mapping[str, float] = msgspec.field(default_factory=dict)


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
    vouched: bool = False
    """Whether the same full number on both sides stands for what the candidate leaves out."""
    remark: str = ""
    """Name of a function of `catalog.kinds.remarks` that adds a worked figure to the reason."""
    why: str = ""
    source: str = COMMON
    do: str = ""
    """What to do at the bench when the rule gives rework or compromise."""
    tell: str = ""
    """What to tell a buyer then."""
    kind: str = ""
    """Of a person's own rule: the kind of the wanted part. A built-in rule stands with its family."""
    instead_of: str = ""
    """Of a person's own rule: the id of the built-in row, which is not locked, that it takes the place of. Empty: it
    stands beside them, and the worst result counts."""
    by: str = ""
    """Of a person's own rule: who said so."""
    at: str = ""
    """Of a person's own rule: when, as ISO 8601."""


class Pair(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """An entry of the person's own list: this candidate for that wanted number. `refuse` says it does not fit."""

    wanted: str
    candidate: str
    grade: Grade = Grade.DROP_IN
    note: str = ""
    by: str = ""
    """Who said so; empty for the person at the bench."""
    at: str = ""
    """When, as ISO 8601."""

    @property
    def source(self) -> str:
        """Whose word it is and from when."""
        return said_by("the person's own list", self.by, self.at)

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
        return stated(self.wanted, name), stated(self.candidate, name)

    def numbers(self, name: str) -> tuple[float | None, float | None]:
        """The attribute as a number on either side."""
        return self.wanted.number(name), self.candidate.number(name)

    def words(self, name: str) -> tuple[str, str]:
        """The attribute as a word in comparable form on either side; empty when not stated."""
        return normal(self.wanted.word(name) or ""), normal(self.candidate.word(name) or "")

    def flags(self, name: str) -> tuple[bool, bool]:
        """Whether either side names the feature."""
        return self.wanted.flag(name), self.candidate.flag(name)

    def listed(self, attribute: str, numbers: tuple[str, str], otherwise: Grade) -> Outcome:
        """What the person's own list says of two numbers; `otherwise` when it says nothing."""
        shown = numbers[0] or None, numbers[1] or None
        if same_word(*numbers):
            return Outcome(attribute, Grade.EXACT, "", *shown)
        entries = [pair for pair in self.pairs if pair.names(*numbers)]
        if not entries:
            return Outcome(attribute, otherwise, "check: the pair is not on the person's own list", *shown)
        entry = max(entries, key=lambda pair: pair.grade.rank)
        detail = "; ".join(part for part in ("on the person's own list", entry.note) if part)
        return Outcome(attribute, worst([Grade.DROP_IN, entry.grade]), detail, *shown, source=entry.source)

    @property
    def identities(self) -> tuple[str, str]:
        """The full numbers both go by."""
        return identity(self.wanted), identity(self.candidate)

    @property
    def barred(self) -> Pair | None:
        """An entry of the list that refuses another part for this wanted one, where the candidate has no number.

        It may be that very part.
        """
        wanted, candidate = self.identities
        refused = (pair for pair in self.pairs if pair.grade is Grade.REFUSE and same_word(pair.wanted, wanted))
        return None if candidate else next(refused, None)

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
    rule: str = ""
    unlocked: bool = False
    """True for a refusal that may be overruled although its rule is locked."""
    source: str = ""
    """Whose word it is, where it is not the rule's."""


Function = Callable[..., Outcome | None]
"""Takes the case, and the rule's windows and figures by name where it has any."""

_SEPARATE = re.compile(r"(?<=\d)[\s_-]+(?=\d)")
"""Between two figures a gap says where one number ends: `HX1-12` is not `HX11-2`."""
_JOINS = re.compile(r"\s+|(?<=[^\W_])[-_/]+(?=[^\W_\d])|(?<=[^\W_\d])[-_/]+(?=\d)")
_IDENTITY = ("part_number", "type_number", "model_code", "code")


def normal(word: str) -> str:
    """A word in the form in which words are compared: case, spaces and marks that only join do not count.

    Between two figures they count, all alike but for the slash.
    """
    plain = word.casefold().replace(",", ".").replace("×", "x").replace("−", "-")
    return _JOINS.sub("", _SEPARATE.sub("-", plain))


def same_word(one: str, other: str) -> bool:
    """Whether two words say the same; two empty ones do not."""
    return bool(one) and normal(one) == normal(other)


def identity(spec: PartSpec) -> str:
    """The full number a part goes by: its part number, type number, model code or cell code."""
    return spec.part_number or next((word for name in _IDENTITY if (word := spec.word(name))), "")


def said_by(what: str, by: str, at: str) -> str:
    """A source with its person and day, as far as they are known."""
    return ", ".join(part for part in (what, f"by {by}" if by else "", at[:10]) if part)


def graded(windows: Iterable[Window], ratio: float) -> Grade | None:
    """The grade of the first window that holds the ratio; None when none does."""
    return next(
        (
            window.grade
            for window in windows
            if not over(window.low, ratio) and (window.high is None or not over(ratio, window.high))
        ),
        None,
    )


def same_number(one: float, other: float, slack: float = SLACK) -> bool:
    """Whether two nominal numbers are the same but for rounding."""
    return abs(one - other) <= slack * max(abs(one), abs(other))


def over(value: float, limit: float) -> bool:
    """Whether the value is beyond an inclusive limit."""
    return value > limit + LIMIT * abs(limit)


def stated(spec: PartSpec, name: str) -> Plain:
    """The attribute as stated; null when it is not, and for a feature said to be absent."""
    held = spec.attributes.get(name)
    return None if held is None or held.value is False or held.value == "" else held.value
