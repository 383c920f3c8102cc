"""Workbooks made by openpyxl, xlwt, odfpy and, where it is installed, LibreOffice."""

from __future__ import annotations

import datetime as dt
import random
import shutil
import struct
import subprocess
import zipfile

import openpyxl
import pytest
import xlwt
from openpyxl.utils import get_column_letter

from fitcheck.errors import UnreadableError
from fitcheck.services.price_lists.reading import SupplierList, column_letters, read_list
from fitcheck.services.price_lists.wording.prices import read_price
from fitcheck.services.price_lists.wording.teeth import read_teeth

# odfpy uses what later Pythons warn of; it only writes files here.
pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning")


def cell(read: SupplierList, address: str):
    """A cell by its address."""
    name, _, place = address.rpartition("!")
    letters = place.rstrip("0123456789")
    sheet = next(each for each in read.sheets if each.name == name)
    column = next(n for n in range(1, 800) if column_letters(n) == letters)
    found = sheet.cell(int(place[len(letters) :]), column)
    assert found.address == address
    return found


@pytest.mark.parametrize("column", [1, 2, 26, 27, 52, 53, 702, 703, 16384])
def test_column_letters_are_those_of_openpyxl(column):
    assert column_letters(column) == get_column_letter(column)


def price_list(path):
    """A workbook with all that a supplier's has."""
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "Preise 2026"
    sheet["B2"] = "Marsh parts, net prices"
    sheet.merge_cells("B2:F2")
    sheet.append([])
    sheet.append([None, "Art. no.", "Z", "Net EUR", "Stock", "Wheel"])
    sheet.append([None, "MA-1", "15/38", 64.9, 5, 10])
    sheet.append([None, 1544, dt.date(2026, 12, 10), "1.064,90", "no", "10"])
    sheet.append([None, 1545, dt.date(1945, 12, 1), 64.900000000000006, True, 10.0])
    sheet.append([None, 42, dt.time(14, 45), 79.1776, None, 12])
    sheet.append([None, "0042", 15.38, 1e3, -1, 0.1 + 0.2])
    sheet["C6"].number_format = "d-mmm"
    sheet["C7"].number_format = "mmm-yy"
    sheet["C8"].number_format = "h:mm"
    sheet["B8"].number_format = "000000"
    sheet["B6"].number_format = '"MA-"0000'
    sheet["D8"].number_format = '#,##0.00 "€"'
    sheet["B10"] = "Dunlin 50"
    sheet.merge_cells("B10:B12")
    sheet["C10"], sheet["C11"], sheet["C12"] = "14/45", "13/48", "12/51"
    sheet.row_dimensions[5].hidden = True
    sheet.column_dimensions["D"].hidden = True
    sheet["G5"] = '=HYPERLINK("x")'
    other = book.create_sheet("Alte Liste")
    other["A1"] = "Ref"
    other.sheet_state = "hidden"
    book.create_sheet("Leer")
    book.save(path)
    return path


