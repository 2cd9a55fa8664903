"""May this part stand in for that one: the wanted part and the candidate in, a grade with its reasons out.

The worst result of all rules wins, a proven refusal is final, and what is not known is never guessed.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

import msgspec

from catalog.judge import judge
from catalog.kinds import family_of, listed
from catalog.kinds.family import Family, Route
from catalog.kinds.remarks import REMARKS
from catalog.kinds.special import FUNCTIONS
from catalog.own_rules import grade_instead, of_kind, source_of
from catalog.rules import (
    HARMLESS,
    NOT_CANDIDATE,
    Case,
    Grade,
    Listed,
    Outcome,
    Pair,
    Plain,
    Present,
    Rule,
    Special,
    same_number,
    same_word,
    worst,
)
from catalog.spec import ROLES, PartSpec
from catalog.text import Refused

POLARITY = (
    "Polarity: on the aluminium part the stripe marks the negative lead;"
    " on the tantalum part the bar, the + or the longer lead marks the positive lead"
)
CONSTRUCTIONS = ("electrolytic", "tantalum", "ceramic", "film")
"""What a part said to be a capacitor, and no more, may be."""
_MARKED = frozenset({"electrolytic", "tantalum"})
_NUMBERED = ("part_number", "code")


class Reason(msgspec.Struct, frozen=True):
    """What one rule says of one attribute. Numbers are in the units of `catalog.spec`."""

    attribute: str
    wanted: Plain
    candidate: Plain
    result: Grade
    rule: str
    why: str
    source: str
    locked: bool = False
    """True for a refusal that nothing can overrule."""


class Fit(msgspec.Struct, frozen=True):
    """The verdict: its grade, every reason (worst first), what to do at the bench and what to tell a buyer."""

    grade: Grade
    reasons: tuple[Reason, ...] = ()
    do: tuple[str, ...] = ()
    tell: tuple[str, ...] = ()

    @property
    def locked(self) -> bool:
        """Whether the verdict is a refusal that nothing can overrule."""
        return any(reason.locked for reason in self.reasons)


class _Said(msgspec.Struct, frozen=True):
    reason: Reason
    do: str = ""
    tell: str = ""
    guarded: bool = False
    """True when the person's list may not speak over it: a refusal, or a doubt, of a locked rule."""
    row: Rule | None = None
    """The rule that says it."""


def fit(
    wanted: PartSpec,
    candidate: PartSpec,
    role: str | None = None,
    pairs: Iterable[Pair] = (),
    *,
    rules: Iterable[Rule] = (),
    mains: float | None = None,
) -> Fit:
    """Judge whether `candidate` may replace `wanted`.

    `role` is a word of `catalog.spec.ROLES` and goes before the wanted part's own. `pairs` is the person's list of
    pairs; it lifts refusals that are not locked, never a locked one. `rules` are the person's own, as
    `catalog.own_rules.checked` lets them stand. `mains` is the person's mains in volts. Refused for a role that does
    not exist.
    """
    place = role or wanted.role
    if place is not None and place not in ROLES:
        raise Refused(f"'{place}' is no role: expected one of {', '.join(ROLES)}", where="role")
    wanted = msgspec.structs.replace(wanted, kind=judged_kind(wanted, place))
    candidate = msgspec.structs.replace(candidate, kind=judged_kind(candidate))
    case = Case(wanted, candidate, place, tuple(pairs), mains)
    said = _judged(case, of_kind(rules, case.wanted.kind))
    said = _with_pairs(case, said)
    said.sort(key=lambda one: -one.reason.result.rank)
    reasons = tuple(one.reason for one in said)
    grade = worst(reason.result for reason in reasons)
    do = [one.do for one in said]
    if {case.wanted.kind, case.candidate.kind} == _MARKED:
        do.insert(0, POLARITY)
    family = family_of(case.wanted.kind)
    do += family.reminders if family and grade is not Grade.REFUSE else ()
    return Fit(grade, reasons, _once(do), _once(one.tell for one in said))


def as_dict(verdict: Fit) -> dict[str, Any]:
    """The verdict as plain data: grade, reasons, do, tell."""
    plain: dict[str, Any] = msgspec.to_builtins(verdict)
    return plain


def judged_kind(spec: PartSpec, role: str | None = None) -> str:
    """The kind whose rules judge a part, for a wanted one with its place.

    FI6 and G7: a film or ceramic part that states a safety class, or is wanted at the mains, is a safety capacitor.
    """
    guards = spec.kind in {"film", "ceramic"} and (spec.word("safety_class") or role == "mains")
    return "safety-cap" if guards else spec.kind


def _judged(case: Case, own: tuple[Rule, ...]) -> list[_Said]:
    kinds = case.wanted.kind, case.candidate.kind
    undecided = [name for name, kind in zip(("wanted", "candidate"), kinds, strict=True) if family_of(kind) is None]
    if undecided:
        return _undecided(case, own, undecided)
    family = family_of(kinds[0])
    if family is None:
        return []
    if _known_as_another(case):
        return [_another_kind(case)]
    if kinds[1] == "listed" and family.kind != "listed":
        return [_by_number(case)]
    route = _route(case, family)
    if route is None:
        return [_another_kind(case)]
    said = _with_own(case, _apply(case, route.rules), own)
    return said if family.kind == "listed" else said + _rest(case, family, route, said)


