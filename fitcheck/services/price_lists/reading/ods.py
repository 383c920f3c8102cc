"""Extent, hidden and struck parts, merges, formats and notes of the sheets of an ODS workbook.

Element and attribute names follow OpenDocument 1.3, part 3.
"""

from __future__ import annotations

import html
import re
from collections.abc import Mapping
from xml.etree.ElementTree import Element

from fitcheck.errors import UnreadableError
from fitcheck.services.price_lists.reading.archive import (
    WITHIN,
    Archive,
    attributes,
    check_xml,
    read_xml,
)
from fitcheck.services.price_lists.reading.cells import MAX_CELLS, MAX_SHEETS
from fitcheck.services.price_lists.reading.workbooks import Facts, SheetFacts

_KINDS = ("number", "currency", "percentage", "date", "time")
_PARTS = ("day", "month", "year", "hours", "minutes", "seconds")
"""Parts of a date or a time; format codes write them by their first letters."""


class _Styles:
    """Cell styles and what they show, from styles.xml and the head of content.xml."""

    def __init__(self) -> None:
        self.hidden_tables: set[str] = set()
        self._formats: dict[str, str] = {}
        self._own: dict[tuple[str, str], dict[str, str]] = {}
        self._known: dict[tuple[str, str], tuple[str, bool]] = {}

    def add(self, root: Element) -> None:
        """Take the styles of a part."""
        for kind in _KINDS:
            for each in root.iterfind(f".//{{*}}{kind}-style"):
                code = "".join(_code(_local(part.tag), part) for part in each)
                self._formats[_own(each).get("name", "")] = code
        for each in root.iterfind(".//{*}style"):
            own = _own(each)
            for part in each.findall("{*}table-properties"):
                if own.get("family") == "table" and _own(part).get("display") == "false":
                    self.hidden_tables.add(own.get("name", ""))
            for part in each.findall("{*}text-properties"):
                own |= {k: v for k, v in _own(part).items() if k.startswith("text-line-through")}
            self._own[own.get("family", ""), own.get("name", "")] = own

    def look(self, style: str, family: str = "table-cell") -> tuple[str, bool]:
        """A style's number format code, or empty, and whether it strikes through."""
        known = self._known.get((family, style))
        if known is None:
            merged: dict[str, str] = {}
            name = style
            for _ in range(20):  # its parents are asked in turn
                own = self._own.get((family, name), {})
                merged = own | merged
                name = own.get("parent-style-name", "")
            line = merged.get("text-line-through-style", "") or (
                merged.get("text-line-through-type", "")
            )
            code = self._formats.get(merged.get("data-style-name", ""), "")
            known = self._known[family, style] = (code, line not in ("", "none"))
        return known


def _local(name: str) -> str:
    return name.rpartition("}")[2]


def _own(element: Element) -> dict[str, str]:
    """Attributes without their namespaces."""
    return {_local(key): value for key, value in element.items()}


def _code(name: str, element: Element) -> str:
    own = _own(element)
    if name == "text":
        piece = element.text or ""
        return piece if all(sign in "-/.:, " for sign in piece) else f'"{piece}"'
    if name == "currency-symbol":
        return f"[${element.text}]" if element.text else ""
    if name == "number":
        return _number(own)
    return name[0] if name in _PARTS else ""


def _number(own: Mapping[str, str]) -> str:
    def count(key: str) -> int:
        given = own.get(key, "0")
        return int(given) if given.isdecimal() and len(given) < 3 else 0

    whole = "0" * count("min-integer-digits") or "#"
    if own.get("grouping") == "true":
        whole = "#,##" + whole
    places = count("decimal-places")
    if whole == "0" and "decimal-places" not in own:
        return ""  # the general format
    return whole + ("." + "0" * places if places else "")


