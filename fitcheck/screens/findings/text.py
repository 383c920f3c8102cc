"""Findings for people: where, what, the source line with its marks, what to do, and the counts."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from textwrap import indent
from typing import TYPE_CHECKING

from rich.cells import cell_len

from fitcheck.diagnostics.codes import Severity
from fitcheck.diagnostics.finding import Finding, Span
from fitcheck.screens.findings.wording import (
    SourceLines,
    in_order,
    list_files,
    one_line,
    readable,
    remarks,
    source_line,
    tally,
    visible,
)

if TYPE_CHECKING:
    from fitcheck.diagnostics.examples import Explanation

MAX_RELATED = 6
TAB = 4
CUT = "…"
_INDENT = "    "
_COLOURS: dict[Severity, str] = {"error": "1;31", "warning": "1;33", "advice": "1;36"}
_DIM, _BOLD = "2", "1"


def render_explanation(told: Explanation) -> str:
    """What a code means and why it matters, with a wrong and the right example."""
    code = told.code
    parts = [f"{code.severity} {code.code} {code.name}", told.title, told.why]
    for head, files in (("Wrong:", told.bad), ("Right:", told.good)):
        parts += [head, indent(readable(list_files(files)), _INDENT)]
    return "\n\n".join(parts) + "\n"


def render_text(
    findings: Sequence[Finding],
    lines: SourceLines,
    *,
    width: int | None = None,
    colour: bool = False,
) -> str:
    """Findings as text, grouped by file, ending in a line of counts.

    Args:
        findings: in any order; they are shown by file, line and column.
        lines: the files, for the source lines; a file not there is shown without.
        width: cells of the terminal; longer sentences are wrapped and longer source lines cut.
            None wraps and cuts nothing, so that each finding's first line is whole.
        colour: whether to use terminal colours.

    Returns:
        The text, with a line break at its end.
    """
    page = _Page(lines, width, colour)
    blocks = ["\n".join(page.block(finding)) for finding in in_order(findings)]
    return "\n\n".join([*blocks, tally(findings)]) + "\n"


class _Page:
    """How wide, in colour or not, and with which files at hand."""

    def __init__(self, lines: SourceLines, width: int | None, colour: bool) -> None:
        self.lines = lines
        self.width = None if width is None else max(width, 40)
        self.colour = colour

    def block(self, finding: Finding) -> Iterator[str]:
        places = [finding.span, *(related.span for related in finding.related[:MAX_RELATED])]
        gutter = max(4, *(len(str(place.line)) + 2 for place in places))
        painted = _COLOURS[finding.severity]

        head = f"{one_line(str(finding.span))}: {finding.severity} {finding.code} {finding.name}:"
        first, *rest = self._wrapped(f"{head} {one_line(finding.message)}", "  ")
        yield self._head(first, finding, painted)
        yield from rest
        yield from self._excerpt(finding.span, gutter, painted)
        for related in finding.related[:MAX_RELATED]:
            yield from self._noted("see", f"{related.span}: {related.label}")
            if related.span != finding.span:
                yield from self._excerpt(related.span, gutter, _DIM)
        left_out = len(finding.related) - MAX_RELATED
        if left_out > 0:
            yield f"{_INDENT}see {left_out} more place{'s' if left_out > 1 else ''}"
        for remark in remarks(finding):
            if remark.startswith("did you mean"):
                yield from self._wrapped(_INDENT + one_line(remark), _INDENT)
            else:
                yield from self._noted("help:", remark)

    def _noted(self, word: str, text: str) -> Iterator[str]:
        hanging = " " * (len(_INDENT) + len(word) + 1)
        yield from self._wrapped(f"{_INDENT}{word} {one_line(text)}", hanging)

    def _excerpt(self, span: Span, gutter: int, painted: str) -> Iterator[str]:
        line = source_line(self.lines, span.path, span.line)
        if not line.strip():
            return
        room = None if self.width is None else self.width - gutter - 3
        shown = excerpt(line, span, room)
        bar = self._paint("|", _DIM)
        yield f"{self._paint(str(span.line).rjust(gutter), _DIM)} {bar} {shown.line}"
        yield f"{' ' * gutter} {bar} {self._painted_marks(shown.marks, painted)}"

    def _painted_marks(self, marks: str, painted: str) -> str:
        blank = len(marks) - len(marks.lstrip())
        return marks[:blank] + self._paint(marks[blank:], painted)

    def _head(self, line: str, finding: Finding, painted: str) -> str:
        if not self.colour:
            return line
        place = one_line(str(finding.span))
        named = f"{finding.severity} {finding.code}"
        line = line.replace(place, self._paint(place, _BOLD), 1)
        return line.replace(f" {named}", f" {self._paint(named, painted)}", 1)

    def _paint(self, text: str, code: str) -> str:
        return f"\x1b[{code}m{text}\x1b[0m" if self.colour else text

    def _wrapped(self, text: str, hanging: str) -> list[str]:
        """Text in lines of at most the width, broken at spaces only; the rest hangs."""
        if self.width is None or cell_len(text) <= self.width:
            return [text]
        lead = text[: len(text) - len(text.lstrip())]
        lines, line = [], ""
        for word in text.split():
            if line.strip() and cell_len(line) + 1 + cell_len(word) > self.width:
                lines.append(line)
                line = hanging + word
            else:
                line = f"{line} {word}" if line else lead + word
        return [*lines, line]


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
