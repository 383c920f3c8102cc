"""Single steps carried out on a text: values replaced, entries put in and taken out."""

from __future__ import annotations

import re
from typing import Any

from fitcheck.catalogue.editing.lines import (
    Splice,
    before_break,
    behind_spaces,
    block_end,
    colon_end,
    column,
    dash_of,
    flow_comma,
    is_explicit,
    line_end,
    next_line,
    own_break,
    spans_of,
    starts_line,
    value_end,
)
from fitcheck.catalogue.editing.record_text import (
    Written,
    flow_entry,
    flow_value,
    write_entry,
    write_item,
)
from fitcheck.catalogue.editing.style import Steps, Style
from fitcheck.catalogue.nodes import ListNode, MapNode, Node, ScalarNode, line_start
from fitcheck.errors import EditError

_BESIDE = re.compile(r"[ \t]*(?:#[^\r\n]*)?")
_EXPLICIT = "a key is written with a question mark here; write it as `key: value` first"


def _breaks(text: str, lines: list[str], at: int, eol: str) -> str:
    """Lines to be put at `at`, where a line begins or the text ends."""
    joined = eol.join(lines)
    if at == len(text) and at > 0 and text[at - 1] not in "\r\n":
        return eol + joined  # the last line keeps having no break
    return joined + eol


def check_keys(text: str, node: MapNode) -> None:
    """Refuse a mapping whose keys are not written as `key: value`.

    Raises:
        EditError: one is written with a question mark.
    """
    floor = node.start
    for key, value in node.entries.values():
        if is_explicit(text, key, floor) or (not node.flow and colon_end(text, key) is None):
            raise EditError(_EXPLICIT)
        floor = max(key.end, value.end)


# -- putting in --------------------------------------------------------------------------------


def insert_entry(
    text: str,
    node: MapNode | ListNode,
    position: int,
    *,
    key: str | None,
    value: Any,
    steps: Steps,
    style: Style,
    eol: str,
    safe: bool = False,
) -> list[Splice]:
    """The splices that put an entry into a mapping or list.

    Args:
        text: the text.
        node: the mapping or list.
        position: 0 to its length; where the entry is to stand.
        key: the key; None for an item of a list.
        value: plain data.
        steps: steps to the mapping or list.
        style: how the neighbours are written.
        eol: line break where none is near.
        safe: write texts of several lines in double quotes.
    """
    spans = spans_of(node)
    if node.flow:
        if key is None:
            new = flow_value(value, (*steps, "*"), style)
        else:
            new = flow_entry(key, value, steps, style)
        return _into_brackets(text, node, position, new, eol)
    first = spans[0][0]
    indent = column(text, node.start if isinstance(node, ListNode) else first)
    if key is None:
        lines = write_item(value, indent, steps, style, safe=safe)
    else:
        lines = write_entry(key, value, indent, steps, style, safe=safe)
    if position > 0:
        _, end, before = spans[position - 1]
        at = block_end(text, end, before, indent)
        return [Splice(at, at, _breaks(text, lines, at, own_break(text, end, eol)))]
    at = node.start if isinstance(node, ListNode) else first
    near = own_break(text, at, eol)
    # The indent of the first line stands there already; it takes the place of the old first one.
    return [Splice(at, at, near.join(lines)[indent:] + near + " " * indent)]


def _into_brackets(
    text: str,
    node: MapNode | ListNode,
    position: int,
    new: str,
    eol: str,
) -> list[Splice]:
    spans = spans_of(node)
    if text[node.start] not in "{[":
        raise EditError("a lone pair in a list has no brackets of its own; write it in { } first")
    if not spans:
        return [Splice(node.start + 1, node.start + 1, new)]
    if position == 0:
        at = spans[0][0]
        if starts_line(text, at):
            indent = text[line_start(text, at) : at]
            return [Splice(at, at, new + "," + own_break(text, at, eol) + indent)]
        return [Splice(at, at, new + ", ")]
    start, end, _ = spans[position - 1]
    return behind_in_brackets(text, start, end, new, eol)


def _flow_end(text: str, start: int, end: int) -> tuple[int | None, int, int, bool]:
    """The comma of an entry in brackets, and what stands behind it on the line.

    Returns:
        Offset of its comma or None, offset behind that, offset behind a comment beside it, and
        whether the entry has the line for itself.
    """
    comma = flow_comma(text, end)
    close = end if comma is None else comma + 1
    beside = _BESIDE.match(text, close)
    tail = close if beside is None else beside.end()
    own_line = starts_line(text, start) and (tail == len(text) or text[tail] in "\r\n")
    return comma, close, tail, own_line


