"""Extent, hidden parts, merges and number formats of the sheets of an XLSX workbook.

Element and attribute names follow ECMA-376 part 1, SpreadsheetML.
"""

from __future__ import annotations

import posixpath
import re
from collections.abc import Mapping, Sequence, Set
from typing import NamedTuple

from fitcheck.errors import UnreadableError
from fitcheck.services.price_lists.reading.archive import Archive, Started, read_xml
from fitcheck.services.price_lists.reading.facts import MAX_SHEETS, SheetFacts

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
_FEW_TEXTS = 100_000
_TEXTS = re.compile(rb"<(?:[A-Za-z0-9_]+:)?sst(?=[\s>/])[^>]*")
# What a spreadsheet writes for older ones before a comment that can be answered.
_THREADED = re.compile(r"^\[Threaded comment\].*?Comment:\s*", re.DOTALL)
_COUNT = re.compile(rb"(?i)(count)\s*=\s*[\"']\s*([^\"']*)")


def read_xlsx_facts(archive: Archive, path: str) -> list[SheetFacts]:
    """Facts of every worksheet, in the workbook's order.

    Raises:
        UnreadableError: a damaged part, or a sheet beyond all measure.
    """
    workbook = _main_part(archive, path)
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
    formats = _formats(archive, path, styles) if styles else _Formats([])
    _check_texts(archive, path)
    found = []
    unseen = {name for name in archive.names if name.lower().endswith(".xml")} - {workbook}
    for name, reference, hidden in sheets:
        facts = SheetFacts(name, hidden)
        part = archive.find(targets.get(reference, "") or "?")
        if part is not None and _is_worksheet(archive, part):
            unseen.discard(part)
            _read_sheet(archive, f"{path}: {part}", part, facts, formats)
            _read_comments(archive, path, part, facts)
        facts.check(path)
        found.append(facts)
    # Should the reader come upon a sheet by another way, its extent is known to be sane as well.
    for part in sorted(unseen):
        if _is_worksheet(archive, part):
            facts = SheetFacts(part)
            _read_sheet(archive, f"{path}: {part}", part, facts, _Formats([]))
            facts.check(path)
    return found


def _check_texts(archive: Archive, path: str) -> None:
    """Refuse a table of texts that declares more of them than it can hold.

    The reader takes memory for as many as are declared.
    """
    for part in archive.names:
        found = _TEXTS.search(archive.head(part)) if part.lower().endswith(".xml") else None
        for _, count in _COUNT.findall(found[0]) if found else ():
            if not count.isdigit() or int(count) > max(_FEW_TEXTS, archive.size(part)):
                raise UnreadableError(
                    f"{path}: {part} declares {count.decode('ascii', 'replace')[:20]} texts and "
                    "holds fewer; the workbook is damaged"
                )


def _is_worksheet(archive: Archive, part: str) -> bool:
    return re.search(rb"<(?:[A-Za-z0-9_]+:)?worksheet[\s>/]", archive.head(part)) is not None


def _local(name: str) -> str:
    return name.rpartition(":")[2]


def _main_part(archive: Archive, path: str) -> str:
    targets = _targets(archive, path, "", "officeDocument")
    named = [archive.find(each) for each in targets.values()]
    found = next(filter(None, [*named, archive.find("xl/workbook.xml")]), None)
    if found is None:
        raise UnreadableError(f"{path}: the workbook is damaged: its main part is missing")
    return found


def _targets(archive: Archive, path: str, source: str, kind: str = "") -> dict[str, str]:
    """The parts that one leads to, by the id of the relationship; all, or those of a kind."""
    folder, name = posixpath.split(source)
    part = archive.find(posixpath.join(folder, "_rels", f"{name}.rels"))
    targets: dict[str, str] = {}

    def start(name: str, attributes: dict[str, str]) -> None:
        if _local(name) == "Relationship" and attributes.get("Type", "").endswith(kind):
            target = attributes.get("Target", "")
            full = target if target.startswith("/") else posixpath.join(folder, target)
            targets[attributes.get("Id", "")] = posixpath.normpath(full).lstrip("/")

    if part is not None:
        read_xml(archive.chunks(part), f"{path}: {part}", start)
    return targets


class _Formats(NamedTuple):
    """What the styles of cells show, by their number.

    Attributes:
        codes: number format codes; empty for the general one and for text.
        struck: numbers of the styles whose font is struck through.
    """

    codes: Sequence[str]
    struck: Set[str] = frozenset()


def _formats(archive: Archive, path: str, part: str) -> _Formats:
    """The number format of each cell style, and whether it is struck through."""
    codes = dict(BUILT_IN_FORMATS)
    styles: list[int] = []
    inside = in_fonts = False
    fonts = -1
    struck_fonts: set[str] = set()
    struck: set[str] = set()

    def start(name: str, attributes: dict[str, str]) -> None:
        nonlocal inside, in_fonts, fonts
        local = _local(name)
        if local == "fonts":
            in_fonts = True
        elif in_fonts and local == "font":
            fonts += 1
        elif in_fonts and local == "strike" and _flag(attributes.get("val", "1")):
            struck_fonts.add(str(fonts))
        if local == "numFmt" and attributes.get("numFmtId", "").isdecimal():
            codes[int(attributes["numFmtId"])] = attributes.get("formatCode", "")
        elif local == "cellXfs":
            inside = True
        elif local == "xf" and inside:
            if attributes.get("fontId", "") in struck_fonts:
                struck.add(str(len(styles)))
            number = attributes.get("numFmtId", "0")
            styles.append(int(number) if number.isdecimal() else 0)

    def end(name: str) -> None:
        nonlocal inside, in_fonts
        if _local(name) == "cellXfs":
            inside = False
        elif _local(name) == "fonts":
            in_fonts = False

    read_xml(archive.chunks(part), f"{path}: {part}", start, end)
    shown = [codes.get(number, "") for number in styles]
    plain = ["" if code.lower() in ("general", "@") else code for code in shown]
    return _Formats(plain, struck)


