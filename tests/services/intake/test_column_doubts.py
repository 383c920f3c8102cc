"""Two columns that may both be the price: nothing is settled before one is named."""

from __future__ import annotations

from decimal import Decimal

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
