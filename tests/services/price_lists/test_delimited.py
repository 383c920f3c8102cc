"""Text files: dialects held against Python's csv and pandas, and the mess they come in."""

from __future__ import annotations

import codecs
import csv
import io
import itertools
from pathlib import Path

import pandas as pd
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fitcheck.errors import UnreadableError, UsageError
from fitcheck.services.price_lists.reading import SupplierList, read_list
from tests.conftest import table

ROWS = [
    ["Artikel-Nr.", "Bezeichnung", "Zähne", "für", "Preis €"],
    ["GL-1001", 'Zahnradsatz "lang"; primär', "15/38", "Dunlin Ten\nDunlin Ten S", "1.064,90"],
    ["GL-1002", "Zahnradsatz, sekundär", "14/45", "Sanderling 50", "64,90"],
    ["GL-1003", "", "13/48", "Whimbrel|125", "59,00"],
    ["007", " mit Rand ", "12/51", "Größe: 10''", "0,50"],
]
ENCODINGS = {
    "utf-8": b"",
    "utf-8-sig": b"",
    "cp1252": b"",
    "utf-16-le": codecs.BOM_UTF16_LE,
    "utf-16-be": codecs.BOM_UTF16_BE,
    "utf-16-le without mark": b"",
    "utf-16-be without mark": b"",
    "utf-32-le": codecs.BOM_UTF32_LE,
}


def values(read: SupplierList) -> list[list[str]]:
    """All cells as texts, rows filled to one width."""
    sheet = read.sheets[0]
    return [
        [sheet.cell(row, column).text for column in range(1, sheet.column_count + 1)]
        for row in range(1, sheet.row_count + 1)
    ]


def written(rows: list[list[str]], mark: str, ending: str, quoting: int = csv.QUOTE_MINIMAL) -> str:
    file = io.StringIO(newline="")
    csv.writer(file, delimiter=mark, lineterminator=ending, quoting=quoting).writerows(rows)
    return file.getvalue()


def note(read: SupplierList, topic: str) -> str:
    return "; ".join(each.text for each in read.notes if each.topic == topic)


@table(
    ("mark", "encoding", "ending", "quoting"),
    [
        each
        for each in itertools.product(
            ";,\t|", ENCODINGS, ["\r\n", "\n", "\r"], [csv.QUOTE_MINIMAL, csv.QUOTE_ALL]
        )
        # Python's writer leaves a line feed unquoted where lines end in CR.
        if each[2:] != ("\r", csv.QUOTE_MINIMAL)
    ],
)
def test_dialects_read_as_python_csv_and_pandas_read_them(
    tmp_path, mark, encoding, ending, quoting
):
    """Nothing is told; csv and pandas are told everything."""
    codec = encoding.partition(" ")[0]
    text = written(ROWS, mark, ending, quoting)
    path = tmp_path / "list.csv"
    path.write_bytes(ENCODINGS[encoding] + text.encode(codec))
    read = read_list(path)
    oracle = list(csv.reader(io.StringIO(text, newline=""), delimiter=mark))
    assert oracle == ROWS
    assert values(read) == ROWS
    frame = pd.read_csv(
        io.StringIO(text, newline=""),
        sep=mark,
        header=None,
        dtype=str,
        keep_default_na=False,
        engine="python",
    )
    assert values(read) == frame.to_numpy().tolist()
    names = {";": "semicolon", ",": "comma", "\t": "tab", "|": "pipe"}
    assert note(read, "delimiter") == f"delimiter {names[mark]}"
    told = {"cp1252": "Windows-1252", "utf-8-sig": "UTF-8 with a byte order mark"}
    assert told.get(codec, codec.upper()[:5]) in note(read, "encoding")


