"""Extent, hidden parts, merges and number formats of the sheets of an ODS workbook.

Element and attribute names follow OpenDocument 1.3, part 3.
"""

from __future__ import annotations

from collections.abc import Mapping

from fitcheck.errors import UnreadableError
from fitcheck.services.price_lists.reading.archive import Archive, read_xml
from fitcheck.services.price_lists.reading.facts import MAX_CELLS, MAX_SHEETS, SheetFacts

_KINDS = {
    "number:number-style",
    "number:currency-style",
    "number:percentage-style",
    "number:date-style",
    "number:time-style",
}
_PARTS = {
    "number:day": ("d", "dd"),
    "number:month": ("m", "mm"),
    "number:year": ("yy", "yyyy"),
    "number:hours": ("h", "hh"),
    "number:minutes": ("m", "mm"),
    "number:seconds": ("s", "ss"),
    "number:day-of-week": ("ddd", "dddd"),
    "number:am-pm": ("AM/PM", "AM/PM"),
    "number:fraction": ("# ??/??", "# ??/??"),
}
"""Parts of a format, short and long, as format codes write them."""


class _Styles:
    """Gathers cell styles and the number formats they name, from styles.xml and content.xml.

    It is done where the body begins, which holds none.
    """

    def __init__(self) -> None:
        self.done = False
        self.hidden_tables: set[str] = set()
        self._formats: dict[str, str] = {}
        self._cells: dict[str, tuple[str, str]] = {}
        self._table = ""
        self._name = ""
        self._parts: list[str] = []
        self._literal = False

    def code(self, style: str) -> str:
        """The number format code of a cell style, its parents asked in turn; or empty."""
        for _ in range(20):
            name, parent = self._cells.get(style, ("", ""))
            if name:
                return self._formats.get(name, "")
            if not parent:
                return ""
            style = parent
        return ""

    def start(self, name: str, attributes: dict[str, str]) -> None:
        """Take an element."""
        self.done = self.done or name == "office:body"
        if self.done:
            return
        if name in _KINDS:
            self._name = attributes.get("style:name", "")
            self._parts = []
        elif name.startswith("number:") and self._name:
            self._literal = name == "number:text"
            self._parts.append(_code(name, attributes))
        elif name == "style:style":
            family = attributes.get("style:family")
            own = attributes.get("style:name", "")
            if family == "table-cell":
                self._cells[own] = (
                    attributes.get("style:data-style-name", ""),
                    attributes.get("style:parent-style-name", ""),
                )
            self._table = own if family == "table" else ""
        elif name == "style:table-properties" and attributes.get("table:display") == "false":
            self.hidden_tables.add(self._table)

    def end(self, name: str) -> None:
        """Take an element's end."""
        if self.done:
            return
        if name in _KINDS:
            self._formats[self._name] = "".join(self._parts)
            self._name = ""
        elif name == "number:text":
            self._literal = False

    def text(self, piece: str) -> None:
        """Take text: literal parts of a format."""
        if self._literal and self._name and not self.done:
            self._parts.append(piece if piece in "-/.:, " else f'"{piece}"')


def _code(name: str, attributes: Mapping[str, str]) -> str:
    if name == "number:number":
        return _number(attributes)
    if name == "number:month" and attributes.get("number:textual") == "true":
        return "mmmm" if attributes.get("number:style") == "long" else "mmm"
    short, long = _PARTS.get(name, ("", ""))
    return long if attributes.get("number:style") == "long" else short


def _number(attributes: Mapping[str, str]) -> str:
    def count(key: str) -> int:
        given = attributes.get(key, "0")
        return int(given) if given.isdecimal() and len(given) < 3 else 0

    whole = "0" * count("number:min-integer-digits") or "#"
    if attributes.get("number:grouping") == "true":
        whole = "#,##" + whole
    places = count("number:decimal-places")
    if whole == "0" and "number:decimal-places" not in attributes:
        return ""  # the general format
    return whole + ("." + "0" * places if places else "")


_HIDING = ("collapse", "filter")
_MOST_REPEATS = 10_000_000
_MOST_FORMATS = 1_500_000
_FORMATTED = frozenset({"date", "time", "float", "currency", "percentage"})


