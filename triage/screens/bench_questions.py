"""The Bench's answers to what is no look: what the unit is, and the questions that come when they first matter."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from triage.actions.questions import answer_question
from triage.actions.unit_view import UnitView
from triage.actions.units import change_unit
from triage.asking import Question
from triage.bench_file import BenchFile
from triage.screens.bench_found import ask_found
from triage.screens.dialogs import Form, Line
from triage.screens.person_form import confirm_training
from triage.screens.places import Place
from triage.screens.unit_forms import choose_class, classes_for, settle

Send = Callable[[Callable[[BenchFile], object], str], None]
"""Writes an answer down, and shows meanwhile what was pressed."""

GRADES: Final = {"1": "A", "2": "B", "3": "C"}
_BY_ENTER: Final = {"hour": "", "training": "no", "keep": "no"}


def reply(place: Place, question: Question, pressed: str, send: Send) -> None:
    """Take what was pressed as the answer to a question; what needs words opens a line for them."""
    if pressed in {"not_now", "cant_tell"}:
        place.shell.put_off.add(question.put_off)
        place.say("put off until the next start; F9 or e says it at any time")
        place.refresh_place()
        return
    said = _BY_ENTER.get(question.kind) if pressed == "keep" else _said(question, pressed)
    if said is None:
        place.say("this question does not take that; s puts it off", trouble=True)
    elif question.kind == "found" and said == "no":
        ask_found(place, question.unit)
    elif question.kind == "complete" and said == "no":
        _ask_more(place, question, Line("said", "what is missing", "", "battery lid, one knob"))
    elif question.kind == "keep" and said == "yes":
        _ask_more(place, question, Line("worth", f"worth to you, {place.shell.bench.currency}", "", "45.00"))
    elif question.kind == "training" and said == "yes":
        confirm_training(place, [question.about], lambda: _send(question, said, send))
    else:
        _send(question, said, send)


def _send(question: Question, said: str, send: Send) -> None:
    send(lambda bench: answer_question(bench, question, said), said or "as assumed")


def _said(question: Question, pressed: str) -> str | None:
    if question.kind == "grade":
        return GRADES.get(pressed)
    return pressed if pressed in {"yes", "no"} and question.kind != "hour" else None


def _ask_more(place: Place, question: Question, line: Line) -> None:
    def send(form: Form, typed: dict[str, str]) -> None:
        said, worth = typed.get("said", "yes"), typed.get("worth", "")
        place.act(
            lambda bench: answer_question(bench, question, said, worth=worth),
            form.accepted,
            otherwise=form.refused,
        )

    place.app.push_screen(Form(question.title, [line], send))


def say_hour(question: Question, typed: str, send: Send) -> None:
    """Keep the worth of an hour that was typed."""
    send(lambda bench: answer_question(bench, question, typed), typed)


def class_ids(place: Place, view: UnitView) -> tuple[str, ...]:
    """What the unit may be, the likely ones first."""
    return classes_for(place.shell.bench.classes, view.unit)


def pick_class(place: Place, view: UnitView, digit: int, send: Send) -> None:
    """Say what the unit is by its digit; 0 lists all."""
    if digit == 0:

        def chosen(name: str | None) -> None:
            if name is not None:
                send(lambda bench: settle(bench, [view.unit], name), "settled")

        choose_class(place, view.unit, chosen)
        return
    ids = class_ids(place, view)
    if digit <= len(ids):
        name = ids[digit - 1]
        send(
            lambda bench: change_unit(bench, view.unit.number, device_class=name), place.shell.bench.classes[name].name
        )
