"""Anchors before values: a name and no more, unless an alias uses it; aliases are never read.

YAML 1.2.2, sections 6.9.2 and 7.1: an anchor need not be used, and is no part of what a file holds.
"""

from __future__ import annotations

import re

_ANCHOR = re.compile(r"&[^\s,\[\]{}]*")
_UP_TO_VALUE = re.compile(r"(?:[ \t]+#[^\r\n]*|[ \t\r\n]+)*")
_TAG_BEFORE = re.compile(r"![^\s,\[\]{}]*\s+\Z")
_FAR = 200
"""A tag before an anchor is looked for so far back."""
_NAME = re.compile(r"[&*]([^\s,\[\]{}]*)")


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
