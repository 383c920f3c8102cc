"""Part numbers that differ in spaces, or that a spreadsheet may have shortened, are asked."""

from __future__ import annotations

import openpyxl
import pytest

from fitcheck.errors import UsageError
from fitcheck.rules.checks import check

LINE = "{};pair;15/4{};primary;Dunlin Ten;;;40.00;yes"


def test_numbers_that_differ_in_spaces_are_asked_and_no_error_is_written(shop):
    lines = [LINE.format("A7", 4), LINE.format("A 7", 5)]
    rows = shop.rows(*lines)
    assert [row.outcome for row in rows] == ["review", "review"]
    assert "spaces or dashes only" in rows[0].reason
    shop.write(shop.plan("Art. no.;Text;Teeth;Stage\nA7;pair;15/44;primary\n"))
    again = shop.rows(*lines)
    assert [row.outcome for row in again] == ["changed", "review"]


def test_an_answer_that_makes_an_error_is_refused_before_it_is_written(shop):
    answers = {"part-number of A7": "A7", "part-number of A 7": "A 7"}
    text = "Art. no.;Text;Teeth;Stage\nA7;pair;15/44;primary\nA 7;pair;15/45;primary\n"
    had = shop.files()
    with pytest.raises(UsageError, match=r"nothing written.*FC213"):
        shop.write(shop.plan(text, answers))
    assert shop.files() == had
    assert not [each for each in check(shop.catalogue) if each.severity == "error"]


def test_a_number_that_begins_with_a_digit_gets_an_id_beside_ids_that_are_numbers(shop):
    head = "Art. no.;Text;Teeth;Stage\n"
    shop.write(shop.plan(f"{head}K1;pair;15/43;primary\n"))
    for path in (shop.root / "sets").glob("*.yaml"):
        path.write_text(path.read_text("utf-8").replace("AR-K1", "K1"), encoding="utf-8")
    (row,) = shop.plan(f"{head}15.5;pair;15/44;primary\n").of("new")
    assert row.set_id == "AR-15.5"


def _book(shop, numbers):
    book = openpyxl.Workbook()
    book.active.append(["Art. no.", "Teeth", "Stage", "Price"])
    for at, number in enumerate(numbers):
        book.active.append([number, f"15/{40 + at}", "primary", 40])
    path = shop.root.parent / "list.xlsx"
    book.save(path)
    return shop.plan(path)


def test_a_number_shorter_than_the_others_is_asked(shop):
    plan = _book(shop, ["0117", "0118", 202])
    assert plan.questions["part-number of 202"].choices[0] == "0202"


def test_a_number_that_may_have_been_a_power_of_ten_is_asked(shop):
    plan = _book(shop, ["AR-1", "AR-2", 12000])
    assert plan.questions["part-number of 12000"].choices[0] == "12E3"


def test_plain_numbers_of_one_length_are_not_asked(shop):
    assert not _book(shop, [4001, 4002, 4003]).questions


def test_a_mixed_decimal_mark_is_not_saved_and_a_second_run_is_unchanged(shop):
    lines = "".join(f"A-{n};pair;15/{40 + n};primary;49,90\n" for n in range(9))
    text = f"Art. no.;Text;Teeth;Stage;Price\n{lines}A-9;pair;16/44;primary;47.00\n"
    plan = shop.plan(text)
    assert any("both" in n.text or "no mark is saved" in n.text for n in plan.notes)
    shop.write(plan, mapping=True)
    mapping = shop.catalogue.suppliers["arrowgrass"].record.list_mapping
    assert "decimal_mark" not in mapping.model_fields_set
    again = shop.plan(text)
    assert again.counts["unchanged"] == 10


@pytest.mark.parametrize("dash", ["\u2010", "\u2011", "\u2013", "\u2212"])
def test_numbers_that_differ_in_dashes_are_asked(shop, dash):
    shop.write(shop.plan("Art. no.;Text;Teeth;Stage\nA-1;pair;15/44;primary\n"))
    plan = shop.plan(f"Art. no.;Text;Teeth;Stage\nA{dash}1;pair;15/44;primary\n")
    (question,) = plan.questions.values()
    assert question.choices[0] == "A-1"
    assert plan.gone == ()


def test_a_composed_letter_is_the_same_letter(shop):
    """Unicode Standard Annex 15: canonically equivalent."""
    shop.write(shop.plan("Art. no.;Text;Teeth;Stage\n\u00c4-1;pair;15/44;primary\n"))
    plan = shop.plan("Art. no.;Text;Teeth;Stage\nA\u0308-1;pair;15/44;primary\n")
    assert plan.counts["unchanged"] == 1


def test_a_text_file_loses_zeros_too(shop):
    """On file are numbers of several lengths, so that the length tells nothing."""
    head = "Art. no.;Text;Teeth;Stage\n"
    shop.write(shop.plan(head + "0012;pair;15/44;primary\n00345;pair;15/45;primary\n"))
    (question,) = shop.plan(head + "12;pair;15/44;primary\n").questions.values()
    assert question.choices == ("0012", "12", "none")
    # A list with both has two.
    both = head + "0012;pair;15/44;primary\n12;pair;15/45;primary\n"
    assert not shop.plan(both).questions


def test_a_counted_number_is_asked_though_it_is_on_file_itself(shop):
    head = "Art. no.;Text;Teeth;Stage\n"
    shop.write(shop.plan(head + "0012;pair;15/44;primary\n"))
    shop.write(shop.plan(head + "12;pair;15/45;primary\n", {"part-number of 12": "12"}))
    path = shop.root / "suppliers" / "arrowgrass.yaml"
    path.write_text(path.read_text("utf-8").split("    list_mapping:")[0], "utf-8")
    assert _book(shop, [12]).questions["part-number of 12"].choices == ("0012", "12", "none")
    assert not shop.plan(head + "12;pair;15/45;primary\n0012;pair;15/44;primary\n").questions
