"""CSV and its kin: text files of rows and columns."""

from __future__ import annotations

import re
from collections import Counter
from typing import cast

from fitcheck.errors import UnreadableError
from fitcheck.services.price_lists.reading.cells import Native, Note, Sheet
from fitcheck.services.price_lists.reading.dialects import (
    DELIMITERS,
    find_delimiter,
    line_endings,
    named_delimiter,
    split,
)
from fitcheck.services.price_lists.reading.encodings import decode
from fitcheck.services.price_lists.reading.phrases import counted

_SHOWN = 5
_WRAPPED = re.compile(r'\s*="((?:[^"]|"")*)"\s*')


def read_delimited(
    data: bytes, path: str, *, encoding: str | None = None, delimiter: str | None = None
) -> tuple[Sheet, list[Note]]:
    """Read a text file of rows and columns.

    Args:
        data: the whole file.
        path: for messages.
        encoding: a codec's name; found out where None.
        delimiter: the mark between cells or its name; found out where None.

    Returns:
        One sheet without a name, all cells text, and what was found out.

    Raises:
        UsageError: no such encoding or delimiter.
        UnreadableError: no text, nothing in it, or too much.
    """
    mark = named_delimiter(delimiter) if delimiter is not None else None
    text, notes = decode(data, path, encoding)
    if not text.strip():
        raise UnreadableError(f"{path}: the file is empty")
    ending = line_endings(text)
    if ending:
        notes.append(ending)
    if mark is None:
        mark, note = find_delimiter(text)
    else:
        note = Note("delimiter", f"delimiter {DELIMITERS.get(mark, repr(mark))}, as given")
    notes.append(note)
    rows, quoting = split(text, mark, path)
    notes += quoting
    if "\r" in text:
        rows = [
            [
                cell.replace("\r\n", "\n").replace("\r", "\n") if "\r" in cell else cell
                for cell in row
            ]
            for row in rows
        ]
    if '="' in text:
        notes += _unwrap(rows)
    if rows and len(rows[0]) <= 2 and rows[0] and rows[0][0].strip().lower().startswith("sep="):
        rows[0] = []  # the spreadsheet's own hint, no part of the list
    while rows and not any(map(str.strip, rows[-1])):
        rows.pop()
    if not rows:
        raise UnreadableError(f"{path}: the list is empty")
    notes += _ragged(rows)
    return Sheet("", cast("list[list[Native]]", rows)), notes


def _unwrap(rows: list[list[str]]) -> list[Note]:
    """Take texts out of the formulas that keep them texts in a spreadsheet: `="00123"`."""
    found = 0
    for row in rows:
        for at, cell in enumerate(row):
            wrapped = _WRAPPED.fullmatch(cell)
            if wrapped:
                row[at] = wrapped[1].replace('""', '"')
                found += 1
    if not found:
        return []
    return [
        Note("quoting", f"{counted(found, 'cell')} written as a formula, read as the text in it")
    ]


def _ragged(rows: list[list[str]]) -> list[Note]:
    widths = Counter(len(row) for row in rows if any(map(str.strip, row)))
    if not widths:
        return []
    usual = max(widths, key=lambda width: (widths[width], width))
    longer = [number for number, row in enumerate(rows, 1) if len(row) > usual]
    if not longer:
        return []
    shown = ", ".join(map(str, longer[:_SHOWN])) + (" ..." if len(longer) > _SHOWN else "")
    return [
        Note(
            "rows",
            f"{counted(len(longer), 'row has', 'rows have')} more cells than the usual {usual}: "
            f"row {shown}",
            sure=False,
        )
    ]
