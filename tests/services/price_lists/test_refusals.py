"""Hostile and mistaken files: each is refused in one clear line, before memory is spent on it."""

from __future__ import annotations

import contextlib
import io
import os
import random
import struct
import tomllib
import zipfile
import zlib
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import openpyxl
import pytest
import xlwt
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fitcheck.errors import FitcheckError, UnreadableError, UsageError
from fitcheck.services.price_lists.reading import cells, delimited, read_list
from tests.conftest import EXPLORE

HTML = b"<html><body><table><tr><td>MA-1</td><td>64,90</td></tr></table></body></html>"
CONTENT_TYPES = (
    '<?xml version="1.0"?><Types xmlns="http://schemas.openxmlformats.org/package/2006/'
    'content-types"><Default Extension="xml" ContentType="application/xml"/></Types>'
)
WORKBOOK = (
    '<?xml version="1.0"?><workbook xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/'
    'main" xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships">'
    '<sheets><sheet name="Prices" sheetId="1" r:id="rId1"/></sheets></workbook>'
)
RELATIONS = (
    '<?xml version="1.0"?><Relationships xmlns="http://schemas.openxmlformats.org/package/2006/'
    'relationships"><Relationship Id="rId1" Type="http://schemas.openxmlformats.org/'
    'officeDocument/2006/relationships/worksheet" Target="worksheets/sheet1.xml"/></Relationships>'
)
ROOT = RELATIONS.replace('/worksheet"', '/officeDocument"').replace(
    "worksheets/sheet1", "xl/workbook"
)
SHEET = '<?xml version="1.0"?><worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main">'


LISTS = Path(__file__).parents[2] / "data" / "unseen-lists" / "traps"


def refusal(path, **options) -> str:
    with pytest.raises(FitcheckError) as error:
        read_list(path, **options)
    text = str(error.value)
    assert "\n" not in text
    assert text.startswith(str(path))
    return text


def xlsx(path, sheet: str | bytes, **parts: str | bytes):
    """A workbook of one sheet, by hand."""
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("[Content_Types].xml", CONTENT_TYPES)
        packed.writestr("_rels/.rels", ROOT)
        packed.writestr("xl/workbook.xml", WORKBOOK)
        packed.writestr("xl/_rels/workbook.xml.rels", RELATIONS)
        packed.writestr("xl/worksheets/sheet1.xml", sheet)
        for name, content in parts.items():
            packed.writestr(name, content)
    return path


SPREADSHEET = "application/vnd.oasis.opendocument.spreadsheet"


def ods(path, body: str, mimetype: str = SPREADSHEET, manifest: str = "<manifest/>"):
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("mimetype", mimetype)
        packed.writestr("META-INF/manifest.xml", manifest)
        packed.writestr(
            "content.xml",
            '<?xml version="1.0"?><office:document-content '
            'xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0" '
            'xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0" '
            'xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0"><office:body>'
            f"<office:spreadsheet>{body}</office:spreadsheet></office:body>"
            "</office:document-content>",
        )
    return path


def test_the_hand_made_workbooks_are_read_where_nothing_is_wrong(tmp_path):
    """So that the refusals below are refused for what they show."""
    sheet = f'{SHEET}<sheetData><row r="1"><c r="A1"><v>15</v></c></row></sheetData></worksheet>'
    assert read_list(xlsx(tmp_path / "a.xlsx", sheet)).sheets[0].cell(1, 1).text == "15"
    cell = '<table:table-cell office:value-type="string"><text:p>x</text:p></table:table-cell>'
    body = f'<table:table table:name="P"><table:table-row>{cell}</table:table-row></table:table>'
    assert read_list(ods(tmp_path / "a.ods", body)).sheets[0].cell(1, 1).address == "P!A1"


def test_no_such_file_a_folder_a_pipe_and_an_empty_file(tmp_path):
    assert "no such file" in refusal(tmp_path / "list.csv")
    (tmp_path / "folder.csv").mkdir()
    assert "is a folder" in refusal(tmp_path / "folder.csv")
    os.mkfifo(tmp_path / "pipe.csv")
    assert "not an ordinary file" in refusal(tmp_path / "pipe.csv")
    for name in ("list.csv", "list.xlsx", "list.xls", "list.ods"):
        (tmp_path / name).write_bytes(b"")
        assert "is empty" in refusal(tmp_path / name)
    for content in (b"\n\n  \n", b"\xef\xbb\xbf", b"\xff\xfe", b";;;\n;;;\n"):
        (tmp_path / "blank.csv").write_bytes(content)
        assert "is empty" in refusal(tmp_path / "blank.csv")


