"""What the person's own word would change, said before it is kept, and what there is to say it about.

Nothing is written. What stands under the cursor is judged twice, as things are and with the word beside them.
"""

from __future__ import annotations

from collections.abc import Collection

import msgspec

from catalog.fit import Fit
from catalog.rules import Grade, Pair, Rule
from catalog.search import Entry
from catalog.text import Refused, clean_line
from triage.actions.finding import why_it_fits
from triage.actions.judging import fit_texts
from triage.actions.own_words import OwnWords, own_name, own_rules
from triage.bench_file import BenchFile


class Under(msgspec.Struct, frozen=True):
    """What stands under the cursor: for what it was found, and its verdict."""

    query: str
    kind: str | None
    entry: Entry
    fit: Fit


class FigureLine(msgspec.Struct, frozen=True):
    """One number of a built-in rule that may be changed, as it holds now."""

    rule: str
    attribute: str
    name: str
    value: float
    built_in: float
    spoke: bool
    """Whether its rule spoke in the verdict at hand."""


def kinds_of() -> tuple[str, ...]:
    """The kinds of part that have rules."""
    from catalog.kinds import FAMILIES  # noqa: PLC0415 - the rule tables, when wanted

    return tuple(FAMILIES)


def figures_of(bench: BenchFile, kind: str, spoke: Collection[tuple[str, str]] = ()) -> list[FigureLine]:
    """The figures of a kind that are not locked; `spoke` holds (rule, attribute) of a verdict and comes first."""
    from catalog.figures import named, rows_of  # noqa: PLC0415 - the rule tables, when wanted
    from catalog.kinds import FAMILIES  # noqa: PLC0415

    own = {(rule.kind, rule.id): dict(named(rule.test)) for rule in own_rules(bench)}
    rows = rows_of(FAMILIES[kind])
    locked = {row.id for row in rows if row.locked}
    found: dict[tuple[str, str, str], FigureLine] = {}
    for row in rows:
        now = own.get((kind, own_name(row)), {})
        here = any((row.id, name) in spoke for name in row.attributes)
        for name, value in named(row.test) if row.id not in locked else ():
            first = row.attributes[0] if row.attributes else ""
            line = FigureLine(row.id, first, name, now.get(name, value), value, here)
            found.setdefault((row.id, first, name), line)
    return sorted(found.values(), key=lambda one: not one.spoke)


def attributes_of(kind: str, stated: Collection[str] = ()) -> list[tuple[str, str]]:
    """(attribute, unit) of a kind; those of a verdict at hand first."""
    from catalog.spec import KINDS  # noqa: PLC0415 - the rule tables, when wanted

    return sorted(KINDS[kind].items(), key=lambda one: one[0] not in stated)


def tests_for(kind: str, attribute: str) -> list[tuple[str, str]]:
    """(test in words, what it means) for the tests that suit an attribute."""
    from catalog.own_rules import ratings  # noqa: PLC0415 - the rule tables, when wanted
    from catalog.rule_words import meaning_of, suitable, test_of  # noqa: PLC0415
    from catalog.spec import KINDS  # noqa: PLC0415

    words = suitable(KINDS[kind][attribute], rating=attribute in ratings(kind))
    return [(text, meaning_of(test_of(text), attribute)) for text in words]


def replaceable(kind: str, attribute: str) -> list[str]:
    """Ids of the built-in rules that compare the attribute and may be replaced."""
    from catalog.figures import rows_of  # noqa: PLC0415 - the rule tables, when wanted
    from catalog.kinds import FAMILIES  # noqa: PLC0415

    rows = rows_of(FAMILIES[kind])
    locked = {row.id for row in rows if row.locked}
    return list(dict.fromkeys(row.id for row in rows if attribute in row.attributes and row.id not in locked))


def rule_effect(bench: BenchFile, rule: Rule, under: Under | None) -> str:
    """What keeping a rule would mean, in one or two sentences.

    Raises:
        Refused: the rule may not stand, by `catalog.own_rules.checked`.
    """
    from catalog.own_rules import checked  # noqa: PLC0415 - the rule tables, when wanted
    from catalog.rule_words import meaning_of, words_of  # noqa: PLC0415

    rule = checked(rule)
    if rule.instead_of:
        said = f"{rule.instead_of} for {rule.kind} would say: {words_of(rule.test)}."
    else:
        means = "; ".join(meaning_of(rule.test, name) for name in rule.attributes)
        said = f"For {rule.kind}, beside the others: {means}."
    return said + _here(bench, under, OwnWords((), (rule,)))


def pair_effect(bench: BenchFile, wanted: str, candidate: str, grade: Grade) -> str:
    """What keeping a pair would mean, in one sentence; raises `Refused` where a number is left out."""
    numbers = clean_line(wanted), clean_line(candidate)
    for number, field in zip(numbers, ("wanted", "candidate"), strict=True):
        if not number:
            raise Refused("empty; expected a part number", where=f"pair.{field}")
    before = fit_texts(bench, *numbers)
    after = fit_texts(bench, *numbers, also=OwnWords((Pair(*numbers, grade),)))
    return f"{numbers[1]} for {numbers[0]}: {_turn(before, after)}."


def _here(bench: BenchFile, under: Under | None, also: OwnWords) -> str:
    """What it does to the verdict under the cursor."""
    if under is None:
        return ""
    after = why_it_fits(bench, under.query, under.kind, under.entry, also)
    name = under.entry.part_number or under.entry.description
    return f" Here “{clean_line(name, 40)}”: {_turn(under.fit, after)}." if after is not None else ""


def _turn(before: Fit, after: Fit) -> str:
    from catalog.rule_words import in_a_sentence  # noqa: PLC0415 - the rule tables, when wanted

    if before.grade is not after.grade:
        return f"{in_a_sentence(before.grade)} now, {in_a_sentence(after.grade)} then"
    why = f", for {after.reasons[0].why.partition(';')[0]}" if after.grade is Grade.REFUSE and after.reasons else ""
    return f"stays {in_a_sentence(after.grade)}{why}"
