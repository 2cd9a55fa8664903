"""`next`, `odds` and `why`: what to do on a unit, how likely each fault is, and what made it so."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

import click

from triage.commands.output import json_line, percent, show, table
from triage.commands.shared import UNIT, Command, Globals, json_option

if TYPE_CHECKING:
    from triage.asking import Question
    from triage.bench_file import BenchFile
    from triage.study import Study

_IMPOSSIBLE: Final = "the answers contradict each other; correct one, or say can't tell"
_UNIT = click.argument("number", type=UNIT, metavar="UNIT")


@click.command("next", cls=Command)
@_UNIT
@json_option
@click.pass_obj
def next_step(held: Globals, number: int, *, as_json: bool) -> None:
    """Say what to do next on a unit, and why."""
    with held.existing() as bench:
        tell_next(bench, number, as_json=as_json)


@click.command(cls=Command)
@_UNIT
@json_option
@click.pass_obj
def odds(held: Globals, number: int, *, as_json: bool) -> None:
    """List how likely each fault of a unit is now, likeliest first."""
    from triage.actions.studies import study_of  # noqa: PLC0415 - loaded when a bench file is wanted

    with held.existing() as bench:
        form = _odds_form(study_of(bench, number))
    if as_json:
        json_line(form)
        return
    if form["contradiction"]:
        show(_IMPOSSIBLE)
    table(
        ("fault", "now", "at start", "what"),
        [
            (one["fault"], *("" if one[at] is None else percent(one[at]) for at in ("now", "p")), one["what"])
            for one in form["suspects"]
        ],
        right=("now", "at start"),
    )
    if form["nothing_listed"] is not None:
        show(f"nothing on the list: {percent(form['nothing_listed'])}")


@click.command(cls=Command)
@_UNIT
@json_option
@click.pass_obj
def why(held: Globals, number: int, *, as_json: bool) -> None:
    """List which answers moved which suspect most."""
    from triage.actions.studies import study_of  # noqa: PLC0415
    from triage.actions.unit_view import HEARD  # noqa: PLC0415
    from triage.actions.unit_view import why as moved_by  # noqa: PLC0415

    with held.existing() as bench:
        moved = moved_by(bench, number)
        impossible = study_of(bench, number).belief.impossible
    if as_json:
        json_line(
            {"unit": number, "moved": [{"text": one.text, "what": one.what, "points": one.points} for one in moved]}
        )
        return
    if impossible:
        show(_IMPOSSIBLE)
        return
    table(
        ("points", "suspect", "because of"),
        [(f"{100 * one.points:+.0f}", one.what, one.text) for one in moved],
        right=("points",),
    )
    if any(one.heard for one in moved):
        show(HEARD)


def tell_next(bench: BenchFile, number: int, *, as_json: bool) -> None:
    """Print what to do next on a unit: the form of `solve next` with the question, or some lines for a person."""
    from triage.actions.questions import question_now  # noqa: PLC0415
    from triage.actions.studies import study_of  # noqa: PLC0415
    from triage.actions.unit_view import unit_view  # noqa: PLC0415

    question = question_now(bench, number)
    form = {**_next_form(study_of(bench, number), number), "question": _question_form(question) if question else None}
    if as_json:
        json_line(form)
        return
    view = unit_view(bench, number)
    for caution in view.cautions:
        show(f"CAUTION {caution}")
    if view.ask_first is not None:
        show(f"first: {view.ask_first.question} (lotwright hazard {number} {view.ask_first.id} yes|no)")
    _print_step(form, number)
    show(f"why: {view.reason}")
    for told in view.on_sheet:
        show(f"to know: {told}")
    for told in view.alike:
        show(f"alike: {told}")
    if form["action"] in {"check", "repair"}:
        from catalog.money import shown  # noqa: PLC0415

        gain = shown(form["net_gain_cents"], bench.currency, with_code=True)
        show(f"brings {gain} over stopping now, {form['minutes']:.0f} min")
    if question is not None:
        show(f"to be said: {question.title} ({_saying(question)})")
    if view.far_fetched and not view.conflict:
        show("these answers hardly go together; look at one of them again")
    for line in view.conflict:
        show(f"{line.id}: {line.text}", indent=2)
    if view.conflict:
        show(f"mend one: lotwright correct {number} {view.conflict[-1].id} ANSWER, such as c for can't tell")


def _question_form(question: Question) -> dict[str, Any]:
    return {"kind": question.kind, "about": question.about or None, "question": question.title}


def _saying(question: Question) -> str:
    """The command that answers a question."""
    if question.unit:
        takes = {"grade": "A|B|C", "complete": "yes|MISSING", "keep": "no"}.get(question.kind, "yes|no")
        other = " or own_worth=AMOUNT" if question.kind == "keep" else ""
        return f"lotwright unit {question.unit} {question.kind}={takes}{other}"
    return f"lotwright settings {'hour_worth=AMOUNT' if question.kind == 'hour' else f'{question.about}=yes|no'}"


def _print_step(form: dict[str, Any], number: int) -> None:
    if form["action"] == "check":
        look = form["look"]
        if look["caution"]:
            show(f"CAUTION {look['caution']}")
        show(f"check {form['check']}: {look['question']}")
        show(f"how: {look['do']}")
        if look["reading"]:
            show(f"healthy: {look['reading']}")
        show(f"answer: lotwright check {number} {form['check']} ANSWER")
    elif form["action"] == "repair":
        show(f"repair: {', '.join(form['faults'])}")
    elif form["action"] == "stop":
        show(f"stop: {form['branch'].replace('_', ' ')}")


def _next_form(found: Study, number: int) -> dict[str, Any]:
    action = found.action
    shared = {"unit": number, "pile": found.pile, "fixed": found.fixed.fixed, "untested": list(found.fixed.untested)}
    asked = found.ask_first
    shared["ask_first"] = {"hazard": asked.id, "question": asked.question, "caution": asked.caution} if asked else None
    if action is None:
        reason = _IMPOSSIBLE
        nothing = dict.fromkeys(("action", "check", "branch", "branch_value_cents", "net_gain_cents", "minutes"))
        return {**nothing, "faults": [], "reason": reason, "locked": [], "ranking": [], "look": None, **shared}
    return {
        "action": action.action,
        "check": action.check,
        "faults": list(action.faults),
        "branch": action.branch,
        "branch_value_cents": action.value,
        "net_gain_cents": action.net_gain,
        "minutes": action.minutes,
        "reason": action.reason,
        "locked": [{"check": entry.check, "why": entry.why} for entry in action.locked],
        "ranking": [
            {"check": entry.check, "net_gain_cents": entry.net_gain, "minutes": entry.minutes}
            for entry in action.ranking
        ],
        "look": _look_form(found, action.check) if action.check else None,
        **shared,
    }


def _look_form(found: Study, check_id: str) -> dict[str, Any]:
    from triage.actions.look_view import look_of  # noqa: PLC0415

    look = look_of(found, found.device_class.check(check_id))
    return {
        "question": look.question,
        "do": look.do,
        "caution": look.caution,
        "reading": look.reading,
        "relative_to": look.relative_to,
        "wait_minutes": look.wait_minutes,
        "opened": look.opened,
        "powered": look.powered,
    }


def _odds_form(found: Study) -> dict[str, Any]:
    belief = found.belief
    faults = sorted(found.device_class.faults, key=lambda fault: -belief.present.get(fault.id, 0.0))
    return {
        "unit": found.facts.unit.number,
        "suspects": [
            {
                "fault": fault.id,
                "what": fault.what,
                "p": belief.at_start.get(fault.id),
                "now": belief.present.get(fault.id),
                "curable": fault.repairable,
            }
            for fault in faults
        ],
        "nothing_listed": belief.p_no_fault,
        "contradiction": belief.impossible,
        "far_fetched": belief.far_fetched,
        "answers": [
            {
                "id": seen.id,
                "at": seen.at,
                "check": seen.subject,
                "answer": seen.answer,
                "value": seen.value,
                "typed": seen.raw,
                "minutes": seen.minutes,
            }
            for seen in found.facts.happenings
            if seen.kind in {"answer", "reading"}
        ],
    }
