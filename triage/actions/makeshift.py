"""What goes into a unit and is not what belongs there: found by its grade, or said by the person, wished for properly.

A part is makeshift where its grade usually takes something off the sale price; a rework that ends as good is not. So
is one that the rules refuse, or of which too little is known, where the person says that it went in all the same.
"""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from catalog import store as catalog_store
from catalog.journal import Recorder
from catalog.kinds import defaults, family_of
from catalog.pricelists import described
from catalog.rules import Grade
from catalog.sourcing_candidates import described as with_number
from catalog.spec import PartSpec
from catalog.text import Refused, clean_line
from triage import store
from triage.actions.judging import judge_by, read_description
from triage.actions.promises import Leaving, is_called, let_go
from triage.actions.studies import class_of_unit
from triage.actions.units import get_unit
from triage.bench_file import BenchFile
from triage.lot import Need

NOT_SAID = "not what belongs there"
"""What is fitted instead, where nobody said."""


_NO_FIT = frozenset({Grade.UNKNOWN, Grade.REFUSE})
PROPER = "no"
"""Said where the program takes a part for makeshift and it is proper."""


class Makeshift(msgspec.Struct, frozen=True):
    """A part that is fitted and is not what belongs there: what it stands in for, and what is to be told."""

    part: str
    """The class part it is fitted as."""
    instead: str
    grade: Grade
    tell: str


class _Judged(msgspec.Struct, frozen=True):
    part: catalog_store.Part
    grade: Grade
    tell: str = ""
    """What a buyer is told of it; of what does not fit, why not."""


def makeshifts(
    bench: BenchFile, number: int, parts: Sequence[str], gone: Sequence[Leaving], named: Sequence[tuple[int, int]] = ()
) -> tuple[Makeshift, ...]:
    """What of the drawer parts that go in is not what belongs there, by how it fits what was described.

    Args:
        bench: the open bench file.
        number: the unit.
        parts: the class parts that are fitted.
        gone: what leaves the drawer by itself.
        named: (part id, pieces) that the person named instead.
    """
    stock = {part.id: part for part in catalog_store.parts(bench.database)}
    needs, by_hand = _by_hand(bench, number, parts, named)
    at_home = {one.part.id for each in by_hand.values() for one in each if one.grade not in _NO_FIT}
    found = []
    for need in needs:
        by_itself = [stock[one.part] for one in gone if one.need == need.id and one.part in stock]
        judged = [*_judged(bench, need, by_itself), *by_hand[need.part]]
        short = [one for one in judged if usual_cut(need.kind, one.grade) > 0.0]
        if not short and all(one.grade in _NO_FIT for one in judged):
            # of what fits nothing here, a part of the same kind was put in for it; a screw beside it was not
            mine = by_hand[need.part]
            short = [one for one in mine if one.part.kind == need.kind and one.part.id not in at_home]
        found += [Makeshift(need.part, one.part.name, one.grade, one.tell) for one in short[-1:]]
    return tuple(found)


def _by_hand(
    bench: BenchFile, number: int, parts: Sequence[str], named: Sequence[tuple[int, int]]
) -> tuple[tuple[Need, ...], dict[str, list[_Judged]]]:
    """What is described of these class parts, and how what the person named fits each."""
    stock = {part.id: part for part in catalog_store.parts(bench.database)}
    needs = [need for need in store.needs(bench.database, number=number) if need.part in parts and need.text]
    latest = {need.part: need for need in needs if not need.wish}
    used = [stock[part] for part, _ in named if part in stock]
    return tuple(latest.values()), {need.part: _judged(bench, need, used) for need in latest.values()}


def _judged(bench: BenchFile, need: Need, parts: Sequence[catalog_store.Part]) -> list[_Judged]:
    """How each part fits what is described; those of which nothing can be judged are left out."""
    wanted = _spec(need.text, "", described(need.text, "", need.kind, read_description).spec)
    judge = judge_by(bench, need.role or None)
    found = []
    for part in parts:
        candidate = _spec(part.description, part.part_number, part.spec)
        if is_called(part, need.text):
            found.append(_Judged(part, Grade.EXACT))
        elif wanted is not None and candidate is not None:
            fit = judge(wanted, candidate)
            why_not = (one.why for one in fit.reasons if one.result == fit.grade and fit.grade in _NO_FIT)
            found.append(_Judged(part, fit.grade, "; ".join(dict.fromkeys((*fit.tell, *why_not)))))
    return found


def wish_for(
    bench: BenchFile,
    recorder: Recorder,
    number: int,
    parts: Sequence[str],
    *,
    gone: Sequence[Leaving],
    named: Sequence[tuple[int, int]],
    said: str,
) -> None:
    """Write a wish for each part that is makeshift; only called within the event that fits the parts.

    What was makeshift before is not any more where something else went in: its wish becomes the new one, or is over.

    Args:
        bench: the open bench file.
        recorder: of the event.
        number: the unit.
        parts: the class parts that were fitted.
        gone: what left the drawer by itself.
        named: (part id, pieces) that the person named.
        said: by the person, what is makeshift: every part, where the grades find none; `no` where nothing is; empty
            lets the grades tell.

    Raises:
        Refused: something is said of a repair that takes no part.
    """
    words = clean_line(said)
    mine = store.needs(bench.database, number=number)
    held = {need.part: need for need in mine if need.wish and need.state != "fitted"}
    if words.casefold() == PROPER:
        _over(bench, recorder, [held[part] for part in parts if part in held])
        return
    found = {one.part: one for one in makeshifts(bench, number, parts, gone, named)}
    if words and not parts:
        raise Refused("this repair takes no part; `lotwright later` says what else is makeshift", where="makeshift")
    device_class = class_of_unit(bench, get_unit(bench, number))
    known = {part.id: part for part in device_class.parts} if device_class else {}
    makeshift = tuple(found or (parts if words else ()))
    went_in = {need.part for need in mine for item in gone if item.need == need.id}
    by_hand = _by_hand(bench, number, parts, named)[1]
    went_in |= {part for part, judged in by_hand.items() if any(one.grade not in _NO_FIT for one in judged)}
    _over(bench, recorder, [held[part] for part in went_in if part in held and part not in makeshift])
    for part in makeshift:
        if part in held:
            let_go(bench, recorder, held[part])
        proper = next((need for need in reversed(mine) if need.part == part and not need.wish), None)
        if proper is None:
            proper = Need(id=0, unit=number, fault="", part=part, pieces=known[part].pieces, kind=known[part].kind)
        one = found.get(part)
        wish = msgspec.structs.replace(
            proper,
            id=held[part].id if part in held else 0,
            compromise_ok=False,
            state="open",
            source="",
            instead=words or (one.instead if one else NOT_SAID),
            tell=one.tell if one else "",
        )
        store.save(recorder, "needs", wish)


def _over(bench: BenchFile, recorder: Recorder, wishes: Sequence[Need]) -> None:
    """What was makeshift is out of the unit."""
    for wish in wishes:
        let_go(bench, recorder, wish)
        recorder.update("needs", wish.id, {"state": "fitted"})


def usual_cut(kind: str, grade: Grade) -> float:
    """Share of the sale price that a substitute of this grade usually takes off; 0 for one that fits."""
    if grade not in {Grade.REWORK, Grade.COMPROMISE} or family_of(kind) is None:
        return 0.0
    return defaults(kind, grade).price_cut


def _spec(words: str, part_number: str, spec: PartSpec | None) -> PartSpec | None:
    """A part as the plan judges it: what nothing was understood of goes by its number, or by its very words."""
    return with_number(spec, part_number or (words if spec is None else ""))
