"""A source line with marks under a span, whatever tabs and wide characters it holds."""

from __future__ import annotations

from dataclasses import dataclass

from rich.cells import cell_len

from fitcheck.diagnostics.finding import Span
from fitcheck.screens.findings.wording import visible

TAB = 4
CUT = "…"


@dataclass(frozen=True, slots=True)
class Excerpt:
    """A line as shown and the marks that go under it, both without gutter."""

    line: str
    marks: str


def excerpt(line: str, span: Span, width: int | None = None) -> Excerpt:
    """Show the first line of a span.

    Args:
        line: the text of `span.line`, without its line break.
        span: columns in code points from 1, the end exclusive; an empty one gets one mark.
        width: terminal cells there are; a longer line is cut round the span. None: all of it.

    Returns:
        The line, tabs widened to the next multiple of four cells and characters that cannot be
        shown replaced, and spaces and `^` so that the marks stand under the span.
    """
    shown, edges = _lay_out(line)
    first = min(max(span.column - 1, 0), len(line))
    last = len(line) if span.end_line > span.line else min(span.end_column - 1, len(line))
    start, end = edges[first], max(edges[max(last, first)], edges[first] + 1)
    if width is not None and max(edges[-1], end) > width:
        shown, start, end = _cut(shown, edges, start, end, width)
    return Excerpt("".join(shown).rstrip(), " " * start + "^" * (end - start))


def _lay_out(line: str) -> tuple[list[str], list[int]]:
    """Each character as shown, and the cell where it starts; one more edge for the end."""
    shown, edges = [], [0]
    for char in line:
        text = " " * (TAB - edges[-1] % TAB) if char == "\t" else visible(char)
        shown.append(text)
        edges.append(edges[-1] + cell_len(text))
    return shown, edges


def _cut(
    shown: list[str], edges: list[int], start: int, end: int, width: int
) -> tuple[list[str], int, int]:
    """Keep the characters round a span that fit, with a mark of omission at each cut end."""
    room = max(width - 2, 8)
    left = max(0, min(start - room // 4, edges[-1] - room)) if end > room else 0
    kept = [i for i in range(len(shown)) if edges[i] >= left and edges[i + 1] <= left + room]
    if not kept:
        return [CUT], 1, 2
    origin = edges[kept[0]]
    before = [CUT] if kept[0] else []
    after = [CUT] if kept[-1] + 1 < len(shown) else []
    shift = len(before) - origin
    stop = edges[kept[-1] + 1] + (1 if end > edges[-1] else 0)
    return (
        [*before, *(shown[i] for i in kept), *after],
        start + shift,
        max(min(end, stop), start + 1) + shift,
    )