def test_a_file_over_100_mb(tmp_path):
    path = tmp_path / "list.csv"
    with path.open("wb") as file:
        file.truncate(cells.MAX_BYTES + 1)  # sparse: takes no room
    assert "at most 100 MB" in refusal(path)


@pytest.mark.parametrize("name", ["list.pdf", "list.xlsb", "list.docx", "list", "list.json"])
def test_a_suffix_no_list_has(tmp_path, name):
    (tmp_path / name).write_bytes(b"a;b\n")
    text = refusal(tmp_path / name)
    assert "a list is .csv" in text
    with pytest.raises(UsageError):
        read_list(tmp_path / name)


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("a.xls", HTML, "is a web page"),
        ("a.xls", b"\xef\xbb\xbf\r\n  <HTML>", "is a web page"),
        ("a.csv", HTML, "is a web page"),
        (
            "a.xls",
            b"\n<!-- made by a shop -->\n<table><tr><td>MA-1</td></tr></table>",
            "is a web page",
        ),
        ("a.xlsx", b"PK\x03\x04" + b"\x07" * 900, "damaged or cut short"),
        ("a.xls", b"<?xml version='1.0'?><Workbook/>", "is an XML file"),
        ("a.xls", b"Ref;Price\nMA-1;64,90\n", "is plain text.*rename it to end in .csv"),
        ("a.xlsx", b"Ref;Price\nMA-1;64,90\n", "is plain text.*rename it to end in .csv"),
        ("a.xlsx", bytes(range(256)) * 16, "is binary data of no known kind, not what .xlsx says"),
        ("a.ods", "Ref;Price\n".encode("utf-16"), "is plain text.*rename it to end in .csv"),
        ("a.csv", b"%PDF-1.7 ...", "is a PDF file"),
        ("a.xlsx", b"\x89PNG\r\n\x1a\n", "is a picture"),
        ("a.csv", b"\x1f\x8b\x08\x00", "is an archive"),
        ("a.csv", b"SQLite format 3\0", "is a database"),
        ("a.xlsx", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600), "compound file.*end in .xls"),
        ("a.xls", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600), "damaged"),
        ("a.xls", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "damaged"),
        ("a.xlsx", b"PK\x03\x04" + bytes(100), "ZIP archive"),
    ],
)
def test_a_file_that_is_not_what_its_suffix_says(tmp_path, name, content, words):
    (tmp_path / name).write_bytes(content)
    with pytest.raises(UnreadableError, match=words):
        read_list(tmp_path / name)
    refusal(tmp_path / name)


def test_a_workbook_under_another_workbooks_name(tmp_path):
    sheet = f"{SHEET}<sheetData/></worksheet>"
    assert "rename it to end in .xlsx" in refusal(xlsx(tmp_path / "a.xls", sheet))
    assert "rename it to end in .xlsx" in refusal(xlsx(tmp_path / "a.csv", sheet))
    assert "rename it to end in .ods" in refusal(ods(tmp_path / "a.xlsx", ""))
    with zipfile.ZipFile(tmp_path / "b.xlsx", "w") as packed:
        packed.writestr("word/document.xml", "<x/>")
    assert "is a letter" in refusal(tmp_path / "b.xlsx")
    letter = ods(tmp_path / "c.ods", "", "application/vnd.oasis.opendocument.text")
    assert "is not a spreadsheet" in refusal(letter)


@pytest.mark.parametrize("number", range(5))
def test_binary_rubbish(tmp_path, number):
    path = tmp_path / "list.csv"
    path.write_bytes(random.Random(number).randbytes(5000))
    refusal(path)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(data=st.binary(max_size=300), name=st.sampled_from(["a.csv", "a.xlsx", "a.xls", "a.ods"]))
def test_any_bytes_are_a_list_or_refused_in_one_line(tmp_path, data, name):
    (tmp_path / name).write_bytes(data)
    read_or_refused(tmp_path / name)


