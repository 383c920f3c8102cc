"""The stock-take: reading the list, the plan, and carrying it out.

The list is written by Python's csv and by openpyxl; the files are judged by the auditor in
conftest.py. How a stock-take settles differences is common practice, no source.
"""

from __future__ import annotations

import csv
from decimal import Decimal
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from fitcheck.answers.shelf import stock_table
from fitcheck.catalogue.reader import Catalogue, load
from fitcheck.errors import FitcheckError, UnreadableError, UsageError
from fitcheck.rules.checks import check
from fitcheck.services.shelf.count_list import CountList, read_count_list
from fitcheck.services.shelf.moves import receive
from fitcheck.services.shelf.stock import stock
from fitcheck.services.shelf.stocktake import StockTake, plan_stocktake, take_stock
from fitcheck.services.shelf.writing import Note


def written(shop: Path, *rows: str, name: str = "counted.csv") -> Path:
    path = shop / name
    path.write_text("".join(f"{row}\n" for row in rows), encoding="utf-8")
    return path


def counts(found: CountList) -> list[tuple[str, int, str | None]]:
    assert found.faults == []
    return [(row.part.id, row.quantity, row.place) for row in found.rows]


def outcomes(found: StockTake) -> dict[str, tuple[str, int]]:
    return {row.part.id: (row.outcome, row.change) for row in found.rows}


# ---------------------------------------------------------------- the list


@pytest.mark.parametrize(
    "rows",
    [
        ("part,counted,place", "MA-1544,3,drawer C", "1601,0,"),
        ("MA-1544,3,drawer C", "sea 16,0"),
        ("Place;Part no.;Quantity", "drawer C;1544;3", ";1601;0"),
        ("", "part\tcounted\tplace", "MA-1544\t3\tdrawer C", "", "MA-1601\t0"),
        (
            "id,part_number,supplier,quantity,place",
            "MA-1544,1544,x,3,drawer C",
            "MA-1601,1601,y,0,",
        ),
        ('"part","counted","place"', '"1544","3.0","drawer C"', '"1601","+0",""'),
    ],
)
def test_lists_are_read_by_heading_or_by_place(
    rows: tuple[str, ...], shop: Path, catalogue: Catalogue
) -> None:
    found = read_count_list(catalogue, written(shop, *rows))
    assert counts(found) == [("MA-1544", 3, "drawer C"), ("MA-1601", 0, None)]


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_encodings(encoding: str, shop: Path, catalogue: Catalogue) -> None:
    path = shop / "counted.csv"
    path.write_text("part;counted;place\nMA-1544;3;Fächer für 16 €\n", encoding=encoding)
    assert counts(read_count_list(catalogue, path)) == [("MA-1544", 3, "Fächer für 16 €")]


def test_a_spreadsheet(shop: Path, catalogue: Catalogue) -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "Count"
    for row in (["Part", "Counted", "Place"], ["MA-1544", 3, "drawer C"], [1601, 0.0, None]):
        sheet.append(row)
    sheet.append(["MA-1602", 1.5])
    book.save(shop / "counted.xlsx")
    found = read_count_list(catalogue, shop / "counted.xlsx")

    assert [(r.part.id, r.quantity, r.place) for r in found.rows] == [
        ("MA-1544", 3, "drawer C"),
        ("MA-1601", 0, None),
    ]
    (fault,) = found.faults
    assert "counted.xlsx:Count!4: MA-1602 (no. 1602): '1.5' is no whole number" in fault


