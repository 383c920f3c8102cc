"""Lines of a text by offset, and how far a key, an item or a value reaches, comments included."""

from __future__ import annotations

import re
from collections import Counter
from typing import NamedTuple

from fitcheck.catalogue.nodes import ListNode, MapNode, Node, ScalarNode, line_start

_BREAK = re.compile(r"\r\n|\r|\n")
_LINE = re.compile(r"[^\r\n]*(?:\r\n|\r|\n)|[^\r\n]+")


class Splice(NamedTuple):
    """A stretch of a text, offsets in code points, the end exclusive, and what takes its place."""

    start: int
    end: int
    text: str


def line_end(text: str, at: int) -> int:
    """Offset of the break, or of the end of the text, that ends the line of `at`."""
    found = _BREAK.search(text, at)
    return len(text) if found is None else found.start()


def next_line(text: str, at: int) -> int:
    """Offset just past the break of the line of `at`."""
    found = _BREAK.search(text, at)
    return len(text) if found is None else found.end()


def starts_line(text: str, at: int) -> bool:
    """Whether only blanks stand before `at` on its line."""
    return not text[line_start(text, at) : at].strip(" \t")


def behind_spaces(text: str, at: int) -> int:
    """Offset behind the spaces and tabs that begin at `at`."""
    while text[at : at + 1] in (" ", "\t"):
        at += 1
    return at


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


def apply_splices(text: str, splices: list[Splice]) -> str:
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


_COLON = re.compile(r"[ \t]*:")
_COMMENT_LINE = re.compile(r"[ \t]*(?=#)")
_BLANK = re.compile(r"[ \t]*(?=[\r\n]|\Z)")
_SPACE_OR_COMMENT = re.compile(r"(?:[ \t\r\n]+|#[^\r\n]*)*")
_TAIL = re.compile(r"[ \t]*(?=#)")


def _last_value(node: Node) -> Node:
    """The value that ends a mapping or list without brackets."""
    while not isinstance(node, ScalarNode) and not node.flow:
        if isinstance(node, ListNode):
            inner: list[Node] = node.items
        else:
            inner = [value for _, value in node.entries.values()]
        if not inner:
            break
        node = inner[-1]
    return node


def value_end(text: str, end: int, node: Node) -> int:
    """Offset of the line behind a value that ends at `end`.

    Blank lines that are part of a block text are its own.
    """
    at = next_line(text, end)
    last = _last_value(node)
    if not isinstance(last, ScalarNode) or last.style not in ("|", ">"):
        return at
    header = text[last.start : line_end(text, last.start)].partition("#")[0]
    behind = _behind_blanks(text, at)
    if "+" in header:
        return behind
    # A line of more spaces than the indent is text, whatever it looks like.
    body = [line for line in lines_of(text[next_line(text, last.start) : at]) if line.strip()]
    explicit = any(char.isdigit() for char in header)
    indent = 0 if explicit or not body else min(len(line) - len(line.lstrip(" ")) for line in body)
    blanks = lines_of(text[at:behind])
    while blanks and len(blanks[-1].rstrip("\r\n")) <= indent:
        blanks.pop()
    return at + sum(map(len, blanks))


def block_end(text: str, end: int, node: Node, indent: int, *, over_blanks: bool = False) -> int:
    """Offset of the line behind a key or item that stands on lines of its own.

    Comments that stand further in than `indent`, or right below the comment at the end of the last
    line and in its column, belong to it.

    Args:
        text: the text.
        end: offset just past its value, or its colon or dash where it has none.
        node: its value.
        indent: column of the key or dash.
        over_blanks: whether comments further in belong to it behind blank lines, too.
    """
    rest = _TAIL.match(text, end)
    beside = column(text, rest.end()) if rest is not None else None
    at = value_end(text, end, node)
    while at < len(text):
        behind = _behind_blanks(text, at) if over_blanks else at
        found = _COMMENT_LINE.match(text, behind)
        if found is None:
            break
        own = found.end() - behind
        if own <= indent and not (own == beside and behind == at):
            break
        at = next_line(text, behind)
    return at


def _behind_blanks(text: str, at: int) -> int:
    while at < len(text) and _BLANK.match(text, at):
        at = next_line(text, at)
    return at


def colon_end(text: str, key: ScalarNode) -> int | None:
    """Offset behind the colon of a key; None where none follows on the line."""
    found = _COLON.match(text, key.end)
    return None if found is None else found.end()


def is_explicit(text: str, key: ScalarNode, floor: int) -> bool:
    """Whether a key is written with a question mark; `floor` is the end of what stands before."""
    return "?" in text[max(floor, line_start(text, key.start)) : key.start] or key.style in (
        "|",
        ">",
    )


def dash_of(text: str, node: ListNode, position: int) -> int:
    """Offset of the dash of an item of a list without brackets."""
    if position == 0:
        return node.start
    before, indent = node.items[position - 1], column(text, node.start)
    at = next_line(text, max(before.end, node.start))
    while at < len(text):
        head = text[at : at + indent + 1]
        if head == " " * indent + "-":
            return at + indent
        at = next_line(text, at)
    raise ValueError("no dash")


def flow_comma(text: str, end: int) -> int | None:
    """Offset of the comma behind an entry in brackets, or None."""
    found = _SPACE_OR_COMMENT.match(text, end)
    at = end if found is None else found.end()
    return at if text[at : at + 1] == "," else None


def spans_of(node: MapNode | ListNode) -> list[tuple[int, int, Node]]:
    """Start, anchor included, end and value of every entry of a mapping or list, in order."""
    if isinstance(node, ListNode):
        return [(item.lead, item.end, item) for item in node.items]
    return [(key.start, max(key.end, value.end), value) for key, value in node.entries.values()]
