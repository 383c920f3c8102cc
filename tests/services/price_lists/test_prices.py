"""Amounts of money: every way to write one is read back, or left for review; never another one."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fitcheck.services.price_lists.reading.cells import Cell
from fitcheck.services.price_lists.wording.prices import find_number_style, read_price
from tests.conftest import table

CURRENCIES = [
    ("", None),
    ("€", "EUR"),
    ("EUR", "EUR"),
    ("Euro", "EUR"),
    ("£", "GBP"),
    ("CHF", "CHF"),
    ("SFr.", "CHF"),
    ("US$", "USD"),
    ("zł", "PLN"),
    ("SEK", "SEK"),
]
GROUPS = ["", ".", ",", "'", "’", " ", "\u00a0", "\u202f", "\u2009"]

amounts = st.decimals("0.01", "999999.99", places=2)


def grouped(whole: str, mark: str) -> str:
    parts = []
    while len(whole) > 3:
        whole, part = whole[:-3], whole[-3:]
        parts.append(part)
    return mark.join([whole, *reversed(parts)]) if mark else "".join([whole, *reversed(parts)])


@st.composite
def written_prices(draw):
    """An amount, its mark, and one of the ways the trade writes it."""
    amount = draw(amounts)
    mark = draw(st.sampled_from([",", "."]))
    group = draw(st.sampled_from([each for each in GROUPS if each != mark]))
    whole, _, part = f"{amount:.2f}".partition(".")
    form = draw(st.sampled_from(["full", "bare", "dash"])) if part == "00" else "full"
    number = grouped(whole, group)
    number += {"full": mark + part, "bare": "", "dash": f"{mark}-"}[form]
    sign, code = draw(st.sampled_from(CURRENCIES))
    gap = draw(st.sampled_from(["", " ", "\u00a0", "\u202f"]))
    before = draw(st.booleans())
    text = number if not sign else f"{sign}{gap}{number}" if before else f"{number}{gap}{sign}"
    tail = draw(st.sampled_from(["", " netto", " /Stk.", " zzgl. MwSt.", " + IVA", " HT", " "]))
    return amount, mark, code, text + tail


@given(written=written_prices())
def test_a_price_is_read_back_where_the_decimal_mark_is_known(written):
    amount, mark, code, text = written
    found = read_price(text, decimal_mark=mark)
    assert found.status == "read", found
    assert (found.value.amount, found.value.currency) == (amount, code)


@given(written=written_prices())
def test_a_price_is_read_right_or_left_for_review_where_it_is_not(written):
    amount, _, code, text = written
    found = read_price(text)
    if found.status == "read":
        assert (found.value.amount, found.value.currency) == (amount, code)
    else:
        assert found.status == "review"
        assert amount in {each.amount for each in found.candidates}


@given(written=written_prices())
def test_the_other_decimal_mark_never_makes_another_amount(written):
    """A mapping that says comma over a list with points must not turn 64.90 into 6490."""
    amount, mark, _, text = written
    found = read_price(text, decimal_mark="." if mark == "," else ",")
    if found.status == "read" and found.value.amount != amount:
        # 1.234 alone is what the mapping says it is; nothing else may change.
        assert amount == amount.to_integral_value()
        assert found.value.amount * 1000 == amount


@given(
    prices=st.lists(amounts, min_size=2, max_size=30),
    mark=st.sampled_from(",."),
    group=st.sampled_from(["own", "'", " ", ""]),
)
def test_a_column_tells_its_decimal_mark(prices, mark, group):
    sign = {"own": "." if mark == "," else ","}.get(group, group)
    texts = []
    for amount in prices:
        whole, _, part = f"{amount:.2f}".partition(".")
        texts.append(f"{grouped(whole, sign)}{mark}{part} €")
    style = find_number_style(texts)
    assert style.decimal_mark == mark
    assert style.usual_places == 2
    for amount, text in zip(prices, texts, strict=True):
        assert read_price(text, style=style).value.amount == amount


def test_a_column_settles_what_one_cell_does_not():
    style = find_number_style(["1.234", "12,50", "3,00", "auf Anfrage", ""])
    assert (style.decimal_mark, style.contradicting) == (",", 0)
    assert read_price("1.234", style=style).value.amount == Decimal(1234)
    doubtful = read_price("1,234", style=style)  # three decimals where all others have two
    assert doubtful.status == "review"
    assert [each.amount for each in doubtful.candidates] == [Decimal(1234), Decimal("1.234")]


def test_a_column_of_two_minds_settles_nothing():
    style = find_number_style(["12,50", "12.50", "3,00"])
    assert (style.decimal_mark, style.contradicting) == (None, 1)
    assert read_price("1.234", style=style).status == "review"


def test_one_slip_in_many_is_reviewed_not_followed():
    style = find_number_style([f"{n},50" for n in range(10, 60)] + ["12.50"])
    assert (style.decimal_mark, style.contradicting) == (",", 1)
    slip = read_price("12.50", style=style)
    assert slip.status == "review"
    assert [str(each.amount) for each in slip.candidates] == ["12.50"]


def native(value, code: str = "") -> Cell:
    text = "" if value is None else str(value)
    return Cell("P!A1", text, value, code)


@given(amount=st.decimals("0.01", "99999.99", places=2))
def test_numbers_of_a_spreadsheet_keep_their_cents(amount):
    """A float goes by its shortest writing, never by its binary fraction."""
    found = read_price(native(float(amount)))
    assert found.value.amount == amount


@pytest.mark.parametrize(
    ("value", "code", "status", "amount"),
    [
        (64, "", "read", "64"),
        (64.9, "0.00", "read", "64.9"),
        (64.900000000000006, "", "read", "64.9"),
        (79.178, "0.00", "read", "79.18"),
        (79.1776, '#,##0.00 "€"', "read", "79.18"),
        (0.1 + 0.2, "0.00", "read", "0.3"),
        (79.178, "", "review", "79.18"),
        (1.234, "", "review", "1.23"),
        (0.19, "0%", "review", None),
        (0, "", "review", "0"),
        (-3.5, "", "review", None),
        (1e9, "", "review", None),
        (True, "", "unreadable", None),
        (float("nan"), "", "unreadable", None),
        (dt.date(2026, 12, 10), "", "review", "10.12"),
        (dt.time(12, 50), "", "review", None),
        (None, "", "empty", None),
    ],
)
def test_what_a_spreadsheet_holds(value, code, status, amount):
    found = read_price(native(value, code))
    assert found.status == status
    shown = [found.value] if found.value else list(found.candidates)
    assert (str(shown[0].amount) if shown else None) == amount


@pytest.mark.parametrize(
    ("code", "currency"),
    [
        ('#,##0.00 "€"', "EUR"),
        ("#,##0.00\\ [$€-407]", "EUR"),
        ("[$CHF] #,##0.00", "CHF"),
        ("[$$-409]#,##0.00", None),
        ('0.00 "Stk"', None),
        ("0.00", None),
    ],
)
def test_the_currency_of_a_number_format(code, currency):
    assert read_price(native(64.9, code)).value.currency == currency


def test_the_suppliers_currency_settles_signs_and_is_held_against_others():
    assert read_price("$12.50", currency="USD").value.currency == "USD"
    assert read_price("kr 120", currency="SEK").value.currency == "SEK"
    assert read_price("$12.50", currency="EUR").status == "review"
    assert "CHF" in read_price("CHF 12.50", currency="EUR").reason
    assert read_price("12.50", currency="EUR").value.currency is None


@pytest.mark.parametrize("text", ["all 12", "top 12", "try 12", "12 pen", "12 all incl"])
def test_words_are_no_currencies(text):
    found = read_price(text)
    assert found.value is None or found.value.currency is None


@given(text=st.text(max_size=30))
def test_any_text_is_answered(text):
    found = read_price(text)
    assert (found.value is not None) == (found.status == "read")
    if found.value is not None:
        digits = [sign for sign in text if sign.isdigit()]
        assert digits
        assert found.value.amount > 0


@table(
    ("cells", "question", "rule", "price"),
    [
        (("99,80 per 2;", "109,80 per 2;"), "per 2", "/ 2", "54.90"),
        (("22,00;Preis je Rad", "23,50;Preis je Rad"), "preis je rad", "x 2", "47.00"),
        (("50,00;pack of 5", "60,00;pack of 5"), "pack of 5", "/ 5", "12.00"),
        (("50,00;vendu par 5", "60,00;vendu par 5"), "vendu par 5", "/ 5", "12.00"),
        (("50,00;abzgl. 10 %", "60,00;abzgl. 10 %"), "abzgl. 10 %", "- 10 %", "54.00"),
        (("50,00 CHF;", "60,00 CHF;"), "CHF", "as it stands", "60.00"),
    ],
)
def test_a_rule_of_price_is_asked_once_and_holds_for_every_amount(
    untouched, cells, question, rule, price
):
    head, row = "Nr;Teeth;Stage;Model;Price;Remark\n", "A-{};15/4{};primary;Dunlin Ten;{}\n"
    plan = untouched.plan(head + row.format(1, 4, cells[0]) + row.format(2, 5, cells[1]))
    key = f"price of {question!r}"
    assert list(plan.questions) == [key]
    assert plan.questions[key].choices[0] == rule
    again = untouched.plan(head + row.format(2, 5, cells[1]), {key: rule})
    assert str(again.rows[-1].fields["price"]) == price
    assert again.remembered.settled == {key: rule}


def test_two_amounts_in_a_cell_are_no_rule(shop):
    row = shop.row("A-1;;15/44;primary;Dunlin Ten;;;49,90 / 59,90;")
    assert row.questions == ("price of A-1, '49,90 / 59,90'",)
