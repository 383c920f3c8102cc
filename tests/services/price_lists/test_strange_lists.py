"""Small lists as strangers write them, and what a careful counter hand makes of each row.

Nothing is taken wrongly, and what is plain is taken. Common practice, no source; all names are
invented.
"""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import openpyxl
import pytest

from fitcheck.catalogue.reader import Catalogue, load
from fitcheck.services.price_lists.outcomes import RowOutcome
from fitcheck.services.price_lists.plan import plan_list
from fitcheck.services.price_lists.reading import read_list
from tests.conftest import table

ROOT = Path(__file__).parents[3]
_SIGNS = {"{NBSP}": "\u00a0", "{NNBSP}": "\u202f", "{ZWSP}": "\u200b"}


def lists_of(path: Path) -> list[tuple[str, str, dict[int, str]]]:
    """Title, text and expected outcome by row of each list in a file."""
    found = []
    for block in path.read_text(encoding="utf-8").split("\n## ")[1:]:
        title, _, rest = block.partition("\n")
        text, _, expected = rest.rpartition("\n--\n")
        for name, sign in _SIGNS.items():
            text = text.replace(name, sign)
        rows = (line.split(": ", 1) for line in expected.split("\n") if line)
        found.append((title, f"{text}\n", {int(row): outcome for row, outcome in rows}))
    return found


LISTS = lists_of(Path(__file__).with_name("strange_lists.txt"))


def shown(row: RowOutcome) -> str:
    """An outcome as the file writes it."""
    if row.outcome not in ("new", "changed", "unchanged"):
        return {"review": "?", "unreadable": "unreadable", "ignored": row.kind}[row.outcome]
    fields = row.fields
    said = [f"{stage} {pair}" for stage, pair in fields.get("pairs", {}).items()]
    said += row.families
    if "price" in fields:
        other = "" if fields["currency"] == "EUR" else f" {fields['currency']}"
        said.append(f"{fields['price']}{other}")
    said += [f"fits {'+'.join(claim['housings'])}" for claim in fields.get("fits", [])]
    return ", ".join(said)


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Catalogue:
    root = tmp_path_factory.mktemp("shop")
    for folder in ("families", "suppliers"):
        (root / folder).mkdir()
    for path in (ROOT / "catalog" / "families").glob("*.yaml"):
        (root / "families" / path.name).write_bytes(path.read_bytes())
    supplier = "kind: supplier\nrecords:\n  saltwort: {name: Saltwort, currency: EUR}\n"
    (root / "suppliers" / "saltwort.yaml").write_text(supplier, encoding="utf-8")
    return load(root)


@table(("title", "text", "expected"), LISTS)
def test_strange_lists(title, text, expected, shop, tmp_path):
    path = tmp_path / "list.csv"
    path.write_bytes(text.encode("utf-8"))
    read = read_list(path)
    supplier, date = shop.suppliers["saltwort"], dt.date(2026, 2, 3)
    first = plan_list(shop, read, supplier, date=date)
    first.proof(read.row_count)
    wrong = {row.row: shown(row) for row in first.rows if row.row in expected}
    assert all(said in ("?", expected[row]) for row, said in wrong.items())
    # What is expected of a row holds once its unknown words were said to change
    # nothing, and its price, which may be far from the others, to be meant.
    taught = {
        key: first.questions[key].choices[0]
        for row in first.rows
        if expected.get(row.row, "?") != "?"
        for key in row.questions
        if first.questions[key].choices[:1] in (("harmless",), ("as read",))
        or first.questions[key].text.startswith("Does ")
    }
    plan = plan_list(shop, read, supplier, date=date, answers=taught)
    assert {row.row: shown(row) for row in plan.rows if row.row in expected} == expected


