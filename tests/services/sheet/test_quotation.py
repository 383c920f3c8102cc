"""Quotations: sums worked by hand, and laws that hold for any.

Rules from outside, both from memory: EN 16931-1, BR-CO-17 (tax is the sum of a rate times the
rate, rounded to two decimals) and Council Regulation (EC) No 1103/97, article 5 (to the nearest
cent, half of one upwards). The judge of the rounding is Python's decimal module, ROUND_HALF_UP as
the General Decimal Arithmetic specification has it. Lines rounded by themselves are common
practice, no source.
"""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal, localcontext
from fractions import Fraction
from types import SimpleNamespace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fitcheck.errors import UsageError
from fitcheck.model.money import rounded
from fitcheck.rules.answers import Verdict
from fitcheck.services.counter.offer import Offer
from fitcheck.services.sheet.quotation import Labour, Terms, quotations

CENTS = {"EUR": 2, "GBP": 2, "JPY": 0, "KWD": 3}  # decimals by ISO 4217


def option(*prices, parcel=(), currency="EUR", verdict=Verdict.FITS, retired=()):
    """An option as far as a quotation looks at it."""
    offers = tuple(
        Offer(
            f"S{number}",
            None if price is None else Decimal(price),
            "shelf",
            currency if isinstance(currency, str) else currency[number],
            None,
            None,
            1,
            None,
            "on-shelf",
        )
        for number, price in enumerate(prices)
    )
    judgement = SimpleNamespace(verdict=verdict)
    return SimpleNamespace(
        combination=SimpleNamespace(offers=offers, judgement=judgement),
        parcel=list(parcel),
        retired=list(retired),
    )


def quote(told, terms=None, wanted=None):
    options = told if isinstance(told, list) else [told]
    return quotations(options, wanted, terms or Terms())


def d(text: str) -> Decimal:
    return Decimal(text)


def only(told, **terms):
    (one,) = quote(told, Terms(**terms))
    (total,) = one.totals
    return one, total


def test_a_whole_quotation_by_hand() -> None:
    # 49.90 + 45.00 + 3.50 + 1.5 h x 48.00 = 170.40; tax in it 170.40 x 22 / 122 = 30.7278...
    one, total = only(
        option("49.90", "45.00", parcel=["cover gasket"]),
        extras={"gasket": d("3.50")},
        labour=Labour(hours=d("1.5"), rate=d("48.00")),
        tax_percent=d("22"),
    )

    assert [(line.kind, line.name, line.amount) for line in one.lines] == [
        ("set", "S0", d("49.90")),
        ("set", "S1", d("45.00")),
        ("extra", "cover gasket", d("3.50")),
        ("labour", "labour", d("72.00")),
    ]
    assert (total.gross, total.tax, total.net) == (d("170.40"), d("30.73"), d("139.67"))
    assert one.without == ()


def test_tax_on_top_by_hand() -> None:
    # 100.00 + 23.45 = 123.45; 22 % of it is 27.159.
    _, total = only(option("100", "23.45"), tax_percent=d("22"), prices_exclude_tax=True)

    assert (total.net, total.tax, total.gross) == (d("123.45"), d("27.16"), d("150.61"))


def test_tax_of_half_a_cent_goes_up() -> None:
    # 10 % of 0.25 is 0.025; 10 % of 12.35 is 1.235. Half to even would give 0.02 and 1.24.
    for price, tax in (("0.25", "0.03"), ("12.35", "1.24"), ("12.45", "1.25")):
        _, total = only(option(price), tax_percent=d("10"), prices_exclude_tax=True)
        assert total.tax == d(tax)
    # Tax in it: 0.03 x 20 / 120 is 0.005, and 5.55 x 11 / 111 is 0.55.
    for price, rate, tax in (("0.03", "20", "0.01"), ("5.55", "11", "0.55")):
        _, total = only(option(price), tax_percent=d(rate))
        assert total.tax == d(tax)


