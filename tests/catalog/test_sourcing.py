"""From described wants to one order problem: grades, drawer, donors, currencies, days, and what is left out."""

from __future__ import annotations

from datetime import date
from fractions import Fraction

import msgspec
import pytest

from catalog import store
from catalog.describe import read
from catalog.fit import Fit, Reason, fit
from catalog.pricelists import described
from catalog.pricing import PriceStep
from catalog.purchase import plan
from catalog.purchase_data import Accept, Need, Offer, OrderUnit, PurchaseProblem, Supplier
from catalog.reprice import reprice
from catalog.rules import Grade, Pair
from catalog.sourcing import source
from catalog.sourcing_candidates import DRAWER
from catalog.sourcing_data import Coming, Donor, LeftOut, Want
from catalog.spec import PartSpec, Value
from catalog.text import Refused

MONDAY = date(2025, 3, 3)
CAPACITOR = "100uF 25V electrolytic radial 105C 8x12mm 3.5mm pitch"


def _spec(text):
    seen = read(text)
    assert seen.status == "ok"
    return seen.spec


def _part(number, text="", quantity=5, part_number=""):
    spec = _spec(text) if text else None
    kind = spec.kind if spec else ""
    return store.Part(number, part_number, text, kind, spec, "", quantity, "box 1", None, "EUR", "")


def _supplier(number, name, currency="EUR", lead_days=2, late=4, **more):
    terms = {"min_order": 0, "shipping": 0, "free_from": None, "price_batch": 1} | more
    return store.Supplier(number, name, currency, lead_days, late, **terms)


def _offer(number, supplier, text="", *, prices=((1, 40, 1),), part_number="", spec=None, **more):
    spec = spec or (_spec(text) if text else None)
    terms = {"pack": 1, "min_packs": 1, "stock_packs": None, "discount": "all_units"} | more
    steps = tuple(store.PriceStep(*price) for price in prices)
    return store.Offer(
        number,
        supplier,
        f"sku{number}",
        part_number,
        text,
        spec.kind if spec else "",
        spec,
        "",
        terms["pack"],
        terms["min_packs"],
        terms["stock_packs"],
        terms["discount"],
        steps,
        "",
    )


def _want(name="w", text=CAPACITOR, unit="u", pieces=2, **more):
    return Want(id=name, unit=unit, pieces=pieces, spec=_spec(text) if text else None, **more)


def _source(wants, **more):
    return source(wants, **({"currency": "EUR", "day": MONDAY} | more))


def _graded(grade):
    """A judge that gives one grade to everything."""
    reason = Reason("capacitance", 1, 2, grade, "X1", "so it is said", "")
    return lambda wanted, candidate, role, pairs: Fit(grade, (reason,))


def test_drawer_and_offers_become_one_problem():
    found = _source(
        [_want()],
        parts=[_part(7, CAPACITOR)],
        suppliers=[_supplier(1, "Near", shipping=300, free_from=2000, min_order=100)],
        offers=[_offer(3, 1, CAPACITOR.replace("25V", "35V"), prices=((1, 40, 1), (10, 350, 10)), pack=5)],
        units=[OrderUnit(id="u", wait_per_day=20, deadline_day=9)],
        labour_per_hour=1200,
        cash_limit=5000,
    )
    problem = found.problem
    assert problem.units == (OrderUnit(id="u", wait_per_day=20, deadline_day=9),)
    assert problem.suppliers == (
        Supplier(id=DRAWER, own=True),
        Supplier(id="Near", lead_days=2, lead_days_late=4, shipping=300, free_from=2000, min_order=100),
    )
    assert problem.needs == (
        Need(
            id="w", unit="u", pieces=2, accepts=(Accept(product="part 7"), Accept(product="offer 3", grade="drop-in"))
        ),
    )
    (drawer, offer) = problem.offers
    assert (drawer.supplier, drawer.stock_packs, drawer.steps[0].amount) == (DRAWER, 5, 0)
    assert [(step.from_pieces, step.amount, step.per) for step in offer.steps] == [(1, 40, 1), (10, 350, 10)]
    assert (offer.pack_size, offer.stock_packs) == (5, None)
    assert (problem.labour_per_hour, problem.cash_limit) == (1200, 5000)
    origin = found.sources["offer 3"]
    assert (origin.source, origin.id, origin.supplier, origin.sku) == ("offer", 3, "Near", "sku3")
    assert found.fits["w", "part 7"].grade is Grade.EXACT
    ordered = plan(problem)
    assert (ordered.total, [line.offer for line in ordered.own]) == (0, ["part 7"])


