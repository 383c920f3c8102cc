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
    assert "spaces only" in rows[0].reason
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
