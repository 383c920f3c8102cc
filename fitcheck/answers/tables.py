"""Tables: each column declared once, for CSV, for Markdown and for a pandas DataFrame.

CSV follows RFC 4180 but for the line end, which is a bare line feed. A spreadsheet takes a cell
that begins with = + - or @ for a formula, so text that does gets an apostrophe in front. Figures
of our own are plain numbers and stay as they are, signs included: a cell is text or `Figure`.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable, Collection, Iterable, Sequence
from decimal import Decimal
from fractions import Fraction
from math import isfinite
from typing import Any, NamedTuple

from fitcheck.answers.figures import money
from fitcheck.answers.shapes import reader
from fitcheck.kernel.rounding import decimal_text, percent


class Figure(str):
    """A cell of our own making: a number, or what stands where there is none."""

    __slots__ = ()


Cell = str | Figure


class Kind(NamedTuple):
    """How values of one kind are written.

    Attributes:
        plain: a value as a cell of CSV; it is never None.
        shown: the same in Markdown.
        dtype: of a pandas column.
        is_figure: whether a cell without a value counts as a figure.
        words: of a category, the only words there are, the least first; empty: it is none.
        ordered: whether the words of a category have an order.
    """

    plain: Callable[[Any], Cell]
    shown: Callable[[Any], Cell]
    dtype: str
    is_figure: bool = True
    words: tuple[str, ...] = ()
    ordered: bool = False


def _ratio(places: int) -> Callable[[Fraction], Cell]:
    return lambda value: Figure(decimal_text(value, places))


def _road(value: float) -> Cell:
    """Three decimals; a figure without end is an empty cell."""
    return Figure(f"{round(value, 3) + 0.0:.3f}" if isfinite(value) else "")


def _money(value: Decimal) -> Cell:
    return Figure(money(value))


def _yes_no(value: bool) -> Cell:
    return "yes" if value else "no"


TEXT = Kind(str, str, "string", is_figure=False)
COUNT = Kind(Figure, Figure, "int64")
RATIO = Kind(_ratio(6), _ratio(4), "float64")
PERCENT = Kind(_ratio(6), lambda value: Figure(percent(value)), "float64")
MONEY = Kind(_money, _money, "float64")
ROAD = Kind(_road, _road, "float64")
YES_NO = Kind(_yes_no, _yes_no, "bool", is_figure=False)


def one_of(words: Iterable[str], *, ordered: bool = False) -> Kind:
    """One of a few words, in a frame a category."""
    return TEXT._replace(dtype="category", words=tuple(words), ordered=ordered)


class Column:
    """One column of a table.

    Attributes:
        name: its name in CSV; empty: it stands in Markdown only.
        head: its head in Markdown; empty: it stands in CSV only.
        value: what reads the value of a row; None where it is not known.
        kind: how the values are written.
        shown: the cell in Markdown, where it says more than the value.
        frame: its name in a DataFrame; empty: it is not there.
    """

    def __init__(
        self,
        name: str,
        head: str | None = None,
        value: str | Callable[[Any], Any] | None = None,
        kind: Kind = TEXT,
        *,
        shown: Callable[[Any], Cell] | None = None,
        frame: str | None = None,
    ) -> None:
        """Declare a column.

        Args as the attributes, but:
            head: left out: its name with blanks.
            value: a function, or the path of an attribute; left out: the attribute of its name.
            frame: left out: as in CSV.
        """
        self.name = name
        self.head = name.replace("_", " ") if head is None else head
        self.value = value if callable(value) else reader(value or name)
        self.kind = kind
        self.shown = shown
        self.frame = name if frame is None else frame

    def csv_cell(self, row: Any) -> Cell:
        """The cell of a row in CSV."""
        return self._cell(self.value(row), self.kind.plain)

    def markdown_cell(self, row: Any) -> Cell:
        """The cell of a row in Markdown."""
        if self.shown is None:
            return self._cell(self.value(row), self.kind.shown)
        shown = self.shown(row)
        return Figure(shown) if self.kind.is_figure else shown

    def _cell(self, value: Any, write: Callable[[Any], Cell]) -> Cell:
        if value is None:
            return Figure("") if self.kind.is_figure else ""
        return write(value)


class Table(NamedTuple):
    """Rows and the columns they are shown in."""

    columns: Sequence[Column]
    rows: Sequence[Any]

    def csv(self) -> str:
        """CSV with a line of column names; every line ends in a line feed."""
        named = [column for column in self.columns if column.name]
        cells = ([column.csv_cell(row) for column in named] for row in self.rows)
        return csv_text([column.name for column in named], cells)

    def markdown(self) -> str:
        """A Markdown table."""
        return markdown_text(*self.shown())

    def shown(self, gone: Collection[str] = ()) -> tuple[list[str], list[list[Cell]]]:
        """Heads and cells as people read them, in Markdown or on screen.

        Args:
            gone: heads of columns that are left out.
        """
        headed = [column for column in self.columns if column.head and column.head not in gone]
        cells = [[column.markdown_cell(row) for column in headed] for row in self.rows]
        return [column.head for column in headed], cells


_BREAKS = re.compile(r"[\x00-\x1f\x7f\x85\u2028\u2029]+")
# Full-width signs are turned into plain ones by some spreadsheets before they look.
_FORMULA = re.compile(r"\s*[=+\-@＝＋－＠]")
_MARKS = re.compile(r"[\\`*_\[\]|~]")
_ENTITIES = str.maketrans({"&": "&amp;", "<": "&lt;", ">": "&gt;"})


def csv_text(columns: Sequence[str], rows: Iterable[Sequence[Cell]]) -> str:
    """A table as CSV with a line of column names; every line ends in a line feed."""
    page = io.StringIO()
    writer = csv.writer(page, lineterminator="\n")
    writer.writerow(columns)
    writer.writerows([_csv_cell(cell) for cell in row] for row in rows)
    return page.getvalue()


def _csv_cell(cell: Cell) -> str:
    if isinstance(cell, Figure):
        return cell
    line = _one_line(cell)
    return f"'{line}" if _FORMULA.match(line) else line


def markdown_text(columns: Sequence[str], rows: Iterable[Sequence[Cell]]) -> str:
    """A table as GitHub-flavoured Markdown; figures stand to the right.

    A column is of figures where every cell of its rows is.
    """
    body = [list(row) for row in rows]
    figures = [
        bool(body) and all(isinstance(row[position], Figure) for row in body)
        for position in range(len(columns))
    ]
    lines = [
        [_markdown_cell(name) for name in columns],
        ["---:" if right else "---" for right in figures],
        *([_markdown_cell(cell) for cell in row] for row in body),
    ]
    return "".join(f"| {' | '.join(cells)} |\n" for cells in lines)


def _markdown_cell(cell: Cell) -> str:
    escaped = _MARKS.sub(lambda mark: f"\\{mark.group()}", _one_line(cell).translate(_ENTITIES))
    # Blanks at the ends of a cell would be dropped, and a bare scheme would become a link.
    return escaped.strip().replace("://", ":&#47;&#47;")


def _one_line(text: str) -> str:
    line = _BREAKS.sub(" ", text)
    # A table is looked at in a terminal too, where bidi controls would turn its columns about.
    return line if line.isprintable() else "".join(map(_visible, line))


def _visible(char: str) -> str:
    if char.isprintable():
        return char
    return " " if char.isspace() else char.encode("unicode_escape").decode("ascii")
