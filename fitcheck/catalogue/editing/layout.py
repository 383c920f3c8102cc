"""A file in stretches: what stands before the records, each record, and what stands behind."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field

from fitcheck.catalogue.editing.entries import behind_in_brackets, check_keys
from fitcheck.catalogue.editing.lines import (
    block_end,
    colon_end,
    column,
    indent_at,
    line_end,
    own_break,
)
from fitcheck.catalogue.editing.region import Stretch
from fitcheck.catalogue.nodes import MapNode, ScalarNode, anchor_end, line_start
from fitcheck.catalogue.source import Source
from fitcheck.errors import EditError


@dataclass(slots=True, eq=False)
class Slot:
    """The place of one record in its file.

    Attributes:
        stretch: the record's text.
        lead: what stands between the record before and this one; only in brackets.
        before: the slot before.
        behind: the slot behind.
    """

    stretch: Stretch
    lead: str = ""
    before: Slot | None = None
    behind: Slot | None = None


@dataclass(slots=True, eq=False)
class Layout:
    """All slots, with what stands before and behind them.

    Attributes:
        head: the text before the first record.
        tail: the text behind the last.
        flow: whether the records stand in brackets.
        indent: column of the ids, outside brackets.
        first: the first slot.
        last: the last slot.
        known: every slot by the record's id.
    """

    head: str
    tail: str = ""
    flow: bool = False
    indent: int = 2
    first: Slot | None = None
    last: Slot | None = None
    known: dict[str, Slot] = field(default_factory=dict)

    def __iter__(self) -> Iterator[Slot]:
        slot = self.first
        while slot is not None:
            yield slot
            slot = slot.behind

    def text(self) -> str:
        """The whole text."""
        parts = [self.head]
        for slot in self:
            parts += slot.lead, slot.stretch.text
        parts.append(self.tail)
        return "".join(parts)

    def lines_before(self, wanted: Slot) -> int:
        """How many line breaks stand before a slot's text."""
        parts = [self.head]
        for slot in self:
            parts.append(slot.lead)
            if slot is wanted:
                break
            parts.append(slot.stretch.text)
        text = "".join(parts)
        return text.count("\n") + text.count("\r") - text.count("\r\n")

    def near(self, slot: Slot | None, most: int = 8) -> Iterator[Slot]:
        """A slot and those round it, the nearest first."""
        up, down = slot, None if slot is None else slot.behind
        while most > 0 and (up is not None or down is not None):
            if up is not None:
                yield up
                up, most = up.before, most - 1
            if down is not None:
                yield down
                down, most = down.behind, most - 1

    def link(self, slot: Slot, after: Slot | None) -> None:
        """Put a slot behind another, or first."""
        slot.before = after
        slot.behind = self.first if after is None else after.behind
        if after is None:
            self.first = slot
        else:
            after.behind = slot
        if slot.behind is None:
            self.last = slot
        else:
            slot.behind.before = slot
        self.known[slot.stretch.id] = slot

    def unlink(self, slot: Slot) -> None:
        """Take a slot out."""
        if slot.before is None:
            self.first = slot.behind
        else:
            slot.before.behind = slot.behind
        if slot.behind is None:
            self.last = slot.before
        else:
            slot.behind.before = slot.before
        del self.known[slot.stretch.id]


def layout_of(source: Source) -> Layout:
    """The layout of a file that could be read.

    Raises:
        EditError: the file is no mapping, or its `records` hold something else than records.
    """
    text, root = source.text, source.root
    if not isinstance(root, MapNode):
        raise EditError(f"{source.path}: the file holds no records; write kind and records into it")
    if "records" not in root.entries:
        return _without_records(source, root)
    key, node = root.entries["records"]
    if isinstance(node, MapNode) and node.entries:
        return _in_brackets(text, node) if node.flow else _in_lines(source, root, node)
    if isinstance(node, MapNode) or node.value is None:
        return _empty(source, root, key, node)
    place = source.span(("records",), key=True)
    raise EditError(f"{place}: records is no mapping; write each record under its id")


def _link_all(layout: Layout, slots: list[Slot]) -> Layout:
    for slot in slots:
        layout.link(slot, layout.last)
    return layout


def _in_lines(source: Source, root: MapNode, node: MapNode) -> Layout:
    text = source.text
    starts = [line_start(text, key.start) for key, _ in node.entries.values()]
    behind = [
        line_start(text, key.start) for key, _ in root.entries.values() if key.start > node.end
    ]
    end = min(behind, default=len(text))
    first_key = next(iter(node.entries.values()))[0]
    layout = Layout(text[: starts[0]], text[end:], indent=indent_at(text, first_key.start))
    ends = [*starts[1:], end]
    return _link_all(
        layout,
        [
            Slot(Stretch(record_id, text[start:stop], False, value.value))
            for (record_id, (_, value)), start, stop in zip(
                node.entries.items(), starts, ends, strict=True
            )
        ],
    )


