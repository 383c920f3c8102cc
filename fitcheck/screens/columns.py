"""Plain columns on screen: a head, rows of cells, figures to the right."""

from __future__ import annotations

from collections.abc import Sequence

from rich.cells import cell_len
from rich.text import Text

from fitcheck.answers.tables import Cell, Figure
from fitcheck.screens.findings.wording import one_line
from fitcheck.screens.screen import Screen, padded, wrapped

_GAP = "  "
_LEAST_LAST = 12
"""Cells that the last column keeps, where it is of text and wrapped."""


def print_columns(
    out: Screen,
    heads: Sequence[str],
    rows: Sequence[Sequence[Cell]],
    styles: Sequence[str] | None = None,
    spare: Sequence[str] = (),
    *,
    below: Sequence[str] = (),
) -> None:
    """Print rows under their heads; columns without a cell are left out.

    Where the lines are too long, columns go that can be spared; then the last column is wrapped
    under itself; where that leaves it too narrow, columns are told in words below each row; where
    even that does not help, each row is a paragraph of its own.

    Args:
        out: where.
        heads: a word over each column.
        rows: cells; a `Figure` stands to the right.
        styles: one for the first cell of each row.
        spare: heads of columns that may go, the first one first.
        below: heads of columns that may go below their row, but never away, the first one first.
    """
    kept = [at for at in range(len(heads)) if any(row[at] for row in rows)]
    going = [heads.index(head) for head in spare]
    table = _Table(heads, rows, kept)
    while going and not table.fits(out.width):
        gone = going.pop(0)
        kept = [at for at in kept if at != gone]
        table = _Table(heads, rows, kept)
    folding = [heads.index(head) for head in below]
    whole, folded = table, list[int]()
    while folding and not table.wraps(out.width):
        gone = folding.pop(0)
        if gone in table.kept:
            folded.append(gone)
            table = _Table(heads, rows, [at for at in table.kept if at != gone])
    styled = styles or [""] * len(rows)
    if not table.wraps(out.width, _LEAST_LAST):
        for row, style in zip(whole.cells, styled, strict=True):
            _print_stacked(out, whole.names, row, style)
        return
    room = out.width - table.before_last
    out.line(Text(_line(table.names, table.widths, table.right), style="dim"))
    for given, row, style in zip(rows, table.cells, styled, strict=True):
        lines = [row[-1]] if table.widths[-1] <= room else wrapped(row[-1], room)
        first = Text(_line([*row[:-1], lines[0]], table.widths, table.right))
        first.stylize(style, 0, len(row[0]))
        out.line(first)
        out.lines(f"{' ' * table.before_last}{line}" for line in lines[1:])
        words = [f"{heads[at]} {one_line(given[at])}" for at in folded if given[at]]
        if words:
            out.lines(wrapped(", ".join(words), out.width, _GAP, _GAP * 2))


class _Table:
    """The columns kept, and how wide they are."""

    def __init__(
        self, heads: Sequence[str], rows: Sequence[Sequence[Cell]], kept: Sequence[int]
    ) -> None:
        self.kept = kept
        self.names = [heads[at] for at in kept]
        self.cells = [[one_line(row[at]) for at in kept] for row in rows]
        self.right = [all(isinstance(row[at], Figure) for row in rows) for at in kept]
        columns = zip(self.names, *self.cells, strict=True)
        self.widths = [max(map(cell_len, column)) for column in columns]
        self.before_last = sum(self.widths[:-1]) + len(_GAP) * (len(self.widths) - 1)

    def fits(self, width: int) -> bool:
        """Whether each row is one line."""
        return self.before_last + self.widths[-1] <= width

    def wraps(self, width: int, least: int = 0) -> bool:
        """Whether the last column fits, wrapped where need be; no word of it broken, left out."""
        words = [word for row in self.cells for word in row[-1].split()]
        room = width - self.before_last
        least = least or max([_LEAST_LAST, *map(cell_len, words)])
        return self.widths[-1] <= room or (not self.right[-1] and room >= least)


def _line(cells: Sequence[str], widths: Sequence[int], right: Sequence[bool]) -> str:
    return _GAP.join(
        " " * (width - cell_len(cell)) + cell if is_right else padded(cell, width)
        for cell, width, is_right in zip(cells, widths, right, strict=True)
    )


def _print_stacked(out: Screen, names: Sequence[str], row: Sequence[str], style: str) -> None:
    words = [f"{name} {cell}" for name, cell in zip(names[1:], row[1:], strict=True) if cell]
    out.headed(row[0], f": {', '.join(words)}", "", "  ", style or "bold")
