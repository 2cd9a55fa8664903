"""The rows of an order on their own: joined with decisions, and read back in whole pieces."""

from __future__ import annotations

import pytest

from catalog import purchase, solver
from catalog.model import Model
from catalog.pricing import PriceStep
from catalog.purchase_data import Accept, Need, Offer, OrderUnit, PurchaseProblem, Served, Supplier
from catalog.purchase_rows import PurchaseRows, reachable


@pytest.fixture
def two_units():
    """Two units want a part each; a slow and a fast supplier have one each, at the same price."""
    return PurchaseProblem(
        suppliers=(Supplier(id="A", shipping=200), Supplier(id="B")),
        offers=tuple(
            Offer(id=name, supplier=name.upper(), product="p", steps=(PriceStep(1, 100),), stock_packs=1)
            for name in "ab"
        ),
        units=(OrderUnit(id="u1"), OrderUnit(id="u2")),
        needs=tuple(Need(id=f"n{n}", unit=f"u{n}", pieces=1, accepts=(Accept(product="p"),)) for n in (1, 2)),
    )


@pytest.mark.parametrize(("worth", "fixed"), [((350, 250), {"n1"}), ((350, 301), {"n1", "n2"}), ((99, 99), set())])
def test_a_need_can_hang_on_a_decision(two_units, worth, fixed):
    # The first part costs 100 at B, the second 100 + 200 postage at A.
    model = Model()
    rows = PurchaseRows(model, two_units, conditional=frozenset({"n1", "n2"}))
    repair = {}
    for name, money in zip(("n1", "n2"), worth, strict=True):
        repair[name] = (model.choice(name=f"repair for {name}"), -float(money))
        model.add_term(rows.need_rows[name], repair[name][0], -1)
    rows.minimise(rows.spent, rows.rework, rows.waiting, list(repair.values()))
    solution = solver.solve(model)
    packs, served = rows.read(solution.values)
    assert {name for name, (column, _) in repair.items() if solution.values[column] > 0.5} == fixed
    assert {entry.need for entry in served} == fixed
    assert sum(packs.values()) == len(fixed)


def test_pieces_are_whole_even_where_the_solver_stopped_between_two_ways(two_units):
    model = Model()
    rows = PurchaseRows(model, two_units)
    rows.minimise(rows.spent)
    values = list(solver.solve(model).values)
    for column in rows.served.values():
        values[column] = 0.5
    assert model.broken(values) == []
    halves = solver.Solution(solver.Status.OPTIMAL, 400, 400, tuple(values))
    found = purchase._counted(rows, halves)
    assert found.total == 400
    assert {entry.pieces for entry in found.served} == {1}
    assert {entry.offer for entry in found.served} == {"a", "b"}
    assert all(isinstance(entry, Served) for entry in found.served)


def test_more_than_anyone_needs_is_only_considered_where_it_can_pay():
    offer = Offer(id="o", supplier="A", product="p", steps=(PriceStep(1, 10), PriceStep(20, 9)))
    plain = Supplier(id="A", shipping=30)
    assert [(each.low, each.high) for each in reachable(plain, offer, 5)] == [(1, 5)]
    to_smallest = Supplier(id="A", min_order=100)
    assert [(each.low, each.high) for each in reachable(to_smallest, offer, 5)][:2] == [(1, 5), (6, 15)]
    to_free = Supplier(id="A", shipping=30, free_from=5000)
    assert [(each.low, each.high) for each in reachable(to_free, offer, 5)] == [(1, 5), (6, 8)]
    assert reachable(plain, offer, 0) == []