_HIDING = ("collapse", "filter")
_MOST_REPEATS = 10_000_000
_FORMATTED = frozenset({"date", "time", "float", "currency", "percentage"})
_TAG = re.compile(
    rb"<(/?)(table:table-cell|table:covered-table-cell|table:table-row|table:table-column"
    rb"|table:table|office:annotation|text:p|text:span)(?=[\s/>])(%b)>" % WITHIN
)
_PARAGRAPH = re.compile(rb"<text:p(?=[\s/>])%b>(.*?)</text:p>" % WITHIN, re.DOTALL)
_SPACE, _ANY_TAG = re.compile(rb"<text:(?:s|tab|line-break)[\s/>][^>]*>?"), re.compile(rb"<[^>]*>")


def read_ods_facts(archive: Archive, path: str) -> Facts:
    """Facts of every sheet, in the workbook's order.

    Raises:
        UnreadableError: locked, damaged, no spreadsheet, or beyond all measure.
    """
    mimetype = archive.read("mimetype").strip()
    if b"spreadsheet" not in mimetype:
        raise UnreadableError(
            f"{path}: is not a spreadsheet but {mimetype[:80].decode('ascii', 'replace')!r}; "
            "save the list as .ods, .xlsx or CSV"
        )
    manifest = archive.find("META-INF/manifest.xml")
    # Old manifests do declare a document type, so only these bytes are looked for.
    locked = manifest is not None and b"encryption-data" in archive.read(manifest)
    if locked or archive.find("encrypted-package"):
        raise UnreadableError(f"{path}: is locked with a password; save it without one")
    where = f"{path}: content.xml"
    content = check_xml(archive.read("content.xml"), where)
    styles = _Styles()
    facts = Facts([])
    try:
        if archive.find("styles.xml"):
            styles.add(read_xml(archive.read("styles.xml"), f"{path}: styles.xml"))
        head = content.partition(b"<office:body")[0] + b"</office:document-content>"
        styles.add(read_xml(head, where))
    except UnreadableError:
        facts.no_styles(None)
    body = _Body(path, styles)
    body.walk(content)
    facts.sheets = body.sheets
    if len(body.sheets) > MAX_SHEETS:
        raise UnreadableError(
            f"{path}: has {len(body.sheets):,} sheets; at most {MAX_SHEETS} are read"
        )
    for sheet in body.sheets:
        sheet.check(path)
    return facts


