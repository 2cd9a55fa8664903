"""`found`, `learned` and `sheet`: what was wrong in the end, what follows for the odds, and the sheet of a model."""

from __future__ import annotations

import click
import msgspec

from triage.commands.output import json_line, percent, say, show, table
from triage.commands.shared import LINE, NUMBER_LIMIT, UNIT, Command, Globals, Number, json_option

_UNIT = click.argument("number", type=UNIT, metavar="UNIT")


@click.command(cls=Command)
@_UNIT
@click.argument("faults", type=LINE, nargs=-1, metavar="[FAULT]…")
@click.option("--nothing", is_flag=True, help="Nothing was wrong with it.")
@json_option
@click.pass_obj
def found(held: Globals, number: int, faults: tuple[str, ...], *, nothing: bool, as_json: bool) -> None:
    """Say what was wrong with a unit in the end.

    The odds of the next units of its class and model learn from it. Said again, the latest word counts.
    """
    from triage.actions.findings import found as say_found  # noqa: PLC0415 - loaded when a bench file is wanted

    if bool(faults) == nothing:
        raise click.UsageError("name what was wrong, or say --nothing")
    with held.existing() as bench:
        seen = say_found(bench, number, faults)
    say(f"unit {number}: found {', '.join(seen.subject.split()) or 'nothing wrong with it'}")
    if as_json:
        json_line({"unit": number, "id": seen.id, "found": seen.subject.split()})


@click.command(cls=Command)
@click.argument("class_id", type=LINE, metavar="CLASS")
@click.option("--model", type=LINE, default="", help="For this model of the class.")
@click.option("--reset", is_flag=True, help="Learn anew from now on; the findings stay in the history.")
@json_option
@click.pass_obj
def learned(held: Globals, class_id: str, model: str, *, reset: bool, as_json: bool) -> None:
    """Show what your findings say of a class, beside its file.

    For each fault: its chance in the file, in how many units it was found, and the chance that is used.
    """
    from triage.actions.findings import learned_view, reset_learning  # noqa: PLC0415

    with held.existing() as bench:
        if reset:
            reset_learning(bench, class_id)
            say(f"{class_id}: learned anew from now on; undo takes it back")
        view = learned_view(bench, class_id, model)
    if as_json:
        json_line(msgspec.to_builtins(view))
        return
    show(f"{view.name}: {view.seen} on this bench, {view.learned.closed} with a finding")
    table(
        ("fault", "class file", "your bench", "this model", "used", "what"),
        [
            (
                one.fault,
                percent(one.file),
                f"{one.found} of {one.of}",
                f"{one.model_found} of {one.model_of}" if one.model_of else "",
                percent(one.used),
                view.words[one.fault],
            )
            for one in view.learned.tallies
        ],
        right=("class file", "your bench", "this model", "used"),
    )
    for line in view.told:
        show(line)


@click.command(cls=Command)
@_UNIT
@click.argument("topic", type=LINE, required=False)
@click.argument("text", type=LINE, nargs=-1)
@click.option("--place", type=LINE, default="", help="Where in the set.")
@click.option("--part", type=LINE, default="", help="With the topic part: which one.")
@click.option("--fault", type=LINE, default="", help="With the topic fault: which one.")
@click.option("--seen", type=LINE, default="", metavar="N of M", help="With the topic fault: in how many elsewhere.")
@click.option("--strike", type=Number(1, NUMBER_LIMIT), metavar="LINE", help="Strike a line by its number.")
@json_option
@click.pass_obj
def sheet(
    held: Globals,
    *,
    number: int,
    topic: str | None,
    text: tuple[str, ...],
    place: str,
    part: str,
    fault: str,
    seen: str,
    strike: int | None,
    as_json: bool,
) -> None:
    """Show the sheet of a unit's model, or add a line.

    Topics: volts, plug, screws, ribbon, way_round, part, fault, note. What a part is is offered for the next unit of
    the model; a common fault moves its odds.
    """
    from triage.actions.model_sheets import add_to_sheet, drop_from_sheet, sheet_view  # noqa: PLC0415

    if strike is not None and topic is not None:
        raise click.UsageError("--strike takes no topic")
    with held.existing() as bench:
        if strike is not None:
            drop_from_sheet(bench, number, strike)
            say(f"line {strike} struck; undo takes it back")
        elif topic is not None:
            line = add_to_sheet(bench, number, topic, " ".join(text), place=place, part=part, fault=fault, counted=seen)
            say(f"sheet of {line.model}: kept as line {line.id}")
        view = sheet_view(bench, number)
    if as_json:
        json_line(
            {
                "unit": number,
                "class": view.device_class,
                "model": view.model,
                "lines": [msgspec.to_builtins(one) for one in view.lines],
            }
        )
        return
    show(f"{view.class_name} {view.model}" if view.model else f"{view.class_name}: its model was not said")
    table(("line", "topic", "what"), [(one.id, one.topic, one.text) for one in view.lines], right=("line",))
