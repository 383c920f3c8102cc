"""Housings that stand beside models, and rows that contradict themselves."""

from __future__ import annotations

import pytest

from tests.services.price_lists.conftest import HEAD, Shop

ROWS = "A-1;;15/44;primary;Dunlin Cargo;;short;50;\nA-2;;15/45;primary;Dunlin Tour;;short;50;\n"


@pytest.mark.parametrize(
    ("models", "housing", "claimed"),
    [
        ("Dunlin Ten", "short", ["short"]),
        ("Dunlin Ten, Dunlin Cargo", "short + mid", ["short", "mid"]),
        ("Dunlin Cargo, Dunlin Twelve", "mid", ["mid"]),
        ("Dunlin Ten", "mid", None),
        ("Dunlin Ten", "short + mid", None),
        ("Dunlin Ten, Dunlin Cargo", "short", None),
        ("Dunlin Ten, Squall 80", "short", None),
    ],
)
def test_a_housing_beside_models_is_stated_where_they_have_it_from_the_factory(
    shop: Shop, models: str, housing: str, claimed: list[str] | None
) -> None:
    row = shop.row(f"A-1;;15/44;primary;{models};;{housing};50;")
    if claimed is None:
        assert row.outcome == "review"
    else:
        assert row.fields["fits"] == [{"family": "dunlin-50", "housings": claimed}]


def test_a_housing_beside_models_is_asked_once_and_then_stated(shop: Shop) -> None:
    """It was left out in silence."""
    plan = shop.plan(HEAD + ROWS)
    (question,) = plan.questions.values()
    assert (question.about, question.count) == ("short beside models", 2)
    assert question.choices == ("short", "mid", "long", "all", "none")
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


@pytest.mark.parametrize(
    ("models", "claims", "notes"),
    [
        ("Dunlin 50, Sanderling 50", {"dunlin-50": ["short"], "sanderling-50": ["short"]}, ()),
        ("Dunlin 50, Sanderling Dash", {"dunlin-50": ["short"], "sanderling-50": ["short"]}, ()),
        (
            "Dunlin 50, Sanderling Drift",
            {"dunlin-50": ["short"]},
            ("housing 'short' left out: the row is of dunlin-50 and sanderling-50",),
        ),
    ],
)
def test_a_housing_is_claimed_for_each_family_named(
    shop: Shop, models: str, claims: dict[str, list[str]], notes: tuple[str, ...]
) -> None:
    """It was left out where the row named two."""
    answers = {f"families of {models!r}": "all"}
    row = shop.row(f"A-1;;15/44;primary;{models};;short;50;", answers)
    assert {each["family"]: each["housings"] for each in row.fields["fits"]} == claims
    assert row.notes == notes


@pytest.mark.parametrize(
    ("cell", "housings"),
    [
        ("corto y medio", ["short", "mid"]),
        ("medio/lungo", ["mid", "long"]),
        ("mid or long", ["mid", "long"]),
        ("court + long", ["short", "long"]),
        ("kurz- und langes Gehäuse", ["short", "long"]),
        ("mittl. Geh.", ["mid"]),
        ("alle Gehäuse", ["short", "mid", "long"]),
        ("tutti i carter", ["short", "mid", "long"]),
        ("all housings", ["short", "mid", "long"]),
    ],
)
def test_several_housings_are_all_claimed(shop: Shop, cell: str, housings: list[str]) -> None:
    beside = cell if "all" in cell or "carter" in cell or "Geh" in cell else f"carter {cell}"
    rows = shop.rows(
        f"A-1;pair;15/44;primary;Dunlin 50;;{cell};50;",
        f"A-2;pair;15/45;primary;Dunlin 50 ({beside});;;50;",
        f"A-3;pair for {beside};15/46;primary;Dunlin 50;;;50;",
    )
    claim = [{"family": "dunlin-50", "housings": housings}]
    assert [row.fields["fits"] for row in rows] == [claim] * 3


