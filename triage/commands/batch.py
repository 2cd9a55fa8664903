"""`batch`: the same check on many units, each answer kept by itself."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from catalog.text import Refused
from triage.commands.output import json_line, say, show, table
from triage.commands.shared import LINE, MINUS, UNIT, Command, Globals, json_option, pairs

if TYPE_CHECKING:
    from triage.actions.batch import Batch
    from triage.bench_file import BenchFile


@click.command(cls=Command, context_settings=MINUS)
@click.argument("class_id", type=LINE, required=False, metavar="CLASS")
@click.argument("name", type=LINE, required=False, metavar="CHECK")
@click.argument("answers", type=LINE, nargs=-1, metavar="UNIT=ANSWER…")
@click.option("--lot", "lot_id", type=UNIT, metavar="LOT", help="The lot (else the newest).")
@json_option
@click.pass_obj
def batch(
    held: Globals,
    *,
    class_id: str | None,
    name: str | None,
    answers: tuple[str, ...],
    lot_id: int | None,
    as_json: bool,
) -> None:
    """Answer the same check on many units, one answer each.

    Without CLASS and CHECK: the checks that pay, with their units. Without answers: the units of one check. An answer
    is y, n, c, s, x, good, bad or a reading; each is kept by itself, and one that is refused stops none of the others.
    """
    from triage.actions import batch as actions  # noqa: PLC0415 - loaded when a bench file is wanted

    if class_id is not None and name is None:
        raise click.UsageError("name the CHECK too")
    with held.existing() as bench:
        if class_id is None or name is None:
            _list(actions.batches(bench, lot_id), bench.currency, as_json=as_json)
        elif answers:
            _answer(bench, class_id, name, answers, as_json=as_json)
        else:
            _units(actions.batch_of(bench, class_id, name, lot_id), bench.currency, as_json=as_json)


def _answer(bench: BenchFile, class_id: str, name: str, answers: tuple[str, ...], *, as_json: bool) -> None:
    """Keep each answer; raise at the end when one was refused."""
    from triage.actions import looks  # noqa: PLC0415
    from triage.actions.units import get_unit  # noqa: PLC0415

    stated = [(_unit(number), said) for number, said in pairs(answers, "answers")]
    for number, _ in stated:
        if get_unit(bench, number).device_class != class_id:
            raise Refused(f"it is no {class_id}", where=f"unit {number}")
    kept, refused = [], []
    for number, said in stated:
        try:
            seen = looks.answer(bench, number, name, said)
        except Refused as problem:
            refused.append(str(problem))
            continue
        kept.append({"unit": number, "answer": seen.answer, "value": seen.value})
        if not as_json:
            say(f"unit {number}: {name} {seen.answer.replace('_', ' ')}")
    if as_json:
        json_line({"class": class_id, "check": name, "kept": kept, "refused": refused})
    if refused:
        raise Refused(f"{len(kept)} of {len(stated)} kept; refused: {'; '.join(refused)}")


def _unit(text: str) -> int:
    if not (text.isascii() and text.isdigit()) or not 0 < int(text) < 10**9:
        raise Refused(f"“{text}” is no unit; expected UNIT=ANSWER such as 4=y", where="answers")
    return int(text)


def _list(found: tuple[Batch, ...], currency: str, *, as_json: bool) -> None:
    from catalog.money import shown  # noqa: PLC0415

    if as_json:
        json_line({"checks": [_form(batch) for batch in found]})
        return
    table(
        ("class", "check", "units", "brings", "question"),
        [
            (
                batch.device_class,
                batch.look.check,
                " ".join(str(unit.unit) for unit in batch.units),
                shown(batch.gain, currency),
                batch.look.question,
            )
            for batch in found
        ],
        right=("brings",),
    )


def _units(found: Batch, currency: str, *, as_json: bool) -> None:
    from catalog.money import shown  # noqa: PLC0415

    if as_json:
        json_line(_form(found))
        return
    if found.look.caution:
        show(f"CAUTION {found.look.caution}")
    show(f"{found.look.check}: {found.look.question}")
    show(f"how: {found.look.do}")
    table(
        ("unit", "brings", "minutes", "model", "seen", "first"),
        [
            (
                unit.unit,
                shown(unit.gain, currency),
                f"{unit.minutes:g}",
                unit.model,
                unit.seen,
                unit.ask_first[0].question if unit.ask_first else "",
            )
            for unit in found.units
        ],
        right=("unit", "brings", "minutes"),
    )


def _form(batch: Batch) -> dict[str, Any]:
    return {
        "class": batch.device_class,
        "check": batch.look.check,
        "question": batch.look.question,
        "net_gain_cents": batch.gain,
        "units": [
            {
                "unit": unit.unit,
                "net_gain_cents": unit.gain,
                "minutes": unit.minutes,
                "advised": unit.first,
                "ask_first": [hazard.id for hazard in unit.ask_first],
            }
            for unit in batch.units
        ],
    }
