"""A supplier's list as it was read: sheets of cells, each with its address, nothing interpreted."""

from __future__ import annotations

import datetime as dt
import math
import re
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cache
from typing import Literal

Native = str | int | float | bool | dt.datetime | dt.date | dt.time | dt.timedelta | None
"""What a file holds in a cell; None where it holds nothing."""

Place = tuple[int, int]
"""Row and column, counted from 1."""

# Past a limit a list is refused in one line, never cut.
MAX_BYTES = 100 * 1024 * 1024
"""Bytes of the file itself."""

MAX_ROWS = 1_000_000
MAX_COLUMNS = 1_000
MAX_CELLS = 15_000_000
"""Rows times columns of one sheet, and of all sheets together."""

MAX_SHEETS = 200

LONGEST_CELL = 131_072
"""Characters of one cell: four times what the spreadsheet formats allow."""

MAX_INFLATED = 600 * 1024 * 1024
"""Bytes that all packed parts of a workbook may unfold to."""

MAX_RATIO = 250
"""How many times its packed size a large part may unfold to; worksheets stay well under 100."""

MAX_PARTS = 5_000
"""Files inside a packed workbook."""


def counted(count: int, noun: str, plural: str = "") -> str:
    """`1 row`, `2 rows`, `1,200 rows`."""
    return f"{count:,} {noun if count == 1 else plural or noun + 's'}"


_PADDED = re.compile(r'(?:"([^"]*)")?(0+)(?:"([^"]*)")?')


