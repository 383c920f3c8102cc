"""XLSX, XLS and ODS workbooks, their values read by python-calamine.

Calamine is asked directly, not through pandas: a frame would turn whole columns to one type and
lose the difference between a number, a date and a text that looks like one.
"""

from __future__ import annotations

import datetime as dt
import io
import re
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from fitcheck.diagnostics.suggest import nearest, or_list
from fitcheck.errors import UnreadableError, UsageError
from fitcheck.services.price_lists.muting import STDERR, muted
from fitcheck.services.price_lists.reading.cells import Native, Note, Sheet
from fitcheck.services.price_lists.reading.facts import LONGEST_CELL, MAX_CELLS, SheetFacts, counted

if TYPE_CHECKING:
    import python_calamine

ERROR = "#ERROR"
"""Stands where a formula ended in an error; which one is not told."""

_DURATION = re.compile(r"PT(?:([0-9]{1,6})H)?(?:([0-9]{1,6})M)?(?:([0-9]{1,6})(?:[.,][0-9]+)?S)?")


_PLACES = 5
"""So many cells are named in a note."""


def need_calamine(path: str) -> Any:
    """The package that reads workbooks.

    Raises:
        UsageError: it is not installed; says how to get it.
    """
    try:
        import python_calamine  # noqa: PLC0415 - only workbooks need it
    except ImportError:
        raise UsageError(
            f"{path}: workbooks need the package python-calamine: pip install 'fitcheck[lists]'"
        ) from None
    return python_calamine


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
        UsageError: python-calamine is not installed.
        UnreadableError: it cannot read the workbook.
    """
    calamine = need_calamine(path)
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
            sheet = book.get_sheet_by_name(facts.name)
            rows = sheet.to_python()
        left = sheet.start[1] if sheet.start else 0
        top = sheet.start[0] if sheet.start else 0
        values = [[] for _ in range(top)]
        padding: list[Native] = [None] * left
        for held in rows:
            values.append(padding + _row(held, path, facts.name, len(values) + 1))
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


def _row(row: Sequence[Any], path: str, name: str, number: int) -> list[Native]:
    cells: list[Native] = list(row)
    while cells and cells[-1] == "":
        cells.pop()
    for index, value in enumerate(cells):
        if not isinstance(value, str):
            continue
        if value == "":
            cells[index] = None
        elif _DURATION.fullmatch(value):
            cells[index] = _duration(value)
        elif len(value) > LONGEST_CELL:
            raise UnreadableError(
                f"{path}: a cell in row {number:,} of sheet {name!r} holds {len(value):,} "
                f"characters; at most {LONGEST_CELL:,} are read"
            )
        elif "\r" in value:
            cells[index] = value.replace("\r\n", "\n").replace("\r", "\n")
    return cells


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
    return notes
