"""Price steps against published problems with known answers."""

from __future__ import annotations

import pytest

from catalog.pricing import Discount, PriceStep, line_amount
from catalog.purchase import plan
from catalog.purchase_data import Accept, Need, Offer, OrderUnit, PurchaseProblem, Supplier


def test_for_six_numbers_of_books_a_larger_order_is_cheaper():
    # American High School Mathematics Examination 1997: a bookshop asks 12 each for 1 to 24, 11 each for 25 to 48,
    # 10 each from 49. For how many n is it cheaper to buy more than n? Published answer: 6.
    steps = (PriceStep(1, 12), PriceStep(25, 11), PriceStep(49, 10))
    larger = []
    for wanted in range(1, 61):
        problem = PurchaseProblem(
            suppliers=(Supplier(id="shop"),),
            offers=(Offer(id="book", supplier="shop", product="book", steps=steps),),
            units=(OrderUnit(id="reader"),),
            needs=(Need(id="n", unit="reader", pieces=wanted, accepts=(Accept(product="book"),)),),
        )
        found = plan(problem)
        if found.packs["book"] > wanted:
            larger.append(wanted)
            assert found.total < line_amount(steps, Discount.ALL_UNITS, wanted)
        else:
            assert found.total == line_amount(steps, Discount.ALL_UNITS, wanted)
    assert larger == [23, 24, 45, 46, 47, 48]
    assert len(larger) == 6


def _cheapest_year(steps, discount, *, demand, each_order, carry, most):
    """The order quantity with the least yearly cost: goods, ordering, and carrying half an order at `carry` a year."""

    def yearly(quantity):
        line = line_amount(steps, discount, quantity)
        return (line + each_order) * demand / quantity + carry * line / 2

    best = min(range(1, most + 1), key=yearly)
    return best, yearly(best) / 100


def test_toy_cars_at_all_units_steps():
    # Heizer & Render, Operations Management, quantity discount example: 5000 a year, 49 an order, carrying 20 %;
    # 5.00, 4.80 from 1000, 4.75 from 2000. Published answer: order 1000, 24 725 a year.
    steps = (PriceStep(1, 500), PriceStep(1000, 480), PriceStep(2000, 475))
    best = _cheapest_year(steps, Discount.ALL_UNITS, demand=5000, each_order=4900, carry=0.2, most=3000)
    assert best == (1000, pytest.approx(24725))


@pytest.mark.parametrize(
    ("discount", "starts", "quantity", "cost"),
    [
        (Discount.ALL_UNITS, (1, 500, 1000), 500, 198.10),
        # The book counts the dearer price for the first 500 and 1000 bags, so the next one is the first cheaper piece.
        (Discount.INCREMENTAL, (1, 501, 1001), 400, 204.00),
    ],
)
def test_bags_at_all_units_and_incremental_steps(discount, starts, quantity, cost):
    # Nahmias, Production and Operations Analysis, bag example: 600 a year, 8 an order, carrying 20 %; 0.30, 0.29 and
    # 0.28 each. Published answers (from memory of the book, recomputed from its data): 500 bags, 198.10 with all-units
    # steps; 400 bags, 204.00 with incremental ones.
    steps = tuple(PriceStep(start, cents) for start, cents in zip(starts, (30, 29, 28), strict=True))
    best = _cheapest_year(steps, discount, demand=600, each_order=800, carry=0.2, most=1500)
    assert best == (quantity, pytest.approx(cost, abs=0.005))


def test_ten_textbooks_from_ten_shops():
    # “Optimal Internet shopping”, a problem published on the problem collection solve.club: ten textbooks, ten shops,
    # 4 for each delivery. Published answer: 149.
    prices = """
        13 19 16 19 19 18 17 16 15 14
        18 13 17 14 15 16 15 17 18 17
        17 14 13 17 16 18 16 17 18 17
        19 18 17 13 16 15 15 16 17 14
        16 14 17 18 13 16 15 16 17 16
        17 17 16 14 15 13 16 17 18 16
        17 14 16 17 15 16 13 18 19 17
        17 16 15 14 17 16 15 13 15 15
        15 15 16 18 17 15 16 15 13 14
        16 14 16 18 17 17 15 16 18 13
    """
    table = [[int(price) for price in line.split()] for line in prices.strip().splitlines()]
    problem = PurchaseProblem(
        suppliers=tuple(Supplier(id=f"shop {shop}", shipping=4) for shop in range(10)),
        offers=tuple(
            Offer(id=f"{book} {shop}", supplier=f"shop {shop}", product=f"book {book}", steps=(PriceStep(1, price),))
            for book, row in enumerate(table)
            for shop, price in enumerate(row)
        ),
        units=(OrderUnit(id="reader"),),
        needs=tuple(
            Need(id=f"n{book}", unit="reader", pieces=1, accepts=(Accept(product=f"book {book}"),))
            for book in range(10)
        ),
    )
    assert plan(problem).total == 149