def test_faults_are_told_all_at_once_with_file_and_row(shop: Path, catalogue: Catalogue) -> None:
    rows = (
        "part,counted,place",
        "MA-1544,3,",
        "MB-1544,1,",
        "MA-1601,-2,",
        "MA-1601,1,",
        "MA-1447,1.5,",
        "MA-1603,,",
        "MA-1604,2000000,",
        ",4,",
        "1544,2,",
        'MA-1605,"1,000",',
        f"MA-1602,1,{'x' * 501}",
        "MA-1602,1,",
    )
    found = read_count_list(catalogue, written(shop, *rows))

    assert [(row.part.id, row.where.rpartition(":")[2]) for row in found.rows] == [("MA-1544", "2")]
    wanted = [
        (3, "no gear set 'MB-1544'; did you mean MA-1544?"),
        (4, "'-2' is below zero; write 0 or more"),
        (5, "MA-1601 (no. 1601) is counted already at"),  # though row 4 is faulty itself
        (6, "'1.5' is no whole number of pieces"),
        (7, "has no count; write 0, or take the row out"),
        (8, "2,000,000 pieces are more than a shelf holds"),
        (9, "no part is named"),
        (10, "MA-1544 (no. 1544) is counted already at"),
        (11, "'1,000' is no whole number of pieces"),
        (12, "the place has 501 characters"),
        (13, "MA-1602 (no. 1602) is counted already at"),
    ]
    assert len(found.faults) == len(wanted)
    for fault, (row, words) in zip(found.faults, wanted, strict=True):
        assert f"counted.csv:{row}: " in fault
        assert words in fault
        assert "\n" not in fault
    assert "counted.csv:2; add the two up" in found.faults[7]


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        (("part,what", "MA-1544,3"), "counted.csv:1: no column is headed part, or none counted"),
        (("just words",), "no column is headed part"),
        (("part,counted",), "nothing is counted in it"),
        ((), "empty"),
    ],
)
def test_a_list_that_is_none(
    rows: tuple[str, ...], words: str, shop: Path, catalogue: Catalogue
) -> None:
    with pytest.raises(FitcheckError, match=words):
        read_count_list(catalogue, written(shop, *rows))


def test_a_list_that_is_not_there(shop: Path, catalogue: Catalogue) -> None:
    with pytest.raises(UnreadableError, match="there is no such file"):
        read_count_list(catalogue, shop / "counted.csv")


def test_two_sheets_are_not_guessed_between(shop: Path, catalogue: Catalogue) -> None:
    book = openpyxl.Workbook()
    for name in ("A", "B"):
        book.create_sheet(name).append(["MA-1544", 3])
    book.save(shop / "counted.xlsx")
    with pytest.raises(UsageError, match=r"2 sheets \(A or B\)"):
        read_count_list(catalogue, shop / "counted.xlsx")


def test_what_list_writes_is_read_back_though_it_looks_like_a_formula(shop: Path) -> None:
    path = shop / "shelf.yaml"
    places = {
        "drawer B4": "=1+1",
        "drawer B5": "-left; “top”",
        "1, cost: 38": '1, place: "@x", cost: 38',
    }
    text = path.read_text(encoding="utf-8")
    for old, new in places.items():
        text = text.replace(old, new)
    path.write_text(text, encoding="utf-8")
    catalogue = load(shop)
    listed = stock(catalogue)
    page = stock_table(listed).csv()
    assert [row["place"] for row in csv.DictReader(page.splitlines())] == [
        "'=1+1",
        "'-left; “top”",
        "'@x",
    ]
    found = read_count_list(catalogue, written(shop, *page.splitlines()))

    assert counts(found) == [
        (item.part.id, item.held.quantity, item.held.place) for item in listed.items
    ]
    assert plan_stocktake(catalogue, found.rows).changes == ()


# ---------------------------------------------------------------- plan and carrying out


LIST = ("part,counted,place", "MA-1544,3,drawer C", "MA-1601,5,", "MA-1605,2,shed", "MA-1447,0,")


def test_the_plan_writes_nothing_and_carrying_out_does_what_it_says(
    shop: Path, catalogue: Catalogue, auditor: Any
) -> None:
    rows = read_count_list(catalogue, written(shop, *LIST)).rows
    before = {path.name: path.read_bytes() for path in shop.iterdir() if path.is_file()}
    plan = plan_stocktake(catalogue, rows)
    assert {path.name: path.read_bytes() for path in shop.iterdir() if path.is_file()} == before
    assert outcomes(plan) == {
        "MA-1544": ("more", 1),
        "MA-1601": ("same", 0),
        "MA-1605": ("new", 2),
        "MA-1447": ("same", 0),
    }
    assert plan.not_counted == 1
    assert not plan.written

    done = take_stock(catalogue, rows, note=Note("year's end", "kit"))
    assert done.written
    assert done.rows == plan.rows
    assert [(line.part, line.change, line.more) for line in done.lines] == [
        ("MA-1544", 1, 1),
        ("MA-1605", 2, 0),
    ]
    assert auditor.agree() == {
        "MA-1544": (3, "drawer C", None, Decimal("69.90")),
        "MA-1601": (5, "drawer B5", Decimal("41.50"), Decimal(64)),
        "MA-1602": (1, None, Decimal("38.125"), None),
        "MA-1605": (2, "shed", None, None),
    }
    assert not check(load(shop))
    again = take_stock(catalogue, rows)
    assert again.changes == again.lines == ()


