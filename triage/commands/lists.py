"""Taking in lists from the command line: what they change is told, and with `--dry-run` only told."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING, Any, TypeVar

import click

from catalog.text import Refused, RefusedRows
from triage.commands.output import json_line, say, show, table
from triage.commands.shared import LINE

if TYPE_CHECKING:
    from collections.abc import Callable

    from catalog.changes import Change
    from catalog.staged import Problem
    from triage.actions.staging import Stage, StagedList
    from triage.bench_file import BenchFile

CHANGES_SHOWN = 20
"""After taking in; what is new is only counted then. `--dry-run` shows all."""

_SECONDS = 2
Function = TypeVar("Function", bound="Callable[..., Any]")


def dry_run_option(function: Function) -> Function:
    """`--dry-run`: show what would change, and change nothing."""
    return click.option("--dry-run", is_flag=True, help="Show what would change; change nothing.")(function)


def kind_option(function: Function) -> Function:
    """`--as KIND`: which list it is."""
    kinds = click.Choice(["parts", "suppliers", "offers"])
    return click.option("--as", "kind", type=kinds, help="Which list it is, whatever its header says.")(function)


def supplier_option(function: Function) -> Function:
    """`--supplier NAME`: whose price list it is, where it has no column for that."""
    return click.option(
        "--supplier", type=LINE, default="", metavar="NAME", help="Whose price list it is, if it has no such column."
    )(function)


def telling() -> Callable[[str, int, int], None]:
    """Tells on standard error how far a long work is: after two seconds, then every twentieth of it."""
    begun, last = time.monotonic(), ("", -1)

    def tell(doing: str, done: int, of: int) -> None:
        nonlocal last
        twentieth = (doing, 20 * done // max(1, of))
        if twentieth != last and time.monotonic() - begun >= _SECONDS:
            last = twentieth
            say(f"{doing}: {done:,} of {of:,} rows ({100 * done // max(1, of)} %)")

    return tell


def take_in(bench: BenchFile, staged: Stage, *, dry_run: bool, as_json: bool) -> None:
    """Take in what was staged and tell what that did; with `dry_run` only tell.

    Raises:
        Refused: a row cannot be read; nothing was changed.
    """
    from triage.actions.staging import commit  # noqa: PLC0415 - loaded when a bench file is wanted

    for note in staged.notes:
        say(note)
    if not dry_run and staged.lists:
        commit(bench, staged, telling())
    for one in staged.lists:
        if as_json:
            json_line(_form(one, whole=dry_run))
        else:
            say(one.done.summary + ("; nothing was changed" if dry_run else ""))
            _show(one, whole=dry_run)
    if dry_run:
        for one in staged.lists:
            _refuse(one)


def _refuse(one: StagedList) -> None:
    """Refuse a list with problems in one line: they were all shown already."""
    try:
        one.read.accepted()
    except RefusedRows as refused:
        raise Refused(refused.problem, where=refused.where) from None


def _show(one: StagedList, *, whole: bool) -> None:
    if one.read.problems:
        show(f"cannot be read ({one.read.problem_count}):")
        table(("where", "problem"), [(problem.where, problem.text) for problem in one.read.problems])
    told = [change for change in one.changes.changes if whole or change.what != "new"]
    kept = told if whole else told[:CHANGES_SHOWN]
    if kept:
        rows = [(change.what, change.name, change.note, change.text) for change in kept]
        table(("change", "what", "how", "description"), rows)
    if len(told) > len(kept):
        show(f"and {len(told) - len(kept)} more")
    if whole and one.unread:
        show(f"not understood ({len(one.unread)}):")
        for text in one.unread:
            show(text, indent=2)


def _form(one: StagedList, *, whole: bool) -> dict[str, Any]:
    done = one.done
    form: dict[str, Any] = {
        "kind": done.kind,
        "source": done.source,
        "added": done.added,
        "dearer": done.dearer,
        "cheaper": done.cheaper,
        "changed": done.changed,
        "gone": done.gone,
        "unchanged": done.unchanged,
        "unread": done.unread,
        "kept": not whole,
    }
    if whole:
        form["changes"] = [_change(change) for change in one.changes.changes]
        form["problems"] = [_problem(problem) for problem in one.read.problems]
        form["not_understood"] = one.unread
    return form


def _change(change: Change) -> dict[str, str]:
    return {"change": change.what, "what": change.name, "how": change.note, "description": change.text}


def _problem(problem: Problem) -> dict[str, str]:
    return {"where": problem.where, "problem": problem.text}
