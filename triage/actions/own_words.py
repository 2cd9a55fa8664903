"""The person's own word on substitutes: rules and pairs, from their file and from the bench file, and changing them."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from catalog import own_store, store
from catalog.rules import Grade, Pair, Rule, Test, identity, same_word
from catalog.text import Refused, clean_line
from triage.bench_file import BenchFile, in_one_transaction
from triage.rules_file import NAME, PAIR_GRADES

NUMBER_LIMIT = 200
"""Longest part number kept, in characters."""


class OwnWords(msgspec.Struct, frozen=True):
    """Everything the person said themselves about what stands in for what."""

    pairs: tuple[Pair, ...] = ()
    rules: tuple[Rule, ...] = ()


class SaidPair(msgspec.Struct, frozen=True):
    """One pair for a list. `id` drops it; None for one of the file."""

    id: int | None
    pair: Pair


class RuleLine(msgspec.Struct, frozen=True):
    """One rule for a list: a built-in row, or one of the person's own."""

    kind: str
    rule: str
    attributes: tuple[str, ...]
    test: str
    """In words."""
    locked: bool
    place: str
    """Where it is written: `built in`, the name of the file, or `bench file`."""
    instead_of: str
    source: str
    by: str
    at: str
    why: str


def own_words(bench: BenchFile) -> OwnWords:
    """The rules and pairs that hold now.

    Raises:
        Refused: the file of rules beside the bench file is not right; without it nothing can be judged safely.
    """
    from catalog.own_rules import merged  # noqa: PLC0415 - the rule tables are loaded when something is judged

    rules, pairs = bench.rules_file
    kept = own_rules(bench)
    return OwnWords((*pairs, *map(_pair, store.pairs(bench.database))), merged(rules, kept))


def with_also(own: OwnWords, also: OwnWords | None) -> OwnWords:
    """What the person said, with what they might say beside it."""
    if also is None:
        return own
    from catalog.own_rules import merged  # noqa: PLC0415 - the rule tables, when wanted

    return OwnWords((*own.pairs, *also.pairs), merged(own.rules, also.rules))


def own_rules(bench: BenchFile) -> list[Rule]:
    """The rules of the person's own in the bench file, oldest first."""
    return [row.rule for row in own_store.own_rules(bench.database)]


def list_pairs(bench: BenchFile) -> list[SaidPair]:
    """The person's pairs: those of the file first, then those of the bench file, oldest first.

    Raises:
        Refused: as `own_words`.
    """
    kept = (SaidPair(row.id, _pair(row)) for row in store.pairs(bench.database))
    return [*(SaidPair(None, pair) for pair in bench.rules_file[1]), *kept]


def list_rules(bench: BenchFile | None, *, kind: str = "", own_only: bool = False) -> list[RuleLine]:
    """The rules that hold, of one kind or all: the built-in rows, then the person's own.

    Raises:
        Refused: as `own_words`, or there is no such kind.
    """
    from catalog.figures import alike, rows_of  # noqa: PLC0415 - the rule tables, when wanted
    from catalog.kinds import FAMILIES  # noqa: PLC0415

    kind = alike(kind, FAMILIES)
    if kind and kind not in FAMILIES:
        raise Refused(f"no kind is called “{kind}”; known are {', '.join(FAMILIES)}", where="kind")
    built_in = (
        _line(rule, name, "built in") for name, family in FAMILIES.items() if not own_only for rule in rows_of(family)
    )
    of_file = (_line(rule, rule.kind, NAME) for rule in (bench.rules_file[0] if bench else ()))
    kept = (_line(row.rule, row.kind, "bench file") for row in (own_store.own_rules(bench.database) if bench else ()))
    return [line for line in (*built_in, *of_file, *kept) if kind in {"", line.kind}]


def add_pair(
    bench: BenchFile, wanted: str, candidate: str, grade: Grade = Grade.DROP_IN, *, note: str = "", by: str = ""
) -> store.Pair:
    """Keep the person's word on how one part number stands in for another, or that it does not.

    Raises:
        Refused: a number is empty or a description, both are the same, or the grade is none a person may say.
    """
    numbers = {"wanted": clean_line(wanted, NUMBER_LIMIT), "candidate": clean_line(candidate, NUMBER_LIMIT)}
    for field, number in numbers.items():
        if not number:
            raise Refused("empty; expected a part number", where=f"pair.{field}")
        _refuse_description(number, f"pair.{field}")
    if same_word(numbers["wanted"], numbers["candidate"]):
        raise Refused("both are the same part number; a part always stands in for itself", where="pair.candidate")
    if grade not in PAIR_GRADES:
        raise Refused(f"expected one of {', '.join(PAIR_GRADES)}", where="pair.grade")
    pair = store.Pair(0, **numbers, grade=grade, note=clean_line(note), at=bench.now(), said_by=clean_line(by, 80))
    said = f"{pair.candidate} for {pair.wanted}: {_how(grade)}"
    with bench.journal.event("pair_add", said, at=pair.at) as recorder:
        row = msgspec.structs.asdict(pair)
        del row["id"]
        return msgspec.structs.replace(pair, id=recorder.insert("pairs", row))


def held_back(bench: BenchFile, pair: store.Pair) -> str:
    """Why a pair that was said to fit still does not, in a few words; empty where it does, or was said not to.

    Raises:
        Refused: as `own_words`.
    """
    from triage.actions.judging import fit_texts  # noqa: PLC0415 - it knows these words itself

    verdict = fit_texts(bench, pair.wanted, pair.candidate)
    if pair.grade is Grade.REFUSE or verdict.grade.rank <= Grade.COMPROMISE.rank:
        return ""
    grade = "refused" if verdict.grade is Grade.REFUSE else "unknown"
    return f"still {grade}: {verdict.reasons[0].why.partition(';')[0]}"


