"""The outer form of a catalogue file: kind, defaults, records."""

from __future__ import annotations

from collections.abc import Generator, Iterator
from dataclasses import dataclass, field
from itertools import islice

from fitcheck.catalogue.nodes import ListNode, MapNode, Node, ScalarNode
from fitcheck.catalogue.problems import Problem, shown
from fitcheck.catalogue.source import Source
from fitcheck.diagnostics.finding import Finding
from fitcheck.diagnostics.suggest import nearest, or_list
from fitcheck.model.kinds import DEFAULTABLE, KINDS

TOP_KEYS = ("kind", "defaults", "records")

LEDGER_KEY = "ledger"
"""What a file of kind shelf may have at its top besides: the end of its ledger."""

MAX_UNKNOWN = 1000


@dataclass(slots=True)
class Shape:
    """What a file says it holds.

    Attributes:
        kind: a key of `KINDS`; None where it is missing or wrong, and then nothing is judged.
        defaults: fields given once for all records, those that may be.
        records: the mapping of records; None where there is none.
        doubtful: fields that defaults were surely meant to give, but for a fault reported there.
        findings: what is wrong with the outer form.
    """

    kind: str | None = None
    defaults: dict[str, object] = field(default_factory=dict)
    records: MapNode | None = None
    doubtful: set[str] = field(default_factory=set)
    findings: list[Finding] = field(default_factory=list)


def shape_of(source: Source) -> Shape:
    """The outer form of a file whose text could be read."""
    shape = Shape()
    for problem in _look(source, shape):
        shape.findings.append(source.finding(problem))
    return shape


def _look(source: Source, shape: Shape) -> Iterator[Problem]:
    root = source.root
    if root is None:
        what = "holds only comments" if source.text.strip() else "is empty"
        advice = "write kind and records into it, or delete it"
        yield Problem("FC014", f"the file {what}", 0, 0, help=advice)
        return
    if not isinstance(root, MapNode):
        what = "a list" if isinstance(root, ListNode) else "one lone value"
        yield Problem(
            "FC016",
            f"the file holds {what}; a catalogue file has the keys kind and records",
            root.start,
            _head_end(source, root),
            help="begin the file with kind: and one of its names, then records:",
        )
        return
    likely = yield from _top_keys(root)
    yield from _kind(root, shape, likely)
    yield from _records(source, root, shape, likely)
    if shape.kind is not None:
        yield from _defaults(source, root, shape)


def _head_end(source: Source, node: Node) -> int:
    """End of a node within its first line, so that a caret stays short."""
    line, column = source.position(node.start)
    return min(node.end, node.start + len(source.line(line)) - column + 1)


def _top_keys(root: MapNode) -> Generator[Problem, None, set[str]]:
    # Returns the keys that a mistyped one was surely meant for: they are not missing as well.
    likely: set[str] = set()
    missing = [name for name in TOP_KEYS if name not in root.entries]
    known = (*TOP_KEYS, LEDGER_KEY) if _is_shelf(root) else TOP_KEYS
    unknown = ((key, node) for key, (node, _) in root.entries.items() if key not in known)
    for key, key_node in islice(unknown, MAX_UNKNOWN):
        near = nearest(key, missing) or nearest(key, TOP_KEYS)
        if near is not None and near in missing:
            likely.add(near)
        yield Problem.at(
            key_node,
            "FC020",
            f"a catalogue file has no key {shown(key)!r} at its top",
            f"did you mean {near}?"
            if near
            else f"the keys there are {or_list(TOP_KEYS)}; records are written below records",
            path=(key,),
            suggestion=near,
        )
    return likely


def _is_shelf(root: MapNode) -> bool:
    kind = root.entries.get("kind")
    return kind is not None and isinstance(kind[1], ScalarNode) and kind[1].text == "shelf"


def _kind(root: MapNode, shape: Shape, likely: set[str]) -> Iterator[Problem]:
    names = or_list(KINDS, len(KINDS))
    if "kind" not in root.entries:
        if "kind" not in likely:
            first = next(iter(root.entries.values()), None)
            place = ScalarNode.empty(root.start) if first is None else first[0]
            message = "the file does not say what kind of record it holds"
            yield Problem.at(place, "FC017", message, f"begin it with kind: {names}")
        return
    key_node, node = root.entries["kind"]
    path = ("kind",)
    if not isinstance(node, ScalarNode):
        message = "kind must be one word, not a mapping or a list"
        start = ScalarNode.empty(node.start)
        yield Problem.at(start, "FC018", message, f"write {names}", path=path)
    elif node.value is None:
        yield Problem.at(key_node, "FC017", "kind is left empty", f"write {names}", path=path)
    elif node.text in KINDS:
        shape.kind = node.text
    else:
        near = nearest(node.text, KINDS)
        yield Problem.at(
            node,
            "FC018",
            f"there is no kind {shown(node.text)!r}",
            f"did you mean {near}?" if near else f"the kinds are {names}",
            path=path,
            suggestion=near,
        )


def _records(source: Source, root: MapNode, shape: Shape, likely: set[str]) -> Iterator[Problem]:
    if "records" not in root.entries:
        if "records" not in likely:
            kind = root.entries.get("kind")
            yield Problem.at(
                ScalarNode.empty(root.start) if kind is None else kind[0],
                "FC021",
                "the file has no records",
                "write records: and below it, indented, each record under its id",
            )
        return
    key_node, node = root.entries["records"]
    if isinstance(node, MapNode) and node.entries:
        shape.records = node
    elif isinstance(node, MapNode) or node.value is None:
        yield Problem.at(
            key_node,
            "FC024",
            "records is empty; nothing is read from this file",
            "write a record under its id, or delete the file",
            path=("records",),
        )
    else:
        what = "a list" if isinstance(node, ListNode) else "one value"
        yield Problem(
            "FC022",
            f"records is {what}; it must be a mapping, each record under its id",
            node.start,
            _head_end(source, node),
            path=("records",),
            help="write the id and a colon in place of the dash, the fields below it",
        )


def _defaults(source: Source, root: MapNode, shape: Shape) -> Iterator[Problem]:
    if "defaults" not in root.entries:
        return
    key_node, node = root.entries["defaults"]
    allowed = DEFAULTABLE.get(shape.kind or "", ())
    if not allowed:
        yield Problem.at(
            key_node,
            "FC023",
            f"a file of kind {shape.kind} has no defaults",
            f"write the fields into each record; defaults are for {or_list(DEFAULTABLE)}",
            path=("defaults",),
        )
        return
    if not isinstance(node, MapNode):
        if node.value is not None:
            shape.doubtful.update(allowed)
            yield Problem(
                "FC023",
                "defaults must hold fields, one below the other",
                node.start,
                _head_end(source, node),
                path=("defaults",),
                help=f"write any of {or_list(allowed)}",
            )
        return
    for name, (field_node, value) in node.entries.items():
        if name in allowed:
            shape.defaults[name] = value.value
            continue
        near = nearest(name, allowed)
        if near is not None:
            shape.doubtful.add(near)
        yield Problem.at(
            field_node,
            "FC023",
            f"{shown(name)} cannot be given under defaults",
            f"did you mean {near}?" if near else f"defaults may hold {or_list(allowed)}",
            path=("defaults", name),
            suggestion=near,
        )
