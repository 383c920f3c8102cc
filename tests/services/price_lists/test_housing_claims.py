"""Housings that stand beside models, and rows that contradict themselves."""

from __future__ import annotations

from tests.services.price_lists.conftest import HEAD, Shop

ROWS = "A-1;;15/44;primary;Dunlin Ten;;short;50;\nA-2;;15/45;primary;Dunlin Tour;;short;50;\n"


def test_a_housing_beside_models_is_asked_once_and_then_stated(shop: Shop) -> None:
    """It was left out in silence."""
    plan = shop.plan(HEAD + ROWS)
    (question,) = plan.questions.values()
    assert (question.about, question.count) == ("short beside models (dunlin-50)", 2)
    assert question.choices == ("short", "mid", "long", "none")
    shop.write(shop.plan(HEAD + ROWS, {question.key: "short"}))
    sets = shop.catalogue.gear_sets
    for set_id in ("AR-A-1", "AR-A-2"):
        (claim,) = sets[set_id].record.fits
        assert (claim.family, claim.housings) == ("dunlin-50", ["short"])
    again = shop.plan(HEAD + ROWS)
    assert (again.counts["unchanged"], again.unused) == (2, ())
    # The answer is about models only; the family by its own name needs none.
    row = shop.row("B-1;;15/47;primary;Dunlin 50;;XL;50;")
    assert row.outcome == "review"


def test_a_housing_beside_models_may_be_no_statement(shop: Shop) -> None:
    (key,) = shop.plan(HEAD + ROWS).questions
    shop.write(shop.plan(HEAD + ROWS, {key: "none"}))
    assert shop.catalogue.gear_sets["AR-A-1"].record.fits == []
    again = shop.plan(HEAD + ROWS)
    assert (again.counts["unchanged"], len(again.questions)) == (2, 0)


def test_a_housing_of_several_families_is_told(shop: Shop) -> None:
    row = shop.row(
        "A-1;;15/44;primary;Dunlin 50, Sanderling 50;;short;50;",
        {"families of 'Dunlin 50, Sanderling 50'": "all"},
    )
    assert row.notes == ("housing 'short' left out: the row is of dunlin-50 and sanderling-50",)


def test_rows_of_one_part_state_each_its_housing(shop: Shop) -> None:
    """Of two rows the housing of the first alone was taken."""
    first, second = shop.rows(
        "A-1;for the short case;15/44;primary;Dunlin 50;;;50;",
        "A-1;for the long case;15/44;primary;Dunlin 50;;;50;",
    )
    assert first.fields["fits"] == [{"family": "dunlin-50", "housings": ["short", "long"]}]
    assert second.kind == "repeat"
    first, _ = shop.rows(
        "A-1;;15/44;primary;Dunlin 50;;short;50;", "A-1;;15/44;primary;Sanderling 50;;long;50;"
    )
    assert [claim["family"] for claim in first.fields["fits"]] == ["dunlin-50", "sanderling-50"]


def test_text_that_names_another_family_is_asked(shop: Shop) -> None:
    """The models alone were taken, and stated for their family."""
    line = "A-1;Pair for Sanderling 50;15/44;primary;Dunlin 50;;short;50;"
    (question,) = shop.plan(HEAD + line + "\n").questions.values()
    assert question.choices == ("all", "dunlin-50", "sanderling-50", "none")
    row = shop.row(line, {question.key: "sanderling-50"})
    assert row.fields["listed_for"] == {"models": ["Sanderling 50"]}
    assert row.fields["fits"] == [{"family": "sanderling-50", "housings": ["short"]}]
    section = shop.rows("Dunlin 50;;;;;;;;", "A-1;Pair for Sanderling Dash;15/44;primary;;;;50;")
    assert section[1].outcome == "review"
    assert shop.row("A-1;Pair for Dunlin Tour;15/44;primary;Dunlin 50;;;50;").outcome == "new"


def test_two_rows_that_look_alike_are_told_apart_in_the_question(shop: Shop) -> None:
    """Both choices read the same, and the second could not be chosen."""
    lines = (
        "A-1;Primary pair;15/44;;Dunlin Ten;;;50;",
        "A-1;Secondary pair;15/44;;Dunlin Ten;;;50;",
    )
    (question,) = shop.plan(HEAD + "\n".join(lines) + "\n").questions.values()
    assert len(set(question.choices)) == 2
    rows = shop.rows(*lines, answers={question.key: question.choices[1]})
    assert [list(row.fields["pairs"]) for row in rows if row.outcome == "new"] == [["secondary"]]


def test_a_text_that_contradicts_the_teeth_makes_a_row_another(shop: Shop) -> None:
    rows = shop.rows(
        "A-1;pair;15/44;primary;Dunlin Ten;;;50;", "A-1;pair Z=15/45;15/44;primary;Dunlin Ten;;;50;"
    )
    assert [row.outcome for row in rows] == ["review", "review"]
