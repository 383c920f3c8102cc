"""Extent, hidden and struck parts, merges, formats and notes of the sheets of an XLSX workbook.

Element and attribute names follow ECMA-376 part 1, SpreadsheetML.
"""

from __future__ import annotations

import posixpath
import re
from dataclasses import dataclass, field
from functools import cache, lru_cache
from typing import NamedTuple

from fitcheck.errors import UnreadableError
from fitcheck.services.price_lists.reading.archive import (
    WITHIN,
    Archive,
    attributes,
    check_xml,
    read_xml,
)
from fitcheck.services.price_lists.reading.cells import MAX_SHEETS, Place
from fitcheck.services.price_lists.reading.workbooks import Facts, SheetFacts

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
_FEW_TEXTS = 100_000
_TEXTS = re.compile(rb"<(?:[A-Za-z0-9_]+:)?sst(?=[\s>/])[^>]*")
# What a spreadsheet writes for older ones before a comment that can be answered.
_THREADED = re.compile(r"^\[Threaded comment\].*?Comment:\s*", re.DOTALL)
_COUNT = re.compile(rb"(?i)(count)\s*=\s*[\"']\s*([^\"']*)")
_WORKSHEET = re.compile(rb"<(?:([A-Za-z0-9_]+):)?worksheet(?=[\s>/])")


def read_xlsx_facts(archive: Archive, path: str) -> Facts:
    """Facts of every worksheet, in the workbook's order.

    Raises:
        UnreadableError: a damaged part, or a sheet beyond all measure.
    """
    workbook = _main_part(archive, path)
    root = read_xml(archive.read(workbook), f"{path}: {workbook}")
    sheets = [
        (
            each.get("name", ""),
            next((value for key, value in each.items() if _local(key) == "id"), ""),
            each.get("state", "visible") != "visible",
        )
        for each in root.iterfind(".//{*}sheet")
    ]
    if len(sheets) > MAX_SHEETS:
        raise UnreadableError(f"{path}: has {len(sheets):,} sheets; at most {MAX_SHEETS} are read")
    targets = _targets(archive, path, workbook)
    styles = archive.find(posixpath.join(posixpath.dirname(workbook), "styles.xml"))
    found = Facts([])
    looks = _Looks()
    if styles is not None:
        try:
            looks = _looks(archive, path, styles)
        except UnreadableError:
            found.no_styles(archive.without(styles))
    _read_texts(archive, path, looks)
    unseen = {name for name in archive.names if name.lower().endswith(".xml")} - {workbook}
    for name, reference, hidden in sheets:
        facts = SheetFacts(name, hidden=hidden)
        part = archive.find(targets.get(reference, "") or "?")
        if part is not None and _is_worksheet(archive, part):
            unseen.discard(part)
            _read_sheet(archive, path, part, facts, looks)
            _read_comments(archive, path, part, facts)
        facts.check(path)
        found.sheets.append(facts)
    # Should the reader come upon a sheet by another way, its extent is known to be sane as well.
    for part in sorted(unseen):
        if archive.is_whole(part) and _is_worksheet(archive, part):
            facts = SheetFacts(part)
            _read_sheet(archive, path, part, facts, _Looks())
            facts.check(path)
    return found


def _is_worksheet(archive: Archive, part: str) -> bool:
    return _WORKSHEET.search(archive.head(part)) is not None


def _local(name: str) -> str:
    return name.rpartition("}")[2]


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
    if part is None:
        return targets
    for each in read_xml(archive.read(part), f"{path}: {part}").iterfind(".//{*}Relationship"):
        if each.get("Type", "").endswith(kind):
            target = each.get("Target", "")
            full = target if target.startswith("/") else posixpath.join(folder, target)
            targets[each.get("Id", "")] = posixpath.normpath(full).lstrip("/")
    return targets


@dataclass(slots=True)
class _Looks:
    """How cells look, by the number of their style, and which shared texts are struck through.

    Attributes:
        codes: number format codes by style, where not general and not of texts.
        struck: styles whose font is struck through.
        struck_texts: numbers of the shared texts of which a part is struck through.
    """

    codes: dict[str, str] = field(default_factory=dict)
    struck: set[str] = field(default_factory=set)
    struck_texts: set[bytes] = field(default_factory=set)


