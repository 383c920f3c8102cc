"""The tree of one YAML file: plain data beside the place of every key, value and list item.

`start` is where a value itself begins, `lead` where an anchor before it does; without one they are
the same. An anchor is a name and no more, unless an alias uses it, and aliases are never read: by
YAML 1.2.2, sections 6.9.2 and 7.1, an anchor need not be used and is no part of what a file holds.
"""

from __future__ import annotations

import re
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

    @classmethod
    def empty(cls, at: int) -> ScalarNode:
        """Nothing, at an offset."""
        return cls(at, at, "", "", value=None)

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


_ANCHOR = re.compile(r"&[^\s,\[\]{}]*")
_UP_TO_VALUE = re.compile(r"(?:[ \t]+#[^\r\n]*|[ \t\r\n]+)*")
_TAG_BEFORE = re.compile(r"![^\s,\[\]{}]*\s+\Z")
_FAR = 200
"""A tag before an anchor is looked for so far back."""
_NAME = re.compile(r"[&*]([^\s,\[\]{}]*)")


def line_start(text: str, at: int) -> int:
    """Offset of the first character of the line that holds `at`."""
    return max(text.rfind("\n", 0, at), text.rfind("\r", 0, at)) + 1


def anchor_end(text: str, at: int) -> int:
    """Offset behind the anchor at an offset; the offset itself where none stands there."""
    found = _ANCHOR.match(text, at)
    return at if found is None else found.end()


def value_start(text: str, at: int) -> int:
    """Offset of the value behind the anchor at an offset, comments and line breaks passed over."""
    found = _UP_TO_VALUE.match(text, anchor_end(text, at))
    assert found is not None  # it matches the empty text, too
    return found.end()


def name_at(text: str, at: int) -> str:
    """Name of the anchor or alias whose sign stands at an offset."""
    found = _NAME.match(text, at)
    return "" if found is None else found[1]


def tag_beside(text: str, at: int) -> int:
    """Offset of a value's tag; a parser names the place of its anchor, or of the tag."""
    if text[at : at + 1] == "!":
        return at
    before = _TAG_BEFORE.search(text, max(at - _FAR, 0), at)
    if before is not None:
        return before.start()
    behind = text.find("!", anchor_end(text, at))
    return at if behind < 0 else behind
