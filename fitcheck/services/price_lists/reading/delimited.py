"""CSV and its kin: text files of rows and columns, their delimiter, and whether quotes enclose."""

from __future__ import annotations

import csv
import io
import re
from collections import Counter
from itertools import islice
from typing import Literal, cast

from fitcheck.errors import UnreadableError, UsageError
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
from fitcheck.services.price_lists.reading.encodings import decode

DELIMITERS = {";": "semicolon", ",": "comma", "\t": "tab", "|": "pipe"}
_NAMES = {name: mark for mark, name in DELIMITERS.items()} | {"\\t": "\t", "bar": "|"}
_SAMPLE_LINES = 400


def _named_delimiter(given: str) -> str:
    """The mark meant by `;`, `semicolon`, `tab` and so on.

    Raises:
        UsageError: neither one mark nor a known name.
    """
    mark = _NAMES.get(given.strip().lower(), given)
    if len(mark) != 1 or mark in '"\r\n\0 ' or mark.isalnum():
        raise UsageError(
            f"{given!r} is not a delimiter; give one mark, or semicolon, comma, tab or pipe"
        )
    return mark


def find_delimiter(text: str) -> tuple[str, Note]:
    """The delimiter that parts most lines into the same number of cells.

    A first line `sep=;`, which spreadsheets write and obey, settles it.

    Args:
        text: the whole file.

    Returns:
        The mark, and what was found out.
    """
    first = text[:20].splitlines()[0].strip().strip('"').lower() if text.strip() else ""
    if first.startswith("sep=") and len(first) <= 5:
        mark = first[4:] or "\t"
        return mark, Note(
            "delimiter", f"delimiter {DELIMITERS.get(mark, repr(mark))}, as the first line says"
        )
    lines = io.StringIO(text[: 40 * LONGEST_CELL], newline="")
    sample = "".join(islice(lines, _SAMPLE_LINES))
    # A comma before a space is mostly of a text; it counts where there is nothing else.
    scores = {mark: _score(sample.replace(", ", "  "), mark) for mark in DELIMITERS}
    if not any(scores.values()):
        scores[","] = _score(sample, ",")
    best = max(scores, key=lambda mark: scores[mark])
    if scores[best] <= 0:
        return ";", Note("delimiter", "no delimiter: one column", sure=False)
    rivals = [mark for mark in scores if mark != best and scores[mark] > 0.8 * scores[best]]
    return best, Note("delimiter", f"delimiter {DELIMITERS[best]}", sure=not rivals)


def _score(sample: str, mark: str) -> float:
    """Marks a row has in common with the others, over all rows that hold something."""
    widths: Counter[int] = Counter()
    try:
        for row in csv.reader(io.StringIO(sample, newline=""), delimiter=mark):
            if any(map(str.strip, row)):
                widths[len(row)] += 1
    except csv.Error:
        return 0.0
    total = widths.total()
    # Title rows and footers have fewer cells; a decimal comma or a comma in a text makes rows of
    # uneven width, which counts against the comma.
    return max(((width - 1) * (count / total) ** 3 for width, count in widths.items()), default=0.0)


def _split(text: str, mark: str, path: str) -> tuple[list[list[str]], list[Note]]:
    """Part a text into rows of cells.

    Quotes enclose a cell where they do so cleanly throughout. Where one is opened and never
    closed (an inch mark at the head of a cell), all quotes are taken as they stand.

    Raises:
        UnreadableError: too many rows or columns, or a cell or line beyond all measure.
    """
    if '"' not in text:
        return _rows(text, mark, path, csv.QUOTE_NONE), []
    try:
        return _rows(text, mark, path, csv.QUOTE_MINIMAL, strict=True), []
    except csv.Error:
        pass
    end = "\x02end\x02"  # stands in a row of its own where the last quoted cell is closed
    try:
        *rows, last = _rows(f"{text}\n{end}", mark, path, csv.QUOTE_MINIMAL)
        if last == [end]:
            note = "some quotes stand inside quoted cells without being doubled"
            return rows, [Note("quoting", note, sure=False)]
    except csv.Error:
        pass
    note = "a quote is opened and never closed; quotes are read as they stand"
    return _rows(text, mark, path, csv.QUOTE_NONE), [Note("quoting", note, sure=False)]


def _rows(
    text: str, mark: str, path: str, quoting: Literal[0, 3], *, strict: bool = False
) -> list[list[str]]:
    rows: list[list[str]] = []
    cells = 0
    lines = io.StringIO(text, newline="")
    try:
        for row in csv.reader(lines, delimiter=mark, quoting=quoting, strict=strict):
            if len(row) > MAX_COLUMNS:
                raise UnreadableError(
                    f"{path}: row {len(rows) + 1:,} has {len(row):,} columns; "
                    f"at most {MAX_COLUMNS:,} are read"
                )
            cells += len(row)
            if len(rows) >= MAX_ROWS or cells > MAX_CELLS:
                raise UnreadableError(
                    f"{path}: more than {MAX_ROWS:,} rows or {MAX_CELLS:,} cells; split the list"
                )
            rows.append(row)
    except csv.Error as error:
        if "limit" not in str(error):
            raise
        raise UnreadableError(
            f"{path}: row {len(rows) + 1:,} holds a cell of more than "
            f"{csv.field_size_limit():,} characters; is it a list?"
        ) from None
    return rows


_SHOWN = 5
_WRAPPED = re.compile(r'\s*="((?:[^"]|"")*)"\s*')


def read_delimited(
    data: bytes,
    path: str,
    *,
    encoding: str | None = None,
    delimiter: str | None = None,
    usual: str | None = None,
) -> tuple[Sheet, list[Note], str]:
    """Read a text file of rows and columns.

    Args:
        data: the whole file.
        path: for messages.
        encoding: a codec's name; found out where None.
        delimiter: the mark between cells or its name; found out where None.
        usual: the codec of earlier lists.

    Returns:
        One sheet without a name, all cells text; what was found out; and the codec, where the file
        has signs of one byte beyond ASCII.

    Raises:
        UsageError: no such encoding or delimiter.
        UnreadableError: no text, nothing in it, or too much.
    """
    mark = _named_delimiter(delimiter) if delimiter is not None else None
    decoded = decode(data, path, encoding, usual)
    text, notes = decoded.text, decoded.notes
    if not text.strip():
        raise UnreadableError(f"{path}: the file is empty")
    if mark is None:
        mark, note = find_delimiter(text)
    else:
        note = Note("delimiter", f"delimiter {DELIMITERS.get(mark, repr(mark))}, as given")
    rows, quoting = _split(text, mark, path)
    notes += [note, *quoting]
    if '"' in text and "\r" in text:
        rows = [[cell.replace("\r\n", "\n").replace("\r", "\n") for cell in row] for row in rows]
    if '="' in text:
        notes += _unwrap(rows)
    if rows and 0 < len(rows[0]) <= 2 and rows[0][0].strip().lower().startswith("sep="):
        rows[0] = []  # the spreadsheet's own hint, no part of the list
    while rows and not any(map(str.strip, rows[-1])):
        rows.pop()
    if not rows:
        raise UnreadableError(f"{path}: the list is empty")
    notes += _note_ragged(rows)
    return Sheet("", cast("list[list[Native]]", rows)), notes, decoded.codec


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


def _note_ragged(rows: list[list[str]]) -> list[Note]:
    widths = Counter(len(row) for row in rows if "".join(row).strip())
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
