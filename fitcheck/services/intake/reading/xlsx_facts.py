"""Extent, hidden parts, merges and number formats of the sheets of an XLSX workbook.

Element and attribute names follow ECMA-376 part 1, SpreadsheetML.
"""

from __future__ import annotations

import posixpath
from collections.abc import Callable

from fitcheck.errors import UnreadableError
from fitcheck.services.intake.reading.archive import Archive
from fitcheck.services.intake.reading.facts import SheetFacts
from fitcheck.services.intake.reading.limits import LONGEST_CELL, MAX_SHEETS
from fitcheck.services.intake.reading.xml_parts import read_xml

__all__ = ["BUILT_IN_FORMATS", "read_xlsx_facts"]

# Built-in codes that no file spells out: ECMA-376 part 1, 18.8.30.
BUILT_IN_FORMATS = {
    1: "0",
    2: "0.00",
    3: "#,##0",
    4: "#,##0.00",
    9: "0%",
    10: "0.00%",
    11: "0.00E+00",
    12: "# ?/?",
    13: "# ??/??",
    14: "mm-dd-yy",
    15: "d-mmm-yy",
    16: "d-mmm",
    17: "mmm-yy",
    18: "h:mm AM/PM",
    19: "h:mm:ss AM/PM",
    20: "h:mm",
    21: "h:mm:ss",
    22: "m/d/yy h:mm",
    37: "#,##0 ;(#,##0)",
    38: "#,##0 ;[Red](#,##0)",
    39: "#,##0.00;(#,##0.00)",
    40: "#,##0.00;[Red](#,##0.00)",
    45: "mm:ss",
    46: "[h]:mm:ss",
    47: "mmss.0",
    48: "##0.0E+0",
}
_MAX_FORMATS = 1_500_000


def read_xlsx_facts(archive: Archive, path: str) -> list[SheetFacts]:
    """Facts of every worksheet, in the workbook's order.

    Raises:
        UnreadableError: a damaged part, or a sheet beyond all measure.
    """
    workbook = archive.find("xl/workbook.xml") or _main_part(archive, path)
    sheets: list[tuple[str, str, bool]] = []

    def start(name: str, attributes: dict[str, str]) -> None:
        if _local(name) == "sheet":
            reference = next(
                (value for key, value in attributes.items() if _local(key) == "id"), ""
            )
            hidden = attributes.get("state", "visible") != "visible"
            sheets.append((attributes.get("name", ""), reference, hidden))

    read_xml(archive.chunks(workbook), f"{path}: {workbook}", start)
    if len(sheets) > MAX_SHEETS:
        raise UnreadableError(f"{path}: has {len(sheets):,} sheets; at most {MAX_SHEETS} are read")
    targets = _targets(archive, path, workbook)
    styles = archive.find(posixpath.join(posixpath.dirname(workbook), "styles.xml"))
    formats = _formats(archive, path, styles) if styles else []
    found = []
    for name, reference, hidden in sheets:
        facts = SheetFacts(name, hidden)
        part = archive.find(targets.get(reference, ""))
        if part is not None and "chartsheet" not in part:
            _read_sheet(archive, f"{path}: {part}", part, facts, formats)
        facts.check(path)
        found.append(facts)
    return found


def _local(name: str) -> str:
    return name.rpartition(":")[2]


def _main_part(archive: Archive, path: str) -> str:
    found = next((name for name in sorted(archive.names) if name.endswith("workbook.xml")), None)
    if found is None:
        raise UnreadableError(f"{path}: the workbook is damaged: its main part is missing")
    return found


def _targets(archive: Archive, path: str, workbook: str) -> dict[str, str]:
    folder, name = posixpath.split(workbook)
    part = archive.find(f"{folder}/_rels/{name}.rels")
    targets: dict[str, str] = {}

    def start(name: str, attributes: dict[str, str]) -> None:
        if _local(name) == "Relationship":
            target = attributes.get("Target", "")
            full = target if target.startswith("/") else posixpath.join(folder, target)
            targets[attributes.get("Id", "")] = posixpath.normpath(full).lstrip("/")

    if part is not None:
        read_xml(archive.chunks(part), f"{path}: {part}", start)
    return targets


