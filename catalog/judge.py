"""Applying one rule to one question: when it speaks, what silence means, and what its test finds."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from catalog.rules import (
    FURTHER,
    HIGHER,
    LOWER,
    NOT_CANDIDATE,
    NOT_WANTED,
    SLACK,
    AtLeast,
    AtMost,
    Case,
    Equal,
    Function,
    Grade,
    Ladder,
    Listed,
    Matrix,
    Outcome,
    Plain,
    Present,
    Ratio,
    Rule,
    Special,
    Step,
    Test,
    graded,
    normal,
    over,
    same_number,
    same_word,
    stated,
    worst,
)
from catalog.spec import PartSpec
from catalog.text import Refused


def judge(rule: Rule, case: Case, functions: Mapping[str, Function]) -> list[Outcome]:
    """Apply one rule; an empty list means it has nothing to say. Refused when it names a function that is not there."""
    if not speaks(rule, case):
        return []
    if isinstance(rule.test, Special):
        if rule.test.name not in functions:
            raise Refused(f"no test is called '{rule.test.name}'", where=f"rules[{rule.id}].test")
        told = {"windows": rule.test.windows} if rule.test.windows else {}
        found = functions[rule.test.name](case, **told, **rule.test.figures)
        return [found] if found else []
    return [found for name in rule.attributes if (found := _attribute(rule, rule.test, case, name))]


def speaks(rule: Rule, case: Case) -> bool:
    """Whether the rule is about this place and this wanted part."""
    if (rule.roles and case.role not in rule.roles) or case.role in rule.not_roles:
        return False
    if any(stated(case.wanted, name) is None for name in rule.only_if):
        return False
    if any(stated(case.wanted, name) is not None for name in rule.not_if):
        return False
    return all(_says(case.wanted, name, words) for name, words in rule.when.items()) and not any(
        _says(case.wanted, name, words) for name, words in rule.unless.items()
    )


def can_refuse(test: Test, wanted: Plain) -> bool:
    """Whether some value of the candidate would be refused by this test for this wanted value."""
    match test:
        case AtLeast():
            return test.broken is Grade.REFUSE
        case Equal() | AtMost():
            steps = test.near if isinstance(test, Equal) else test.over
            return Grade.REFUSE in {test.broken, *(step.grade for step in steps)}
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
        return Outcome(name, Grade.UNKNOWN, NOT_WANTED, None, candidate)
    if candidate is None:
        unsure = (rule.must_know or can_refuse(test, wanted)) and not (rule.vouched and case.same_type)
        grade = rule.silent or (Grade.UNKNOWN if unsure else Grade.DROP_IN)
        return Outcome(name, grade, NOT_CANDIDATE, wanted, None)
    if isinstance(test, Listed):
        return case.listed(name, (str(wanted), str(candidate)), test.otherwise)
    grade, detail = _compare(test, wanted, candidate)
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


def _compare(test: Test, wanted: Plain, candidate: Plain) -> tuple[Grade, str]:
    if isinstance(wanted, str) or isinstance(candidate, str):
        return _words(test, str(wanted), str(candidate))
    return _numbers(test, float(wanted or 0), float(candidate or 0))


def _words(test: Test, wanted: str, candidate: str) -> tuple[Grade, str]:
    if same_word(wanted, candidate):
        return Grade.EXACT, ""
    match test:
        case Ladder():
            places = _place(test, wanted), _place(test, candidate)
            if places[0] is None or places[1] is None:
                off = worst([test.below, test.above])
                sure = off is not Grade.REFUSE or can_refuse(test, wanted)
                return off if sure else Grade.UNKNOWN, "different"
            higher = places[1] > places[0]
            above = FURTHER if test.above is Grade.DROP_IN else "further up the ladder"
            return (test.above, above) if higher else (test.below, "further down the ladder")
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
            return (Grade.DROP_IN, HIGHER) if higher else (test.broken, "lower than wanted")
        case AtMost():
            lower = candidate < wanted
            grade = Grade.DROP_IN if lower else _stepped(test.over, candidate - wanted, test.broken)
            return grade, LOWER if lower else "higher than wanted"
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
    grade = graded(test.windows, ratio)
    return worst([Grade.DROP_IN, grade]) if grade else test.otherwise, f"{ratio:.3g} times the wanted value"


def _stepped(steps: Sequence[Step], difference: float, beyond: Grade) -> Grade:
    return next((step.grade for step in steps if not over(difference, step.limit)), beyond)


def _place(test: Ladder, word: str) -> int | None:
    return next((place for place, step in enumerate(test.order) if same_word(step, word)), None)


def _row(test: Matrix, wanted: str) -> dict[str, Grade]:
    row = next((cells for word, cells in test.cells.items() if same_word(word, wanted)), {})
    return {normal(word): grade for word, grade in row.items()}
