"""A list that comes month after month: its sheets, its name, what is gone, what is said once."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from pathlib import Path

from openpyxl import Workbook

from fitcheck.services.price_lists.writing import edits_of
from tests.services.price_lists.conftest import HEAD, Shop

ENGLISH = ["Art. no.", "Teeth", "Stage", "Price"]
GERMAN = ["Code", "Zähne", "Stufe", "Preis"]


def book(shop: Shop, sheets: Mapping[str, Sequence[Sequence[object]]], hidden: str = "") -> Path:
    made = Workbook()
    made.remove(made.active)
    for name, rows in sheets.items():
        sheet = made.create_sheet(name)
        for row in rows:
            sheet.append(list(row))
        sheet.sheet_state = "hidden" if name == hidden else "visible"
    path = shop.root.parent / "list.xlsx"
    made.save(path)
    return path


def test_three_months_one_after_the_other(shop: Shop) -> None:
    months = (
        (1, "A-1;;15/44;primary;Dunlin Ten;;;50;\nA-2;;15/45;primary;Dunlin Ten;;;52;\n"),
        (2, "A-1;;15/44;primary;Dunlin Ten;;;51;\nA-2;;15/46;primary;Dunlin Ten;;;52;\n"),
        (3, "A-1;;15/44;primary;Dunlin Ten;;;51;\nA-3;;15/47;primary;Dunlin Ten;;;54;\n"),
    )
    told = []
    for month, rows in months:
        plan = shop.plan(HEAD + rows, name="L", day=dt.date(2026, month, 1))
        told.append((plan.counts["new"], plan.counts["changed"], plan.counts["unchanged"]))
        shop.write(plan)
        before = shop.files()
        again = shop.plan(HEAD + rows, name="L", day=dt.date(2026, month, 2))
        assert again.counts["unchanged"] == 2
        assert shop.write(again) == []
        assert shop.files() == before
    assert told == [(2, 0, 0), (0, 2, 0), (1, 0, 1)]
    assert [each.part_number for each in plan.gone] == ["A-2"]
    sources = {id_: each.record.source for id_, each in shop.catalogue.gear_sets.items()}
    assert [sources[f"AR-A-{n}"].date.month for n in (1, 2, 3)] == [2, 2, 3]
    assert [sources[f"AR-A-{n}"].row for n in (1, 2, 3)] == [2, 3, 3]


def test_a_sheet_with_other_headings_is_read_by_them_after_the_mapping_is_saved(
    shop: Shop,
) -> None:
    """Its rows were called unrelated, and its parts gone, from the second month on."""
    path = book(
        shop,
        {
            "Sheet1": [ENGLISH, ["A-1", "15/44", "primary", 50], ["A-2", "15/45", "primary", 50]],
            "Sheet2": [GERMAN, ["B-1", "15/44", "primary", 50]],
            "Terms": [["Delivery", "ten days"], ["Payment", "in advance"]],
        },
    )
    shop.write(shop.plan(path), mapping=True)
    again = shop.plan(path)
    assert again.counts["unchanged"] == 3
    assert again.gone == ()
    assert any(
        note.text == "Sheet2: not as the supplier's file says; read by its own headings"
        for note in again.notes
    )


def test_the_columns_of_a_hidden_sheet_are_not_saved(shop: Shop) -> None:
    """It was the longer one; the next time it alone was read."""
    old = [GERMAN, *[[f"B-{n}", f"15/4{n}", "primary", 50] for n in range(5)]]
    path = book(shop, {"New": [ENGLISH, ["A-1", "15/44", "primary", 50]], "Old": old}, hidden="Old")
    plan = shop.plan(path)
    assert plan.mapping is not None
    assert plan.mapping.columns["part_number"] == "Art. no."
    shop.write(plan, mapping=True)
    again = shop.plan(path)
    assert (again.counts["new"], again.counts["unchanged"]) == (0, 1)


def test_a_sheet_that_was_shown_goes_before_a_hidden_one_that_is_as_mapped(shop: Shop) -> None:
    shop.write(
        shop.plan(book(shop, {"New": [ENGLISH, ["A-1", "15/44", "primary", 50]]})), mapping=True
    )
    path = book(
        shop,
        {
            "New": [GERMAN, ["A-1", "15/44", "primary", 60]],
            "Old": [ENGLISH, ["A-1", "15/44", "primary", 50]],
        },
        hidden="Old",
    )
    plan = shop.plan(path)
    assert [str(each) for row in plan.rows for each in row.changes] == [
        "price 50.00 EUR -> 60.00 EUR"
    ]


def test_the_name_of_one_months_file_is_not_kept_as_the_lists(shop: Shop) -> None:
    """February's changes said that they came from January's file."""
    row = "A-1;;15/44;primary;;;;{};\n"
    shop.write(shop.plan(shop.put("january.csv", HEAD + row.format(50))), mapping=True)
    shop.write(shop.plan(shop.put("february.csv", HEAD + row.format(51))))
    assert shop.catalogue.gear_sets["AR-A-1"].record.source.list == "february.csv"


def test_what_may_be_there_is_not_gone(shop: Shop) -> None:
    first = HEAD + "0012;;15/44;primary;;;;50;\n00345;;15/45;primary;;;;50;\n"
    shop.write(shop.plan(first, name="L"))
    plan = shop.plan(HEAD + "12;;15/44;primary;;;;50;\n345;;15/45;primary;;;;50;\n", name="L")
    assert [question.choices[0] for question in plan.questions.values()] == ["0012", "00345"]
    assert plan.gone == ()


def test_a_part_on_a_sheet_that_is_not_read_is_not_gone(shop: Shop) -> None:
    one = [ENGLISH, ["A-1", "15/44", "primary", 50]]
    two = [ENGLISH, ["B-1", "15/45", "primary", 50]]
    shop.write(shop.plan(book(shop, {"Sheet1": one, "Sheet2": two}), name="L"))
    assert shop.plan(book(shop, {"Sheet1": one, "Sheet2": two[1:]}), name="L").gone == ()
    assert len(shop.plan(book(shop, {"Sheet1": one}), name="L").gone) == 1


def test_answers_are_kept_by_saving_the_mapping_alone(shop: Shop) -> None:
    """The stage is told by the entry, but there is none before the writing."""
    text = HEAD + "A-1;;15/44;;Dunlin Ten;;;50;\n"
    (key,) = shop.plan(text).questions
    plan = shop.plan(text, {key: "primary"})
    edits_of(shop.catalogue, plan, entries=False, mapping=True).save()
    assert shop.plan(text).counts["new"] == 1
    shop.write(plan)
    assert shop.plan(text).counts["unchanged"] == 1


def test_a_kept_answer_that_makes_no_sense_is_asked_again(shop: Shop) -> None:
    text = HEAD + "A-1;;15/44 or 15/45;primary;Dunlin Ten;;;50 USD;\n"
    keys = list(shop.plan(text).questions)
    plan = shop.plan(text, dict.fromkeys(keys, "nonsense"))
    assert list(plan.questions) == keys


def test_an_entry_of_a_workbook_says_which_sheet_its_row_is_on(shop: Shop) -> None:
    sheets = {
        "Sheet1": [ENGLISH, ["A-1", "15/44", "primary", 50]],
        "Sheet2": [ENGLISH, ["B-1", "15/45", "primary", 50]],
    }
    shop.write(shop.plan(book(shop, sheets)))
    sources = [shop.catalogue.gear_sets[each].record.source for each in ("AR-A-1", "AR-B-1")]
    assert [(source.sheet, source.row) for source in sources] == [("Sheet1", 2), ("Sheet2", 2)]
    shop.write(shop.plan("Art. no.;Teeth;Stage;Price\nB-1;15/45;primary;51\n"))
    source = shop.catalogue.gear_sets["AR-B-1"].record.source
    assert (source.sheet, source.row, source.list) == (None, 2, "list.csv")


def test_a_word_for_a_family_that_is_no_more_is_no_failure(shop: Shop) -> None:
    path = shop.root / "suppliers" / "arrowgrass.yaml"
    words = "    list_mapping:\n      model_words: {Foo Bar: no-more}\n"
    path.write_text(path.read_text("utf-8") + words, "utf-8")
    row = shop.row("A-1;;15/44;primary;Foo Bar;;short;50;")
    assert "'Foo Bar' belongs to no family here" in row.notes


def test_a_blank_name_for_the_list_is_none(shop: Shop) -> None:
    assert shop.plan(HEAD + "A-1;;15/44;primary;;;;50;\n", name="  ").list_name == "list.csv"