def test_what_is_retired_or_far_more_than_before_is_told(shop: Path, catalogue: Catalogue) -> None:
    rows = read_count_list(catalogue, written(shop, "1603;1", "1604;0", "1601;500")).rows
    assert plan_stocktake(catalogue, rows).remarks == (
        "look: 500 pieces of MA-1601 (no. 1601), where there were 5",
        "MA-1603 (no. 1603) is retired; MA-1605 (no. 1605) takes its place",
    )


def test_complete_leaves_nothing_of_what_was_not_counted(
    shop: Path, catalogue: Catalogue, auditor: Any
) -> None:
    rows = read_count_list(catalogue, written(shop, "MA-1601,4")).rows
    plan = plan_stocktake(catalogue, rows, complete=True)
    assert outcomes(plan) == {
        "MA-1601": ("fewer", -1),
        "MA-1544": ("fewer", -2),
        "MA-1602": ("fewer", -1),
    }
    assert [row.value for row in plan.rows] == [
        Decimal("-41.50"),
        None,
        Decimal("-38.125"),
    ]
    take_stock(catalogue, rows, complete=True)
    assert {part: held[0] for part, held in auditor.agree().items()} == {
        "MA-1544": 0,
        "MA-1601": 4,
        "MA-1602": 0,
    }
    assert auditor.agree()["MA-1544"][1:] == ("drawer B4", None, Decimal("69.90"))


def hand(shop: Path, *changes: tuple[str, str]) -> None:
    path = shop / "shelf.yaml"
    text = path.read_text(encoding="utf-8")
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    path.write_text(text, encoding="utf-8")


EDITS = (
    ("quantity: 5, place: drawer B5, cost: 41.50", "quantity: 7, place: shed"),
    ("  MA-1602: {quantity: 1, cost: 38.125}", "  MA-1605: {quantity: 4, price: 12.00}"),
)


def without_end(shop: Path) -> list[bytes]:
    rows = (shop / "shelf.yaml").read_bytes().splitlines()
    return [row for row in rows if not row.startswith(b"ledger:")]


def test_edits_by_hand_are_accepted_as_a_stock_take(
    shop: Path, catalogue: Catalogue, auditor: Any
) -> None:
    receive(catalogue, "MA-1544", 1)
    hand(shop, *EDITS)
    said = without_end(shop)
    plan = plan_stocktake(load(shop), [], as_written=True)
    assert outcomes(plan) == {
        "MA-1601": ("more", 2),
        "MA-1605": ("new", 4),
        "MA-1602": ("gone", -1),
    }
    assert dict(plan.rows[0].sets) == {"place": "shed", "cost": None}
    done = take_stock(load(shop), [], as_written=True, note=Note("found by hand"))

    assert without_end(shop) == said, "the file is right as it is"
    assert [line.action for line in done.lines] == ["count", "count", "close"]
    assert auditor.agree()["MA-1601"] == (7, "shed", None, Decimal(64))
    assert "MA-1602" not in auditor.agree()
    assert not check(load(shop))
    receive(load(shop), "MA-1602", 3)
    assert auditor.agree()["MA-1602"] == (3, None, None, None)


def test_counting_a_part_keeps_what_was_written_about_it_by_hand(
    shop: Path, catalogue: Catalogue, auditor: Any
) -> None:
    receive(catalogue, "MA-1544", 1)
    hand(shop, *EDITS)
    rows = read_count_list(load(shop), written(shop, "MA-1601,6")).rows
    plan = plan_stocktake(load(shop), rows)
    assert [row.by_hand for row in plan.rows] == [True]
    take_stock(load(shop), rows)

    assert auditor.shelf()["MA-1601"] == (6, "shed", None, Decimal(64))
    assert auditor.ledger()["MA-1601"] == (6, "shed", None, Decimal(64))
    assert auditor.shelf()["MA-1605"][0] == 4, "left alone"
    assert "MA-1605" not in auditor.ledger()


