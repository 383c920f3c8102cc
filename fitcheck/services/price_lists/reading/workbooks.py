"""XLSX, XLS and ODS workbooks, their values read by python-calamine.

Calamine is asked directly, not through pandas: a frame would turn whole columns to one type and
lose the difference between a number, a date and a text that looks like one.
"""

from __future__ import annotations

import datetime as dt
import io
import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from fitcheck.diagnostics.suggest import nearest, or_list
from fitcheck.errors import UnreadableError, UsageError
from fitcheck.services.price_lists.muting import STDERR, muted
from fitcheck.services.price_lists.reading.cells import (
    LONGEST_CELL,
    MAX_CELLS,
    MAX_COLUMNS,
    MAX_ROWS,
    Native,
    Note,
    Sheet,
    counted,
)

if TYPE_CHECKING:
    import python_calamine

ERROR = "#ERROR"
"""Stands where a formula ended in an error; which one is not told."""

_DURATION = re.compile(r"PT(?:([0-9]{1,6})H)?(?:([0-9]{1,6})M)?(?:([0-9]{1,6})(?:[.,][0-9]+)?S)?")


_PLACES = 5
"""So many cells are named in a note."""


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
        unread_comments: whether notes on cells could not be read.
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
    unread_comments: bool = False

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


@dataclass(slots=True)
class Facts:
    """What a workbook says beside its values.

    Attributes:
        sheets: each sheet's facts, in the workbook's order.
        readable: the workbook as its values are read from it, where a damaged part is left out.
        notes: what could not be read.
    """

    sheets: list[SheetFacts]
    readable: bytes | None = None
    notes: list[Note] = field(default_factory=list)

    def no_styles(self, readable: bytes | None) -> None:
        """Take that the part of styles is damaged, and what the workbook is without it."""
        self.readable = readable
        what = (
            "the styles are damaged, so number formats and what is struck through are not known; "
            "look at the list, or save it again"
        )
        self.notes.append(Note("styles", what, sure=False))


def choose_sheets(facts: Sequence[SheetFacts], wanted: str | None, path: str) -> list[SheetFacts]:
    """The sheets to read: all, or the one named, upper and lower case aside.

    Raises:
        UsageError: no sheet of that name; near names are told.
        UnreadableError: none holds anything.
    """
    names = [each.name for each in facts]
    if wanted is not None:
        chosen = [each for each in facts if each.name == wanted] or [
            each for each in facts if each.name.strip().casefold() == wanted.strip().casefold()
        ]
        if not chosen:
            near = nearest(wanted, names)
            raise UsageError(
                f"{path}: there is no sheet {wanted!r}; "
                + (f"did you mean {near!r}?" if near else f"it has {or_list(map(repr, names))}")
            )
        facts = chosen[:1]
    if sum(each.last_row * each.last_column for each in facts) > MAX_CELLS:
        raise UnreadableError(f"{path}: more than {MAX_CELLS:,} cells; name one sheet")
    if not any(each.last_row for each in facts):
        raise UnreadableError(f"{path}: the workbook is empty")
    return list(facts)


def read_values(data: bytes, path: str, facts: Sequence[SheetFacts]) -> list[Sheet]:
    """Values of the sheets chosen.

    Raises:
        UnreadableError: the workbook cannot be read.
    """
    import python_calamine as calamine  # noqa: PLC0415 - only workbooks need it

    try:
        with muted(STDERR):
            book = calamine.CalamineWorkbook.from_filelike(io.BytesIO(data))
        with book:
            return [_sheet(book, each, path) for each in facts]
    except calamine.PasswordError:
        raise UnreadableError(f"{path}: is locked with a password; save it without one") from None
    except (calamine.CalamineError, OSError, ValueError, OverflowError) as error:
        raise UnreadableError(
            f"{path}: the workbook is damaged ({_short(error)}); save it again"
        ) from None
    except BaseException as error:
        # A panic inside the reader's machine code comes as an exception of no usual family.
        if type(error).__name__ != "PanicException":
            raise
        raise UnreadableError(f"{path}: the workbook is damaged; save it again") from None


