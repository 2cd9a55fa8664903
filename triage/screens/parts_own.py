"""The person's own word on substitutes, in the place Parts: say a pair, a rule or a figure; see and drop them."""

from __future__ import annotations

from collections.abc import Callable

from catalog.rules import Grade, Rule
from catalog.text import Refused
from triage.actions.finding import Found, Search
from triage.actions.own_words import (
    RuleLine,
    SaidPair,
    add_pair,
    add_rule,
    drop_pair,
    drop_rule,
    held_back,
    list_pairs,
    list_rules,
    set_figure,
)
from triage.bench_file import BenchFile
from triage.rules_file import PAIR_GRADES
from triage.screens.dialogs import Choice, Choose, Form, Line
from triage.screens.places import Place

_WHO = Line("by", "who says so", "", "empty: you")
_WHY = Line("why", "why", "", "shown with every verdict")
_CHOICES = (
    Choice("pair", "one part number fits for another, or does not"),
    Choice("figure", "another figure in a built-in rule"),
    Choice("rule", "a rule of your own"),
    Choice("drop", "see what you said, and drop it"),
)


def own_word(place: Place, search: Search | None, found: Found | None) -> None:
    """Ask what the person has to say; what is searched for and under the cursor is filled in."""
    spec = search.reading.spec if search is not None and search.reading is not None else None
    query, kind = search.query.strip() if search is not None else "", spec.kind if spec is not None else ""

    def chosen(choice: str | None) -> None:
        if choice == "pair":
            number = found.hit.entry.part_number if found is not None else ""
            place.app.push_screen(_pair_form(place, query, number))
        elif choice == "figure":
            place.app.push_screen(_figure_form(place, kind))
        elif choice == "rule":
            place.app.push_screen(_rule_form(place, kind))
        elif choice == "drop":
            place.work_out(_said, lambda said: _drop(place, *said), kind="ask")

    about = "It holds everywhere parts are judged. What is locked for safety stays so."
    place.app.push_screen(Choose("Your own word on substitutes", _CHOICES, about), chosen)


def _pair_form(place: Place, wanted: str, candidate: str) -> Form:
    lines = [
        Line("wanted", "wanted part number", wanted),
        Line("candidate", "the one that stands in", candidate),
        Line("grade", "how", "drop-in", ", ".join(PAIR_GRADES)),
        Line("note", "note", "", "needs a shim"),
        _WHO,
    ]
    return _sent(place, "One part number for another", lines, _said_pair, "It is never carried on from pair to pair.")


def _said_pair(bench: BenchFile, typed: dict[str, str]) -> str:
    try:
        grade = Grade(typed["grade"].strip().lower())
    except ValueError:
        raise Refused(f"expected one of {', '.join(PAIR_GRADES)}", where="how") from None
    pair = add_pair(bench, typed["wanted"], typed["candidate"], grade, note=typed["note"], by=typed["by"])
    held = held_back(bench, pair)
    return f"kept; {held}" if held else f"{pair.candidate} for {pair.wanted}: {pair.grade}"


def _figure_form(place: Place, kind: str) -> Form:
    lines = [
        Line("kind", "kind of part", kind, "electrolytic"),
        Line("rule", "rule", "", "AE1"),
        Line("figure", "figure", "", "drop-in to"),
        Line("value", "from now on", "", "3"),
        _WHY,
        _WHO,
    ]
    return _sent(place, "Another figure in a rule", lines, _said_figure, "`lotwright rules figures` lists them all.")


def _said_figure(bench: BenchFile, typed: dict[str, str]) -> str:
    try:
        value = float(typed["value"].replace(",", "."))
    except ValueError:
        raise Refused("expected a number", where="from now on") from None
    kept = set_figure(bench, typed["kind"], typed["rule"], typed["figure"], value, why=typed["why"], by=typed["by"])
    return f"{kept.instead_of} for {kept.kind}: {typed['figure']} {value:g}"


def _rule_form(place: Place, kind: str) -> Form:
    lines = [
        Line("kind", "kind of part", kind, "electrolytic"),
        Line("name", "a name of your own", "", "low lid"),
        Line("compares", "compares", "", "height"),
        Line("test", "test", "", "at most, else refuse"),
        Line("instead_of", "instead of rule", "", "empty: beside the others"),
        _WHY,
        _WHO,
    ]
    return _sent(place, "A rule of your own", lines, _said_rule)


def _said_rule(bench: BenchFile, typed: dict[str, str]) -> str:
    from catalog.rule_words import test_of  # noqa: PLC0415 - the rule tables, when a rule is said

    rule = Rule(
        id=typed["name"],
        kind=typed["kind"],
        attributes=tuple(one.strip() for one in typed["compares"].split(",")),
        test=test_of(typed["test"]),
        instead_of=typed["instead_of"],
        why=typed["why"],
        by=typed["by"],
    )
    kept = add_rule(bench, rule)
    return f"rule “{kept.id}” for {kept.kind}"


def _sent(
    place: Place, title: str, lines: list[Line], job: Callable[[BenchFile, dict[str, str]], str], about: str = ""
) -> Form:
    def send(form: Form, typed: dict[str, str]) -> None:
        def done(said: str) -> None:
            place.say(f"{said}; u takes it back")
            form.accepted()

        place.act(lambda bench: job(bench, typed), done, otherwise=form.refused)

    empty = next((line.id for line in lines if not line.value), "")
    return Form(title, lines, send, about=about, first=empty)


def _said(bench: BenchFile) -> tuple[list[SaidPair], list[RuleLine]]:
    return list_pairs(bench), list_rules(bench, own_only=True)


def _drop(place: Place, pairs: list[SaidPair], rules: list[RuleLine]) -> None:
    """Choose what to drop; what stands in the file is shown and stays."""
    pair_choices = [
        Choice(
            f"pair {one.id or 0}",
            f"{one.pair.candidate} for {one.pair.wanted}: {one.pair.grade}",
            _aside(one.pair.by, one.pair.at, one.pair.note),
        )
        for one in pairs
    ]
    rule_choices = [
        Choice(
            f"rule {place_ if line.place == 'bench file' else -1}",
            f"{line.kind}, {line.rule}: {line.test}",
            _aside(line.by, line.at, line.why),
        )
        for place_, line in enumerate(rules)
    ]
    if not pair_choices and not rule_choices:
        place.say("you said nothing of your own yet")
        return

    def chosen(choice: str | None) -> None:
        if choice is None:
            return
        what, _, number = choice.partition(" ")
        if int(number) < (1 if what == "pair" else 0):
            place.say("it stands in the file rules.toml; change it there")
        elif what == "pair":
            place.act(lambda bench: drop_pair(bench, int(number)), lambda _: place.say("dropped; u brings it back"))
        else:
            line = rules[int(number)]
            place.act(
                lambda bench: drop_rule(bench, line.kind, line.rule), lambda _: place.say("dropped; u brings it back")
            )

    choices = [*pair_choices, *rule_choices]
    about = "The one you choose is dropped; u brings it back."
    place.app.push_screen(Choose("What you said yourself", choices, about, weigh=True), chosen)


def _aside(by: str, at: str, more: str) -> str:
    return ", ".join(part for part in (by, at[:10], more) if part)
