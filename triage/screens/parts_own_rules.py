"""Another figure in a built-in rule, or a rule of one's own: chosen from what there is, never typed from memory."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from catalog.rules import Rule
from catalog.text import Refused
from triage.actions.own_effect import (
    FigureLine,
    Under,
    attributes_of,
    figures_of,
    kinds_of,
    replaceable,
    rule_effect,
    tests_for,
)
from triage.actions.own_words import add_rule, set_figure, with_figure
from triage.bench_file import BenchFile
from triage.screens.dialogs import Choice, Choose, Line
from triage.screens.parts_own_weigh import WHO, WHY, weighed
from triage.screens.places import Place

_UNITS = {"word": "a word", "text": "a text", "flag": "yes or no", "count": "a count", "degC": "°C"}


def another_figure(place: Place, kind: str, under: Under | None) -> None:
    """Choose a figure, those of the rules that spoke under the cursor first, and say what it is from now on."""

    def of_kind(chosen: str) -> None:
        spoke = _spoke(chosen, kind, under)
        place.work_out(lambda bench: figures_of(bench, chosen, spoke), lambda lines: choose(chosen, lines), kind="ask")

    def choose(chosen: str, lines: Sequence[FigureLine]) -> None:
        if not lines:
            place.say(f"{chosen} has no figure that may be changed: its rules are locked for safety or have none")
            return
        choices = [
            Choice(
                str(number),
                f"{line.rule} {line.attribute.replace('_', ' ')}: {line.name} {line.value:g}",
                "yours" if line.value != line.built_in else "spoke here" if line.spoke else "",
            )
            for number, line in enumerate(lines)
        ]
        about = "Those of the rules that spoke under the cursor come first. What is locked for safety is not here."
        _choose(
            place, f"Which figure of {chosen}?", choices, lambda one: say(chosen, lines[int(one)]), of_kind, about=about
        )

    def say(chosen: str, line: FigureLine) -> None:
        def value(typed: dict[str, str]) -> float:
            try:
                return float(typed["value"].replace(",", "."))
            except ValueError:
                raise Refused("expected a number", where="from now on") from None

        def effect(bench: BenchFile, typed: dict[str, str]) -> str:
            return rule_effect(bench, with_figure(bench, chosen, line.rule, line.name, value(typed)), under)

        def keep(bench: BenchFile, typed: dict[str, str]) -> str:
            new = value(typed)
            set_figure(bench, chosen, line.rule, line.name, new, why=typed["why"], by=typed["by"])
            return f"{line.rule} for {chosen}: {line.name} {new:g}"

        lines = [Line("value", "from now on", "", f"{line.value:g} now"), WHY, WHO]
        about = (
            f"{line.rule} of {chosen}, {line.attribute.replace('_', ' ')}: “{line.name}”, built in {line.built_in:g}."
        )
        place.app.push_screen(weighed(place, "Another figure in a rule", lines, effect=effect, keep=keep, about=about))

    _with_kind(place, kind, of_kind)


def own_rule(place: Place, kind: str, under: Under | None) -> None:
    """Choose what is compared and how, then look the sentence over and keep it."""

    def of_kind(chosen: str) -> None:
        stated = [name for _, name in _spoke(chosen, kind, under)]
        choices = [
            Choice(name, name.replace("_", " "), _UNITS.get(unit, f"in {unit}"))
            for name, unit in attributes_of(chosen, stated)
        ]
        _choose(place, f"What is compared, of {chosen}?", choices, lambda one: compares(chosen, one), of_kind)

    def compares(chosen: str, attribute: str) -> None:
        choices = [Choice(text, means) for text, means in tests_for(chosen, attribute)]
        title = f"What is asked of the {attribute.replace('_', ' ')}?"
        about = "The grades and numbers in it can be changed in the form that follows."

        def picked(test: str | None) -> None:
            if test is not None:
                form(chosen, attribute, test)

        place.app.push_screen(Choose(title, choices, about), picked)

    def form(chosen: str, attribute: str, test: str) -> None:
        def rule(typed: dict[str, str]) -> Rule:
            from catalog.rule_words import test_of  # noqa: PLC0415 - the rule tables, when a rule is said

            return Rule(
                id=typed["name"],
                kind=chosen,
                attributes=(attribute,),
                test=test_of(typed["test"]),
                instead_of=typed["instead_of"],
                why=typed["why"],
                by=typed["by"],
            )

        def keep(bench: BenchFile, typed: dict[str, str]) -> str:
            kept = add_rule(bench, rule(typed))
            return f"rule “{kept.id}” for {kept.kind}"

        ids = replaceable(chosen, attribute)
        lines = [
            Line("test", "test", test),
            Line("name", "a name of your own", f"my {attribute.replace('_', ' ')}"),
            Line("instead_of", "instead of rule", "", f"empty: beside the others{''.join(f'; {one}' for one in ids)}"),
            WHY,
            WHO,
        ]
        about = "Grades: drop-in, rework, compromise, refuse. Beside the others a rule can only be stricter."
        title = f"A rule of your own: {attribute.replace('_', ' ')} of {chosen}"

        def effect(bench: BenchFile, typed: dict[str, str]) -> str:
            return rule_effect(bench, rule(typed), under)

        place.app.push_screen(weighed(place, title, lines, effect=effect, keep=keep, about=about))

    _with_kind(place, kind, of_kind)


def _spoke(kind: str, under_kind: str, under: Under | None) -> list[tuple[str, str]]:
    """(rule, attribute) of every reason under the cursor, where it is about that kind."""
    if under is None or kind != under_kind:
        return []
    return [(reason.rule, reason.attribute) for reason in under.fit.reasons]


def _with_kind(place: Place, kind: str, then: Callable[[str], None]) -> None:
    """Go on with the kind that is known, or ask for it."""
    if kind in kinds_of():
        then(kind)
        return

    def chosen(one: str | None) -> None:
        if one is not None:
            then(one)

    place.app.push_screen(Choose("Which kind of part?", [Choice(one, one) for one in kinds_of()]), chosen)


def _choose(
    place: Place,
    title: str,
    choices: Sequence[Choice],
    then: Callable[[str], None],
    of_kind: Callable[[str], None],
    *,
    about: str = "",
) -> None:
    """One of the choices, or the same question about another kind of part."""

    def chosen(one: str | None) -> None:
        if one == _OTHER:
            _with_kind(place, "", of_kind)
        elif one is not None:
            then(one)

    other = Choice(_OTHER, "another kind of part …")
    place.app.push_screen(Choose(title, [*choices, other], about), chosen)


_OTHER = "another kind"
