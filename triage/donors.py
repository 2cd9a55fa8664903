"""What units of a lot would give to others if they were taken apart: which parts, how likely good, at what loss.

Pure. A donor's part is known by what was described for it, or by the words of a unit of the same class and model that
wants the same part.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import msgspec

from catalog.describe import read
from catalog.pricelists import described
from catalog.sourcing_data import Donor
from triage.device_classes.schema import Part
from triage.diagnosis import worlds
from triage.lot import Need, same_model
from triage.stand import good_chance
from triage.study import MOST_WORLDS, WORLDS_LEFT_OUT, Study
from triage.wants import WantedPart
from triage.worth import share_of


class DonorOffer(msgspec.Struct, frozen=True):
    """One part of a unit that another unit could use. `loss` is what the unit brings less for a piece, minor units."""

    unit: int
    part: str
    part_name: str
    words: str
    """What exactly it is."""
    donor: Donor
    loss: float


def donor_offers(
    studies: Sequence[Study], wanted: Sequence[WantedPart], needs: Mapping[int, Sequence[Need]]
) -> tuple[DonorOffer, ...]:
    """The parts worth a thought: of units that may be taken apart, where some other unit wants such a part.

    Args:
        studies: the units that a plan decides.
        wanted: what is still to be found for them.
        needs: {unit: what was described for it}.
    """
    found: list[DonorOffer] = []
    for giver in studies:
        barred = giver.unsellable or "opened" in giver.case.barred
        if giver.fixed.fixed or barred or giver.facts.unit.pile not in {"", "part_out"}:
            continue
        others = [part for part in wanted if part.unit != giver.facts.unit.number]
        known = [
            (part, *words)
            for part in giver.device_class.parts
            if not part.consumable
            and giver.state.inside(part)
            and (words := _words(giver, part, others, studies, needs))
        ]
        found += _of_unit(giver, known)
    return tuple(found)


def _words(
    giver: Study,
    part: Part,
    others: Sequence[WantedPart],
    studies: Sequence[Study],
    needs: Mapping[int, Sequence[Need]],
) -> tuple[str, str] | None:
    """(what the part is, its kind); None where nobody wants such a part or nothing is known of it."""
    held = [need for need in needs.get(giver.facts.unit.number, ()) if need.part == part.id]
    if any(need.wish and need.state != "fitted" for need in held):
        return None  # what is in it is makeshift
    mine = [need for need in held if need.text]
    if mine:
        kind = mine[-1].kind or part.kind
        return (mine[-1].text, kind) if any(other.kind == kind for other in others) else None
    units = {study.facts.unit.number: study for study in studies}
    for other in others:
        taker = units.get(other.unit)
        alike = taker is not None and same_model(giver.facts.unit, taker.facts.unit)
        if alike and other.part == part.id and other.need is not None:
            return other.need.text, other.need.kind or part.kind
    return None


def chance_good(giver: Study, part_id: str) -> float:
    """Chance that a part of the unit works, by what was seen on the unit."""
    if giver.belief.impossible:
        return 0.0
    seen = worlds(giver.network, giver.state.events, WORLDS_LEFT_OUT, at_most=MOST_WORLDS)
    return min(1.0, good_chance(giver.device_class, seen, part_id))


def _of_unit(giver: Study, known: Sequence[tuple[Part, str, str]]) -> list[DonorOffer]:
    number, lifted = giver.facts.unit.number, giver.state.missing
    left = 1.0 - share_of(giver.device_class, lifted)
    parts = []
    for part, text, kind in known:
        seen = described(text, "", kind, read)
        share = share_of(giver.device_class, {part.id: 1}) / left if left > 0 else 0.0
        parts.append(
            DonorOffer(
                unit=number,
                part=part.id,
                part_name=part.name,
                words=text,
                donor=Donor(
                    id=f"{number} {part.id}",
                    unit=str(number),
                    pieces=giver.state.inside(part),
                    spec=seen.spec,
                    part_number=text if seen.spec is None else "",
                    description=text,
                    left_over=seen.left_over,
                    good=chance_good(giver, part.id),
                ),
                loss=share * giver.case.worth.part_out,
            )
        )
    return parts
