"""What can meet each described want: all that is at hand or on offer, judged and priced into one order problem.

Exact, drop-in and rework are used by themselves, a compromise only where the want allows it, unknown and refused never.
What a grade usually costs (minutes, success, sale price) goes into the problem, so that the plan weighs it. What nearly
serves and is left out is listed with its reason. Nothing is planned here.
"""

from __future__ import annotations

from fractions import Fraction
from math import ceil, floor
from typing import TYPE_CHECKING

import msgspec

from catalog import suppliers as waits
from catalog.charges import Charges, Step
from catalog.fit import CONSTRUCTIONS, Fit, fit, judged_kind
from catalog.kinds import defaults, family_of, listed
from catalog.money import code, digits, rounded
from catalog.pricing import half_up
from catalog.purchase_data import Accept, Need, OrderUnit, PurchaseProblem, Supplier
from catalog.reading import far_apart, main_value
from catalog.rules import Grade, Pair, identity, same_word
from catalog.sourcing_candidates import (
    Candidate,
    coming_supplier,
    described,
    from_donors,
    from_drawer,
    from_offers,
    from_orders,
    sender_id,
)
from catalog.sourcing_data import LeftOut, Sourcing
from catalog.spares import spare_worths
from catalog.text import Refused
from catalog.unread import Rest, rest_of, unread, with_unread

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
    from datetime import date

    from catalog.sourcing_data import Coming, Donor, HeldPart, Offered, Sender, Want
    from catalog.spec import PartSpec

    Judge = Callable[[PartSpec, PartSpec, str | None, tuple[Pair, ...]], Fit]

_FINEST_RATE = 10**6
"""Finer rates make price rows that no solver holds exactly."""

_CAPACITORS = frozenset({"capacitor", *CONSTRUCTIONS})
_NUMBERED = frozenset({"listed", *listed.BY_NUMBER})


def source(
    wants: Sequence[Want],
    *,
    currency: str,
    day: date,
    parts: Iterable[HeldPart] = (),
    donors: Iterable[Donor] = (),
    coming: Iterable[Coming] = (),
    suppliers: Iterable[Sender] = (),
    offers: Iterable[Offered] = (),
    units: Iterable[OrderUnit] = (),
    reserved: Mapping[int, int] | None = None,
    good: Mapping[int, float] | None = None,
    pairs: Iterable[Pair] = (),
    judge: Judge = fit,
    rates: Mapping[str, Fraction] | None = None,
    labour_per_hour: int = 0,
    cash_limit: int | None = None,
    after_cut_off: bool = False,
    holidays: Collection[date] = frozenset(),
    weekend: Collection[int] = waits.WEEKEND,
) -> Sourcing:
    """Judge everything at hand against every want.

    Args:
        wants: what is needed.
        currency: ISO 4217 code of the plan.
        day: the day the order is sent; lead days count from it.
        parts: the drawer; it costs nothing and is here at once.
        donors: what units of the lot would give. Such an offer is real only if its unit is taken apart: plan them with
            the whole lot, not with the order alone.
        coming: pieces on their way that are promised to nobody: they cost nothing more and are here on their day.
        suppliers: who sells.
        offers: the offers in force.
        units: deadlines and day costs; a unit that is not named has neither.
        reserved: {part id: pieces} of the drawer that are promised elsewhere.
        good: {part id: chance that it works} of what lies in the drawer and may not.
        pairs: the person's own pairs.
        judge: called as `judge(wanted, candidate, role, pairs)`.
        rates: {currency: how much of the plan's currency one of it is worth}, exact, at most 6 digits after the
            point. What is in a currency without a rate is left out.
        labour_per_hour: minor units, for the extra minutes of a substitute.
        cash_limit: ceiling on goods and postage.
        after_cut_off: the order is sent too late for that day.
        holidays: days off besides the weekend.
        weekend: weekdays off, Monday 0.

    Raises:
        Refused: a want has neither spec nor number or no pieces, an id is used twice, a currency or rate makes no
            sense.
    """
    specs = _described_wants(wants)
    senders = {each.id: each for each in suppliers}
    exact = _exact_rates(currency, rates or {})
    on_their_way = tuple(coming)
    candidates = [
        *from_drawer(parts, reserved or {}, good or {}),
        *from_donors(donors),
        *from_orders(on_their_way),
        *from_offers(offers, senders, exact),
    ]
    judging = _Judging(judge, tuple(pairs))
    needs = tuple(judging.need(want, specs[want.id], candidates) for want in wants)
    accepted = {accept.product for need in needs for accept in need.accepts}
    used = [each for each in candidates if each.offer is not None and each.product in accepted]
    sending = {each.offer.supplier for each in used if each.offer is not None}
    held = {unit.id: unit for unit in units}
    names = dict.fromkeys([*held, *(want.unit for want in wants)])
    own = dict.fromkeys(each.offer.supplier for each in used if each.offer and each.source.source != "offer")
    days = {coming_supplier(one): (one.day, one.late) for one in on_their_way}
    selling = (
        _supplier(
            each,
            exact[code(each.currency)],
            waits.lead(each, day, after_cut_off=after_cut_off, holidays=holidays, weekend=weekend),
        )
        for each in senders.values()
        if sender_id(each) in sending
    )
    return Sourcing(
        problem=PurchaseProblem(
            suppliers=(*(_own_supplier(name, *days.get(name, (0, None))) for name in own), *selling),
            offers=tuple(each.offer for each in used if each.offer is not None),
            units=tuple(held.get(name, OrderUnit(id=name)) for name in names),
            needs=needs,
            labour_per_hour=labour_per_hour,
            cash_limit=cash_limit,
        ),
        sources={each.product: each.source for each in candidates if each.product in judging.judged},
        fits=judging.fits,
        left_out=tuple(judging.left_out(each for each in candidates if each.product not in accepted)),
    )


