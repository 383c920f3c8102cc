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
from typing import Any

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
    Place,
    Sheet,
    counted,
)

ERROR = "#ERROR"
"""Stands where a formula ended in an error; which one is not told."""

_DURATION = re.compile(r"PT(?:([0-9]{1,6})H)?(?:([0-9]{1,6})M)?(?:([0-9]{1,6})(?:[.,][0-9]+)?S)?")

_PLACES = 5
"""So many cells are named in a note."""

_SPREAD = 200_000
_FORMULAS = 100_000
_COMMENTS = 100_000
_LOOKS = 1_500_000
Runs = list[tuple[int, int]]


@dataclass(eq=False, slots=True)
class SheetFacts(Sheet):
    """A sheet, and what is known of it before its values are read.

    Attributes:
        last_row: last row with a cell that holds something.
        last_column: last column with one.
        row_runs: first and last of each run of hidden rows.
        column_runs: first and last of each run of hidden columns.
        merges: first row and column, last row and column of each merged cell.
        errors: cells whose formula ends in an error.
        formulas: cells with a formula that may have no value stored, so far as they are counted.
        notes: what is noted on cells.
        unread_notes: whether notes on cells could not be read.
    """

    last_row: int = 0
    last_column: int = 0
    row_runs: Runs = field(default_factory=list)
    column_runs: Runs = field(default_factory=list)
    merges: list[tuple[Place, Place]] = field(default_factory=list)
    errors: set[Place] = field(default_factory=set)
    formulas: set[Place] = field(default_factory=set)
    notes: dict[Place, str] = field(default_factory=dict)
    unread_notes: bool = False

    def grow(self, row: int, column: int) -> None:
        """Take a cell that holds something into the extent."""
        self.last_row = max(self.last_row, row)
        self.last_column = max(self.last_column, column)

    def add_look(self, place: Place, code: str, *, struck: bool) -> None:
        """Take how a cell looks; past a million and a half nothing is kept."""
        if code and len(self.formats) < _LOOKS:
            self.formats[place] = code
        if struck and len(self.struck) < _LOOKS:
            self.struck.add(place)

    def add_note(self, place: Place, text: str) -> None:
        """Take what is noted on a cell; several notes on one are read as one."""
        said = " ".join(text.split())[:LONGEST_CELL]
        if said and place[0] and (len(self.notes) < _COMMENTS or place in self.notes):
            held = self.notes.get(place, "")
            if said not in held:
                self.notes[place] = f"{held} | {said}" if held else said

    def add_formula(self, row: int, column: int) -> None:
        """Take a formula; past a hundred thousand they are not told one by one."""
        self.grow(row, column)
        if len(self.formulas) < _FORMULAS:
            self.formulas.add((row, column))

    def hide_row(self, row: int) -> None:
        """Take a hidden row; those that follow each other make one run."""
        follows = self.row_runs and self.row_runs[-1][1] == row - 1
        first = self.row_runs.pop()[0] if follows else row
        self.row_runs.append((first, row))

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

    def take(self, rows: Sequence[list[Any]], path: str) -> None:
        """Take the values as the reader gives them, and settle what depends on them."""
        self.values = [_row(held, path, self.name, row) for row, held in enumerate(rows, 1)]
        for row, column in self.errors:
            self._put(row, column, ERROR)
        while self.values and not self.values[-1]:
            self.values.pop()
        # A row of nothing but formulas without values is one of the list all the same.
        last = max((row for row, _ in self.formulas), default=0)
        self.values.extend([] for _ in range(last - len(self.values)))
        self.hidden_rows = _numbers(self.row_runs, self.last_row)
        self.hidden_columns = _numbers(self.column_runs, self.last_column)
        self._spread()
        for (row, _), said in sorted(self.notes.items()):
            self.comments[row] = (*self.comments.get(row, ()), said)
        self.no_values = frozenset(at for at in self.formulas if self.value(*at) is None)

    def _put(self, row: int, column: int, value: Native) -> None:
        self.values.extend([] for _ in range(row - len(self.values)))
        held = self.values[row - 1]
        held.extend([None] * (column - len(held)))
        if held[column - 1] is None:
            held[column - 1] = value

    def _spread(self) -> None:
        """Spread merged cells; where a whole sheet is merged it is left alone."""
        for (top, left), (bottom, right) in self.merges:
            rows = range(top, min(bottom, self.last_row) + 1)
            columns = range(left, min(right, max(self.last_column, left)) + 1)
            if len(self.merged) + len(rows) * len(columns) > _SPREAD:
                break
            places = ((row, column) for row in rows for column in columns)
            self.merged.update((each, (top, left)) for each in places if each != (top, left))


