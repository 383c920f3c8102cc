"""Lists that the shop keeps itself: one sheet of rows, by heading or by place, none half read.

Nobody reviews such a list row by row, so what may be a shifted row is refused: more cells than
headings, a quote left open, a cell over several lines.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from fitcheck.diagnostics.finding import shown_path
from fitcheck.diagnostics.suggest import or_list
from fitcheck.errors import UsageError, clip
from fitcheck.rules.setting import plain_word
from fitcheck.services.price_lists.reading import Sheet, SupplierList, read_list
from fitcheck.services.price_lists.reading.delimited import find_delimiter
from fitcheck.services.price_lists.reading.encodings import decode

_ARMED = re.compile(r"'(?=\s*[=+\-@＝＋－＠])")
"""The apostrophe that keeps a spreadsheet from taking a text for a formula."""

_PARTED = re.compile(r"[,;\t|]")


@dataclass(frozen=True, slots=True)
class Columns:
    """What the columns of a kind of list may hold.

    Attributes:
        headings: plain words of a heading by what the column holds, the likeliest first.
        needed: the two that a list must have.
        bare: what the columns are without headings, in order, the number second.
        number: what the second cell of a row without headings looks like.
        bare_words: `bare` in words, for the refusal.
    """

    headings: Mapping[str, Sequence[str]]
    needed: tuple[str, str]
    bare: tuple[str, ...]
    number: re.Pattern[str]
    bare_words: str


@dataclass(frozen=True, slots=True)
class ShopRow:
    """One row.

    Attributes:
        where: file and row.
        cells: the texts, from the first column on.
        numbers: columns, from 0, that a workbook holds as numbers, so that no mark is in doubt.
        fault: why the row cannot be read at all, or None.
    """

    where: str
    cells: tuple[str, ...]
    numbers: frozenset[int] = frozenset()
    fault: str | None = None

    def text(self, column: int | None) -> str:
        """The text of a column, from 0; empty where there is none."""
        return self.cells[column] if column is not None and column < len(self.cells) else ""


@dataclass(slots=True)
class ShopList:
    """A list as it was read.

    Attributes:
        path: the file as shown to people.
        rows: its rows, without the one of headings and without blank ones.
        columns: column, from 0, of what each holds.
        heads: plain words over the columns; empty where there are no headings.
        has_commas: whether commas part its cells, so that a decimal comma parts them too.
        notes: columns that are not taken since another says the same, a sentence each.
    """

    path: str
    rows: list[ShopRow] = field(default_factory=list)
    columns: dict[str, int] = field(default_factory=dict)
    heads: list[str] = field(default_factory=list)
    has_commas: bool = False
    notes: list[str] = field(default_factory=list)


def read_shop_list(path: Path, known: Columns) -> ShopList:
    """Read a list from CSV or a spreadsheet.

    Raises:
        UnreadableError: the file cannot be read.
        UsageError: it has several sheets that hold something, no such columns, or a quote that is
            not closed.
    """
    whole = read_list(path)
    name = shown_path(path)
    _refuse_loose_quotes(whole, path, name)
    sheets = [sheet for sheet in whole.sheets if sheet.row_count and not sheet.hidden]
    if len(sheets) > 1:
        raise UsageError(
            f"{name}: it has {len(sheets)} sheets ({or_list(s.name for s in sheets)}); save the "
            "one that is meant as CSV"
        )
    found = ShopList(name)
    found.has_commas = any(
        note.topic == "delimiter" and note.text.startswith("delimiter comma")
        for note in whole.notes
    )
    for sheet in sheets:
        rows = [row for row in range(1, sheet.row_count + 1) if not sheet.is_blank(row)]
        if rows:
            has_headings = _find_columns(found, sheet, rows[0], known)
            found.rows.extend(_rows(found, sheet, rows[has_headings:], known))
    return found


def _find_columns(found: ShopList, sheet: Sheet, row: int, known: Columns) -> bool:
    """Find what the columns hold; whether that row is one of headings."""
    cells = [cell.text.strip() for cell in sheet.row(row)]
    words = [plain_word(cell) for cell in cells]
    where = f"{found.path}:{sheet.row_address(row)}"
    columns: dict[str, int] = {}
    for holds, names in known.headings.items():
        at = [place for name in names for place, word in enumerate(words) if word == name]
        if at:
            columns[holds] = at[0]
        if len(at) > 1 and holds != known.needed[0]:  # of several names, each is compared with it
            others = or_list(repr(cells[place]) for place in at[1:])
            found.notes.append(f"{where}: the column {cells[at[0]]!r} is taken, not {others}")
    if all(holds in columns for holds in known.needed):
        found.columns, found.heads = columns, words
        return True
    found.notes.clear()
    if len(cells) > 1 and known.number.fullmatch(cells[1]):
        found.columns = {holds: at for at, holds in enumerate(known.bare)}
        return False
    first, second = known.needed
    if sheet.column_count == 1 and _PARTED.search(cells[0]):
        raise UsageError(
            f"{where}: everything is in one column ({clip(cells[0], 30)!r}); save it again so that "
            f"{known.bare_words} have a column each"
        )
    raise UsageError(
        f"{where}: no column is headed {first}, or none {second}; write both words over the "
        f"columns, or only {known.bare_words} in each row"
    )


def _rows(found: ShopList, sheet: Sheet, rows: Sequence[int], known: Columns) -> Iterator[ShopRow]:
    headed = found.heads or [*known.bare]
    for row in rows:
        cells = sheet.row(row)
        texts = tuple(_ARMED.sub("", cell.text.strip(), count=1) for cell in cells)
        fault = None
        for at, text in enumerate(texts):
            if text and (at >= len(headed) or not headed[at]):
                fault = (
                    f"{clip(text, 30)!r} stands in column {at + 1}, which has no heading; was a "
                    "cell parted at a mark in it? put that cell in quotes"
                    if found.heads
                    else f"{clip(text, 30)!r} is one cell more than {known.bare_words}; was a cell "
                    "parted at a mark in it? put that cell in quotes"
                )
                break
            if not sheet.name and ("\n" in text or "\r" in text):
                fault = "a cell runs over several lines; is a quote left open? write it in one line"
                break
        numbers = frozenset(at for at, cell in enumerate(cells) if not isinstance(cell.value, str))
        yield ShopRow(f"{found.path}:{sheet.row_address(row)}", texts, numbers, fault)


def _refuse_loose_quotes(whole: SupplierList, path: Path, name: str) -> None:
    """Refuse a text file whose quotes do not enclose cells cleanly: rows may be lost in them.

    Raises:
        UsageError: with the row where the first such cell begins.
    """
    if not any(note.topic == "quoting" and not note.sure for note in whole.notes):
        return
    text = decode(path.read_bytes(), name).text
    mark, _ = find_delimiter(text)
    rows = csv.reader(io.StringIO(text, newline=""), delimiter=mark, strict=True)
    begins = 1
    try:
        for _ in rows:
            begins = rows.line_num + 1
    except csv.Error:
        pass
    raise UsageError(
        f"{name}:{begins}: a quote is opened and not closed before the cell ends; close it, take "
        "it out, or write a quote within quotes twice"
    )