def _formats(archive: Archive, path: str, part: str) -> list[str]:
    """The number format code of each cell style; empty for the general one and for text."""
    codes = dict(BUILT_IN_FORMATS)
    styles: list[int] = []
    inside = False

    def start(name: str, attributes: dict[str, str]) -> None:
        nonlocal inside
        local = _local(name)
        if local == "numFmt" and attributes.get("numFmtId", "").isdecimal():
            codes[int(attributes["numFmtId"])] = attributes.get("formatCode", "")
        elif local == "cellXfs":
            inside = True
        elif local == "xf" and inside:
            number = attributes.get("numFmtId", "0")
            styles.append(int(number) if number.isdecimal() else 0)

    def end(name: str) -> None:
        nonlocal inside
        if _local(name) == "cellXfs":
            inside = False

    read_xml(archive.chunks(part), f"{path}: {part}", start, end)
    shown = [codes.get(number, "") for number in styles]
    return ["" if code.lower() in ("general", "@") else code for code in shown]


def _place(reference: str) -> tuple[int, int]:
    """Row and column of `AB12`; zeros where it is none."""
    letters = reference.rstrip("0123456789")
    digits = reference[len(letters) :]
    column = 0
    for letter in letters:
        column = column * 26 + ord(letter) - 64
    if not digits or not letters.isascii() or not letters.isupper() or len(digits) > 9:
        return 0, 0
    return int(digits), column


def _flag(value: str | None) -> bool:
    return value is not None and value.lower() in ("1", "true", "on")


def _read_sheet(
    archive: Archive, where: str, part: str, facts: SheetFacts, formats: list[str]
) -> None:
    # Plain local state and one function for all elements: a sheet has millions of them.
    row = column = 0
    interesting = {str(index): code for index, code in enumerate(formats) if code}
    codes = facts.formats
    length = 0
    last_row = last_column = 0
    held: tuple[int, int] | None = None
    formula: tuple[int, int] | None = None

    def start(name: str, attributes: dict[str, str]) -> None:
        nonlocal row, column, length, held, formula
        if name == "c":
            reference = attributes.get("r")
            if reference:
                at_row, at_column = _place(reference)
                if at_row:
                    row, column = at_row, at_column
                else:
                    raise UnreadableError(f"{where}: a cell is placed at {reference[:20]!r}")
            else:
                column += 1
            held = (row, column)
            length = 0
            code = interesting.get(attributes.get("s", ""))
            if code is not None and len(codes) < _MAX_FORMATS:
                codes[held] = code
        elif name in ("v", "is"):
            grow()
            formula = None
        elif name == "f":
            formula = held
        elif name == "row":
            number = attributes.get("r", "")
            row = int(number) if number.isdecimal() and len(number) < 10 else row + 1
            column = 0
            if "hidden" in attributes and _flag(attributes["hidden"]):
                _extend(facts.hidden_rows, row)
        elif name == "col":
            if _flag(attributes.get("hidden")) or attributes.get("width") == "0":
                facts.hidden_columns.append(_run(attributes))
        elif name == "mergeCell":
            first, _, last = attributes.get("ref", "").partition(":")
            top, left = _place(first)
            bottom, right = _place(last)
            if top and bottom:
                facts.merges.append((top, left, bottom, right))

    def grow() -> None:
        nonlocal last_row, last_column
        last_row = max(last_row, row)
        last_column = max(last_column, column)

    def end(name: str) -> None:
        nonlocal formula
        if name == "c" and formula is not None:
            facts.unknown.add(formula)
            formula = None

    def text(piece: str) -> None:
        nonlocal length
        length += len(piece)
        if length > LONGEST_CELL:
            raise UnreadableError(
                f"{where}: the cell in row {row:,}, column {column:,} holds more than "
                f"{LONGEST_CELL:,} characters; is it a list?"
            )

    read_xml(archive.chunks(part), where, _unprefixed(start), end, text)
    facts.last_row, facts.last_column = last_row, last_column


def _unprefixed(
    start: Callable[[str, dict[str, str]], None],
) -> Callable[[str, dict[str, str]], None]:
    """Names without a prefix; nearly all files have none."""

    def call(name: str, attributes: dict[str, str]) -> None:
        start(name if ":" not in name else _local(name), attributes)

    return call


def _run(attributes: dict[str, str]) -> tuple[int, int]:
    first, last = attributes.get("min", ""), attributes.get("max", "")
    if not first.isdecimal() or not last.isdecimal():
        return 0, 0
    return int(first[:9]), int(last[:9])


def _extend(runs: list[tuple[int, int]], number: int) -> None:
    if runs and runs[-1][1] == number - 1:
        runs[-1] = (runs[-1][0], number)
    else:
        runs.append((number, number))
