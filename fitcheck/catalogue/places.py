"""Where the fields of one record stand in its file, and what its model expects there."""

from __future__ import annotations

import types
from collections.abc import Sequence
from typing import Annotated, Any, Union, get_args, get_origin

from pydantic.fields import FieldInfo

from fitcheck.catalogue.nodes import MapNode, Node
from fitcheck.catalogue.problems import shown
from fitcheck.catalogue.source import Source
from fitcheck.diagnostics.finding import DocumentPath, Finding, Related, Span
from fitcheck.model.fields import Record


def expected_at(model: type[Record], loc: Sequence[str | int]) -> Any:
    """The annotation a value at `loc` under a record of `model` is held to, or None.

    `Annotated` and `| None` are peeled off; a step into a mapping or list leads to its values.
    """
    current: Any = model
    for step in loc:
        current = _step(plain_type(current), step)
        if current is None:
            return None
    return plain_type(current)


def model_at(model: type[Record], loc: Sequence[str | int]) -> type[Record] | None:
    """The model of the mapping at `loc`, or None where another kind of value belongs."""
    found = expected_at(model, loc)
    return found if isinstance(found, type) and issubclass(found, Record) else None


def field_help(model: type[Record], loc: Sequence[str | int]) -> str | None:
    """The description of the field at `loc`, if it is a field and has one."""
    field = _field_at(model, loc)
    return None if field is None else field.description


def field_example(model: type[Record], loc: Sequence[str | int]) -> Any:
    """The first example of the field at `loc`, if it is a field and has one."""
    field = _field_at(model, loc)
    return field.examples[0] if field is not None and field.examples else None


def _field_at(model: type[Record], loc: Sequence[str | int]) -> FieldInfo | None:
    owner = model_at(model, loc[:-1]) if loc else None
    return None if owner is None else owner.model_fields.get(str(loc[-1]))


def _step(current: Any, step: str | int) -> Any:
    if isinstance(current, type) and issubclass(current, Record):
        field = current.model_fields.get(str(step))
        return None if field is None else field.annotation
    arguments = get_args(current)
    origin = get_origin(current)
    if origin is dict and len(arguments) == 2:
        return arguments[1]
    if origin in (list, tuple) and arguments:
        return arguments[0]
    return None


def plain_type(annotation: Any) -> Any:
    """A type without what a model notes of it, and without `| None`."""
    while True:
        origin = get_origin(annotation)
        if origin is Annotated:
            annotation = get_args(annotation)[0]
        elif origin in (Union, types.UnionType):
            rest = [each for each in get_args(annotation) if each is not type(None)]
            if len(rest) != 1:
                return annotation
            annotation = rest[0]
        else:
            return annotation


class RecordPlace:
    """One record in its file, and where each of its fields stands.

    Attributes:
        source: the file.
        id: the record's id.
        model: what it is held to.
    """

    def __init__(self, source: Source, record_id: str, model: type[Record]) -> None:
        self.source = source
        self.id = record_id
        self.model = model

    def path(self, loc: tuple[str | int, ...]) -> DocumentPath:
        """Path in the file of a place in the record; a field from `defaults` leads there."""
        return document_path(self.source, self.id, loc)

    def node(self, loc: tuple[str | int, ...]) -> Node | None:
        """The node of the value at `loc`."""
        return self.source.node(self.path(loc))

    def name(self, loc: tuple[str | int, ...]) -> str:
        """The field's name as a sentence begins with it."""
        if not loc:
            return "the record"
        if isinstance(loc[-1], int):
            owner = next((str(step) for step in reversed(loc) if isinstance(step, str)), "list")
            return f"item {loc[-1] + 1} of {shown(owner)}"
        return shown(loc[-1])

    def finding(
        self,
        code: str,
        message: str,
        loc: tuple[str | int, ...],
        *,
        key: bool = False,
        span: Span | None = None,
        advice: str | None = None,
        suggestion: str | None = None,
        related: tuple[Related, ...] = (),
    ) -> Finding:
        """A finding about the value, or the key, at `loc`."""
        path = self.path(loc)
        return Finding(
            code,
            message,
            self.source.span(path, key) if span is None else span,
            record=self.id if path[0] == "records" else None,
            field=path,
            related=related,
            help=advice,
            suggestion=suggestion,
        )

    def owner_span(self, loc: tuple[str | int, ...]) -> Span:
        """Where to point when something is missing inside the mapping at `loc`."""
        path = self.path(loc)
        node = self.source.node(path)
        if path and isinstance(path[-1], int) and isinstance(node, MapNode):
            for key_node, _ in node.entries.values():
                return self.source.between(key_node.start, key_node.end)
        return self.source.span(path, key=isinstance(path[-1], str))


def document_path(source: Source, record_id: str, steps: tuple[str | int, ...]) -> DocumentPath:
    """Path in the file of a place in a record; what it takes from `defaults` leads there."""
    own: DocumentPath = ("records", record_id)
    if steps:
        record = source.node(own)
        given = isinstance(record, MapNode) and steps[0] in record.entries
        if not given:
            defaults = source.node(("defaults",))
            if isinstance(defaults, MapNode) and steps[0] in defaults.entries:
                return ("defaults", *steps)
    return (*own, *steps)