def test_rubbish_behind_a_workbooks_first_bytes(tmp_path):
    rubbish = random.Random(3).randbytes(20_000)
    for name, head in (
        ("a.xlsx", b"PK\x03\x04"),
        ("a.ods", b"PK\x03\x04"),
        ("a.xls", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"),
    ):
        (tmp_path / name).write_bytes(head + rubbish)
        refusal(tmp_path / name)


def read_or_refused(path) -> None:
    with contextlib.suppress(FitcheckError):
        read_list(path)
        return
    refusal(path)


def whole_workbooks(tmp_path):
    book = openpyxl.Workbook()
    for row in range(60):
        book.active.append([f"MA-{row}", "15/38", row / 7])
    book.save(tmp_path / "whole.xlsx")
    old = xlwt.Workbook()
    sheet = old.add_sheet("Prices")
    for row in range(60):
        sheet.write(row, 0, f"MA-{row}")
        sheet.write(row, 1, row / 7)
    old.save(str(tmp_path / "whole.xls"))
    return tmp_path / "whole.xlsx", tmp_path / "whole.xls"


CUTS = 25 if EXPLORE else 8


def test_workbooks_cut_short_or_with_bytes_turned_never_break_out(tmp_path):
    """Whatever is damaged: a list, or one clear line."""
    for whole in whole_workbooks(tmp_path):
        data = whole.read_bytes()
        for size in range(0, len(data), max(1, len(data) // CUTS)):
            path = tmp_path / f"cut{whole.suffix}"
            path.write_bytes(data[:size])
            if whole.suffix == ".xlsx":
                refusal(path)
                continue
            read_or_refused(path)  # the last sectors of an old workbook may hold nothing
        for place in range(0, len(data), max(1, len(data) // (6 * CUTS))):
            path = tmp_path / f"turned{whole.suffix}"
            path.write_bytes(data[:place] + bytes([data[place] ^ 0x5A]) + data[place + 1 :])
            read_or_refused(path)


def _turned(data: bytes, rng: random.Random) -> bytes:
    """A part with some bytes lost, added or turned."""
    for _ in range(rng.randint(1, 3)):
        at = rng.randrange(len(data))
        more = rng.choice([b"", b'"', b"<", b">", b"&", b"<!--", b'<c r="XFD1048576"><v>1</v></c>'])
        data = data[:at] + more + data[at + rng.choice([0, 0, 1, 30]) :]
    return data


@pytest.mark.parametrize("seed", range(2000 if EXPLORE else 60))
def test_a_workbook_with_a_damaged_part_is_read_or_refused_in_one_line(tmp_path, seed):
    """The reader of values never ends in some XML that is not well-formed."""
    rng = random.Random(seed)
    sheet = f'{SHEET}<sheetData><row r="1"><c r="A1"><v>15</v></c></row></sheetData></worksheet>'
    whole = rng.choice(
        [xlsx(tmp_path / "a.xlsx", sheet), ods(tmp_path / "a.ods", _body()), LISTS / "twill.ods"]
    )
    with zipfile.ZipFile(whole) as held:
        parts = {name: held.read(name) for name in held.namelist()}
    hit = rng.choice([name for name in parts if name.endswith(("xml", "rels"))])
    parts[hit] = _turned(parts[hit], rng)
    path = tmp_path / f"b{whole.suffix}"
    with zipfile.ZipFile(path, "w") as packed:
        for name, data in parts.items():
            packed.writestr(name, data)
    read_or_refused(path)


def test_a_zip_bomb_by_ratio(tmp_path):
    sheet = (
        SHEET.encode() + b"<sheetData>" + b"<row/>" * (10 * 1024**2) + b"</sheetData></worksheet>"
    )
    path = xlsx(tmp_path / "bomb.xlsx", sheet)
    assert path.stat().st_size < 200_000
    assert "refused as a trap" in refusal(path)


def test_a_zip_bomb_by_its_sum(tmp_path, monkeypatch):
    monkeypatch.setattr("fitcheck.services.price_lists.reading.archive.MAX_INFLATED", 5 * 1024**2)
    sheet = f"{SHEET}<sheetData/></worksheet>"
    noise = {f"xl/media/{n}.bin": os.urandom(1024**2) for n in range(6)}
    assert "unpacks to more than 5 MB" in refusal(xlsx(tmp_path / "sum.xlsx", sheet, **noise))


def test_a_zip_bomb_that_lies_about_its_size(tmp_path):
    """The declared size is small, what unfolds is not."""
    sheet = (
        SHEET.encode() + b"<sheetData>" + b"<row/>" * (10 * 1024**2) + b"</sheetData></worksheet>"
    )
    path = xlsx(tmp_path / "liar.xlsx", sheet)
    true = struct.pack("<I", len(sheet))
    data = path.read_bytes()
    assert data.count(true) == 2  # in the local and in the central header
    path.write_bytes(data.replace(true, struct.pack("<I", 5000)))
    assert "refused as a trap" in refusal(path)


def test_a_part_that_unfolds_to_another_size_than_it_declares(tmp_path):
    sheet = f"{SHEET}<sheetData/></worksheet>"
    path = xlsx(tmp_path / "liar.xlsx", sheet)
    true = struct.pack("<I", len(sheet))
    path.write_bytes(path.read_bytes().replace(true, struct.pack("<I", len(sheet) - 1)))
    assert "another size than it declares" in refusal(path)


def test_many_parts_and_two_of_one_name(tmp_path, monkeypatch):
    sheet = f"{SHEET}<sheetData/></worksheet>"
    path = xlsx(tmp_path / "a.xlsx", sheet, **{f"x/{n}": "" for n in range(30)})
    monkeypatch.setattr("fitcheck.services.price_lists.reading.archive.MAX_PARTS", 20)
    assert "parts" in refusal(path)
    monkeypatch.undo()
    with pytest.warns(UserWarning, match="Duplicate name"):
        xlsx(tmp_path / "b.xlsx", sheet, **{"xl/workbook.xml": WORKBOOK})
    assert "one name" in refusal(tmp_path / "b.xlsx")


@pytest.mark.parametrize(
    "trick",
    [
        '<!DOCTYPE x [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;&a;">]>',
        '<!DOCTYPE x SYSTEM "file:///etc/passwd">',
    ],
)
def test_document_types_and_entities_in_a_sheet(tmp_path, trick):
    sheet = SHEET.replace('<?xml version="1.0"?>', f'<?xml version="1.0"?>{trick}')
    path = xlsx(tmp_path / "a.xlsx", f"{sheet}<sheetData/></worksheet>")
    assert "refused as a trap" in refusal(path)
    path = ods(tmp_path / "a.ods", "")
    data = zipfile.ZipFile(path).read("content.xml").decode()
    with zipfile.ZipFile(path, "w") as packed:
        packed.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
        packed.writestr("content.xml", data.replace("?>", f"?>{trick}", 1))
    assert "refused as a trap" in refusal(path)


def test_a_huge_cell_in_a_workbook(tmp_path):
    # Noise, so that it does not pack like a trap.
    text = random.Random(1).randbytes(1_000_000).hex()
    sheet = (
        f'{SHEET}<sheetData><row r="1"><c r="A1" t="inlineStr"><is><t>{text}</t></is></c></row>'
        "</sheetData></worksheet>"
    )
    assert "at most 131,072 are read" in refusal(xlsx(tmp_path / "a.xlsx", sheet))
    strings = f"<sst><si><t>{text}</t></si></sst>"
    sheet = (
        f'{SHEET}<sheetData><row r="1"><c r="A1" t="s"><v>0</v></c></row></sheetData></worksheet>'
    )
    path = xlsx(tmp_path / "b.xlsx", sheet, **{"xl/sharedStrings.xml": strings})
    assert "at most 131,072 are read" in refusal(path)
    cell = (
        f'<table:table-cell office:value-type="string"><text:p>{text}</text:p></table:table-cell>'
    )
    body = f'<table:table table:name="P"><table:table-row>{cell}</table:table-row></table:table>'
    assert "at most 131,072 are read" in refusal(ods(tmp_path / "c.ods", body))


@pytest.mark.parametrize("ending", ["", "\n"])
@pytest.mark.parametrize("quote", ["", '"'])
def test_a_huge_cell_in_a_text_file(tmp_path, quote, ending):
    path = tmp_path / "list.csv"
    line = "x" * 1000 + ending
    path.write_text(f"Ref;Text\n1;{quote}{line * 3000}{quote};z\n")
    text = refusal(path) if quote or not ending else ""
    assert "characters" in text or not text


def test_a_million_columns(tmp_path):
    path = tmp_path / "list.csv"
    path.write_text("Ref" + ";" * 999_999 + "\n1;2\n")
    assert "1,000,000 columns; at most 1,000" in refusal(path)
    path.write_text("Ref;x\n1;2\n" + ";" * 3_000_000 + "\n")
    assert "3,000,001 columns" in refusal(path, delimiter=";")


def test_more_than_a_million_rows(tmp_path, monkeypatch):
    most = delimited.MAX_ROWS
    assert most == 1_000_000
    if not EXPLORE:
        monkeypatch.setattr(delimited, "MAX_ROWS", most := 10_000)
    path = tmp_path / "list.csv"
    path.write_text("a;b\n" * most)
    read_list(path)
    path.write_text("a;b\n" * (most + 1))
    assert f"more than {most:,} rows" in refusal(path)


def far_cell(reference: str) -> str:
    cells = f'<c r="A1"><v>1</v></c><c r="{reference}"><v>1</v></c>'
    return f"{SHEET}<sheetData><row>{cells}</row></sheetData></worksheet>"


@pytest.mark.parametrize(
    ("reference", "words"),
    [
        ("XFD1048576", "1,048,576 rows"),
        ("A1000001", "1,000,001 rows"),
        ("XFD2", "16,384 columns"),
        ("ALL500000", "cells"),
        ("A99999999", "rows"),
        ("ZZZZZZZZ1", "columns"),
        ("A0", "placed at"),
        ("1", "placed at"),
        ("AÄ1", "placed at"),
        ("A99999999999999999999", "placed at"),
    ],
)
def test_a_far_cell_does_not_make_a_sheet_of_billions(tmp_path, reference, words):
    assert words in refusal(xlsx(tmp_path / "a.xlsx", far_cell(reference)))


@pytest.mark.parametrize(("rows", "columns"), [(2_000_000, 1), (1, 2_000), (900_000, 900)])
def test_repeats_in_ods_do_not_make_a_sheet_of_billions(tmp_path, rows, columns):
    cell = (
        f'<table:table-cell office:value-type="float" office:value="1" '
        f'table:number-columns-repeated="{columns}"/>'
    )
    body = (
        f'<table:table table:name="P"><table:table-row table:number-rows-repeated="{rows}">'
        f"{cell}</table:table-row></table:table>"
    )
    assert "at most" in refusal(ods(tmp_path / "a.ods", body))


def test_empty_repeats_to_the_sheets_end_are_usual_in_ods(tmp_path):
    body = (
        '<table:table table:name="P"><table:table-row>'
        '<table:table-cell office:value-type="string"><text:p>x</text:p></table:table-cell>'
        '<table:table-cell table:number-columns-repeated="16383"/></table:table-row>'
        '<table:table-row table:number-rows-repeated="1048575">'
        '<table:table-cell table:number-columns-repeated="16384"/></table:table-row></table:table>'
    )
    sheet = read_list(ods(tmp_path / "a.ods", body)).sheets[0]
    assert (sheet.row_count, sheet.column_count) == (1, 1)


def test_an_old_workbook_with_far_cells_on_many_sheets(tmp_path):
    book = xlwt.Workbook()
    for number in range(12):
        sheet = book.add_sheet(f"S{number}")
        sheet.write(0, 0, 1)
        sheet.write(65535, 255, 1)
    book.save(str(tmp_path / "a.xls"))
    assert "cells" in refusal(tmp_path / "a.xls")


@pytest.mark.parametrize("count", ["999999999999", "-1", "4294967295", "x"])
@pytest.mark.parametrize("name", ["count", "uniqueCount"])
def test_a_table_of_texts_that_declares_too_many(tmp_path, count, name):
    """The reader would take memory for as many as are declared, and end the process."""
    cell = '<row r="1"><c r="A1" t="s"><v>0</v></c></row>'
    sheet = f"{SHEET}<sheetData>{cell}</sheetData></worksheet>"
    texts = f'<?xml version="1.0"?><sst {name}="{count}"><si><t>x</t></si></sst>'
    assert "declares" in refusal(
        xlsx(tmp_path / "a.xlsx", sheet, **{"xl/sharedStrings.xml": texts})
    )
    texts = f"<?xml version=\"1.0\"?><x:sst {name} = '{count}'><x:si><x:t>x</x:t></x:si></x:sst>"
    assert "declares" in refusal(xlsx(tmp_path / "b.xlsx", sheet, **{"xl/texts.xml": texts}))


def test_an_old_workbook_that_declares_too_many_rows(tmp_path):
    """As above: DIMENSIONS ([MS-XLS] 2.4.90) is believed before a cell is seen."""
    data = bytearray(whole_workbooks(tmp_path)[1].read_bytes())
    place = data.find(struct.pack("<HH", 0x0200, 14))
    assert place > 0
    struct.pack_into("<IIHH", data, place + 4, 0, 0x7FFFFFFF, 0, 0x7FFF)
    (tmp_path / "a.xls").write_bytes(data)
    assert "more than an .xls can hold" in refusal(tmp_path / "a.xls")


def test_locked_workbooks(tmp_path):
    # A locked XLSX is a compound file with a stream EncryptedPackage ([MS-OFFCRYPTO]).
    (tmp_path / "a.xls").write_bytes(compound({"EncryptedPackage": b"x" * 5000}))
    assert "locked with a password" in refusal(tmp_path / "a.xls")
    (tmp_path / "a.xlsx").write_bytes(compound({"EncryptedPackage": b"x" * 5000}))
    assert "locked with a password" in refusal(tmp_path / "a.xlsx")
    # A locked XLS has a record FILEPASS (0x002F) behind the first BOF ([MS-XLS] 2.4.117).
    stream = struct.pack("<HHHHHHII", 0x0809, 16, 0x0600, 5, 0, 0, 0, 0)
    stream += struct.pack("<HHH", 0x002F, 2, 0) + struct.pack("<HH", 0x000A, 0)
    (tmp_path / "b.xls").write_bytes(compound({"Workbook": stream.ljust(5000, b"\0")}))
    assert "locked with a password" in refusal(tmp_path / "b.xls")
    (tmp_path / "c.xls").write_bytes(compound({"WordDocument": b"x" * 5000}))
    assert "is a letter" in refusal(tmp_path / "c.xls")
    path = ods(tmp_path / "d.ods", "", manifest="<m><manifest:encryption-data/></m>")
    assert "locked with a password" in refusal(path)
    with zipfile.ZipFile(path) as packed:
        data = bytearray(path.read_bytes())
        for info in packed.infolist():
            data[info.header_offset + 6] |= 1
    place = data.find(b"PK\x01\x02")
    while place >= 0:
        data[place + 8] |= 1
        place = data.find(b"PK\x01\x02", place + 4)
    (tmp_path / "e.ods").write_bytes(bytes(data))
    assert "locked with a password" in refusal(tmp_path / "e.ods")


def _cased(source, target, name: str, written: str):
    """A copy of an archive in which one part is named otherwise."""
    with zipfile.ZipFile(source) as held, zipfile.ZipFile(target, "w") as packed:
        for part in held.namelist():
            packed.writestr(written if part == name else part, held.read(part))
    return target


def _body(style: str = "") -> str:
    cell = '<table:table-cell office:value-type="string"><text:p>x</text:p></table:table-cell>'
    row = f"<table:table-row>{cell}</table:table-row>"
    return f'<table:table table:name="P"{style}>{row}</table:table>'


def test_parts_of_an_ods_are_found_in_any_letter_case(tmp_path):
    """Styles.xml and STYLES.XML ended in a fault of fitcheck's own."""
    path = ods(tmp_path / "a.ods", _body(' table:style-name="t"'))
    with zipfile.ZipFile(path, "a") as packed:
        packed.writestr(
            "STYLES.XML",
            '<?xml version="1.0"?><office:document-styles '
            'xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0" '
            'xmlns:style="urn:oasis:names:tc:opendocument:xmlns:style:1.0" '
            'xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0">'
            '<office:automatic-styles><style:style style:name="t" style:family="table">'
            '<style:table-properties table:display="false"/></style:style>'
            "</office:automatic-styles></office:document-styles>",
        )
    assert read_list(path).sheets[0].hidden, "the styles were read"


@pytest.mark.parametrize("name", ["mimetype", "content.xml", "META-INF/manifest.xml"])
@pytest.mark.parametrize("how", ["cased", "gone"])
def test_a_part_in_another_letter_case_or_missing_is_no_fault_of_ours(tmp_path, name, how):
    """Whether the list is read or refused is another matter, and not the same for all parts."""
    path = ods(tmp_path / "a.ods", _body())
    written = name.upper() if how == "cased" else "elsewhere"
    _cased(path, tmp_path / "b.ods", name, written)
    with contextlib.suppress(FitcheckError):
        read_list(tmp_path / "b.ods")


@pytest.mark.parametrize("how", ["cased", "gone"])
def test_every_part_of_an_xlsx_may_be_in_another_letter_case_or_missing(tmp_path, how):
    book = openpyxl.Workbook()
    book.active.append(["A-1", "15/44", 49.9])
    book.save(tmp_path / "a.xlsx")
    with zipfile.ZipFile(tmp_path / "a.xlsx") as packed:
        names = packed.namelist()
    for name in names:
        written = name.swapcase() if how == "cased" else "elsewhere"
        path = _cased(tmp_path / "a.xlsx", tmp_path / "b.xlsx", name, written)
        with contextlib.suppress(FitcheckError):
            read_list(path)


@pytest.mark.parametrize("encoding", ["UTF-s", "shift_jis", "rot13", "idna", "utf-7", "\u00e9"])
def test_a_part_in_an_encoding_that_no_parser_knows(tmp_path, encoding):
    sheet = SHEET.replace("?>", f' encoding="{encoding}"?>', 1) + "</worksheet>"
    assert "damaged" in refusal(xlsx(tmp_path / "a.xlsx", sheet))


def test_a_part_in_an_encoding_of_one_byte_is_read(tmp_path):
    data = '<sheetData><row r="1"><c r="A1"><v>15</v></c></row></sheetData></worksheet>'
    sheet = SHEET.replace("?>", ' encoding="ISO-8859-1"?>', 1) + data
    assert read_list(xlsx(tmp_path / "a.xlsx", sheet)).sheets[0].cell(1, 1).text == "15"


def _panicking(path):
    """A workbook with a formula whose length points far beyond its record."""
    book = xlwt.Workbook()
    book.add_sheet("P").write(0, 0, xlwt.Formula("D1*2"))
    book.save(str(path))
    data = bytearray(path.read_bytes())
    record = data.index(struct.pack("<HH", 0x0006, 31))
    data[record + 4 + 21] = 0xA2
    path.write_bytes(data)
    return path


def test_the_foreign_readers_panic_is_not_printed(tmp_path, capfd):
    """Four lines of machine code's own stood before our one."""
    before = os.fstat(2)
    text = refusal(_panicking(tmp_path / "a.xls"))
    assert text.endswith("the workbook is damaged; save it again")
    assert capfd.readouterr() == ("", "")
    assert os.path.samestat(before, os.fstat(2))


def test_standard_error_is_put_back_whichever_thread_reads_last(tmp_path, capfd):
    path = _panicking(tmp_path / "a.xls")
    before = os.fstat(2)

    def read(_: int) -> None:
        for _ in range(20):
            with contextlib.suppress(FitcheckError):
                read_list(path)

    with ThreadPoolExecutor(4) as pool:
        list(pool.map(read, range(4)))
    assert os.path.samestat(before, os.fstat(2))
    os.write(2, b"still here")
    assert capfd.readouterr().err == "still here"


def compound(streams: dict[str, bytes]) -> bytes:
    """A compound file by hand, version 3, after [MS-CFB]; streams of 4,096 bytes or more."""
    size = 512
    body = b""
    chains: list[tuple[int, int]] = []
    for content in streams.values():
        assert len(content) >= 4096
        chains.append((len(body) // size, len(content)))
        body += content.ljust(-(-len(content) // size) * size, b"\0")
    fat = []
    for start, length in chains:
        sectors = -(-length // size)
        fat += [start + n + 1 for n in range(sectors - 1)] + [0xFFFFFFFE]

    def entry(name: str, kind: int, child: int, start: int, length: int) -> bytes:
        raw = name.encode("utf-16-le") + b"\0\0"
        head = raw.ljust(64, b"\0") + struct.pack("<HBB", len(raw), kind, 1)
        ends = struct.pack("<III", 0xFFFFFFFF, 0xFFFFFFFF, child)
        return head + ends + bytes(36) + struct.pack("<IQ", start, length)

    directory = entry("Root Entry", 5, 1, 0xFFFFFFFE, 0)
    for name, (start, length) in zip(streams, chains, strict=True):
        directory += entry(name, 2, 0xFFFFFFFF, start, length)
    directory = directory.ljust(size, b"\0")
    directory_at = len(body) // size
    body += directory
    fat.append(0xFFFFFFFE)
    table_at = len(body) // size
    fat.append(0xFFFFFFFD)
    table = b"".join(struct.pack("<I", each) for each in fat)
    body += table.ljust(size, b"\xff")
    header = (
        b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
        + bytes(16)
        + struct.pack("<HHHHH", 0x3E, 3, 0xFFFE, 9, 6)
    )
    header += (
        bytes(6)
        + struct.pack("<II", 0, 1)
        + struct.pack("<IIII", directory_at, 0, 4096, 0xFFFFFFFE)
    )
    header += struct.pack("<III", 0, 0xFFFFFFFE, 0) + struct.pack("<I", table_at)
    return header.ljust(512, b"\xff") + body


@pytest.mark.parametrize("at", [40, 44, 64, 72])
def test_a_compound_file_that_declares_too_many_sectors(tmp_path, at):
    data = bytearray(whole_workbooks(tmp_path)[1].read_bytes())
    struct.pack_into("<I", data, at, 0x7FFFFFFF)
    (tmp_path / "a.xls").write_bytes(data)
    assert "damaged" in refusal(tmp_path / "a.xls")


def test_a_compound_file_whose_chains_run_in_a_circle(tmp_path):
    data = bytearray(compound({"Workbook": bytes(6000)}))
    table = 512 * (1 + struct.unpack_from("<I", data, 76)[0])
    struct.pack_into("<I", data, table, 0)
    (tmp_path / "a.xls").write_bytes(bytes(data))
    assert "damaged" in refusal(tmp_path / "a.xls")


def test_the_package_that_reads_workbooks_comes_with_the_plain_install():
    project = tomllib.loads(
        Path(__file__).parents[3].joinpath("pyproject.toml").read_text("utf-8")
    )["project"]
    assert any(each.startswith("python-calamine") for each in project["dependencies"])
    assert "lists" not in project["optional-dependencies"]


def test_an_empty_workbook_and_a_sheet_that_is_not_there(tmp_path):
    book = openpyxl.Workbook()
    book.active.title = "Prices"
    book.save(tmp_path / "a.xlsx")
    assert "is empty" in refusal(tmp_path / "a.xlsx")
    book.active["A1"] = "x"
    book.save(tmp_path / "a.xlsx")
    assert "did you mean 'Prices'" in refusal(tmp_path / "a.xlsx", sheet="Price")
    assert "it has 'Prices'" in refusal(tmp_path / "a.xlsx", sheet="Bestand")
    assert read_list(tmp_path / "a.xlsx", sheet="prices").row_count == 1
    for option in ("encoding", "delimiter"):
        assert f"a workbook has no {option}" in refusal(tmp_path / "a.xlsx", **{option: ";"})


def test_too_many_sheets(tmp_path):
    book = openpyxl.Workbook()
    for number in range(cells.MAX_SHEETS):
        book.create_sheet(f"S{number}")["A1"] = 1
    book.save(tmp_path / "a.xlsx")
    assert "at most 200" in refusal(tmp_path / "a.xlsx")


def test_a_part_packed_in_an_unusual_way(tmp_path):
    with zipfile.ZipFile(tmp_path / "a.xlsx", "w", zipfile.ZIP_BZIP2) as packed:
        packed.writestr("xl/workbook.xml", WORKBOOK)
    assert "packed as workbooks are not" in refusal(tmp_path / "a.xlsx")


def test_a_stream_cut_inside_a_part(tmp_path):
    sheet = f"{SHEET}<sheetData>{'<row/>' * 50}</sheetData></worksheet>"
    buffer = io.BytesIO()
    xlsx(buffer, sheet)
    data = buffer.getvalue()
    packed = zlib.compress(sheet.encode())[2:-4]
    place = data.find(packed[5:25])
    assert place > 0
    (tmp_path / "a.xlsx").write_bytes(data[:place] + b"\xff" * 20 + data[place + 20 :])
    assert "damaged" in refusal(tmp_path / "a.xlsx")
