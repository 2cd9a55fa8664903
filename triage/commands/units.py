"""`unit` and `pile`: what is known of a unit, and the person's word against the sums."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from catalog.text import LINE_LIMIT, Refused, clean_line
from triage.commands.output import json_line, say, show
from triage.commands.shared import LINE, UNIT, Command, Globals, json_option, pairs

if TYPE_CHECKING:
    from collections.abc import Mapping

    from triage.actions.unit_view import UnitView
    from triage.bench_file import BenchFile
    from triage.lot import Unit

_MONEY = ("working", "as_is", "part_out", "own_worth")
_TEXTS = ("model", "note", "shelf", "grade", "sold_as", "complete", "opened_before", "keep")
_FIELDS = ("class", "symptoms", *_TEXTS, *_MONEY)


@click.command(cls=Command)
@click.argument("number", type=UNIT, metavar="UNIT")
@click.argument("changes", nargs=-1, metavar="[FIELD=VALUE]…")
@json_option
@click.pass_obj
def unit(held: Globals, number: int, changes: tuple[str, ...], *, as_json: bool) -> None:
    """Show a unit, or change what is known of it.

    Fields: class, symptoms, model, note, shelf, grade, sold_as, what is asked of it, figures.

    complete is yes or what is missing; opened_before and keep (meant for your own shelf) are yes or no. Figures are
    working, as_is, part_out and own_worth, such as working=45.00; an empty one is the class file's guess again.
    Symptoms stand with commas between.
    """
    from triage.actions.unit_view import unit_view  # noqa: PLC0415 - loaded when a bench file is wanted
    from triage.actions.units import change_unit  # noqa: PLC0415

    stated = dict(pairs(changes, f"unit {number}"))
    with held.existing() as bench:
        if stated:
            change_unit(bench, number, **_details(bench, number, stated))
            say(f"unit {number}: {', '.join(stated)} changed")
        view = unit_view(bench, number)
        currency = bench.currency
    if as_json:
        json_line(_form(view))
    else:
        _print(view, currency)


@click.command(cls=Command)
@click.argument("number", type=UNIT, metavar="UNIT")
@click.argument("pile_id", type=LINE, metavar="PILE")
@click.option("--why", "reason", type=LINE, default="", metavar="TEXT", help="Your reason; it is kept beside the sums.")
@json_option
@click.pass_obj
def pile(held: Globals, number: int, pile_id: str, reason: str, *, as_json: bool) -> None:
    """Put a unit on a pile against the sums.

    PILE is fix, part_out, as_is, hold, hand_over or dispose; auto gives it back to the sums.
    """
    from triage.actions.units import overrule  # noqa: PLC0415

    named = pile_id.casefold().replace("-", "_").replace(" ", "_")
    with held.existing() as bench:
        changed = overrule(bench, number, "" if named == "auto" else named, reason)
    if as_json:
        json_line({"unit": number, "pile": changed.pile or None, "why": changed.pile_reason})
    else:
        say(f"unit {number}: {changed.pile or 'by the sums again'}")


def _details(bench: BenchFile, number: int, stated: Mapping[str, str]) -> dict[str, Any]:
    from catalog.money import minor  # noqa: PLC0415

    details: dict[str, Any] = {}
    for name, text in stated.items():
        where = f"unit {number}.{name}"
        if name == "class":
            details["device_class"] = _class_of(bench, text, where)
        elif name == "symptoms":
            details[name] = [part.strip() for part in text.split(",") if part.strip()]
        elif name in _MONEY:
            try:
                details[name] = minor(text, bench.currency) if text else None
            except Refused as refusal:
                raise Refused(refusal.problem, where=where) from None
        elif name in _TEXTS:
            details[name] = text.upper() if name == "grade" else text
        else:
            raise Refused(f"there is no such field; known are {', '.join(_FIELDS)}", where=where)
    return details


def _class_of(bench: BenchFile, text: str, where: str) -> str:
    """The id of the class that is named by its id or in people's words."""
    from triage.matching import match_class  # noqa: PLC0415

    if text in bench.classes:
        return text
    found = match_class(text, bench.classes)
    if found.class_id is None:
        near = [candidate.id for candidate in found.doubt] or list(bench.classes)
        raise Refused(f"which class is “{clean_line(text, 60)}”? One of {', '.join(near)}", where=where)
    return found.class_id


