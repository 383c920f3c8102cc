"""A scalar as text: without quotes where readers of YAML 1.1 and 1.2 agree on it, else quoted.

Standards: YAML 1.2.2, sections 7.3 and 10.3.2; the type repository of YAML 1.1 (int, float, bool,
null, timestamp, merge, value) for what older readers make of plain text.

One that replaces another keeps its style where it can.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from decimal import Decimal
from typing import Literal

from fitcheck.catalogue.editing.lines import (
    Splice,
    before_break,
    line_end,
    next_line,
    own_break,
    value_end,
)
from fitcheck.catalogue.editing.values import Bare, number_text
from fitcheck.catalogue.nodes import ScalarNode
from fitcheck.catalogue.scalars import meaning_of

Quote = Literal["", "'", '"']

_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")

# Whatever is made of these alone looks like a number, a time, or a spreadsheet's idea of either.
_NUMBER_LIKE = re.compile(r"[-+.0-9][-+.0-9_:,eE]*")
_OTHER_NUMBERS = re.compile(
    r"[-+]?0[bB][01_]+|[-+]?0[xX][0-9a-fA-F_]+|[-+]?0[oO][0-7_]+|[-+]?\.(?:inf|nan)", re.IGNORECASE
)
_TIME = re.compile(r"[0-9]{4}-[0-9]{1,2}-[0-9]{1,2}(?:[Tt \t].*)?")
_WORDS = frozenset(
    ("~", "null", "true", "false", "yes", "no", "on", "off", "y", "n", "=", "<<", "---", "...")
)
_OPENERS = frozenset("-?:,[]{}#&*!|>'\"%@`=<~.+")
_FLOW_SIGNS = re.compile(r"[,\[\]{}:?]")
_MAX_KEY = 120


def can_stand_bare(text: str, *, flow: bool) -> bool:
    """Whether a text means itself without quotes, to every reader, in brackets or outside.

    Where in doubt the answer is no.
    """
    if not text or text != text.strip() or not text.isprintable() or text[0] in _OPENERS:
        return False
    if ": " in text or " #" in text or text.endswith(":"):
        return False
    if flow and _FLOW_SIGNS.search(text):
        return False
    return not _means_another(text)


def _means_another(text: str) -> bool:
    """Whether some reader takes a text without quotes for a number, a word or a time."""
    if text.casefold() in _WORDS:
        return True
    if _NUMBER_LIKE.fullmatch(text) or _OTHER_NUMBERS.fullmatch(text) or _TIME.fullmatch(text):
        return True
    value, _, two_readings = meaning_of(text)
    return two_readings or not isinstance(value, str)


def double_quoted(text: str) -> str:
    """A text in double quotes, on one line."""
    inner = text.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n")
    return '"' + inner.replace("\t", "\\t") + '"'


def inline_text(
    value: object, *, flow: bool, quote: Quote = "", key: bool = False, other: Quote = '"'
) -> str:
    """A scalar on one line.

    Args:
        value: text, `Bare`, int, Decimal, bool or None.
        flow: whether it stands in brackets.
        quote: how a text is to be written if it can: bare, or in these quotes.
        key: whether it is a key.
        other: quotes for a text that cannot stand bare.
    """
    if value is None or isinstance(value, bool):
        return {None: "null", True: "true", False: "false"}[value]
    if isinstance(value, int | Decimal):
        return number_text(value)
    text = str(value)
    if isinstance(value, Bare) and not quote:
        return text
    if not quote and can_stand_bare(text, flow=flow or key) and not (key and len(text) > _MAX_KEY):
        return text
    if (quote or other) == "'" and text.isprintable():
        return "'" + text.replace("'", "''") + "'"
    return double_quoted(text)


def block_text(text: str, indent: str, eol: str, sign: str = "|") -> tuple[str, str] | None:
    """A text as a block of lines of its own.

    Args:
        text: the text.
        indent: what each line begins with.
        eol: the line break.
        sign: `|`, or `>` which is taken only for a single line.

    Returns:
        The header, and the lines without the last break; None where a block cannot hold the text.
    """
    body = text.removesuffix("\n")
    lines = body.split("\n")
    if not body or "\t" in body or lines[0].startswith(" ") or not lines[0] or not lines[-1]:
        return None
    if any(line != line.rstrip() or not line.isprintable() for line in lines):
        return None
    if sign == ">" and len(lines) > 1:
        sign = "|"
    header = sign if body != text else sign + "-"
    return header, eol.join(indent + line if line else "" for line in lines)


_INDENT = re.compile(r"[ ]*(?=[^ \r\n])")
_HEADER = re.compile(r"[|>][-+0-9]*")


def scalar_splices(
    text: str,
    node: ScalarNode,
    value: object,
    *,
    flow: bool,
    indent: int,
    other: Quote,
    quote: Quote,
    eol: str,
) -> Iterator[list[Splice]]:
    """Ways to write a new scalar in the place of an old one, the best first.

    Args:
        text: the text.
        node: the old scalar, which has characters of its own.
        value: the new one, plain data.
        flow: whether it stands in brackets.
        indent: column of the key or dash that holds it.
        other: quotes for a text that cannot stand bare.
        quote: quotes that the neighbours give such a value in any case.
        eol: line break where none is near.
    """
    if not isinstance(value, str):
        yield [_whole(text, node, inline_text(value, flow=flow))]
        return
    grown = _grow(text, node, value)
    if grown is not None:
        yield [grown]
    old_block = node.style in ("|", ">")
    if not flow and (old_block or "\n" in value):
        yield from _as_block(text, node, value, indent, eol)
    old = node.style if node.style in ("'", '"') else ""
    if old:
        yield [_whole(text, node, inline_text(value, flow=flow, quote="'" if old == "'" else '"'))]
    if not old and not old_block and isinstance(node.value, str):
        quote = ""
        if _DATE.fullmatch(value) and _DATE.fullmatch(node.text):
            value = Bare(value)
    yield [_whole(text, node, inline_text(value, flow=flow, quote=quote, other=other))]
    yield [_whole(text, node, double_quoted(value))]


def _grow(text: str, node: ScalarNode, value: str) -> Splice | None:
    """What a text of several lines grows by at its end, put there; its lines stay as they are."""
    if not isinstance(node.value, str) or line_end(text, node.start) >= node.end:
        return None
    body = node.value.rstrip("\n")
    more = value[len(body) : len(value) - (len(node.value) - len(body))]
    if not body or value != body + more + node.value[len(body) :]:
        return None
    if not more.isprintable() or more != more.rstrip():
        return None
    at = node.end - 1 if node.style in ("'", '"') else node.end
    if node.style == "'":
        more = more.replace("'", "''")
    elif node.style == '"':
        more = double_quoted(more)[1:-1]
    return Splice(at, at, more)


def _end(text: str, node: ScalarNode) -> int:
    if node.style not in ("|", ">"):
        return node.end
    return before_break(text, value_end(text, node.end, node))


def _whole(text: str, node: ScalarNode, new: str) -> Splice:
    if node.style not in ("|", ">"):
        return Splice(node.start, node.end, new)
    # A comment beside the sign of a block text stays on its line.
    header = line_end(text, node.start)
    sign = _HEADER.match(text, node.start)
    assert sign is not None
    comment = text[sign.end() : header].rstrip()
    return Splice(node.start, _end(text, node), new + comment)


def _as_block(
    text: str, node: ScalarNode, value: str, indent: int, eol: str
) -> Iterator[list[Splice]]:
    near = own_break(text, node.start, eol)
    if node.style not in ("|", ">"):
        block = block_text(value, " " * (indent + 2), near)
        if block is not None:
            rest = line_end(text, node.end)
            beside = text[node.end : rest]
            yield [Splice(node.start, rest, block[0] + beside + near + block[1])]
        return
    body = next_line(text, node.start)
    found = _INDENT.match(text, body) if node.end > body else None
    inner = " " * (indent + 2) if found is None else found.group()
    block = block_text(value, inner, near, sign=node.style)
    if block is None:
        return
    sign = _HEADER.match(text, node.start)
    assert sign is not None
    header = line_end(text, node.start)
    beside = text[sign.end() : header]
    kept = sign.group() if _fits(sign.group(), block[0], value) else block[0]
    yield [Splice(node.start, _end(text, node), kept + beside + near + block[1])]
    yield [Splice(node.start, _end(text, node), block[0] + beside + near + block[1])]


def _fits(old: str, new: str, value: str) -> bool:
    """Whether an old header does for a new text: the same sign, and the same end."""
    return old[0] == new[0] and ("-" in old) == (not value.endswith("\n")) and "+" not in old
