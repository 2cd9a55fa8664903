"""Money at the edges: a currency's minor digits, plain figures to whole minor units and back.

Inside, money is a whole number of minor units of an ISO 4217 currency. Texts pass through `Decimal` here and nowhere
else. The digits come from a table of our own: the locale data that babel carries give the digits of everyday display
(none for IQD or RSD), which are not the minor units of the standard.

Source: ISO 4217, list one (currency codes and minor units), from memory and checked against babel in `tests/outside`.
"""

from __future__ import annotations

import math
import re
from decimal import ROUND_HALF_UP, Decimal

from catalog.text import Refused

_OTHER_DIGITS = {
    0: "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX UYI VND VUV XAF XOF XPF",
    3: "BHD IQD JOD KWD LYD OMR TND",
    4: "CLF UYW",
}
_TWO_DIGITS = (
    "AED AFN ALL AMD AOA ARS AUD AWG AZN BAM BBD BDT BGN BMD BND BOB BOV BRL BSD BTN BWP BYN BZD CAD CDF CHE"
    " CHF CHW CNY COP COU CRC CUP CVE CZK DKK DOP DZD EGP ERN ETB EUR FJD FKP GBP GEL GHS GIP GMD GTQ GYD HKD"
    " HNL HTG HUF IDR ILS INR IRR JMD KES KGS KHR KPW KYD KZT LAK LBP LKR LRD LSL MAD MDL MGA MKD MMK MNT MOP"
    " MRU MUR MVR MWK MXN MXV MYR MZN NAD NGN NIO NOK NPR NZD PAB PEN PGK PHP PKR PLN QAR RON RSD RUB SAR SBD"
    " SCR SDG SEK SGD SHP SLE SOS SRD SSP STN SVC SYP SZL THB TJS TMT TOP TRY TTD TWD TZS UAH USD USN UYU UZS"
    " VED VES WST XCD XCG YER ZAR ZMW ZWG"
)
DIGITS: dict[str, int] = dict.fromkeys(_TWO_DIGITS.split(), 2) | {
    code: digits for digits, codes in _OTHER_DIGITS.items() for code in codes.split()
}
"""Digits after the point by currency code; codes without minor units (metals, test codes) are left out."""

MAX_MINOR = 10**13
"""Largest amount accepted, in minor units."""
MAX_PER = 1_000_000
"""Most pieces a unit price may be stated for."""

_FINEST = 8
_FORMS = tuple(
    (re.compile(pattern), grouping)
    for pattern, grouping in (
        (r"\d+(?:[.,]\d+)?|[.,]\d+", ""),
        (r"\d{1,3}(?: \d{3})+(?:[.,]\d+)?", " "),
        (r"\d{1,3}(?:'\d{3})+(?:[.,]\d+)?", "'"),
        (r"\d{1,3}(?:,\d{3})+\.\d+|\d{1,3}(?:,\d{3}){2,}", ","),
        (r"\d{1,3}(?:\.\d{3})+,\d+|\d{1,3}(?:\.\d{3}){2,}", "."),
    )
)
_EITHER = re.compile(r"([1-9]\d{0,2}),(\d{3})")


def digits(currency: str) -> int:
    """Digits after the point of an ISO 4217 currency; raises Refused for a code that is none."""
    held = DIGITS.get(currency.strip().upper())
    if held is None:
        raise Refused(f"“{currency[:40]}” is no currency; write an ISO 4217 code such as EUR")
    return held


def code(currency: str) -> str:
    """The currency code in capitals, or Refused."""
    digits(currency)
    return currency.strip().upper()


def figure(text: str) -> Decimal:
    """A plain figure from zero up: decimal point or comma, thousands grouped by space, ', point or comma.

    Raises:
        Refused: anything else, and `1,250`, which may be either.
    """
    plain = text.strip()
    either = _EITHER.fullmatch(plain)
    if either:
        raise Refused(f"“{plain}” may be {either[1]}.{either[2]} or {either[1]}{either[2]}; write one of these")
    if plain.isascii() and len(plain) <= 40:
        for form, grouping in _FORMS:
            if form.fullmatch(plain):
                return Decimal(plain.replace(grouping, "").replace(",", "."))
    if plain.startswith("-"):
        raise Refused(f"“{plain[:40]}” is below zero; write a figure from 0 up")
    raise Refused(f"“{plain[:40]}” is no plain figure; write digits such as 12.50")


def minor(text: str, currency: str) -> int:
    """An amount in whole minor units: `minor("3,50", "EUR")` is 350. The code itself may stand before or after.

    Raises:
        Refused: no plain figure, below zero, too large, or finer than the currency's minor unit.
    """
    value = figure(_without_code(text, currency)).scaleb(digits(currency))
    whole = int(value)
    if value != whole:
        raise Refused(f"“{text.strip()[:40]}” is finer than {code(currency)} goes; at most {_places(currency)}")
    return _bounded(whole, text)


def unit_price(text: str, per: int, currency: str) -> tuple[int, int]:
    """A price for `per` pieces as (minor units, for so many pieces), exact: 0.0125 each is (125, 100).

    Raises:
        Refused: like `minor`, but finer figures are kept; `per` outside 1 … 1,000,000.
    """
    if not 1 <= per <= MAX_PER:
        raise Refused(f"a price is for 1 to {MAX_PER:,} pieces, not {per}")
    value = figure(_without_code(text, currency)).scaleb(digits(currency)).normalize()
    exponent = value.as_tuple().exponent
    finer = -exponent if isinstance(exponent, int) and exponent < 0 else 0
    if finer > _FINEST:
        raise Refused(f"“{text.strip()[:40]}” has too many digits after the point")
    return _bounded(int(value.scaleb(finer)), text), per * 10**finer


def show(amount: int, currency: str, *, with_code: bool = False) -> str:
    """Minor units as a plain figure: `show(2325, "EUR")` is "23.25"; with the code, "23.25 EUR"."""
    places = digits(currency)
    whole, rest = divmod(abs(amount), 10**places)
    text = f"{'-' if amount < 0 else ''}{whole}" + (f".{rest:0{places}}" if places else "")
    return f"{text} {code(currency)}" if with_code else text


def rounded(expected: float) -> int:
    """An expectation in minor units, float dust removed, rounded half away from zero: 905.4999999999999 → 906."""
    if not math.isfinite(expected):
        raise ValueError(f"an expectation must be a finite number, not {expected}")
    return int(Decimal(repr(round(expected, 6))).quantize(Decimal(1), rounding=ROUND_HALF_UP))


def shown(expected: float, currency: str, *, with_code: bool = False) -> str:
    """An expectation (a float in minor units) as a plain figure, rounded by `rounded`: 905.5 → "9.06"."""
    return show(rounded(expected), currency, with_code=with_code)


def _without_code(text: str, currency: str) -> str:
    plain = text.strip()
    if len(plain) > 3 and plain[:3].upper() == code(currency):
        return plain[3:]
    if len(plain) > 3 and plain[-3:].upper() == code(currency):
        return plain[:-3]
    return plain


def _places(currency: str) -> str:
    places = digits(currency)
    return f"{places} digits after the point" if places else "no digits after the point"


def _bounded(amount: int, text: str) -> int:
    if amount > MAX_MINOR:
        raise Refused(f"“{text.strip()[:40]}” is too large")
    return amount
