"""Texts to minor units and back."""

import subprocess
import sys
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog import money
from catalog.text import Refused

CURRENCIES = sorted(money.DIGITS)


@pytest.mark.parametrize(
    ("text", "currency", "amount"),
    [
        ("23.25", "EUR", 2325),
        ("23,25", "EUR", 2325),
        (" 3.5 ", "EUR", 350),
        (".5", "EUR", 50),
        ("0", "EUR", 0),
        ("7", "JPY", 7),
        ("1.234", "KWD", 1234),
        ("1,234.50", "EUR", 123450),
        ("1.234,50", "EUR", 123450),
        ("1 234,50", "EUR", 123450),
        ("1'234.50", "CHF", 123450),
        ("1,234,567", "USD", 123456700),
        ("1.234.567", "EUR", 123456700),
        ("3.50 EUR", "eur", 350),
        ("EUR 3.50", "EUR", 350),
        ("3.500", "EUR", 350),
    ],
)
def test_amounts_are_read(text, currency, amount):
    assert money.minor(text, currency) == amount


@pytest.mark.parametrize(
    "text",
    ["", "-1", "-0.01", "nan", "inf", "1e5", "1.2.3", "12.", "1,23,4", "0x10", "٣", "1 2", "3.50 USD", "=1", "9" * 41],
)
def test_nonsense_is_refused(text):
    with pytest.raises(Refused):
        money.minor(text, "EUR")


@pytest.mark.parametrize("text", ["1,250", "999,000"])
def test_a_comma_that_may_group_is_refused_with_both_readings(text):
    with pytest.raises(Refused, match=text.replace(",", r"\.")) as refused:
        money.minor(text, "EUR")
    assert text.replace(",", "") in str(refused.value)


def test_an_amount_finer_than_the_currency_is_refused():
    with pytest.raises(Refused, match="finer"):
        money.minor("0.125", "EUR")
    with pytest.raises(Refused, match="finer"):
        money.minor("1.5", "JPY")


def test_a_huge_amount_is_refused():
    with pytest.raises(Refused, match="too large"):
        money.minor("9" * 30, "EUR")


def test_unknown_currencies_are_refused():
    for text in ("EURO", "XXX", "", "E\x1b"):
        with pytest.raises(Refused, match="ISO 4217"):
            money.digits(text)


@given(st.sampled_from(CURRENCIES), st.integers(0, money.MAX_MINOR))
def test_what_is_shown_is_read_back(currency, amount):
    assert money.minor(money.show(amount, currency), currency) == amount
    assert money.minor(money.show(amount, currency, with_code=True), currency) == amount


@given(
    st.decimals(min_value=0, max_value=10_000, places=6), st.integers(1, 10_000), st.sampled_from(["EUR", "JPY", "KWD"])
)
def test_unit_prices_are_exact(price, per, currency):
    amount, pieces = money.unit_price(str(price), per, currency)
    assert Fraction(amount, pieces) == Fraction(price) * 10 ** money.digits(currency) / per


def test_a_fine_unit_price_is_kept():
    assert money.unit_price("0.0125", 1, "EUR") == (125, 100)
    assert money.unit_price("0,0125", 1, "EUR") == (125, 100)
    assert money.unit_price("1.45", 10, "EUR") == (145, 10)
    with pytest.raises(Refused):
        money.unit_price("1", 0, "EUR")


def test_amounts_below_zero_are_shown_with_their_sign():
    assert money.show(-5, "EUR") == "-0.05"
    assert money.show(-1234, "KWD") == "-1.234"
    assert money.show(-7, "JPY") == "-7"


@pytest.mark.parametrize(
    ("expected", "text"),
    [
        (905.5, "9.06"),
        (905.4999999999999, "9.06"),
        (9.055 * 100, "9.06"),
        (905.49, "9.05"),
        (-905.5, "-9.06"),
        (-0.2, "0.00"),
        (0.1 + 0.2, "0.00"),
    ],
)
def test_expectations_are_rounded_half_up_after_removing_dust(expected, text):
    assert money.shown(expected, "EUR") == text


def test_an_expectation_must_be_finite():
    with pytest.raises(ValueError, match="finite"):
        money.shown(float("nan"), "EUR")


def test_importing_money_is_light():
    code = "import sys, catalog.money; print([m for m in ('babel', 'numpy', 'sqlite_utils') if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