def _looks(archive: Archive, path: str, part: str) -> _Looks:
    """The number format of each cell style, and whether it is struck through."""
    root = read_xml(archive.read(part), f"{path}: {part}")
    known = {str(number): code for number, code in BUILT_IN_FORMATS.items()}
    known |= {
        each.get("numFmtId", ""): each.get("formatCode", "")
        for each in root.iterfind(".//{*}numFmt")
    }
    fonts = [font.find("{*}strike") for font in root.findall("{*}fonts/{*}font")]
    struck = {
        str(number)
        for number, strike in enumerate(fonts)
        if strike is not None and _flag(strike.get("val", "1"))
    }
    looks = _Looks()
    for number, style in enumerate(root.findall("{*}cellXfs/{*}xf")):
        code = known.get(style.get("numFmtId", "0"), "")
        if code and code.lower() not in ("general", "@"):
            looks.codes[str(number)] = code
        if style.get("fontId", "") in struck:
            looks.struck.add(str(number))
    return looks


_STRIKE = re.compile(
    rb"<(?:[A-Za-z0-9_]+:)?strike(?!\s+val\s*=\s*[\"'](?:0|false|off)[\"'])(?=[\s/>])"
)


def _read_texts(archive: Archive, path: str, looks: _Looks) -> None:
    """Note which shared texts are struck through.

    A table of texts that declares more of them than it can hold is refused: the reader takes memory
    for as many as are declared.
    """
    for part in archive.names:
        if not part.lower().endswith(".xml") or not archive.is_whole(part):
            continue
        found = _TEXTS.search(archive.head(part))
        for _, count in _COUNT.findall(found[0]) if found else ():
            if not count.isdigit() or int(count) > max(_FEW_TEXTS, archive.size(part)):
                raise UnreadableError(
                    f"{path}: {part} declares {count.decode('ascii', 'replace')[:20]} texts and "
                    "holds fewer; the workbook is damaged"
                )
        if found and b"strike" in (data := archive.read(part)):
            texts = re.split(rb"<(?:[A-Za-z0-9_]+:)?si(?=[\s>/])", data)[1:]
            looks.struck_texts |= {
                str(number).encode() for number, text in enumerate(texts) if _STRIKE.search(text)
            }


def _flag(value: str | None) -> bool:
    return value is not None and value.lower() in ("1", "true", "on")


def _read_comments(archive: Archive, path: str, sheet: str, facts: SheetFacts) -> None:
    """Take the notes on a sheet's cells, those that answer each other too."""
    for kind in ("comment", "threadedComment"):
        ending = "/comments" if kind == "comment" else f"/{kind}"
        for part in _targets(archive, path, sheet, ending).values():
            try:
                root = read_xml(archive.read(part), f"{path}: {part}")
            except UnreadableError:
                facts.unread_notes = True
                continue
            for each in root.iterfind(f".//{{*}}{kind}"):
                texts = [*each.iterfind(".//{*}t"), *each.iterfind(".//{*}text")]
                said = "".join(text.text or "" for text in texts)
                facts.add_note(_place(each.get("ref", "")), _THREADED.sub("", said))


def _place(reference: str) -> Place:
    """Row and column of `AB12`; zeros where it is none."""
    letters = reference.rstrip("0123456789")
    digits = reference[len(letters) :]
    if not digits or len(digits) > 9 or not letters.isascii() or not letters.isupper():
        return 0, 0
    column = 0
    for letter in letters[:9]:
        column = column * 26 + ord(letter) - 64
    return (int(digits), column) if int(digits) else (0, 0)


_ROW = re.compile(rb"<row(?=[\s/>])(%b)>" % WITHIN)
_NUMBER = re.compile(rb"\sr\s*=\s*[\"']([^\"']*)")
_CELL = re.compile(rb'<c(?: r="([A-Z]+)([0-9]+)")?(?=[\s/>])(%b)>(?:\s*<(f\b|/c>))?' % WITHIN)
_RICH = re.compile(
    rb"<c(?=[\s/>])(%b)>\s*(?:<v>\s*([0-9]+)\s*</v>|<is>((?:(?!</is>).)*))" % WITHIN, re.DOTALL
)


