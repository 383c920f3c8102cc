"""Lines of a text by offset, whatever their breaks."""

from __future__ import annotations

import re
from collections import Counter
from typing import NamedTuple

_BREAK = re.compile(r"\r\n|\r|\n")
_LINE = re.compile(r"[^\r\n]*(?:\r\n|\r|\n)|[^\r\n]+")


class Splice(NamedTuple):
    """A stretch of a text, offsets in code points, the end exclusive, and what takes its place."""

    start: int
    end: int
    text: str


def line_start(text: str, at: int) -> int:
    """Offset of the first character of the line that holds `at`."""
    return max(text.rfind("\n", 0, at), text.rfind("\r", 0, at)) + 1


def line_end(text: str, at: int) -> int:
    """Offset of the break, or of the end of the text, that ends the line of `at`."""
    found = _BREAK.search(text, at)
    return len(text) if found is None else found.start()


def next_line(text: str, at: int) -> int:
    """Offset just past the break of the line of `at`."""
    found = _BREAK.search(text, at)
    return len(text) if found is None else found.end()


def column(text: str, at: int) -> int:
    """Characters before `at` on its line."""
    return at - line_start(text, at)


def before_break(text: str, at: int) -> int:
    """Offset before the break that ends just before `at`; `at` itself where there is none."""
    if at > 1 and text[at - 2 : at] == "\r\n":
        return at - 2
    return at - 1 if at > 0 and text[at - 1] in "\r\n" else at


def indent_at(text: str, at: int) -> int:
    """Spaces that begin the line of `at`."""
    start = line_start(text, at)
    end = start
    while text[end : end + 1] == " ":
        end += 1
    return end - start


def lines_of(text: str) -> list[str]:
    """The lines with their breaks; only CR, LF and CRLF break a line."""
    return _LINE.findall(text)


def usual_break(text: str) -> str:
    """The break most lines have; a newline where there is none."""
    counts = Counter(_BREAK.findall(text))
    return counts.most_common(1)[0][0] if counts else "\n"


def own_break(text: str, at: int, otherwise: str) -> str:
    """The break of the line that holds `at`; where the text ends there, that of the line before.

    Args:
        text: the text.
        at: an offset in it.
        otherwise: the break where the text is one line.
    """
    found = _BREAK.search(text, at)
    if found is not None:
        return found.group()
    last = max(text.rfind("\n"), text.rfind("\r"))
    if last < 0:
        return otherwise
    return "\r\n" if text[last - 1 : last + 1] == "\r\n" else text[last]


def spliced(text: str, splices: list[Splice]) -> str:
    """The text with every splice made; offsets count in the old text, and none overlap."""
    parts: list[str] = []
    done = 0
    for splice in sorted(splices, key=lambda each: (each.start, each.end)):
        if splice.start < done:
            raise ValueError("splices overlap")
        parts += text[done : splice.start], splice.text
        done = splice.end
    parts.append(text[done:])
    return "".join(parts)
