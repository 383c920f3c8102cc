"""What it costs to read a supplier's list of 100,000 rows by 12 columns, and to understand it.

    python -m tests.bench.lists [--rows 100000] [--keep FOLDER]

Each file is read in a process of its own: seconds of processor time, most memory held, and the
time as a multiple of the bare reader's (Python's csv, python-calamine). ODS needs LibreOffice
(Debian's package libreoffice-calc-nogui) to write the file, and is left out where it is missing.
"""

from __future__ import annotations

import argparse
import csv
import json
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import openpyxl
import xlwt

ROOT = Path(__file__).parents[2]
HEADER = [
    *("Art. no.", "Description", "Z", "Stage", "Models", "Wheel"),
    *("Case", "Net EUR", "Stock", "EAN", "Weight", "Page"),
]
READ = """
import json, resource, sys, time
from fitcheck.services.price_lists.reading import read_list
from fitcheck.services.price_lists.tables import find_tables
from fitcheck.services.price_lists.wording.prices import find_number_style, read_price
from fitcheck.services.price_lists.wording.stages import read_stage
from fitcheck.services.price_lists.wording.teeth import read_teeth
path = sys.argv[1]
began = time.process_time()
read = read_list(path)
took = {"read": time.process_time() - began}
memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
began = time.process_time()
(table,) = find_tables(read)
took["headings"] = time.process_time() - began
began = time.process_time()
cells = table.cells("price")
style = find_number_style(cells)
answers = [read_price(cell, style=style).status for cell in cells]
answers += [read_teeth(cell, teeth_column=True).status for cell in table.cells("teeth")]
answers += [read_stage(cell).status for cell in table.cells("stage")]
took["cells"] = time.process_time() - began
began = time.process_time()
for cell in table.cells("name"):
    read_teeth(cell)
took["free text"] = time.process_time() - began
assert set(answers) == {"read"} and len(table.data_rows) == read.row_count - 1
print(json.dumps({"rows": read.row_count, "memory": memory, **took}))
"""
BARE = {
    "csv": "import csv, sys; list(csv.reader(open(sys.argv[1], newline=''), delimiter=';'))",
    "workbook": "import python_calamine as c, sys; "
    "c.CalamineWorkbook.from_path(sys.argv[1]).get_sheet_by_index(0).to_python()",
}
TIMED = "import time; began = time.process_time(); {}; print(time.process_time() - began)"


def rows(count: int) -> Iterator[list[object]]:
    """Articles of an invented list; every text is another."""
    for index in range(count):
        yield [
            f"MA-{index:06d}",
            f"Gear set Z={12 + index % 9}/{38 + index % 17} Dunlin {index}",
            f"{12 + index % 9}/{38 + index % 17}",
            "primary",
            f"Dunlin {index % 40} Ten, Sanderling {index % 13}",
            10 + index % 3,
            "short",
            round(40 + index % 1000 / 7, 2),
            index % 30,
            f"40{index:011d}",
            0.5 + index % 7,
            index % 90 + 1,
        ]


def write(folder: Path, count: int) -> list[Path]:
    """The same list in each format."""
    folder.mkdir(parents=True, exist_ok=True)
    with (folder / "list.csv").open("w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file, delimiter=";")
        writer.writerow(HEADER)
        writer.writerows(rows(count))
    book = openpyxl.Workbook(write_only=True)
    sheet = book.create_sheet("Prices")
    sheet.append(HEADER)
    for row in rows(count):
        sheet.append(row)
    book.save(folder / "list.xlsx")
    old = xlwt.Workbook()
    page = old.add_sheet("Prices")
    for number, row in enumerate([HEADER, *rows(min(count, 65_535))]):
        for column, value in enumerate(row):
            page.write(number, column, value)
    old.save(str(folder / "list.xls"))
    files = [folder / f"list.{kind}" for kind in ("csv", "xlsx", "xls")]
    office = shutil.which("soffice")
    if office:
        command = [office, "--headless", "--convert-to", "ods", "--outdir", str(folder)]
        subprocess.run([*command, str(files[1])], check=True, capture_output=True)
        files.append(folder / "list.ods")
    return files


def run(code: str, path: Path) -> str:
    """What a fresh Python prints."""
    environment = os.environ | {"PYTHONPATH": str(ROOT)}
    command = [sys.executable, "-c", code, str(path)]
    return subprocess.run(
        command, check=True, capture_output=True, text=True, env=environment
    ).stdout


def main() -> None:
    """Run the benchmark."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--rows", type=int, default=100_000)
    parser.add_argument("--keep", type=Path, help="folder for the lists, kept afterwards")
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as scratch:
        print("file   rows      MB  read s  x bare  headings s  cells s  free text s")
        for path in write(given.keep or Path(scratch), given.rows):
            found = json.loads(run(READ, path))
            bare = float(run(TIMED.format(BARE.get(path.suffix[1:], BARE["workbook"])), path))
            print(
                f"{path.suffix[1:]:5s}{found['rows']:7,d}{found['memory']:8,d}{found['read']:8.1f}"
                f"{found['read'] / bare:8.1f}{found['headings']:12.1f}{found['cells']:9.1f}"
                f"{found['free text']:13.1f}"
            )


if __name__ == "__main__":
    main()