def check_price_list(read: SupplierList) -> None:
    assert [(sheet.name, sheet.hidden) for sheet in read.sheets] == [
        ("Preise 2026", False),
        ("Alte Liste", True),
        ("Leer", False),
    ]
    texts = {
        "B5": "MA-1",
        "C5": "15/38",
        "D5": "64.9",
        "E5": "5",
        "B6": "MA-1544",
        "D6": "1.064,90",
        "F6": "10",
        "D7": "64.9",
        "B8": "000042",
        "D8": "79.1776",
        "B9": "0042",
        "C9": "15.38",
        "D9": "1000",
        "E9": "-1",
        "F9": "0.3",
        "C12": "12/51",
    }
    assert {key: cell(read, f"Preise 2026!{key}").text for key in texts} == texts
    assert cell(read, "Preise 2026!C6").value == dt.date(2026, 12, 10)
    assert cell(read, "Preise 2026!C7").value == dt.date(1945, 12, 1)
    assert cell(read, "Preise 2026!C8").value == dt.time(14, 45)
    # Numbers stored as text, and texts that are numbers, keep their kind.
    assert isinstance(cell(read, "Preise 2026!F6").value, str)
    assert isinstance(cell(read, "Preise 2026!F5").value, (int, float))
    assert isinstance(cell(read, "Preise 2026!B9").value, str)
    # Merged cells: spread, and it is known where they come from.
    sheet, old, _ = read.sheets
    assert {(2, 6): (2, 2), (12, 2): (10, 2)}.items() <= sheet.merged.items()
    assert (10, 2) not in sheet.merged
    assert cell(read, "Preise 2026!F2").text == "Marsh parts, net prices"
    assert cell(read, "Preise 2026!B12").text == "Dunlin 50"
    # Hidden: read and marked.
    assert (sheet.hidden_rows, sheet.hidden_columns, old.hidden) == ({5}, {4}, True)
    assert {note.topic for note in read.notes} >= {"hidden", "merged"}
    teeth = {"C5": "15/38", "C6": "10/12", "C7": "12/45", "C8": "14/45"}
    for place, pair in teeth.items():
        found = read_teeth(cell(read, f"Preise 2026!{place}"), teeth_column=True)
        assert [str(each) for each in found.value or ()] == [pair], found
        assert found.cell == f"Preise 2026!{place}"
    assert read_teeth(cell(read, "Preise 2026!C9"), teeth_column=True).status == "review"
    prices = {"D5": "64.9", "D6": "1064.90", "D7": "64.9", "D9": "1000"}
    for place, amount in prices.items():
        found = read_price(cell(read, f"Preise 2026!{place}"))
        assert str(found.value and found.value.amount) == amount
    shown = read_price(cell(read, "Preise 2026!D8"))
    assert str(shown.value and shown.value.amount) == "79.18"


def test_xlsx_by_openpyxl(tmp_path):
    check_price_list(read_list(price_list(tmp_path / "list.xlsx")))


def test_one_sheet_by_name(tmp_path):
    path = price_list(tmp_path / "list.xlsx")
    assert [sheet.name for sheet in read_list(path, sheet="alte liste").sheets] == ["Alte Liste"]


def test_formulas_without_a_value_are_told(tmp_path):
    read = read_list(price_list(tmp_path / "list.xlsx"))
    (note,) = [note for note in read.notes if note.topic == "formulas"]
    assert note.text.startswith("sheet 'Preise 2026': 1 formula without a value stored (G5); ")


