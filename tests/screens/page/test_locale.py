"""Figures, prices and dates in several countries' writing.

The marks are Babel's, and change with its data. Tests ask Babel for them, and hold what is ours:
every digit stays, the sign is a real one, nothing breaks off, and which of them is asked.
"""

from __future__ import annotations

import datetime as dt
import re
from decimal import Decimal
from fractions import Fraction

import pytest
from babel import Locale
from babel.dates import format_date
from babel.numbers import (
    format_decimal,
    get_currency_symbol,
    get_decimal_symbol,
    parse_decimal,
)
from hypothesis import given
from hypothesis import strategies as st

from fitcheck.errors import UsageError
from fitcheck.kernel.rounding import percent
from fitcheck.screens.page.locale import Local, local_of, named_local

DAY = dt.date(2026, 11, 25)
SHOWN = ["en", "de_DE", "de_CH", "fr_FR", "sv_SE", "hi_IN", "ja_JP", "fa_IR", "ar_EG", "pt_BR"]


@pytest.mark.parametrize("name", ["en_US", "en-GB", "de_DE", "de_CH", "sv_SE", "hi_IN"])
def test_as_the_country_writes(name: str) -> None:
    local = named_local(name)
    country = Locale.parse(name, sep="-" if "-" in name else "_")
    whole, point, decimals = local.figure("1234567.50").partition(
        get_decimal_symbol(country, numbering_system="latn")
    )

    assert whole == format_decimal(1234567, locale=country)
    assert (bool(point), decimals) == (True, "50")
    assert local.day(DAY) == format_date(DAY, "medium", locale=country) != DAY.isoformat()
    assert local.date_language == name.replace("_", "-")
    assert_price(local.price(Decimal("1234.5"), "EUR"), "1234.50", "EUR", country)


def assert_price(shown: str, amount: str, currency: str, country: Locale) -> None:
    """A price has its digits, one decimal mark of the country, and the sign of its money."""
    symbol = get_currency_symbol(currency, country)
    assert shown.count(symbol) == 1
    figure = "".join(shown.replace(symbol, "").split())
    assert parse_decimal(figure, locale=country, numbering_system="latn") == Decimal(amount)
    places = len(amount.partition(".")[2])
    assert not places or figure[-1 - places] == get_decimal_symbol(country, numbering_system="latn")
    assert re.search(r"[ \n]|[A-Z][0-9]|[0-9][A-Z]", shown) is None, "a price would break in two"


def test_without_a_country_it_is_english_and_the_date_year_month_day() -> None:
    local = Local()

    assert local.figure("1234.5") == "1,234.5"
    assert_price(local.price(Decimal("61.5"), "EUR"), "61.50", "EUR", Locale("en"))
    assert local.day(DAY) == "2026-11-25"
    assert local.date_language == ""
    assert named_local("de_CH").date_language == "de-CH"


@pytest.mark.parametrize("name", SHOWN)
@given(value=st.decimals(-(10**7), 10**7, places=4))
def test_a_figure_keeps_every_decimal(name: str, value: Decimal) -> None:
    local = named_local(name)
    shown = local.figure(f"{value:f}")

    back = parse_decimal(
        shown.replace("\N{MINUS SIGN}", ""), locale=local.numbers, numbering_system="latn"
    )
    assert back == abs(value)
    assert shown.startswith("\N{MINUS SIGN}") is (value < 0)


@pytest.mark.parametrize(
    ("amount", "currency", "shown"),
    [
        ("64.955", "EUR", "64.955"),
        ("0.1", "EUR", "0.10"),
        # More digits than a float holds.
        ("9007199254740993.01", "EUR", "9007199254740993.01"),
        # ISO 4217: the yen has no minor unit, the dinar of Kuwait three decimals.
        ("1500", "JPY", "1500"),
        ("1.5", "KWD", "1.500"),
    ],
)
@pytest.mark.parametrize("name", ["en", "de_DE", "de_CH"])
def test_money_stays_exact(name: str, amount: str, currency: str, shown: str) -> None:
    price = named_local(name).price(Decimal(amount), currency)
    assert_price(price, shown, currency, Locale.parse(name))


@given(st.fractions(-200, 200), st.lists(st.integers(-20, 20).map(Fraction), max_size=3))
def test_percentages_are_those_of_every_other_answer(value: Fraction, edges) -> None:
    shown = Local().percent(value, tuple(edges))

    plain = shown.replace("\N{MINUS SIGN}", "-").replace("\xa0", " ").replace(",", "")
    assert plain == percent(value, edges)


@pytest.mark.parametrize(
    ("value", "places", "shown"),
    [(3.04, 1, "+3.0"), (-3.06, 1, "−3.1"), (0.02, 1, "0.0"), (-0.02, 1, "0.0"), (0.0, 0, "0")],
)
def test_nothing_is_neither_more_nor_less(value: float, places: int, shown: str) -> None:
    assert Local().signed(value, places) == shown


ENGLISH, GERMAN, BRITISH = Locale("en"), Locale("de", "DE"), Locale("en", "GB")


@pytest.mark.parametrize(
    ("environment", "numbers", "prices", "dates"),
    [
        ({}, ENGLISH, ENGLISH, None),
        ({"LANG": "C.UTF-8"}, ENGLISH, ENGLISH, None),
        ({"LANG": "xx_YY.UTF-8"}, ENGLISH, ENGLISH, None),
        ({"LANG": "../../etc"}, ENGLISH, ENGLISH, None),
        ({"LANG": "de_DE.UTF-8"}, GERMAN, GERMAN, GERMAN),
        ({"LANG": "de_DE@euro"}, GERMAN, GERMAN, GERMAN),
        ({"LANG": "de_DE.UTF-8", "LC_ALL": "en_GB.UTF-8"}, BRITISH, BRITISH, BRITISH),
        ({"LANG": "en_GB.UTF-8", "LC_TIME": "de_DE.UTF-8"}, BRITISH, BRITISH, GERMAN),
        ({"LANG": "en_GB.UTF-8", "LC_NUMERIC": "de_DE"}, GERMAN, BRITISH, BRITISH),
        ({"LANG": "en_GB.UTF-8", "LC_MONETARY": "de_DE"}, BRITISH, GERMAN, BRITISH),
        ({"LANG": "de_DE.UTF-8", "LC_ALL": "C"}, ENGLISH, ENGLISH, None),
        ({"LANG": "de_DE.UTF-8", "LC_ALL": ""}, GERMAN, GERMAN, GERMAN),
    ],
)
def test_the_environment_is_read_as_posix_says(environment, numbers, prices, dates) -> None:
    """POSIX.1-2017, XBD 8.2: LC_ALL, then the category, then LANG; empty counts as unset."""
    assert local_of(environment) == Local(numbers, prices, dates)


@pytest.mark.parametrize(
    "name", ["", "xx", "de_XX", "DE DE", "../de", "de\n", "C", "POSIX", "x" * 5000, "de_DE.UTF-8"]
)
def test_a_locale_that_is_none_is_refused_in_one_line(name: str) -> None:
    with pytest.raises(UsageError) as told:
        named_local(name)

    said = str(told.value)
    assert said.startswith("no locale ")
    assert "name one like de_DE" in said or "did you mean" in said
    assert len(said) < 120
    assert said.isprintable()
