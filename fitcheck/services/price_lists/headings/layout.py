"""Where things stand in a sheet: the header, the columns, and what each row is."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from typing import Literal

from fitcheck.model.fields import Stage
from fitcheck.model.trade import ListField
from fitcheck.services.price_lists.headings.columns import PriceTerms
from fitcheck.services.price_lists.reading.cells import Cell, Sheet
from fitcheck.services.price_lists.wording.readings import fold
from fitcheck.services.price_lists.wording.teeth import read_teeth
from fitcheck.services.price_lists.wording.tokens import possible_count

# Common practice, no source.
_DITTO = re.compile(
    r"-?\s?(?:\"|''|,,)\s?-?|\u3003|(?:dto|ditto|idem|id|do|c\. ?s)\.?|wie oben|as above|come sopra"
    r"|ci-dessus|idem ci-dessus|siehe oben"
)
# What spreadsheet programs show for a formula that failed, in the five languages.
_ERROR = re.compile(
    r"#(?:name\?|n/a|n/d|n/v|nv|nd|ref!|value!|div/0!|num!|null!|wert!|bezug!|zahl!|nome\?|rif!"
    r"|valore!|nom\s?\?|valeur!|nombre!|nul!|nombre\?|valor!|\u00a1?ref!|bloqueo!)"
    r"|err:[0-9]{3}"
)

_LONGEST = 20
_STARTS = frozenset("-\"',dDiIcCwWaAsS`")
"""What a ditto mark may begin with, as it is written."""


def _is_ditto(text: str) -> bool:
    """Whether a cell says nothing but `the same as above`."""
    text = text.strip()
    if not text or len(text) > _LONGEST or (text[0].isascii() and text[0] not in _STARTS):
        return False
    return _DITTO.fullmatch(fold(text).strip()) is not None


def _is_error(text: str) -> bool:
    """Whether a cell holds what a spreadsheet shows for a formula that failed."""
    if len(text) > _LONGEST or not ("#" in text or ":" in text):
        return False
    return _ERROR.fullmatch(fold(text).strip()) is not None


Sureness = Literal["given", "sure", "likely", "weak"]


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a list and what it holds.

    Attributes:
        field: our field.
        column: its number, from 1.
        heading: as the list writes it, the lines of a heading joined by spaces.
        sureness: given: the supplier's mapping says so; sure: the heading says so and the cells
            agree; likely: a near heading, or a part of it, and the cells do not disagree; weak:
            the cells disagree, or another column looks as good.
        reason: one sentence.
        rivals: headings of other columns that look like the same field.
        second: number of the column read together with it, where a list parts pinion and wheel,
            or the stages; else 0.
        stages: the stages that the headings of columns of teeth name, one for each column; empty
            where they name none.
        by_cells: whether only its cells speak for it, so that it may be none.
    """

    field: ListField
    column: int
    heading: str
    sureness: Sureness
    reason: str
    rivals: tuple[str, ...] = ()
    second: int = 0
    stages: tuple[Stage, ...] = ()
    by_cells: bool = False

    @property
    def is_asked_for(self) -> bool:
        """Whether another column, or none, may be meant, so that a person must say which."""
        return self.sureness == "weak" and (bool(self.rivals) or self.by_cells)


@dataclass(frozen=True, slots=True)
class Ignored:
    """A row that holds no article.

    Attributes:
        row: its number, from 1.
        kind: what it is; `article`: it looks like one, and no header says what is in its columns.
        text: the beginning of what stands there.
        reason: one sentence.
    """

    row: int
    kind: Literal["blank", "title", "header", "section", "footer", "note", "unrelated", "article"]
    text: str
    reason: str