def behind_in_brackets(text: str, start: int, end: int, new: str, eol: str) -> list[Splice]:
    """The splices that put `new` behind the entry from `start` to `end`, in brackets."""
    comma, close, tail, own_line = _flow_end(text, start, end)
    if not own_line:
        commented = "#" in text[close:tail] or "#" in text[end:close]
        if commented:
            # What stands behind a comment begins a line of its own.
            at = next_line(text, end)
            if comma is not None and comma >= at:
                return [Splice(end, end, ", " + new)]
            begin = line_start(text, start)
            line = text[begin : behind_spaces(text, begin)] + new
            if comma is None:
                put = Splice(at, at, line + own_break(text, end, eol))
                return [Splice(end, end, ","), put]
            return [Splice(at, at, line + "," + own_break(text, end, eol))]
        return [Splice(end, end, ", " + new)]
    indent_text = text[line_start(text, start) : start]
    near = own_break(text, end, eol)
    at = next_line(text, tail)
    if comma is None:
        return [Splice(end, end, ","), Splice(at, at, indent_text + new + near)]
    return [Splice(at, at, indent_text + new + "," + near)]


# -- taking out --------------------------------------------------------------------------------


def remove_entry(text: str, node: MapNode | ListNode, position: int) -> list[Splice]:
    """The splices that take an entry out of a mapping or list which holds others as well."""
    spans = spans_of(node)
    start, end, value = spans[position]
    if node.flow:
        return _out_of_brackets(text, node, spans, position)
    indent = column(text, node.start if isinstance(node, ListNode) else start)
    first = dash_of(text, node, position) if isinstance(node, ListNode) else start
    behind = block_end(text, end, value, indent)
    if starts_line(text, first):
        begin = line_start(text, first)
        return [Splice(begin, behind, "")]
    # The first entry beside a dash: the next one moves up to it.
    following = spans[position + 1][0]
    if isinstance(node, ListNode):
        following = dash_of(text, node, position + 1)
    if not text[behind:following].strip(" \t"):
        return [Splice(first, following, "")]
    return [Splice(first, before_break(text, value_end(text, end, value)), "")]


def _out_of_brackets(
    text: str, node: MapNode | ListNode, spans: list[tuple[int, int, Node]], position: int
) -> list[Splice]:
    start, end, _ = spans[position]
    comma, close, tail, own_line = _flow_end(text, start, end)
    splices: list[Splice] = []
    last = position == len(spans) - 1
    if last and comma is None and position > 0:
        before = flow_comma(text, spans[position - 1][1])
        if before is None:
            raise EditError("the comma before it was not found")
        if own_line:
            splices.append(Splice(before, before + 1, ""))
        elif "#" in text[before:start] or "\n" in text[before:start] or "\r" in text[before:start]:
            return [Splice(before, before + 1, ""), Splice(start, end, "")]
        else:
            return [Splice(before, end, "")]
    if own_line:
        return [*splices, Splice(line_start(text, start), next_line(text, tail), "")]
    if comma is None or "#" in text[end:comma]:
        return [Splice(start, end, "")] + ([] if comma is None else [Splice(comma, comma + 1, "")])
    return [Splice(start, close if last else behind_spaces(text, close), "")]


# -- replacing ---------------------------------------------------------------------------------


def replace_collection(
    text: str, owner_end: int, node: Node, new: Written, eol: str
) -> list[Splice]:
    """The splices that put a new value in the place of one without brackets, or of a scalar.

    Args:
        text: the text.
        owner_end: offset behind the colon or dash.
        node: the old value.
        new: the new value.
        eol: line break where none is near.
    """
    near = own_break(text, owner_end, eol)
    more = "".join(near + line for line in new.lines)
    head = " " + new.inline if new.inline else ""
    block = not isinstance(node, MapNode | ListNode) or not node.flow
    beside = line_end(text, owner_end)
    if node.start > beside and block:
        last = before_break(text, value_end(text, node.end, node))
        return [Splice(owner_end, owner_end, head), Splice(beside, last, more)]
    if block and isinstance(node, MapNode | ListNode):
        last = before_break(text, value_end(text, node.end, node))
        joined = head + more
        return [Splice(owner_end, last, joined)]
    last = max(node.end, owner_end)
    if isinstance(node, ScalarNode) and node.style in ("|", ">"):
        last = before_break(text, value_end(text, node.end, node))
    end_line = line_end(text, last)
    return [Splice(owner_end, last, head), Splice(end_line, end_line, more)]
