"""A scalar's text replaced where it stands, its style kept where it can be."""

from __future__ import annotations

import re
from collections.abc import Iterator

from fitcheck.catalogue.editing.extent import value_end
from fitcheck.catalogue.editing.lines import Splice, before_break, line_end, next_line, own_break
from fitcheck.catalogue.editing.scalar_text import (
    Quote,
    bare_date,
    block_text,
    double_quoted,
    inline_text,
)
from fitcheck.catalogue.editing.values import Bare
from fitcheck.catalogue.nodes import ScalarNode

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
    grown = _grown(text, node, value)
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
        if bare_date(value) and bare_date(node.text):
            value = Bare(value)
    yield [_whole(text, node, inline_text(value, flow=flow, quote=quote, other=other))]
    yield [_whole(text, node, double_quoted(value))]


def _grown(text: str, node: ScalarNode, value: str) -> Splice | None:
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