def _duration(text: str) -> dt.timedelta | str:
    """A time over 24 hours, which ODS writes as `PT26H45M00S`."""
    found = _DURATION.fullmatch(text)
    assert found is not None
    hours, minutes, seconds = (int(part or 0) for part in found.groups())
    return dt.timedelta(hours=hours, minutes=minutes, seconds=seconds)


def _short(error: BaseException) -> str:
    text = " ".join(str(error).split())
    return text if len(text) <= 80 else text[:77] + "..."


def _sheet(book: python_calamine.CalamineWorkbook, facts: SheetFacts, path: str) -> Sheet:
    values: list[list[Native]] = []
    if facts.last_row:
        with muted(STDERR):
            rows = book.get_sheet_by_name(facts.name).to_python(skip_empty_area=False)
        values = [_row(held, path, facts.name, row) for row, held in enumerate(rows, 1)]
        for row, column in facts.errors:
            _put(values, row, column, ERROR)
        while values and not values[-1]:
            values.pop()
        # A row of nothing but formulas without values is one of the list all the same.
        last = max((row for row, _ in facts.formulas), default=0)
        values.extend([] for _ in range(last - len(values)))
    found = Sheet(
        name=facts.name,
        values=values,
        hidden=facts.hidden,
        hidden_rows=facts.rows_hidden(),
        hidden_columns=facts.columns_hidden(),
        merged=facts.covered(),
        formats=facts.formats,
        struck=frozenset(facts.struck),
    )
    for (row, _), said in sorted(facts.comments.items()):
        found.comments[row] = (*found.comments.get(row, ()), said)
    found.no_values = frozenset(at for at in facts.formulas if found.value(*at) is None)
    return found


def _put(values: list[list[Native]], row: int, column: int, value: Native) -> None:
    values.extend([] for _ in range(row - len(values)))
    held = values[row - 1]
    held.extend([None] * (column - len(held)))
    if held[column - 1] is None:
        held[column - 1] = value


def _row(row: list[Any], path: str, name: str, number: int) -> list[Native]:
    """A row as the reader gives it, with None for what is empty, and nothing behind the last."""
    while row and row[-1] == "":
        row.pop()
    for index, value in enumerate(row):
        if value.__class__ is not str:
            continue
        if not value:
            row[index] = None
        elif "\r" in value:
            row[index] = value.replace("\r\n", "\n").replace("\r", "\n")
        elif value.startswith("PT") and _DURATION.fullmatch(value):
            row[index] = _duration(value)
        elif len(value) > LONGEST_CELL:
            raise UnreadableError(
                f"{path}: a cell in row {number:,} of sheet {name!r} holds {len(value):,} "
                f"characters; at most {LONGEST_CELL:,} are read"
            )
    return row


def sheet_notes(sheets: Sequence[Sheet], facts: Sequence[SheetFacts]) -> list[Note]:
    """What to tell of hidden and merged parts and of formulas without a value."""
    notes = []
    for sheet, fact in zip(sheets, facts, strict=True):
        name = f"sheet {sheet.name!r}"
        if sheet.hidden:
            notes.append(Note("hidden", f"{name} is hidden; it is read anyway"))
        for numbers, what in (
            (sheet.hidden_rows, "hidden row"),
            (sheet.hidden_columns, "hidden column"),
        ):
            if numbers:
                notes.append(
                    Note("hidden", f"{name}: {counted(len(numbers), what)}, read and marked")
                )
        if sheet.merged:
            notes.append(
                Note(
                    "merged",
                    f"{name}: {counted(len(fact.merges), 'merged cell')}, spread and marked",
                )
            )
        cells = sorted(sheet.no_values)
        unknown = len(cells)
        if unknown:
            places = ", ".join(sheet.address(*at).rpartition("!")[2] for at in cells[:_PLACES])
            places += ", ..." if unknown > _PLACES else ""
            notes.append(
                Note(
                    "formulas",
                    f"{name}: {counted(unknown, 'formula')} without a value stored ({places}); "
                    "open and save the workbook in a spreadsheet program",
                    sure=False,
                )
            )
        if fact.unread_comments:
            what = f"{name}: its notes on cells could not be read; look for them in the list"
            notes.append(Note("comments", what, sure=False))
    return notes
