"""What an edited record must not have: a fault it did not have before."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from pydantic import ValidationError

from fitcheck.catalogue.editing.layout import Layout, Slot
from fitcheck.catalogue.editing.proof import from_finding
from fitcheck.catalogue.editing.region import Stretch
from fitcheck.catalogue.faults import faults_of
from fitcheck.catalogue.nodes import MapNode
from fitcheck.catalogue.places import RecordPlace
from fitcheck.catalogue.source import Source
from fitcheck.diagnostics.finding import Finding, Span
from fitcheck.model.fields import Record


class RecordJudge:
    """Holds single records of a file that is edited to the model of their kind.

    A record is read from its own stretch of text alone; what is found is told at its place in the
    whole file as it stands now.
    """

    def __init__(
        self, shown: str, model: type[Record], defaults: Mapping[str, Any], layout: Layout
    ) -> None:
        """Judge by these.

        Args:
            shown: the file as shown to people.
            model: of the file's kind.
            defaults: fields the file gives for all its records.
            layout: the file's records in order; followed as it changes.
        """
        self._shown = shown
        self._model = model
        self._defaults = defaults
        self._layout = layout

    def refuse_new(self, touched: Iterable[tuple[Slot, Stretch | None]]) -> None:
        """Refuse records that have a fault which they did not have.

        Args:
            touched: each record as it stands, and as it was; None for one that was not there.

        Raises:
            EditError: there is one; it tells the first fault, and where.
        """
        for slot, old in touched:
            faults = self._faults(slot, slot.stretch)
            if not faults:
                continue
            known = [] if old is None else self._faults(slot, old)
            had = {(fault.code, fault.field) for fault, _ in known}
            for fault, span in faults:
                if (fault.code, fault.field) not in had:
                    raise from_finding(fault, span)

    def place_of(self, slot: Slot) -> Span:
        """Where a record's id stands in the whole file."""
        stretch = slot.stretch
        key = stretch.key
        part = Source(self._shown, stretch.whole)
        return self._move_span(slot, part.between(key.start, key.end))

    def _faults(self, slot: Slot, stretch: Stretch) -> list[tuple[Finding, Span]]:
        """What the kind's model refuses of a record, and where that stands in the whole file."""
        if not isinstance(stretch.data, dict):
            place = self.place_of(slot)
            what = "the record is empty; write its fields below its id"
            return [(Finding("FC101", what, place, stretch.id, ("records", stretch.id)), place)]
        try:
            self._model.model_validate({**self._defaults, **stretch.data})
        except ValidationError as error:
            part = Source(self._shown, stretch.whole)
            root = stretch.source.root
            assert isinstance(root, MapNode)
            part.root = MapNode(0, len(part.text), False)
            part.root.entries["records"] = (stretch.key, root)
            found = faults_of(RecordPlace(part, stretch.id, self._model), error)
            return [(each, self._move_span(slot, each.span)) for each in found]
        return []

    def _move_span(self, slot: Slot, span: Span) -> Span:
        """A span in a slot's text as a span in the whole."""
        lines = self._layout.lines_before(slot)
        return Span(
            self._shown, span.line + lines, span.column, span.end_line + lines, span.end_column
        )
