"""Extent, hidden parts, merges and shown texts of the sheets of an ODS workbook.

Element and attribute names follow OpenDocument 1.3, part 3.
"""

from __future__ import annotations

from fitcheck.errors import UnreadableError
from fitcheck.services.intake.reading.archive import Archive
from fitcheck.services.intake.reading.facts import SheetFacts
from fitcheck.services.intake.reading.limits import (
    LONGEST_CELL,
    MAX_CELLS,
    MAX_COLUMNS,
    MAX_ROWS,
    MAX_SHEETS,
)
from fitcheck.services.intake.reading.ods_styles import OdsStyles
from fitcheck.services.intake.reading.xml_parts import read_xml

__all__ = ["read_ods_facts"]

_HIDING = ("collapse", "filter")
_MOST_REPEATS = 10_000_000


def read_ods_facts(archive: Archive, path: str) -> list[SheetFacts]:
    """Facts of every sheet, in the workbook's order.

    Raises:
        UnreadableError: locked, damaged, no spreadsheet, or beyond all measure.
    """
    mimetype = archive.read("mimetype").strip()
    if b"spreadsheet" not in mimetype:
        raise UnreadableError(
            f"{path}: is no spreadsheet but {mimetype[:80].decode('ascii', 'replace')!r}; "
            "save the list as .ods, .xlsx or CSV"
        )
    _refuse_locked(archive, path)
    styles = OdsStyles()
    if archive.find("styles.xml"):
        read_xml(
            archive.chunks("styles.xml"),
            f"{path}: styles.xml",
            styles.start,
            styles.end,
            styles.text,
        )
    content = _Content(path, styles)
    read_xml(
        archive.chunks("content.xml"),
        f"{path}: content.xml",
        content.start,
        content.end,
        content.text,
    )
    if len(content.sheets) > MAX_SHEETS:
        raise UnreadableError(
            f"{path}: has {len(content.sheets):,} sheets; at most {MAX_SHEETS} are read"
        )
    for sheet in content.sheets:
        sheet.check(path)
    return content.sheets


def _refuse_locked(archive: Archive, path: str) -> None:
    def start(name: str, _attributes: dict[str, str]) -> None:
        if name.endswith("encryption-data"):
            raise UnreadableError(f"{path}: is locked with a password; save it without one")

    part = archive.find("META-INF/manifest.xml")
    if part:
        # Manifests of old programs do declare a document type: only these bytes are looked for.
        if b"encryption-data" in archive.read(part):
            start("encryption-data", {})
    if archive.find("encrypted-package"):
        start("encryption-data", {})


