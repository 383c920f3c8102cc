"""Lines of a list outside its articles: titles, headings of groups, notes, footers."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from fitcheck.services.price_lists.headings.layout import Layout
from fitcheck.services.price_lists.headings.rows import filled


@dataclass(frozen=True, slots=True)
class Line:
    """One line.

    Attributes:
        row: its number, from 1.
        kind: what it is, as `Ignored` has it.
        text: its cells, with single spaces between all words.
    """

    row: int
    kind: str
    text: str


def tables_by_sheet(layouts: Sequence[Layout]) -> dict[str, list[Layout]]:
    """The tables of a list by the name of their sheet, in order."""
    sheets: dict[str, list[Layout]] = {}
    for layout in layouts:
        sheets.setdefault(layout.sheet.name, []).append(layout)
    return sheets


def articles_of(tables: Sequence[Layout]) -> list[int]:
    """Numbers of the rows of a sheet that hold articles, in order."""
    return sorted(row for each in tables if each.found for row in each.data_rows)


def lines_outside(tables: Sequence[Layout]) -> Iterator[Line]:
    """The lines of a sheet that are neither articles nor headers nor blank, in order."""
    for layout in tables:
        for row in sorted(layout.ignored):
            kind = layout.ignored[row].kind
            if kind not in ("blank", "header"):
                text = " ".join(" ".join(filled(layout.sheet, row).values()).split())
                yield Line(row, kind, text)