def _place(reference: str) -> tuple[int, int]:
    """Row and column of `AB12`; zeros where it is none."""
    letters = reference.rstrip("0123456789")
    digits = reference[len(letters) :]
    if not digits or len(digits) > 9 or not letters.isascii() or not letters.isupper():
        return 0, 0
    column = 0
    for letter in letters:
        column = column * 26 + ord(letter) - 64
    return int(digits), column


def _flag(value: str | None) -> bool:
    return value is not None and value.lower() in ("1", "true", "on")


def _read_sheet(
    archive: Archive, where: str, part: str, facts: SheetFacts, formats: _Formats
) -> None:
    codes = {str(at): code for at, code in enumerate(formats.codes) if code}
    walk = _sheet_walk(where, facts, codes, formats.struck)
    chunks = archive.chunks(part)
    # Nearly all writers leave the prefix out; then a call for each of millions of elements is
    # saved.
    if chunks and re.search(rb"<[A-Za-z0-9_]+:worksheet[ >]", chunks[0][:4096]):
        inner = walk

        def walk(name: str, attributes: dict[str, str]) -> None:
            inner(_local(name), attributes)

    read_xml(chunks, where, walk)


def _read_comments(archive: Archive, path: str, sheet: str, facts: SheetFacts) -> None:
    """Take the notes on a sheet's cells, those that answer each other too."""
    for kind in ("/comments", "/threadedComment"):
        for target in _targets(archive, path, sheet, kind).values():
            part = archive.find(target)
            if part is not None:
                walk = _CommentWalk(facts)
                where = f"{path}: {part}"
                read_xml(archive.chunks(part), where, walk.start, walk.end, walk.text)


class _CommentWalk:
    """Walks a part of comments: `comment` with runs of `t`, or `threadedComment` with `text`."""

    def __init__(self, facts: SheetFacts) -> None:
        self._facts = facts
        self._place = (0, 0)
        self._said: list[str] = []
        self._inside = False

    def start(self, name: str, attributes: dict[str, str]) -> None:
        local = _local(name)
        if local in ("comment", "threadedComment"):
            self._place, self._said = _place(attributes.get("ref", "")), []
        self._inside = local in ("t", "text")

    def end(self, name: str) -> None:
        self._inside = False
        if _local(name) in ("comment", "threadedComment"):
            self._facts.comment(*self._place, _THREADED.sub("", "".join(self._said)))

    def text(self, text: str) -> None:
        if self._inside:
            self._said.append(text)


def _sheet_walk(
    where: str, facts: SheetFacts, codes: Mapping[str, str], struck: Set[str]
) -> Started:
    """The function that takes a worksheet's elements: plain local state, for speed."""
    row = column = 0
    is_text = False
    columns: dict[str, int] = {}
    formats = facts.formats

    def cell(attributes: dict[str, str]) -> None:
        nonlocal row, column, is_text
        is_text = attributes.get("t") == "str"
        reference = attributes.get("r")
        if reference is None:
            column += 1
        else:
            letters = reference.rstrip("0123456789")
            known = columns.get(letters)
            if known is None:
                known = columns[letters] = _column_of(letters, where)
            column = known
            row = _row_of(reference[len(letters) :], where)
        style = attributes.get("s", "")
        if style in codes and len(formats) < _MAX_FORMATS:
            formats[row, column] = codes[style]
        if style in struck:
            facts.struck.add((row, column))
        if attributes.get("t") == "e":
            facts.errors.add((row, column))

    def start(name: str, attributes: dict[str, str]) -> None:
        nonlocal row, column
        if name == "c":
            cell(attributes)
        elif name in ("v", "is"):
            facts.last_row = max(facts.last_row, row)
            facts.last_column = max(facts.last_column, column)
        elif name == "row":
            reference = attributes.get("r")
            row = row + 1 if reference is None else _row_of(reference, where)
            column = 0
            if _flag(attributes.get("hidden")):
                facts.hide_row(row)
        elif name == "f":
            # One that came out as a text has a value, though it be an empty one.
            if not is_text:
                facts.add_formula(row, column)
        else:
            _rare(name, attributes, facts)

    return start


def _rare(name: str, attributes: Mapping[str, str], facts: SheetFacts) -> None:
    if name == "col":
        first, last = attributes.get("min", ""), attributes.get("max", "")
        hidden = _flag(attributes.get("hidden")) or attributes.get("width") == "0"
        if hidden and first.isdecimal() and last.isdecimal():
            facts.hidden_columns.append((int(first[:9]), int(last[:9])))
    elif name == "mergeCell":
        first, _, last = attributes.get("ref", "").partition(":")
        top, left = _place(first)
        bottom, right = _place(last)
        if top and bottom:
            facts.merges.append((top, left, bottom, right))


def _column_of(letters: str, where: str) -> int:
    column = _place(f"{letters[:9]}1")[1]
    if not column:
        raise UnreadableError(f"{where}: a cell is placed at {letters[:20]!r}; save it again")
    return column


def _row_of(digits: str, where: str) -> int:
    if not digits.isdecimal() or len(digits) > 9 or not int(digits):
        raise UnreadableError(f"{where}: a row is numbered {digits[:20]!r}; save it again")
    return int(digits)