def test_values_are_those_openpyxl_reads_back(tmp_path):
    """Two readers that know nothing of each other, on random cells."""
    rng = random.Random(20)
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "P"
    for index in rng.sample(range(60 * 30), 400):
        place = sheet.cell(index // 30 + 1, index % 30 + 1)
        place.value = rng.choice(
            [
                rng.randint(-(10**6), 10**6),
                rng.randint(1, 10**6) / 100,
                rng.random(),
                f"Text {rng.randint(1, 99)}\nÄß €",
                " 007",
                True,
                dt.datetime(1999, 1, 2) + dt.timedelta(days=rng.randint(0, 20000)),
                dt.datetime(2020, 1, 2, 3, 4, 5),
                dt.time(14, 45),
            ]
        )
    book.save(tmp_path / "list.xlsx")
    ours = read_list(tmp_path / "list.xlsx").sheets[0]
    theirs = openpyxl.load_workbook(tmp_path / "list.xlsx")["P"]
    for row in range(1, 62):
        for column in range(1, 32):
            value = theirs.cell(row, column).value
            mine = ours.cell(row, column).value
            if isinstance(value, dt.datetime) and not isinstance(mine, dt.datetime):
                assert value.time() == dt.time()
                value = value.date()
            assert mine == value, (row, column)


def test_xls_by_xlwt(tmp_path):
    book = xlwt.Workbook()
    sheet = book.add_sheet("Prices")
    sheet.write(1, 1, "Ref")
    sheet.write(2, 1, 1544, xlwt.easyxf(num_format_str="000000"))
    sheet.write(2, 2, dt.date(2026, 12, 10), xlwt.easyxf(num_format_str="D-MMM"))
    sheet.write(3, 2, dt.date(1945, 12, 1), xlwt.easyxf(num_format_str="MMM-YY"))
    sheet.write(3, 3, 64.9)
    sheet.write(3, 4, True)
    for column, value in enumerate([1, 2, 3]):
        sheet.write(5, column, value)  # one record for several numbers
    sheet.write_merge(7, 9, 0, 1, "Dunlin 50")
    sheet.write(9, 2, "12/51")
    sheet.row(3).hidden = True
    sheet.col(4).hidden = True
    hidden = book.add_sheet("Old")
    hidden.write(0, 0, "x")
    hidden.visibility = 1
    book.save(str(tmp_path / "list.xls"))
    read = read_list(tmp_path / "list.xls")
    assert [(each.name, each.hidden) for each in read.sheets] == [("Prices", False), ("Old", True)]
    assert cell(read, "Prices!B3").text == "001544"
    for place, pair in (("C3", "10/12"), ("C4", "12/45")):
        found = read_teeth(cell(read, f"Prices!{place}"), teeth_column=True)
        assert [str(each) for each in found.value or ()] == [pair]
    assert 4 in read.sheets[0].hidden_rows
    assert cell(read, "Prices!E4").value is True
    assert 5 in read.sheets[0].hidden_columns
    assert [cell(read, f"Prices!{letter}6").text for letter in "ABC"] == ["1", "2", "3"]
    assert read.sheets[0].merged[10, 2] == (8, 1)
    assert cell(read, "Prices!B10").text == "Dunlin 50"


def test_xls_errors_are_marked(tmp_path):
    book = xlwt.Workbook()
    sheet = book.add_sheet("P")
    sheet.write(0, 0, xlwt.Formula("1/0"))
    sheet.write(0, 1, "x")
    sheet.row(1).set_cell_error(0, 0x2A)
    book.save(str(tmp_path / "list.xls"))
    assert cell(read_list(tmp_path / "list.xls"), "P!A2").text == "#ERROR"


def test_ods_by_odfpy(tmp_path):
    from odf.number import DateStyle, Day, Month, Text
    from odf.opendocument import OpenDocumentSpreadsheet
    from odf.style import Style, TableProperties
    from odf.table import CoveredTableCell, Table, TableCell, TableColumn, TableRow
    from odf.text import P

    document = OpenDocumentSpreadsheet()
    hiding = Style(name="ta2", family="table")
    hiding.addElement(TableProperties(display="false"))
    document.automaticstyles.addElement(hiding)
    days = DateStyle(name="N1")
    days.addElement(Day())
    days.addElement(Text(text="-"))
    days.addElement(Month(textual="true"))
    document.automaticstyles.addElement(days)
    document.automaticstyles.addElement(Style(name="ce1", family="table-cell", datastylename="N1"))
    table = Table(name="Prices")
    table.addElement(TableColumn(numbercolumnsrepeated="2"))
    table.addElement(TableColumn(visibility="collapse"))

    def add(row, text, **attributes):
        place = TableCell(**attributes)
        if text:
            place.addElement(P(text=text))
        row.addElement(place)

    row = TableRow()
    add(row, "Dunlin 50", valuetype="string", numberrowsspanned="2", numbercolumnsspanned="1")
    add(row, "15/38", valuetype="string")
    add(row, "64,90", valuetype="float", value="64.9")
    table.addElement(row)
    row = TableRow(visibility="collapse")
    row.addElement(CoveredTableCell())
    add(row, "10-Dec", valuetype="date", datevalue="2026-12-10", stylename="ce1")
    table.addElement(row)
    row = TableRow(numberrowsrepeated="3")
    add(row, "x", valuetype="string", numbercolumnsrepeated="2")
    table.addElement(row)
    table.addElement(TableRow(numberrowsrepeated="1000000"))
    document.spreadsheet.addElement(table)
    old = Table(name="Old", stylename="ta2")
    row = TableRow()
    add(row, "14:45", valuetype="time", timevalue="PT14H45M00S")
    add(row, "26:45", valuetype="time", timevalue="PT26H45M00S")
    add(row, "yes", valuetype="boolean", booleanvalue="true")
    add(row, "1", valuetype="string")
    old.addElement(row)
    document.spreadsheet.addElement(old)
    document.save(str(tmp_path / "list.ods"))
    read = read_list(tmp_path / "list.ods")
    assert [(each.name, each.hidden) for each in read.sheets] == [("Prices", False), ("Old", True)]
    assert read.sheets[0].row_count == 5
    assert read.sheets[0].merged[2, 1] == (1, 1)
    assert cell(read, "Prices!A2").text == "Dunlin 50"
    assert 3 in read.sheets[0].hidden_columns
    assert cell(read, "Prices!C1").text == "64.9"
    assert 2 in read.sheets[0].hidden_rows
    found = read_teeth(cell(read, "Prices!B2"), teeth_column=True)
    assert [str(each) for each in found.value or ()] == ["10/12"]
    assert [cell(read, f"Prices!B{row}").text for row in (3, 4, 5)] == ["x", "x", "x"]
    assert cell(read, "Prices!C5").value is None
    assert cell(read, "Old!A1").value == dt.time(14, 45)
    assert cell(read, "Old!B1").value == dt.timedelta(hours=26, minutes=45)
    assert cell(read, "Old!C1").value is True
    assert cell(read, "Old!D1").value == "1"


@pytest.fixture(scope="module")
def office():
    """LibreOffice's own converter; Debian's package libreoffice-calc-nogui brings it."""
    program = shutil.which("soffice")
    if program is None:
        pytest.skip("LibreOffice is not installed (Debian: libreoffice-calc-nogui)")

    def convert(path, kind):
        folder = path.parent / f"to-{kind}"
        subprocess.run(
            [
                program,
                f"-env:UserInstallation=file://{path.parent}/profile",
                "--headless",
                "--convert-to",
                kind,
                "--outdir",
                str(folder),
                str(path),
            ],
            check=True,
            capture_output=True,
            timeout=120,
        )
        return folder / f"{path.stem}.{kind}"

    return convert


@pytest.mark.parametrize("kind", ["xlsx", "xls", "ods"])
def test_workbooks_by_libreoffice(tmp_path, office, kind):
    """The same list, written anew by another program in each format."""
    path = office(price_list(tmp_path / "list.xlsx"), kind)
    check_price_list(read_list(path))


def test_csv_by_libreoffice(tmp_path, office):
    """What a spreadsheet makes of the counts when it saves a sheet as text."""
    path = office(price_list(tmp_path / "list.xlsx"), "csv")
    sheet = read_list(path).sheets[0]
    found = {row: read_teeth(sheet.cell(row, 3), teeth_column=True) for row in range(5, 13)}
    assert [str(each) for each in found[5].value or ()] == ["15/38"]
    # A whole date, as this program writes one, may have been typed as such.
    assert found[6].status == "review"
    assert [[str(each) for each in pairs] for pairs in found[6].candidates] == [["10/12"]]
    assert [str(each) for each in found[7].value or ()] == ["12/45"]
    assert [str(each) for each in found[8].value or ()] == ["14/45"]
    assert found[9].status == "review"


def test_a_sheet_with_gaps_keeps_its_addresses(tmp_path):
    """Rows and columns left empty before and between shift nothing."""
    book = openpyxl.Workbook()
    book.active.title = "P"
    book.active["D7"], book.active["F9"], book.active["D11"] = "a", "b", "c"
    book.save(tmp_path / "list.xlsx")
    sheet = read_list(tmp_path / "list.xlsx").sheets[0]
    held = {
        sheet.cell(row, column).address: sheet.cell(row, column).text
        for row in range(1, sheet.row_count + 1)
        for column in range(1, sheet.column_count + 1)
        if not sheet.cell(row, column).blank
    }
    assert held == {"P!D7": "a", "P!F9": "b", "P!D11": "c"}


def test_numbers_too_long_are_marked(tmp_path):
    book = openpyxl.Workbook()
    book.active.title = "P"
    book.active.append([4012345678901, 12345678901234567890])
    book.save(tmp_path / "list.xlsx")
    read = read_list(tmp_path / "list.xlsx")
    assert (cell(read, "P!A1").text, cell(read, "P!A1").rounded) == ("4012345678901", False)
    assert (cell(read, "P!B1").text, cell(read, "P!B1").rounded) == ("12345678901234600000", True)


def test_cells_as_other_writers_write_them(tmp_path):
    """Rich text, escaped line breaks, inline texts, results of formulas: ECMA-376 part 1, 18.4."""
    book = openpyxl.Workbook()
    book.active.title = "P"
    book.active["A1"] = "x"
    book.save(tmp_path / "plain.xlsx")
    texts = (
        "<sst><si><t>a_x000D_\nb</t></si>"
        '<si><r><t>15</t></r><r><t xml:space="preserve">/38 </t></r></si></sst>'
    )
    cells = (
        '<c r="A1" t="s"><v>0</v></c><c r="B1" t="s"><v>1</v></c>'
        '<c r="C1" t="inlineStr"><is><t>in line</t></is></c>'
        '<c r="D1" t="str"><f>A1</f><v>14/45</v></c><c r="E1" t="e"><v>#N/A</v></c>'
        '<c r="F1"><v>1.5E-3</v></c><c r="G1" t="b"><v>0</v></c>'
    )
    with (
        zipfile.ZipFile(tmp_path / "plain.xlsx") as source,
        zipfile.ZipFile(tmp_path / "list.xlsx", "w") as target,
    ):
        parts = {name: source.read(name).decode() for name in source.namelist()}
        head, _, rest = parts["xl/worksheets/sheet1.xml"].partition("<sheetData>")
        tail = rest.partition("</sheetData>")[2]
        parts["xl/worksheets/sheet1.xml"] = (
            f'{head}<sheetData><row r="1">{cells}</row></sheetData>{tail}'
        )
        parts["xl/sharedStrings.xml"] = texts
        links = "xl/_rels/workbook.xml.rels"
        kind = "http://schemas.openxmlformats.org/officeDocument/2006/relationships/sharedStrings"
        if kind not in parts[links]:
            link = f'<Relationship Type="{kind}" Target="sharedStrings.xml" Id="rId99"/>'
            parts[links] = parts[links].replace("</Relationships>", f"{link}</Relationships>")
        for name, content in parts.items():
            target.writestr(name, content)
    sheet = read_list(tmp_path / "list.xlsx").sheets[0]
    found = [each.text for each in sheet.row(1)]
    assert found == ["a\nb", "15/38 ", "in line", "14/45", "#ERROR", "0.0015", "FALSE"]


def noted_xlsx(path):
    from openpyxl.comments import Comment

    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "P"
    for row in (["Nr", "Z"], ["A-1", "15/44"], ["A-2", "15/45"]):
        sheet.append(row)
    sheet["B2"].comment = Comment("wrong helix,\nask first", "somebody")
    sheet["A2"].comment = Comment("old stock", "somebody")
    book.save(path)


def noted_ods(path):
    from odf.dc import Creator
    from odf.office import Annotation
    from odf.opendocument import OpenDocumentSpreadsheet
    from odf.table import Table, TableCell, TableRow
    from odf.text import P

    document = OpenDocumentSpreadsheet()
    table = Table(name="P")
    for row in (["Nr", "Z"], ["A-1", "15/44"], ["A-2", "15/45"]):
        line = TableRow()
        for text in row:
            cell = TableCell(valuetype="string")
            note = {"A-1": ["old stock"], "15/44": ["wrong helix,", "ask first"]}.get(text)
            if note:
                annotation = Annotation()
                annotation.addElement(Creator(text="somebody"))
                for part in note:
                    annotation.addElement(P(text=part))
                cell.addElement(annotation)
            cell.addElement(P(text=text))
            line.addElement(cell)
        table.addElement(line)
    document.spreadsheet.addElement(table)
    document.save(path)


@pytest.mark.parametrize(("write", "name"), [(noted_xlsx, "l.xlsx"), (noted_ods, "l.ods")])
def test_what_is_noted_on_cells_is_read(tmp_path, write, name):
    write(tmp_path / name)
    (sheet,) = read_list(tmp_path / name).sheets
    assert sheet.comments == {2: ("old stock", "wrong helix, ask first")}
    assert sheet.values[1] == ["A-1", "15/44"]


def test_comments_that_can_be_answered_are_read_once(tmp_path):
    noted_xlsx(tmp_path / "l.xlsx")
    with (
        zipfile.ZipFile(tmp_path / "l.xlsx") as held,
        zipfile.ZipFile(tmp_path / "t.xlsx", "w") as new,
    ):
        for part in held.namelist():
            data = held.read(part)
            if part.endswith("sheet1.xml.rels"):
                kind = "urn:x/threadedComment"
                more = f'<Relationship Id="t1" Type="{kind}" Target="/xl/t.xml"/></Relationships>'
                data = data.replace(b"</Relationships>", more.encode())
            new.writestr(part, data)
        new.writestr(
            "xl/t.xml",
            '<ThreadedComments xmlns="x"><threadedComment ref="B3"><text>Is it 15/46?</text>'
            '</threadedComment><threadedComment ref="A2"><text>old stock</text>'
            "</threadedComment></ThreadedComments>",
        )
    (sheet,) = read_list(tmp_path / "t.xlsx").sheets
    assert sheet.comments[3] == ("Is it 15/46?",)
    assert sheet.comments[2] == ("old stock", "wrong helix, ask first")


def with_part(source, target, name, change):
    """A copy of an archive in which one part is changed."""
    with zipfile.ZipFile(source) as held, zipfile.ZipFile(target, "w") as new:
        for part in held.namelist():
            data = held.read(part)
            new.writestr(part, change(data) if part.endswith(name) else data)
    return target


def notes_of(read: SupplierList, topic: str) -> list[str]:
    assert not any(each.sure for each in read.notes if each.topic == topic)
    return [each.text for each in read.notes if each.topic == topic]


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda data: data.replace(b"wrong", b"wrong\x0b"), "wrong helix, ask first"),
        (lambda data: data.replace(b"wrong", b"wrong&#11;"), "wrong helix, ask first"),
        (lambda data: data.replace(b"</comment>", b"", 1), None),
        (lambda data: data[: len(data) // 2], None),
        (lambda data: b"", None),
        (lambda data: data.replace(b"?>", b"?><!DOCTYPE x>", 1) if b"?>" in data else b"", None),
    ],
)
def test_a_workbook_with_odd_notes_on_its_cells_is_read(tmp_path, change, said):
    noted_xlsx(tmp_path / "l.xlsx")
    path = with_part(tmp_path / "l.xlsx", tmp_path / "o.xlsx", "comment1.xml", change)
    read = read_list(path)
    assert read.sheets[0].values[1] == ["A-1", "15/44"]
    assert read.sheets[0].comments == ({2: ("old stock", said)} if said else {})
    told = "sheet 'P': its notes on cells could not be read; look for them in the list"
    assert notes_of(read, "comments") == ([] if said else [told])