def _in_brackets(text: str, node: MapNode) -> Layout:
    done = next(iter(node.entries.values()))[0].start
    layout = Layout(text[:done], flow=True)
    slots = []
    for record_id, (key, value) in node.entries.items():
        end = max(key.end, value.end)
        stretch = Stretch(record_id, text[key.start : end], True, value.value)
        slots.append(Slot(stretch, text[done : key.start]))
        done = end
    layout.tail = text[done:]
    return _link_all(layout, slots)


def _without_records(source: Source, root: MapNode) -> Layout:
    text = source.text
    if root.flow or not root.entries:
        raise EditError(f"{source.path}: the file has no records; write `records:` into it")
    check_keys(text, root)
    first = next(iter(root.entries.values()))[0]
    key, value = list(root.entries.values())[-1]
    indent = column(text, first.start)
    end = block_end(text, max(key.end, value.end), value, indent)
    near = own_break(text, first.start, "\n")
    lead = near if text[end - 1] not in "\r\n" else ""
    head = text[:end] + lead + " " * indent + "records:" + near
    return Layout(head, text[end:], indent=indent + 2)


def _empty(source: Source, root: MapNode, key: ScalarNode, node: MapNode | ScalarNode) -> Layout:
    text = source.text
    if text[node.lead : node.lead + 1] == "&":
        place = source.between(node.lead, anchor_end(text, node.lead))
        raise EditError(f"{place}: records is empty; take the anchor there out first")
    inside = text[node.start + 1 : node.end - 1] if isinstance(node, MapNode) else ""
    if root.flow or "#" in inside:
        if not isinstance(node, MapNode):
            raise EditError(f"{source.path}: records is empty; write {{}} there first")
        return Layout(text[: node.start + 1], text[node.start + 1 :], flow=True)
    colon = colon_end(text, key)
    if colon is None:
        raise EditError(f"{source.path}: write `records:` first")
    near = own_break(text, key.start, "\n")
    end = max(node.end, colon)
    text = text[:colon] + text[end:]
    if line_end(text, colon) == len(text):
        text += near
    indent = column(text, key.start)
    behind = block_end(text, colon, ScalarNode.empty(colon), indent)
    return Layout(text[:behind], text[behind:], indent=indent + 2)


def put_in_brackets(layout: Layout, after: Slot | None, new: Stretch, eol: str) -> Slot:
    """Put a record behind another, inside brackets; the text between is shared out again."""
    if after is None:
        slot = Slot(new)
        layout.link(slot, None)
        return slot
    following = after.behind.lead if after.behind is not None else layout.tail
    before = (after.lead or layout.head)[
        line_start(after.lead or layout.head, len(after.lead or layout.head)) :
    ]
    start, end = len(before), len(before) + len(after.stretch.text)
    mini = before + after.stretch.text + following
    closed = mini if after.behind is None else mini + after.behind.stretch.text
    splices = behind_in_brackets(closed, start, end, new.text, eol)
    put = splices[-1]
    at = put.text.index(new.text)
    comma = splices[0].text if len(splices) > 1 else ""
    slot = Slot(new, comma + mini[end : put.start] + put.text[:at])
    rest = put.text[at + len(new.text) :] + mini[put.start :]
    if after.behind is not None:
        after.behind.lead = rest
    else:
        layout.tail = rest
    layout.link(slot, after)
    return slot


_RECORDS = re.compile(r"""^([ ]*)(?:records|"records"|'records')[ ]*:""", re.MULTILINE)


def with_top_line(head: str, key: str, written: str, eol: str, *, there: bool) -> str | None:
    """The text before the records with a line `key: written`, put in place of the one it has.

    Args:
        head: what stands before the first record, `records:` included.
        key: the key, a plain word.
        written: its value in flow style.
        eol: line break of the file.
        there: whether the file has the key already.

    Returns:
        The new text; None where `records` does not begin a line, as in a file in brackets.

    Raises:
        EditError: the key is there, but not in one line before the records.
    """
    records = list(_RECORDS.finditer(head))
    if not records:
        return None
    at, indent = records[-1].start(), records[-1][1]
    line = re.compile(rf"^{indent}{key}[ ]*:[ ]*(\{{[^{{}}#\r\n]*\}})", re.MULTILINE)
    old = line.search(head)
    if old is not None:
        return head[: old.start(1)] + written + head[old.end(1) :]
    if there:
        raise EditError(
            f"{key}: is not as fitcheck writes it; take that key out, and the next move writes it"
        )
    return f"{head[:at]}{indent}{key}: {written}{eol}{head[at:]}"