def test_what_is_said_to_be_broken_is_not_used():
    whole = _part(7, CAPACITOR)
    for words, used in (("swollen", False), ("not swollen", True), ("from a radio", True)):
        held = msgspec.structs.replace(whole, left_over=words)
        found = _source([_want()], parts=[held])
        assert bool(found.problem.offers) is used, words
        assert bool(found.left_out) is not used
    worn = _source([_want()], parts=[msgspec.structs.replace(whole, left_over="swollen")])
    assert worn.left_out == (LeftOut("part 7", "its description says that it is broken: swollen"),)


FUSE = "fuse T1A 250V 5x20"


@pytest.mark.parametrize(
    ("words", "grade", "why"),
    [
        ("", Grade.EXACT, ""),
        ("Werzel", Grade.DROP_IN, ""),
        (
            "or T2A",
            Grade.UNKNOWN,
            "not known whether it fits u: check: not understood, and may say another part: “or t2a”",
        ),
        ("blown", None, "its description says that it is broken: blown"),
    ],
)
@pytest.mark.parametrize("sort", ["drawer", "offer", "donor"])
def test_what_was_left_over_of_a_description_counts_in_the_plan(sort, words, grade, why):
    text = f"{FUSE} {words}".strip()
    held, offered = _part(1, FUSE), _offer(1, 1, FUSE)
    given = Donor(id="d", unit="2", pieces=1, spec=_spec(FUSE), description=text, left_over=words)
    more = {
        "drawer": {"parts": [msgspec.structs.replace(held, description=text, left_over=words)]},
        "offer": {
            "offers": [msgspec.structs.replace(offered, description=text, left_over=words)],
            "suppliers": [_supplier(1, "Near")],
        },
        "donor": {"donors": [given]},
    }[sort]
    found = _source([_want(text=FUSE)], **more)
    accepted = [one.grade for one in found.problem.needs[0].accepts]
    assert accepted == ([grade.value] if grade in {Grade.EXACT, Grade.DROP_IN} else [])
    assert [one.why for one in found.left_out] == ([why] if why else [])
    if grade:
        assert {verdict.grade for verdict in found.fits.values()} == {grade}


def test_what_was_left_over_of_the_want_counts_too():
    held = [_part(1, "resistor 47R 1W")]
    plain = {"text": "resistor 47R 1W", "description": "resistor 47R 1W Werzel", "left_over": "Werzel"}
    assert [one.grade for one in _source([_want(**plain)], parts=held).problem.needs[0].accepts] == ["drop-in"]
    guarded = plain | {"description": "resistor 47R 1W certified", "left_over": "certified"}
    assert _source([_want(**guarded)], parts=held).problem.needs[0].accepts == ()
    both = [_want(**plain), _want("v", **guarded)]
    assert [len(need.accepts) for need in _source(both, parts=held).problem.needs] == [1, 0]


def test_at_the_mains_nothing_without_a_class_is_taken():
    text = "film capacitor 100nF 275VAC"
    held = [_part(1, text), _part(2, "100nF X2 275VAC")]
    assert [one.product for one in _source([_want(text=text)], parts=held).problem.needs[0].accepts][:1] == ["part 1"]
    found = _source([_want(text=text, role="mains")], parts=held)
    assert found.problem.needs[0].accepts == ()
    assert {pair: verdict.grade for pair, verdict in found.fits.items()} == {
        ("w", "part 1"): Grade.REFUSE,
        ("w", "part 2"): Grade.UNKNOWN,
    }


