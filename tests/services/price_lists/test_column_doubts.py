"""Two columns that may both be the price: nothing is settled before one is named."""

from __future__ import annotations

from decimal import Decimal
from functools import partial

import pytest

from fitcheck.kernel.teeth import Pair
from fitcheck.services.price_lists.plan import plan_list
from tests.services.price_lists.conftest import DAY

TEXT = "Art. no.;Teeth;Stage;Net price;List price\nA-1;15/44;primary;40.00;60.00\n"


def test_rows_of_a_doubtful_column_go_to_review_with_one_question(shop):
    plan = shop.plan(TEXT)
    assert [row.outcome for row in plan.rows] == ["ignored", "review"]
    assert plan.open
    (question,) = plan.questions.values()
    assert question.asks == "column"
    assert set(question.choices) == {"Net price", "List price"}


def test_the_answer_chooses_the_column_and_is_remembered(shop):
    (key,) = shop.plan(TEXT).questions
    for heading, price in (("Net price", "40.00"), ("List price", "60.00")):
        plan = shop.plan(TEXT, {key: heading})
        assert plan.of("new")[0].fields["price"] == Decimal(price)
        assert not plan.open
    shop.write(shop.plan(TEXT, {key: "List price"}))
    again = shop.plan(TEXT)
    assert again.counts["unchanged"] == 1
    assert not again.questions


def test_two_columns_of_one_heading_are_told_by_their_place_and_not_saved(shop):
    """The second could be neither chosen nor kept: both were called Price."""
    text = "Art. no.;Teeth;Stage;Price;Price\nA-1;15/44;primary;50;60\n"
    (question,) = shop.plan(text).questions.values()
    assert question.choices == ("Price, column D", "Price, column E")
    plan = shop.plan(text, {question.key: "Price, column E"})
    assert str(plan.of("new")[0].fields["price"]) == "60.00"
    shop.write(plan, mapping=True)
    again = shop.plan(text)
    assert (again.counts["unchanged"], len(again.questions)) == (1, 0)


def test_rows_that_fail_by_the_doubtful_column_are_asked_with_the_others(shop):
    text = TEXT + "A-2;15/45;primary;on the day;61\n"
    plan = shop.plan(text)
    assert [row.outcome for row in plan.rows] == ["ignored", "review", "review"]


def test_the_question_stays_where_the_mapping_is_to_be_saved(shop):
    plan = shop.plan(TEXT)
    shop.write(plan, mapping=True)
    assert shop.catalogue.suppliers[shop.supplier].record.list_mapping is None
    assert not plan.mapping.columns
    assert "decimal_mark" not in plan.mapping.model_fields_set, "it was read off one of the two"


def test_an_answer_goes_before_the_suppliers_currency(shop):
    """Of prices in several currencies the supplier's own are meant, unless somebody says not."""
    text = "Art. no.;Teeth;Stage;Price EUR;Price CHF\nA-1;15/44;primary;40.00;60.00\n"
    assert shop.plan(text).of("new")[0].fields["price"] == Decimal("40.00")
    plan = shop.plan(text, {"column of price: 'Price EUR' or 'Price CHF'": "Price CHF"})
    assert plan.counts["new"] == 0, "60.00 CHF are asked for, 40.00 EUR are not taken"


def test_a_part_that_stands_in_a_doubtful_table_too_is_not_settled_by_the_other(shop):
    """Rows of one number make one entry, so what the doubtful one says would be in it."""
    text = (
        "Art. no.;Teeth;Stage;Models;Price\nA-1;15/44;primary;Dunlin Ten;60.00\n"
        "A-3;15/46;primary;Dunlin Ten;60.00\n"
        "Teeth;Art. no.;Stage;Models;Net price;List price\n"
        "15/44;A-1;primary;Dunlin Post;60.00;40.00\n"
    )
    plan = shop.plan(text)
    assert {row.row: row.outcome for row in plan.rows} == {
        1: "ignored",
        2: "review",
        3: "new",
        4: "ignored",
        5: "review",
    }


def test_a_table_with_prices_in_another_column_is_not_read_by_the_mapping_of_the_first(shop):
    """The month after, 52.90 CHF were taken for euros: the second header was no header."""
    text = (
        "Nr;Teeth;Stage;Price EUR\nT-1;15/42;primary;49.90\n"
        "Nr;Teeth;Stage;Price CHF\nT-2;15/43;primary;52.90\n"
    )
    shop.write(shop.plan(text), mapping=True)
    again = shop.plan(text)
    assert [row.outcome for row in again.rows[1:]] == ["unchanged", "ignored", "unreadable"]
    assert "no column is headed 'Price EUR'" in again.rows[3].reason


def test_a_column_of_teeth_that_is_answered_is_read_by_its_own_heading(shop):
    text = "Art. no.;Primary;Secondary;Tertiary;Price\nA-1;15/44;13/53;14/41;40.00\n"
    (question,) = (q for q in shop.plan(text).questions.values() if q.asks == "column")
    answers = {question.key: "Secondary"}
    answers |= dict.fromkeys(shop.plan(text, answers).questions, "as read")
    plan = shop.plan(text, answers)
    assert plan.of("new")[0].fields["pairs"] == {"secondary": Pair(13, 53)}