@dataclass(slots=True)
class Layout:
    """One table of a sheet: a header and the rows below it, down to the next header.

    Every row from `first_row` to `last_row` is either in `data_rows` or in `ignored`; the layouts
    of a sheet together cover all its rows.

    Attributes:
        sheet: the sheet.
        first_row: first row of the table, title rows above its header included.
        last_row: its last row.
        header_rows: rows of the header; none where no header was found.
        columns: the columns recognised, by field.
        others: number and heading of the columns that are none of our fields.
        ignored: the rows that hold no article, by number.
        sections: row of an article to the line above it that heads its group, such as a model.
        missing: headings the supplier's mapping names and the header lacks, each with what to do.
        terms: what the prices are of, as far as headings and columns beside them say.
        currencies: row of an article to the currency that a line outside the articles states for
            its price, as written; several with spaces between.
        stated: row of an article to what lines outside the articles hold against it.
        beside: row of an article to lines around it that may be of it; nothing is read from them.
        titles: lines above the articles of the sheet that may limit all of them.
        unmarked: row and column of each cell with the mark of a footnote, to its text without it.
        matrix: number of each column that is headed by a model and marks the rows of its parts.
        successor_column: number of a column that names what a part is superseded by; 0: none.
        ratio_column: number of a column of ratios, which the teeth are held against; 0: none.
        width: the last column with a heading.
        spilling: whether most rows have cells beyond that: remarks without a heading, it seems.
    """

    sheet: Sheet
    first_row: int
    last_row: int
    header_rows: tuple[int, ...] = ()
    columns: dict[ListField, Column] = field(default_factory=dict)
    others: tuple[tuple[int, str], ...] = ()
    ignored: dict[int, Ignored] = field(default_factory=dict)
    sections: dict[int, str] = field(default_factory=dict)
    missing: tuple[str, ...] = ()
    terms: PriceTerms = field(default_factory=PriceTerms)
    currencies: dict[int, str] = field(default_factory=dict)
    stated: dict[int, tuple[str, ...]] = field(default_factory=dict)
    beside: dict[int, tuple[str, ...]] = field(default_factory=dict)
    titles: tuple[str, ...] = ()
    unmarked: dict[tuple[int, int], str] = field(default_factory=dict)
    matrix: dict[int, str] = field(default_factory=dict)
    ratio_column: int = 0
    successor_column: int = 0
    width: int = 0
    spilling: bool = False
    _notes_on_lines: tuple[str, ...] | None = field(default=None, init=False, repr=False)

    @property
    def found(self) -> bool:
        """Whether the table has a header that can be used."""
        return bool(self.header_rows) and not self.missing

    @property
    def notes_on_lines(self) -> tuple[str, ...]:
        """What is noted on cells of lines that are no articles."""
        if self._notes_on_lines is None:
            noted = self.sheet.comments
            found = (each for row in noted if row in self.ignored for each in noted[row])
            self._notes_on_lines = tuple(found)
        return self._notes_on_lines

    @property
    def data_rows(self) -> list[int]:
        """Numbers of the rows that hold an article, or should."""
        return [row for row in range(self.first_row, self.last_row + 1) if row not in self.ignored]

    @property
    def headings(self) -> dict[ListField, str]:
        """The heading of each field's column, as a mapping keeps them."""
        return {name: column.heading for name, column in self.columns.items()}

    def cell(self, row: int, name: ListField) -> Cell | None:
        """The cell of a field in a row, or None where the list has no such column.

        A ditto mark is the cell above it. What a spreadsheet's own error is in the column of part
        numbers is none. A price says for how many pieces it is and in which currency, where the
        header or a column beside it does.
        """
        column = self.columns.get(name)
        if column is None:
            return None
        found = self._read(row, column)
        if name == "part_number":
            return replace(found, text="", value=None) if _is_error(found.text) else found
        if _is_ditto(found.text):
            found = self._above(row, column, found)
        return self._add_terms(row, column, found) if name == "price" else found

    def column_of(self, name: ListField) -> int:
        """Number of the column of a field; 0 for none."""
        column = self.columns.get(name)
        return 0 if column is None else column.column

    def drop(self, column: Column) -> None:
        """Read a field from no column."""
        del self.columns[column.field]
        self.others = (*self.others, (column.column, column.heading))

    def hold(self, row: int, said: Iterable[str]) -> None:
        """Hold against an article what lines outside the articles say."""
        if held := tuple(dict.fromkeys((*self.stated.get(row, ()), *said))):
            self.stated[row] = held

    def take(self, column: Column) -> None:
        """Read a field from another column, its prices on the terms of that one."""
        before = self.columns[column.field]
        self.columns[column.field] = column
        if column.column == before.column:
            return
        self.others = (
            *((number, text) for number, text in self.others if number != column.column),
            (before.column, before.heading),
        )
        if column.field == "price":
            self.terms = self.terms.headed(column.heading)

    def cells(self, name: ListField) -> list[Cell]:
        """All cells of a field in the rows that hold an article."""
        found = (self.cell(row, name) for row in self.data_rows)
        return [cell for cell in found if cell is not None]

    def _above(self, row: int, column: Column, cell: Cell) -> Cell:
        """A ditto mark's cell with what stands above it."""
        for above in range(row - 1, self.first_row - 1, -1):
            if above in self.ignored:
                continue
            found = self._read(above, column)
            if not _is_ditto(found.text):
                same = replace(cell, text=found.text, value=found.value)
                return replace(same, number_format=found.number_format)
        return cell

    def _add_terms(self, row: int, column: Column, cell: Cell) -> Cell:
        if cell.blank:
            return cell
        moved = self._join_moved(row, column)
        if moved:
            return replace(cell, text=moved, value=moved, number_format="")
        return self.terms.of(self.sheet, row, cell, self.currencies.get(row, ""))

    def _join_moved(self, row: int, column: Column) -> str:
        """What stands from the price on, where a row of a text file has cells beyond the header.

        Its cells may have moved: a decimal comma parted, or one in a text.
        """
        values = self.sheet.values[row - 1]
        if self.sheet.name or not self.width or not self.beyond(row):
            return ""
        behind = str(values[column.column] or "").strip()
        if self.spilling and not (behind.isdecimal() and len(behind) < 3):
            return ""
        return " | ".join(str(value).strip() for value in values[column.column - 1 :] if value)

    def beyond(self, row: int) -> bool:
        """Whether a row has something beyond the last column with a heading."""
        return any(
            isinstance(value, str) and value.strip()
            for value in self.sheet.values[row - 1][self.width :]
        )

    def _at(self, row: int, column: int) -> Cell:
        """A cell without the mark of its footnote."""
        cell = self.sheet.cell(row, column)
        bare = self.unmarked.get((row, column)) if self.unmarked else None
        return cell if bare is None else replace(cell, text=bare, value=bare or None)

    def _read(self, row: int, column: Column) -> Cell:
        """The cell of a column, or two read together as `15/38`."""
        first = self._at(row, column.column)
        if not (column.stages or column.second):
            return first
        if column.stages:
            return self._read_staged(row, column, first)
        second = self._at(row, column.second)
        texts = [cell.text.strip() for cell in (first, second) if not cell.blank]
        if column.field != "teeth":
            text = " ".join(texts)
            return replace(first, text=text, value=text or None, number_format="")
        first = replace(first, struck=first.struck or second.struck)
        text = "/".join(texts)
        counts = [possible_count(each) for each in texts]
        if len(counts) == 2 and counts[0] and counts[1] and counts[0] > counts[1]:
            # The columns say which is which, and so contradict the counts.
            text = f"pinion {texts[0]} / wheel {texts[1]}"
        return replace(
            first,
            address=_joint_address(first, second),
            text=text,
            value=text or None,
            number_format="",
        )

    def _read_staged(self, row: int, column: Column, first: Cell) -> Cell:
        """The cell of a column whose heading names the stage, with that beside the counts."""
        cells = [first]
        if column.second:
            cells.append(self._at(row, column.second))
        held = [
            (stage, cell)
            for stage, cell in zip(column.stages, cells, strict=True)
            if any(map(str.isalnum, cell.text))
        ]
        address = first.address if len(cells) == 1 else _joint_address(*cells)
        first = replace(first, struck=any(cell.struck for _, cell in held))
        if len(held) == 1 and not isinstance(held[0][1].value, str):
            pair = read_teeth(held[0][1], teeth_column=True)
            if not pair.certain or not pair.value:  # a date that cannot be undone
                return replace(held[0][1], address=address)
            text = f"{held[0][0]} {pair.value[0].pair}"
        else:
            text = ", ".join(f"{stage} {cell.text.strip()}" for stage, cell in held)
        return replace(first, address=address, text=text, value=text or None, number_format="")


def _joint_address(first: Cell, second: Cell) -> str:
    return f"{first.address}+{second.address.rpartition('!')[2]}"
