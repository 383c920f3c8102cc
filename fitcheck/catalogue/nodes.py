"""The tree of one YAML file: plain data beside the place of every key, value and list item.

`start` is where a value itself begins, `lead` where an anchor before it does; without one they are
the same.
"""

from __future__ import annotations

from typing import Any


class ScalarNode:
    """One text, number, truth value or nothing.

    Attributes:
        start: offset in code points of its first character, quotes included.
        lead: offset of the anchor before it; `start` without one.
        end: offset just past its last character.
        text: the text as YAML understands it; for a plain scalar the raw text.
        style: empty for a plain scalar, else the character that opens it: `'`, `"`, `|` or `>`.
        value: str, int, Decimal, bool or None by the YAML 1.2 core schema.
    """

    __slots__ = ("end", "lead", "start", "style", "text", "value")

    def __init__(self, start: int, end: int, text: str, style: str, value: Any) -> None:
        self.start = self.lead = start
        self.end = end
        self.text = text
        self.style = style
        self.value = value

    @property
    def plain(self) -> bool:
        """Whether the scalar stands without quotes."""
        return not self.style


class ListNode:
    """A list; `value` holds the plain data of `items`."""

    __slots__ = ("end", "flow", "items", "lead", "start", "value")

    def __init__(self, start: int, end: int, flow: bool) -> None:
        self.start = self.lead = start
        self.end = end
        self.flow = flow
        self.items: list[Node] = []
        self.value: list[Any] = []


class MapNode:
    """A mapping; `entries` gives each key's own node and the value's, in file order.

    `value` holds the plain data. Keys are always text; of a repeated key the first counts.
    """

    __slots__ = ("end", "entries", "flow", "lead", "start", "value")

    def __init__(self, start: int, end: int, flow: bool) -> None:
        self.start = self.lead = start
        self.end = end
        self.flow = flow
        self.entries: dict[str, tuple[ScalarNode, Node]] = {}
        self.value: dict[str, Any] = {}


Node = ScalarNode | ListNode | MapNode
