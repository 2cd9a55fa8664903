"""Minor units of currencies against babel's copy of the Unicode CLDR supplemental data (`currencyData`).

CLDR states the digits of everyday display, ISO 4217 the minor units. So where they differ, CLDR has fewer digits, and
never more.
"""

from datetime import date

from babel import Locale
from babel.core import get_global
from babel.numbers import format_currency, get_currency_precision

from catalog import money

DISPLAY_ONLY = {
    "AFN",
    "ALL",
    "COP",
    "HUF",
    "IDR",
    "IQD",
    "IRR",
    "KPW",
    "LAK",
    "LBP",
    "MGA",
    "MMK",
    "RSD",
    "SOS",
    "SYP",
    "YER",
}
"""Currencies whose minor unit is out of everyday use; ISO 4217 still lists it (from memory). CLDR editions differ in
which of them they show without digits."""


def test_digits_agree_where_cldr_states_minor_units():
    for code, digits in money.DIGITS.items():
        if code not in DISPLAY_ONLY:
            assert get_currency_precision(code) == digits, code


def test_where_cldr_differs_it_has_fewer_digits():
    shown = {code: get_currency_precision(code) for code in DISPLAY_ONLY}
    assert all(shown[code] in {0, money.DIGITS[code]} for code in DISPLAY_ONLY)
    assert all(money.DIGITS[code] > 0 for code in DISPLAY_ONLY)
    assert sum(shown[code] == 0 for code in DISPLAY_ONLY) >= 10


def test_every_code_is_one_that_cldr_knows():
    assert set(money.DIGITS) - set(Locale("en").currencies) == set()


def test_every_currency_that_is_legal_tender_today_is_known():
    today = date(2025, 1, 1)
    tender = set()
    for rows in get_global("territory_currencies").values():
        for code, _, until, is_tender in rows:
            if is_tender and (until is None or date(*until) > today):
                tender.add(code)
    # CLDR runs ahead of or behind the standard's list for these: entered or left it lately, or never were in it.
    unsettled = {"ANG", "CUC", "HRK", "SLL", "ZWL", "XXX"}
    assert tender - unsettled - set(money.DIGITS) == set()


def test_plain_figures_are_those_of_a_plain_english_locale():
    for amount in (0, 5, 99, 100, 123456):
        for code in ("EUR", "JPY", "KWD", "CLF"):
            text = format_currency(
                amount / 10 ** money.digits(code), code, "0.00", locale="en_US", currency_digits=True
            )
            assert money.show(amount, code) == text
