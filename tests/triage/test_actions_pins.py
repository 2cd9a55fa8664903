"""Charges, other currencies and the person's word on where to buy, from lists and settings to the plan of a lot."""

import csv
from datetime import date

import pytest

from catalog.text import Refused
from triage import store
from triage.actions import history, lots, needs, ordering, planning, prices, settings
from triage.actions.pins import lift_pin, list_pins, pin_order
from triage.bench_file import BenchFile
from triage.person import Rate

TODAY = date(2026, 12, 1)
OFFERS = """supplier,sku,part_number,description,pack,min_packs,stock,from,price,price_per,discount,currency,weight
Quick Corner,Q1,SM-4K,stick module SM-4K,1,,,1,9.10,1,,,12
Slow Boat,S1,SM-4K,stick module SM-4K,3,,,1,6.00,3,,,
"""
SUPPLIERS = """supplier,currency,lead_days,lead_days_late,min_order,shipping,free_from,tax
Quick Corner,EUR,2,3,,4.00,40.00,
Slow Boat,EUR,12,20,,1.00,,19
"""


@pytest.fixture(scope="module")
def filled(tmp_path_factory, two_gamepads):
    """Two gamepads on the fix pile that want a stick module; a quick and a slow supplier; made once."""
    folder = tmp_path_factory.mktemp("shelf")
    with BenchFile(folder / "bench.db", today=TODAY) as bench:
        settings.change_person(bench, currency="EUR", hour_worth=0)
        two_gamepads(bench)
        _take_in(bench, folder, SUPPLIERS, OFFERS)
    return folder / "bench.db"


@pytest.fixture
def shelf(filled, tmp_path):
    path = tmp_path / "bench.db"
    path.write_bytes(filled.read_bytes())
    with BenchFile(path, today=TODAY) as bench:
        yield bench


def _take_in(bench, folder, *texts):
    for text in texts:
        path = folder / "list.csv"
        path.write_text(text, encoding="utf-8")
        prices.import_any(bench, path)


def _plan(bench):
    return planning.plan_lot(bench, with_front=False)


def test_tax_is_in_the_plan_and_in_what_an_order_comes_to(shelf):
    plan = _plan(shelf)
    assert (plan.goods, plan.shipping, plan.charges, plan.order_total) == (600, 100, 133, 833)
    (sheet,) = plan.sheets
    assert sheet.total == 833
    placed = ordering.place_order(shelf, as_shown=plan)
    assert placed.orders[0].goods + placed.orders[0].shipping == 833


def test_a_supplier_of_another_currency_is_used_once_its_rate_is_said(shelf, tmp_path):
    _take_in(
        shelf,
        tmp_path,
        "supplier,currency,lead_days,shipping\nFar Shore,USD,1,2.00\n",
        "supplier,sku,part_number,description,from,price,currency\nFar Shore,F1,SM-4K,stick module SM-4K,1,1.00,USD\n",
    )
    assert {sheet.supplier for sheet in _plan(shelf).sheets} == {"Slow Boat"}
    assert any("state a rate" in why for _, why in _plan(shelf).left_out)
    settings.change_person(shelf, rates=settings.rates_of("usd 0.92 2026-11-20", TODAY))
    plan = _plan(shelf)
    (sheet,) = plan.sheets
    assert (sheet.supplier, sheet.goods, sheet.shipping, sheet.currency) == ("Far Shore", 184, 184, "EUR")
    assert plan.order[0].price == "1.00 USD"
    assert plan.notes == ("1 USD is 0.92 EUR, as of 2026-11-20",)
    ordering.write_order(shelf, None, tmp_path / "out", as_shown=plan)
    sheet_text = (tmp_path / "out" / "order.md").read_text(encoding="utf-8")
    assert "| 1.00 USD | 1.84 (2.00 USD) |" in sheet_text
    assert "together 3.68 EUR" in sheet_text
    assert (
        "In the supplier's currency: goods 2.00 USD, with postage about 4.00 USD"
        " (1 USD is 0.92 EUR, as of 2026-11-20)." in sheet_text
    )
    (row,) = csv.DictReader((tmp_path / "out" / "order-far-shore.csv").read_text(encoding="utf-8").splitlines())
    assert (row["price"], row["line_total"], row["currency"]) == ("1.00", "2.00", "USD")
    history.take_back(shelf)
    assert shelf.person.rates == {}


@pytest.mark.parametrize("text", ["USD", "USD x", "USD 0", "EURO 1.2", "USD 0.1234567", "USD 1 20 11"])
def test_rates_that_are_none_are_refused(text):
    with pytest.raises(Refused):
        settings.rates_of(text, TODAY)


def test_rates_are_written_as_they_are_read():
    rates = settings.rates_of("USD 0.920 2026-11-20; gbp 1,15", TODAY)
    assert rates == {"USD": Rate("0.92", date(2026, 11, 20)), "GBP": Rate("1.15", TODAY)}
    assert settings.rates_of(settings.rates_text(rates), TODAY) == rates


def test_a_rate_of_ones_own_currency_is_refused(shelf):
    with pytest.raises(Refused, match="your own currency"):
        settings.change_person(shelf, rates={"EUR": Rate("1", TODAY)})