@pytest.mark.parametrize("sign", [b"\x0b", b"&#11;"])
def test_notes_in_ods_may_hold_odd_signs(tmp_path, sign):
    noted_ods(tmp_path / "l.ods")

    def change(data):
        assert b"wrong" in data
        return data.replace(b"wrong", b"wrong" + sign)

    path = with_part(tmp_path / "l.ods", tmp_path / "o.ods", "content.xml", change)
    (sheet,) = read_list(path).sheets
    assert " ".join(sheet.comments[2][1].split()) == "wrong helix, ask first"
    assert sheet.values[1] == ["A-1", "15/44"]


def test_drawings_and_pictures_may_be_damaged(tmp_path):
    noted_xlsx(tmp_path / "l.xlsx")
    with zipfile.ZipFile(tmp_path / "l.xlsx", "a") as packed:
        packed.writestr("xl/media/image1.png", b"\x89PNG" + bytes(range(256)) * 9)
    data = bytearray((tmp_path / "l.xlsx").read_bytes())
    for name in (b"xl/media/image1.png", b"commentsDrawing1.vml"):
        place = data.index(name) + len(name)
        data[place + 8 : place + 16] = b"\xff" * 8
    (tmp_path / "d.xlsx").write_bytes(data)
    (sheet,) = read_list(tmp_path / "d.xlsx").sheets
    assert sheet.comments[2] == ("old stock", "wrong helix, ask first")