class _Body:
    """Walks the sheets; rows and columns are counted as they repeat."""

    def __init__(self, path: str, styles: _Styles) -> None:
        self.path = path
        self.styles = styles
        self.sheets: list[SheetFacts] = []
        self.depth = 0  # of tables: a table inside a cell is no sheet
        self.row = 1  # the row now being read, from 1
        self.row_repeat = 1
        self.row_style = ""
        self.columns_said = 0
        self.column = 0  # the last column taken by a cell
        self.first = 0  # the first column of the present cell
        self.defaults: list[tuple[int, int, str]] = []

    def walk(self, content: bytes) -> None:
        """Take all tags of the body; those inside a note are none of the sheet's."""
        behind_note = 0
        for tag in _TAG.finditer(content):
            if tag.start() < behind_note:
                continue
            ends, name, within = tag.groups()
            if name == b"office:annotation" and not ends and not within.endswith(b"/"):
                behind_note = content.find(b"</office:annotation", tag.end())
                self._note(content[tag.end() : max(behind_note, tag.end())])
                continue
            if not ends:
                self._start(name, within)
            if ends or within.endswith(b"/"):
                self._end(name)

    def _note(self, annotation: bytes) -> None:
        """Take a note on the present cell."""
        paragraphs = _PARAGRAPH.findall(annotation)
        text = b" ".join(_ANY_TAG.sub(b"", _SPACE.sub(b" ", each)) for each in paragraphs)
        if self.depth == 1:
            said = html.unescape(text.decode("utf-8", "replace"))
            self.sheets[-1].add_note((self.row, self.first), said)

    def _start(self, name: bytes, within: bytes) -> None:
        if name == b"table:table":
            self._table(attributes(within))
        elif self.depth != 1:
            return
        elif name == b"text:p":
            if self.first:
                self._hold()
        elif name == b"text:span":
            style = attributes(within).get("text:style-name", "")
            if self.first and self.styles.look(style, "text")[1]:
                self.sheets[-1].struck.add((self.row, self.first))
        elif name == b"table:table-row":
            self._row(attributes(within))
        elif name == b"table:table-column":
            self._columns(attributes(within))
        elif name != b"office:annotation":
            self._cell(name, attributes(within))

    def _end(self, name: bytes) -> None:
        if name == b"table:table-row" and self.depth == 1:
            self.row += self.row_repeat
            self.first = 0
        elif name == b"table:table":
            self.depth = max(0, self.depth - 1)

    def _table(self, attributes: Mapping[str, str]) -> None:
        self.depth += 1
        if self.depth == 1:
            hidden = attributes.get("table:style-name", "") in self.styles.hidden_tables
            self.sheets.append(SheetFacts(attributes.get("table:name", ""), hidden=hidden))
            self.row, self.columns_said, self.first = 1, 0, 0
            self.defaults = []

    def _columns(self, attributes: Mapping[str, str]) -> None:
        first = self.columns_said + 1
        self.columns_said += self._repeat(attributes.get("table:number-columns-repeated"))
        if attributes.get("table:visibility") in _HIDING:
            self.sheets[-1].column_runs.append((first, self.columns_said))
        style = attributes.get("table:default-cell-style-name", "")
        self.defaults.append((first, self.columns_said, style))

    def _row(self, attributes: Mapping[str, str]) -> None:
        self.row_repeat = self._repeat(attributes.get("table:number-rows-repeated"))
        self.row_style = attributes.get("table:default-cell-style-name", "")
        self.column = self.first = 0
        if attributes.get("table:visibility") in _HIDING:
            self.sheets[-1].row_runs.append((self.row, self.row + self.row_repeat - 1))

    def _cell(self, name: bytes, attributes: Mapping[str, str]) -> None:
        self.first = self.column + 1
        repeat = attributes.get("table:number-columns-repeated")
        self.column += 1 if repeat is None else self._repeat(repeat)
        kind = attributes.get("office:value-type")
        if kind is not None and name != b"table:covered-table-cell":
            self._hold()
            money = attributes.get("office:currency", "") if kind == "currency" else ""
            self._look(attributes.get("table:style-name"), money, formatted=kind in _FORMATTED)
        if attributes.get("calcext:value-type") == "error":
            self.sheets[-1].errors.add((self.row, self.first))
        elif "table:formula" in attributes and kind is None:
            self.sheets[-1].add_formula(self.row, self.first)
        if "table:number-columns-spanned" in attributes or (
            "table:number-rows-spanned" in attributes
        ):
            rows = self._repeat(attributes.get("table:number-rows-spanned"))
            columns = self._repeat(attributes.get("table:number-columns-spanned"))
            if rows > 1 or columns > 1:
                last = (self.row + rows - 1, self.first + columns - 1)
                self.sheets[-1].merges.append(((self.row, self.first), last))

    def _hold(self) -> None:
        self.sheets[-1].grow(self.row + self.row_repeat - 1, self.column)

    def _look(self, style: str | None, money: str, *, formatted: bool) -> None:
        """Take the number format of the present cells, and whether they are struck through."""
        if style is None:
            style = self.row_style or next(
                (name for first, last, name in self.defaults if first <= self.first <= last), ""
            )
        code, struck = self.styles.look(style)
        if money and "[$" not in code:
            code = f"[${money}] {code}".strip()
        code = code if formatted else ""
        count = self.row_repeat * (self.column - self.first + 1)
        if not (struck or code) or count > MAX_CELLS // 10:
            return
        for row in range(self.row, self.row + self.row_repeat):
            for column in range(self.first, self.column + 1):
                self.sheets[-1].add_look((row, column), code, struck=struck)

    def _repeat(self, given: str | None) -> int:
        if given is None:
            return 1
        if not given.isdecimal() or len(given) > 12:
            raise UnreadableError(f"{self.path}: the workbook is damaged; save it again")
        return max(1, min(int(given), _MOST_REPEATS))
