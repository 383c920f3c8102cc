"""One record's stretch of a file, and single steps made in it, each proved by reading it again."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property
from typing import Any

from fitcheck.catalogue.editing.entries import (
    check_keys,
    insert_entry,
    remove_entry,
    replace_collection,
)
from fitcheck.catalogue.editing.lines import (
    Splice,
    apply_splices,
    behind_spaces,
    block_end,
    colon_end,
    column,
    dash_of,
    indent_at,
)
from fitcheck.catalogue.editing.proof import prove_lines_kept, refusal_of
from fitcheck.catalogue.editing.record_text import flow_value, place_for, write_value
from fitcheck.catalogue.editing.scalar_text import scalar_splices
from fitcheck.catalogue.editing.style import Habits, Style, habits_of
from fitcheck.catalogue.editing.values import Step, apply_step, same
from fitcheck.catalogue.nodes import ListNode, MapNode, Node, ScalarNode, anchor_end
from fitcheck.catalogue.source import Source, source_from_bytes
from fitcheck.diagnostics.finding import Finding
from fitcheck.errors import EditError
from fitcheck.model.fields import Record


class Stretch:
    """The text of one record, as it stands; what is read from it is kept until the text changes.

    Attributes:
        id: the record's id.
        text: its lines, up to those of the next record; in brackets just the key and the value.
        flow: whether the records stand in brackets.
        data: plain data of the record.
    """

    def __init__(self, record_id: str, text: str, flow: bool, data: Any) -> None:
        self.id = record_id
        self.text = text
        self.flow = flow
        self.data = data

    @cached_property
    def _read(self) -> tuple[Source, list[Finding]]:
        # Lone entries of brackets are read inside brackets.
        return source_from_bytes("", self.whole.encode())

    @property
    def whole(self) -> str:
        """The text as it is read: with brackets round it, if the records stand in some."""
        return "{" + self.text + "}" if self.flow else self.text

    @property
    def source(self) -> Source:
        """The stretch read by itself; its offsets count in `whole`."""
        return self._read[0]

    @property
    def findings(self) -> list[Finding]:
        """What is wrong with the stretch as YAML."""
        return self._read[1]

    @property
    def key(self) -> ScalarNode:
        """The node of the id."""
        root = self.source.root
        assert isinstance(root, MapNode)
        return root.entries[self.id][0]

    @property
    def node(self) -> Node:
        """The node of the record."""
        found = self.source.node((self.id,))
        assert found is not None
        return found

    @cached_property
    def habits(self) -> Habits:
        """How this record is written."""
        return habits_of(self.whole, self.node, indent_at(self.whole, self.key.start))

    @cached_property
    def cut(self) -> int:
        """Offset in `text` behind the record and what belongs to it; then blank lines and so on."""
        if self.flow:
            return len(self.text)
        end = max(self.node.end, self.key.end)
        if self.node.start == self.node.end:
            end = colon_end(self.text, self.key) or end
        indent = indent_at(self.text, self.key.start)
        return block_end(self.text, end, self.node, indent, over_blanks=True)

    def apply(self, step: Step, model: type[Record], style: Style, eol: str) -> Stretch:
        """A new stretch with one step made, proved.

        Raises:
            EditError: the step cannot be made in this text.
        """
        for each in self.findings:
            if each.code == "FC007":  # a repeated key: which of the two is meant?
                raise EditError(f"{each.code} {each.message}; {each.help}")
        wanted = apply_step(self.data, step)
        trouble: EditError | None = None
        for splices in _ways(self, step, model, style, eol):
            whole = apply_splices(self.whole, splices)
            text = whole[1:-1] if self.flow else whole
            new = Stretch(self.id, text, self.flow, None)
            trouble = _unlike(self, new, wanted)
            if trouble is None:
                new.data = new.node.value
                prove_lines_kept(self.whole, whole, self.source, (self.id, *step.path), step.action)
                return new
        raise trouble or EditError("the file cannot be edited here by a program; edit it by hand")


def _unlike(old: Stretch, new: Stretch, wanted: Any) -> EditError | None:
    root, before = new.source.root, old.source.root
    if root is None or len(new.findings) > len(old.findings):
        return EditError(
            f"the text could no longer be read ({new.findings[-1].message}); edit it by hand"
            if new.findings
            else "nothing would be left of the record"
        )
    assert isinstance(before, MapNode)
    if not isinstance(root, MapNode) or list(root.entries) != list(before.entries):
        return EditError("the text would no longer be read as the same records; edit it by hand")
    if not same(wanted, root.entries[new.id][1].value):
        return EditError("the text would be read as something else than meant; edit it by hand")
    others = ((key, node) for key, (_, node) in before.entries.items() if key != new.id)
    if any(not same(node.value, root.entries[key][1].value) for key, node in others):
        return EditError("another record would change; edit it by hand")
    return None


def read_stretch(record_id: str, text: str, flow: bool) -> Stretch:
    """A stretch of new text.

    Raises:
        EditError: the text is not one record.
    """
    new = Stretch(record_id, text, flow, None)
    root = new.source.root
    if not isinstance(root, MapNode) or list(root.entries) != [record_id]:
        raise refusal_of(new.findings[0]) if new.findings else EditError("not one record")
    new.data = new.node.value
    return new


def _ways(
    stretch: Stretch, step: Step, model: type[Record], style: Style, eol: str
) -> Iterator[list[Splice]]:
    text, source = stretch.whole, stretch.source
    path = (stretch.id, *step.path)
    owner, last = source.node(path[:-1]), path[-1]
    assert isinstance(owner, MapNode | ListNode)
    if isinstance(owner, MapNode):
        check_keys(text, owner)
    names = _names(step.path)
    if step.action == "insert":
        key = None if isinstance(owner, ListNode) else str(last)
        if isinstance(owner, MapNode):
            position = place_for(model, step.path[:-1], str(last), list(owner.entries))
        else:
            position = int(last)
        for safe in (False, True):
            yield insert_entry(
                text,
                owner,
                position,
                key=key,
                value=step.value,
                steps=names[:-1],
                style=style,
                eol=eol,
                safe=safe,
            )
    elif step.action == "remove":
        position = list(owner.entries).index(str(last)) if isinstance(owner, MapNode) else int(last)
        yield remove_entry(text, owner, position)
    else:
        yield from _replacing(text, owner, path, step.value, style=style, eol=eol)


def _names(path: tuple[str | int, ...]) -> tuple[str, ...]:
    return tuple("*" if isinstance(each, int) else each for each in path)


def _fill_in(text: str, at: int, new: str) -> Splice:
    """A value in brackets put where there is none, behind its colon."""
    end = behind_spaces(text, at)
    closed = text[end : end + 1] in (",", "}", "]")
    return Splice(at, end if closed else at, " " + new)


def _replacing(
    text: str,
    owner: MapNode | ListNode,
    path: tuple[str | int, ...],
    value: Any,
    *,
    style: Style,
    eol: str,
) -> Iterator[list[Splice]]:
    names, last = _names(path[1:]), path[-1]
    if isinstance(owner, MapNode):
        key, node = owner.entries[str(last)]
        colon = colon_end(text, key)
        begin = key.start
        if colon is None:  # {key} without a colon
            yield [Splice(key.end, key.end, ": " + flow_value(value, names, style))]
            return
    else:
        node = owner.items[int(last)]
        begin = node.start if owner.flow else dash_of(text, owner, int(last))
        colon = begin if owner.flow else begin + 1
    indent = column(text, begin)
    if node.lead < node.start or text[node.lead : node.lead + 1] == "&":
        colon = anchor_end(text, node.lead)  # an anchor stays with what takes the value's place
    scalar = not isinstance(value, dict | list)
    empty = node.start == node.end
    if scalar and isinstance(node, ScalarNode) and not empty:
        yield from scalar_splices(
            text,
            node,
            value,
            flow=owner.flow,
            indent=indent,
            # Only a text has quotes, and only for one are the neighbours read.
            other=style.other_quote(names) if isinstance(value, str) else '"',
            quote=style.quote(names) if isinstance(value, str) else "",
            eol=eol,
        )
    elif owner.flow or (isinstance(node, MapNode | ListNode) and node.flow):
        new = flow_value(value, names, style, flow=owner.flow)
        if empty:
            yield [_fill_in(text, node.start, new)]
        else:
            yield [Splice(node.start, node.end, new)]
    else:
        for safe in (False, True):
            new_value = write_value(value, indent, names, style, safe=safe)
            yield replace_collection(text, colon, node, new_value, eol)
