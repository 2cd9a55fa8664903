"""The facts that one plan of a lot follows from, gathered from the bench file at one moment."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from datetime import date, timedelta
from fractions import Fraction
from functools import partial
from hashlib import sha256
from typing import Literal

import msgspec

from catalog import store as catalog_store
from catalog.database import reading
from catalog.fit import fit
from catalog.pins import pinned
from catalog.purchase_data import PurchaseProblem
from catalog.sourcing import source
from catalog.sourcing_data import Sourcing
from triage import store
from triage.actions.bench_time import BenchTime, bench_time
from triage.actions.goods_in import suppliers_as_they_are
from triage.actions.later import Wish, later_list
from triage.actions.on_the_way import free_on_the_way, idle_needs, promised_on_the_way, too_late
from triage.actions.own_words import own_words
from triage.actions.pieces import lifted_good
from triage.actions.pins import kept_for_nothing, offer_pins
from triage.actions.promises import reserved
from triage.actions.studies import plain_study
from triage.bench_file import BenchFile
from triage.donors import DonorOffer, donor_offers
from triage.lot import Lot, Need, OrderPin, SetAside, Spare, Unit, need_state, pieces_missing
from triage.lot_data import LotProblem
from triage.lot_problem import (
    deciding,
    lot_problem,
    need_name,
    order_unit,
    riding,
    spare_name,
    to_source,
    wants_of,
)
from triage.study import Study
from triage.two_stage_problem import doubtful
from triage.wants import WantedPart, aside_of, wanted_of

Progress = Callable[[int, int], None]
"""Units studied so far, and units in all."""


class Called(msgspec.Struct, frozen=True):
    """A need in the person's terms; spares are of no unit."""

    need: int | None
    unit: int | None
    part: str
    words: str
    """What it was described as."""
    rides: Literal["", "wish", "spare"] = ""

    def __str__(self) -> str:
        """Such as `unit 5 tray belt`."""
        if self.rides == "spare":
            return f"spare {self.words}"
        return f"unit {self.unit} {self.part}" + (", later" if self.rides else "")


class PlanFacts(msgspec.Struct, frozen=True):
    """The facts of one plan."""

    lot: Lot
    today: date
    currency: str
    studies: tuple[Study, ...]
    wanted: tuple[WantedPart, ...]
    sourcing: Sourcing
    problem: LotProblem
    time: BenchTime
    """The bench minutes that went into the lot."""
    wishes: tuple[Wish, ...]
    """The later list of all lots."""
    spares: tuple[Spare, ...]
    """The spares wanted."""
    idle: frozenset[int]
    """Needs whose promised pieces may go elsewhere: their units do not want them as things stand."""
    late: dict[int, int]
    """{promise: late day} of what is on its way and may miss the last day: its need is met anew, or not at all."""
    late_needs: dict[int, int]
    """{need: late day} of those promises."""
    donors: dict[str, DonorOffer]
    """What the units would give, by the donor's id in the sourcing."""
    offers: dict[int, catalog_store.Offer]
    """The offers in force by their number."""
    suppliers: dict[int, catalog_store.Supplier]
    """The suppliers by their number."""
    pins: tuple[OrderPin, ...]
    """The person's word on the order."""
    unpinned: PurchaseProblem
    """The order problem without it."""
    unheard: tuple[str, ...]
    """What of it speaks of nothing that is offered or wanted any more."""

    @property
    def basis(self) -> str:
        """A fingerprint of all that the plan follows from."""
        riders = self.wishes, self.spares, sorted(self.idle), sorted(self.late)
        said = repr((self.problem, sorted(self.sourcing.sources.items()), self.wanted, riders))
        return sha256(said.encode()).hexdigest()

    def called(self, need: str) -> Called:
        """What a need of the order problem is to the person."""
        for part in self.wanted:
            if part.need is not None and need_name(part.need) == need:
                return Called(part.need.id, part.unit, part.part_name, part.need.text)
        for wish in self.wishes:
            if need_name(wish.need) == need:
                return Called(wish.need.id, wish.need.unit, wish.part_name, wish.need.text, "wish")
        spare = next(one for one in self.spares if spare_name(one) == need)
        return Called(None, None, "spare", spare.text, "spare")

    def on(self, day: int) -> str:
        """The ISO date of a day counted from today."""
        return (self.today + timedelta(days=day)).isoformat()


