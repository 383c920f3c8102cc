"""One question on screen: its text, the rows that raise it under their headings, and the keys."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby

from rich.cells import cell_len
from rich.text import Text

from fitcheck.screens.screen import Screen, padded, wrapped
from fitcheck.services.price_lists.questions import Evidence, Question
from fitcheck.services.price_lists.wording.readings import fold

_INDENT, _GAP = "  ", "  "
_WIDEST = 30
_NARROWEST = 14
"""A column is made no narrower than that, so that all go on one line."""
_HEADING = 12
"""A longer heading is wrapped."""
_ROW, _EMPTY = "row", "(empty)"
_QUOTED = re.compile(r"'([^']+)'|\"([^\"]+)\"")

_Span = tuple[int, int]
_Cell = tuple[str, _Span | None]
"""A text, and the part of it that is marked."""


def print_question(
    out: Screen, question: Question, rows: Sequence[Evidence], head: str, keys: Iterable[str]
) -> None:
    """Print a question with the rows that raise it.

    Args:
        out: the screen.
        question: the question.
        rows: the first rows that raise it.
        head: which question of how many it is.
        keys: the keys that answer it, each with what it stands for.
    """
    more = question.count - len(rows)
    out.line()
    out.paragraph(f"{head}: {question.text}", style="bold")
    for (headings, place), group in groupby(rows, key=_headings_and_place):
        if place:
            out.paragraph(place, _INDENT, style="dim")
        _print_rows(out, headings, list(group), question.text)
    if more > 0:
        out.line(f"{_INDENT}and {more:,} more row{'s' * (more != 1)}", style="dim")
    print_keys(out, keys)


def _headings_and_place(row: Evidence) -> tuple[list[str], str]:
    """The headings of a row, and its sheet and the line that heads its group."""
    sheet = row.address.rpartition("!")[0]
    place = [f"sheet {sheet}"] if sheet else []
    if row.section and row.section != sheet:
        place.append(f"below {row.section!r}")
    return [heading for heading, _ in row.cells], ", ".join(place)


def print_keys(out: Screen, keys: Iterable[str], style: str = "") -> None:
    """Print keys, each with what it stands for, as many on a line as go there."""
    lines: list[str] = []
    for key in keys:
        if lines and cell_len(lines[-1]) + 3 + cell_len(key) <= out.width:
            lines[-1] += f"   {key}"
        else:
            lines += wrapped(key, out.width, _INDENT, _INDENT * 2)
    out.lines(lines, style)


def _print_rows(
    out: Screen, headings: Sequence[str], rows: Sequence[Evidence], question: str
) -> None:
    """Print rows of one table under its headings, in as many bands as the width asks for."""
    phrases = [one or other for one, other in _QUOTED.findall(question)]
    # Words that are quoted together may stand apart.
    phrases += [part for each in phrases for part in re.split("[,:] ", each) if len(part) > 2]
    titles = [(text, (0, len(text)) if text in phrases else None) for text in headings]
    cells = [titles, *(_marked(row, phrases) for row in rows)]
    if not out.colour:
        cells = [[(_in_signs(text, span), None) for text, span in row] for row in cells]
    titles, *cells = cells
    widest = max(min(_WIDEST, out.width - 20), 12)
    widths = [
        min(max([_heading_width(heading), *(cell_len(row[at][0]) for row in cells)]), widest)
        for at, (heading, _) in enumerate(titles)
    ]
    labels = [row.address.rpartition("!")[2] for row in rows]
    room = max(map(len, [_ROW, *labels]))
    left = out.width - len(_INDENT) - room
    widths = _squeeze(widths, left)
    for band in _bands(widths, left):
        of_band = [widths[at] for at in band]
        head = [titles[at] for at in band]
        _print_line(out, _INDENT + padded(_ROW, room), head, of_band, style="dim")
        for label, row in zip(labels, cells, strict=True):
            _print_line(out, _INDENT + padded(label, room), [row[at] for at in band], of_band)


def _heading_width(text: str) -> int:
    """The width a heading asks for: its longest word, or all of it where that is short."""
    return max([min(cell_len(text), _HEADING), *map(cell_len, text.split())])


def _squeeze(widths: list[int], room: int) -> list[int]:
    """Widths with which all columns go on one line, where wrapping the widest allows that."""
    found = list(widths)
    while sum(found) + len(_GAP) * len(found) > room:
        widest = max(found)
        if widest <= _NARROWEST:
            return widths
        found[found.index(widest)] -= 1
    return found


def _bands(widths: Sequence[int], room: int) -> Iterator[list[int]]:
    """Columns in groups that go on one line each."""
    band: list[int] = []
    used = 0
    for at, width in enumerate(widths):
        if band and used + len(_GAP) + width > room:
            yield band
            band, used = [], 0
        band.append(at)
        used += len(_GAP) + width
    if band:
        yield band


def _print_line(
    out: Screen, label: str, cells: Sequence[_Cell], widths: Sequence[int], *, style: str = ""
) -> None:
    """Print cells beside each other behind a label, each wrapped to its width."""
    pieces = [_pieces(text, width) for (text, _), width in zip(cells, widths, strict=True)]
    for at in range(max(map(len, pieces), default=0)):
        line = Text(" " * cell_len(label) if at else label, style="dim")
        for (text, span), parts, width in zip(cells, pieces, widths, strict=True):
            start, end = parts[at] if at < len(parts) else (0, 0)
            shown = Text(_GAP + padded(text[start:end], width), style=style or "not dim")
            if span is not None and span[0] < end and span[1] > start:
                first, last = max(span[0], start) - start, min(span[1], end) - start
                shown.stylize("bold reverse", len(_GAP) + first, len(_GAP) + last)
            line.append_text(shown)
        out.line(line)


def _pieces(text: str, width: int) -> list[_Span]:
    """Where a text is broken into lines of a width, at blanks where that can be."""
    found = []
    start = 0
    while cell_len(text[start:]) > width:
        end = start + width
        while cell_len(text[start:end]) > width:
            end -= 1
        blank = text.rfind(" ", start + 1, end + 1)
        end = blank if blank > 0 else max(end, start + 1)
        found.append((start, end))
        start = end + (text[end : end + 1] == " ")
    return [*found, (start, len(text))]


def _marked(row: Evidence, phrases: Sequence[str]) -> list[_Cell]:
    """The cells of a row, with the words that the question quotes, else the cell it is about."""
    texts = [text for _, text in row.cells]
    for phrase in phrases:
        order = sorted(range(len(texts)), key=lambda at: at != row.asked)
        for at in order:
            if (span := _find(phrase, texts[at])) is not None:
                return [(text, span if each == at else None) for each, text in enumerate(texts)]
    return [
        (text or _EMPTY, (0, len(text or _EMPTY))) if at == row.asked else (text, None)
        for at, text in enumerate(texts)
    ]


def _find(phrase: str, text: str) -> _Span | None:
    """Where words stand in a text, whatever their case and accents."""
    folded = [fold(sign) for sign in text]
    at = "".join(folded).find(fold(phrase))
    if at < 0 or not phrase:
        return None
    ends = [0]
    for each in folded:
        ends.append(ends[-1] + len(each))
    start = max(place for place, end in enumerate(ends) if end <= at)
    stop = next(place for place, end in enumerate(ends) if end >= at + len(fold(phrase)))
    return start, stop


def _in_signs(text: str, span: _Span | None) -> str:
    """A text with its marked part between signs, for a screen without colours."""
    if span is None:
        return text
    return f"{text[: span[0]]}>>{text[span[0] : span[1]]}<<{text[span[1] :]}"
