"""The person's word on where to buy, in an order problem."""

import msgspec

from catalog.pins import OfferPin, pinned
from catalog.pricing import PriceStep
from catalog.purchase import plan
from catalog.purchase_data import Accept, Need, Offer, OrderUnit, PurchaseProblem, Reason, Supplier


def _problem():
    return PurchaseProblem(
        suppliers=(Supplier(id="drawer", own=True), Supplier(id="A"), Supplier(id="B"), Supplier(id="C", shipping=9)),
        offers=(
            Offer(id="mine", supplier="drawer", product="p", steps=(PriceStep(1, 0),), stock_packs=1),
            Offer(id="a", supplier="A", product="p", steps=(PriceStep(1, 10),)),
            Offer(id="b", supplier="B", product="p", steps=(PriceStep(1, 12),)),
            Offer(id="c", supplier="C", product="p", steps=(PriceStep(1, 11),), stock_packs=5),
        ),
        units=(OrderUnit(id="1"),),
        needs=(Need(id="n", unit="1", pieces=3, accepts=(Accept(product="p"),)),),
    )


def _bought(*pins):
    return plan(pinned(_problem(), pins)).packs


def test_each_word_is_kept_and_the_drawer_stays():
    assert _bought() == {"mine": 1, "a": 2}
    assert _bought(OfferPin("not", "A")) == {"mine": 1, "b": 2}
    assert _bought(OfferPin("not", "A", "a")) == {"mine": 1, "b": 2}
    assert _bought(OfferPin("only", "C")) == {"mine": 1, "c": 2}
    assert _bought(OfferPin("only", "C"), OfferPin("only", "B")) == {"mine": 1, "b": 2}
    assert _bought(OfferPin("keep", "B", "b", 1)) == {"mine": 1, "a": 1, "b": 1}
    assert _bought(OfferPin("keep", "B", "b", 4))["b"] == 4
    assert _bought(OfferPin("keep", "A", "gone", 4)) == {"mine": 1, "a": 2}


def test_a_line_that_cannot_be_kept_is_named():
    (conflict,) = plan(pinned(_problem(), [OfferPin("keep", "C", "c", 6)])).conflicts
    assert conflict.reason is Reason.KEPT
    assert conflict.detail == "c: 6 packs are kept, but at least 1 must be taken, 5 in stock"


def _two_needs():
    one = _problem()
    other = Need(id="m", unit="1", pieces=2, accepts=(Accept(product="p"),), not_from=frozenset({"mine"}))
    return msgspec.structs.replace(one, needs=(*one.needs, other))


def _served(*pins):
    served = {}
    for entry in plan(pinned(_two_needs(), pins)).served:
        served.setdefault(entry.need, {})[entry.offer] = entry.pieces
    return served


def test_a_word_of_one_need_leaves_the_others_alone():
    assert _served() == {"n": {"mine": 1, "a": 2}, "m": {"a": 2}}
    assert _served(OfferPin("not", "A", need="m")) == {"n": {"mine": 1, "a": 2}, "m": {"b": 2}}
    assert _served(OfferPin("not", "A", "a", need="n")) == {"n": {"mine": 1, "b": 2}, "m": {"a": 2}}
    assert _served(OfferPin("only", "B", need="n")) == {"n": {"mine": 1, "b": 2}, "m": {"a": 2}}
    assert _served(OfferPin("only", "B", need="n"), OfferPin("not", "A")) == {"n": {"mine": 1, "b": 2}, "m": {"b": 2}}
    assert _served(OfferPin("only", "B", need="gone")) == _served()


def test_what_is_closed_to_all_is_closed_to_a_need_that_takes_it_alone():
    found = plan(pinned(_two_needs(), [OfferPin("only", "A", need="m"), OfferPin("not", "A")]))
    assert [each.needs for each in found.conflicts] == [("m",)]
