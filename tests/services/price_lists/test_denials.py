"""What a list denies or doubts is asked, never proof; the words are common practice, no source."""

from __future__ import annotations

import pytest

from fitcheck.services.price_lists.wording.reservations import said_against
from fitcheck.services.price_lists.wording.sizes import read_housing
from fitcheck.services.price_lists.wording.stages import read_stage
from tests.services.price_lists.conftest import HEAD


@pytest.mark.parametrize(
    "cell",
    [
        "not long",
        "not short",
        "no short",
        "except short",
        "without short",
        "nicht kurz, nur lang",
        "sauf court",
        "außer kurz",
        "pas court",
        "kurz: nein",
        "short?",
        "kurz mit Umbau",
        "all but long",
        "non corto",
        "excepto corto",
        "vielleicht kurz",
    ],
)
def test_a_denied_or_doubted_housing_is_asked(shop, cell):
    row = shop.row(f"A-1;Primary pair;15/44;primary;Dunlin 50;;{cell};40.00;yes")
    assert row.outcome == "review"
    assert row.questions[0].startswith("housing-word")


@pytest.mark.parametrize(
    "cell", ["short", "kurz", "court", "corto", "short case", "kurzes Gehäuse"]
)
def test_a_plain_housing_is_stated(shop, cell):
    row = shop.row(f"A-1;Primary pair;15/44;primary;Dunlin 50;;{cell};40.00;yes")
    assert row.fields["fits"] == [{"family": "dunlin-50", "housings": ["short"]}]


def test_an_answer_to_the_doubted_word_is_none_to_the_plain_one(shop):
    line = "A-1;Primary pair;15/44;primary;Dunlin 50;;short?;40.00;yes"
    row = shop.row(line, answers={"housing-word of short? (dunlin-50)": "long"})
    assert row.fields["fits"] == [{"family": "dunlin-50", "housings": ["long"]}]
    plain = shop.row(line.replace("?", ""), answers={"housing-word of short? (dunlin-50)": "long"})
    assert plain.fields["fits"] == [{"family": "dunlin-50", "housings": ["short"]}]


def test_a_denied_housing_in_free_text_is_asked(shop):
    row = shop.row("A-1;Dunlin 50 not short case;15/44;primary;;;;40.00;yes")
    assert row.outcome == "review"
    assert "fits" not in row.fields


@pytest.mark.parametrize(
    ("text", "models"),
    [
        ("primary pair 15/44 not for Dunlin Ten", ""),
        ("primary pair", "sauf Dunlin Ten"),
        ("primary pair", "all except Dunlin Ten"),
        ("coppia primaria, tranne Dunlin Ten", ""),
    ],
)
def test_a_denied_model_is_asked(shop, text, models):
    line = f"A-1;{text};15/44;primary;{models};;;40.00;yes"
    row = shop.row(line)
    assert row.outcome == "review"
    answered = shop.row(line, answers={row.questions[0]: "none"})
    assert answered.outcome == "new"
    assert "listed_for" not in answered.fields


@pytest.mark.parametrize(
    ("models", "answer", "listed"),
    [
        ("Dunlin except Tour", "sanderling-50", ["Sanderling 50"]),
        ("Kelp except Weed", "dunlin-50", ["Dunlin 50"]),
        ("Kelp except Weed", "dunlin-50, sanderling-50", ["Dunlin 50", "Sanderling 50"]),
        ("Dunlin Ten, Sanderling Dash", "whimbrel-125", ["Whimbrel 125"]),
    ],
)
def test_a_family_answered_that_no_word_names_is_written_by_its_name(shop, models, answer, listed):
    """The row was written without models and without a family: the answer was lost."""
    line = f"A-1;pair;15/44;primary;{models};;;40.00;yes"
    (key,) = shop.row(line).questions
    row = shop.row(line, answers={key: answer})
    assert row.outcome == "new"
    assert row.fields["listed_for"]["models"] == listed
    assert row.families == tuple(answer.split(", "))


@pytest.mark.parametrize(
    ("line", "answer", "models", "notes"),
    [
        (";Dunlin 50 except Tour", "dunlin-50", ["Dunlin 50"], "Dunlin 50 except Tour"),
        (";Dunlin 50 (nicht Tour)", "dunlin-50", ["Dunlin 50"], "Dunlin 50 (nicht Tour)"),
        (";Dunlin Ten, nicht Tour", "dunlin-50", ["Dunlin Ten"], "Dunlin Ten, nicht Tour"),
        (";tous Dunlin sauf Tour", "none", None, "tous Dunlin sauf Tour"),
        (" sauf Tour;Dunlin 50", "dunlin-50", ["Dunlin 50"], None),
    ],
)
def test_words_that_were_answered_are_kept_as_they_stood(shop, line, answer, models, notes):
    text, _, cell = line.partition(";")
    line = f"A-1;pair{text};15/44;primary;{cell};;;40.00;yes"
    (key,) = shop.row(line).questions
    row = shop.row(line, answers={key: answer})
    assert row.fields.get("listed_for", {}).get("models") == models
    assert row.fields.get("notes") == notes
    assert row.families == ((answer,) if models else ())


def test_an_exception_is_asked_once_and_offers_the_family_it_names(shop):
    rows = (
        "A-1;pair;15/43;primary;Dunlin 50 (nicht Tour);;;40;\n"
        "A-2;hardened pair;15/44;primary;Dunlin 50 (nicht Tour);;;40;\n"
    )
    (question,) = shop.plan(HEAD + rows).questions.values()
    assert (question.count, question.choices) == (2, ("dunlin-50", "none"))
    shop.write(shop.plan(HEAD + rows, {question.key: "dunlin-50"}), mapping=True)
    assert shop.catalogue.gear_sets["AR-A-2"].record.notes == "Dunlin 50 (nicht Tour)"
    assert shop.plan(HEAD + rows).counts["unchanged"] == 2


def test_all_is_no_answer_where_the_row_names_no_family(shop):
    line = "A-1;pair;15/44;primary;Kelp except Weed;;;40.00;yes"
    (key,) = shop.row(line).questions
    assert shop.row(line, answers={key: "all"}).outcome == "review"


@pytest.mark.parametrize("text", ["pair without seals", "Paar ohne Lager", "Art. No. 12 pair", ""])
def test_what_denies_nothing_is_let_through(text):
    assert said_against(text) == ""


def test_a_denied_stage_is_for_review():
    assert read_stage("not primary").status == "review"
    assert read_stage("primary?").status == "review"
    for text in ("non completo", "not 1st and 2nd stage"):
        assert read_stage(text).candidates == ()
    assert read_stage("primary").certain
    assert read_housing("all but long", housing_column=True).status == "review"


def test_a_family_with_a_question_mark_proves_nothing(shop):
    assert shop.row("A-1;pair;15/44;primary;Dunlin 50?;;short;40.00;yes").outcome == "review"
