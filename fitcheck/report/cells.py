"""Rows as CSV and as Markdown tables, safe for whatever a catalogue's text holds.

CSV follows RFC 4180 but for the line end, which is a bare line feed. A spreadsheet takes a cell
that begins with = + - or @ for a formula, so text that does gets an apostrophe in front. Figures
of our own are plain numbers and stay as they are, signs included: a cell is text or `Figure`.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Sequence

__all__ = ["Cell", "Figure", "csv_text", "markdown_text"]


class Figure(str):
    """A cell of our own making: a number, or what stands where there is none."""

    __slots__ = ()


Cell = str | Figure

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