def test_lines_are_rounded_by_themselves_and_then_added() -> None:
    # 1.005 twice is 1.01 twice, 2.02; rounded after adding it would be 2.01.
    one, total = only(option("1.005", "1.005"))

    assert [line.amount for line in one.lines] == [d("1.01"), d("1.01")]
    assert total.gross == d("2.02")


@pytest.mark.parametrize(
    ("currency", "price", "line"),
    [("JPY", "1234.5", "1235"), ("JPY", "1234.49", "1234"), ("KWD", "1.0005", "1.001")],
)
def test_the_least_unit_is_the_currencys(currency, price, line) -> None:
    one, total = only(option(price, currency=currency), tax_percent=d("10"))

    assert one.lines[0].amount == d(line)
    assert total.tax.as_tuple().exponent == -CENTS[currency]


def test_without_a_rate_no_tax_is_told() -> None:
    _, total = only(option("10.00"))
    assert (total.net, total.tax, total.gross) == (d("10"), None, d("10"))


def test_what_has_no_price_is_told_and_left_out() -> None:
    one, total = only(option("10", None, parcel=["oil", "cover gasket"]), extras={"oil": d("7.20")})

    assert one.without == ("S1", "cover gasket")
    assert total.gross == d("17.20")
    (none,) = quote(option(None))
    assert (none.totals, none.without) == ((), ("S0",))


def test_extras_go_where_they_are_needed() -> None:
    told = [option("10", parcel=["Cover Gasket"]), option("20", parcel=["gear oil, 120 ml"])]
    terms = Terms(extras={"gasket": d("3"), "OIL": d("8"), "shims": d("2")})
    first, second = quote(told, terms)

    assert [(line.name, line.amount) for line in first.lines[1:]] == [
        ("Cover Gasket", d("3.00")),
        ("shims", d("2.00")),
    ]
    assert [(line.name, line.amount) for line in second.lines[1:]] == [
        ("gear oil, 120 ml", d("8.00")),
        ("shims", d("2.00")),
    ]


def test_currencies_are_never_added() -> None:
    mixed = option("10", "20", currency=["EUR", "GBP"])
    (one,) = quote(mixed, Terms(tax_percent=d("10"), prices_exclude_tax=True))
    assert [(total.currency, total.gross) for total in one.totals] == [
        ("EUR", d("11.00")),
        ("GBP", d("22.00")),
    ]
    with pytest.raises(UsageError, match=r"option A in EUR and GBP\), so the currency of labour"):
        quote(mixed, Terms(labour=Labour(d("45"))))
    (one,) = quote(mixed, Terms(labour=Labour(d("45")), currency="GBP"))
    assert [(total.currency, total.gross) for total in one.totals] == [
        ("EUR", d("10.00")),
        ("GBP", d("65.00")),
    ]
    (one,) = quote(option("10"), Terms(labour=Labour(d("45")), currency="JPY"))
    assert [(total.currency, total.gross) for total in one.totals] == [
        ("EUR", d("10.00")),
        ("JPY", d("45")),
    ]


@pytest.mark.parametrize(
    ("told", "terms", "wanted", "said"),
    [
        ([option("1")], {}, [1], "there is no option B to quote; there is A"),
        ([option("1", verdict=Verdict.RULED_OUT)], {}, [0], "option A does not fit"),
        ([option("1", retired=["S0 is retired"])], {}, [0], "option A holds a retired set"),
        ([option("1", verdict=Verdict.RULED_OUT)], {}, None, "no option may be ordered"),
        (
            [option("1", parcel=["cover gasket", "head gasket"])],
            {"extras": {"gasket": d("1")}},
            None,
            "'gasket' may be cover gasket or head gasket; give one of them whole",
        ),
        (
            [option("1", parcel=["cover gasket"])],
            {"extras": {"cover gaskett": d("1")}},
            None,
            "did you mean cover gasket?",
        ),
        (
            [option("1", parcel=["cover gasket"])],
            {"extras": {"gasket": d("1"), "cover gasket": d("2")}},
            None,
            "given twice",
        ),
    ],
)
def test_what_cannot_be_quoted_is_refused(told, terms, wanted, said) -> None:
    with pytest.raises(UsageError, match=said.replace("?", r"\?")):
        quote(told, Terms(**terms), wanted)


