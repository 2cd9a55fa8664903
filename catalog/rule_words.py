"""The test of a rule in words a person can read and write: `at most, over by 2.5 rework, else refuse`.

    equal, else refuse                        equal, within 0.5 drop-in, else compromise
    equal, within 2 % drop-in, else refuse    at least, else compromise
    at most, over by 2.5 rework, else refuse  times 1 to 2.2 drop-in, times 0.8 to 4.7 compromise, else refuse
    present, else rework                      absent, else compromise
    order F < M < T, below compromise, above refuse

Numbers are in the units of `catalog.spec`; `times` is candidate ÷ wanted. Pure.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from catalog.figures import named
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
    Special,
    Step,
    Test,
    Window,
)
from catalog.spec import FLAG, TEXT, WORD
from catalog.text import Refused

_NUMBER = r"(\d{1,12}(?:\.\d{1,12})?(?:e-?\d{1,2})?)"
_GRADE = r"([a-z-]{1,12})"
_STEP = re.compile(rf"(?:within|over by) {_NUMBER}( %)? {_GRADE}")
_WINDOW = re.compile(rf"times {_NUMBER} (?:to {_NUMBER}|or more) {_GRADE}")
FORMS = (
    "at least, else compromise",
    "at most, over by 2.5 rework, else refuse",
    "equal, within 0.5 drop-in, else compromise",
    "times 1 to 2.2 drop-in, else refuse",
    "present, else rework",
)
"""An example of each common form, for a person who is asked for one."""


def words_of(test: Test) -> str:
    """The test in words; what has no words of its own is named with its figures."""
    match test:
        case Equal():
            percent = [f"within {test.percent:g} % {Grade.DROP_IN}"] if test.percent else []
            said = _joined("equal", [*percent, *_steps(test.near, "within")], test.broken)
        case AtLeast():
            said = _joined("at least", [], test.broken)
        case AtMost():
            said = _joined("at most", _steps(test.over, "over by"), test.broken)
        case Ratio():
            said = ", ".join([*map(_window, test.windows), f"else {test.otherwise}"])
        case Present():
            sides = (("present", test.broken), ("absent", test.extra))
            said = " and ".join(f"{word}, else {grade}" for word, grade in sides if grade) or "noted"
        case Ladder():
            said = f"order {' < '.join(test.order)}, below {test.below}, above {test.above}"
        case Matrix():
            pairs = (
                f"{candidate} for {wanted} {grade}"
                for wanted, row in test.cells.items()
                for candidate, grade in row.items()
            )
            said = ", ".join(["equal", *pairs, f"else {test.otherwise}"])
        case Listed():
            said = f"equal or on your own list, else {test.otherwise}"
        case Special():
            figures = [f"{name} {value:g}" for name, value in named(test)]
            said = ", ".join([test.name.replace("_", " "), *figures])
    return said


def in_a_sentence(grade: Grade) -> str:
    """The grade as what a part is: `refused`, the others by their own words."""
    return "refused" if grade is Grade.REFUSE else str(grade)


def meaning_of(test: Test, attribute: str) -> str:
    """What the test asks of a candidate, as a sentence without its end stop."""
    name = attribute.replace("_", " ")
    match test:
        case Equal():
            percent = [f"{test.percent:g} % off is {Grade.DROP_IN}"] if test.percent else []
            near = [*percent, *(f"up to {step.limit:g} off is {in_a_sentence(step.grade)}" for step in test.near)]
            said = [f"{name} must be as wanted", *near, f"anything else is {in_a_sentence(test.broken)}"]
        case AtLeast():
            said = [f"{name} must not be less than wanted", f"less is {in_a_sentence(test.broken)}"]
        case AtMost():
            near = [f"up to {step.limit:g} more is {in_a_sentence(step.grade)}" for step in test.over]
            said = [f"{name} must not be more than wanted", *near, f"more is {in_a_sentence(test.broken)}"]
        case Ratio():
            windows = [f"{_ends(one)} times the wanted is {in_a_sentence(one.grade)}" for one in test.windows]
            said = [f"{name} of {windows[0]}", *windows[1:], f"anything else is {in_a_sentence(test.otherwise)}"]
        case Present():
            lacks = [f"a part without {name} where it is wanted is {in_a_sentence(test.broken)}"] if test.broken else []
            has = [f"a part with {name} where it is not wanted is {in_a_sentence(test.extra)}"] if test.extra else []
            said = [*lacks, *has]
        case _:
            said = [f"{name}: {words_of(test)}"]
    return "; ".join(said)


def suitable(unit: str, *, rating: bool = False) -> tuple[str, ...]:
    """Tests in words that suit an attribute of that unit (`catalog.spec`); a rating is one of which more is better."""
    if rating:
        return ("at least, else refuse",)
    if unit == FLAG:
        return ("present, else refuse", "absent, else refuse")
    if unit in {WORD, TEXT}:
        return ("equal, else refuse",)
    return (
        "at most, else refuse",
        "at least, else refuse",
        "equal, else refuse",
        "times 0.9 to 1.1 drop-in, else refuse",
    )


def test_of(text: str) -> Test:
    """The test that the words say. Refused when they say none."""
    parts = [" ".join(part.split()) for part in text.split(",")]
    head, rest = parts[0].casefold(), [part if part.startswith("order") else part.casefold() for part in parts[1:]]
    if parts[0].casefold().startswith("order "):
        return _ladder(parts[0][6:], rest)
    if head.startswith("times "):
        *windows, last = [head, *rest]
        return Ratio(tuple(map(_read_window, windows)), _else(last))
    if not rest:
        raise _wrong(text)
    broken = _else(rest[-1])
    steps = rest[:-1]
    if head == "equal":
        percent = [step for step in steps if " % " in step]
        near = tuple(_read_step(step) for step in steps if step not in percent)
        return Equal(broken, _percent(percent), near)
    if head == "at most":
        return AtMost(broken, tuple(map(_read_step, steps)))
    if steps or head not in {"at least", "present", "absent"}:
        raise _wrong(text)
    if head == "at least":
        return AtLeast(broken)
    return Present(broken=broken) if head == "present" else Present(extra=broken)


def _joined(head: str, steps: Sequence[str], broken: Grade) -> str:
    return ", ".join([head, *steps, f"else {broken}"])


def _steps(steps: Sequence[Step], word: str) -> list[str]:
    return [f"{word} {step.limit:g} {step.grade}" for step in steps]


def _window(window: Window) -> str:
    end = "or more" if window.high is None else f"to {window.high:g}"
    return f"times {window.low:g} {end} {window.grade}"


def _ends(window: Window) -> str:
    return f"{window.low:g} or more" if window.high is None else f"{window.low:g} to {window.high:g}"


def _read_step(text: str) -> Step:
    found = _STEP.fullmatch(text)
    if not found or found[2]:
        raise _wrong(text)
    return Step(float(found[1]), _grade(found[3]))


def _percent(steps: Sequence[str]) -> float:
    if not steps:
        return 0.0
    found = _STEP.fullmatch(steps[0])
    if len(steps) > 1 or not found or _grade(found[3]) is not Grade.DROP_IN:
        raise Refused(f"“{steps[-1]}”: expected one such as “within 2 % drop-in”", where="test")
    return float(found[1])


def _read_window(text: str) -> Window:
    found = _WINDOW.fullmatch(text)
    if not found:
        raise _wrong(text)
    return Window(float(found[1]), float(found[2]) if found[2] else None, _grade(found[3]))


def _ladder(order: str, rest: Sequence[str]) -> Ladder:
    steps = tuple(step.strip() for step in order.split("<"))
    grades = dict(part.partition(" ")[::2] for part in rest)
    if len(steps) < 2 or not all(steps) or set(grades) != {"below", "above"}:
        raise _wrong(f"order {order}")
    return Ladder(steps, _grade(grades["below"]), _grade(grades["above"]))


def _else(text: str) -> Grade:
    word, _, grade = text.partition(" ")
    if word != "else":
        raise Refused(f"“{text}”: expected the last part to say such as “else refuse”", where="test")
    return _grade(grade)


def _grade(word: str) -> Grade:
    try:
        return Grade(word)
    except ValueError:
        raise Refused(f"“{word}” is no grade; known are {', '.join(Grade)}", where="test") from None


def _wrong(text: str) -> Refused:
    return Refused(f"“{text}” says no test; write such as “{'”, “'.join(FORMS)}”", where="test")
