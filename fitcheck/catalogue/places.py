"""Where the fields of one record stand in its file."""

from __future__ import annotations

from fitcheck.catalogue.nodes import MapNode, Node
from fitcheck.catalogue.problems import shown
from fitcheck.catalogue.source import Source
from fitcheck.diagnostics.finding import DocumentPath, Finding, Related, Span
from fitcheck.model.fields import Record


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
