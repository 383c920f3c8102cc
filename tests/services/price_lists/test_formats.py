"""The same list in each format: what a spreadsheet made of counts, and what is struck through.

What spreadsheets and suppliers do is common practice, no source; the lists are invented.
"""

from __future__ import annotations

import csv
import datetime as dt

import openpyxl
import pytest
import xlwt

from fitcheck.services.price_lists.wording.dates import doubtful_values
from tests.conftest import table

# odfpy uses what later Pythons warn of; it only writes files here.
pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning")

FORMATS = ["csv", "xlsx", "xls", "ods"]
HEAD = ["Nr", "Z", "Stufe", "Modell", "Gehäuse", "Preis"]


def write(path, rows, struck=()):
    """Rows as a supplier's program writes them; `struck` has rows and columns from 1."""
    {"csv": _csv, "xlsx": _xlsx, "xls": _xls, "ods": _ods}[path.suffix[1:]](path, rows, struck)
    return path


def _csv(path, rows, struck):
    assert not struck
    with path.open("w", encoding="cp1252", newline="") as file:
        for row in rows:
            texts = [f"{each:%b-%y}" if isinstance(each, dt.date) else each for each in row]
            csv.writer(file, delimiter=";").writerow(texts)


def _xlsx(path, rows, struck):
    book = openpyxl.Workbook()
    for number, row in enumerate(rows, 1):
        book.active.append(row)
        for column, value in enumerate(row, 1):
            cell = book.active.cell(number, column)
            if isinstance(value, dt.date):
                cell.number_format = "mmm-yy"
            if (number, column) in struck:
                cell.font = openpyxl.styles.Font(strike=True)
    book.save(path)


def _xls(path, rows, struck):
    book = xlwt.Workbook()
    sheet = book.add_sheet("Sheet")
    for number, row in enumerate(rows):
        for column, value in enumerate(row):
            line = (number + 1, column + 1) in struck
            code = {dt.date: "MMM-YY", dt.time: "h:mm"}.get(type(value), "General")
            style = xlwt.easyxf(f"font: struck_out {line}", num_format_str=code)
            sheet.write(number, column, value, style)
    book.save(str(path))


def _ods(path, rows, struck):
    from odf.number import DateStyle, Month, Text, Year
    from odf.opendocument import OpenDocumentSpreadsheet
    from odf.style import Style, TextProperties
    from odf.table import Table, TableCell, TableRow
    from odf.text import P

    document = OpenDocumentSpreadsheet()
    days = DateStyle(name="N1")
    for part in (Month(textual="true"), Text(text="-"), Year()):
        days.addElement(part)
    line = Style(name="ce1", family="table-cell")
    line.addElement(TextProperties(textlinethroughstyle="solid"))
    day = Style(name="ce2", family="table-cell", datastylename="N1")
    for style in (days, line, day):
        document.automaticstyles.addElement(style)
    sheet = Table(name="Sheet")
    for number, row in enumerate(rows, 1):
        element = TableRow()
        for column, value in enumerate(row, 1):
            given = {"valuetype": "string"}
            if isinstance(value, dt.date):
                given = {"valuetype": "date", "datevalue": f"{value}", "stylename": "ce2"}
            elif isinstance(value, dt.time):
                given = {"valuetype": "time", "timevalue": f"PT{value:%HH%MM}00S"}
            elif not isinstance(value, str):
                given = {"valuetype": "float", "value": value}
            if (number, column) in struck:
                given["stylename"] = "ce1"
            cell = TableCell(**given)
            cell.addElement(P(text=str(value)))
            element.addElement(cell)
        sheet.addElement(element)
    document.spreadsheet.addElement(sheet)
    document.save(str(path))


def articles(*teeth, housing="kurz"):
    return [HEAD] + [
        [f"A-{number}", value, "primär", "Dunlin 50", housing, 49.9]
        for number, value in enumerate(teeth, 1)
    ]


def asked(shop, path) -> set[str]:
    plan = shop.plan(path)
    assert {row.outcome for row in plan.rows if row.part_number} <= {"new", "review"}
    return {row.part_number for row in plan.of("review")}


DAY, TIME = dt.date(1945, 12, 1), dt.time(15, 45)


@pytest.mark.parametrize("kind", FORMATS)
@pytest.mark.parametrize(
    ("teeth", "doubtful"),
    [
        (["15/44", DAY, "15/46", "15/45"], {"A-2"}),
        # A time among counts is asked, a column of times is one of counts.
        (["15/44", TIME, "15/46"], {"A-2"}),
        ([TIME, dt.time(15, 44), dt.time(15, 46)], set()),
    ],
)
def test_counts_that_came_from_dates_are_asked(shop, tmp_path, kind, teeth, doubtful):
    path = write(tmp_path / f"list.{kind}", articles(*teeth))
    assert asked(shop, path) == doubtful


@table(
    ("column", "doubtful"),
    [
        ([None, "", "15/44", "12/15"], set()),
        ([DAY, "15/44", "13/52", "14/45", "12/15"], {DAY}),
        ([DAY, "15/44", "12/15"], {DAY, "12/15"}),
        (["10-Dez", "12/15", "15/12", "15/44"], {"10-Dez", "12/15", "15/12"}),
        (["14:45:00", "15:44:00", "13:52:00", None], set()),
        (
            ["14:45:00", "15:44:00", "13:52:00", "12/15"],
            {"14:45:00", "15:44:00", "13:52:00", "12/15"},
        ),
        ([dt.time(14, 45), dt.time(15, 44)], {dt.time(14, 45), dt.time(15, 44)}),
    ],
)
def test_a_column_proves_what_may_be_a_date_in_it(column, doubtful):
    assert doubtful_values(column) == doubtful


@pytest.mark.parametrize("kind", FORMATS[1:])
@pytest.mark.parametrize(
    ("struck", "said"),
    [
        ({2}, "Which teeth has A-1? '15/44': it is struck through."),
        ({5}, "'struck through: kurz'"),
        ({6}, "struck through"),
        ({1, 2}, "struck through: A-1"),
        ({1, 2, 3, 4, 5, 6}, "'struck through'"),
    ],
)
def test_what_is_struck_through_is_asked(shop, tmp_path, kind, struck, said):
    path = write(
        tmp_path / f"list.{kind}", articles("15/44", "15/45"), {(2, column) for column in struck}
    )
    plan = shop.plan(path)
    assert asked(shop, path) == {"A-1"}
    assert any(said in each.text for each in plan.questions.values()), plan.questions


@pytest.mark.parametrize("column", [2, 3])
def test_a_count_struck_through_in_one_of_two_columns_is_asked(shop, tmp_path, column):
    rows = [
        ["Nr", "Ritzel", "Rad", "Stufe", "Modell", "Preis"],
        ["A-1", 15, 44, "primär", "Dunlin 50", 50],
        ["A-2", 15, 45, "primär", "Dunlin 50", 50],
    ]
    assert asked(shop, write(tmp_path / "list.xlsx", rows, {(2, column)})) == {"A-1"}