class _Judging:
    """The verdicts of one call; equal questions are put to the judge once."""

    def __init__(self, judge: Judge, pairs: tuple[Pair, ...]) -> None:
        self.judge = judge
        self.pairs = pairs
        self.fits: dict[tuple[str, str], Fit] = {}
        self.best: dict[str, tuple[Fit, Want]] = {}
        """{product: its best verdict, and for which want}, of what must be had."""
        self.judged: set[str] = set()
        """The products that any want was held against."""
        self._known: dict[tuple[bytes, bytes, str | None], Fit | None] = {}
        self._keys: dict[str, bytes] = {}

    def need(self, want: Want, wanted: PartSpec, candidates: Iterable[Candidate]) -> Need:
        """The want as a need that accepts every candidate whose grade may be used."""
        rest = rest_of(want.description, want.left_over, wanted.kind)
        key = msgspec.json.encode((wanted, rest))
        usable: list[tuple[Candidate, Grade]] = []
        for each in candidates:
            donor = each.source.source == "donor"
            barred = donor and (want.rides or each.source.supplier == want.unit)
            verdict = None if barred else self._verdict((want, wanted, rest), key, each)
            if verdict is None:
                continue
            self.fits[want.id, each.product] = verdict
            self.judged.add(each.product)
            best = self.best.get(each.product)
            # what nearly serves a wish or spares is told with them, not among what is left out
            if not want.rides and (best is None or verdict.grade.rank < best[0].grade.rank):
                self.best[each.product] = verdict, want
            if each.offer is not None and _usable(verdict.grade, want):
                usable.append((each, verdict.grade))
        if want.rides:
            return _riding(want, usable)
        accepts = tuple(_accept(want, wanted, each, grade) for each, grade in usable)
        return Need(id=want.id, unit=want.unit, pieces=want.pieces, accepts=accepts)

    def left_out(self, candidates: Iterable[Candidate]) -> Iterator[LeftOut]:
        """Those that were judged and not refused, with the reason why none of them is used."""
        for each in candidates:
            verdict, want = self.best.get(each.product, (None, None))
            if verdict is None or want is None or verdict.grade is Grade.REFUSE:
                continue
            why = verdict.reasons[0].why if verdict.reasons else verdict.grade.value
            if each.barred and verdict.grade is not Grade.UNKNOWN:
                yield LeftOut(each.product, each.barred)
            elif verdict.grade is Grade.COMPROMISE:
                yield LeftOut(each.product, f"a compromise for {want.unit}, not allowed there: {why}")
            else:
                yield LeftOut(each.product, f"not known whether it fits {want.unit}: {why}")

    def _verdict(self, asked: tuple[Want, PartSpec, Rest], wanted_key: bytes, candidate: Candidate) -> Fit | None:
        want, wanted, rest = asked
        candidate_key = self._keys.get(candidate.product)
        if candidate_key is None:
            candidate_key = self._keys[candidate.product] = msgspec.json.encode((candidate.spec, candidate.rest))
        question = wanted_key, candidate_key, want.role
        if question not in self._known:
            self._known[question] = None
            if _comparable(wanted, candidate.spec, want.role, self.pairs):
                verdict = self.judge(wanted, candidate.spec, want.role, self.pairs)
                self._known[question] = with_unread(verdict, unread(rest, candidate.rest, wanted.kind))
        return self._known[question]


def _comparable(wanted: PartSpec, candidate: PartSpec, role: str | None, pairs: tuple[Pair, ...]) -> bool:
    """Whether the two are worth judging: by number, or of a kind that has rules for the other and of like value."""
    numbers = identity(wanted), identity(candidate)
    if same_word(*numbers) or any(pair.names(*numbers) for pair in pairs):
        return True
    kinds = judged_kind(wanted, role), judged_kind(candidate)
    if wanted.word("what") in listed.MUST_MATCH and wanted.word("what") == candidate.word("what"):
        return True
    if _NUMBERED & set(kinds) or far_apart(main_value(wanted), main_value(candidate), wanted.kind):
        return False
    if "capacitor" in kinds:
        return set(kinds) <= _CAPACITORS
    family = family_of(kinds[0])
    return kinds[0] == kinds[1] or (family is not None and kinds[1] in family.routes)


