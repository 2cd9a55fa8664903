"""What the program asks of the person, and the answers: each is an ordinary change of a setting, a unit or a lot."""

from __future__ import annotations

from collections.abc import Set as AbstractSet

from catalog.money import minor
from catalog.text import Refused
from triage.actions.findings import found
from triage.actions.lots import change_lot
from triage.actions.settings import change_person, say_tools
from triage.actions.studies import study_unit
from triage.actions.units import change_unit, get_unit
from triage.asking import Question, assumptions, question_for, unit_assumptions
from triage.bench_file import BenchFile
from triage.lot import Unit

YES_NO = {"yes": True, "no": False}
_MAY_BE_EMPTY = frozenset({"hour", "cash_limit"})


def question_now(bench: BenchFile, number: int, put_off: AbstractSet[str] = frozenset()) -> Question | None:
    """The one thing to ask while this unit is on the bench; None where nothing is, or its class is in doubt."""
    unit = get_unit(bench, number)
    if unit.device_class not in bench.classes:
        return None
    return question_for(study_unit(bench, unit), bench.said, put_off)


def answer_question(bench: BenchFile, question: Question, said: str, *, worth: str = "") -> None:
    """Keep an answer: one event.

    Args:
        bench: the bench file.
        question: what was asked.
        said: `yes` or `no`, a grade, what is missing, or an amount; an empty amount keeps what is assumed of the hour
            and says that there is no cash limit.
        worth: what a unit meant for the own shelf is worth there, an amount.

    Raises:
        Refused: an answer that the question does not take.
    """
    where = question.about or question.kind
    if not said and question.kind not in _MAY_BE_EMPTY:
        raise Refused("say it in a few words", where=where)
    if question.kind == "hour":
        change_person(bench, hour_worth=minor(said, bench.currency) if said else bench.person.hour_worth)
    elif question.kind == "tool":
        say_tools(bench, {question.about: _yes(said, where)})
    elif question.kind == "training":
        change_person(bench, **{question.about: _yes(said, where)})
    elif question.kind == "found":
        if not _yes(said, where):
            raise Refused("say what it was", where=where)
        found(bench, question.unit, tuple(question.about.split()))
    elif question.kind == "cash_limit":
        limit = minor(said, bench.currency) if said else None
        change_lot(bench, question.lot, cash_limit=limit, no_cash_limit=limit is None)
    elif question.kind == "keep" and _yes(said, where):
        change_unit(bench, question.unit, keep="yes", own_worth=minor(worth, bench.currency))
    else:
        change_unit(bench, question.unit, **{question.kind: said})


def still_assumed(bench: BenchFile, unit: Unit | None = None) -> tuple[str, ...]:
    """What still is assumed about the person, then about a unit where one is given, in a few words each."""
    return assumptions(bench.person, bench.said) + (unit_assumptions(unit) if unit is not None else ())


def _yes(said: str, where: str) -> bool:
    if said not in YES_NO:
        raise Refused("expected yes or no", where=where)
    return YES_NO[said]
