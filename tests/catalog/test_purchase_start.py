"""The first plan of an order, made without a solver."""

from catalog.pricing import PriceStep
from catalog.purchase import plan
from catalog.purchase_data import Accept, Need, Offer, OrderUnit, PurchaseProblem, Supplier
from catalog.purchase_start import first_plan


def order(suppliers, prices):
    """One piece of each product; `prices` by product and supplier."""
    return PurchaseProblem(
        suppliers=tuple(suppliers),
        offers=tuple(
            Offer(id=name + sender, supplier=sender, product=name, steps=(PriceStep(1, price),))
            for name, there in prices.items()
            for sender, price in there.items()
        ),
        units=(OrderUnit(id="1"),),
        needs=tuple(Need(id=name, unit="1", pieces=1, accepts=(Accept(product=name),)) for name in prices),
    )


def test_each_need_is_asked_about_once_more_when_all_have_a_place():
    """x goes to A when z and w are there: with it their postage is free."""
    senders = [Supplier(id="A", lead_days=1, shipping=4, free_from=20), Supplier(id="B", shipping=4, free_from=20)]
    prices = {"x": {"A": 11, "B": 10}, "y": {"B": 4}, "z": {"A": 4, "B": 11}, "w": {"A": 5, "B": 9}}
    problem = order(senders, prices)
    assert first_plan(problem, {}).total == plan(problem).total == 28


def test_rather_than_miss_a_smallest_order_by_a_little_it_buys_elsewhere():
    problem = order([Supplier(id="A", min_order=10), Supplier(id="B")], {"x": {"B": 23}, "y": {"A": 6, "B": 26}})
    assert first_plan(problem, {}).packs == {"xB": 1, "yB": 1}
    assert plan(problem).packs == {"xB": 1, "yA": 2}  # to fill it up is for the solver
