"""`trace` and `path`: following a signal on a unit, and signal paths of one's own."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click
import msgspec

from triage.commands.output import json_line, percent, say, show, table
from triage.commands.shared import LINE, MINUTES, NUMBER_LIMIT, UNIT, Command, Globals, Group, Number, json_option

if TYPE_CHECKING:
    from triage.actions.probing import TraceView
    from triage.bench_file import BenchFile
    from triage.own_paths import OwnPath


@click.command(cls=Command)
@click.argument("number", type=UNIT, metavar="UNIT")
@click.argument("path_id", type=LINE, required=False, metavar="PATH")
@click.argument("point", type=LINE, required=False)
@click.argument("seen", type=LINE, required=False)
@click.option("--minutes", type=MINUTES, metavar="M", help="What it took (else what the class file says).")
@json_option
@click.pass_obj
def trace(
    held: Globals,
    *,
    number: int,
    path_id: str | None,
    point: str | None,
    seen: str | None,
    minutes: float | None,
    as_json: bool,
) -> None:
    """Follow a signal along a path of a unit, and say where to probe next.

    With POINT and SEEN: note what was seen there, y (signal), n (no signal), w (weak) or c (can't tell). Without PATH:
    the path of the likeliest suspects.
    """
    from triage.actions import probing  # noqa: PLC0415 - loaded when a bench file is wanted
    from triage.actions.telling import PROBED_WORDS  # noqa: PLC0415

    if (point is None) != (seen is None):
        raise click.UsageError("POINT and SEEN go together: what was seen at which point")
    with held.existing() as bench:
        if path_id and point and seen:
            kept = probing.probe(bench, number, path_id, point, seen, minutes=minutes)
            say(f"unit {number}: {path_id}.{point}: {PROBED_WORDS.get(kept.answer, kept.answer)}")
        _tell(probing.trace_view(bench, number, path_id or ""), as_json=as_json)


def _tell(view: TraceView, *, as_json: bool) -> None:
    from triage.actions.telling import PROBED_WORDS  # noqa: PLC0415

    if as_json:
        form = msgspec.to_builtins(view)
        form["next"] = None if view.next is None else view.points[view.next].point
        json_line(form)
        return
    for caution in view.cautions:
        show(f"CAUTION {caution}")
    if view.ask_first is not None:
        show(f"first: {view.ask_first.question} (lotwright hazard {view.unit} {view.ask_first.id} yes|no)")
    show(f"{view.path}: {view.name}")
    rows = []
    for place, point in enumerate(view.points):
        aside = "next" if place == view.next else point.locked
        rows.append((point.point, PROBED_WORDS.get(point.level, ""), point.at, f"{point.minutes:g}", aside))
        if place < len(view.stretches):
            stretch = view.stretches[place]
            here = "HERE" if (place, place + 1) in view.found else ""
            rows.append(("", here, f"  {' or '.join(stretch.what)}", percent(stretch.chance), ""))
    table(("point", "seen", "where, and what lies between", "min, %", ""), rows, right=("min, %",))
    show(view.told)
    others = [path for path, _ in view.paths if path != view.path]
    if others:
        show(f"other paths: {', '.join(others)}")


@click.group(cls=Group, invoke_without_command=True)
@json_option
@click.pass_context
def path(ctx: click.Context, *, as_json: bool) -> None:
    """List the signal paths of your own, add one, or let one go."""
    if ctx.invoked_subcommand is None:
        _list(ctx.ensure_object(Globals), as_json=as_json)


@path.command("list")
@json_option
@click.pass_obj
def list_(held: Globals, *, as_json: bool) -> None:
    """List the signal paths of your own."""
    _list(held, as_json=as_json)


@path.command("add")
@click.argument("number", type=UNIT, metavar="UNIT")
@click.argument("chain", type=LINE)
@click.option("--name", type=LINE, default="", help="Else from the first point to the last.")
@click.option("--tool", "tools", type=LINE, multiple=True, help="What it takes to probe any of its points.")
@click.option("--every-model", is_flag=True, help="For its whole class, not for the model of UNIT only.")
@json_option
@click.pass_obj
def add(
    held: Globals,
    *,
    number: int,
    chain: str,
    name: str,
    tools: tuple[str, ...],
    every_model: bool,
    as_json: bool,
) -> None:
    """Keep a signal path for units like UNIT.

    CHAIN is point > part > point and so on, in one argument. A part that the class does not know becomes a suspect of
    its own. “(outside)” behind a point says that it is reached with the case closed.
    """
    from triage.actions.own_paths import add_path  # noqa: PLC0415

    with held.existing() as bench:
        kept = add_path(bench, number, chain, name=name, tools=tools, only_model=not every_model)
    if as_json:
        json_line(_form(kept))
    else:
        say(f"path {kept.id} kept as {kept.path_id}: {kept.name}; lotwright trace {number} {kept.path_id}")


@path.command("drop")
@click.argument("path_number", type=Number(1, NUMBER_LIMIT), metavar="NUMBER")
@json_option
@click.pass_obj
def drop(held: Globals, *, path_number: int, as_json: bool) -> None:
    """Let go of a signal path of your own."""
    from triage.actions.own_paths import drop_path  # noqa: PLC0415

    with held.existing() as bench:
        gone = drop_path(bench, path_number)
    if as_json:
        json_line(_form(gone))
    else:
        say(f"path {gone.id} let go: {gone.name}")


def _list(held: Globals, *, as_json: bool) -> None:
    with held.existing() as bench:
        found = _own(bench)
    if as_json:
        json_line({"paths": [_form(own) for own in found]})
        return
    table(
        ("number", "class", "model", "name", "chain"),
        [(own.id, own.device_class, own.model, own.name, own.chain) for own in found],
        right=("number",),
    )


def _own(bench: BenchFile) -> list[OwnPath]:
    from triage.actions.own_paths import own_paths  # noqa: PLC0415

    return own_paths(bench)


def _form(own: OwnPath) -> dict[str, object]:
    return {
        "number": own.id,
        "path": own.path_id,
        "class": own.device_class,
        "model": own.model,
        "name": own.name,
        "chain": own.chain,
        "tools": list(own.tools),
    }
