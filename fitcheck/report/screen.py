"""The terminal: one console that honours width, colour and NO_COLOR, and never breaks a pipe."""

from __future__ import annotations

import os
import sys

from rich.console import Console
from rich.text import Text

__all__ = ["WIDE", "console", "labelled", "wrapped"]

WIDE = 120
"""From this width on, notes stand on the line they belong to."""


def console(*, stderr: bool = False) -> Console:
    """A console for stdout or stderr; piped output has no colour and 100 columns."""
    stream = sys.stderr if stderr else sys.stdout
    width = None
    if not stream.isatty():
        columns = os.environ.get("COLUMNS", "")
        width = int(columns) if columns.isdigit() and 20 <= int(columns) <= 1000 else 100
    return Console(
        stderr=stderr,
        width=width,
        highlight=False,
        emoji=False,
        markup=False,
        soft_wrap=False,
    )


def wrapped(text: str, width: int, first: str, rest: str | None = None) -> list[str]:
    """Text in lines of a width, the first with one indent, the others with another."""
    indent = rest if rest is not None else " " * len(first)
    lines: list[str] = []
    line = first
    empty = True
    for word in _words(text):
        if not empty and len(line) + 1 + len(word) > width:
            lines.append(line)
            line, empty = indent, True
        line += word if empty else f" {word}"
        empty = False
    lines.append(line)
    return lines


_UNITS = frozenset({"%", "%,", "%;", "%:", "%.", "mm", "mm,", "in", "EUR", "kg"})


def _words(text: str) -> list[str]:
    """Words, a unit kept with the number before it."""
    words: list[str] = []
    for word in text.split():
        if words and word in _UNITS and words[-1][-1:].isdigit():
            words[-1] += f" {word}"
        else:
            words.append(word)
    return words


def labelled(label: str, text: str, width: int, label_width: int = 12) -> Text:
    """A label and its text, wrapped under itself."""
    lines = wrapped(text, width, f"{label:<{label_width}}", " " * label_width)
    shown = Text("\n".join(lines))
    shown.stylize("bold", 0, len(label))
    return shown