class _Content:
    """Walks content.xml once."""

    def __init__(self, path: str, styles: OdsStyles) -> None:
        self.path = path
        self.styles = styles
        self.sheets: list[SheetFacts] = []
        self.depth = 0  # of tables: a table inside a cell is no sheet
        self.row = 0
        self.row_repeat = 1
        self.column = 0
        self.column_at = 0
        self.cell_repeat = 1
        self.kind = ""
        self.style = ""
        self.held = False
        self.pieces: list[str] = []
        self.length = 0
        self.in_cell = False
        self.in_text = 0
        self.in_note = 0
        self.default_styles: list[tuple[int, int, str]] = []
        self.row_style = ""

    def start(self, name: str, attributes: dict[str, str]) -> None:
        if name in ("table:table-cell", "table:covered-table-cell"):
            self._cell(name, attributes)
        elif name == "text:p" and self.in_cell and not self.in_note:
            if self.in_text == 0 and self.pieces:
                self.pieces.append("\n")
            self.in_text += 1
        elif name == "office:annotation":
            self.in_note += 1
        elif name == "table:table-row":
            self.row_repeat = self._repeat(attributes.get("table:number-rows-repeated"))
            self.column = 0
            self.row_style = attributes.get("table:default-cell-style-name", "")
            if attributes.get("table:visibility") in _HIDING and self.sheets:
                first = self.row + 1
                self.sheets[-1].hidden_rows.append((first, first + self.row_repeat - 1))
        elif name == "table:table-column":
            repeat = self._repeat(attributes.get("table:number-columns-repeated"))
            first = self.column_at + 1
            self.column_at += repeat
            if self.sheets and self.depth == 1:
                if attributes.get("table:visibility") in _HIDING:
                    self.sheets[-1].hidden_columns.append((first, self.column_at))
                self.default_styles.append(
                    (first, self.column_at, attributes.get("table:default-cell-style-name", ""))
                )
        elif name == "table:table":
            self.depth += 1
            if self.depth == 1:
                style = attributes.get("table:style-name", "")
                hidden = style in self.styles.hidden_tables
                self.sheets.append(SheetFacts(attributes.get("table:name", ""), hidden))
                self.row = self.column_at = 0
                self.default_styles = []
        elif self.in_cell and name == "text:s" and self.in_text:
            count = attributes.get("text:c", "1")
            self.text(" " * (int(count) if count.isdecimal() and len(count) < 5 else 1))
        elif not self.sheets:
            self.styles.start(name, attributes)

    def end(self, name: str) -> None:
        if name in ("table:table-cell", "table:covered-table-cell"):
            self._end_cell()
        elif name == "text:p" and self.in_text:
            self.in_text -= 1
        elif name == "office:annotation":
            self.in_note -= 1
        elif name == "table:table-row" and self.depth == 1:
            self.row += self.row_repeat
        elif name == "table:table":
            self.depth -= 1
        elif not self.sheets:
            self.styles.end(name)

    def text(self, piece: str) -> None:
        if self.in_text and self.in_cell and not self.in_note:
            self.length += len(piece)
            if self.length > LONGEST_CELL:
                raise UnreadableError(
                    f"{self.path}: the cell in row {self.row + 1:,}, column {self.column + 1:,} "
                    f"holds more than {LONGEST_CELL:,} characters; is it a list?"
                )
            self.pieces.append(piece)
        elif not self.sheets:
            self.styles.text(piece)

    def _cell(self, name: str, attributes: dict[str, str]) -> None:
        if self.depth != 1:
            return
        self.cell_repeat = self._repeat(attributes.get("table:number-columns-repeated"))
        self.kind = attributes.get("office:value-type", attributes.get("calcext:value-type", ""))
        self.style = attributes.get("table:style-name", "")
        self.held = bool(self.kind) and name != "table:covered-table-cell"
        self.pieces = []
        self.length = 0
        self.in_cell = True
        sheet = self.sheets[-1]
        rows = attributes.get("table:number-rows-spanned", "1")
        columns = attributes.get("table:number-columns-spanned", "1")
        if (rows, columns) != ("1", "1"):
            top, left = self.row + 1, self.column + 1
            sheet.merges.append(
                (top, left, top + self._repeat(rows) - 1, left + self._repeat(columns) - 1)
            )
        if not self.kind and "table:formula" in attributes:
            sheet.unknown.add((self.row + 1, self.column + 1))

    def _end_cell(self) -> None:
        if self.depth != 1 or not self.in_cell:
            return
        self.in_cell = False
        first = self.column + 1
        self.column += self.cell_repeat
        text = "".join(self.pieces)
        if not (self.held or text):
            return
        sheet = self.sheets[-1]
        sheet.grow(self.row + self.row_repeat, self.column)
        if self.cell_repeat > MAX_COLUMNS or self.row + self.row_repeat > MAX_ROWS:
            sheet.check(self.path)
        if self.kind in ("date", "time", "float", "currency", "percentage"):
            code = self.styles.code(self.style or self.row_style or self._default(first))
            if self.row_repeat * self.cell_repeat > MAX_CELLS // 10:
                return
            for row in range(self.row + 1, self.row + self.row_repeat + 1):
                for column in range(first, self.column + 1):
                    if code:
                        sheet.formats[row, column] = code

    def _default(self, column: int) -> str:
        return next(
            (style for first, last, style in self.default_styles if first <= column <= last), ""
        )

    def _repeat(self, given: str | None) -> int:
        if given is None:
            return 1
        if not given.isdecimal() or len(given) > 12:
            raise UnreadableError(f"{self.path}: the workbook is damaged; save it again")
        return max(1, min(int(given), _MOST_REPEATS))
