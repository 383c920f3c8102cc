"""Figures, prices and dates in several countries' writing.

Expected forms are those of the Unicode CLDR (number symbols, currency patterns, medium dates), here
as the countries' own style guides give them: Germany 1.234,50 € and 25.11.2026 (DIN 5008),
Switzerland 1’234.50 (Federal Chancellery, Schreibweisungen), Sweden 1 234,50 kr, India 12,34,567.
From memory; a no-break space stands where CLDR has one.
"""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from fractions import Fraction

import pytest
from babel.numbers import parse_decimal
from hypothesis import given
from hypothesis import strategies as st

from fitcheck.errors import UsageError
from fitcheck.report.figures import percent
from fitcheck.report.page.locale import Local, is_currency, local_of, named_local

DAY = dt.date(2026, 11, 25)
SHOWN = ["en", "de_DE", "de_CH", "fr_FR", "sv_SE", "hi_IN", "ja_JP", "fa_IR", "ar_EG", "pt_BR"]


@pytest.mark.parametrize(
    ("name", "figure", "price", "day"),
    [
        ("en_US", "1,234,567.50", "€1,234.50", "Nov 25, 2026"),
        ("en-GB", "1,234,567.50", "€1,234.50", "25 Nov 2026"),
        ("de_DE", "1.234.567,50", "1.234,50\xa0€", "25.11.2026"),
        ("de_CH", "1’234’567.50", "EUR\xa01’234.50", "25.11.2026"),
        ("sv_SE", "1\xa0234\xa0567,50", "1\xa0234,50\xa0€", "25 nov. 2026"),
        ("hi_IN", "12,34,567.50", "€1,234.50", "25 नव॰ 2026"),
    ],
)
def test_as_the_country_writes(name: str, figure: str, price: str, day: str) -> None:
    local = named_local(name)

    assert local.figure("1234567.50") == figure
    assert local.price(Decimal("1234.5"), "EUR") == price
    assert local.day(DAY) == day


def test_without_a_country_it_is_english_and_the_date_year_month_day() -> None:
    local = Local()

    assert local.figure("1234.5") == "1,234.5"
    assert local.price(Decimal("61.5"), "EUR") == "€61.50"
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


def test_money_stays_exact() -> None:
    local = named_local("de_DE")

    assert local.price(Decimal("64.955"), "EUR") == "64,955\xa0€"
    assert local.price(Decimal("0.1"), "EUR") == "0,10\xa0€"
    # More digits than a float holds.
    assert local.price(Decimal("9007199254740993.01"), "EUR") == "9.007.199.254.740.993,01\xa0€"
    # ISO 4217: the yen has no minor unit, the dinar of Kuwait three decimals.
    assert local.price(Decimal(1500), "JPY") == "1.500\xa0¥"
    assert named_local("en").price(Decimal("1.5"), "KWD") == "KWD\xa01.500"


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


@pytest.mark.parametrize(
    ("environment", "figure", "price", "day"),
    [
        ({}, "1.5", "€2.00", "2026-11-25"),
        ({"LANG": "C.UTF-8"}, "1.5", "€2.00", "2026-11-25"),
        ({"LANG": "xx_YY.UTF-8"}, "1.5", "€2.00", "2026-11-25"),
        ({"LANG": "../../etc"}, "1.5", "€2.00", "2026-11-25"),
        ({"LANG": "de_DE.UTF-8"}, "1,5", "2,00\xa0€", "25.11.2026"),
        ({"LANG": "de_DE@euro"}, "1,5", "2,00\xa0€", "25.11.2026"),
        ({"LANG": "de_DE.UTF-8", "LC_ALL": "en_GB.UTF-8"}, "1.5", "€2.00", "25 Nov 2026"),
        ({"LANG": "en_GB.UTF-8", "LC_TIME": "de_DE.UTF-8"}, "1.5", "€2.00", "25.11.2026"),
        ({"LANG": "de_DE.UTF-8", "LC_ALL": "C"}, "1.5", "€2.00", "2026-11-25"),
        ({"LANG": "de_DE.UTF-8", "LC_ALL": ""}, "1,5", "2,00\xa0€", "25.11.2026"),
    ],
)
def test_the_environment_is_read_as_posix_says(environment, figure, price, day) -> None:
    """POSIX.1-2017, XBD 8.2: LC_ALL, then the category, then LANG; empty counts as unset."""
    local = local_of(environment)

    assert local.figure("1.5") == figure
    assert local.price(Decimal(2), "EUR") == price
    assert local.day(DAY) == day


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


def test_codes_that_nobody_pays_in_are_no_currency() -> None:
    # ISO 4217, list one: XXX no currency, XTS tests, XAU gold, XDR a unit of account; XOF and XPF
    # are francs of several countries, VED a second code of one.
    assert not any(map(is_currency, ("XXX", "XTS", "XAU", "XDR", "QQQ")))
    assert all(map(is_currency, ("EUR", "JPY", "XOF", "XPF", "VED", "DEM")))