def test_a_want_that_can_be_read_in_two_ways_takes_nothing_by_itself():
    text = "resistor 47R 1W flameproof?"
    seen = described(text, "", "", read)
    assert seen.spec is not None
    want = Want(id="w", unit="u", pieces=1, spec=seen.spec, description=text, left_over=seen.left_over)
    found = _source([want], parts=[_part(1, "resistor 47R 1W")])
    assert found.problem.needs[0].accepts == ()
    assert found.left_out[0].why == "not known whether it fits u: the wanted text can be read in more than one way"


def test_what_is_promised_elsewhere_is_not_there():
    held = {"parts": [_part(7, CAPACITOR, quantity=5)]}
    assert _source([_want()], **held, reserved={7: 3}).problem.offers[0].stock_packs == 2
    none = _source([_want()], **held, reserved={7: 5})
    assert none.problem.offers == ()
    assert none.left_out == (LeftOut("part 7", "all 5 in the drawer are promised elsewhere"),)
    assert none.sources["part 7"].supplier == DRAWER
    assert _source([_want()], parts=[_part(7, CAPACITOR, quantity=0)]).sources == {}


@pytest.mark.parametrize(
    ("grade", "allowed", "used"),
    [
        (Grade.EXACT, False, True),
        (Grade.DROP_IN, False, True),
        (Grade.REWORK, False, True),
        (Grade.COMPROMISE, False, False),
        (Grade.COMPROMISE, True, True),
        (Grade.UNKNOWN, True, False),
        (Grade.REFUSE, True, False),
    ],
)
def test_which_grades_are_used(grade, allowed, used):
    found = _source([_want(compromise_ok=allowed)], parts=[_part(7, CAPACITOR)], judge=_graded(grade))
    assert bool(found.problem.needs[0].accepts) is used
    assert bool(found.problem.offers) is used
    assert found.fits["w", "part 7"].grade is grade
    said = {
        Grade.COMPROMISE: "a compromise for u, not allowed there: so it is said",
        Grade.UNKNOWN: "not known whether it fits u: so it is said",
    }
    expected = () if used or grade is Grade.REFUSE else (LeftOut("part 7", said[grade]),)
    assert found.left_out == expected


def test_a_substitute_carries_what_its_grade_usually_costs():
    # A wet capacitor as a compromise: success -3 %, price -3 % (the family's own figures); 0.97 x 0.97 = 0.9409.
    want = _want(compromise_ok=True, value=8400, failed=2800, chance=0.9)
    (accept,) = _source([want], parts=[_part(7, CAPACITOR)], judge=_graded(Grade.COMPROMISE)).problem.needs[0].accepts
    exact = 0.9 * 8400 + 0.1 * 2800
    cut = 0.9 * 0.97 * 8400 * 0.97 + (1 - 0.9 * 0.97) * 2800
    assert (accept.grade, accept.rework_minutes) == ("compromise", 0)
    assert accept.penalty == round((exact - cut) / 2)
    (accept,) = _source([want], parts=[_part(7, CAPACITOR)], judge=_graded(Grade.REWORK)).problem.needs[0].accepts
    assert (accept.grade, accept.rework_minutes, accept.penalty) == ("rework", 3, 0)


