"""Which one fact about the person, the unit or the lot is worth asking for now, and not before.

Everything is assumed until it is said (`triage.person`, `triage.lot`). A question comes when what is assumed first
decides something, and only while no look is in front:

- the hour, when the advice is first to stop;
- a tool or a training, when the likeliest suspect could be looked at with it, and knowing would pay at best;
- looks, completeness, an earlier opening, the own shelf, when the unit leans to a selling pile;
- what was wrong, when all works again: the odds of the next unit rest on it;
- the cash limit, when something is first to be ordered for a lot.

What a tool would show is not looked ahead for, as that would make every study slower. A plain bound stands in for it:
knowing for sure whether a fault is there is never worth more than the lesser of its two chances times the price.
"""

from __future__ import annotations

from collections.abc import Iterator
from collections.abc import Set as AbstractSet
from typing import Final, Literal

import msgspec

from catalog.money import show, shown
from triage.branches import RATE
from triage.device_classes.schema import Check
from triage.findings import finding_of, repaired
from triage.locks import TRAINING, LockKind, gate_is_open
from triage.lot import PILE_WORDS, Lot, Unit
from triage.outlook import check_minutes
from triage.person import ALL_TOOLS, Person, Said
from triage.study import SELLING, Study

Kind = Literal["hour", "tool", "training", "grade", "complete", "opened_before", "keep", "found", "cash_limit"]

MOST_OF_A_UNIT: Final = 3
"""Most facts that are asked of one unit."""
SPEAKS: Final = 0.5
"""A check speaks to a fault when the fault turns it bad at least so often (our choice)."""
TOOL_WORDS: Final = {
    "iron": "a soldering iron",
    "load": "a load to discharge cells into",
    "esr_meter": "an ESR meter",
    "insulation_tester": "an insulation tester",
    "lens": "a strong lens",
    "gauge": "a force gauge",
    "dummy_loads": "dummy loads for loudspeakers",
}
"""Tools that need more than their name in a question."""


class Question(msgspec.Struct, frozen=True):
    """One thing to ask. `unit` and `lot` are 0 where it is of neither.

    `about` names the tool or training, or the faults that a finding would most likely say, spaces between.
    """

    kind: Kind
    title: str
    lines: tuple[str, ...]
    """Why it is asked now, and what is assumed meanwhile."""
    about: str = ""
    unit: int = 0
    lot: int = 0

    @property
    def put_off(self) -> str:
        """What is put off together with this question: the facts of one unit are."""
        if self.unit:
            return f"unit {self.unit}"
        return f"lot {self.lot}" if self.lot else f"{self.kind} {self.about}".strip()


def tool_words(tool: str) -> str:
    """A tool with its article."""
    return TOOL_WORDS.get(tool, f"a {tool.replace('_', ' ')}")


def question_for(found: Study, said: Said, put_off: AbstractSet[str] = frozenset()) -> Question | None:
    """The one thing to ask about a unit or the person now, or None; `put_off` holds `Question.put_off` of some."""
    return next((each for each in _questions(found, said) if each.put_off not in put_off), None)


def cash_limit_question(lot: Lot, order_total: int) -> Question | None:
    """Asked once a lot, when something is first to be ordered for it; `order_total` in minor units."""
    if order_total <= 0 or lot.cash_limit is not None or lot.no_cash_limit:
        return None
    total = show(order_total, lot.currency, with_code=True)
    lines = (f"this order comes to {total}; an amount, or nothing for no limit",)
    return Question("cash_limit", "What is the most you want to spend on parts for this lot?", lines, lot=lot.id)


def _questions(found: Study, said: Said) -> Iterator[Question]:
    action = found.action
    if action is None or action.action == "check" or found.ask_first is not None or found.unsellable:
        return
    if found.fixed.fixed and finding_of(found.device_class, found.facts.happenings) is None:
        yield _finding(found)
    if not found.fixed.fixed and not found.facts.unit.pile:
        if action.action == "stop" and "hour_worth" not in said.names:
            yield _hour(found)
        yield from _means(found, said)
    if action.action == "stop" and found.pile in SELLING:
        yield from _facts_of_unit(found)


def assumptions(person: Person, said: Said) -> tuple[str, ...]:
    """What still is assumed about the person, in a few words each; empty when everything was said."""
    untrained = [word for name, word in TRAINING.items() if name not in said.names]
    words = {
        "tools": f"you have {', '.join(name.replace('_', ' ') for name in person.tools) or 'no tools'}",
        "hour_worth": f"an hour is worth {show(person.hour_worth, person.currency)}",
        "currency": f"money is {person.currency}",
    }
    told = [word for name, word in words.items() if name not in said.names]
    return (*told, f"no training for {' or '.join(untrained)}") if untrained else tuple(told)


def unit_assumptions(unit: Unit) -> tuple[str, ...]:
    """What still is assumed about a unit, in a few words each."""
    said = said_of_unit(unit)
    words: dict[Kind, str] = {
        "grade": "looks are B",
        "complete": "it is complete",
        "opened_before": "nobody opened it before",
        "keep": "it is to be sold",
    }
    return tuple(word for kind, word in words.items() if kind not in said)


def to_be_told(unit: Unit) -> tuple[str, ...]:
    """What whoever gets the unit must be told of what was said of it."""
    told = [f"missing: {unit.missing}"] if unit.missing else []
    return (*told, "it was opened before it came here") if unit.opened_before == "yes" else tuple(told)