def _headed(sheet):
    """Two header rows with merged cells, models merged down, a hidden column of old prices."""
    sheet.append(["PRICE LIST", None, None, None, None])
    sheet.merge_cells("A1:E1")
    sheet.append(["Article", "Gears", None, "Price", None])
    sheet.merge_cells("B2:C2")
    sheet.merge_cells("D2:E2")
    sheet.append(["code", "teeth", "stage", "old", "net"])
    sheet.append([15, "15/45", "primary", 45, 49.9])
    sheet["A4"].number_format = "0000"
    sheet.append(["0016", dt.datetime(1945, 12, 1), "primary", 45, 49.9])
    sheet["B5"].number_format = "mmm-yy"
    sheet.append(["0017", dt.datetime(2026, 10, 12), "primary", 45, 49.9])
    sheet.append(["0018", "13/50", "secondary", 45, 49.9])
    sheet["E7"].number_format = "[$CHF] #,##0.00"
    sheet.append(["0019", "13/51", "secondary", 45, 49.9])
    sheet["E8"].number_format = '0.00"/2 pcs"'
    sheet.column_dimensions["D"].hidden = True


def test_a_strange_workbook(shop, tmp_path):
    """Made by openpyxl, which the intake does not read with."""
    book = openpyxl.Workbook()
    book.active.title = "Dunlin 50"
    _headed(book.active)
    other = book.create_sheet("Whimbrel 125")
    other.append(["Nr", "Z1", "Z2", "Stufe", "EUR"])
    other.append(["E-1", 18, 47, "primär", 66.5])
    other.append(["E-2", 47, 18, "primär", 66.5])
    path = tmp_path / "list.xlsx"
    book.save(path)
    read = read_list(path)
    plan = plan_list(shop, read, shop.suppliers["saltwort"], date=dt.date(2026, 2, 3))
    plan.proof(read.row_count)
    assert {row.part_number: shown(row) for row in plan.rows if row.part_number} == {
        "0015": "primary 15/45, dunlin-50, 49.90",
        "0016": "?",
        "0017": "?",
        "0018": "?",
        "0019": "?",
        "E-1": "primary 18/47, whimbrel-125, 66.50",
        "E-2": "?",
    }


def test_struck_cells_and_the_currency_in_a_sheets_name(shop, tmp_path):
    """A row struck through is asked, and sold no more; a cell struck through is asked for."""
    head = ["Nr", "Z", "Stufe", "Modell", "Preis"]
    book = openpyxl.Workbook()
    book.active.title = "EUR"
    for row in (
        head,
        ["S-1", "15/45", "primär", "Dunlin 50", 49.9],
        ["S-2", "15/46", "primär", "Dunlin 50", 49.9],
        ["S-3", "15/47", "primär", "Dunlin 50", 49.9],
        ["S-4", "15/48", "primär", "Dunlin 50", 49.9],
    ):
        book.active.append(row)
    for place in ("A2", "B2", "C2", "D2", "E2", "B3", "E4"):
        book.active[place].font = openpyxl.styles.Font(strike=True)
    other = book.create_sheet("USD")
    other.append(head)
    other.append(["S-5", "15/49", "primär", "Dunlin 50", 54.9])
    path = tmp_path / "list.xlsx"
    book.save(path)
    supplier = shop.suppliers["saltwort"]
    plan = plan_list(shop, read_list(path), supplier, date=dt.date(2026, 2, 3))
    found = {row.part_number: shown(row) for row in plan.rows if row.part_number}
    assert found == {
        "S-1": "?",
        "S-2": "?",
        "S-3": "?",
        "S-4": "primary 15/48, dunlin-50, 49.90",
        "S-5": "?",
    }
    answers = {key: "as read" for key in plan.questions if "struck through" in key}
    plan = plan_list(shop, read_list(path), supplier, date=dt.date(2026, 2, 3), answers=answers)
    withdrawn = next(row for row in plan.rows if row.part_number == "S-1")
    assert withdrawn.fields["availability"] == "discontinued"
    assert withdrawn.notes == ("!! the row is struck through",)


def test_the_file_is_what_it_says():
    assert len(LISTS) >= 85
    assert sum(len(expected) for _, _, expected in LISTS) >= 610
