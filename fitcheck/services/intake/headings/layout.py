"""Where things stand in a sheet: the header, the columns, and what each row is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Literal

from fitcheck.model.fields import Stage
from fitcheck.model.trade import ListMapping
from fitcheck.services.intake.headings.words import FieldName
from fitcheck.services.intake.reading.cells import Cell, Sheet

__all__ = ["Column", "Ignored", "Layout", "Sureness"]

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
        score: 0 to 100, how well the heading agrees with a word for this field.
        reason: one sentence.
        rivals: headings of other columns that look like the same field.
        second: number of the column read together with it, where a list parts pinion and wheel;
            else 0.
    """

    field: FieldName
    column: int
    heading: str
    sureness: Sureness
    score: float
    reason: str
    rivals: tuple[str, ...] = ()
    second: int = 0


@dataclass(frozen=True, slots=True)
class Ignored:
    """A row that holds no article.

    Attributes:
        row: its number, from 1.
        kind: what it is.
        text: the beginning of what stands there.
        reason: one sentence.
    """

    row: int
    kind: Literal["blank", "title", "header", "section", "footer", "note", "unrelated"]
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
    """

    sheet: Sheet
    first_row: int
    last_row: int
    header_rows: tuple[int, ...] = ()
    columns: dict[FieldName, Column] = field(default_factory=dict)
    others: tuple[tuple[int, str], ...] = ()
    ignored: dict[int, Ignored] = field(default_factory=dict)
    sections: dict[int, str] = field(default_factory=dict)
    missing: tuple[str, ...] = ()

    @property
    def found(self) -> bool:
        """Whether the table has a header that can be used."""
        return bool(self.header_rows) and not self.missing

    @property
    def data_rows(self) -> list[int]:
        """Numbers of the rows that hold an article, or should."""
        return [row for row in range(self.first_row, self.last_row + 1) if row not in self.ignored]

    def cell(self, row: int, name: FieldName) -> Cell | None:
        """The cell of a field in a row, or None where the list has no such column."""
        column = self.columns.get(name)
        return self._read(row, column) if column else None

    def cells(self, name: FieldName) -> list[Cell]:
        """All cells of a field in the rows that hold an article."""
        column = self.columns.get(name)
        if column is None:
            return []
        return [self._read(row, column) for row in self.data_rows]

    def _read(self, row: int, column: Column) -> Cell:
        """The cell of a column, or two read together as `15/38`."""
        first = self.sheet.cell(row, column.column)
        if not column.second:
            return first
        second = self.sheet.cell(row, column.second)
        texts = [cell.text.strip() for cell in (first, second) if not cell.blank]
        text = "/".join(texts)
        address = f"{first.address}+{second.address.rpartition('!')[2]}"
        return replace(first, address=address, text=text, value=text or None, number_format="")

    def mapping(
        self,
        decimal_mark: Literal[".", ","] = ".",
        stage_words: Mapping[str, Stage] | None = None,
    ) -> ListMapping:
        """The mapping this table proposes, to be saved on consent.

        Args:
            decimal_mark: of its prices, see `wording.find_number_style`.
            stage_words: the list's words for a stage, as far as they are settled.
        """
        return ListMapping(
            columns={name: column.heading for name, column in self.columns.items()},
            decimal_mark=decimal_mark,
            stage_words=dict(stage_words or {}),
        )