def _form(view: UnitView) -> dict[str, Any]:
    return {
        **_unit_form(view.unit),
        "pile": view.pile,
        "action": view.action,
        "minutes": view.minutes,
        "fixed": view.fixed,
        "lifted": list(view.lifted),
        "untested": list(view.untested),
        "cautions": list(view.cautions),
        "tell": list(view.tell),
        "branches": [
            {
                "id": branch.id,
                "value_cents": branch.value,
                "low_cents": branch.low,
                "high_cents": branch.high,
                "loss_chance": branch.loss_chance,
                "terms": [{"term": term.name, "cents": term.amount} for term in branch.terms],
            }
            for branch in view.branches
        ],
        "gap_cents": view.gap,
        "flips": [{"branch": flip.branch, "term": flip.term, "value": flip.value} for flip in view.flips],
        "done": [
            {"id": line.id, "at": line.at, "text": line.text, "can_correct": line.can_correct, "ignored": line.ignored}
            for line in view.done
        ],
        "needs": [
            {
                "part": need.part,
                "pieces": need.pieces,
                "text": need.text,
                "state": need.state,
                "source": need.source,
                "makeshift": need.instead or None,
            }
            for need in view.needs
        ],
        "exchange": list(view.exchange),
        "where_was_i": view.where_was_i,
    }


def _unit_form(unit: Unit) -> dict[str, Any]:
    return {
        "unit": unit.number,
        "lot": unit.lot,
        "class": unit.device_class or None,
        "candidates": list(unit.candidates),
        "typed": unit.typed,
        "symptoms": list(unit.symptoms),
        "model": unit.model,
        "note": unit.note,
        "shelf": unit.shelf,
        "grade": unit.grade or None,
        "complete": unit.complete or None,
        "opened_before": unit.opened_before or None,
        "keep": unit.keep or None,
        "sold_as": unit.sold_as,
        "working_cents": unit.working,
        "as_is_cents": unit.as_is,
        "part_out_cents": unit.part_out,
        "own_worth_cents": unit.own_worth,
        "pile_by_hand": unit.pile or None,
        "pile_reason": unit.pile_reason,
    }


def _print(view: UnitView, currency: str) -> None:
    from catalog.money import show as written  # noqa: PLC0415
    from catalog.money import shown  # noqa: PLC0415
    from triage.reach import reach  # noqa: PLC0415

    known = view.unit
    for caution in view.cautions:
        show(f"CAUTION {caution}")
    model = f", {known.model}" if known.model else ""
    grade = f"grade {known.grade}" if known.grade else "grade not said, counts as B"
    show(f"unit {known.number}: {view.class_name}{model}, {grade}, sold as {known.sold_as}")
    show(view.where_was_i)
    for words in view.tell:
        show(f"whoever gets it must be told: {words}")
    if not known.device_class:
        show(f"typed: {clean_line(known.typed, LINE_LIMIT)}; it may be {', '.join(known.candidates) or 'anything'}")
    figures = {name: getattr(known, name) for name in _MONEY}
    stated = [f"{name} {written(value, currency)}" for name, value in figures.items() if value is not None]
    if stated:
        show(f"your figures in {currency}: {', '.join(stated)}")
    by_hand = f" by hand ({known.pile_reason})" if known.pile else ""
    show(f"pile: {view.pile_word}{by_hand}")
    for branch in view.branches:
        terms = ", ".join(f"{term.name.replace('_', ' ')} {shown(term.amount, currency)}" for term in branch.terms)
        show(f"{branch.id} {shown(branch.value, currency)} ({reach(branch, currency)}): {terms}", indent=2)
    for line in view.done:
        show(f"{line.id}: {line.text}{' (no evidence)' if line.ignored else ''}", indent=2)
