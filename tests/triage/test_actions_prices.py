"""Taking in suppliers and price lists, and taking them back."""

import pytest

from catalog import store
from catalog.pricing import Discount
from catalog.text import Refused
from triage.actions import prices
from triage.bench_file import BenchFile

SHOPS = """supplier,currency,lead_days,lead_days_late,min_order,shipping,free_from
North Counter,EUR,3,5,0,3.95,20
Far Yen,JPY,9,14,,500,
"""
OFFERS = """supplier,sku,part_number,description,pack,min_packs,stock,from,price,price_per,discount,currency
North Counter,F16,,fuse T1.6A 250V 5x20,1,1,40,1,0.30,1,all_units,EUR
North Counter,F16,,fuse T1.6A 250V 5x20,1,1,40,10,0.0125,1,all_units,EUR
Far Yen,F16,,fuse T1.6A 250V 5x20,10,1,,1,120,10,incremental,JPY
"""


@pytest.fixture
def bench(tmp_path):
    with BenchFile(tmp_path / "bench.db") as opened:
        yield opened


def test_suppliers_are_added_then_changed_and_taken_back(bench, write):
    done = prices.import_suppliers(bench, write(SHOPS, "shops.csv"))
    assert (done.kind, done.added, done.changed) == ("suppliers", 2, 0)
    far, north = prices.list_suppliers(bench)
    assert (north.name, north.shipping, north.free_from, north.lead_days_late) == ("North Counter", 395, 2000, 5)
    assert (far.name, far.shipping, far.free_from, far.currency) == ("Far Yen", 500, None, "JPY")
    again = prices.import_suppliers(bench, write(SHOPS.replace("3.95", "4.95").replace("North", "NORTH"), "shops.csv"))
    assert (again.added, again.changed, again.unchanged) == (0, 1, 1)
    assert prices.list_suppliers(bench)[1].shipping == 495
    bench.journal.undo(at=bench.now())
    assert prices.list_suppliers(bench) == [far, north]


def test_a_price_list_is_in_force_at_once_with_exact_steps(bench, write):
    prices.import_suppliers(bench, write(SHOPS, "shops.csv"))
    done = prices.import_offers(bench, write(OFFERS, "offers.csv"))
    assert (done.kind, done.added, done.unread) == ("offers", 2, 0)
    north, far = prices.list_offers(bench)
    assert north.steps == (store.PriceStep(1, 30, 1), store.PriceStep(10, 125, 100))
    assert (north.kind, north.stock_packs, Discount(north.discount)) == ("fuse", 40, Discount.ALL_UNITS)
    assert (far.pack, far.stock_packs, far.steps[0], Discount(far.discount)) == (
        10,
        None,
        store.PriceStep(1, 120, 10),
        Discount.INCREMENTAL,
    )


def test_a_new_list_takes_the_place_of_the_suppliers_old_one_and_undo_restores_it(bench, write):
    prices.import_suppliers(bench, write(SHOPS, "shops.csv"))
    prices.import_offers(bench, write(OFFERS, "offers.csv"))
    before = prices.list_offers(bench)
    newer = "supplier,sku,description,price\nNorth Counter,G1,fuse T2A 250V 5x20,0.40\n"
    prices.import_offers(bench, write(newer, "newer.csv"))
    assert [offer.sku for offer in prices.list_offers(bench)] == ["F16", "G1"]
    after = prices.list_offers(bench)
    assert bench.journal.undo(at=bench.now()).action == "import_offers"
    assert prices.list_offers(bench) == before
    bench.journal.redo(at=bench.now())
    assert prices.list_offers(bench) == after


def test_everything_can_be_taken_back_and_done_again(bench, write):
    prices.import_suppliers(bench, write(SHOPS, "shops.csv"))
    prices.import_offers(bench, write(OFFERS, "offers.csv"))
    shops, offers = prices.list_suppliers(bench), prices.list_offers(bench)
    assert bench.journal.undo(at=bench.now()).action == "import_offers"
    assert bench.journal.undo(at=bench.now()).action == "import_suppliers"
    assert (prices.list_suppliers(bench), prices.list_offers(bench)) == ([], [])
    bench.journal.redo(at=bench.now())
    bench.journal.redo(at=bench.now())
    assert (prices.list_suppliers(bench), prices.list_offers(bench)) == (shops, offers)


def test_a_bad_row_leaves_the_old_list_in_force(bench, write):
    prices.import_suppliers(bench, write(SHOPS, "shops.csv"))
    prices.import_offers(bench, write(OFFERS, "offers.csv"))
    before, events = prices.list_offers(bench), bench.journal.history()
    path = write(OFFERS + "North Counter,H1,,belt 43 mm,1,1,,1,nan,1,,\nNobody,H1,,belt,1,1,,1,1,1,,\n", "bad.csv")
    with pytest.raises(Refused) as refused:
        prices.import_offers(bench, path)
    assert str(refused.value).startswith(f"{path}:5:price: ")
    assert "1 more problem" in str(refused.value)
    assert prices.list_offers(bench) == before
    assert bench.journal.history() == events


def test_a_supplier_in_another_currency_loses_its_price_list(bench, write):
    prices.import_suppliers(bench, write(SHOPS, "shops.csv"))
    prices.import_offers(bench, write(OFFERS, "offers.csv"))
    prices.import_suppliers(bench, write("supplier,currency,lead_days\nNorth Counter,USD,3\n", "shops.csv"))
    assert [offer.sku for offer in prices.list_offers(bench)] == ["F16"]
    assert [offer.pack for offer in prices.list_offers(bench)] == [10]
    bench.journal.undo(at=bench.now())
    assert len(prices.list_offers(bench)) == 2


def test_any_list_is_taken_in_by_its_header(bench, write):
    assert prices.import_any(bench, write(SHOPS, "one.csv")).kind == "suppliers"
    assert prices.import_any(bench, write(OFFERS, "two.csv")).kind == "offers"
    assert prices.import_any(bench, write("description\nbelt 43 mm\n", "three.csv")).kind == "parts"
    mapped = prices.import_any(bench, write("Was;Wo\nlens;box\n", "four.csv"), {"Was": "description", "Wo": "place"})
    assert (mapped.kind, mapped.added) == ("parts", 1)
    with pytest.raises(Refused, match="list of units"):
        prices.import_any(bench, write("count,class\n1,radio\n", "five.csv"))
    with pytest.raises(Refused, match=r"six\.csv:1: the header does not tell"):
        prices.import_any(bench, write("Wat;Waar\nlens;box\n", "six.csv"))
