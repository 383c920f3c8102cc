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