@cache
def column_letters(column: int) -> str:
    """The letters a spreadsheet gives a column, counted from 1: 1 is A, 28 is AB."""
    letters = ""
    while column > 0:
        column, rest = divmod(column - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters


def plain_text(value: Native) -> str:
    """What a cell's value reads as: whole numbers without a point, dates year-month-day."""
    if isinstance(value, str):
        return value
    if isinstance(value, float):
        return _number_text(value)
    if isinstance(value, dt.timedelta):
        return _duration_text(value)
    if isinstance(value, dt.datetime):
        return value.isoformat(sep=" ")
    if isinstance(value, bool):
        return "TRUE" if value else "FALSE"
    return "" if value is None else str(value)


def _duration_text(value: dt.timedelta) -> str:
    minutes, seconds = divmod(round(value.total_seconds()), 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours}:{minutes:02d}:{seconds:02d}"


def _number_text(value: float) -> str:
    if not math.isfinite(value):
        return str(value)
    if value.is_integer() and abs(value) < 1e15:
        return str(int(value))
    # A spreadsheet keeps and shows 15 digits; the rest is the binary fraction's own noise.
    number = Decimal(f"{value:.15g}").normalize()
    return format(number, "f") if -30 < number.adjusted() < 30 else str(number)


def _shown_text(value: Native, code: str) -> str:
    """The text of a number shown with leading zeros or with fixed letters: `0042`, `MA-0042`."""
    if code and isinstance(value, (int, float)) and not isinstance(value, bool):
        shown = _PADDED.fullmatch(code)
        if shown and value >= 0 and value == int(value):
            before, zeros, behind = shown.groups(default="")
            if before or behind or len(zeros) > 1:
                return f"{before}{int(value):0{len(zeros)}d}{behind}"
    return plain_text(value)


@dataclass(slots=True, unsafe_hash=True)
class Cell:
    """One cell of a list; not frozen, since they are made by the million, but never changed.

    Attributes:
        address: where it stands: `Prices!B12` in a spreadsheet, `12:3` (row and column) in a CSV
            file.
        text: what it reads as, spaces and line breaks as they stand; numbers with 15 digits at
            most, leading zeros and fixed letters of their format included.
        value: what the file holds: text, number, truth value, date or time; None for nothing.
        number_format: the spreadsheet's code for showing the value, such as `d-mmm`, where known.
        struck: whether it is struck through.
    """

    address: str
    text: str
    value: Native
    number_format: str = ""
    struck: bool = False

    @property
    def blank(self) -> bool:
        """Whether nothing can be read in it."""
        return not self.text.strip()

    @property
    def rounded(self) -> bool:
        """Whether it is a whole number too long for a spreadsheet, its last digits lost."""
        return isinstance(self.value, float) and abs(self.value) >= 1e15


@dataclass(frozen=True, slots=True)
class Note:
    """Something found out about a list while reading it.

    Attributes:
        topic: one word or two: encoding, delimiter, quoting, rows, sheets, hidden, merged,
            formulas, comments, styles.
        text: one sentence.
        sure: False where another reading is possible and the caller may say better.
    """

    topic: str
    text: str
    sure: bool = True

    def __str__(self) -> str:
        return self.text


@dataclass(eq=False, slots=True)
class Sheet:
    """One sheet of a list, or a whole CSV file.

    The values are kept bare and cells are made when asked for: a list of a million cells stays
    small.

    Attributes:
        name: the sheet's name; empty for a CSV file.
        values: row by row; rows end at their last cell that holds something.
        hidden: whether the sheet itself is hidden.
        hidden_rows: numbers, from 1, of hidden rows.
        hidden_columns: numbers, from 1, of hidden columns.
        merged: row and column of a cell covered by a merge, to those of its top left cell.
        formats: number format codes by row and column, where known and not general.
        no_values: row and column, from 1, of cells that hold a formula and no stored value.
        struck: row and column, from 1, of cells that are struck through.
        comments: number of a row, from 1, to what is noted on its cells, from left to right.
    """

    name: str
    values: list[list[Native]] = field(default_factory=list)
    hidden: bool = False
    hidden_rows: frozenset[int] = frozenset()
    hidden_columns: frozenset[int] = frozenset()
    merged: dict[Place, Place] = field(default_factory=dict)
    formats: dict[Place, str] = field(default_factory=dict)
    no_values: frozenset[Place] = frozenset()
    struck: set[Place] = field(default_factory=set)
    comments: dict[int, tuple[str, ...]] = field(default_factory=dict)
    _width: int = field(default=-1, init=False)

    @property
    def row_count(self) -> int:
        """Rows down to the last one that holds anything."""
        return len(self.values)

    @property
    def column_count(self) -> int:
        """Columns of the longest row."""
        if self._width < 0:
            self._width = max(map(len, self.values), default=0)
        return self._width

    def address(self, row: int, column: int) -> str:
        """Where a cell stands, both counted from 1: `Prices!B12`, or `12:3` in a CSV file."""
        if not self.name:
            return f"{row}:{column}"
        return f"{self.name}!{column_letters(column)}{row}"

    def row_address(self, row: int) -> str:
        """Where a row stands: `Prices!12`, or `12` in a CSV file."""
        return f"{self.name}!{row}" if self.name else str(row)

    def value(self, row: int, column: int) -> Native:
        """The value held at a row and column, from 1; a merged cell's is spread."""
        row, column = self.merged.get((row, column), (row, column))
        if not 1 <= row <= len(self.values):
            return None
        held = self.values[row - 1]
        return held[column - 1] if 1 <= column <= len(held) else None

    def cell(self, row: int, column: int) -> Cell:
        """The cell at a row and column, counted from 1; an empty one beyond the list's edge."""
        if not (self.merged or self.formats or self.name):
            # A text file: nothing to look up but the value.
            held = self.values[row - 1] if 1 <= row <= len(self.values) else ()
            value = held[column - 1] if 1 <= column <= len(held) else None
            return Cell(
                f"{row}:{column}", value if type(value) is str else plain_text(value), value
            )
        value = self.value(row, column)
        source = self.merged.get((row, column), (row, column))
        code = self.formats.get(source, "")
        return Cell(
            address=self.address(row, column),
            text=_shown_text(value, code),
            value=value,
            number_format=code,
            struck=bool(self.struck) and source in self.struck,
        )

    def row(self, row: int) -> list[Cell]:
        """All cells of a row, from column 1 to the sheet's last."""
        width = self.column_count if self.merged else len(self.values[row - 1])
        return [self.cell(row, column) for column in range(1, width + 1)]

    def is_blank(self, row: int) -> bool:
        """Whether a row holds nothing that can be read."""
        return not any(
            value is not None and (not isinstance(value, str) or value.strip())
            for value in self.values[row - 1]
        )


@dataclass(frozen=True, slots=True)
class SupplierList:
    """A list as it was read.

    Attributes:
        path: the file, as given.
        kind: csv, xlsx, xls or ods; added where a reader of an installed package gave it.
        sheets: in the file's order, hidden ones included; one for a CSV file.
        notes: what was found out: encoding, delimiter, hidden and merged cells and so on.
        codec: the encoding of a text file with signs of one byte beyond ASCII; else empty.
    """

    path: str
    kind: Literal["csv", "xlsx", "xls", "ods", "added"]
    sheets: tuple[Sheet, ...]
    notes: tuple[Note, ...] = ()
    codec: str = ""

    @property
    def row_count(self) -> int:
        """Rows of all sheets."""
        return sum(sheet.row_count for sheet in self.sheets)
