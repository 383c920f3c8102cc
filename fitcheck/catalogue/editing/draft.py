"""A draft of one catalogue file kept by hand: edits that change only what they mean to.

Edits are splices of the text, taken from the places of its nodes; comments, order, quotes, blank
lines and line breaks of the rest stay byte for byte. Each edit reads the record again and is
taken back when it does not hold exactly what was meant; the whole file is read again once, when
its text is asked for or saved.
"""

from __future__ import annotations

import copy
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from fitcheck.catalogue.editing.hunks import unified_diff
from fitcheck.catalogue.editing.layout import Layout, Slot, layout_of, with_top_line
from fitcheck.catalogue.editing.lines import usual_break
from fitcheck.catalogue.editing.new_records import put_record
from fitcheck.catalogue.editing.proof import others_of, prove_records_kept, refusal_of
from fitcheck.catalogue.editing.record_text import order_fields
from fitcheck.catalogue.editing.region import Stretch
from fitcheck.catalogue.editing.style import Style
from fitcheck.catalogue.editing.values import at_path, plain_data, steps_between
from fitcheck.catalogue.faults import faults_of
from fitcheck.catalogue.nodes import MapNode
from fitcheck.catalogue.places import RecordPlace
from fitcheck.catalogue.problems import bad_id_words, shown
from fitcheck.catalogue.shape import LEDGER_KEY, shape_of
from fitcheck.catalogue.source import Source, gc_paused, source_from_bytes
from fitcheck.diagnostics.finding import DocumentPath, Finding, Span, shown_path
from fitcheck.diagnostics.suggest import nearest
from fitcheck.errors import EditError
from fitcheck.model.fields import is_id
from fitcheck.model.kinds import KINDS

_MARK = b"\xef\xbb\xbf"


