"""How much of a list is read, and what a workbook says of its sheets beside their values.

Past a limit the list is refused in one line, never cut.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from fitcheck.errors import UnreadableError

MAX_BYTES = 100 * 1024 * 1024
"""Bytes of the file itself."""

MAX_ROWS = 1_000_000
MAX_COLUMNS = 1_000
MAX_CELLS = 15_000_000
"""Rows times columns of one sheet, and of all sheets together."""

MAX_SHEETS = 200

LONGEST_CELL = 131_072
"""Characters of one cell: four times what the spreadsheet formats allow."""

LONGEST_LINE = 2_000_000
"""Characters of one line of a text file."""

MAX_INFLATED = 600 * 1024 * 1024
"""Bytes that all packed parts of a workbook may unfold to."""

MAX_RATIO = 250
"""How many times its packed size a large part may unfold to; worksheets stay well under 100."""

MAX_PARTS = 5_000
"""Files inside a packed workbook."""


def counted(count: int, noun: str, plural: str = "") -> str:
    """`1 row`, `2 rows`, `1,200 rows`."""
    return f"{count:,} {noun if count == 1 else plural or noun + 's'}"


_SPREAD = 200_000
_FORMULAS = 100_000
_COMMENTS = 100_000


@dataclass(slots=True)
class SheetFacts:
    """One sheet's facts; rows and columns are counted from 1.

    Attributes:
        name: the sheet's name.
        hidden: whether the sheet is hidden.
        last_row: last row with a cell that holds something.
        last_column: last column with one.
        hidden_rows: first and last of each run of hidden rows.
        hidden_columns: first and last of each run of hidden columns.
        merges: first row and column, last row and column of each merged cell.
        formats: number format codes by row and column, where not general.
        errors: cells whose formula ends in an error, by row and column.
        formulas: cells with a formula that may have no value stored, by row and column, so far as
            they are counted.
        struck: cells that are struck through, by row and column.
        comments: what is noted on cells, by row and column.
    """

    name: str
    hidden: bool = False
    last_row: int = 0
    last_column: int = 0
    hidden_rows: list[tuple[int, int]] = field(default_factory=list)
    hidden_columns: list[tuple[int, int]] = field(default_factory=list)
    merges: list[tuple[int, int, int, int]] = field(default_factory=list)
    formats: dict[tuple[int, int], str] = field(default_factory=dict)
    errors: set[tuple[int, int]] = field(default_factory=set)
    formulas: set[tuple[int, int]] = field(default_factory=set)
    struck: set[tuple[int, int]] = field(default_factory=set)
    comments: dict[tuple[int, int], str] = field(default_factory=dict)

    def comment(self, row: int, column: int, text: str) -> None:
        """Take what is noted on a cell; several notes on one are read as one."""
        said = " ".join(text.split())[:LONGEST_CELL]
        if said and row and (len(self.comments) < _COMMENTS or (row, column) in self.comments):
            held = self.comments.get((row, column), "")
            if said not in held:
                self.comments[row, column] = f"{held} | {said}" if held else said

    def grow(self, row: int, column: int) -> None:
        """Take a cell that holds something into the extent."""
        self.last_row = max(self.last_row, row)
        self.last_column = max(self.last_column, column)

    def add_formula(self, row: int, column: int) -> None:
        """Take a formula; past a hundred thousand they are not told one by one."""
        self.grow(row, column)
        if len(self.formulas) < _FORMULAS:
            self.formulas.add((row, column))

    def hide_row(self, row: int) -> None:
        """Take a hidden row; those that follow each other make one run."""
        runs = self.hidden_rows
        if runs and runs[-1][1] == row - 1:
            runs[-1] = (runs[-1][0], row)
        else:
            runs.append((row, row))

    def check(self, path: str) -> None:
        """Refuse an extent beyond all measure, before memory is taken for it.

        Raises:
            UnreadableError: too many rows, columns or cells.
        """
        for count, most, what in (
            (self.last_row, MAX_ROWS, "rows"),
            (self.last_column, MAX_COLUMNS, "columns"),
            (self.last_row * self.last_column, MAX_CELLS, "cells"),
        ):
            if count > most:
                raise UnreadableError(
                    f"{path}: sheet {self.name!r} reaches over {count:,} {what}; "
                    f"at most {most:,} are read"
                )

    def rows_hidden(self) -> frozenset[int]:
        """Numbers of hidden rows within the extent."""
        return _numbers(self.hidden_rows, self.last_row)

    def columns_hidden(self) -> frozenset[int]:
        """Numbers of hidden columns within the extent."""
        return _numbers(self.hidden_columns, self.last_column)

    def covered(self) -> dict[tuple[int, int], tuple[int, int]]:
        """Cells covered by a merge, to its top left cell; whole-sheet merges are left alone."""
        found: dict[tuple[int, int], tuple[int, int]] = {}
        for top, left, bottom, right in self.merges:
            rows = range(top, min(bottom, self.last_row) + 1)
            columns = range(left, min(right, max(self.last_column, left)) + 1)
            if len(found) + len(rows) * len(columns) > _SPREAD:
                break
            found.update(
                ((row, column), (top, left))
                for row in rows
                for column in columns
                if (row, column) != (top, left)
            )
        return found


def _numbers(runs: list[tuple[int, int]], last: int) -> frozenset[int]:
    return frozenset(number for first, end in runs for number in range(first, min(end, last) + 1))