# --- the person ------------------------------------------------------------------------------------------------------


def _hour(found: Study) -> Question:
    person = found.facts.person
    assumed = f"assumed: {show(person.hour_worth, person.currency, with_code=True)}"
    turns = [flip for flip in found.decision.flips if flip.term == RATE] if found.decision else []
    if turns and found.facts.rate == person.minute_worth:
        near = min(turns, key=lambda flip: abs(flip.value - found.facts.rate))
        at = shown(near.value * 60, person.currency)
        assumed += f"; the answer turns to {PILE_WORDS.get(near.to, near.to)} at {at}"
    lines = (assumed, "Looks and repairs are weighed against it. It is asked once; F9 changes it.")
    return Question("hour", "What is an hour of your evening worth? (0 is allowed)", lines)


def _means(found: Study, said: Said) -> Iterator[Question]:
    for check in _would_tell(found, "tool"):
        missing = [tool for tool in check.tools if tool not in found.facts.person.tools]
        if said.lacks.isdisjoint(missing) and set(missing) <= set(ALL_TOOLS):
            tool = missing[0]
            title = f"Do you have {tool_words(tool)}?"
            lines = (f"with it: {check.question}", "Asked once for each tool; F9 changes it.")
            yield Question("tool", title, lines, tool)
    for check in _would_tell(found, "training"):
        if check.permission is not None and check.permission not in said.names:
            title = f"Were you trained to work on {TRAINING[check.permission]}?"
            lines = (
                "Most were not, and the advice is good without it: n is a fine answer.",
                "It stays locked until you say yes, and is not asked again; F9 changes it.",
            )
            yield Question("training", title, lines, check.permission)


def _would_tell(found: Study, lock: LockKind) -> Iterator[Check]:
    """Checks held back for that reason alone that speak to the likeliest suspect and could pay at best."""
    shut = {entry.check for entry in found.action.locked if entry.kind == lock} if found.action else set()
    chances = {fault.id: found.belief.present.get(fault.id, 0.0) for fault in found.device_class.faults}
    suspect = max(chances, key=lambda name: chances[name], default=None)
    if suspect is None:
        return
    doubt = min(chances[suspect], 1.0 - chances[suspect])
    at_best = doubt * max(found.case.worth.working, found.case.worth.part_out)
    for check in found.device_class.checks:
        if (
            check.id in shut
            and check.money
            and check.fails.get(suspect, 0.0) >= SPEAKS
            and check.id not in found.case.record.said
            and check.id not in found.state.does_not_apply
            and gate_is_open(check, found.case.record.latest)
            and at_best > found.facts.rate * check_minutes(found.case, check)
        ):
            yield check


# --- the unit --------------------------------------------------------------------------------------------------------


def said_of_unit(unit: Unit) -> tuple[Kind, ...]:
    """The facts of a unit that were said."""
    said: dict[Kind, bool] = {
        "grade": bool(unit.grade),
        "complete": bool(unit.complete),
        "opened_before": bool(unit.opened_before),
        "keep": bool(unit.keep) or unit.own_worth is not None,
    }
    return tuple(kind for kind, known in said.items() if known)


def _facts_of_unit(found: Study) -> Iterator[Question]:
    """What a price rests on: looks and completeness; an earlier opening of what is sold broken, the own shelf else."""
    if found.pile == "fix" and not found.fixed.fixed:
        return
    unit, said = found.facts.unit, said_of_unit(found.facts.unit)
    wanted: tuple[Kind, ...] = ("grade", "complete", "keep" if found.pile == "fix" else "opened_before")
    if unit.working is not None and unit.as_is is not None:
        wanted = wanted[1:]  # the person's own prices hold whatever it looks like
    open_ = [kind for kind in wanted if kind not in said][: max(0, MOST_OF_A_UNIT - len(said))]
    for place, kind in enumerate(open_):
        left = len(open_) - place - 1
        more = f"; {left} more after this" if left else ""
        lines = (_MEANWHILE[kind], f"Its price matters now{more}. s puts it off, e changes it.")
        yield Question(kind, _TITLES[kind], lines, unit=unit.number)


def _finding(found: Study) -> Question:
    mended = repaired(found.device_class, found.facts.happenings)
    what = ", ".join(found.device_class.fault(fault).what for fault in mended)
    title = f"All works. Was it this: {what}?" if what else "All works. Was nothing wrong with it at all?"
    lines = ("n says what else it was. The odds of the next one learn from it; g says it at any time.",)
    return Question("found", title, lines, " ".join(mended), found.facts.unit.number)


_TITLES: Final[dict[Kind, str]] = {
    "grade": "How does it look?",
    "complete": "Is it complete?",
    "opened_before": "Had somebody opened it before it came to you?",
    "keep": "Is it meant for your own shelf?",
}
_MEANWHILE: Final[dict[Kind, str]] = {
    "grade": "A fine, hardly a mark; B used, as assumed; C poor: cracked or yellowed.",
    "complete": "Lid, door, knobs, lead. What is missing lowers the price and is told.",
    "opened_before": "Worn screw heads, broken seals, bits missing inside. A buyer is told.",
    "keep": "Then what it is worth to you counts, not what a buyer pays.",
}
