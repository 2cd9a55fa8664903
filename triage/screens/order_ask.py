"""What is asked once before the first order of a lot is noted: the most that may be spent on its parts."""

from __future__ import annotations

from collections.abc import Callable

from triage.actions.lots import get_lot
from triage.actions.plan_view import PlanView
from triage.actions.questions import answer_question
from triage.asking import Question, cash_limit_question
from triage.screens.dialogs import Form, Line
from triage.screens.places import Place


def ask_cash_limit(place: Place, plan: PlanView, go_on: Callable[[], None]) -> None:
    """Ask for the limit where nothing was said of it, then go on; a limit below this order has it planned anew first.

    Esc leaves it unsaid until the next start.
    """
    lot = get_lot(place.shell.bench, plan.lot.id)
    question = cash_limit_question(lot, plan.order_total) if plan.sheets else None
    if question is None or question.put_off in place.shell.put_off:
        go_on()
    else:
        place.app.push_screen(_form(place, question, plan), lambda _: _went_on(place, question, plan, go_on))


def _form(place: Place, question: Question, plan: PlanView) -> Form:
    def send(form: Form, typed: dict[str, str]) -> None:
        place.act(lambda bench: answer_question(bench, question, typed["limit"]), form.accepted, otherwise=form.refused)

    line = Line("limit", f"at most, {plan.lot.currency}", "", "empty: no limit")
    return Form(question.title, [line], send, about="; ".join(question.lines))


def _went_on(place: Place, question: Question, plan: PlanView, go_on: Callable[[], None]) -> None:
    lot = get_lot(place.shell.bench, plan.lot.id)
    if lot.cash_limit is not None:
        place.say("kept; the plan is worked out anew within it, then p notes that it was sent")
        return
    if not lot.no_cash_limit:
        place.shell.put_off.add(question.put_off)
    go_on()
