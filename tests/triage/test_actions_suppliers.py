"""A supplier said and changed by hand: what is typed is what the plan reckons with, and nonsense changes nothing."""

from datetime import date

import pytest

from catalog.charges import Step
from catalog.text import Refused
from triage.actions import history, prices, settings
from triage.actions.suppliers import FIELDS, change_supplier, supplier_texts
from triage.bench_file import BenchFile

OFFERS = "supplier,sku,description,from,price\nSlow Boat,S1,fuse T1.6AL 250V 5x20 glass,1,0.30\n"


@pytest.fixture
def bench(tmp_path):
    with BenchFile(tmp_path / "bench.db", today=date(2026, 12, 1)) as opened:
        settings.change_person(opened, currency="EUR")
        change_supplier(opened, "Slow Boat", {"lead_days": "12", "shipping": "1.00"}, new=True)
        (tmp_path / "offers.csv").write_text(OFFERS, encoding="utf-8")
        prices.import_any(opened, tmp_path / "offers.csv")
        yield opened


def held(bench):
    (supplier,) = prices.list_suppliers(bench)
    return supplier


def test_a_new_supplier_has_what_was_said_and_nothing_else(bench):
    supplier = held(bench)
    assert (supplier.name, supplier.currency, supplier.lead_days, supplier.lead_days_late) == (
        "Slow Boat",
        "EUR",
        12,
        12,
    )
    assert (supplier.shipping, supplier.free_from, supplier.min_order) == (100, None, 0)
    with pytest.raises(Refused, match="known already"):
        change_supplier(bench, "slow boat", {}, new=True)


def test_every_field_is_read_as_in_a_supplier_list_and_shown_so_that_it_can_be_typed_again(bench):
    said = {
        "lead_days": "3",
        "lead_days_late": "7",
        "min_order": "5",
        "free_from": "30.00",
        "shipping_by_value": "0: 4.95; 20: 2.95",
        "small_order_fee": "2",
        "fee_below": "10",
        "tax": "19 %",
        "import_above": "0",
        "import_rate": "4.7",
        "import_fee": "6.50",
    }
    changed = change_supplier(bench, "slow boat", said)
    assert (changed.lead_days, changed.lead_days_late, changed.min_order, changed.free_from) == (3, 7, 500, 3000)
    more = changed.charges
    assert more.by_value == (Step(0, 495), Step(2000, 295))
    assert (more.fee, more.fee_below, more.tax) == (200, 1000, 1900)
    assert (more.import_above, more.import_rate, more.import_fee) == (0, 470, 650)
    assert held(bench) == changed
    assert change_supplier(bench, "Slow Boat", supplier_texts(changed)) == changed
    assert change_supplier(bench, "Slow Boat", {"import_above": "", "tax": ""}).charges.import_above is None
    assert held(bench).charges.tax == 0
    assert held(bench).free_from == 3000  # what is not said stays
    history.take_back(bench)
    assert held(bench) == changed


@pytest.mark.parametrize(
    ("said", "where"),
    [
        ({"tax": "lots"}, "Slow Boat.tax"),
        ({"lead_days": "soon"}, "Slow Boat.lead_days"),
        ({"lead_days_late": "3"}, "Slow Boat.lead_days_late"),
        ({"shipping_by_value": "5: 1.00"}, "Slow Boat.shipping_by_value"),
        ({"shipping_by_value": "0: 1", "shipping_by_weight": "0: 1"}, "Slow Boat.shipping_by_weight"),
        ({"currency": "USD"}, "Slow Boat.currency"),
        ({"colour": "red"}, "Slow Boat.colour"),
    ],
)
def test_what_is_not_understood_is_refused_by_its_field_and_changes_nothing(bench, said, where):
    before = held(bench)
    with pytest.raises(Refused) as refused:
        change_supplier(bench, "Slow Boat", said)
    assert refused.value.where == where
    assert held(bench) == before


def test_the_fields_are_all_there_is_to_say(bench):
    assert set(supplier_texts(held(bench))) == set(FIELDS)
    with pytest.raises(Refused, match="no such supplier"):
        change_supplier(bench, "Nobody", {"tax": "1"})