def _read_sheet(archive: Archive, path: str, part: str, facts: SheetFacts, looks: _Looks) -> None:
    where = f"{path}: {part}"
    data = check_xml(archive.read(part), where)
    prefix = _WORKSHEET.search(data)
    if prefix and prefix[1]:
        data = data.replace(b"<" + prefix[1] + b":", b"<").replace(b"</" + prefix[1] + b":", b"</")
    if b"</worksheet" not in data[-4096:] and not re.search(rb"<worksheet[^>]*/>", data[:4096]):
        raise UnreadableError(f"{where}: the workbook is damaged or cut short; ask for it again")
    before, _, body = data.partition(b"<sheetData")
    body, _, behind = body.rpartition(b"</sheetData")
    if not body and re.search(rb"<(?:row|c)[\s/>]", behind):
        raise UnreadableError(f"{where}: the workbook is damaged or cut short; ask for it again")
    for tag in re.findall(rb"<col(?=\s)(%b)>" % WITHIN, before):
        column = attributes(tag)
        first, last = column.get("min", ""), column.get("max", "")
        hidden = _flag(column.get("hidden")) or column.get("width") == "0"
        if hidden and first.isdecimal() and last.isdecimal():
            facts.column_runs.append((int(first[:9]), int(last[:9])))
    for tag in re.findall(rb"<mergeCell(?=\s)(%b)>" % WITHIN, behind):
        left, _, right = attributes(tag).get("ref", "").partition(":")
        corners = _place(left), _place(right)
        if corners[0][0] and corners[1][0]:
            facts.merges.append(corners)
    _Rows(where, facts, looks).read(body)
    if looks.struck_texts or (b"strike" in body and _STRIKE.search(body)):
        for tag, text, rich in _RICH.findall(body):
            shared = text in looks.struck_texts and b't="s"' in tag
            if shared or (rich and _STRIKE.search(rich)):
                facts.struck.add(_place(attributes(tag).get("r", "")))


class _Kind(NamedTuple):
    """What a cell is by its tag."""

    code: str
    struck: bool
    is_error: bool
    is_text: bool
    is_empty: bool


class _Rows:
    """Takes the rows and cells of a sheet; those without an address follow the one before."""

    def __init__(self, where: str, facts: SheetFacts, looks: _Looks) -> None:
        self._where, self._facts, self._looks = where, facts, looks
        self._column_of = cache(lambda letters: _place(f"{letters.decode()}1")[1])
        self._kind_of = lru_cache(4096)(self._read_tag)

    def read(self, body: bytes) -> None:
        """Take what stands between the tags of the sheet's data."""
        outside, *rows = _ROW.split(body)
        if _CELL.search(outside):
            raise UnreadableError(f"{self._where}: a cell stands in no row; save it again")
        number = 0
        for tag, cells in zip(rows[::2], rows[1::2], strict=True):
            said = _NUMBER.search(tag)
            number = self._place(f"A{said[1].decode('latin-1')}")[0] if said else number + 1
            if b"hidden" in tag and _flag(attributes(tag).get("hidden")):
                self._facts.hide_row(number)
            self._cells(number, cells)

    def _cells(self, number: int, cells: bytes) -> None:
        column = widest = 0
        own = str(number).encode()
        for letters, digits, rest, behind in _CELL.findall(cells):
            here = number
            if digits == own:
                column = self._column_of(letters)
            elif reference := (letters + digits).decode() or attributes(rest).get("r"):
                here, column = self._place(reference)
            else:
                column += 1
            kind = self._kind_of(rest)
            if kind is not None or behind:
                self._take(here, column, kind, behind)
                if behind == b"/c>" or (kind and kind.is_empty):
                    continue
            if here != number:
                self._facts.grow(here, column)
            widest = max(widest, column)
        if widest:
            self._facts.grow(number, widest)

    def _place(self, reference: str) -> Place:
        place = _place(reference)
        if not place[0]:
            what = f"a cell is placed at {reference[:20]!r}"
            raise UnreadableError(f"{self._where}: {what}; save the workbook again")
        return place

    def _take(self, row: int, column: int, kind: _Kind | None, behind: bytes) -> None:
        # A formula that came out as a text has a value, though it be an empty one.
        if behind == b"f" and not (kind and kind.is_text):
            self._facts.add_formula(row, column)
        if kind is None:
            return
        self._facts.add_look((row, column), kind.code, struck=kind.struck)
        if kind.is_error:
            self._facts.errors.add((row, column))

    def _read_tag(self, tag: bytes) -> _Kind | None:
        """What a cell is by its tag; None where there is nothing to say of it."""
        found = attributes(tag)
        style, what = found.get("s", ""), found.get("t")
        kind = _Kind(
            self._looks.codes.get(style, ""),
            style in self._looks.struck,
            is_error=what == "e",
            is_text=what == "str",
            is_empty=tag.rstrip().endswith(b"/"),
        )
        return kind if any(kind) else None