def _numbers(runs: Runs, last: int) -> frozenset[int]:
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


def read_values(data: bytes, path: str, sheets: Sequence[SheetFacts]) -> None:
    """Read the values of the sheets chosen.

    Raises:
        UnreadableError: the workbook cannot be read.
    """
    import python_calamine as calamine  # noqa: PLC0415 - only workbooks need it

    try:
        with muted(STDERR):
            book = calamine.CalamineWorkbook.from_filelike(io.BytesIO(data))
        with book:
            for each in sheets:
                if each.last_row:
                    with muted(STDERR):
                        rows = book.get_sheet_by_name(each.name).to_python(skip_empty_area=False)
                    each.take(rows, path)
    except calamine.PasswordError:
        raise UnreadableError(f"{path}: is locked with a password; save it without one") from None
    except (calamine.CalamineError, OSError, ValueError, OverflowError) as error:
        text = " ".join(str(error).split())[:80]
        raise UnreadableError(f"{path}: the workbook is damaged ({text}); save it again") from None
    except BaseException as error:
        # A panic inside the reader's machine code comes as an exception of no usual family.
        if type(error).__name__ != "PanicException":
            raise
        raise UnreadableError(f"{path}: the workbook is damaged; save it again") from None


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
        elif value.startswith("PT") and (found := _DURATION.fullmatch(value)):
            # A time over 24 hours in ODS: `PT26H45M00S`.
            hours, minutes, seconds = (int(part or 0) for part in found.groups())
            row[index] = dt.timedelta(hours=hours, minutes=minutes, seconds=seconds)
        elif len(value) > LONGEST_CELL:
            raise UnreadableError(
                f"{path}: a cell in row {number:,} of sheet {name!r} holds {len(value):,} "
                f"characters; at most {LONGEST_CELL:,} are read"
            )
    return row


def sheet_notes(sheets: Sequence[SheetFacts]) -> list[Note]:
    """What to tell of hidden and merged parts, formulas without a value and notes on cells."""
    notes = []
    for sheet in sheets:
        name = f"sheet {sheet.name!r}"
        if sheet.hidden:
            notes.append(Note("hidden", f"{name} is hidden; it is read anyway"))
        hidden = ((sheet.hidden_rows, "hidden row"), (sheet.hidden_columns, "hidden column"))
        for numbers, what in hidden:
            if numbers:
                text = f"{name}: {counted(len(numbers), what)}, read and marked"
                notes.append(Note("hidden", text))
        if sheet.merged:
            what = counted(len(sheet.merges), "merged cell")
            notes.append(Note("merged", f"{name}: {what}, spread and marked"))
        cells = sorted(sheet.no_values)
        if cells:
            places = ", ".join(sheet.address(*at).rpartition("!")[2] for at in cells[:_PLACES])
            places += ", ..." if len(cells) > _PLACES else ""
            text = (
                f"{name}: {counted(len(cells), 'formula')} without a value stored ({places}); "
                "open and save the workbook in a spreadsheet program"
            )
            notes.append(Note("formulas", text, sure=False))
        if sheet.unread_notes:
            text = f"{name}: its notes on cells could not be read; look for them in the list"
            notes.append(Note("comments", text, sure=False))
    return notes
