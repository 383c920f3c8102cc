"""Least units of currencies, held to ISO 4217, and prices rounded to them."""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal

import pytest
from babel.numbers import get_currency_precision
from hypothesis import given
from hypothesis import strategies as st

from fitcheck.model.money import in_least_units, known_currencies, least_places

# ISO 4217, list one, minor unit; from memory.
ISO = {
    0: "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX UYI VND VUV XAF XOF XPF",
    2: "AUD CAD CHF CNY CZK DKK EUR GBP INR NOK NZD PLN SEK TRY USD ZAR",
    3: "BHD JOD KWD LYD OMR TND",
}


@pytest.mark.parametrize(("places", "codes"), ISO.items())
def test_least_units_are_those_of_the_standard(places: int, codes: str) -> None:
    for code in codes.split():
        assert least_places(code) == places, code
        assert get_currency_precision(code) == places, code  # the page's formats agree


@given(st.decimals(0, 10**6, places=5), st.sampled_from(["EUR", "JPY", "KWD"]))
def test_a_finer_price_is_rounded_half_up_and_a_whole_one_left(price: Decimal, code: str) -> None:
    unit = Decimal(1).scaleb(-least_places(code))
    asked = in_least_units(price, code)
    assert asked == price.quantize(unit, ROUND_HALF_UP)
    assert in_least_units(asked, code) is asked


def test_codes_that_nobody_pays_in_are_no_currency() -> None:
    # ISO 4217, list one: XXX no currency, XTS tests, XAU gold, XDR a unit of account; XOF and XPF
    # are francs of several countries, VED a second code of one.
    assert not known_currencies() & {"XXX", "XTS", "XAU", "XDR", "QQQ"}
    assert known_currencies() >= {"EUR", "JPY", "XOF", "XPF", "VED", "DEM"}