@pytest.mark.parametrize("complete", [True, False])
def test_a_count_that_proves_the_ledger_right_puts_the_file_right(
    complete: bool, shop: Path, catalogue: Catalogue, auditor: Any
) -> None:
    receive(catalogue, "MA-1544", 1)
    hand(shop, ("quantity: 5,", "quantity: 7,"))
    rows = read_count_list(load(shop), written(shop, "MA-1601,5")).rows
    plan = plan_stocktake(load(shop), rows)
    assert outcomes(plan) == {"MA-1601": ("file", 0)}
    done = take_stock(load(shop), rows, complete=complete)

    assert done.lines[0].change == 0
    assert auditor.agree()["MA-1601"][0] == 5
    assert not check(load(shop))


def test_complete_takes_edits_by_hand_too(shop: Path, catalogue: Catalogue, auditor: Any) -> None:
    receive(catalogue, "MA-1544", 1)
    hand(shop, *EDITS)
    rows = read_count_list(load(shop), written(shop, "MA-1544,3")).rows
    take_stock(load(shop), rows, complete=True)

    assert {part: held[0] for part, held in auditor.agree().items()} == {
        "MA-1544": 3,
        "MA-1601": 0,
        "MA-1605": 0,
    }


def test_a_closed_part_whose_record_went_is_told_of_no_more(
    shop: Path, catalogue: Catalogue, auditor: Any
) -> None:
    receive(catalogue, "MA-1605", 1)
    hand(shop, ("  MA-1605: {quantity: 1}\n", ""))
    path = shop / "sets" / "more.yaml"
    text = path.read_text().replace("retired, successor: MA-1605", "retired")
    path.write_text(text[: text.index("  MA-1605")])
    found = [(f.code, f.record) for f in check(load(shop)) if f.code >= "FC3"]
    assert found == [("FC306", "MA-1605")]
    take_stock(load(shop), [], as_written=True)
    assert [f for f in check(load(shop)) if f.code >= "FC3"] == []
    auditor.agree()


def test_a_part_of_the_annex_is_counted_there(shop: Path, audit: Any) -> None:
    (shop / "annex").mkdir()
    (shop / "annex" / "shelf.yaml").write_text("kind: shelf\nrecords:\n  MA-1605: {quantity: 1}\n")
    catalogue = load(shop)
    rows = read_count_list(catalogue, written(shop, "MA-1605,3", "MA-1544,0", "MA-1447,2")).rows
    done = take_stock(catalogue, rows)

    assert len(done.lines) == 3
    assert audit(shop / "annex").agree() == {"MA-1605": (3, None, None, None)}
    assert audit(shop).agree()["MA-1447"][0] == 2
    assert audit(shop).agree()["MA-1544"][0] == 0


def test_the_demo_is_planned_but_not_counted() -> None:
    demo = load(Path(__file__).parents[3] / "catalog")
    assert plan_stocktake(demo, []).not_counted == len(demo.shelf)
    with pytest.raises(UsageError, match="built-in demo"):
        take_stock(demo, [], as_written=True)


def test_a_row_whose_id_and_number_are_of_two_parts_is_refused(
    shop: Path, catalogue: Catalogue
) -> None:
    path = written(
        shop,
        "id,part number,quantity",
        "MA-1601,01601,5",  # a zero more or less is a spreadsheet's
        "MA-1602,1544,1",
        "MA-1544,no such number,2",
    )
    found = read_count_list(catalogue, path)
    (fault, other) = found.faults
    assert "counted.csv:3: the row names two parts, MA-1602 (no. 1602) and MA-1544" in fault
    assert "counted.csv:4: the row names MA-1544 (no. 1544) and 'no such number', which" in other
    assert [row.part.id for row in found.rows] == ["MA-1601"]


ZEROS = """\
kind: gear-set
defaults: {supplier: marram, source: {list: Marram spring list, date: 2026-03-01}}
records:
  MA-0100: {part_number: "0100", pairs: {primary: 16/41}}
  MA-100: {part_number: "100", pairs: {primary: 16/42}}
  MA-12000: {part_number: "12000", pairs: {primary: 16/43}}
"""