@pytest.mark.parametrize("cut", [0.1, 0.5, 0.9, 0.99])
def test_a_damaged_sheet_is_refused(tmp_path, cut):
    for write, name, part in (
        (noted_xlsx, "l.xlsx", "sheet1.xml"),
        (noted_ods, "l.ods", "content.xml"),
    ):
        write(tmp_path / name)
        path = with_part(
            tmp_path / name, tmp_path / f"d-{name}", part, lambda data: data[: int(len(data) * cut)]
        )
        with pytest.raises(UnreadableError, match="damaged"):
            read_list(path)


def test_damaged_styles_are_told(tmp_path):
    price_list(tmp_path / "l.xlsx")
    path = with_part(
        tmp_path / "l.xlsx", tmp_path / "d.xlsx", "styles.xml", lambda data: data[:400]
    )
    read = read_list(path)
    assert cell(read, "Preise 2026!C5").text == "15/38"
    assert "number formats and what is struck through are not known" in notes_of(read, "styles")[0]
    noted_ods(tmp_path / "l.ods")
    path = with_part(tmp_path / "l.ods", tmp_path / "d.ods", "styles.xml", lambda data: data[:90])
    read = read_list(path)
    assert read.sheets[0].values[1] == ["A-1", "15/44"]
    assert len(notes_of(read, "styles")) == 1


