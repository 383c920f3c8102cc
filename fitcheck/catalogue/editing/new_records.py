"""A new record put among its neighbours: brackets, indent and blank lines as they have them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from typing import Any

from fitcheck.catalogue.editing.layout import Layout, Slot, put_in_brackets
from fitcheck.catalogue.editing.lines import column, indent_at, lines_of, own_break, starts_line
from fitcheck.catalogue.editing.record_text import flow_entry, flow_value, key_text, write_entry
from fitcheck.catalogue.editing.region import Stretch, read_stretch
from fitcheck.catalogue.editing.style import Style
from fitcheck.catalogue.editing.values import same
from fitcheck.catalogue.nodes import MapNode
from fitcheck.errors import EditError


def put_record(
    layout: Layout,
    anchor: Slot | None,
    record_id: str,
    data: dict[str, Any],
    *,
    near: list[Stretch],
    eol: str,
    undo: list[Callable[[], None]],
) -> Slot:
    """Put a record behind another.

    Args:
        layout: the file.
        anchor: the record it is to follow; None where there are no records.
        record_id: its id.
        data: plain data, in order.
        near: the records whose style it takes, the nearest first.
        eol: the file's line break.
        undo: gets what takes it back, last first.

    Raises:
        EditError: it would not be read back as it is.
    """
    style = Style(each.habits for each in near)
    if layout.flow:
        text = flow_entry(record_id, data, (), style)
        new = _read(record_id, text, True, data)
        assert new is not None
        _keep(layout, anchor, undo)
        slot = put_in_brackets(layout, anchor, new, eol)
        undo.append(lambda: layout.unlink(slot))
        return slot
    example = near[0] if near else None
    indent = layout.indent if example is None else indent_at(example.text, example.key.start)
    last_line_open = anchor is not None and _is_open(anchor.stretch)
    for safe in (False, True):
        lines = _lines(record_id, data, indent, example=example, style=style, safe=safe)
        text = eol.join(lines) + eol
        if last_line_open and _read(record_id, eol.join(lines), False, data) is None:
            continue  # a block of lines would lose the break at its end
        new = _read(record_id, text, False, data)
        if new is not None:
            break
    else:
        raise EditError("the record would be read as something else than meant")
    _keep(layout, anchor, undo)
    slot = _put_in_lines(layout, anchor, new, near, eol)
    undo.append(lambda: layout.unlink(slot))
    return slot


def _keep(layout: Layout, anchor: Slot | None, undo: list[Callable[[], None]]) -> None:
    stretch = None if anchor is None else anchor.stretch
    behind = None if anchor is None else anchor.behind
    lead = None if behind is None else behind.lead
    head, tail = layout.head, layout.tail

    def restore() -> None:
        layout.head, layout.tail = head, tail
        if anchor is not None and stretch is not None:
            anchor.stretch = stretch
        if behind is not None and lead is not None:
            behind.lead = lead

    undo.append(restore)


def _lines(
    record_id: str,
    data: dict[str, Any],
    indent: int,
    *,
    example: Stretch | None,
    style: Style,
    safe: bool,
) -> list[str]:
    node = None if example is None else example.node
    head = " " * indent + key_text(record_id, style) + ":"
    if example is None or not isinstance(node, MapNode) or not node.flow:
        lines = _block_lines(data, indent, style, safe)
        return [head, *lines] if data else [f"{head} {{}}"]
    if not data or not _spread(example.text, node):
        return [f"{head} {flow_value(data, (), style, flow=False)}"]
    # The neighbour has each field on a line of its own, inside brackets.
    first = next(iter(node.entries.values()))[0]
    inner = " " * column(example.text, first.start)
    entries = [inner + flow_entry(key, item, (), style) for key, item in data.items()]
    lines = [f"{head} {{", *(line + "," for line in entries[:-1]), entries[-1]]
    close = node.end - 1
    if starts_line(example.text, close):
        return [*lines, " " * column(example.text, close) + "}"]
    lines[-1] += "}"
    return lines


def _block_lines(data: dict[str, Any], indent: int, style: Style, safe: bool) -> list[str]:
    inner = indent + max(style.indent((), is_list=False), 1)
    lines = (write_entry(key, item, inner, (), style, safe=safe) for key, item in data.items())
    return [line for each in lines for line in each]


def _spread(text: str, node: MapNode) -> bool:
    starts = [key.start for key, _ in node.entries.values()]
    return bool(starts) and all(starts_line(text, at) for at in starts)


def _read(record_id: str, text: str, flow: bool, data: dict[str, Any]) -> Stretch | None:
    try:
        new = read_stretch(record_id, text, flow)
    except EditError:
        if flow:
            raise
        return None
    return new if same(data, new.data) else None


def _is_open(stretch: Stretch) -> bool:
    """Whether a record's last line has no break, as at the end of some files."""
    return stretch.text[: stretch.cut][-1] not in "\r\n"


def _put_in_lines(
    layout: Layout, anchor: Slot | None, new: Stretch, near: list[Stretch], eol: str
) -> Slot:
    slot = Slot(new)
    if anchor is None:
        if layout.head and layout.head[-1] not in "\r\n":
            layout.head += eol
        layout.link(slot, None)
        return slot
    old = anchor.stretch
    kept, gap = old.text[: old.cut], old.text[old.cut :]
    near_break = own_break(kept, old.key.end, eol)
    body = near_break.join(line.rstrip("\r\n") for line in lines_of(new.text))
    blank = _blank_lines(layout, near) * near_break
    if _is_open(old):
        kept += near_break  # the file's last line keeps having no break
        if not same(old.data, read_stretch(old.id, kept, False).data):
            raise EditError(
                f"the text that ends {old.id} has no line break behind it, and would get one; end "
                "the file with a line break first"
            )
    else:
        body += near_break
    # Blank lines go with the record before, as where a file is read.
    anchor.stretch = Stretch(old.id, kept + blank, False, old.data)
    slot.stretch = Stretch(new.id, body + gap, False, new.data)
    layout.link(slot, anchor)
    return slot


def _blank_lines(layout: Layout, near: list[Stretch]) -> int:
    counts: Counter[int] = Counter()
    for each in near:
        gap = each.text[each.cut :]
        slot = layout.known.get(each.id)
        if slot is not None and slot.behind is not None and not gap.strip():
            counts[len(lines_of(gap))] += 1
    if counts:
        return counts.most_common(1)[0][0]
    lines = lines_of(layout.head)
    node = near[0].node if near else None
    in_lines = isinstance(node, MapNode) and not node.flow
    return 1 if lines and not lines[-1].strip() and in_lines else 0
