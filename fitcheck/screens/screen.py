r"""The terminal: lines of a width, with or without colour, that nothing in the data can steer.

Names, models and notes come from files others wrote. Whatever in them would move the cursor,
colour, hide or turn the direction of writing is shown as an escape such as `\x1b`.
"""

from __future__ import annotations

import io
import os
import re
import sys
from collections.abc import Callable, Iterable, Iterator
from typing import Any, TextIO

from rich.cells import cell_len
from rich.console import Console
from rich.text import Text

from fitcheck.screens.findings.wording import one_line

LINES = 23
"""Lines of an answer at a glance at 80 columns: a screen of 24 without the next prompt."""

WIDE = 120
"""From this width on there is room for more on a line."""

_PIPED_WIDTH = 100
_LEAST, _MOST = 20, 1000


class Screen:
    """Where the answers for people are printed.

    Attributes:
        width: cells in a line.
        colour: whether colours are shown.
    """

    def __init__(self, stream: TextIO, width: int, colour: bool) -> None:
        self.width = width
        self.colour = colour
        self._stream = stream
        self._console = Console(
            file=stream,
            width=width,
            height=_MOST,  # not asked for, but otherwise looked up again and again
            force_terminal=True,
            no_color=False,
            color_system="standard",
            legacy_windows=False,
            highlight=False,
            emoji=False,
            markup=False,
        )

    def line(self, text: Text | str = "", style: str = "") -> None:
        """Print one line as it is: not wrapped, not cut, no blanks at its end."""
        plain = text if isinstance(text, str) else text.plain
        if not plain.isprintable():
            # One mark for one character, so that the colours stay in their places.
            plain = "".join(_mark(char) for char in plain)
        if not self.colour:
            # What rich would print, in a tenth of its time.
            self._stream.write(f"{plain.rstrip()}\n")
            self._stream.flush()
            return
        shown = Text(plain, style=style) if isinstance(text, str) else text
        shown.plain = plain
        shown.rstrip()
        shown.end = ""
        self._console.print(shown, end="\n", no_wrap=True, overflow="ignore", crop=False)

    def lines(self, lines: Iterable[Text | str], style: str = "") -> None:
        """Print lines one under another."""
        for line in lines:
            self.line(line, style)

    def paragraph(
        self, text: str, first: str = "", rest: str | None = None, style: str = ""
    ) -> None:
        """Print a text wrapped to the width; see `wrapped`."""
        self.lines(wrapped(text, self.width, first, rest), style)

    def headed(
        self, head: str, text: str, first: str = "", rest: str | None = None, style: str = "bold"
    ) -> None:
        """Print a text behind its head, which alone has the style, wrapped; see `wrapped`."""
        line, *others = wrapped(head + text, self.width, first, rest)
        shown = Text(line)
        shown.stylize(style, len(first), len(first) + len(one_line(head)))
        self.lines([shown, *others])

    def labelled(self, label: str, text: str, label_width: int = 12) -> None:
        """Print a label and its text, wrapped under itself."""
        self.lines(labelled(label, text, self.width, label_width))


def shorten(
    page: Callable[..., list[Text]], sizes: Iterable[int], least: Iterable[tuple[int, int]]
) -> list[Text]:
    """The lines of a page, of which parts are cut until one screen holds it.

    Args:
        page: makes the lines of a page with so many of each part.
        sizes: how many there are of each part.
        least: which part is cut, and down to how many, one after another.
    """
    kept = list(sizes)
    lines = page(*kept)
    for at, few in least:
        while len(lines) > LINES and kept[at] > few:
            kept[at] -= 1
            lines = page(*kept)
    return lines


def count_lines(printer: Callable[[Screen], Any], width: int) -> int:
    """How many lines something prints on a screen of a width."""
    page = io.StringIO()
    printer(Screen(page, width, colour=False))
    return page.getvalue().count("\n")


def console() -> Screen:
    """The screen of stdout; piped output is 100 cells wide unless COLUMNS says otherwise."""
    return Screen(sys.stdout, columns_of(sys.stdout), colour_wanted(sys.stdout))


def shows_braille() -> bool:
    """Whether what stdout writes may hold braille signs: Unicode, and no bare console."""
    encoding = (getattr(sys.stdout, "encoding", None) or "").lower().replace("-", "")
    return encoding.startswith("utf") and os.environ.get("TERM", "") not in ("dumb", "linux")


def columns_of(stream: TextIO) -> int:
    """Cells in a line: what COLUMNS says, else the terminal, else 100; at least 20."""
    said = os.environ.get("COLUMNS", "")
    width = int(said) if re.fullmatch(r"[0-9]{1,6}", said) else 0
    if width == 0 and stream.isatty():
        try:
            width = os.get_terminal_size(stream.fileno()).columns
        except (OSError, ValueError):
            width = 0
    return min(max(width or _PIPED_WIDTH, _LEAST), _MOST)


def colour_wanted(stream: TextIO) -> bool:
    """Whether to colour: on a terminal that can, or by FORCE_COLOR; never under NO_COLOR."""
    if os.environ.get("NO_COLOR"):
        return False
    forced = os.environ.get("FORCE_COLOR", "")
    if forced:
        return forced != "0"
    return stream.isatty() and os.environ.get("TERM", "") not in ("", "dumb", "unknown")


def _mark(char: str) -> str:
    if char.isprintable():
        return char
    return " " if char.isspace() else "\N{REPLACEMENT CHARACTER}"


def padded(text: str, width: int) -> str:
    """Text filled up with blanks to so many cells."""
    return text + " " * (width - cell_len(text))


def wrapped(text: str, width: int, first: str = "", rest: str | None = None) -> list[str]:
    """Text in lines of a width, the first with one indent, the others with another.

    A word wider than a line is broken, a path is not: it is to be copied whole.
    """
    indent = rest if rest is not None else " " * len(first)
    lines: list[str] = []
    line, empty = first, True
    for word in _words(one_line(text)):
        if not empty and cell_len(line) + 1 + cell_len(word) > width:
            lines.append(line)
            line, empty = indent, True
        *heads, tail = _pieces(word, max(width - cell_len(line), _LEAST)) if empty else [word]
        for head in heads:
            lines.append(line + head)
            line = indent
        line += tail if empty else f" {tail}"
        empty = False
    lines.append(line)
    return lines


_UNIT = re.compile(r"(?:%|mm|in|kg|[A-Z]{3})[),;:.]*")
_BEFORE_UNIT = re.compile(r".*[0-9]")
_PATH = re.compile(r".*[/\\].*:[0-9]+|.*\.ya?ml\b.*")


def _words(text: str) -> list[str]:
    """Words, a unit kept with the number before it and a number with its `no.`."""
    words: list[str] = []
    for word in text.split():
        if words and (
            words[-1] == "(no." or (_UNIT.fullmatch(word) and _BEFORE_UNIT.fullmatch(words[-1]))
        ):
            words[-1] += f" {word}"
        else:
            words.append(word)
    return words


def _pieces(word: str, width: int) -> Iterator[str]:
    """A word in pieces no wider than a width; a path in one."""
    if cell_len(word) > width and not _PATH.fullmatch(word):
        piece = ""
        for char in word:
            if cell_len(piece + char) > width:
                yield piece
                piece = ""
            piece += char
        word = piece
    yield word


def labelled(label: str, text: str, width: int, label_width: int = 12) -> list[Text]:
    """A label and its text in lines, wrapped under itself."""
    first, *rest = wrapped(text, width, f"{label:<{label_width}}", " " * label_width)
    shown = Text(first)
    shown.stylize("bold", 0, len(label))
    return [shown, *map(Text, rest)]
