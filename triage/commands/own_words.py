"""`rules` and `pairs`: the rules of substitution with their figures, and the person's own word on both."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from triage.commands.output import json_line, say, show, table
from triage.commands.shared import FILE, LINE, MINUS, NUMBER_LIMIT, Command, Globals, Group, Number, json_option, words

if TYPE_CHECKING:
    from catalog.figures import Figure
    from catalog.rules import Rule
    from triage.actions.own_words import RuleLine, SaidPair

_GRADES = ("drop-in", "rework", "compromise", "refuse")


@click.group(cls=Group)
def rules() -> None:
    """The rules of substitution, and your own.

    Yours are kept in the bench file, or written in the file `rules.toml` beside it. What is locked for safety can be
    made stricter, never looser.
    """


@rules.command("list")
@click.option("--kind", type=LINE, default="", help="Of one kind of part.")
@click.option("--own", is_flag=True, help="Only your own.")
@json_option
@click.pass_obj
def list_(held: Globals, kind: str, *, own: bool, as_json: bool) -> None:
    """List the rules, their origins and locks."""
    from triage.actions.own_words import list_rules  # noqa: PLC0415 - the rule tables, when wanted

    if held.there:
        with held.existing() as bench:
            found = list_rules(bench, kind=kind, own_only=own)
    else:
        found = list_rules(None, kind=kind, own_only=own)
    if as_json:
        json_line({"rules": [_rule_form(line) for line in found]})
        return
    table(
        ("kind", "rule", "compares", "test", "", "source"),
        [
            (
                line.kind,
                line.rule,
                ", ".join(line.attributes),
                line.test,
                "locked" if line.locked else f"instead of {line.instead_of}" if line.instead_of else "",
                _said(line),
            )
            for line in found
        ],
    )


@rules.command()
@click.option("--kind", type=LINE, default="", help="Of one kind of part.")
@json_option
def figures(kind: str, *, as_json: bool) -> None:
    """List the figures in the rules with their origin.

    `rules set` changes one, where the rule is not locked.
    """
    from catalog.figures import alike, all_figures  # noqa: PLC0415
    from catalog.kinds import FAMILIES  # noqa: PLC0415

    kind = alike(kind, FAMILIES)
    found = [one for one in all_figures() if kind in {"", one.kind}]
    if as_json:
        json_line({"figures": [_figure_form(one) for one in found]})
        return
    table(
        ("kind", "rule", "figure", "value", "", "origin"),
        [(one.kind, one.rule, one.name, one.value, "locked" if one.locked else "", one.source) for one in found],
        right=("value",),
    )


@rules.command(context_settings=MINUS)
@words("kind")
@words("name")
@words("attribute")
@words("test", nargs=-1, required=True)
@click.option("--instead-of", type=LINE, default="", help="A built-in rule, not locked, whose place it takes.")
@click.option("--role", "roles", type=LINE, multiple=True, help="Only in this place; may be given again.")
@click.option("--must-know", is_flag=True, help="Missing on either side is unknown.")
@click.option("--why", type=LINE, default="", help="The reason to show.")
@click.option("--do", type=LINE, default="", help="What to do at the bench then.")
@click.option("--tell", type=LINE, default="", help="What to tell a buyer then.")
@click.option("--by", type=LINE, default="", help="Who says so.")
@json_option
@click.pass_obj
def add(
    held: Globals,
    *,
    kind: str,
    name: str,
    attribute: str,
    test: tuple[str, ...],
    instead_of: str,
    roles: tuple[str, ...],
    must_know: bool,
    why: str,
    do: str,
    tell: str,
    by: str,
    as_json: bool,
) -> None:
    """Keep a rule of your own.

    KIND of part, a NAME of your own, the ATTRIBUTE it compares, and its TEST in words.

    Beside the built-in rules it can only be stricter; --instead-of puts it in the place of one.
    """
    from catalog.rule_words import test_of  # noqa: PLC0415
    from catalog.rules import Rule  # noqa: PLC0415
    from triage.actions.own_words import add_rule  # noqa: PLC0415

    rule = Rule(
        id=name,
        kind=kind,
        attributes=tuple(one.strip() for one in attribute.split(",")),
        test=test_of(" ".join(test)),
        instead_of=instead_of,
        roles=roles,
        must_know=must_know,
        why=why,
        do=do,
        tell=tell,
        by=by,
    )
    with held.open() as bench:
        kept = add_rule(bench, rule)
    _told(kept, as_json=as_json)


@rules.command("set")
@click.argument("kind", type=LINE)
@click.argument("rule", type=LINE)
@click.argument("figure", type=LINE)
@click.argument("value", type=click.FloatRange(0, 1e12))
@click.option("--why", type=LINE, default="", help="The reason to show.")
@click.option("--by", type=LINE, default="", help="Who says so.")
@json_option
@click.pass_obj
def set_(held: Globals, *, kind: str, rule: str, figure: str, value: float, why: str, by: str, as_json: bool) -> None:
    """Change one figure of a rule that is not locked."""
    from triage.actions.own_words import set_figure  # noqa: PLC0415

    with held.open() as bench:
        kept = set_figure(bench, kind, rule, figure, value, why=why, by=by)
    _told(kept, as_json=as_json)


@rules.command()
@click.argument("kind", type=LINE)
@click.argument("name", type=LINE)
@json_option
@click.pass_obj
def drop(held: Globals, kind: str, name: str, *, as_json: bool) -> None:
    """Drop a rule of your own, or a changed figure."""
    from triage.actions.own_words import drop_rule  # noqa: PLC0415

    with held.existing() as bench:
        gone = drop_rule(bench, kind, name)
    say(f"“{gone.id}” for {gone.kind} is dropped; `lotwright undo` brings it back")
    if as_json:
        json_line({"dropped": gone.id, "kind": gone.kind})


@rules.command()
@click.argument("file", type=FILE)
@json_option
def check(file: Path, *, as_json: bool) -> None:
    """Check a file of rules and pairs.

    What is wrong is named by its key path.
    """
    from triage.plain_toml import file_bytes  # noqa: PLC0415
    from triage.rules_file import parse_rules  # noqa: PLC0415

    found, listed = parse_rules(file_bytes(file), file.name)
    if as_json:
        json_line({"rules": [rule.id for rule in found], "pairs": len(listed)})
    else:
        show(f"{file.name}: sound, {len(found)} rules and {len(listed)} pairs")


@click.group(cls=Group)
def pairs() -> None:
    """Your own word on two part numbers.

    It holds in its direction only, and is never carried on from pair to pair.
    """


@pairs.command("list")
@json_option
@click.pass_obj
def list_pairs(held: Globals, *, as_json: bool) -> None:
    """List your pairs."""
    from triage.actions import own_words  # noqa: PLC0415

    with held.existing() as bench:
        found = own_words.list_pairs(bench)
    if as_json:
        json_line({"pairs": [_pair_form(one) for one in found]})
        return
    table(
        ("pair", "wanted", "candidate", "grade", "note", "said by"),
        [
            (
                "file" if one.id is None else one.id,
                one.pair.wanted,
                one.pair.candidate,
                one.pair.grade,
                one.pair.note,
                ", ".join(filter(None, (one.pair.by, one.pair.at[:10]))),
            )
            for one in found
        ],
    )


@pairs.command("add", context_settings=MINUS)
@words("wanted")
@words("candidate")
@click.option("--grade", type=click.Choice(_GRADES), default="drop-in", show_default=True, help="How well it fits.")
@click.option("--note", type=LINE, default="", help="What to know of it.")
@click.option("--by", type=LINE, default="", help="Who says so.")
@json_option
@click.pass_obj
def add_pair(held: Globals, *, wanted: str, candidate: str, grade: str, note: str, by: str, as_json: bool) -> None:
    """Say how CANDIDATE stands in for WANTED, both full part numbers.

    With --grade refuse: that it does not. A pair lifts nothing that is locked for safety, and carries no part
    across kinds; where it stays refused this is said at once.
    """
    from catalog.rules import Grade  # noqa: PLC0415
    from triage.actions import own_words  # noqa: PLC0415

    with held.open() as bench:
        pair = own_words.add_pair(bench, wanted, candidate, Grade(grade), note=note, by=by)
        back = own_words.held_back(bench, pair)
    say(f"kept: {pair.candidate} for {pair.wanted}, {pair.grade}{f'; {back}' if back else ''}")
    if as_json:
        form = {"pair": pair.id, "wanted": pair.wanted, "candidate": pair.candidate, "grade": pair.grade}
        json_line({**form, "held_back": back})


@pairs.command("drop", cls=Command)
@click.argument("pair", type=Number(1, NUMBER_LIMIT))
@json_option
@click.pass_obj
def drop_pair(held: Globals, pair: int, *, as_json: bool) -> None:
    """Take a pair off your list."""
    from triage.actions import own_words  # noqa: PLC0415

    with held.existing() as bench:
        gone = own_words.drop_pair(bench, pair)
    say(f"{gone.candidate} for {gone.wanted} is off the list; `lotwright undo` brings it back")
    if as_json:
        json_line({"dropped": pair})


def _told(kept: Rule, *, as_json: bool) -> None:
    from catalog.rule_words import words_of  # noqa: PLC0415

    place = f"instead of {kept.instead_of}" if kept.instead_of else "beside the others"
    say(f"kept for {kept.kind}, {place}: “{kept.id}”: {words_of(kept.test)}")
    if as_json:
        json_line({"rule": kept.id, "kind": kept.kind, "instead_of": kept.instead_of, "test": words_of(kept.test)})


def _said(line: RuleLine) -> str:
    if line.place == "built in":
        return line.source
    return ", ".join(filter(None, ("yours", line.by, line.at[:10], line.why)))


def _rule_form(line: RuleLine) -> dict[str, Any]:
    from msgspec import to_builtins  # noqa: PLC0415

    form: dict[str, Any] = to_builtins(line)
    return form


def _figure_form(one: Figure) -> dict[str, Any]:
    from msgspec import to_builtins  # noqa: PLC0415

    form: dict[str, Any] = to_builtins(one)
    return form


def _pair_form(one: SaidPair) -> dict[str, Any]:
    from msgspec import to_builtins  # noqa: PLC0415

    form: dict[str, Any] = {"pair": one.id, **to_builtins(one.pair)}
    return form