class Draft:
    """One file being edited; nothing is written before `save`.

    Attributes:
        path: the file.
        shown: its path as shown to people.
        kind: the kind of its records.
        base: the bytes it had when it was read; None for a file that is still to be made.
    """

    def __init__(self, path: Path, data: bytes, base: bytes | None) -> None:
        self.path = path
        self.shown = shown_path(path)
        self.base = base
        source, findings = source_from_bytes(self.shown, data)
        if source.root is None:
            if findings:
                raise refusal_of(findings[0])
            raise EditError(f"{self.shown}: the file is empty; write kind and records into it")
        shape = shape_of(source)
        if shape.kind is None:
            raise refusal_of(shape.findings[0])
        self.kind = shape.kind
        self._model = KINDS[shape.kind]
        self._defaults = shape.defaults
        self._findings = findings + shape.findings
        self._marked = source.marked
        self._eol = usual_break(source.text)
        self._old_text = "" if base is None else source.text
        self._others = others_of(source.root)
        self._layout: Layout = layout_of(source)
        self._folded = {record_id.lower(): record_id for record_id in self._layout.known}
        self._source: Source | None = source
        self._undo: list[Callable[[], None]] | None = None
        self._touched: dict[str, tuple[Slot, Stretch | None]] = {}

    # -- what it holds ---------------------------------------------------------------------------

    @property
    def source(self) -> Source:
        """The file as it stands now, read again as a whole and proved.

        Raises:
            EditError: the whole would not be read as meant.
        """
        if self._source is None:
            with gc_paused():
                self._source = self._prove()
        return self._source

    @property
    def text(self) -> str:
        """The text as it stands now, without a byte order mark; proved as `source` is."""
        return self.source.text

    @property
    def data(self) -> bytes:
        """The bytes to be written; proved as `source` is."""
        return (_MARK if self._marked else b"") + self.text.encode()

    @property
    def changed(self) -> bool:
        """Whether saving would write anything."""
        return self.data != self.base

    @property
    def ids(self) -> tuple[str, ...]:
        """The ids of its records, in file order."""
        return tuple(slot.stretch.id for slot in self._layout)

    def record(self, record_id: str) -> Any:
        """Plain data of a record as it stands now, defaults not filled in.

        Raises:
            EditError: there is no such record.
        """
        return copy.deepcopy(self._slot(record_id).stretch.data)

    def diff(self) -> str:
        """What saving would change, as a unified diff; empty where nothing."""
        return unified_diff(self._old_text, self.text, self.shown, is_new=self.base is None)

    # -- edits -----------------------------------------------------------------------------------

    def set_value(self, path: DocumentPath, value: object) -> None:
        """Put another scalar in the place of one that is there; its style stays if it can.

        Args:
            path: `("records", id, field, ...)`.
            value: text, int, Decimal, bool, date, pair or None.

        Raises:
            EditError: there is no scalar at the path, or the new value is not one.
        """
        record_id, steps = self._split(path, 3)
        slot = self._slot(record_id)
        wanted = copy.deepcopy(slot.stretch.data)
        old = self._at(slot, steps, wanted)
        new = self._plain(value, steps, record_id)
        if isinstance(old, dict | list) or isinstance(new, dict | list):
            raise EditError(
                f"{self._place(record_id)}: {_name(steps)} is a mapping or a list; use set_field"
            )
        at_path(wanted, steps[:-1])[steps[-1]] = new
        self._change(slot, wanted)

    def set_field(self, path: DocumentPath, field: str, value: object) -> None:
        """Give a field a value: in place if it is there, else put in, in the kind's field order.

        A mapping or list that is there is changed only where the new one differs from it.

        Args:
            path: `("records", id)`, or further in to a mapping of the record.
            field: name of the field.
            value: what `plain_data` takes.

        Raises:
            EditError: there is no such mapping, or the record would no longer be valid.
        """
        record_id, steps = self._split(path, 2)
        self.set_fields(record_id, {field: value}, at=steps)

    def set_fields(
        self, record_id: str, fields: Mapping[str, object], *, at: DocumentPath = ()
    ) -> None:
        """Give several fields of one mapping their values at once; see `set_field`."""
        slot = self._slot(record_id)
        wanted = copy.deepcopy(slot.stretch.data)
        if wanted is None and not at:
            wanted = {}
        holder = self._at(slot, at, wanted)
        if holder is None and at:
            holder = at_path(wanted, at[:-1])[at[-1]] = {}
        if not isinstance(holder, dict):
            raise EditError(f"{self._place(record_id)}: {_name(at)} is no mapping")
        for field, value in fields.items():
            new = self._plain({field: value}, at, record_id)
            holder[field] = order_fields(self._model, new[field], (*at, field))
        self._change(slot, wanted)

    def remove_field(self, path: DocumentPath, field: str) -> None:
        """Take a field out, with the comment beside it; comments above it stay.

        Args:
            path: `("records", id)`, or further in to a mapping of the record.
            field: name of the field.

        Raises:
            EditError: it is not there, or the record would no longer be valid.
        """
        record_id, steps = self._split(path, 2)
        slot = self._slot(record_id)
        wanted = copy.deepcopy(slot.stretch.data)
        holder = self._at(slot, steps, wanted)
        if not isinstance(holder, dict) or field not in holder:
            raise self._missing(record_id, (*steps, field))
        del holder[field]
        self._change(slot, wanted)

    def add_record(
        self, record_id: str, fields: Mapping[str, object], after: str | None = None
    ) -> None:
        """Add a record, written as its neighbours are.

        Args:
            record_id: its id.
            fields: its fields, in any order.
            after: id of the record to follow. Default: the last.

        Raises:
            EditError: the id is no id or is there already, or the record is not valid.
        """
        if not is_id(record_id):
            message, advice, _ = bad_id_words(record_id)
            raise EditError(f"{self.shown}: {message}; {advice}")
        other = self._folded.get(record_id.lower())
        if other is not None:
            raise EditError(f"{self._place(other)}: the id {other} is there already")
        anchor = self._layout.last if after is None else self._slot(after)
        data = order_fields(self._model, self._plain(fields, (), record_id))
        near = [slot.stretch for slot in self._layout.near(anchor)]
        with self._group() as undo:
            try:
                slot = put_record(
                    self._layout, anchor, record_id, data, near=near, eol=self._eol, undo=undo
                )
            except EditError as error:
                raise EditError(f"{self.shown}: {record_id}: {error}") from None
            self._folded[record_id.lower()] = record_id
            undo.append(lambda: self._forget(record_id))
            self._touched[record_id] = (slot, None)
            self._source = None

    def set_ledger_end(self, end: Mapping[str, int | str]) -> None:
        """Say at the top of a shelf file where its ledger ends; not in a file in brackets.

        Args:
            end: number and check sum of the ledger's last line.

        Raises:
            EditError: the key is there, but not as it is written here.
        """
        written = ", ".join(
            f"{name}: {value}" if isinstance(value, int) else f'{name}: "{value}"'
            for name, value in end.items()
        )
        there = LEDGER_KEY in self._others
        try:
            head = with_top_line(
                self._layout.head, LEDGER_KEY, f"{{{written}}}", self._eol, there=there
            )
        except EditError as error:
            raise EditError(f"{self.shown}: {error}") from None
        if head is None:
            return
        with self._group() as undo:
            old_head, old_others = self._layout.head, self._others
            undo.append(lambda: setattr(self._layout, "head", old_head))
            undo.append(lambda: setattr(self, "_others", old_others))
            self._layout.head = head
            self._others = {**old_others, LEDGER_KEY: dict(end)}
            self._source = None

    @contextmanager
    def together(self) -> Iterator[None]:
        """Make several edits as one: validated at the end, and all taken back if that fails."""
        with self._group():
            yield

    # -- inside ----------------------------------------------------------------------------------

    def _change(self, slot: Slot, wanted: Any) -> None:
        old = slot.stretch
        steps = list(steps_between(old.data, wanted, ()))
        if not steps:
            return
        with self._group() as undo:
            undo.append(lambda: setattr(slot, "stretch", old))
            self._touched.setdefault(old.id, (slot, old))
            self._source = None
            style = Style(each.stretch.habits for each in self._layout.near(slot))
            for step in steps:
                try:
                    slot.stretch = slot.stretch.apply(step, self._model, style, self._eol)
                except EditError as error:
                    raise EditError(f"{self._place(old.id)}: {error}") from None

    @contextmanager
    def _group(self) -> Iterator[list[Callable[[], None]]]:
        if self._undo is not None:
            yield self._undo
            return
        before = self._source
        self._undo, self._touched = [], {}
        try:
            yield self._undo
            self._refuse_new_faults()
        except BaseException:
            for take_back in reversed(self._undo):
                take_back()
            self._source = before
            raise
        finally:
            self._undo = None

    def _refuse_new_faults(self) -> None:
        """Refuse touched records that have a fault which they did not have.

        A record is read from its own stretch of text alone; a fault is reported at its place in
        the whole file as it stands now.
        """
        for slot, old in self._touched.values():
            faults = self._faults(slot, slot.stretch)
            known = [] if old is None or not faults else self._faults(slot, old)
            had = {(fault.code, fault.field) for fault, _ in known}
            for fault, span in faults:
                if (fault.code, fault.field) not in had:
                    raise refusal_of(fault, span)

    def _faults(self, slot: Slot, stretch: Stretch) -> list[tuple[Finding, Span]]:
        """What the kind's model refuses of a record, and where that stands in the whole file."""
        if not isinstance(stretch.data, dict):
            place = self._place(stretch.id)
            what = "the record is empty; write its fields below its id"
            path = ("records", stretch.id)
            return [(Finding("FC101", what, place, record=stretch.id, field=path), place)]
        try:
            self._model.model_validate({**self._defaults, **stretch.data})
        except ValidationError as error:
            part = Source(self.shown, stretch.whole)
            root = stretch.source.root
            assert isinstance(root, MapNode)
            part.root = MapNode(0, len(part.text), False)
            part.root.entries["records"] = (stretch.key, root)
            found = faults_of(RecordPlace(part, stretch.id, self._model), error)
            return [(each, self._move_span(slot, each.span)) for each in found]
        return []

    def _forget(self, record_id: str) -> None:
        del self._folded[record_id.lower()]

    def _place(self, record_id: str) -> Span:
        """Where a record's id stands in the whole file."""
        slot = self._layout.known[record_id]
        key, part = slot.stretch.key, Source(self.shown, slot.stretch.whole)
        return self._move_span(slot, part.between(key.start, key.end))

    def _move_span(self, slot: Slot, span: Span) -> Span:
        """A span in a slot's text as a span in the whole."""
        lines = self._layout.lines_before(slot)
        return replace(span, line=span.line + lines, end_line=span.end_line + lines)

    def _slot(self, record_id: str) -> Slot:
        found = self._layout.known.get(record_id)
        if found is None:
            near = nearest(record_id, self._layout.known)
            advice = f"did you mean {near}?" if near else "add it, or look for it in another file"
            raise EditError(f"{self.shown}: there is no record {shown(record_id)}; {advice}")
        return found

    def _split(self, path: DocumentPath, least: int) -> tuple[str, DocumentPath]:
        if len(path) < least or path[0] != "records" or not isinstance(path[1], str):
            raise EditError(f"{self.shown}: only records are edited; {path!r} leads to none")
        return path[1], tuple(path[2:])

    def _at(self, slot: Slot, steps: DocumentPath, value: Any) -> Any:
        """The value at some steps inside a record's data."""
        for at, step in enumerate(steps):
            inside = (isinstance(value, dict) and step in value) or (
                isinstance(value, list) and isinstance(step, int) and 0 <= step < len(value)
            )
            if not inside:
                raise self._missing(slot.stretch.id, steps[: at + 1])
            value = value[step]
        return value

    def _missing(self, record_id: str, steps: DocumentPath) -> EditError:
        advice = "set_field puts a new one in"
        if steps[0] in self._defaults:
            advice = "it comes from defaults; set_field gives this record its own"
        return EditError(f"{self._place(record_id)}: {record_id} has no {_name(steps)}; {advice}")

    def _plain(self, value: object, steps: DocumentPath, record_id: str) -> Any:
        name = _name(steps) if steps else record_id
        try:
            return plain_data(value, name)
        except ValueError as error:
            raise EditError(f"{self.shown}: {record_id}: {error}") from None

    def _prove(self) -> Source:
        text = self._layout.text()
        data = (_MARK if self._marked else b"") + text.encode()
        source, findings = source_from_bytes(self.shown, data)
        shape = shape_of(source)
        expected = [(slot.stretch.id, slot.stretch.data) for slot in self._layout]
        prove_records_kept(
            source, findings + shape.findings, self._findings, expected, self._others
        )
        if shape.kind != self.kind or shape.defaults != self._defaults:
            raise EditError(f"{self.shown}: kind or defaults would change; edit the file by hand")
        return source

    def take_written(self, data: bytes) -> None:
        """Take the bytes that were written as the ones the file has."""
        self.base = data
        self._old_text = self.source.text


def _name(steps: DocumentPath) -> str:
    return shown(".".join(str(step) for step in steps)) or "the record"