@pytest.mark.parametrize(
    ("rows", "row", "says"),
    [
        # A decimal comma that parts cells, where the list has headings and where it has none.
        (("part,counted", "MA-1544,1,5"), 2, "'5' stands in column 3, which has no heading"),
        (("part,counted,", "MA-1544,1,5"), 2, "'5' stands in column 3, which has no heading"),
        (("MA-1544,1,5",), 1, "1,5 may be one count or a count and a place; part the cells by"),
        (("part,counted,place", "MA-1544,1,5,"), 2, "1,5 may be one count"),
        (("MA-1544;1;drawer A4; drawer A5",), 1, "'drawer A5' is one cell more than part, pieces"),
        # What an open quote has swallowed.
        (("part;note;counted", 'MA-1544;"x;1', 'MA-1601;y";2'), 2, "a cell runs over several"),
        # Two names of a part.
        (("part;id;counted", "MA-1544;MA-1601;1"), 2, "the row names two parts, MA-1544"),
        (("part;id;counted", "MA-1544;9999;1"), 2, "and '9999', which no set goes by"),
        (("id;part no;counted", "MA-100;0100;1"), 2, "the row names two parts, MA-100"),
        # Zeros that a spreadsheet has eaten.
        (("part number;counted", "100;3"), 2, "100 may be MA-100 (no. 100), or MA-0100 (no. 0100)"),
        (("part;counted", "1.20E+04;3"), 2, "did you mean MA-12000 (no. 12000)? (a spreadsheet"),
    ],
)
def test_a_row_that_may_mean_another_count_or_part_is_refused(
    rows: tuple[str, ...], row: int, says: str, shop: Path
) -> None:
    (shop / "sets" / "zeros.yaml").write_text(ZEROS, encoding="utf-8")
    found = read_count_list(load(shop), written(shop, *rows))
    assert f"counted.csv:{row}: " in found.faults[0]
    assert says in found.faults[0]
    assert found.rows == []


@pytest.mark.parametrize(
    ("rows", "part", "place"),
    [
        (("part,counted,,", "MA-1544,3,,"), "MA-1544", None),
        (("MA-1544;3;5",), "MA-1544", "5"),
        (("part,counted,place", "MA-1544,3,drawer 5"), "MA-1544", "drawer 5"),
        (("id;part number;counted", "MA-0100;100;3"), "MA-0100", None),
        (("id;part number;counted", "MA-100;100;3"), "MA-100", None),
        (("id;part number;counted", "MA-12000;1.2E+04;3"), "MA-12000", None),
        (("part;counted", "0100;3"), "MA-0100", None),
        (("part;number;counted", "MA-1544;1;3"), "MA-1544", None),  # rows may be numbered
    ],
)
def test_a_row_that_can_mean_one_thing_only_is_taken(
    rows: tuple[str, ...], part: str, place: str | None, shop: Path
) -> None:
    (shop / "sets" / "zeros.yaml").write_text(ZEROS, encoding="utf-8")
    assert counts(read_count_list(load(shop), written(shop, *rows))) == [(part, 3, place)]


@pytest.mark.parametrize(
    ("rows", "row"),
    [
        (("part;counted;place", "MA-1601;1;", 'MA-1544;3;"A1'), 3),
        (("part;counted;place", 'MA-1544;3;"A1" left'), 2),
        (("part;counted;place", 'MA-1544;3;"A1', "MA-1601;2;shed", 'MA-1605;1;"B"'), 2),
    ],
)
def test_a_quote_left_open_refuses_the_list(
    rows: tuple[str, ...], row: int, shop: Path, catalogue: Catalogue
) -> None:
    with pytest.raises(UsageError, match=rf"counted\.csv:{row}: a quote is opened and not closed"):
        read_count_list(catalogue, written(shop, *rows))


def test_of_two_columns_of_counts_one_is_taken_and_said(shop: Path, catalogue: Catalogue) -> None:
    found = read_count_list(catalogue, written(shop, "part;counted;quantity", "MA-1544;3;4"))
    assert counts(found) == [("MA-1544", 3, None)]
    (note,) = found.notes
    assert note.endswith("counted.csv:1: the column 'counted' is taken, not 'quantity'")


def test_rows_that_stand_in_one_cell_each_are_told_so(shop: Path, catalogue: Catalogue) -> None:
    path = written(shop, '"part,counted"', '"MA-1544,3"')
    with pytest.raises(UsageError, match=r"csv:1: everything is in one column \('part,counted'\)"):
        read_count_list(catalogue, path)
