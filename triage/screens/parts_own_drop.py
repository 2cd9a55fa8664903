"""What the person said themselves, to look at, and to drop after one more question."""

from __future__ import annotations

from collections.abc import Callable

from triage.actions.own_words import RuleLine, SaidPair, drop_pair, drop_rule, list_pairs, list_rules
from triage.bench_file import BenchFile
from triage.screens.dialogs import Choice, Choose
from triage.screens.places import Place


def what_was_said(place: Place) -> None:
    """Show it, and drop what is chosen and confirmed."""
    place.work_out(_said, lambda said: _show(place, *said), kind="ask")


def _said(bench: BenchFile) -> tuple[list[SaidPair], list[RuleLine]]:
    return list_pairs(bench), list_rules(bench, own_only=True)


def _show(place: Place, pairs: list[SaidPair], rules: list[RuleLine]) -> None:
    listed = [*map(_of_pair, pairs), *map(_of_rule, rules)]
    if not listed:
        place.say("you said nothing of your own yet")
        return

    def chosen(choice: str | None) -> None:
        if choice is None:
            return
        shown, drop = listed[int(choice)]
        if drop is None:
            place.say("it stands in the file rules.toml; change it there")
        else:
            _ask(place, shown.text, drop)

    choices = [Choice(str(number), shown.text, shown.aside) for number, (shown, _) in enumerate(listed)]
    about = "Choose one to drop it; you are asked first, and u brings it back."
    place.app.push_screen(Choose("What you said yourself", choices, about, weigh=True), chosen)


def _ask(place: Place, what: str, drop: Callable[[BenchFile], object]) -> None:
    def answered(choice: str | None) -> None:
        if choice == "drop":
            place.act(drop, lambda _: place.say("dropped; u brings it back"))
        else:
            what_was_said(place)

    choices = [Choice("keep", "keep it"), Choice("drop", "drop it", "u brings it back")]
    place.app.push_screen(Choose("Drop this?", choices, what), answered)


_Line = tuple[Choice, Callable[[BenchFile], object] | None]


def _of_pair(one: SaidPair) -> _Line:
    text = f"{one.pair.candidate} for {one.pair.wanted}: {one.pair.grade}"
    number = one.id
    drop = None if number is None else (lambda bench: drop_pair(bench, number))
    return Choice("", text, _aside(one.pair.by, one.pair.at, one.pair.note)), drop


def _of_rule(line: RuleLine) -> _Line:
    drop = (lambda bench: drop_rule(bench, line.kind, line.rule)) if line.place == "bench file" else None
    return Choice("", f"{line.kind}, {line.rule}: {line.test}", _aside(line.by, line.at, line.why)), drop


def _aside(by: str, at: str, more: str) -> str:
    return ", ".join(part for part in (by, at[:10], more) if part)