def gather(bench: BenchFile, lot: Lot, progress: Progress | None, *, ahead: bool = False) -> PlanFacts:
    """Everything at once, in one read transaction; `progress` is told before each unit that is studied.

    `ahead`: what was described for units on which a look still pays is sourced too, wanted now or not.
    """
    with reading(bench.database):
        units = [unit for unit in store.units(bench.database, lot.id) if unit.device_class in bench.classes]
        studies = tuple(_studies(bench, units, progress))
        needs = store.needs(bench.database, lot=lot.id)
        unsure = doubtful(studies) if ahead else []
        promised = store.set_asides(bench.database)
        suppliers = suppliers_as_they_are(bench)
        idle = idle_needs(studies, needs)
        late = too_late(bench, suppliers, bench.today, _last_days(lot, studies, needs, bench.today))
        late_needs = {item.need: late[item.id] for item in promised if item.id in late}
        promised = [item for item in promised if item.id not in late]
        needs = [_as_promised(need, promised) if need.id in late_needs else need for need in needs]
        by_unit = _by_unit(needs)
        wanted = tuple(
            part for found in studies for part in wanted_of(found, by_unit.get(found.facts.unit.number, ()))
        ) + tuple(
            part
            for found in unsure
            for part in aside_of(found, by_unit.get(found.facts.unit.number, ()))
            if part.aside == "elsewhere"
        )
        missing = {need.id: pieces_missing(need, promised) for need in needs}
        wishes, spares = later_list(bench), tuple(store.spares(bench.database))
        promised_days = promised_on_the_way(bench, suppliers, bench.today, late)
        coming = {need: days for need, days in promised_days.items() if need not in idle}
        units_deciding = deciding(studies)
        sourced = [*units_deciding, *unsure]
        donors = donor_offers(units_deciding, [part for part in wanted if to_source(part)], by_unit)
        offers = catalog_store.offers(bench.database)
        own = own_words(bench)
        sourcing = source(
            [
                *(want for found in sourced for want in wants_of(found, wanted, missing)),
                *riding(((wish.need, pieces_missing(wish.need, promised), wish.worth) for wish in wishes), spares),
            ],
            currency=bench.currency,
            day=bench.today,
            parts=catalog_store.parts(bench.database),
            donors=[each.donor for each in donors],
            suppliers=suppliers,
            offers=offers,
            units=[order_unit(found, wanted, lot, bench.today, coming) for found in sourced],
            coming=free_on_the_way(bench, suppliers, idle, bench.today, late),
            reserved=reserved(bench, idle),
            good=lifted_good(bench),
            pairs=own.pairs,
            judge=partial(fit, rules=own.rules, mains=bench.person.mains),
            labour_per_hour=bench.person.hour_worth,
            after_cut_off=bench.hour >= bench.person.cut_off,
            holidays=bench.person.holidays,
            cash_limit=_cash_left(bench, lot),
            rates={name: Fraction(rate.worth) for name, rate in bench.person.rates.items()},
        )
        pins, unoffered = offer_pins(bench, lot.id)
        known = {offer.id for offer in sourcing.problem.offers}
        unpinned = sourcing.problem
        sourcing = msgspec.structs.replace(sourcing, problem=pinned(sourcing.problem, pins))
        time = bench_time(bench, lot)
    problem = lot_problem(
        studies,
        wanted,
        sourcing.problem,
        donors=donors,
        lot=lot,
        minutes_spent=time.spent,
        spent_today=time.spent_today,
        today=bench.today,
    )
    return PlanFacts(
        lot=lot,
        today=bench.today,
        currency=bench.currency,
        studies=studies,
        wanted=wanted,
        sourcing=sourcing,
        problem=problem,
        time=time,
        wishes=wishes,
        spares=spares,
        idle=idle,
        late=late,
        late_needs=late_needs,
        donors={each.donor.id: each for each in donors},
        offers={offer.id: offer for offer in offers},
        suppliers={supplier.id: supplier for supplier in suppliers},
        unpinned=unpinned,
        pins=tuple(store.order_pins(bench.database, lot.id)),
        unheard=(*unoffered, *kept_for_nothing(bench, lot.id, pins, known)),
    )


def _last_days(lot: Lot, studies: Sequence[Study], needs: Sequence[Need], today: date) -> dict[int, int]:
    """{need: the lot's last day, counted from today}, but of units on their pile by hand: those are not given up."""
    if not lot.deadline:
        return {}
    day = max(0, (date.fromisoformat(lot.deadline) - today).days)
    free = {found.facts.unit.number for found in deciding(studies) if not found.facts.unit.pile}
    return {need.id: day for need in needs if need.unit in free and not need.wish}


def _as_promised(need: Need, promised: Sequence[SetAside]) -> Need:
    return msgspec.structs.replace(need, state=need_state(need, promised))


def _by_unit(needs: Sequence[Need]) -> dict[int, list[Need]]:
    """The needs by the unit they are of."""
    found: dict[int, list[Need]] = {}
    for need in needs:
        found.setdefault(need.unit, []).append(need)
    return found


def _studies(bench: BenchFile, units: Sequence[Unit], progress: Progress | None) -> Iterator[Study]:
    for done, unit in enumerate(units):
        if progress is not None:
            progress(done, len(units))
        # the limit of hours is in the plan itself: what the last plan made of it must not move this one
        yield plain_study(bench, unit)
    if progress is not None:
        progress(len(units), len(units))


def _cash_left(bench: BenchFile, lot: Lot) -> int | None:
    """What the lot's ceiling leaves after the orders already placed for it."""
    if lot.cash_limit is None:
        return None
    placed = [order for order in store.orders(bench.database, lot.id) if not order.cancelled]
    return max(0, lot.cash_limit - sum(order.goods + order.shipping for order in placed))