def struck_xlsx(path):
    from openpyxl.cell.rich_text import CellRichText, TextBlock
    from openpyxl.cell.text import InlineFont
    from openpyxl.styles import Font

    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "P"
    for row in (["Nr", "Z"], ["A-1", "15/44"], ["A-2", "15/45"]):
        sheet.append(row)
    sheet["A2"].font, sheet["B3"].font = Font(strike=True), Font(strike=False)
    sheet["C3"] = CellRichText("short ", TextBlock(InlineFont(strike=True), "mid"))
    book.save(path)


def struck_xls(path):
    book = xlwt.Workbook()
    sheet = book.add_sheet("P")
    for row, line in enumerate([["Nr", "Z"], ["A-1", "15/44"], ["A-2", "15/45"]]):
        for column, text in enumerate(line):
            struck = (row, column) == (1, 0)
            style = xlwt.easyxf(f"font: struck_out {struck}, bold {row == 0}")
            sheet.write(row, column, text, style)
    sheet.write(2, 2, "mid", xlwt.easyxf("font: struck_out true, italic true"))
    book.save(str(path))


def struck_ods(path):
    from odf.opendocument import OpenDocumentSpreadsheet
    from odf.style import Style, TextProperties
    from odf.table import Table, TableCell, TableRow
    from odf.text import P, Span

    document = OpenDocumentSpreadsheet()
    for name, family, line in (
        ("ce1", "table-cell", "solid"),
        ("ce2", "table-cell", "none"),
        ("T1", "text", "solid"),
    ):
        style = Style(name=name, family=family)
        style.addElement(TextProperties(textlinethroughstyle=line))
        kept = document.styles if name == "ce1" else document.automaticstyles
        kept.addElement(style)
    heir = Style(name="ce3", family="table-cell", parentstylename="ce1")
    document.automaticstyles.addElement(heir)
    table = Table(name="P")
    for row in (["Nr", "Z"], ["A-1", "15/44"], ["A-2", "15/45", "short "]):
        line = TableRow()
        for text in row:
            style = {"A-1": "ce3", "15/45": "ce2"}.get(text)
            cell = TableCell(valuetype="string", **({"stylename": style} if style else {}))
            paragraph = P(text=text)
            if text == "short ":
                paragraph.addElement(Span(stylename="T1", text="mid"))
            cell.addElement(paragraph)
            line.addElement(cell)
        table.addElement(line)
    document.spreadsheet.addElement(table)
    document.save(str(path))


