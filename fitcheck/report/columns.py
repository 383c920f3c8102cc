"""Plain columns on screen: a head, rows of cells, figures to the right."""

from __future__ import annotations

from collections.abc import Sequence

from rich.cells import cell_len
from rich.text import Text

from fitcheck.report.cells import Cell, Figure
from fitcheck.report.findings.wording import one_line
from fitcheck.report.screen import Screen, padded, wrapped

__all__ = ["print_columns"]

_GAP = "  "
_LEAST_LAST = 12
"""Cells that the last column keeps, where it is of text and wrapped."""


def print_columns(
    out: Screen,
    heads: Sequence[str],
    rows: Sequence[Sequence[Cell]],
    styles: Sequence[str] | None = None,
    spare: Sequence[str] = (),
) -> None:
    """Print rows under their heads; columns without a cell are left out.

    Where the lines are too long, columns go that can be spared; then the last column is wrapped
    under itself; where even that does not help, each row is a paragraph of its own.

    Args:
        out: where.
        heads: a word over each column.
        rows: cells; a `Figure` stands to the right.
        styles: one for the first cell of each row.
        spare: heads of columns that may go, the first one first.
    """
    kept = [at for at in range(len(heads)) if any(row[at] for row in rows)]
    going = [heads.index(head) for head in spare]
    while True:
        names = [heads[at] for at in kept]
        cells = [[one_line(row[at]) for at in kept] for row in rows]
        right = [all(isinstance(row[at], Figure) for row in rows) for at in kept]
        widths = [max(map(cell_len, column)) for column in zip(names, *cells, strict=True)]
        if not going or sum(widths) + len(_GAP) * (len(widths) - 1) <= out.width:
            break
        gone = going.pop(0)
        kept = [at for at in kept if at != gone]
    before_last = sum(widths[:-1]) + len(_GAP) * (len(widths) - 1)
    room = out.width - before_last
    styled = styles or [""] * len(rows)
    if room < widths[-1] and (right[-1] or room < _LEAST_LAST):
        for row, style in zip(cells, styled, strict=True):
            _print_stacked(out, names, row, style)
        return
    out.line(Text(_line(names, widths, right), style="dim"))
    for row, style in zip(cells, styled, strict=True):
        lines = [row[-1]] if widths[-1] <= room else wrapped(row[-1], room)
        first = Text(_line([*row[:-1], lines[0]], widths, right))
        first.stylize(style, 0, len(row[0]))
        out.line(first)
        out.lines(f"{' ' * before_last}{line}" for line in lines[1:])


def _line(cells: Sequence[str], widths: Sequence[int], right: Sequence[bool]) -> str:
    return _GAP.join(
        " " * (width - cell_len(cell)) + cell if is_right else padded(cell, width)
        for cell, width, is_right in zip(cells, widths, right, strict=True)
    )


def _print_stacked(out: Screen, names: Sequence[str], row: Sequence[str], style: str) -> None:
    words = [f"{name} {cell}" for name, cell in zip(names[1:], row[1:], strict=True) if cell]
    first, *rest = wrapped(f"{row[0]}: {', '.join(words)}", out.width, "", "  ")
    line = Text(first)
    line.stylize(style or "bold", 0, len(row[0]))
    out.lines([line, *rest])