cell_texts = st.text(
    st.characters(exclude_categories=["Cs", "Cc"], include_characters="\n\t"), max_size=12
)
tables = st.integers(2, 5).flatmap(
    lambda width: st.lists(
        st.lists(cell_texts, min_size=width, max_size=width), min_size=1, max_size=8
    )
)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(
    rows=tables,
    mark=st.sampled_from(";,\t|"),
    codec=st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "utf-32"]),
)
def test_any_table_comes_back_where_delimiter_and_encoding_are_given(tmp_path, rows, mark, codec):
    rows[0][0] = "Ref" + rows[0][0].replace("\n", "")  # not blank, no `sep=` line
    text = written(rows, mark, "\r\n", csv.QUOTE_ALL)
    path = tmp_path / "list.csv"
    path.write_bytes(text.encode(codec))
    read = read_list(path, delimiter=mark, encoding=codec)
    width = len(rows[0])
    expected = list(csv.reader(io.StringIO(text, newline=""), delimiter=mark))
    while not any(map(str.strip, expected[-1])):
        expected.pop()
    got = [(row + [""] * width)[:width] for row in values(read)]
    # csv keeps what a cell holds; only its line breaks are made one kind.
    assert got == [
        [cell.replace("\r\n", "\n").replace("\r", "\n") for cell in row] for row in expected
    ]


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(
    marks=st.tuples(st.sampled_from(";,\t|"), st.sampled_from(".,")),
    priced=st.lists(st.booleans(), min_size=3, max_size=12),
    codec=st.sampled_from(["utf-8", "cp1252", "utf-16-le"]),
)
def test_the_delimiter_of_a_list_is_found_out(tmp_path, marks, priced, codec):
    """Decimal commas, lists of models and title rows do not mislead."""
    mark, decimal = marks
    rows = [["Price list, spring; all models"], []]
    rows.append(["Art. no.", "Description", "Z", "Price"])
    for index, has_price in enumerate(priced):
        models = ", ".join(f"Dunlin {each}" for each in range(index % 4)) or "-"
        price = f"{40 + index * 7}{decimal}{index % 10}0" if has_price else ""
        rows.append([f"MA-{index:03d}", f"für {models}", f"{12 + index}/45", price])
    path = tmp_path / "list.csv"
    path.write_bytes(written(rows, mark, "\r\n").encode(codec))
    assert values(read_list(path)) == [(row + [""] * 4)[:4] for row in rows]


def test_a_sep_line_settles_the_delimiter_and_is_no_part_of_the_list(tmp_path):
    path = tmp_path / "list.csv"
    path.write_text("sep=|\nRef;a|Price, net\n1;2|3,4\n")
    read = read_list(path)
    assert values(read) == [["", ""], ["Ref;a", "Price, net"], ["1;2", "3,4"]]
    assert "first line" in note(read, "delimiter")


def test_addresses_count_rows_as_a_spreadsheet_does(tmp_path):
    path = tmp_path / "list.csv"
    path.write_text('Ref;For\n1;"Dunlin\nTen"\n\n2;Sanderling\n')
    sheet = read_list(path).sheets[0]
    assert [(sheet.cell(4, 2).address, sheet.cell(4, 2).text)] == [("4:2", "Sanderling")]
    assert sheet.is_blank(3)


def test_ragged_rows_are_kept_and_told(tmp_path):
    path = tmp_path / "list.csv"
    path.write_text("a;b;c\n1;2;3\n1;2;3\n1;2;3;4;5\n1\n")
    read = read_list(path)
    assert read.sheets[0].values[3:] == [["1", "2", "3", "4", "5"], ["1"]]
    assert note(read, "rows") == "1 row has more cells than the usual 3: row 4"


def test_nul_bytes_are_left_out_and_told(tmp_path):
    path = tmp_path / "list.csv"
    path.write_bytes(b"Ref;Price\r\nA\x001;64,90\r\n" + b"A2;1,00\r\n" * 40)
    read = read_list(path)
    assert values(read)[1] == ["A1", "64,90"]
    assert "1 NUL character " in note(read, "encoding")


def test_lines_of_two_encodings(tmp_path):
    path = tmp_path / "list.csv"
    path.write_bytes("Ref;Zähne\n".encode() + "1;für Größe\n".encode("cp1252"))
    read = read_list(path)
    assert values(read) == [["Ref", "Zähne"], ["1", "für Größe"]]
    assert "mixed encodings" in note(read, "encoding")


def test_code_page_850_is_told_as_uncertain(tmp_path):
    path = tmp_path / "list.csv"
    path.write_bytes("Ref;Zähne;für\n".encode("cp850"))
    read = read_list(path)
    assert values(read) == [["Ref", "Zähne", "für"]]
    assert not next(each for each in read.notes if each.topic == "encoding").sure