def _usable(grade: Grade, want: Want) -> bool:
    if want.rides:
        return grade.rank <= Grade.DROP_IN.rank
    return grade.rank <= Grade.REWORK.rank or (grade is Grade.COMPROMISE and want.compromise_ok)


def _accept(want: Want, wanted: PartSpec, candidate: Candidate, grade: Grade) -> Accept:
    """What the grade usually costs, per piece: a need met half with substitutes bears half of the cut.

    A piece that may not work takes its chance off the success too.
    """
    usual = defaults(judged_kind(wanted, want.role), grade)
    works = (1 - usual.success_cut) * candidate.good
    kept = works * (1 - usual.price_cut)
    loss = want.chance * (want.value * (1 - kept) - want.failed * (1 - works))
    return Accept(
        product=candidate.product,
        rework_minutes=rounded(usual.minutes),
        grade=grade.value,
        penalty=max(0, rounded(loss / want.pieces)),
    )


def _riding(want: Want, usable: Sequence[tuple[Candidate, Grade]]) -> Need:
    """A wish is worth something only as a whole, spares piece by piece; what may not work is worth that much less."""
    if want.worth is not None:
        share, rest = divmod(want.worth, want.pieces)
        worths = (share + 1,) * rest + (share,) * (want.pieces - rest)
    else:
        firsts = [each.offer.steps[0].each for each, _ in usable if each.source.source == "offer" and each.offer]
        price = min(firsts, default=Fraction(0)) if want.price is None else want.price
        worths = spare_worths(want.use_chance or 0.0, want.pieces, price)
    return Need(
        id=want.id,
        unit=want.unit,
        pieces=want.pieces,
        accepts=tuple(
            Accept(product=each.product, grade=grade.value, penalty=rounded(worths[0] * (1 - each.good)))
            for each, grade in usable
        ),
        worths=worths,
        whole=want.worth is not None,
    )


def _own_supplier(name: str, day: int, late: int | None) -> Supplier:
    return Supplier(id=name, own=True, lead_days=day, lead_days_late=late)


def _described_wants(wants: Sequence[Want]) -> dict[str, PartSpec]:
    found: dict[str, PartSpec] = {}
    for index, want in enumerate(wants):
        spec = described(want.spec, want.part_number)
        if want.id in found:
            raise Refused(f"{want.id!r} is used twice; give each want its own id", where=f"wants[{index}].id")
        if spec is None:
            raise Refused("expected a description or a part number", where=f"wants[{index}].spec")
        if want.pieces < 1:
            raise Refused(f"expected at least 1, got {want.pieces}", where=f"wants[{index}].pieces")
        found[want.id] = spec
    return found


def _supplier(sender: Sender, rate: Fraction, lead: tuple[int, int]) -> Supplier:
    """Postage is rounded half-up; thresholds are rounded up, so that what reaches them here reaches them there."""
    return Supplier(
        id=sender_id(sender),
        lead_days=lead[0],
        lead_days_late=lead[1],
        shipping=half_up(sender.shipping * rate),
        free_from=None if sender.free_from is None else ceil(sender.free_from * rate),
        min_order=ceil(sender.min_order * rate),
        charges=_charges(sender.charges, rate),
    )


def _charges(charges: Charges, rate: Fraction) -> Charges:
    """The same in the plan's currency, amounts half-up, limits so that what is below them here is below them there."""
    by_value = {ceil(step.start * rate): half_up(step.amount * rate) for step in charges.by_value}
    return msgspec.structs.replace(
        charges,
        by_value=tuple(Step(start, amount) for start, amount in by_value.items()),
        by_weight=tuple(Step(step.start, half_up(step.amount * rate)) for step in charges.by_weight),
        fee=half_up(charges.fee * rate),
        fee_below=ceil(charges.fee_below * rate),
        import_above=None if charges.import_above is None else floor(charges.import_above * rate),
        import_fee=half_up(charges.import_fee * rate),
    )


def _exact_rates(currency: str, rates: Mapping[str, Fraction]) -> dict[str, Fraction]:
    """{currency: minor units of the plan's for one minor unit of it}."""
    own = code(currency)
    found = {}
    for name, rate in rates.items():
        if rate <= 0 or Fraction(rate).denominator > _FINEST_RATE:
            raise Refused(f"expected a rate above 0 with at most 6 digits after the point, got {rate}", where=name)
        found[code(name)] = Fraction(rate) * Fraction(10) ** (digits(own) - digits(name))
    return {**found, own: Fraction(1)}
