"""Figures as shown: rounded once, never through a float, prices whole."""

from __future__ import annotations

from decimal import Decimal, localcontext

import pytest

from fitcheck.answers.figures import money


@pytest.mark.parametrize(
    ("price", "shown"),
    [
        ("61.5", "61.50 EUR"),
        ("61.500", "61.50 EUR"),
        ("0", "0.00 EUR"),
        ("1E+2", "100.00 EUR"),
        ("1000000", "1000000.00 EUR"),
        ("41.995", "41.995 EUR"),  # rounded, it would stand among 42.00
        ("41.99510", "41.9951 EUR"),
        ("0.00001", "0.00001 EUR"),
    ],
)
def test_prices_are_shown_with_two_decimals_or_all_they_have(price, shown):
    with localcontext() as context:
        context.prec = 3
        assert money(Decimal(price), "EUR") == shown


def test_a_price_that_is_not_known():
    assert money(None, "EUR") == "price?"
    assert money(Decimal(5)) == "5.00"
