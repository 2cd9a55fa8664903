"""What is seen and done on a unit: `check`, `repair`, `hazard`, `release` and their like, and what comes next."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

import click
import msgspec

from triage.commands.advice import tell_next
from triage.commands.output import json_line, say, show
from triage.commands.shared import (
    LINE,
    MINUS,
    MINUTES,
    NUMBER_LIMIT,
    UNIT,
    Command,
    Globals,
    Number,
    json_option,
    used_part,
    words,
)

if TYPE_CHECKING:
    from triage.bench_file import BenchFile
    from triage.lot import Happening

_UNIT = click.argument("number", type=UNIT, metavar="UNIT")
_MINUTES = click.option("--minutes", type=MINUTES, metavar="M", help="What it took (else what the class file says).")


@click.command(cls=Command, context_settings=MINUS)
@_UNIT
@click.argument("name", type=LINE)
@words("answer")
@click.option(
    "--against", type=click.FloatRange(-1e12, 1e12), metavar="X", help="The label or rail value read against."
)
@_MINUTES
@json_option
@click.pass_obj
def check(
    held: Globals,
    *,
    number: int,
    name: str,
    answer: str,
    against: float | None,
    minutes: float | None,
    as_json: bool,
) -> None:
    """Answer the check NAME of a unit, then say what is next.

    ANSWER is what is seen: y, n, c (can't tell), s (not now), x (does not apply), good, bad, or a reading such as 4k7,
    4.9, 10.9/12 or o (open).
    """
    from triage.actions import looks  # noqa: PLC0415 - loaded when a bench file is wanted

    with held.existing() as bench:
        if against is None:
            seen = looks.answer(bench, number, name, answer, minutes=minutes)
        else:
            seen = looks.reading(bench, number, name, answer, against=against, minutes=minutes)
        said = f"unit {number}: {seen.subject} {_word(seen)}{_passed_over(bench, seen)}"
        _done(bench, number, said, as_json=as_json)


@click.command(cls=Command)
@_UNIT
@click.argument("faults", type=LINE, nargs=-1, required=True, metavar="FAULT…")
@click.option(
    "--part", "parts", multiple=True, metavar="PART[:PIECES]", help="A part of yours that was used, by number."
)
@click.option("--note", type=LINE, default="")
@click.option("--makeshift", type=LINE, default="", metavar="WORDS|no", help="What is fitted that does for now.")
@_MINUTES
@json_option
@click.pass_obj
def repair(
    held: Globals,
    *,
    number: int,
    faults: tuple[str, ...],
    parts: tuple[str, ...],
    note: str,
    makeshift: str,
    minutes: float | None,
    as_json: bool,
) -> None:
    """Note that faults of a unit were repaired.

    What is next is said then: the retest. What was fitted that is not what belongs there, by its grade or by your word,
    goes on the later list.
    """
    from triage.actions import looks  # noqa: PLC0415

    used = tuple(used_part(part) for part in parts)
    with held.existing() as bench:
        looks.repair(bench, number, faults, note=note, minutes=minutes, parts=used, makeshift=makeshift)
        _done(bench, number, f"unit {number}: repaired {', '.join(faults)}", as_json=as_json)


@click.command(cls=Command)
@_UNIT
@click.argument("name", type=LINE, required=False)
@click.argument("answer", type=LINE, metavar="yes|no", required=False)
@json_option
@click.pass_obj
def hazard(held: Globals, number: int, name: str | None, answer: str | None, *, as_json: bool) -> None:
    """Answer the hazard question NAME of a unit.

    A yes locks at once what it says. Without NAME: list them.
    """
    from triage.actions import looks  # noqa: PLC0415

    with held.existing() as bench:
        if name is None or answer is None:
            _list_hazards(bench, number, as_json=as_json)
            return
        seen = looks.hazard(bench, number, name, answer)
        _done(bench, number, f"unit {number}: {seen.subject} {seen.answer}", as_json=as_json)


@click.command(cls=Command)
@_UNIT
@click.argument("name", type=LINE, metavar="HAZARD", required=False)
@click.argument("action", type=LINE, required=False)
@json_option
@click.pass_obj
def release(held: Globals, number: int, name: str | None, action: str | None, *, as_json: bool) -> None:
    """Confirm a precaution of a hazard.

    ACTION is in the words of the class file. Without it: list what would release the hazard.
    """
    from triage.actions import looks  # noqa: PLC0415

    with held.existing() as bench:
        if name is None or action is None:
            _list_hazards(bench, number, as_json=as_json)
            return
        seen = looks.release(bench, number, name, action)
        _done(bench, number, f"unit {number}: confirmed: {seen.answer}", as_json=as_json)


def _list_hazards(bench: BenchFile, number: int, *, as_json: bool) -> None:
    """What was said of each hazard, and what would release it."""
    from triage.actions.unit_view import hazards_of  # noqa: PLC0415

    told = hazards_of(bench, number)
    if as_json:
        json_line({"unit": number, "hazards": [msgspec.to_builtins(each) for each in told]})
        return
    for each in told:
        show(f"{each.hazard} ({each.said or 'not asked yet'}): {each.question}")
        for action in each.releases:
            show(f"    lotwright release {number} {each.hazard} “{action}”")


@click.command(cls=Command)
@_UNIT
@click.argument("name", type=LINE)
@click.argument("answer", type=LINE, metavar="yes|no|unknown")
@json_option
@click.pass_obj
def condition(held: Globals, number: int, name: str, answer: str, *, as_json: bool) -> None:
    """Say whether a hidden cause holds for a unit.

    NAME is one of the class, such as damp for damp storage.
    """
    from triage.actions import looks  # noqa: PLC0415

    with held.existing() as bench:
        seen = looks.condition(bench, number, name, answer)
        _done(bench, number, f"unit {number}: {seen.subject} {seen.answer}", as_json=as_json)


@click.command(cls=Command)
@_UNIT
@click.argument("state", type=click.Choice(("opened", "closed")))
@json_option
@click.pass_obj
def case(held: Globals, number: int, state: Literal["opened", "closed"], *, as_json: bool) -> None:
    """Say that the case of a unit was opened or closed."""
    from triage.actions import looks  # noqa: PLC0415

    with held.existing() as bench:
        looks.case(bench, number, state)
        _done(bench, number, f"unit {number}: case {state}", as_json=as_json)


@click.command(cls=Command, context_settings=MINUS)
@_UNIT
@words("text", nargs=-1, required=True)
@json_option
@click.pass_obj
def note(held: Globals, number: int, text: tuple[str, ...], *, as_json: bool) -> None:
    """Keep a note in the history of a unit.

    A screw map, which way round it sat, where the bag of screws is.
    """
    from triage.actions import looks  # noqa: PLC0415

    with held.existing() as bench:
        seen = looks.note(bench, number, " ".join(text))
    say(f"unit {number}: noted")
    if as_json:
        json_line({"unit": number, "id": seen.id, "note": seen.raw})


@click.command(cls=Command, context_settings=MINUS)
@_UNIT
@click.argument("answer_id", type=Number(1, NUMBER_LIMIT), metavar="ID")
@words("answer")
@json_option
@click.pass_obj
def correct(held: Globals, number: int, answer_id: int, answer: str, *, as_json: bool) -> None:
    """Correct an old answer of a unit.

    `unit UNIT` lists the answers with their ID; the unit is replayed from there.
    """
    from triage.actions import looks  # noqa: PLC0415

    with held.existing() as bench:
        seen = looks.correct(bench, number, answer_id, answer)
        _done(bench, number, f"unit {number}: {seen.subject} corrected to {_word(seen)}", as_json=as_json)


def _word(seen: Happening) -> str:
    return {"cant_tell": "can't tell", "not_tested": "not now"}.get(seen.answer, seen.answer.replace("_", " "))


def _done(bench: BenchFile, number: int, said: str, *, as_json: bool) -> None:
    say(said)
    tell_next(bench, number, as_json=as_json)


def _passed_over(bench: BenchFile, seen: Happening) -> str:
    """A word of warning where a good or bad answer is no evidence, because another check must come first."""
    from triage.actions.unit_view import unit_view  # noqa: PLC0415

    if seen.answer not in {"good", "bad"}:
        return ""
    passed_over = any(line.ignored for line in unit_view(bench, seen.unit).done if line.id == seen.id)
    return "; kept, but no evidence until the checks before it are answered" if passed_over else ""