def _route(case: Case, family: Family) -> Route | None:
    if case.wanted.kind == case.candidate.kind:
        return Route(family.rules)
    if "listed" in {case.wanted.kind, case.candidate.kind}:
        return Route(family.rules)
    return family.routes.get(case.candidate.kind)


def _known_as_another(case: Case) -> bool:
    """Whether one is known for what it is, a relay or a lamp, and the other is of a described kind."""
    kinds = case.wanted.kind, case.candidate.kind
    sort = any(spec.word("what") for spec in (case.wanted, case.candidate))
    return sort and kinds[0] != kinds[1] and not case.same_type


def _by_number(case: Case) -> _Said:
    """A candidate of which only the number is known serves a described part only by that very number."""
    rule = msgspec.structs.replace(listed.RULE, locked=True)
    return _say(case, rule, judge(rule, msgspec.structs.replace(case, pairs=()), FUNCTIONS)[0])


def _undecided(case: Case, own: tuple[Rule, ...], sides: list[str]) -> list[_Said]:
    """A kind that is not known: only what every kind it may be refuses is refused; otherwise unknown.

    A capacitor of no stated construction may be any of them; a part of no kind at all is taken for the other side's.
    """
    kinds = case.wanted.kind, case.candidate.kind
    ways = [
        _judged(_as_kinds(case, wanted, candidate), own)
        for wanted in _may_be(kinds[0], kinds[1])
        for candidate in _may_be(kinds[1], kinds[0])
    ]
    refused = [said for said in ways if any(one.reason.result is Grade.REFUSE for one in said)]
    most_told = max(refused, key=len) if ways and len(refused) == len(ways) else []
    why = f"the kind of the {' and the '.join(sides)} part is not known"
    reason = Reason("kind", kinds[0] or None, kinds[1] or None, Grade.UNKNOWN, "G8", why, "")
    return [*most_told, _Said(reason, f"Find out the kind of the {' and the '.join(sides)} part", guarded=True)]


def _may_be(kind: str, other: str) -> tuple[str, ...]:
    if family_of(kind) is not None:
        return (kind,)
    if "capacitor" in {kind, other}:
        return CONSTRUCTIONS
    return (other,) if family_of(other) is not None else ()


def _as_kinds(case: Case, wanted: str, candidate: str) -> Case:
    return msgspec.structs.replace(
        case,
        wanted=msgspec.structs.replace(case.wanted, kind=wanted),
        candidate=msgspec.structs.replace(case.candidate, kind=candidate),
    )


def _another_kind(case: Case) -> _Said:
    """Refused for good: between these kinds no row of safety was ever asked, so nothing may speak over it."""
    why = "different kinds never match unless a rule allows it"
    kinds = case.wanted.kind, case.candidate.kind
    return _Said(Reason("kind", *kinds, Grade.REFUSE, "G8", why, "", locked=True), guarded=True)


def _apply(case: Case, rules: Iterable[Rule]) -> list[_Said]:
    return [_say(case, rule, outcome) for rule in rules for outcome in judge(rule, case, FUNCTIONS)]


def _with_own(case: Case, said: list[_Said], own: Sequence[Rule]) -> list[_Said]:
    """Let the person's own rules speak: beside the built-in ones, or in the place of a row that is not locked.

    Where several take the place of one row, the strictest counts. A named test speaks of one attribute at a time: where
    its row speaks of another than the own rule does, both stand.
    """
    spoken = [(rule, _apply(case, (rule,))) for rule in own]
    beside = [one for rule, found in spoken if not rule.instead_of or _elsewhere(said, rule) for one in found]
    instead = [(rule, found) for rule, found in spoken if rule.instead_of]
    return [*(_strictest(one, instead) for one in said), *beside]


def _elsewhere(said: Sequence[_Said], rule: Rule) -> bool:
    row = [one for one in said if one.reason.rule == rule.instead_of and not one.guarded]
    return bool(row) and not any(one.reason.attribute in rule.attributes for one in row)


def _strictest(one: _Said, instead: Sequence[tuple[Rule, list[_Said]]]) -> _Said:
    found = [put for rule, spoken in instead if (put := _instead(one, rule, spoken))]
    return max(found, key=lambda said: said.reason.result.rank, default=one)


