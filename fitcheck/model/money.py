"""The least unit of a currency, amounts rounded to it, and prices as whole numbers."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal
from fractions import Fraction
from functools import cache
from math import floor

LEAST_PLACES = 2

_PLACES = {
    0: "ADP AFN ALL BIF BYR CLP COP DJF ESP GNF HUF IDR IQD IRR ISK ITL JPY KMF KPW KRW LAK LBP "
    "LUF MGA MGF MMK MRO PYG RWF SLL SOS STD SYP TMM TRL UGX UYI VND VUV XAF XOF XPF YER ZMK ZWD",
    3: "BHD JOD KWD LYD OMR TND",
    4: "CLF UYW",
}
# Decimals in daily use as Unicode CLDR 46 has them: those of ISO 4217, less where no coin is left.
_OF_CODE = {code: places for places, codes in _PLACES.items() for code in codes.split()}


def least_places(currency: str) -> int:
    """Decimals of a currency's least unit: 2 for EUR, 0 for JPY, 3 for KWD."""
    return _OF_CODE.get(currency, 2)


def rounded(amount: Decimal | Fraction, places: int) -> Decimal:
    """An amount of zero or more to so many decimals, half up."""
    units = floor(Fraction(amount) * 10**places + Fraction(1, 2))
    return Decimal(f"{units}E-{places}")  # exact, whatever the context's precision


def in_least_units(price: Decimal, currency: str) -> Decimal:
    """A price as it is asked: one finer than the currency's least unit is rounded half up, once."""
    exponent = price.as_tuple().exponent
    places = least_places(currency)
    if isinstance(exponent, int) and -exponent <= places:
        return price
    return rounded(price, places)


def price_places(prices: Iterable[Decimal | None]) -> int:
    """Decimals, two or more, with which every price is a whole number of least units."""
    places = LEAST_PLACES
    for price in prices:
        if price is not None:
            while (Fraction(price) * 10**places).denominator != 1:
                places += 1
    return places


def minor_units(price: Decimal | None, places: int = LEAST_PLACES) -> int | None:
    """A price in whole units of so many decimals, never rounded up; None stays unknown."""
    return None if price is None else int(Fraction(price) * 10**places)


def amount(units: int, places: int = LEAST_PLACES) -> Decimal:
    """The price of so many units, with two decimals or with all it needs."""
    while places > LEAST_PLACES and units % 10 == 0:
        units, places = units // 10, places - 1
    return Decimal(f"{units}E-{places}")  # exact, whatever the context's precision


@cache
def known_currencies() -> frozenset[str]:
    """The ISO 4217 codes that CLDR knows, those of former days included.

    Codes in X belong to no country. Those that none pays in either are no money: metals, units of
    account, the code for tests and that for no currency at all.
    """
    from babel.core import get_global  # noqa: PLC0415 - a large table, and no match needs it

    tenders = {
        code
        for of_country in get_global("territory_currencies").values()
        for code, _, _, is_tender in of_country
        if is_tender
    }
    every = frozenset(get_global("all_currencies"))
    return frozenset(code for code in every if code in tenders or not code.startswith("X"))
