"""Records, fields and items as text: in their model's order and in the style of neighbours."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Literal, NamedTuple, get_args, get_origin

from fitcheck.catalogue.editing.scalar_text import block_text, double_quoted, inline_text
from fitcheck.catalogue.editing.style import Steps, Style
from fitcheck.catalogue.places import expected_at, model_at
from fitcheck.diagnostics.finding import DocumentPath
from fitcheck.model.fields import Record


def _names(model: type[Record], loc: DocumentPath) -> list[str] | None:
    """Keys of the mapping at `loc` in their order; None where any key may stand in any order."""
    owner = model_at(model, loc)
    if owner is not None:
        return list(owner.model_fields)
    expected = expected_at(model, loc)
    if get_origin(expected) is dict and get_origin(get_args(expected)[0]) is Literal:
        return [str(name) for name in get_args(get_args(expected)[0])]
    return None


def place_for(model: type[Record], loc: DocumentPath, key: str, present: Sequence[str]) -> int:
    """Position at which a new key is to stand among those present.

    Args:
        model: the record's model.
        loc: steps to the mapping inside the record.
        key: the new key.
        present: the keys there, in file order.

    Returns:
        0 to `len(present)`: behind the field that comes just before it in the model, if present;
        else before the one that comes just after it; a key of the shop's own at the end.
    """
    names = _names(model, loc)
    if names is None or key not in names:
        return len(present)
    rank = {name: at for at, name in enumerate(names)}
    own = rank[key]
    known = [(rank[name], at) for at, name in enumerate(present) if name in rank]
    before = [each for each in known if each[0] < own]
    if before:
        return max(before)[1] + 1
    behind = [each for each in known if each[0] > own]
    return min(behind)[1] if behind else len(present)


def order_fields(model: type[Record], data: Any, loc: DocumentPath = ()) -> Any:
    """The same data with the keys of every mapping in the order of the model."""
    if isinstance(data, list):
        return [order_fields(model, item, (*loc, at)) for at, item in enumerate(data)]
    if not isinstance(data, dict):
        return data
    names = _names(model, loc) or []
    keys = [name for name in names if name in data]
    keys += [key for key in data if key not in names]
    return {key: order_fields(model, data[key], (*loc, key)) for key in keys}


WIDTH = 100
"""A mapping or list stays on one line up to this column, where the neighbours do not show it."""


class Written(NamedTuple):
    """A value as text.

    Attributes:
        inline: what stands on the line of its key or dash; empty where all of it follows.
        lines: the lines that follow, indent included, without their breaks.
    """

    inline: str
    lines: list[str]


def key_text(key: str, style: Style) -> str:
    """A key as text."""
    return inline_text(key, flow=True, quote=style.key_quote, key=True, other=style.other)


def flow_value(value: Any, steps: Steps, style: Style, *, flow: bool = True) -> str:
    """A value on one line; `flow`: whether it stands inside brackets."""
    if isinstance(value, dict):
        inner = ", ".join(flow_entry(key, item, steps, style) for key, item in value.items())
        return "{ " + inner + " }" if style.padded and inner else "{" + inner + "}"
    if isinstance(value, list):
        items = (flow_value(item, (*steps, "*"), style) for item in value)
        return "[" + ", ".join(items) + "]"
    return inline_text(value, flow=flow, quote=style.quote(steps), other=style.other_quote(steps))


def flow_entry(key: str, value: Any, steps: Steps, style: Style) -> str:
    """A key and its value inside brackets; `steps` lead to the mapping."""
    written = key_text(key, style)
    colon = style.colon
    if not colon.endswith((" ", "\t")) and not written.endswith(('"', "'")):
        colon += " "
    return written + colon + flow_value(value, (*steps, key), style)


def write_entry(
    key: str, value: Any, indent: int, steps: Steps, style: Style, *, safe: bool = False
) -> list[str]:
    """A key and its value as lines.

    Args:
        key: the key.
        value: plain data.
        indent: column of the key.
        steps: steps to the mapping that holds it.
        style: how the neighbours are written.
        safe: write every text of several lines in double quotes.
    """
    head = " " * indent + key_text(key, style) + ":"
    value_text = write_value(value, indent, (*steps, key), style, start=len(head) + 1, safe=safe)
    return [head + " " + value_text.inline if value_text.inline else head, *value_text.lines]


def write_item(
    value: Any, indent: int, steps: Steps, style: Style, *, safe: bool = False
) -> list[str]:
    """An item of a list as lines; `indent` is the column of its dash, `steps` lead to the list."""
    inner = (*steps, "*")
    dash = " " * indent + "-"
    if (
        isinstance(value, dict | list)
        and value
        and not _in_brackets(value, indent + 2, inner, style)
    ):
        column = indent + max(style.indent(inner, is_list=isinstance(value, list)), 2)
        lines = _block(value, column, inner, style, safe)
        return [dash + lines[0][len(dash) :], *lines[1:]]
    text = write_value(value, indent, inner, style, start=indent + 2, safe=safe)
    return [f"{dash} {text.inline}", *text.lines]


def write_value(
    value: Any,
    indent: int,
    steps: Steps,
    style: Style,
    *,
    start: int | None = None,
    safe: bool = False,
) -> Written:
    """A value behind its key or dash.

    Args:
        value: plain data.
        indent: column of the key or dash.
        steps: steps to the value.
        style: how the neighbours are written.
        start: column at which the value would begin. Default: that of the key.
        safe: write every text of several lines in double quotes.
    """
    if isinstance(value, dict | list):
        if not value or _in_brackets(value, start or indent, steps, style):
            return Written(flow_value(value, steps, style, flow=False), [])
        step = style.indent(steps, is_list=isinstance(value, list))
        least = 0 if isinstance(value, list) and steps and steps[-1] != "*" else 1
        return Written("", _block(value, indent + max(step, least), steps, style, safe))
    if isinstance(value, str) and "\n" in value:
        block = None if safe else block_text(value, " " * (indent + style.step), "\n")
        if block is None:
            return Written(double_quoted(value), [])
        return Written(block[0], block[1].split("\n"))
    return Written(flow_value(value, steps, style, flow=False), [])


def _block(
    value: dict[str, Any] | list[Any], column: int, steps: Steps, style: Style, safe: bool
) -> list[str]:
    if isinstance(value, list):
        items = (write_item(item, column, steps, style, safe=safe) for item in value)
        return [line for lines in items for line in lines]
    entries = (
        write_entry(key, item, column, steps, style, safe=safe) for key, item in value.items()
    )
    return [line for lines in entries for line in lines]


def _in_brackets(value: Any, start: int, steps: Steps, style: Style) -> bool:
    usual = style.flow(steps)
    if usual is not None:
        return usual
    items = value.values() if isinstance(value, dict) else value
    deep = any(isinstance(item, dict | list) and item for item in items)
    if deep and not (steps and steps[-1] == "*"):
        return False
    return start + len(flow_value(value, steps, style)) <= WIDTH
