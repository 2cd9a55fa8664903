"""Charges: how a supplier list states them, the ranges they make, and the bounds that leave offers out."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from catalog.charge_cells import steps_text
from catalog.charges import Charges, Step, goods_ranges, last_fall, most_saved
from catalog.pricelists import read_suppliers
from catalog.purchase_data import Supplier
from catalog.reprice import charged

HEAD = (
    "supplier,lead_days,shipping,shipping_by_value,shipping_by_weight,small_order_fee,fee_below,tax,import_above,"
    "import_rate,import_fee\n"
)


def _read(row):
    return read_suppliers(HEAD + row, currency="EUR")


def test_a_list_states_charges_in_money_percent_and_grams():
    (by_value, by_weight, plain) = _read(
        'A,3,,0: 4.95; 20: 2.95; 50: 0,,1.50,10,19,,,\nB,9,,,"0: 3,90; 500: 6,90",,,,150,4.7 %,6.00\nC,2,3.00,,,,,,,,\n'
    ).accepted()
    assert by_value.charges == Charges(
        by_value=(Step(0, 495), Step(2000, 295), Step(5000, 0)), fee=150, fee_below=1000, tax=1900
    )
    assert by_weight.charges == Charges(
        by_weight=(Step(0, 390), Step(500_000, 690)), import_above=15000, import_rate=470, import_fee=600
    )
    assert plain.charges is None
    assert steps_text(by_value.charges.by_value, "EUR", weight=False) == "0.00: 4.95; 20.00: 2.95; 50.00: 0.00"
    assert steps_text(by_weight.charges.by_weight, "EUR", weight=True) == "0: 3.90; 500: 6.90"


@pytest.mark.parametrize(
    ("row", "column"),
    [
        ("A,3,,5: 4.95,,,,,,,\n", "shipping_by_value"),
        ("A,3,,0 4.95,,,,,,,\n", "shipping_by_value"),
        ("A,3,,,0: 5; 100: 4,,,,,,\n", "shipping_by_weight"),
        ("A,3,,0: 5,0: 5,,,,,,\n", "shipping_by_weight"),
        ("A,3,,,,,,19.555,,,\n", "tax"),
        ("A,3,,,,,,,150,x,\n", "import_rate"),
    ],
)
def test_charges_that_mean_nothing_are_refused_with_their_place(row, column):
    (problem,) = _read(row).problems
    assert problem.where.endswith(f":2:{column}")


@st.composite
def suppliers(draw):
    number = st.integers
    starts = sorted(draw(st.sets(number(1, 30), max_size=3)))
    amounts = [draw(number(0, 12)) for _ in (0, *starts)]
    weighed = draw(st.booleans())
    steps = tuple(Step(*each) for each in zip((0, *starts), sorted(amounts) if weighed else amounts, strict=True))
    return Supplier(
        id="S",
        shipping=draw(number(0, 9)),
        free_from=draw(st.none() | number(0, 35)),
        min_order=draw(number(0, 12)),
        charges=Charges(
            by_value=() if weighed else steps,
            by_weight=steps if weighed else (),
            fee=draw(number(0, 6)),
            fee_below=draw(number(0, 30)),
            tax=draw(st.sampled_from([0, 700, 1900])),
            import_above=draw(st.none() | number(0, 30)),
            import_rate=draw(st.sampled_from([0, 2000])),
            import_fee=draw(number(0, 4)),
        ),
    )


@settings(max_examples=100, deadline=None)
@given(suppliers())
def test_ranges_and_bounds_are_those_of_every_single_subtotal(supplier):
    first = max(1, supplier.min_order)
    for each in goods_ranges(supplier):
        assert each.low >= first
        for goods in range(each.low, min(50, each.high or 50) + 1):
            postage, _ = charged(supplier, goods, 0)
            by_weight = supplier.charges.by_weight[0].amount if each.weighed else 0
            assert postage == each.postage + by_weight
    for weight in (0, 5, 40):
        asked = [sum(charged(supplier, goods, weight)) for goods in range(first, 60)]
        falls = [
            (first + later, asked[sooner] - asked[later]) for later in range(len(asked)) for sooner in range(later)
        ]
        assert max((fall for _, fall in falls), default=0) <= most_saved(supplier)
        steps = [first + at for at in range(1, len(asked)) if asked[at] < asked[at - 1]]
        assert max(steps, default=0) <= last_fall(supplier)