@pytest.mark.parametrize(
    ("codec", "ending", "name"),
    [
        ("cp858", "\r\n", "code page 850"),
        ("mac_roman", "\r", "Mac Roman"),
        ("cp1252", "\n", "1252"),
    ],
)
def test_old_encodings_are_told_by_the_words_they_make(tmp_path, codec, ending, name):
    """None of these bytes is one that Windows-1252 leaves open; Python encodes them."""
    rows = [["Réf", "Gehäuse", "für"], ["Ü-1", "größer, côté", "49,90 €"]]
    path = tmp_path / "list.csv"
    path.write_bytes(ending.join(";".join(row) for row in rows).encode(codec))
    read = read_list(path)
    assert values(read) == rows
    assert name in note(read, "encoding")
    assert not next(each for each in read.notes if each.topic == "encoding").sure


SIGNS = {
    "de": "Zähne|für|Größe|Stück|48,30 €|½ Satz|10° schräg|Ø 12|„grob“|GEHÄUSE|2 × 15/44",
    "fr": "Réf|à commander|48,30 €|cœur|l’unité|« long »|n° 5|étroit|COUPLE PRÉPARÉ",
    "it": "già|sì|è|Disponibilità|52,50 €|n° 3|perché",
    "es": "Año|Relación|¿stock?|nº 5|piñón|52,50 €",
    "en": "£45.00|“Sport”|customer’s|½ inch|– sold out|café|€ 45.00",
}


@table(
    ("codec", "text"),
    [
        (codec, text)
        for codec in ("cp1252", "iso8859-15")
        for texts in SIGNS.values()
        for text in texts.split("|")
        if text.encode(codec, "replace").decode(codec) == text
    ],
)
def test_one_sign_tells_the_encodings_of_today(tmp_path, codec, text):
    """Python encodes; the euro sign alone has another byte in each."""
    path = tmp_path / "list.csv"
    path.write_bytes(f"Ref;Name\nA-1;{text}\n".encode(codec))
    assert values(read_list(path))[1] == ["A-1", text]


@pytest.mark.parametrize("codec", ["cp1252", "iso8859-15", "cp858", "mac_roman"])
@pytest.mark.parametrize("language", SIGNS)
def test_a_list_in_one_language_tells_its_encoding(tmp_path, codec, language):
    rows = [
        ["A-1", text]
        for text in SIGNS[language].split("|")
        if text.encode(codec, "replace").decode(codec) == text
    ]
    path = tmp_path / "list.csv"
    path.write_bytes(written(rows, ";", "\n").encode(codec))
    read = read_list(path)
    assert values(read) == rows


def test_an_encoding_is_certain_where_no_other_makes_words(tmp_path):
    path = tmp_path / "list.csv"
    for text, codec, sure in (
        ("Zähne;48,30 €", "cp1252", True),
        ("Name;48,30 €", "iso8859-15", True),
        ("« long »;Š", "cp1252", False),
    ):
        path.write_bytes(f"Ref;{text}\n1;15/44\n".encode(codec))
        (found,) = [each for each in read_list(path).notes if each.topic == "encoding"]
        assert (found.sure, found.text[:10]) == (
            sure,
            "encoding W" if codec == "cp1252" else "encoding I",
        )


@pytest.mark.parametrize(
    ("written_in", "usual", "text"),
    [
        ("cp1250", "cp1250", "Žluna"),  # one that is not looked for
        ("mac_roman", "mac_roman", "già"),
        ("iso8859-15", "mac_roman", "Größe für 10 €"),  # it has changed
        ("utf-8", "cp1252", "Größe"),
    ],
)
def test_the_encoding_of_earlier_lists_is_believed_while_it_makes_words(
    tmp_path, written_in, usual, text
):
    path = tmp_path / "list.csv"
    path.write_bytes(f"Ref;{text}\n".encode(written_in))
    read = read_list(path, usual_encoding=usual)
    assert values(read) == [["Ref", text]]
    assert ("as in earlier lists" in note(read, "encoding")) == (written_in == usual)


def test_utf8_written_twice_is_set_right_and_told(tmp_path):
    path = tmp_path / "list.csv"
    text = "Réf;Zähne;für 49,90 €\nÜ-1;15/45;„grob“\n"
    twice = text.encode("utf-8").decode("cp1252").encode("utf-8")
    path.write_bytes(twice + "Â-2;âgé;Ãpfel ± ¼\n".encode())
    read = read_list(path)
    assert values(read) == [
        ["Réf", "Zähne", "für 49,90 €"],
        ["Ü-1", "15/45", "„grob“"],
        ["Â-2", "âgé", "Ãpfel ± ¼"],
    ]
    assert any("2 lines had been written in UTF-8 twice" in each.text for each in read.notes)