def test_a_penalty_is_weighed_and_counted_again():
    problem = PurchaseProblem(
        suppliers=(Supplier(id="S"),),
        offers=tuple(
            Offer(id=name, supplier="S", product=name, steps=(PriceStep(1, amount),))
            for name, amount in (("like", 10), ("true", 30))
        ),
        units=(OrderUnit(id="u"),),
        needs=(Need(id="n", unit="u", pieces=2, accepts=(Accept(product="like", penalty=21), Accept(product="true"))),),
    )
    dear = plan(problem)
    assert (dear.packs, dear.penalty, dear.total) == ({"true": 2}, 0, 60)
    cheaper = msgspec.structs.replace(
        problem.needs[0], accepts=(Accept(product="like", penalty=19, rework_minutes=1), Accept(product="true"))
    )
    problem = msgspec.structs.replace(problem, needs=(cheaper,))
    cheap = plan(problem)
    assert (cheap.packs, cheap.penalty, cheap.money, cheap.total) == ({"like": 2}, 38, 58, 58)
    assert reprice(problem, cheap.packs, cheap.served).penalty == 38


def test_another_currency_needs_a_rate():
    suppliers = [_supplier(1, "Far", "JPY", shipping=333, free_from=1001, min_order=55)]
    offers = [_offer(3, 1, CAPACITOR, prices=((1, 25, 2),))]
    without = _source([_want()], suppliers=suppliers, offers=offers)
    assert without.problem.offers == ()
    assert without.left_out == (LeftOut("offer 3", "priced in JPY; state a rate to use it"),)
    # One JPY is 0.0061 EUR, and JPY has no smaller unit: 0.61 cents for each.
    found = _source([_want()], suppliers=suppliers, offers=offers, rates={"JPY": Fraction(61, 10_000)})
    assert found.problem.offers[0].steps[0].each == Fraction(25, 2) * Fraction(61, 100)
    (sender,) = found.problem.suppliers
    # 203.13 of postage; 610.61 and 33.55 have to be reached in full.
    assert (sender.shipping, sender.free_from, sender.min_order) == (203, 611, 34)
    ordered = plan(found.problem)
    # Four pieces come to 30.5 -> 31, under the smallest order; five to 38.125.
    assert (ordered.packs, ordered.goods, ordered.shipping) == ({"offer 3": 5}, 38, 203)


@pytest.mark.parametrize("rate", [Fraction(0), Fraction(-1), Fraction(1, 3_000_000)])
def test_a_rate_that_makes_no_sense_is_refused(rate):
    with pytest.raises(Refused, match="USD: expected a rate"):
        _source([_want()], rates={"USD": rate})


def test_days_count_from_when_the_supplier_starts():
    terms = {"suppliers": [_supplier(1, "Near", lead_days=2, late=4)], "offers": [_offer(3, 1, CAPACITOR)]}
    (sender,) = _source([_want()], **terms, day=date(2025, 3, 8)).problem.suppliers  # a Saturday
    assert (sender.lead_days, sender.late) == (4, 6)
    (sender,) = _source([_want()], **terms, after_cut_off=True, holidays={date(2025, 3, 4)}).problem.suppliers
    assert (sender.lead_days, sender.late) == (4, 6)


def test_a_donor_is_an_own_supplier_but_not_of_itself():
    found = _source(
        [_want("w1", unit="1"), _want("w2", unit="2")],
        donors=[Donor(id="2 main filter", unit="2", pieces=1, spec=_spec(CAPACITOR))],
    )
    assert found.problem.suppliers == (Supplier(id="donor 2", own=True),)
    assert [offer.id for offer in found.problem.offers] == ["from 2 main filter"]
    assert [need.accepts for need in found.problem.needs] == [(Accept(product="from 2 main filter"),), ()]
    assert found.sources["from 2 main filter"].source == "donor"


def test_a_supplier_with_one_of_our_names_keeps_apart():
    found = _source(
        [_want()],
        parts=[_part(7, CAPACITOR, quantity=1)],
        suppliers=[_supplier(1, DRAWER), _supplier(2, "donor 9")],
        offers=[_offer(3, 1, CAPACITOR), _offer(4, 2, CAPACITOR)],
    )
    assert {s.id: s.own for s in found.problem.suppliers} == {
        DRAWER: True,
        "the drawer (1)": False,
        "donor 9 (2)": False,
    }
    assert plan(found.problem).goods == 40