def test_the_plan_keeps_to_the_word_and_tells_what_it_costs(shelf):
    assert [line.sku for line in _plan(shelf).order] == ["S1"]
    pin = pin_order(shelf, None, "not", "slow boat")
    plan = planning.plan_lot(shelf)
    assert [line.sku for line in plan.order] == ["Q1"]
    assert plan.pins == ((pin.id, "buy nothing from Slow Boat"),)
    assert plan.pins_cost == pytest.approx(2 * 910 + 400 - 833)
    again = pin_order(shelf, None, "only", "Slow Boat")
    assert list_pins(shelf) == [again]  # said anew of the same supplier
    lift_pin(shelf, again.id)
    assert list_pins(shelf) == []
    history.take_back(shelf)
    assert list_pins(shelf) == [again]


def test_a_line_is_kept_though_another_is_cheaper(shelf):
    pin_order(shelf, None, "keep", "Quick Corner", "q1", packs=2)
    plan = _plan(shelf)
    assert [(line.sku, line.packs) for line in plan.order] == [("Q1", 2)]
    pin_order(shelf, None, "not", "Slow Boat", "S1")
    assert [pin.kind for pin in list_pins(shelf)] == ["keep", "not"]


def test_a_word_on_what_is_not_offered_any_more_is_told(shelf, tmp_path):
    pin_order(shelf, None, "keep", "Slow Boat", "S1", packs=1)
    other = "supplier,sku,part_number,description,from,price\nSlow Boat,S2,SM-4K,stick module SM-4K,1,2.00\n"
    _take_in(shelf, tmp_path, other)
    assert _plan(shelf).notes == ("keep 1 of Slow Boat S1: it is not offered any more",)


@pytest.mark.parametrize(
    ("kind", "supplier", "sku", "packs"),
    [
        ("not", "nobody", "", 0),
        ("not", "Slow Boat", "S9", 0),
        ("keep", "Slow Boat", "", 1),
        ("keep", "Slow Boat", "S1", 0),
        ("only", "Slow Boat", "S1", 0),
    ],
)
def test_words_that_mean_nothing_are_refused(shelf, kind, supplier, sku, packs):
    with pytest.raises(Refused):
        pin_order(shelf, None, kind, supplier, sku, packs=packs)
    with pytest.raises(Refused, match="no such word"):
        lift_pin(shelf, 7)
    assert list_pins(shelf) == []


def test_a_plan_tells_of_better_ones_as_they_are_found(shelf):
    seen = []
    plan = planning.plan_lot(shelf, with_front=False, better=lambda total, more: seen.append((total, more)))
    assert [total for total, _ in seen] == sorted(total for total, _ in seen)
    assert all(more >= 0 for _, more in seen)
    assert not seen or seen[-1][0] == pytest.approx(plan.total)


def test_a_word_of_one_need_is_kept_told_and_lifted(shelf):
    first, second = (need.id for need in store.needs(shelf.database))
    assert {line.sku for line in _plan(shelf).order} == {"S1"}
    pin = pin_order(shelf, None, "only", "Quick Corner", need=first)
    plan = planning.plan_lot(shelf)
    assert {line.sku: line.units for line in plan.order} == {"Q1": (1,), "S1": (2,)}
    assert plan.pins == ((pin.id, "stick_module for unit 1 only from Quick Corner"),)
    assert plan.pins_cost == pytest.approx(910 + 400)
    pin_order(shelf, None, "not", "Slow Boat", "S1", need=second)
    assert {line.sku for line in _plan(shelf).order} == {"Q1"}
    needs.drop_need(shelf, second)
    assert [line.units for line in _plan(shelf).order] == [(1,)]  # the word on what is not wanted waits
    for held in list_pins(shelf):
        lift_pin(shelf, held.id)
    assert {line.sku for line in _plan(shelf).order} == {"S1"}


def test_a_word_of_a_need_that_is_none_and_a_line_kept_for_one_need_are_refused(shelf):
    with pytest.raises(Refused, match="no such need"):
        pin_order(shelf, None, "only", "Quick Corner", need=99)
    with pytest.raises(Refused, match="whole order"):
        pin_order(shelf, None, "keep", "Quick Corner", "Q1", packs=1, need=1)
    assert list_pins(shelf) == []


def test_a_date_and_a_limit_that_do_not_go_together_are_both_named(shelf):
    lots.change_lot(shelf, 1, deadline="2026-12-06", cash_limit=2150)
    (why,) = _plan(shelf).conflicts
    assert why == (
        "unit 1 FIX, 2 FIX: stick module for unit 1, stick module for unit 2: at least 22.20 in goods and postage, the"
        " limit is 21.50; the last day of unit 1 and 2, 2026-12-06, stands against it"
    )
    lots.change_lot(shelf, 1, deadline="2027-01-06")
    assert _plan(shelf).conflicts == ()  # there is time for the cheap one


def test_no_more_is_named_than_it_takes(shelf):
    lots.change_lot(shelf, 1, deadline="2026-12-06", cash_limit=2000)
    (why,) = _plan(shelf).conflicts
    assert "at least 21.43 in goods" in why  # with the last day of one unit alone it is too much already
    assert "the last day of unit 1, 2026-12-06, stands against it" in why
