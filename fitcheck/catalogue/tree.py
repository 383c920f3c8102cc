"""Events to a tree of nodes, with everything refused that a catalogue does not need."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import Any

from ruamel.yaml.events import (
    AliasEvent,
    DocumentStartEvent,
    MappingEndEvent,
    MappingStartEvent,
    ScalarEvent,
    SequenceEndEvent,
    SequenceStartEvent,
)

from fitcheck.catalogue.nodes import (
    ListNode,
    MapNode,
    Node,
    ScalarNode,
    anchor_end,
    name_at,
    tag_beside,
    value_start,
)
from fitcheck.catalogue.problems import Problem, StopReadingError, shown
from fitcheck.catalogue.scalars import Meaning, meaning_of
from fitcheck.catalogue.text import yaml_faults
from fitcheck.diagnostics.finding import DocumentPath

MAX_DEPTH = 40
MAX_NODES = 1_000_000

_COLON = re.compile(r"[ \t]*:")
_WORD = re.compile(r"[^\s,\[\]{}]+")
HIDDEN = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\u2028\u2029\ud800-\udfff\ufeff\ufffe\uffff]")


@dataclass(slots=True)
class Tree:
    """What one text holds.

    Attributes:
        root: the document's node; None for an empty document.
        problems: faults that did not stop the reading.
        two_readings: plain scalars that older readers take for something else, with their paths.
    """

    root: Node | None = None
    problems: list[Problem] = field(default_factory=list)
    two_readings: list[tuple[DocumentPath, ScalarNode]] = field(default_factory=list)


class _Frame:
    """An open mapping or list; `key` and `key_node` wait for their value.

    `entries` is None for a list, `items` for a mapping; `last` is the value added last, that of a
    repeated key included.
    """

    __slots__ = ("attach", "entries", "items", "key", "key_node", "last", "node", "value")

    def __init__(self, node: MapNode | ListNode) -> None:
        self.node = node
        self.value: Any = node.value
        self.entries = node.entries if isinstance(node, MapNode) else None
        self.items = node.items if isinstance(node, ListNode) else None
        self.key: str | None = None
        self.key_node: ScalarNode | None = None
        self.attach = True
        self.last: Node | None = None

    @property
    def expects_key(self) -> bool:
        return self.key is None and self.entries is not None


class _Builder:
    def __init__(self, text: str, respaced: bool) -> None:
        self.text = text
        self.respaced = respaced
        self.tree = Tree()
        self.stack: list[_Frame] = []
        self.frame: _Frame | None = None
        self.meanings: dict[str, Meaning] = {}
        self.count = 0

    def run(self, events: Iterable[Any]) -> Tree:
        documents = 0
        for event in events:
            what = type(event)
            if what is ScalarEvent:
                self._scalar(event)
            elif what is MappingStartEvent or what is SequenceStartEvent:
                self._open(event, what is MappingStartEvent)
            elif what is MappingEndEvent or what is SequenceEndEvent:
                self._close(event)
            elif what is DocumentStartEvent:
                documents += 1
                self._document(event, documents)
            elif what is AliasEvent:
                self._refuse_alias(event)
        return self.tree

    # -- events ------------------------------------------------------------------------------

    def _scalar(self, event: Any) -> None:
        lead: int = event.start_mark.index
        end: int = event.end_mark.index
        text: str = event.value
        style: str = event.style
        frame = self.frame
        is_key = frame is not None and frame.key is None and frame.entries is not None
        start = lead
        if event.anchor is not None or event.tag is not None:
            start = self._behind_anchor(event, is_key=is_key, is_empty=not (text or style))
        if style:
            if style in "|>":
                end = start + len(self.text[start:end].rstrip())
            elif style == '"' and (found := HIDDEN.search(text)) is not None:
                self._stop(
                    "FC004",
                    f"the text holds the hidden character U+{ord(found.group()):04X}",
                    start,
                    end,
                    "take the escape out of the quotes",
                )
            node = ScalarNode(start, end, text, style, value=text)
        else:
            meaning = self.meanings.get(text)
            if meaning is None:
                meaning = self.meanings[text] = meaning_of(text)
            value, too_long, two_readings = meaning
            if self.respaced or end - start != len(text) or "\t" in text:
                self._check_plain(start, end)
            node = ScalarNode(start, end, text, "", value=value)
            if not text and start == lead:
                node.start = node.end = self._place_of_nothing(start, frame, is_key)
                lead = node.start
            elif not text:
                node.end = start
            elif (too_long or two_readings) and not is_key:
                self._note(node, meaning)
        node.lead = lead
        if is_key:
            assert frame is not None
            self._key(frame, node)
        else:
            self._add(node)

    def _check_plain(self, start: int, end: int) -> None:
        # The parsers differ over tabs inside a text without quotes, and nobody sees them.
        tab = self.text.find("\t", start, end)
        if tab >= 0:
            self._stop(
                "FC004",
                "a tab stands inside a text without quotes",
                tab,
                tab + 1,
                "put a space in its place, or quotes round the text",
            )

    def _open(self, event: Any, is_map: bool) -> None:
        lead, end = event.start_mark.index, event.end_mark.index
        start = lead
        if event.anchor is not None or event.tag is not None:
            start = self._behind_anchor(event)
        if self.frame is not None and self.frame.expects_key:
            self._stop(
                "FC011",
                f"a {'mapping' if is_map else 'list'} stands where a key belongs",
                start,
                max(end, start + 1),
                "write a plain word as the key; a list in brackets before a colon is no key",
            )
        if len(self.stack) >= MAX_DEPTH:
            self._stop(
                "FC002",
                f"the values are nested more than {MAX_DEPTH} deep",
                start,
                max(end, start + 1),
                "a catalogue needs a handful of levels; look for brackets never closed",
            )
        flow = bool(event.flow_style)
        node: MapNode | ListNode = (
            MapNode(start, end, flow) if is_map else ListNode(start, end, flow)
        )
        node.lead = lead
        self._add(node)
        self.frame = _Frame(node)
        self.stack.append(self.frame)

    def _close(self, event: Any) -> None:
        frame = self.stack.pop()
        node = frame.node
        self.frame = self.stack[-1] if self.stack else None
        if self.frame is not None:
            self.frame.key = None
        if node.flow:
            node.end = event.end_mark.index
        elif type(node) is MapNode:
            if frame.last is not None and frame.key_node is not None:
                node.end = max(frame.last.end, frame.key_node.end)
        elif type(node) is ListNode and node.items:
            node.end = max(node.items[-1].end, node.start + 1)

    def _document(self, event: Any, count: int) -> None:
        start, end = event.start_mark.index, event.end_mark.index
        if count > 1:
            self._stop(
                "FC013",
                "a second document begins here; a catalogue file holds one",
                start,
                start + (3 if self.text.startswith("---", start) else 1),
                "put the second document into a file of its own, or take the --- or ... line out",
            )
        if event.version is not None and tuple(event.version) != (1, 2):
            start = max(self.text.find("%YAML", 0, end), 0)
            major, minor = event.version
            self._stop(
                "FC019",
                f"the file asks to be read as YAML {major}.{minor}; catalogues are YAML 1.2",
                start,
                start + len("%YAML"),
                "take the %YAML line out",
            )

    # -- building ----------------------------------------------------------------------------

    def _key(self, frame: _Frame, node: ScalarNode) -> None:
        if not node.style and node.text == "<<":
            self._stop(
                "FC010",
                "merge keys (<<) are not read in a catalogue",
                node.start,
                node.end,
                "write the fields out, or give them once under defaults",
            )
        frame.key = node.text
        frame.key_node = node
        frame.attach = True
        first, _ = (frame.entries or {}).get(node.text, (None, None))
        if first is not None:
            frame.attach = False
            self._report(
                "FC007",
                f"the key {shown(node.text)} stands here a second time; only the first is read",
                node.start,
                node.end,
                "keep one of the two",
                path=self._path(),
                related=((first.start, first.end, "first given here"),),
            )
        elif not node.text and not node.style:
            asked = self.text.rfind("?", 0, node.start)
            # Inside brackets the parser places the missing key behind what ends it.
            if asked >= 0 and not self.text[asked + 1 : node.start].strip(" \r\n,]}"):
                self._stop(
                    "FC012",
                    "a question mark by itself begins a key, and no key comes after it",
                    asked,
                    asked + 1,
                    'put quotes round it: "?"',
                )
            self._stop(
                "FC012",
                "no key stands before this colon",
                node.start,
                node.start + 1,
                "write the key; a text that begins with a colon goes in quotes",
            )
        elif not isinstance(node.value, str):
            self._report(
                "FC012",
                f"the key {shown(node.text)} is no text",
                node.start,
                node.end,
                f'put quotes round it: "{shown(node.text)}"',
                path=self._path(),
                suggestion=f'"{node.text}"',
            )

    def _add(self, node: Node) -> None:
        self.count += 1
        if self.count > MAX_NODES:
            self._stop(
                "FC002",
                f"the file holds more than {MAX_NODES:,} values",
                node.start,
                node.end,
                "split it into several files",
            )
        frame = self.frame
        if frame is None:
            empty = type(node) is ScalarNode and node.plain and not node.text
            self.tree.root = None if empty else node
        elif frame.items is not None:
            frame.items.append(node)
            frame.value.append(node.value)
        else:
            key, key_node = frame.key, frame.key_node
            assert key is not None
            assert key_node is not None
            assert frame.entries is not None
            frame.last = node
            if frame.attach:
                frame.entries[key] = (key_node, node)
                frame.value[key] = node.value
            # An open mapping or list keeps its key, for the path, until it is closed.
            if type(node) is ScalarNode:
                frame.key = None

    def _place_of_nothing(self, start: int, frame: _Frame | None, is_key: bool) -> int:
        # The two parsers put an empty value in different places; the colon settles it.
        if frame is None or is_key or frame.key_node is None:
            return start
        after = frame.key_node.end
        colon = _COLON.match(self.text, after)
        return after if colon is None else colon.end()

    # -- faults ------------------------------------------------------------------------------

    def _path(self) -> DocumentPath:
        steps: list[str | int] = []
        for frame in self.stack:
            if frame.items is not None:
                steps.append(max(len(frame.items) - 1, 0))
            elif frame.key is not None:
                steps.append(frame.key)
        return tuple(steps)

    def _value_path(self) -> DocumentPath:
        """Path of a value about to be added."""
        path = self._path()
        if self.frame is not None and self.frame.items is not None:
            return (*path[:-1], len(self.frame.items))
        return path

    def _note(self, node: ScalarNode, meaning: Meaning) -> None:
        path = self._value_path()
        if meaning.two_readings:
            self.tree.two_readings.append((path, node))
            return
        self._report(
            "FC015",
            f"a number beyond what is read: {shown(node.text)}",
            node.start,
            node.end,
            "if it is a code, put quotes round it; if it is a measure, check the digits",
            path=path,
        )

    def _report(
        self,
        code: str,
        message: str,
        start: int,
        end: int,
        advice: str,
        *,
        path: DocumentPath = (),
        related: tuple[tuple[int, int, str], ...] = (),
        suggestion: str | None = None,
    ) -> None:
        self.tree.problems.append(
            Problem(
                code,
                message,
                start,
                end,
                path=path,
                help=advice,
                related=related,
                suggestion=suggestion,
            )
        )

    def _stop(self, code: str, message: str, start: int, end: int, advice: str) -> None:
        # Forty levels of path would say nothing that the place does not.
        raise StopReadingError(
            Problem(code, message, start, end, path=self._path()[:4], help=advice)
        )

    def _refuse_alias(self, event: Any) -> None:
        start = event.start_mark.index
        name = name_at(self.text, start)
        self._stop(
            "FC009",
            f"the alias *{shown(name)} stands for another value; aliases are not read",
            start,
            start + 1 + len(name),
            "write the value out; a text that begins with * goes in quotes",
        )

    def _behind_anchor(self, event: Any, *, is_key: bool = False, is_empty: bool = False) -> int:
        """Where the value behind an anchor begins; tags, and anchors of keys, are refused."""
        start: int = event.start_mark.index
        end = anchor_end(self.text, start)
        if event.tag is not None:
            self._refuse_tag(tag_beside(self.text, start))
        if is_key:
            self._stop(
                "FC009",
                f"the anchor &{shown(name_at(self.text, start))} names a key; keys have none",
                start,
                end,
                "take the anchor out",
            )
        return end if is_empty else value_start(self.text, start)

    def _refuse_tag(self, start: int) -> None:
        word = _WORD.match(self.text, start)
        end = start + 1 if word is None else word.end()
        self._stop(
            "FC008",
            f"the tag {shown(self.text[start:end])} is not read in a catalogue",
            start,
            end,
            "take the tag out; a text goes in quotes",
        )


def build_tree(text: str, events: Iterator[Any], *, respaced: bool = False) -> Tree:
    """Build the tree of one text.

    Args:
        text: the text the events were read from; offsets in the events count in it.
        events: its parser events.
        respaced: whether the parser saw spaces in place of some tabs of the text.

    Returns:
        The tree and the faults that did not stop it.

    Raises:
        StopReadingError: a fault after which the rest is not read.
        NotYamlError: the text is not YAML.
    """
    with yaml_faults():
        return _Builder(text, respaced).run(events)
