"""Curves in a terminal: plain characters, or braille dots where the encoding has them.

A plot is `columns` x `rows` cells. In braille a cell holds 2 x 4 dots, else one mark. Curves are
sampled at every column of dots and joined by upright strokes, so that steep ones hang together;
loads are dashed. Each curve carries its own letter here and there, so that it needs no colour.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import floor

from rich.text import Text

from fitcheck.screens.curves import interpolated, ticks_within

_DOTS = ((0x01, 0x08), (0x02, 0x10), (0x04, 0x20), (0x40, 0x80))
"""Bits of a braille sign by row and column of its dots (Unicode block 2800, dots 1 to 8)."""

_BRAILLE = 0x2800


@dataclass(frozen=True, slots=True)
class Curve:
    """One curve.

    Attributes:
        letter: the sign that marks it; also what it is drawn with in plain characters.
        xs: rising.
        ys: as many.
        dashed: drawn with gaps.
        style: colour.
        ends: whether it falls to zero at its end, as thrust does at the rev limit.
    """

    letter: str
    xs: Sequence[float]
    ys: Sequence[float]
    dashed: bool = False
    style: str = ""
    ends: bool = False


@dataclass(frozen=True, slots=True)
class Plot:
    """What is drawn, and where.

    Attributes:
        curves: later ones lie over earlier ones.
        x_max: right edge; the left one is 0.
        y_max: upper edge; the lower one is 0.
        columns: cells across.
        rows: cells up.
        braille: whether to draw in braille dots.
    """

    curves: Sequence[Curve]
    x_max: float
    y_max: float
    columns: int
    rows: int
    braille: bool

    @property
    def dots(self) -> tuple[int, int]:
        """Dots across and up."""
        return (2 * self.columns, 4 * self.rows) if self.braille else (self.columns, self.rows)

    def x_of(self, dot: int) -> float:
        """The x in the middle of a column of dots."""
        return (dot + 0.5) * self.x_max / self.dots[0]

    def row_of(self, y: float) -> int:
        """The row of dots, from the top, that holds a y; may lie outside."""
        up = self.dots[1]
        return up - 1 - floor(y * up / self.y_max)


def plot_lines(plot: Plot, x_name: str, y_name: str) -> list[Text]:
    """The plot with its axes in lines.

    Args:
        plot: what to draw.
        x_name: what stands under the axis, such as `km/h`.
        y_name: what stands over the axis, such as `N`.
    """
    upright, corner = ("\N{BOX DRAWINGS LIGHT VERTICAL}", "\N{BOX DRAWINGS LIGHT UP AND RIGHT}")
    across, tee = (
        "\N{BOX DRAWINGS LIGHT HORIZONTAL}",
        "\N{BOX DRAWINGS LIGHT DOWN AND HORIZONTAL}",
    )
    if not plot.braille:
        upright, corner, across, tee = "|", "+", "-", "+"
    marks: dict[int, str] = {}
    for value in ticks_within(plot.y_max, max(plot.rows // 3, 1)):
        row = min(plot.row_of(value) // (4 if plot.braille else 1), plot.rows - 1)
        marks.setdefault(max(row, 0), f"{value:,.0f}")
    wide = max(len(y_name), *(len(mark) for mark in marks.values()))
    lines = [Text(f"{y_name:>{wide}}")]
    for row, cells in enumerate(_cells(plot)):
        line = Text(f"{marks.get(row, ''):>{wide}} {upright}")
        for char, style in cells:
            line.append(char, style)
        lines.append(line)
    axis, names = [across] * plot.columns, [" "] * (plot.columns - len(x_name)) + [*x_name]
    for value in ticks_within(plot.x_max, max(plot.columns // 9, 1)):
        column = min(floor(value * plot.columns / plot.x_max), plot.columns - 1)
        axis[column] = tee
        text = f"{value:g}"
        if column + len(text) < plot.columns - len(x_name):
            names[column : column + len(text)] = text
    lines.append(Text(f"{'':>{wide}} {corner}{''.join(axis)}"))
    lines.append(Text(f"{'':>{wide}}  {''.join(names)}"))
    return lines


def _cells(plot: Plot) -> list[list[tuple[str, str]]]:
    """Characters and styles, row by row from the top."""
    holders: dict[tuple[int, int], list[Curve]] = {}
    bits: dict[tuple[int, int], int] = {}
    for curve in plot.curves:
        for dot, row in _strokes(plot, curve):
            cell = (row // 4, dot // 2) if plot.braille else (row, dot)
            holders.setdefault(cell, [])
            if curve not in holders[cell]:
                holders[cell].append(curve)
            bits[cell] = bits.get(cell, 0) | _DOTS[row % 4][dot % 2]
    cells = [[(" ", "")] * plot.columns for _ in range(plot.rows)]
    for (row, column), here in holders.items():
        if plot.braille:
            cells[row][column] = chr(_BRAILLE + bits[row, column]), here[-1].style
        else:
            # Where curves run together they take turns.
            solid = [curve for curve in here if not curve.dashed] or here
            curve = solid[column % len(solid)]
            cells[row][column] = curve.letter, curve.style
    if plot.braille:
        for number, curve in enumerate(plot.curves):
            for column, row in _letters(plot, curve, number):
                cells[row][column] = curve.letter, f"bold {curve.style}".strip()
    return cells


def _strokes(plot: Plot, curve: Curve) -> list[tuple[int, int]]:
    """Every dot of a curve as column and row, both from the upper left."""
    across, up = plot.dots
    gap = 4 if plot.braille else 2
    found: list[tuple[int, int]] = []
    before: int | None = None
    for dot in range(across):
        y = interpolated(curve.xs, curve.ys, plot.x_of(dot))
        if y is None:
            if before is not None and curve.ends:
                found += [(dot - 1, row) for row in range(before, up)]
            before = None
            continue
        row = plot.row_of(max(y, 0.0))
        row = min(row, up - 1)
        first, last = sorted((row, before if before is not None else row))
        if first != last:  # the stroke leaves out the dot it comes from
            first, last = (first, last - 1) if row < (before or 0) else (first + 1, last)
        before = row
        if curve.dashed and dot % gap >= gap // 2:
            continue
        found += [(dot, each) for each in range(max(first, 0), last + 1)]
    return found


def _letters(plot: Plot, curve: Curve, number: int) -> list[tuple[int, int]]:
    """Cells that carry a curve's letter: some way in, then every so often, each curve elsewhere."""
    if not curve.letter:
        return []
    apart = max(4 * len(plot.curves), 16)
    found = []
    for column in range(3 + 4 * number, plot.columns, apart):
        y = interpolated(curve.xs, curve.ys, plot.x_of(2 * column))
        if y is not None and 0 <= y < plot.y_max:
            found.append((column, plot.row_of(y) // 4))
    return found