@pytest.mark.parametrize(
    ("write", "name"),
    [(struck_xlsx, "l.xlsx"), (struck_xls, "l.xls"), (struck_ods, "l.ods")],
)
def test_what_is_struck_through_is_known(tmp_path, write, name):
    """Of C3 only a part, where the format can say so."""
    write(tmp_path / name)
    (sheet,) = read_list(tmp_path / name).sheets
    assert sheet.struck == {(2, 1), (3, 3)}
    assert sheet.cell(2, 1).struck
    assert not sheet.cell(3, 2).struck


def record(kind: int, data: bytes) -> bytes:
    return struct.pack("<HH", kind, len(data)) + data


def note_records(number: int, row: int, column: int, *pieces: bytes) -> bytes:
    """What a note on a cell is in BIFF8, after [MS-XLS] 2.4.181, 2.4.329 and 2.4.179."""
    count = sum(len(each) - 1 for each in pieces) // (2 if pieces[0][0] else 1)
    return (
        record(0x005D, struct.pack("<4H", 0x15, 0x12, 0x19, number) + bytes(14))
        + record(0x01B6, struct.pack("<HH6xHHI", 0x212, 0, count, 16, 0))
        + b"".join(record(0x003C, each) for each in pieces)
        + record(0x003C, bytes(16))
        + record(0x001C, struct.pack("<4H", row, column, 0, number) + b"\0\0\0\0")
    )