def read_ods_facts(archive: Archive, path: str) -> list[SheetFacts]:
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
    styles = _Styles()
    if archive.find("styles.xml"):
        where = f"{path}: styles.xml"
        read_xml(archive.chunks("styles.xml"), where, styles.start, styles.end, styles.text)
    # The body has millions of elements and its texts are not needed: styles are read apart.
    where = f"{path}: content.xml"
    pieces = archive.chunks("content.xml")
    read_xml(pieces, where, styles.start, styles.end, styles.text, until=styles)
    body = _Body(path, styles)
    # A call for each text would cost as much as all else; only notes need them.
    noted = any(b"office:annotation" in piece for piece in pieces)
    read_xml(pieces, where, body.start, body.end, body.text if noted else None)
    if len(body.sheets) > MAX_SHEETS:
        raise UnreadableError(
            f"{path}: has {len(body.sheets):,} sheets; at most {MAX_SHEETS} are read"
        )
    for sheet in body.sheets:
        sheet.check(path)
    return body.sheets


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
        self.noted = 0  # inside a comment, which is no content
        self.saying = False  # inside a paragraph of one
        self.said: list[str] = []
        self.defaults: list[tuple[int, int, str]] = []
        self.codes: dict[str, str] = {}

    def start(self, name: str, attributes: dict[str, str]) -> None:
        if name == "text:p":
            if self.noted:
                self.said.append(" ")
                self.saying = True
            elif self.depth == 1 and self.first:
                self._hold()
        elif name in ("table:table-cell", "table:covered-table-cell"):
            if self.depth == 1:
                self._cell(name, attributes)
        elif name == "table:table-row":
            if self.depth == 1:
                self._row(attributes)
        elif name == "office:annotation":
            self.noted += 1
        elif name == "table:table":
            self._table(attributes)
        elif name == "table:table-column" and self.depth == 1:
            self._columns(attributes)

    def end(self, name: str) -> None:
        if name == "table:table-row":
            if self.depth == 1:
                self.row += self.row_repeat
                self.first = 0
        elif name == "text:p":
            self.saying = False
        elif name == "office:annotation":
            self.noted -= 1
            if self.depth == 1:
                self.sheets[-1].comment(self.row, self.first, "".join(self.said))
            self.said = []
        elif name == "table:table":
            self.depth -= 1

    def text(self, text: str) -> None:
        if self.saying:
            self.said.append(text)

    def _table(self, attributes: Mapping[str, str]) -> None:
        self.depth += 1
        if self.depth == 1:
            hidden = attributes.get("table:style-name", "") in self.styles.hidden_tables
            self.sheets.append(SheetFacts(attributes.get("table:name", ""), hidden))
            self.row, self.columns_said, self.first = 1, 0, 0
            self.defaults = []

    def _columns(self, attributes: Mapping[str, str]) -> None:
        first = self.columns_said + 1
        self.columns_said += self._repeat(attributes.get("table:number-columns-repeated"))
        if attributes.get("table:visibility") in _HIDING:
            self.sheets[-1].hidden_columns.append((first, self.columns_said))
        style = attributes.get("table:default-cell-style-name", "")
        self.defaults.append((first, self.columns_said, style))

    def _row(self, attributes: Mapping[str, str]) -> None:
        self.row_repeat = self._repeat(attributes.get("table:number-rows-repeated"))
        self.row_style = attributes.get("table:default-cell-style-name", "")
        self.column = self.first = 0
        if attributes.get("table:visibility") in _HIDING:
            self.sheets[-1].hidden_rows.append((self.row, self.row + self.row_repeat - 1))

    def _cell(self, name: str, attributes: Mapping[str, str]) -> None:
        self.first = self.column + 1
        repeat = attributes.get("table:number-columns-repeated")
        self.column += 1 if repeat is None else self._repeat(repeat)
        kind = attributes.get("office:value-type")
        if kind is not None and name != "table:covered-table-cell":
            self._hold()
            if kind in _FORMATTED:
                self._format(attributes.get("table:style-name"))
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
                self.sheets[-1].merges.append((self.row, self.first, *last))

    def _hold(self) -> None:
        self.sheets[-1].grow(self.row + self.row_repeat - 1, self.column)

    def _format(self, style: str | None) -> None:
        if style is None:
            style = self.row_style or next(
                (name for first, last, name in self.defaults if first <= self.first <= last), ""
            )
        code = self.codes.get(style)
        if code is None:
            code = self.codes[style] = self.styles.code(style)
        if not code:
            return
        formats = self.sheets[-1].formats
        if self.row_repeat == 1 and self.column == self.first:
            if len(formats) < _MOST_FORMATS:
                formats[self.row, self.first] = code
            return
        count = self.row_repeat * (self.column - self.first + 1)
        if count > MAX_CELLS // 10 or len(formats) + count > _MOST_FORMATS:
            return
        for row in range(self.row, self.row + self.row_repeat):
            for column in range(self.first, self.column + 1):
                formats[row, column] = code

    def _repeat(self, given: str | None) -> int:
        if given is None:
            return 1
        if not given.isdecimal() or len(given) > 12:
            raise UnreadableError(f"{self.path}: the workbook is damaged; save it again")
        return max(1, min(int(given), _MOST_REPEATS))