def _instead(one: _Said, rule: Rule, spoken: Sequence[_Said]) -> _Said | None:
    """What is said once the own rule stands in the place of the row; None where that may not or cannot be.

    What the row warns of stays said, whatever its own figures were changed to.
    """
    built_in = one.reason
    if built_in.rule != rule.instead_of or one.guarded or built_in.attribute not in rule.attributes:
        return None
    for other in spoken:
        mine = other.reason
        same = isinstance(rule.test, Special) or mine.attribute == built_in.attribute
        if not same:
            continue
        if not isinstance(rule.test, Present) and None in {mine.wanted, mine.candidate}:
            return max(one, other, key=lambda said: said.reason.result.rank)
        grade = grade_instead(built_in.result, mine.result)
        if built_in.result is Grade.EXACT or one.row is None:
            return msgspec.structs.replace(other, reason=msgspec.structs.replace(mine, result=grade))
        parts = [mine.why, "" if grade is built_in.result else f"{built_in.rule} says {built_in.result}"]
        parts += [one.row.why if one.row.why not in mine.why else ""]
        reason = msgspec.structs.replace(mine, result=grade, why="; ".join(part for part in parts if part))
        if grade.rank > Grade.COMPROMISE.rank:
            return msgspec.structs.replace(other, reason=reason)
        return msgspec.structs.replace(other, reason=reason, do=other.do or one.row.do, tell=other.tell or one.row.tell)
    return None


def _say(case: Case, rule: Rule, outcome: Outcome) -> _Said:
    grade = outcome.grade
    remark = REMARKS[rule.remark](case) if rule.remark in REMARKS else ""
    fails = grade is not Grade.EXACT and outcome.detail not in HARMLESS
    why = "; ".join(part for part in (outcome.detail, remark, rule.why if fails else "") if part)
    reason = Reason(
        outcome.attribute,
        outcome.wanted,
        outcome.candidate,
        grade,
        outcome.rule or rule.id,
        why or "the same",
        outcome.source or source_of(rule),
        locked=rule.locked and grade is Grade.REFUSE and not outcome.unlocked,
    )
    bent = grade in {Grade.REWORK, Grade.COMPROMISE}
    do = outcome.do or (rule.do if bent else "")
    if outcome.detail.startswith(("check", "not stated")):
        do = _check(outcome)
    return _Said(reason, do, rule.tell if bent else "", rule.locked and not outcome.unlocked, rule)


def _check(outcome: Outcome) -> str:
    said = outcome.detail.removeprefix("check:").strip()
    return f"Check {outcome.attribute.replace('_', ' ')}: {said}"


def _rest(case: Case, family: Family, route: Route, said: Sequence[_Said]) -> list[_Said]:
    """Stated attributes of the wanted part that no rule spoke of: equal, or drop-in at best."""
    spoken = {one.reason.attribute for one in said}
    spoken |= {name for rule in route.rules for name in rule.attributes if isinstance(rule.test, Special)}
    skipped = {*spoken, *family.place, *route.settled, *_NUMBERED}
    found = []
    for name in case.wanted.attributes:
        wanted, candidate = case.plain(name)
        if name in skipped or wanted is None:
            continue
        same = candidate is not None and _alike(wanted, candidate)
        if not same:
            detail = "different; no rule asks for it" if candidate is not None else NOT_CANDIDATE
            outcome = Outcome(name, Grade.DROP_IN, detail, wanted, candidate)
            reason = Reason(name, wanted, candidate, Grade.DROP_IN, "G4" if candidate is None else "G5", detail, "")
            found.append(_Said(reason, _check(outcome) if candidate is None else ""))
    if case.wanted.kind != case.candidate.kind and not found:
        why = "another kind of part is never exact"
        found.append(_Said(Reason("kind", case.wanted.kind, case.candidate.kind, Grade.DROP_IN, "G8", why, "")))
    return found


def _alike(wanted: Plain, candidate: Plain) -> bool:
    if isinstance(wanted, str) or isinstance(candidate, str):
        return same_word(str(wanted), str(candidate))
    return same_number(float(wanted or 0), float(candidate or 0))


def _with_pairs(case: Case, said: list[_Said]) -> list[_Said]:
    """Apply the person's list where no rule did: it lifts what is not locked, and may refuse."""
    entries = [pair for pair in case.pairs if pair.names(*case.identities)]
    family = family_of(case.wanted.kind)
    if family is None or _reads_list(family) or case.same_type:
        return said
    if not entries:
        return [*said, *_doubt(case)]
    entry = _say(case, listed.RULE, case.listed("part_number", case.identities, Grade.UNKNOWN))
    grade = entry.reason.result
    if grade is Grade.REFUSE:
        return [*said, entry]
    return [entry, *(_lifted(one, grade) for one in said)]


def _doubt(case: Case) -> list[_Said]:
    """A candidate without a number may be the one that the person's list refuses."""
    barred = case.barred
    if barred is None:
        return []
    why = f"{barred.candidate} does not fit by the person's own list, and this part states no number"
    reason = Reason("part_number", barred.wanted, None, Grade.UNKNOWN, "LI1", why, barred.source)
    return [_Said(reason, "Find the number of the part")]


def _reads_list(family: Family) -> bool:
    return family.kind == "listed" or any(isinstance(rule.test, Listed) for rule in family.rules)


def _lifted(one: _Said, grade: Grade) -> _Said:
    reason = one.reason
    if one.guarded or reason.result.rank < Grade.UNKNOWN.rank or reason.result.rank <= grade.rank:
        return one
    why = f"{reason.why}; overruled by the person's own list"
    return msgspec.structs.replace(one, reason=msgspec.structs.replace(reason, result=grade, why=why))


def _once(lines: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(line for line in lines if line))