def test_what_is_noted_on_cells_of_an_xls_is_read(tmp_path, monkeypatch):
    notes = note_records(1, 1, 1, b"\0wrong ", b"\0helix") + note_records(
        2, 2, 0, b"\1" + "nur lange Gehäuse".encode("utf-16-le")
    )
    lost = record(0x001C, struct.pack("<4H", 0, 0, 0, 9) + b"\0\0\0\0")
    whole = xlwt.Worksheet.get_biff_data
    for more in (b"", lost):
        monkeypatch.setattr(
            xlwt.Worksheet,
            "get_biff_data",
            lambda self, more=more: whole(self)[:-4] + notes + more + whole(self)[-4:],
        )
        struck_xls(tmp_path / "l.xls")
        read = read_list(tmp_path / "l.xls")
        assert read.sheets[0].comments == {2: ("wrong helix",), 3: ("nur lange Gehäuse",)}
        assert len(notes_of(read, "comments")) == bool(more)


def test_the_currency_that_a_format_of_ods_shows_is_known(tmp_path):
    from odf.number import CurrencyStyle, CurrencySymbol, Number
    from odf.opendocument import OpenDocumentSpreadsheet
    from odf.style import Style
    from odf.table import Table, TableCell, TableRow

    document = OpenDocumentSpreadsheet()
    money = CurrencyStyle(name="N1")
    money.addElement(Number(decimalplaces="2", minintegerdigits="1"))
    money.addElement(CurrencySymbol(text="$"))
    document.automaticstyles.addElement(money)
    document.automaticstyles.addElement(Style(name="ce1", family="table-cell", datastylename="N1"))
    table = Table(name="P")
    row = TableRow()
    row.addElement(TableCell(valuetype="currency", value="45", stylename="ce1"))
    row.addElement(TableCell(valuetype="currency", value="45", currency="CHF"))
    table.addElement(row)
    document.spreadsheet.addElement(table)
    document.save(str(tmp_path / "l.ods"))
    read = read_list(tmp_path / "l.ods")
    for place in ("P!A1", "P!B1"):
        assert read_price(cell(read, place), currency="EUR").status == "review"