def test_all_leaves_out_what_may_not_be_ordered() -> None:
    told = [option("1", verdict=Verdict.RULED_OUT), option("2"), option("3")]

    assert [one.option for one in quote(told)] == [1, 2]
    assert [one.option for one in quote(told, wanted=[2, 2, 1])] == [1, 2]


def test_half_goes_up_and_no_context_spoils_it() -> None:
    with localcontext() as context:
        context.prec = 3
        assert rounded(d("123456.785"), 2) == Decimal("123456.79")
        assert rounded(Fraction(1, 3), 2) == Decimal("0.33")
        assert str(rounded(d("5"), 2)) == "5.00"


@given(st.decimals(0, 10**9, places=6), st.sampled_from([0, 2, 3]))
def test_rounding_agrees_with_the_decimal_module(amount, places) -> None:
    assert rounded(amount, places) == amount.quantize(Decimal(f"1E-{places}"), ROUND_HALF_UP)


@given(
    st.lists(st.decimals(0, 10**5, places=2), min_size=1, max_size=3),
    st.decimals(0, 100, places=3),
)
def test_tax_on_top_is_that_of_the_sum(prices, rate) -> None:
    _, total = only(option(*prices), tax_percent=rate, prices_exclude_tax=True)

    with localcontext() as context:
        context.prec = 60
        wanted = (sum(prices) * rate / 100).quantize(Decimal("0.01"), ROUND_HALF_UP)
    assert total.tax == wanted


money = st.decimals(0, 10**6, places=4)


@given(
    prices=st.lists(money, min_size=1, max_size=3),
    extras=st.lists(money, max_size=3),
    labour=st.none()
    | st.builds(Labour, money)
    | st.builds(
        lambda hours, rate: Labour(hours=hours, rate=rate), st.decimals(0, 99, places=2), money
    ),
    tax=st.none() | st.decimals(0, 100, places=2),
    exclude=st.booleans(),
    currency=st.sampled_from(list(CENTS)),
)
def test_laws_of_any_quotation(*, prices, extras, labour, tax, exclude, currency) -> None:
    terms = Terms(
        extras={f"part {'abc'[number]}": price for number, price in enumerate(extras)},
        labour=labour,
        tax_percent=tax,
        prices_exclude_tax=exclude and tax is not None,
    )
    (one,) = quote(option(*prices, currency=currency), terms)
    (total,) = one.totals
    places = CENTS[currency]
    unit = Fraction(1, 10**places)
    amounts = [Fraction(line.amount) for line in one.lines]

    assert len(amounts) == len(prices) + len(extras) + (labour is not None)
    assert all((amount / unit).denominator == 1 for amount in amounts)
    for amount, exact in zip(amounts, [*prices, *extras], strict=False):
        assert -unit / 2 < amount - Fraction(exact) <= unit / 2
    assert Fraction(total.lines) == sum(amounts)
    if tax is None:
        assert (total.tax, total.net) == (None, total.gross)
        return
    assert Fraction(total.net) + Fraction(total.tax) == Fraction(total.gross)
    assert total.lines == (total.net if terms.prices_exclude_tax else total.gross)
    exact_tax = (
        sum(amounts) * Fraction(tax) / (100 + (0 if terms.prices_exclude_tax else Fraction(tax)))
    )
    assert -unit / 2 < Fraction(total.tax) - exact_tax <= unit / 2
    assert {type(value) for value in (total.net, total.tax, total.gross)} == {Decimal}