def test_texts_in_formulas_are_taken_out(tmp_path):
    """Spreadsheet programs take `="00123"` for the text 00123."""
    path = tmp_path / "list.csv"
    path.write_text('Ref;Text\n="00123";"=""1E5"""\n=1+2;a="b"\n', encoding="utf-8")
    read = read_list(path)
    assert values(read) == [["Ref", "Text"], ["00123", "1E5"], ["=1+2", 'a="b"']]
    assert "2 cells written as a formula" in note(read, "quoting")


def test_an_encoding_given_is_used(tmp_path):
    path = tmp_path / "list.csv"
    path.write_bytes("Ref;Zähne;Žluna\n".encode("cp1250"))
    assert values(read_list(path, encoding="cp1250")) == [["Ref", "Zähne", "Žluna"]]


def test_an_inch_mark_at_the_head_of_a_cell_does_not_swallow_the_list(tmp_path):
    path = tmp_path / "list.csv"
    path.write_text('Ref;Wheel;Price\n1;"10;64,90\n2;12";59,00\n3;10";1,00\n4;"x;2,00\n')
    read = read_list(path)
    assert read.sheets[0].row_count == 5
    assert values(read)[4] == ["4", '"x', "2,00"]
    assert "never closed" in note(read, "quoting")


def test_quotes_not_doubled_inside_quotes_are_told(tmp_path):
    path = tmp_path / "list.csv"
    path.write_text('Ref;Wheel\n1;"for 10" wheels"\n2;"x"\n')
    read = read_list(path)
    assert read.sheets[0].row_count == 3
    assert read.sheets[0].cell(3, 2).text == "x"
    assert note(read, "quoting")


def test_a_quoted_line_break_in_an_old_mac_file(tmp_path):
    path = tmp_path / "list.csv"
    path.write_bytes(b'Ref;For\r1;"Dunlin\rTen"\r2;x\r')
    assert values(read_list(path)) == [["Ref", "For"], ["1", "Dunlin\nTen"], ["2", "x"]]


def test_one_column_has_no_delimiter(tmp_path):
    path = tmp_path / "list.txt"
    path.write_text("Ref\nMA-1\nMA-2\n")
    read = read_list(path)
    assert values(read) == [["Ref"], ["MA-1"], ["MA-2"]]
    assert note(read, "delimiter") == "no delimiter: one column"


@pytest.mark.parametrize("given", [";", "semicolon", "SEMICOLON"])
def test_a_delimiter_is_given_as_a_mark_or_by_name(tmp_path, given):
    path = tmp_path / "list.csv"
    path.write_text("a,b;c\n1,2;3\n")
    assert values(read_list(path, delimiter=given)) == [["a,b", "c"], ["1,2", "3"]]


@pytest.mark.parametrize(
    ("options", "words"),
    [
        ({"delimiter": "ab"}, "is not a delimiter"),
        ({"delimiter": '"'}, "is not a delimiter"),
        ({"delimiter": ""}, "is not a delimiter"),
        ({"encoding": "utf-99"}, "there is no encoding 'utf-99'"),
        ({"encoding": "base64"}, "there is no encoding"),
        ({"sheet": "Prices"}, "has no sheets"),
    ],
)
def test_wrong_options_are_one_clear_line(tmp_path, options, words):
    path = tmp_path / "list.csv"
    path.write_text("a;b\n")
    with pytest.raises(UsageError, match=words) as error:
        read_list(path, **options)
    assert "\n" not in str(error.value)


def test_a_wrong_encoding_says_where(tmp_path):
    path = tmp_path / "list.csv"
    path.write_bytes(b"abc;\xe4\n")
    with pytest.raises(UnreadableError, match="byte 5 cannot be read"):
        read_list(path, encoding="utf-8")


def test_a_torn_utf16_file_is_one_clear_line(tmp_path):
    path = tmp_path / "list.csv"
    path.write_bytes(codecs.BOM_UTF16_LE + "Ref;Price".encode("utf-16-le")[:-1])
    with pytest.raises(UnreadableError, match="cut short"):
        read_list(path)


def test_a_path_may_be_text(tmp_path: Path):
    path = tmp_path / "list.csv"
    path.write_text("a;b\n1;2\n")
    assert read_list(str(path)).path == str(path)