@pytest.mark.parametrize(
    "cell",
    ["mid-long", "mid long", "beide", "extra long", "kurz (lang)", "mid+", "kurz ... lang", ">mid"],
)
def test_what_may_be_one_size_or_another_is_asked(shop: Shop, cell: str) -> None:
    row = shop.row(f"A-1;pair;15/44;primary;Dunlin 50;;{cell};50;")
    assert (row.outcome, [key.split()[0] for key in row.questions]) == ("review", ["housing-word"])


LARGO = "A-1;{};15/44;primary;Dunlin 50;;{};50;\nA-2;{};15/45;primary;Sanderling 50;;{};50;\n"


def test_largo_is_long_in_a_spanish_list_and_asked_once_in_another(shop: Shop) -> None:
    spanish = ("juego de engranajes", "largo", "juego templado, dientes rectos", "carter largo")
    for row in shop.plan(HEAD + LARGO.format(*spanish)).rows[1:]:
        assert row.fields["fits"][0]["housings"] == ["long"]
    other = HEAD + LARGO.format("pair", "largo", "coppia", "largo")
    (question,) = shop.plan(other).questions.values()
    assert (question.about, question.count, question.choices[0]) == ("largo", 2, "long")
    for answer, housings in (("long", ["long"]), ("short, long", ["short", "long"])):
        for row in shop.plan(other, {question.key: answer}).rows[1:]:
            assert row.fields["fits"][0]["housings"] == housings


@pytest.mark.parametrize("years", ["ab 2012", "(2008-2014)", "depuis 2016", "2010>"])
def test_a_family_of_some_years_only_states_nothing_for_all(shop: Shop, years: str) -> None:
    """The housing was claimed for every year."""
    row = shop.row(f"A-1;pair;15/44;primary;Dunlin 50 {years};;short;50;")
    assert row.questions == ("housing-word of short beside models",)
    row = shop.row(f"A-1;pair;15/44;primary;Dunlin 50 {years};;;50;")
    assert row.fields["listed_for"] == {"models": [f"Dunlin 50 {years}"]}
    assert "fits" not in row.fields


def test_a_size_that_a_family_does_not_have_is_settled_for_it_alone(shop: Shop) -> None:
    rows = "A-1;;15/44;primary;Sanderling 50;;mid;50;\nA-2;;15/45;primary;Dunlin 50;;mid;50;\n"
    (key,) = shop.plan(HEAD + rows).questions
    first, second = shop.plan(HEAD + rows, {key: "long"}).rows[1:]
    assert [row.fields["fits"][0]["housings"] for row in (first, second)] == [["long"], ["mid"]]


def test_an_answer_that_a_family_has_no_housing_for_is_asked_again_for_it(shop: Shop) -> None:
    rows = LARGO.format("pair", "largo", "coppia", "largo")
    plan = shop.plan(HEAD + rows, {"housing-word of largo": "mid"})
    assert [key.split(" of ")[1] for key in plan.questions] == ["largo (sanderling-50)"]


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


@pytest.mark.parametrize(
    ("file", "models", "asked"),
    [
        ("dunlin-50.csv", "", True),
        ("sanderling-50-2026.csv", "", False),
        ("list.csv", "", False),
        ("dunlin-50.csv", "Sanderling 50", False),  # its column settles it
    ],
)
def test_text_that_names_another_family_than_the_file_is_asked(
    shop: Shop, file: str, models: str, asked: bool
) -> None:
    rows = (
        f"A-1;Pair for Sanderling 50;15/44;primary;{models};;;50;\n"
        f"A-2;Hardened pair for Sanderling 50;15/45;primary;{models};;;50;\n"
    )
    plan = shop.plan(shop.put(file, HEAD + rows))
    assert {row.outcome for row in plan.rows[1:]} == {"review" if asked else "new"}
    assert [each.count for each in plan.questions.values()] == ([2] if asked else [])


def test_a_column_that_is_not_read_and_names_another_family_is_asked(shop: Shop) -> None:
    head, rows = HEAD.replace("Stock", "Gear set"), "A-1;pair;15/44;primary;Dunlin 50;;;50;{}\n"
    for text, outcome in (("Sanderling 50", "review"), ("Dunlin Ten", "new"), ("", "new")):
        assert shop.plan(head + rows.format(text)).rows[-1].outcome == outcome


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