def _refuse_description(number: str, where: str) -> None:
    """A pair is about full numbers: one that names values would never be met, or would be met by too much."""
    from triage.actions.judging import read_description  # noqa: PLC0415

    spec = read_description(number).spec if " " in number else None
    if spec is None or not spec.attributes or same_word(identity(spec), number):
        return
    if identity(spec):
        raise Refused(f"“{number}” says more than a part number; say “{identity(spec)}” alone", where=where)
    if len(spec.attributes) > 1:
        raise Refused(f"“{number}” is a description; a pair names two full part numbers", where=where)


@in_one_transaction
def drop_pair(bench: BenchFile, pair_id: int) -> store.Pair:
    """Take a pair off the list. Refused when there is none of that number."""
    pair = next((row for row in store.pairs(bench.database) if row.id == pair_id), None)
    if pair is None:
        raise Refused(f"there is no pair {pair_id}; `lotwright pairs list` shows them", where="pair")
    with bench.journal.event("pair_drop", f"{pair.candidate} for {pair.wanted}: no word", at=bench.now()) as recorder:
        recorder.delete("pairs", pair.id)
    return pair


@in_one_transaction
def add_rule(bench: BenchFile, rule: Rule) -> Rule:
    """Keep a rule of the person's own; one of the same kind and name is written over.

    Raises:
        Refused: the rule may not stand, by `catalog.own_rules.checked`.
    """
    from catalog.own_rules import checked  # noqa: PLC0415 - the rule tables, when wanted

    kept = checked(msgspec.structs.replace(rule, at=bench.now()))
    held = _row(bench, kept.kind, kept.id)
    place = f"instead of {kept.instead_of}" if kept.instead_of else "beside the others"
    said = f"rule “{kept.id}” for {kept.kind}, {place}"
    with bench.journal.event("rule_add", said, at=kept.at) as recorder:
        own_store.save_own_rule(recorder, kept, held.id if held else 0)
    return kept


def set_figure(
    bench: BenchFile, kind: str, rule_id: str, figure: str, value: float, *, why: str = "", by: str = ""
) -> Rule:
    """Change one figure of a built-in row that is not locked: a rule of the person's own takes its place.

    Raises:
        Refused: as `with_figure`.
    """
    return add_rule(bench, with_figure(bench, kind, rule_id, figure, value, why=why, by=by))


def with_figure(
    bench: BenchFile, kind: str, rule_id: str, figure: str, value: float, *, why: str = "", by: str = ""
) -> Rule:
    """The rule of the person's own that `set_figure` keeps; nothing is written.

    Figures of the same row that were changed before stay changed, and the reason names all of them.

    Raises:
        Refused: no such kind, rule or figure, or the row is locked.
    """
    from catalog.figures import alike, changed, row_of  # noqa: PLC0415 - the rule tables, when wanted
    from catalog.kinds import FAMILIES  # noqa: PLC0415
    from catalog.own_rules import checked  # noqa: PLC0415

    row = row_of(kind, rule_id, figure)
    kind, name = alike(kind, FAMILIES), own_name(row)
    held = _row(bench, kind, name)
    test = changed(held.rule.test if held else row.test, figure, value)
    own = msgspec.structs.replace(
        row,
        id=name,
        kind=kind,
        instead_of=row.id,
        test=test,
        locked=False,
        assume=None,
        silent=None,
        vouched=False,
        remark="",
        by=clean_line(by, 80),
        why="; ".join(part for part in (clean_line(why), _changes(row, test)) if part),
    )
    return checked(own)


def own_name(row: Rule) -> str:
    """The name of the rule of the person's own that holds changed figures of a built-in row."""
    return " ".join(["own", row.id, *row.attributes[:1]])


@in_one_transaction
def drop_rule(bench: BenchFile, kind: str, name: str) -> Rule:
    """Drop a rule of the person's own. Refused when there is none of that kind and name in the bench file."""
    held = _row(bench, clean_line(kind), clean_line(name))
    if held is None:
        raise Refused(
            f"no rule of yours for {kind} is called “{name}”; `lotwright rules list --own` shows them", where="rule"
        )
    with bench.journal.event("rule_drop", f"no rule “{held.name}” for {held.kind}", at=bench.now()) as recorder:
        recorder.delete("own_rules", held.id)
    return held.rule


def _line(rule: Rule, kind: str, place: str) -> RuleLine:
    from catalog.rule_words import words_of  # noqa: PLC0415

    return RuleLine(
        kind,
        rule.id,
        rule.attributes,
        words_of(rule.test),
        rule.locked,
        place,
        rule.instead_of,
        rule.source,
        rule.by,
        rule.at,
        rule.why,
    )


def _row(bench: BenchFile, kind: str, name: str) -> own_store.OwnRule | None:
    rows: Sequence[own_store.OwnRule] = own_store.own_rules(bench.database)
    same = (kind.casefold(), name.casefold())
    return next((row for row in rows if (row.kind.casefold(), row.name.casefold()) == same), None)


def _changes(row: Rule, test: Test) -> str:
    """The figures that are other than in the built-in row."""
    from catalog.figures import named  # noqa: PLC0415

    both = zip(named(row.test), named(test), strict=True)
    return ", ".join(f"{name} {now:g} instead of {before:g}" for (name, before), (_, now) in both if now != before)


def _pair(row: store.Pair) -> Pair:
    return Pair(row.wanted, row.candidate, row.grade, row.note, row.said_by, row.at)


def _how(grade: Grade) -> str:
    return "does not fit" if grade is Grade.REFUSE else f"fits, {grade}"