def test_by_number_alone_and_by_the_persons_pairs():
    want = _want(text="", part_number="AB-12", pieces=1)
    parts = [_part(1, part_number="ab 12"), _part(2, part_number="CD-3"), _part(3, part_number="EF-4")]
    found = _source([want], parts=parts)
    assert [(accept.product, accept.grade) for accept in found.problem.needs[0].accepts] == [("part 1", "exact")]
    paired = _source([want], parts=parts, pairs=[Pair("AB-12", "CD-3"), Pair("AB-12", "EF-4", Grade.REFUSE)])
    assert [(a.product, a.grade) for a in paired.problem.needs[0].accepts] == [
        ("part 1", "exact"),
        ("part 2", "drop-in"),
    ]
    assert paired.fits["w", "part 3"].grade is Grade.REFUSE
    assert paired.left_out == ()


def test_a_relay_is_judged_by_what_the_trade_asks_and_another_thing_is_not_looked_at():
    relay = "relay 12 VDC DPDT 5 A pin map K1"
    want = _want(text=relay, pieces=1)
    parts = [_part(1, relay), _part(2, relay.replace("12", "24")), _part(3, "lamp 12 V 250 mA")]
    found = _source([want], parts=parts)
    assert [(accept.product, accept.grade) for accept in found.problem.needs[0].accepts] == [("part 1", "drop-in")]
    assert found.fits["w", "part 2"].locked
    assert ("w", "part 3") not in found.fits


def test_only_what_may_serve_is_judged_and_equal_questions_once():
    asked = []

    def judge(wanted, candidate, role, pairs):
        asked.append((wanted.kind, candidate.kind))
        return fit(wanted, candidate, role, pairs)

    texts = [CAPACITOR, CAPACITOR, "100uF 25V tantalum", "1k 0.25W resistor", "4.7uF 25V electrolytic radial"]
    found = _source(
        [_want("w1"), _want("w2", pieces=1), _want("w3", role="timing")],
        suppliers=[_supplier(1, "Near")],
        offers=[_offer(number, 1, text) for number, text in enumerate(texts)],
        judge=judge,
    )
    assert asked == [("electrolytic", "electrolytic"), ("electrolytic", "tantalum")] * 2
    assert "offer 3" not in found.sources
    assert "offer 4" not in found.sources
    assert found.fits["w1", "offer 0"] is found.fits["w2", "offer 1"]


def test_an_offer_that_cannot_be_bought_says_so():
    found = _source(
        [_want()],
        suppliers=[_supplier(1, "Near")],
        offers=[_offer(3, 1, CAPACITOR, min_packs=5, stock_packs=4), _offer(4, 9, CAPACITOR), _offer(5, 1)],
    )
    assert found.left_out == (LeftOut("offer 3", "fewer in stock than must be taken"),)
    assert found.problem.suppliers == ()


def test_a_class_marked_film_capacitor_is_judged_as_a_safety_part():
    marked = PartSpec(
        "film", {"safety_class": Value("X2"), "capacitance": Value(1e-7, "F"), "voltage_ac": Value(275.0, "V")}
    )
    found = _source(
        [Want(id="w", unit="u", pieces=1, spec=marked)],
        parts=[_part(7, "100nF 400V film")],
        donors=[Donor(id="d", unit="x", pieces=1, spec=marked)],
    )
    assert found.fits["w", "part 7"].grade is Grade.REFUSE
    assert [accept.product for accept in found.problem.needs[0].accepts] == ["from d"]


@pytest.mark.parametrize(
    ("wants", "where"),
    [
        ([_want(), _want()], "wants[1].id"),
        ([Want(id="w", unit="u", pieces=1)], "wants[0].spec"),
        ([Want(id="w", unit="u", pieces=0, part_number="x")], "wants[0].pieces"),
    ],
)
def test_wants_that_make_no_sense_are_refused(wants, where):
    with pytest.raises(Refused) as refused:
        _source(wants)
    assert refused.value.where == where


