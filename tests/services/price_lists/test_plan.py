"""Each row of a list in one outcome: what is written, what is asked, what is left alone."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from pathlib import Path

import pytest
from openpyxl import Workbook

from fitcheck.errors import UsageError
from fitcheck.kernel.teeth import Pair
from fitcheck.services.price_lists.claims import Claims
from fitcheck.services.price_lists.outcomes import OUTCOMES
from tests.conftest import EXPLORE, table
from tests.services.price_lists.conftest import DAY, HEAD, Shop, summary


def asks(shop: Shop, line: str) -> list[str]:
    plan = shop.plan(HEAD + line + "\n")
    return [question.asks for question in plan.questions.values()]


# ------------------------------------------------------------------ new entries


def test_a_new_entry_says_what_the_list_says_and_where(shop: Shop) -> None:
    row = shop.row('A-1;Primary pair;15/44;primary;Dunlin Ten, Dunlin Tour;10";;1.049,90 €;yes')
    assert (row.outcome, row.set_id, row.families) == ("new", "AR-A-1", ("dunlin-50",))
    assert row.fields == {
        "part_number": "A-1",
        "name": "Primary pair",
        "pairs": {"primary": Pair(15, 44)},
        "listed_for": {"models": ["Dunlin Ten", "Dunlin Tour"], "wheel_size_in": 10},
        "price": Decimal("1049.90"),
        "currency": "EUR",
        "availability": "in-stock",
        "source": {"list": "list.csv", "row": 2, "date": DAY},
    }


@pytest.mark.parametrize(
    ("models", "case", "fits"),
    [
        # model words alone are information, never proof
        ("Dunlin Ten", "", None),
        ("Dunlin 50", "", None),
        ("Snipe Classic", "short", None),
        # the family's own name and a housing it has: the supplier's own statement
        ("Dunlin 50", "short", [{"family": "dunlin-50", "housings": ["short"]}]),
        ("DN50", "kurz", [{"family": "dunlin-50", "housings": ["short"]}]),
        ("dunlin", "L-case", [{"family": "dunlin-50", "housings": ["long"]}]),
        ("Dunlin 50 carter lungo", "", [{"family": "dunlin-50", "housings": ["long"]}]),
        ("Dunlin 50", "corto/lungo", [{"family": "dunlin-50", "housings": ["short", "long"]}]),
        # a housing that the family does not have
        ("Sanderling 50 carter medio", "", None),
    ],
)
def test_fits_is_claimed_only_where_the_list_states_family_and_housing(
    shop: Shop, models: str, case: str, fits: object
) -> None:
    answers = {f"families of '{models}'": "all"}
    row = shop.row(f"A-1;;15/44;primary;{models};;{case};50;", answers)
    assert row.outcome == "new"
    assert row.fields.get("fits") == fits


SIGNS = [" / ", "/", " - ", "-", " + ", "+", ", ", " e ", " und ", " et ", " y "]
BOTH_STAGES = [
    ("set", "primary/secondary"),
    ("set primario + secondario", ""),
    ("gear set", "complete"),
    ("Primär- und Sekundärstufe", ""),
    ("set", "1./2. Stufe"),
    ("first and second stage", ""),
]


@pytest.mark.parametrize("sign", SIGNS)
def test_two_pairs_joined_are_read_where_both_stages_are_named(shop: Shop, sign: str) -> None:
    pairs = {"primary": Pair(15, 44), "secondary": Pair(13, 48)}
    for text, stage in BOTH_STAGES if EXPLORE else [BOTH_STAGES[SIGNS.index(sign) % 6]]:
        row = shop.row(f"A-1;{text};15/44{sign}13/48;{stage};Dunlin 50;;;50;")
        assert row.fields["pairs"] == pairs, text
    turned = shop.row(f"A-1;set;13/48{sign}15/44;secondary, primary;Dunlin 50;;;50;")
    assert turned.fields["pairs"] == pairs
    alone = shop.row(f"A-1;set;15/44{sign}13/48;;Dunlin 50;;;50;")
    assert alone.outcome == "review"


@pytest.mark.parametrize(
    ("heading", "text", "outcome"),
    [
        ("Secondary gears", "secondary pair", "new"),
        ("Secondary gears", "pair", "new"),
        ("Secondary gears", "primary pair", "review"),
    ],
)
def test_a_stage_in_the_text_is_held_against_the_heading(
    shop: Shop, heading: str, text: str, outcome: str
) -> None:
    rows = shop.rows(f"{heading};;;;;;;;", f"A-1;{text};14/52;;Dunlin 50;;;50;")
    assert rows[-1].outcome == outcome


@pytest.mark.parametrize("teeth", ["15/44 - 13", "15/13/44/48", "12/10/20/26"])
def test_what_is_no_two_pairs_is_asked_though_both_stages_are_named(shop: Shop, teeth: str) -> None:
    row = shop.row(f"A-1;set;{teeth};primary/secondary;Dunlin 50;;;50;")
    assert row.outcome in ("review", "unreadable")


@pytest.mark.parametrize(
    "text",
    [
        "Coppia primaria 15/44 in acciaio",
        "primary pair 15/44 in steel",
        "Primärpaar 15/44 in Stahl",
    ],
)
def test_in_behind_a_pair_is_no_inch(shop: Shop, text: str) -> None:
    assert shop.row(f"A-1;{text};;;Dunlin 50;;;50;").fields["pairs"] == {"primary": Pair(15, 44)}


def test_teeth_and_stage_may_stand_in_free_text(shop: Shop) -> None:
    row = shop.row("A-1;Zahnradpaar prim. Z=15/44 Dunlin 50;;;;;;49,90;")
    assert row.fields["pairs"] == {"primary": Pair(15, 44)}
    assert row.fields["listed_for"] == {"models": ["Dunlin 50"]}


def test_a_whole_train_is_one_entry(shop: Shop) -> None:
    row = shop.row("A-1;Serie completa;16/44 + 14/54;;Dunlin 50;;;118;")
    assert row.fields["pairs"] == {"primary": Pair(16, 44), "secondary": Pair(14, 54)}
    row = shop.row("A-1;;14/54 + 16/44;secondary, primary;Dunlin 50;;;118;")
    assert row.fields["pairs"] == {"primary": Pair(16, 44), "secondary": Pair(14, 54)}


def test_the_group_above_names_the_model(shop: Shop) -> None:
    rows = shop.rows("Dunlin Ten;;;;;;;;", "A-1;;15/44;primary;;;;50;")
    assert [row.outcome for row in rows] == ["ignored", "new"]
    assert rows[0].kind == "section"
    assert rows[1].fields["listed_for"] == {"models": ["Dunlin Ten"]}


def test_ids_follow_the_manner_of_the_supplier(shop: Shop) -> None:
    for supplier, number, wanted in (
        ("marram", "1999", "MA-1999"),
        ("cordgrass", "CG77.01", "CG-77.01"),
        ("samphire", "S/999", "SA-999"),
        ("seablite", "0999", "SB-0999"),
        ("sea-purslane", "99E9", "SP-99E9"),
    ):
        text = (shop.root / "suppliers" / f"{supplier}.yaml").read_text(encoding="utf-8")
        kept = text.split("    list_mapping:", 1)[0]
        (shop.root / "suppliers" / f"{supplier}.yaml").write_text(kept, encoding="utf-8")
        shop.supplier = supplier
        assert shop.row(f"{number};;15/44;primary;;;;50;").set_id == wanted


# ------------------------------------------------------------------ what must be asked


@table(
    ("line", "kinds"),
    [
        ("A-1;;15/44;;Dunlin Ten;;;50;", ["stage"]),
        ("A-1;;15/44;Gruppe 7;Dunlin Ten;;;50;", ["stage-word"]),
        ("A-1;;15/44;final;Dunlin Ten;;;50;", ["stage-word"]),
        ("A-1;;15/44 + 14/54;;Dunlin Ten;;;50;", ["stage"]),
        ("A-1;;15/44;primary, secondary;Dunlin Ten;;;50;", ["stage"]),
        ("A-1;secondary pair Z=15/44;;primary;Dunlin Ten;;;50;", ["stage"]),
        ("A-1;Primary pair;;primary;Dunlin Ten;;;50;", ["teeth"]),
        ("A-1;;;;;;;50;", ["teeth"]),
        ("A-1;pair Z=15/45;15/44;primary;Dunlin Ten;;;50;", ["teeth"]),
        ("A-1;;15/44 or 15/45;primary;Dunlin Ten;;;50;", ["teeth"]),
        ("A-1;;15/44;primary;Dunlinn Ten;;;50;", ["model"]),
        ("A-1;;15/44;primary;Dunlin Ten?;;;50;", ["model"]),
        ("A-1;;15/44;primary;Dunlin Ten, Sanderling Dash;;;50;", ["families"]),
        ("A-1;;15/44;primary;Dunlin 50;;XL;50;", ["housing-word"]),
        # beside a model alone a person says whether the housing is a statement
        ("A-1;;15/44;primary;Dunlin Ten;;XL;50;", ["housing-word"]),
        ("A-1;;15/44;primary;Dunlin Cargo;;short;50;", ["housing-word"]),
        ("A-1;pair for Sanderling 50;15/44;primary;Dunlin 50;;short;50;", ["families"]),
        ("A-1;;15/44;primary;Dunlin Ten;;;1.234 oder mehr;", ["price"]),
        ("A-1;;15/44;primary;Dunlin Ten;;;50 USD;", ["price"]),
        ("1.2E+04;;15/44;primary;Dunlin Ten;;;50;", ["part-number"]),
    ],
)
def test_what_is_not_certain_becomes_a_question(shop: Shop, line: str, kinds: list[str]) -> None:
    plan = shop.plan(HEAD + line + "\n")
    assert [question.asks for question in plan.questions.values()] == kinds
    assert summary(plan.rows[1:])[0][1] == "review"
    assert plan.open
    assert shop.edits(plan).changed == []


@pytest.mark.parametrize(
    "line",
    [
        # information that is left out and told
        "A-1;;15/44;primary;Dunlin Ten;10-12;;50;",
        "A-1;;15/44;primary;Dunlin Ten;big;;50;",
        "A-1;;15/44;primary;Dunlin Ten;;;50;in stock, 2 weeks",
        "A-1;;15/44;primary;Dunlin Ten;;;on request;",
        "A-1;;15/44;primary;Snipe Classic;;;50;",
        "A-1;;15/44;primary;Dunlin 70;;;50;",
        "A-1;;15/44;primary;;;;50;",
    ],
)
def test_what_needs_no_answer_is_not_asked(shop: Shop, line: str) -> None:
    row = shop.row(line)
    assert row.outcome == "new"
    assert "fits" not in row.fields


def test_what_is_left_out_is_told(shop: Shop) -> None:
    row = shop.row("A-1;;15/44;primary;Dunlin 70;10-12;;on request;in stock, 2 weeks")
    assert len(row.notes) == 4
    assert any("digits count" in note for note in row.notes)
    assert row.fields["listed_for"] == {"models": ["Dunlin 70"]}
    assert "price" not in row.fields


def test_a_question_is_put_once_for_all_rows_that_raise_it(shop: Shop) -> None:
    lines = [f"A-{n};;15/4{n};primary;Dunlinn Ten;;;50;" for n in range(9)]
    plan = shop.plan(HEAD + "\n".join(lines) + "\n")
    (question,) = plan.questions.values()
    assert (question.asks, question.about, question.count) == ("model", "Dunlinn Ten", 9)
    assert question.where == ("2:5", "3:5", "4:5", "5:5", "6:5")
    assert question.choices == ("dunlin-50", "none")


# ------------------------------------------------------------------ unreadable and ignored


@pytest.mark.parametrize(
    ("line", "cell"),
    [
        (";Primary pair;15/44;primary;Dunlin Ten;;;50;", "2:1"),
    ],
)
def test_unreadable_rows_name_the_cell_and_why(shop: Shop, line: str, cell: str) -> None:
    row = shop.row(line)
    assert (row.outcome, row.cell) == ("unreadable", cell)
    assert row.reason


@pytest.mark.parametrize(
    ("line", "where", "choices"),
    [
        ("A-1;;15;primary;Dunlin Ten;;;50;", "2:3", ("none",)),
        ("A-1;;see drawing;primary;Dunlin Ten;;;50;", "2:3", ("none",)),
        ("A-1;;l5/46;primary;Dunlin Ten;;;50;", "2:3", ("15/46", "none")),
        ("A-1;;15/4O;primary;Dunlin Ten;;;50;", "2:3", ("15/40", "none")),
        ("A-1;;15/44;primary;Dunlin Ten;;;cheap;", "2:8", ("none",)),
        ("A-1;;15/44;primary;Dunlin Ten;;;4O,50;", "2:8", ("40.50", "none")),
    ],
)
def test_a_cell_that_cannot_be_read_is_a_question(shop: Shop, line, where, choices) -> None:
    plan = shop.plan(f"{HEAD}{line}\n")
    (question,) = plan.questions.values()
    assert (question.where, question.choices) == ((where,), choices)


def test_other_articles_titles_blanks_and_footers_are_ignored(shop: Shop) -> None:
    text = (
        "Arrowgrass price list;;;;;;;;\n\n"
        + HEAD
        + "A-1;;15/44;primary;Dunlin Ten;;;50;\n"
        + "Z-1;Shaft seal 20x30;;;;;;3;\n"
        + HEAD
        + "Total;;;;;;;50;\nAll prices plus VAT.;;;;;;;;\n"
    )
    plan = shop.plan(text)
    assert [row.kind for row in plan.rows] == [
        "title",
        "blank",
        "header",
        "",
        "other-article",
        "header",
        "footer",
        "note",
    ]
    assert [row.outcome for row in plan.rows].count("ignored") == 7


@pytest.mark.parametrize(
    "name",
    ["Übersetzungssatz inkl. Dichtung", "Zahnradkit mit Öl", "Ritzelsatz + Lager",
     "kit pignons avec roulements", "juego de engranajes con juntas"],
)  # fmt: skip
def test_a_gear_set_with_a_seal_and_no_teeth_is_asked(shop: Shop, name: str) -> None:
    assert shop.row(f"X-1;{name};;;;;;50;").outcome == "review"
    assert shop.row("X-2;Getriebeöl 0,12 l;;;;;;5;").kind == "other-article"


# ------------------------------------------------------------------ rows of one number


def test_the_same_row_twice_is_one_entry(shop: Shop) -> None:
    line = "A-1;;15/44;primary;Dunlin Ten;;;50;"
    first, second = shop.rows(line, line)
    assert (first.outcome, second.outcome, second.kind) == ("new", "ignored", "repeat")
    assert second.same_as == "2"
    assert second.reason == "same as row 2"


def test_a_part_listed_under_several_models_is_one_entry_for_all(shop: Shop) -> None:
    first, second = shop.rows(
        "A-1;;15/44;primary;Dunlin Ten;;;50;", "A-1;;15/44;primary;Dunlin Tour;;;50;"
    )
    assert first.fields["listed_for"]["models"] == ["Dunlin Ten", "Dunlin Tour"]
    assert (second.outcome, second.same_as) == ("ignored", "2")


@pytest.mark.parametrize(
    "other", ["15/45;primary;Dunlin Ten;;;50;", "15/44;secondary;Dunlin Ten;;;50;",
              "15/44;primary;Dunlin Ten;;;51;", "15/44;primary;Dunlin Ten;;;50;no"]
)  # fmt: skip
def test_one_number_with_different_data_is_for_review(shop: Shop, other: str) -> None:
    lines = ("A-1;;15/44;primary;Dunlin Ten;;;50;", f"a-1;;{other}")
    rows = shop.rows(*lines)
    assert [row.outcome for row in rows] == ["review", "review"]
    plan = shop.plan(HEAD + "\n".join(lines) + "\n")
    (question,) = plan.questions.values()
    assert (question.asks, question.count, question.where) == ("row", 2, ("2", "3"))
    chosen = question.choices[1]
    outcomes = [row.outcome for row in shop.rows(*lines, answers={question.key: chosen})]
    assert sorted(outcomes) == ["ignored", "new"]


# ------------------------------------------------------------------ against the catalogue


def known(shop: Shop) -> None:
    shop.write(shop.plan(HEAD + "A-1;Pair;15/44;primary;Dunlin Ten;10;;50;yes\n", name="L"))


def test_what_the_catalogue_says_too_is_unchanged(shop: Shop) -> None:
    known(shop)
    for line in (
        "A-1;Pair;15/44;primary;Dunlin Ten;10;;50;yes",
        "a-1;PAIR;44/15;prim.;DUNLIN-TEN;10 Zoll;;50,00 €;5 pcs",
        "A-1;;;;;;;;",
        "A-1;;15/44;;;;;50;",
        "A-1;;15/44;Gruppe 7;;;;50;",
    ):
        assert shop.row(line).outcome == "unchanged", line


@table(
    ("line", "told"),
    [
        ("A-1;Pair;15/44;primary;Dunlin Ten;10;;51;yes", ["price 50.00 EUR -> 51.00 EUR"]),
        ("A-1;Pair;15/44;primary;Dunlin Ten;10;;50;no", ["availability in-stock -> out-of-stock"]),
        ("A-1;Set;15/44;primary;Dunlin Ten;10;;50;yes", ["name Pair -> Set"]),
        ("A-1;;15/44;primary;Dunlin Tour;10;;50;", ["models Dunlin Ten -> Dunlin Tour"]),
        ("A-1;;15/44;primary;Dunlin Ten;12;;50;", ["wheel size 10 in -> 12 in"]),
        ("A-1;;15/45;primary;;;;50;", ["pairs primary 15/44 -> primary 15/45"]),
        ("A-1;;15/45;;;;;50;", ["pairs primary 15/44 -> primary 15/45"]),
        ("A-1;;15/44;primary;Dunlin 50;10;short;50;",
         ["models Dunlin Ten -> Dunlin 50", "fits none -> dunlin-50 short"]),
    ],
)  # fmt: skip
def test_what_differs_is_told_field_by_field(shop: Shop, line: str, told: list[str]) -> None:
    known(shop)
    row = shop.row(line)
    assert row.outcome == "changed"
    assert [str(change) for change in row.changes] == told
    assert row.changes_teeth is any("pairs" in each for each in told)


def test_a_jump_of_the_price_is_told(shop: Shop) -> None:
    known(shop)
    assert shop.row("A-1;;15/44;;;;;500;").notes == ("!! the price rises by 900 %",)
    assert shop.row("A-1;;15/44;;;;;5;").notes == ("!! the price falls by 90 %",)
    assert shop.row("A-1;;15/44;;;;;60;").notes == ()


def test_claims_kept_by_hand_are_never_touched(shop: Shop) -> None:
    shop.supplier = "cordgrass"
    row = shop.row("CG40.20;;12/33;primary;Dunlin 50;12;short;49.75;")
    assert "fits" not in row.fields


@pytest.mark.parametrize(
    ("line", "reason"),
    [
        ("CG40.03;;17/47;primary;;;;44.75;", "its geometry is on file"),
        ("CG90.16;;16/43;primary;;;;128.75;", "the stages are others"),
        ("CG40.20;;12/33;secondary;;;;49.75;", "the stages are others"),
    ],
)
def test_teeth_that_hang_on_more_are_asked_for(shop: Shop, line: str, reason: str) -> None:
    shop.supplier = "cordgrass"
    plan = shop.plan(HEAD + line + "\n")
    (question,) = plan.questions.values()
    assert question.asks == "counted"
    assert reason in question.text
    left = shop.row(line, {question.key: "catalogue"})
    assert (left.outcome, len(left.notes)) == ("unchanged", 1)
    taken = shop.row(line, {question.key: "list"})
    if "geometry" in reason:
        # New teeth beside the geometry of the old ones would be wrong.
        assert taken.outcome == "review"
        assert "take the geometry of the old teeth out" in taken.reason
        return
    assert taken.outcome == "changed"
    assert taken.changes_teeth


def test_teeth_the_shop_counted_are_not_overruled(shop: Shop) -> None:
    measured = [
        entry
        for entry in shop.catalogue.gear_sets.values()
        if "pairs" in entry.record.measured and len(entry.record.pairs) == 1
    ]
    entry = measured[0]
    (stage, pair), shop.supplier = next(iter(entry.record.pairs.items())), entry.record.supplier
    path = shop.root / "suppliers" / f"{shop.supplier}.yaml"
    path.write_text(path.read_text("utf-8").split("    list_mapping:", 1)[0], "utf-8")
    line = f"{entry.record.part_number};;{pair.driver}/{pair.driven + 1};{stage};;;;;"
    plan = shop.plan(HEAD + line + "\n")
    (question,) = plan.questions.values()
    assert "the shop counted those itself" in question.text


def test_a_number_a_spreadsheet_has_eaten_is_asked_for(shop: Shop, tmp_path: Path) -> None:
    path = shop.root / "suppliers" / "seablite.yaml"
    path.write_text(path.read_text("utf-8").split("    list_mapping:", 1)[0], "utf-8")
    shop.supplier = "seablite"
    book = Workbook()
    book.active.append(["Code", "Teeth", "Stage", "Price"])
    book.active.append([12, "16/43", "primary", 46.95])
    book.active.append([13.5, "16/43", "primary", 46.95])
    book.active.append([dt.date(2026, 5, 3), "16/43", "primary", 46.95])
    book.active.append([4711, "16/43", "primary", 46.95])
    book.save(tmp_path / "list.xlsx")
    plan = shop.plan(tmp_path / "list.xlsx")
    assert summary(plan.rows[1:]) == [
        ("12", "review"),
        ("13.5", "review"),
        ("2026-05-03", "review"),
        ("4711", "new"),
    ]
    first = next(iter(plan.questions.values()))
    assert (first.asks, first.choices) == ("part-number", ("0012", "12", "none"))
    answered = shop.plan(tmp_path / "list.xlsx", {first.key: "0012"})
    assert answered.rows[1].set_id == "SB-0012"


def test_an_entry_that_was_refused_is_not_written_over(shop: Shop) -> None:
    known(shop)
    path = shop.root / "sets" / "arrowgrass.yaml"
    path.write_text(path.read_text("utf-8").replace("15/44", "15/15"), "utf-8")
    row = shop.row("A-1;;15/44;primary;;;;50;")
    assert row.outcome == "unreadable"
    assert "was refused; fitcheck check says why" in row.reason


# ------------------------------------------------------------------ gone


def test_what_the_list_no_longer_has_is_told_by_list(shop: Shop) -> None:
    shop.write(shop.plan(HEAD + "A-1;;15/44;primary;;;;50;\nA-2;;15/45;primary;;;;50;\n", name="L"))
    shop.write(shop.plan(HEAD + "B-1;;15/44;primary;;;;50;\n", name="Other"))
    plan = shop.plan(HEAD + "A-1;;15/44;primary;;;;50;\n", name="l")
    assert [(gone.part_number, gone.same_list) for gone in plan.gone] == [
        ("A-2", True),
        ("B-1", False),
    ]
    assert shop.edits(plan).changed == []


def test_a_row_that_cannot_be_read_is_not_gone(shop: Shop) -> None:
    shop.write(shop.plan(HEAD + "A-1;;15/44;primary;;;;50;\n", name="L"))
    assert shop.plan(HEAD + "A-1;;see drawing;;;;;;\n", name="L").gone == ()


# ------------------------------------------------------------------ the list as a whole


def test_outcomes_are_six_and_add_up(shop: Shop) -> None:
    plan = shop.plan(HEAD + "A-1;;15/44;primary;;;;50;\n\nA-2;;x;;;;;;\n")
    assert tuple(plan.counts) == OUTCOMES
    assert plan.proof(4) == (
        "4 rows = 1 new + 0 changed + 0 unchanged + 1 review + 0 unreadable + 2 ignored"
    )
    with pytest.raises(AssertionError, match="lost or counted twice"):
        plan.proof(5)


def test_a_list_that_is_not_as_the_mapping_says_is_refused_with_its_columns(shop: Shop) -> None:
    shop.supplier = "marram"
    with pytest.raises(UsageError) as refused:
        shop.plan(HEAD + "A-1;;15/44;primary;;;;50;\n")
    said = str(refused.value)
    assert "marram.yaml:13:9 names: 'No.' (part_number), 'z1/z2' (teeth), " in said
    assert "; its header in row 1 has 'Art. no.', 'Text', " in said
    assert said.endswith("correct the mapping, or add --new-columns to find the columns again")


def test_no_row_of_a_second_table_is_passed_over(shop: Shop) -> None:
    """One that no header names is unreadable, with its row; so is one the mapping does not fit."""
    headless = shop.plan("A-9;15/45;50,00\nArt. no.;Teeth;Price\nA-1;15/44;50,00\n")
    (above,) = [each for each in headless.rows if each.row == 1]
    assert above.outcome == "unreadable"
    assert "give it a header row of its own" in (above.reason or "")

    shop.supplier = "marram"
    mapped = "No.;z1/z2;stage;for;wheel;case;net EUR;stock\nA-1;15/44;I;;;;50.00;\n"
    other = shop.plan(mapped + "Teeth;Part no;Price\n14/45;A-2;51.00\n")
    (below,) = [each for each in other.rows if each.row == 4]
    assert below.outcome == "unreadable"
    assert "no column is headed 'No.' (part_number)" in (below.reason or "")


def test_the_proposed_mapping_is_that_of_the_list(shop: Shop) -> None:
    plan = shop.plan(HEAD + "A-1;;15/44;primary;;;;50,00;\n")
    assert plan.proposed
    assert plan.mapping is not None
    assert plan.mapping.columns["teeth"] == "Teeth"
    assert plan.mapping.decimal_mark == ","


# ------------------------------------------------------------------ what is read once for many rows


ALIKE = (
    "K10000;Pair K10000;15/44;primary;Dunlin Ten;10;;64.90;yes",
    "K10001;Pair K10001;15/44;primary;Dunlin Ten;10;;65.90;yes",
    # The number of the first explains itself there, and nowhere else.
    "K10002;Pair K10000;15/44;primary;Dunlin Ten;10;;66.90;yes",
    "K10003;Pair K10003 for the left hand;15/44;primary;Dunlin Ten;10;;66.90;yes",
    "K10004;Pair K10004 for the left hand;15/44;primary;Dunlin Ten;10;;66.90;yes",
    "K10005;Pair K10005;l5/44;primary;Dunlin Ten;10;;66.90;yes",
    "K10006;Pair K10006;l5/44;primary;Dunlin Ten;10;;66.90;yes",
    "K10007;Pair K10007;15/44;nebenan;Dunlin Ten;10;;66.90;yes",
    "K10008;Pair K10008;15/44;primary;Dunlin Ten;10;;1,5,3;perhaps",
    "K10009;Pair K10009 16/44;15/44;primary;Dunlin Ten;10;;65.90;yes",
)


def test_a_row_is_judged_among_others_that_say_the_same_as_by_itself(shop: Shop) -> None:
    for together in (ALIKE, ALIKE[::-1]):
        for line, row in zip(together, shop.rows(*together), strict=True):
            alone = shop.row(line)
            said = {**row.fields}
            if "source" in said:
                said["source"] = alone.fields["source"]
            assert (row.outcome, row.questions, row.notes, said) == (
                alone.outcome,
                alone.questions,
                alone.notes,
                alone.fields,
            )


def test_a_question_names_the_cell_of_each_row_that_raises_it(shop: Shop) -> None:
    lines = [f"K1000{n};Pair;15/44;nebenan;Dunlin Ten;10;;64.90;yes" for n in range(3)]
    (question,) = shop.plan(HEAD + "\n".join(lines) + "\n").questions.values()
    assert question.where == ("2:4", "3:4", "4:4")


def test_each_different_cell_is_read_once(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    texts: list[str] = []
    found = Claims.left_over

    def count(self: Claims, text: str, *args: object, **kind: object) -> str:
        texts.append(text)
        return found(self, text, *args, **kind)  # type: ignore[arg-type]

    monkeypatch.setattr(Claims, "left_over", count)
    lines = [
        f"K1{n:04d};Pair K1{n:04d};15/4{n % 3};primary;Dunlin Ten;10;;64.9{n % 10};yes"
        for n in range(60)
    ]
    assert all(row.outcome == "new" for row in shop.rows(*lines))
    assert len(texts) <= 3 * 4


@pytest.mark.parametrize("heading", ["Remarks", "Finish"])
@pytest.mark.parametrize(
    ("text", "outcome"),
    [
        ("drive belt 18x740", "ignored"),
        ("Wellendichtring 20x32x7", "ignored"),
        ("gasket included", "review"),
        ("bearings are not included", "review"),
        ("hardened", "review"),
        ("primary, gasket of paper", "review"),
    ],
)
def test_what_a_row_without_teeth_is_may_stand_in_another_cell(shop, heading, text, outcome):
    gears = "".join(f"A-{n};15/4{n};primary;Dunlin 50;4{n},00;hardened\n" for n in range(6))
    top = f"Nr;Teeth;Stage;Models;Price;{heading}\n"
    plan = shop.plan(f"{top}{gears}A-9;;;Dunlin 50;5,00;{text}\n")
    assert [row.outcome for row in plan.rows if row.part_number == "A-9"] == [outcome]


@pytest.mark.parametrize("first", ["Teeth", "Wheel"])
def test_a_line_alone_in_the_first_column_heads_its_group_whatever_the_column_is(shop, first):
    cells = {"Teeth": "{};A-{};10;50,00", "Wheel": "10;A-{1};{0};50,00"}[first]
    rows = [cells.format(pair, n) for n, pair in enumerate(["15/44", "15/46", "14/55", "13/54"])]
    heads = ["Dunlin 50, primary gear sets", "Dunlin 50, secondary gear sets"]
    top = "Teeth;Nr;Wheel;Price" if first == "Teeth" else "Wheel;Nr;Teeth;Price"
    plan = shop.plan("\n".join([top, heads[0], *rows[:2], heads[1], *rows[2:], ""]))
    stages = [list(row.fields["pairs"]) for row in plan.of("new")]
    assert stages == [["primary"], ["primary"], ["secondary"], ["secondary"]]