def test_texts_in_two_columns_are_not_read_into_the_column_that_is_answered(shop):
    text = (
        "Art. no.;Description 1;Description 2;Article name;Teeth;Stage;Price\n"
        "A-1;pair;not for Dunlin Ten;Dunlin pair;15/44;primary;40.00\n"
    )
    (question,) = (q for q in shop.plan(text).questions.values() if q.asks == "column")
    answers = {question.key: "Article name"}
    (said,) = shop.plan(text, answers).questions
    assert said == "row of 'not for Dunlin Ten'"
    plan = shop.plan(text, {**answers, said: "as read"})
    assert plan.of("new")[0].fields["name"] == "Dunlin pair"


HEAD = "Art. no.;Teeth;Stage;{}\n"
ROW = "A-1;15/44;primary;{}\n"
ASKED = "column of price: 'UVP' or 'HEK netto'"
TWO = HEAD.format("UVP;HEK netto") + ROW.format("72,50;45,30")


def prices(plan):
    return [str(row.fields["price"]) for row in plan.rows if "price" in row.fields]


@pytest.mark.parametrize("mapping", [False, True])
def test_an_answer_holds_the_month_after_whatever_stands_beside_it(shop, mapping):
    shop.write(shop.plan(TWO, {ASKED: "HEK netto"}), mapping=mapping)
    for text in (
        TWO,
        HEAD.format("HEK netto;UVP") + ROW.format("45,30;72,50"),
        HEAD.format("Aktion;HEK netto;UVP") + ROW.format("40,00;45,30;72,50"),
        HEAD.format("UVP 03/2026;HEK netto 03/2026") + ROW.format("72,50;45,30"),
    ):
        plan = shop.plan(text)
        assert (plan.counts["unchanged"], plan.counts["review"]) == (1, 0), text


def test_an_answer_given_now_goes_before_one_that_is_kept(shop):
    shop.write(shop.plan(TWO, {ASKED: "UVP"}))
    assert shop.plan(TWO).counts["unchanged"] == 1
    assert shop.plan(TWO, {ASKED: "HEK netto"}).of("changed")[0].fields["price"] == Decimal("45.30")


def test_new_columns_ask_again_and_take_what_is_answered(shop):
    old = HEAD.format("Price") + ROW.format("44,00")
    shop.write(shop.plan(old), mapping=True)
    read, supplier = shop.read(TWO), shop.catalogue.suppliers[shop.supplier]
    again = partial(plan_list, shop.catalogue, read, supplier, date=DAY, new_columns=True)
    assert list(again().questions) == [ASKED]
    assert again().counts["changed"] == 0
    assert prices(again(answers={ASKED: "HEK netto"})) == ["45.30"]


def test_a_table_that_is_asked_about_keeps_the_columns_of_another_from_being_saved(shop):
    """The month after, the second table would have been read by the mapping of the first."""
    first = HEAD.format("Price;") + ROW.format("60,00;") + "A-2;15/45;primary;60,00;\n"
    second = "Teeth;Stage;Art. no.;Net price;Price\n15/46;primary;B-1;40,00;60,00\n"
    plan = shop.plan(first + second)
    assert [row.outcome for row in plan.rows] == ["ignored", "new", "new", "ignored", "review"]
    assert not plan.mapping.columns
    (key,) = plan.questions
    plan = shop.plan(first + second, {key: "Net price"})
    assert prices(plan) == ["60.00", "60.00", "40.00"]
    assert not plan.mapping.columns, "by it the second would be read by its price"
    shop.write(plan, mapping=True)
    assert shop.plan(first + second).counts["unchanged"] == 3


def test_amounts_without_a_heading_of_prices_may_be_none(shop):
    text = HEAD.format("Ihre;Unsere") + ROW.format("40,00;60,00")
    (question,) = shop.plan(text).questions.values()
    assert question.choices == ("Ihre", "Unsere", "none")
    assert question.text.startswith("No heading names the price.")
    assert prices(shop.plan(text, {question.key: "Unsere"})) == ["60.00"]
    plan = shop.plan(text, {question.key: "none"})
    assert (plan.counts["new"], prices(plan)) == (1, [])
    shop.write(plan, mapping=True)
    again = shop.plan(text)
    assert (again.counts["unchanged"], len(again.questions)) == (1, 0)


def test_a_column_without_a_heading_is_named_by_its_place_and_not_saved(shop):
    text = HEAD.format("") + ROW.format("45,30")
    (question,) = shop.plan(text).questions.values()
    assert (question.choices, question.count) == (("column D", "none"), 1)
    plan = shop.plan(text, {question.key: "column D"})
    assert prices(plan) == ["45.30"]
    shop.write(plan, mapping=True)
    assert shop.plan(text).counts["unchanged"] == 1