def test_a_want_in_the_very_words_of_an_offer_means_that_offer():
    words = "odd bracket with a hook"
    held = [msgspec.structs.replace(_part(1, CAPACITOR), description=words, spec=None, part_number="")]
    found = _source([Want(id="w", unit="1", pieces=1, part_number=words)], parts=held)
    assert [accept.grade for accept in found.problem.needs[0].accepts] == ["exact"]


def test_pieces_on_their_way_cost_nothing_and_are_here_on_their_day():
    coming = [
        Coming(line=4, order=2, supplier="Near", spec=_spec(CAPACITOR), description=CAPACITOR, pieces=3, day=5, late=8),
        Coming(line=5, order=2, supplier="Near", description="a thing", pieces=1, day=5, late=8),
    ]
    found = _source([_want(pieces=4)], coming=coming, suppliers=[_supplier(1, "Far")], offers=[_offer(3, 1, CAPACITOR)])
    assert [(one.lead_days, one.late, one.own) for one in found.problem.suppliers] == [(5, 8, True), (2, 4, False)]
    best = plan(found.problem)
    assert (best.packs, best.goods, best.arrival_day) == ({"coming 4": 3, "offer 3": 1}, 40, 5)
    assert [line.product for line in best.own] == ["coming 4"]
    assert found.sources["coming 4"].supplier == "Near"


def test_what_rides_along_takes_only_what_is_proper_and_nothing_out_of_a_donor():
    held = [_part(7, CAPACITOR.replace("25V", "16V")), _part(8, CAPACITOR.replace("25V", "35V"))]
    donor = Donor(id="d", unit="9", pieces=2, spec=_spec(CAPACITOR))
    wish = _want("wish", worth=101, compromise_ok=True)
    found = _source([wish], parts=held, donors=[donor], offers=[_offer(3, 1, CAPACITOR)], suppliers=[_supplier(1, "A")])
    (need,) = found.problem.needs
    assert {accept.product for accept in need.accepts} == {"part 8", "offer 3"}
    assert (need.worths, need.whole) == ((51, 50), True)
    assert found.left_out == ()


def test_spares_are_worth_their_chance_times_the_least_price_of_one_or_the_price_said():
    offers = [_offer(3, 1, CAPACITOR, prices=((1, 80, 1), (10, 40, 1))), _offer(4, 1, CAPACITOR, prices=((1, 70, 1),))]
    wants = [
        _want("s", use_chance=0.5, unit="spares"),
        _want("t", use_chance=0.5, price=200, unit="spares"),
        _want("u", text="", use_chance=0.5, part_number="QX-9", unit="spares"),
    ]
    needs = _source(wants, offers=offers, suppliers=[_supplier(1, "A")]).problem.needs
    assert [need.worths for need in needs] == [(35, 11), (100, 31), (0, 0)]
    assert [need.whole for need in needs] == [False] * 3


def test_what_may_not_work_is_worth_that_much_less_as_a_spare():
    found = _source([_want("s", use_chance=1.0, price=200, unit="spares")], parts=[_part(7, CAPACITOR)], good={7: 0.6})
    assert [accept.penalty for accept in found.problem.needs[0].accepts] == [80]


def test_of_a_thermal_fuse_any_more_amperes_serve():
    offers = [_offer(1, 1, "thermal fuse 15A 250V 130C"), _offer(2, 1, "thermal fuse 0.05A 250V 130C")]
    wants = [_want(text="thermal fuse 1A 250V 130C", pieces=1)]
    found = _source(wants, suppliers=[_supplier(1, "Near")], offers=offers, units=[OrderUnit(id="u")])
    assert [accept.product for accept in found.problem.needs[0].accepts] == ["offer 1"]
