"""Files to records: every record validated by itself, every fault gathered with its place."""

from __future__ import annotations

import json
import os
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, fields, replace
from decimal import Decimal
from pathlib import Path
from types import MappingProxyType
from typing import Any, Generic, TypeVar

from pydantic import ValidationError

from fitcheck.catalogue.faults import faults_of
from fitcheck.catalogue.locate import SUFFIXES, Location, catalogue_files, find_catalogue
from fitcheck.catalogue.nodes import ListNode, MapNode, ScalarNode
from fitcheck.catalogue.places import RecordPlace, document_path
from fitcheck.catalogue.problems import bad_id_words, shown
from fitcheck.catalogue.scalars import other_reading
from fitcheck.catalogue.shape import Shape, shape_of
from fitcheck.catalogue.source import Source, gc_paused, read_source, source_from_bytes
from fitcheck.diagnostics.finding import DocumentPath, Finding, Related, Span, shown_path, sort_key
from fitcheck.errors import UnreadableError
from fitcheck.kernel.teeth import TeethError, read_pair
from fitcheck.model.family import Family
from fitcheck.model.fields import Record, is_id
from fitcheck.model.gear_set import GearSet
from fitcheck.model.kinds import KINDS
from fitcheck.model.machine import Machine
from fitcheck.model.trade import ShelfEntry, Supplier, Tune, VariatorKit, VehicleClass
from fitcheck.model.tyre import Tyre

MAX_RECORDS = 500_000

# Nobody corrects a thousand faults from one list; beyond them only the count of records goes on.
MAX_FINDINGS = 1000

Progress = Callable[[int, int, int], None]
"""Called now and then, while reading: files read, files in all, records so far."""

_REPORT_EVERY = 500

_EXACT = "\ue000"
"""Leads an exact number in a text that is still to be cleaned; a private character."""

R_co = TypeVar("R_co", bound=Record, covariant=True)


@dataclass(frozen=True, slots=True, eq=False)
class Entry(Generic[R_co]):
    """One valid record and where it stands.

    Attributes:
        kind: kind of its file, a key of `KINDS`.
        id: its id as written.
        record: the record.
        source: the file.
    """

    kind: str
    id: str
    record: R_co
    source: Source

    def __repr__(self) -> str:
        return f"Entry({self.kind} {self.id} in {self.source.path})"

    def span(self, *steps: str | int, key: bool = False) -> Span:
        """Where a value of the record stands; one that came from `defaults` stands there.

        Args:
            steps: field names, keys and list positions under the record.
            key: point at the key instead of the value. Without steps the record's id.
        """
        if not steps:
            return self.source.span(self.document_path(), key=True)
        return self.source.span(self.document_path(*steps), key)

    def document_path(self, *steps: str | int) -> DocumentPath:
        """Path in the file of a value of the record."""
        return document_path(self.source, self.id, steps)

    def place(self, *steps: str | int) -> str:
        """`file:line:column` of a value of the record."""
        return str(self.span(*steps))


FIELDS: Mapping[str, str] = MappingProxyType(
    {
        "family": "families",
        "gear-set": "gear_sets",
        "machine": "machines",
        "tune": "tunes",
        "vehicle-class": "vehicle_classes",
        "tyre": "tyres",
        "supplier": "suppliers",
        "shelf": "shelf",
        "variator": "variators",
    }
)
"""A kind of record to the field of `Catalogue` that holds its entries."""


@dataclass(frozen=True, slots=True, eq=False)
class Catalogue:
    """All valid records of a catalogue, by id, and what is wrong with the rest.

    Attributes:
        root: the folder, or the one file, that was read.
        is_demo: whether this is the demo that travels with the package.
        findings: faults of reading and of single records (FC0xx, FC1xx), by file and line.
        sources: every file, by its path as shown.
        failed: for each kind the ids of records that were refused, and where they stand; their
            ids count as known, so that a reference to one is no second fault.
        unread: files that gave no records though they may hold some.
        shelf_files: every file of kind shelf, by its path as shown; a ledger may lie beside it.
    """

    root: Path
    is_demo: bool
    families: Mapping[str, Entry[Family]]
    gear_sets: Mapping[str, Entry[GearSet]]
    machines: Mapping[str, Entry[Machine]]
    tunes: Mapping[str, Entry[Tune]]
    vehicle_classes: Mapping[str, Entry[VehicleClass]]
    tyres: Mapping[str, Entry[Tyre]]
    suppliers: Mapping[str, Entry[Supplier]]
    shelf: Mapping[str, Entry[ShelfEntry]]
    variators: Mapping[str, Entry[VariatorKit]]
    findings: tuple[Finding, ...] = ()
    sources: Mapping[str, Source] = field(default_factory=lambda: MappingProxyType({}))
    failed: Mapping[str, Mapping[str, Span]] = field(default_factory=lambda: MappingProxyType({}))
    unread: tuple[str, ...] = ()
    shelf_files: Mapping[str, Path] = field(default_factory=lambda: MappingProxyType({}))

    def __post_init__(self) -> None:
        for name in ("gear_sets", "variators"):
            settled = _in_own_currency(getattr(self, name), self.suppliers)
            if settled is not None:
                object.__setattr__(self, name, settled)

    def __repr__(self) -> str:
        numbers = (
            f"{len(self.families)} families",
            f"{len(self.gear_sets)} gear sets",
            f"{len(self.machines)} machines",
            f"{len(self.findings)} findings",
        )
        return f"Catalogue({self.root}: {', '.join(numbers)})"

    def __reduce__(self) -> tuple[Callable[..., Catalogue], tuple[dict[str, object]]]:
        """Pickle and copy it by its fields, since read-only mappings cannot travel."""
        return _restore, ({each.name: _plain(getattr(self, each.name)) for each in fields(self)},)

    def entries(self, kind: str) -> Mapping[str, Entry[Record]]:
        """The entries of one kind, a key of `KINDS`."""
        found: Mapping[str, Entry[Record]] = getattr(self, FIELDS[kind])
        return found


def _plain(value: object) -> object:
    """A field's value with plain dicts for read-only mappings."""
    if not isinstance(value, Mapping):
        return value
    return {key: _plain(each) for key, each in value.items()}


def _restore(values: dict[str, Any]) -> Catalogue:
    return Catalogue(**{name: _read_only(value) for name, value in values.items()})


def _read_only(value: Any) -> Any:
    if not isinstance(value, dict):
        return value
    return MappingProxyType({key: _read_only(each) for key, each in value.items()})


_Sold = TypeVar("_Sold", GearSet, VariatorKit)


def in_own_currency(entry: Entry[_Sold], suppliers: Mapping[str, Entry[Supplier]]) -> Entry[_Sold]:
    """What a supplier sells, with the supplier's currency where neither it nor its file names one.

    Without such a supplier it is EUR, the default of both records, also where the supplier was
    there before and is gone: nothing on file says then what the price is in.
    """
    record = entry.record
    supplier = suppliers.get(record.supplier)
    if "currency" in record.model_fields_set:
        return entry
    if supplier is None:
        field = type(record).model_fields["currency"]
        code: str = field.get_default(call_default_factory=True)
    else:
        code = supplier.record.currency
    if code == record.currency:
        return entry
    settled = record.model_copy(update={"currency": code})
    settled.model_fields_set.discard("currency")  # nobody wrote it: another supplier changes it
    return replace(entry, record=settled)


def _in_own_currency(
    entries: Mapping[str, Entry[_Sold]], suppliers: Mapping[str, Entry[Supplier]]
) -> Mapping[str, Entry[_Sold]] | None:
    """All of them so; None where all are so already."""
    changed = {
        id_: settled
        for id_, entry in entries.items()
        if (settled := in_own_currency(entry, suppliers)) is not entry
    }
    return MappingProxyType({**entries, **changed}) if changed else None


class _Reading:
    """What has been read so far."""

    def __init__(self, progress: Progress | None = None, files: int = 1) -> None:
        self.progress = progress
        self.files = files
        self.entries: dict[str, dict[str, Entry[Record]]] = {kind: {} for kind in KINDS}
        self.failed: dict[str, dict[str, Span]] = {kind: {} for kind in KINDS}
        self.first: dict[tuple[str, str], tuple[str, Source, ScalarNode]] = {}
        self.findings: list[Finding] = []
        self.sources: dict[str, Source] = {}
        self.unread: list[str] = []
        self.shelf_files: dict[str, Path] = {}
        self.count = 0

    def file(self, path: Path, *, named: bool) -> None:
        self.report_progress()
        self.take(path, *read_source(path, named=named))

    def take(self, path: Path, source: Source, found: list[Finding]) -> None:
        """Take what was read of one file."""
        self.sources[source.path] = source
        if source.root is None and found:
            self.findings.extend(found)
            self.unread.append(source.path)
            return
        shape = shape_of(source)
        found += shape.findings
        if shape.kind == "shelf":
            self.shelf_files[source.path] = path
        if shape.kind is None:
            self.unread.append(source.path)
        elif shape.records is not None:
            with gc_paused():
                found = self._records(source, shape, found)
        advice = _two_readings(source, found)
        self.findings.extend(_at_most(found))
        self.findings.extend(advice)

    def report_progress(self) -> None:
        if self.progress is not None:
            self.progress(len(self.sources), self.files, self.count)

    def _records(self, source: Source, shape: Shape, found: list[Finding]) -> list[Finding]:
        assert shape.kind is not None
        assert shape.records is not None
        model = KINDS[shape.kind]
        # A fault in defaults shows in every record that takes them; once is enough.
        reported: set[tuple[str, Span]] = set()
        at_parse = {finding.span: finding for finding in found}
        for record_id, (key_node, node) in shape.records.entries.items():
            self.count += 1
            if self.count % _REPORT_EVERY == 0:
                self.report_progress()
            if self.count > MAX_RECORDS:
                where = source.between(key_node.start, key_node.end)
                found.append(_too_many(where))
                break
            fresh: list[Finding] = []
            place = RecordPlace(source, record_id, model)
            good_id = isinstance(key_node.value, str) and is_id(record_id)
            if not good_id:
                message, advice, near = bad_id_words(record_id)
                fresh.append(
                    place.finding("FC109", message, (), key=True, advice=advice, suggestion=near)
                )
            elif not self._is_first(source, shape.kind, record_id, key_node, fresh):
                found += fresh
                continue
            record: Record | None = None
            if isinstance(node, MapNode):
                data = {**shape.defaults, **node.value} if shape.defaults else node.value
                try:
                    record = model.model_validate(data)
                except ValidationError as error:
                    if len(found) <= MAX_FINDINGS:
                        fresh += faults_of(place, error)
            else:
                fresh.append(_no_record(place, node))
            # A number too long was named when the text was read; as a text it fails again.
            kept = [
                each
                for each in fresh
                if (each.code, each.span) not in reported
                and not (each.span in at_parse and at_parse[each.span].code == "FC015")
                and not (each.code == "FC103" and each.field[2] in shape.doubtful)
            ]
            reported.update((each.code, each.span) for each in kept)
            found += kept
            if record is not None and good_id:
                entry = Entry(shape.kind, record_id, record, source)
                self.entries[shape.kind][record_id] = entry
            else:
                span = source.between(key_node.start, key_node.end)
                self.failed[shape.kind][record_id] = span
        # A key that is no text and no field or id either is reported once; quotes would not help.
        named = {each.span for each in found if each.code in ("FC102", "FC109")}
        return [each for each in found if not (each.code == "FC012" and each.span in named)]

    def _is_first(
        self, source: Source, kind: str, record_id: str, key_node: ScalarNode, fresh: list[Finding]
    ) -> bool:
        slot = (kind, record_id.lower())
        if slot not in self.first:
            self.first[slot] = (record_id, source, key_node)
            return True
        other, its_source, its_key = self.first[slot]
        span = source.between(key_node.start, key_node.end)
        first = its_source.between(its_key.start, its_key.end)
        fresh.append(repeated_id(record_id, span, other, first))
        return False


def load(path: Path | str | None = None, *, progress: Progress | None = None) -> Catalogue:
    """Read a catalogue.

    Args:
        path: a folder or one file. Default: the catalogue that `find_catalogue` finds.
        progress: called while reading; see `Progress`.

    Returns:
        The catalogue. Bad data never raises; it is in `findings`.

    Raises:
        UnreadableError: the path does not exist, cannot be opened, or is a folder without a
            single YAML file.
        UsageError: the path is empty.
    """
    location = find_catalogue(None if path is None else os.fspath(path))
    return _catalogue(_read(location, progress), location.path, is_demo=location.is_demo)


def catalogue_of(records: Mapping[str, Mapping[str, Record | Mapping[str, Any]]]) -> Catalogue:
    """A catalogue from records in memory, read and checked like files.

    Args:
        records: for each kind (`family`, `gear-set`, `machine` …) its records by id: records of
            fitcheck, or mappings as they would stand in a file.

    Returns:
        The catalogue. Places name a file for each kind, `(gear-set)`, written as JSON with one
        value a line.

    """
    reading = _Reading(files=len(records))
    for kind, given in records.items():
        held = {
            id_: record.model_dump(by_alias=True, exclude_unset=True)
            if isinstance(record, Record)
            else record
            for id_, record in given.items()
        }
        document = {"kind": kind, "records": held}
        text = json.dumps(document, ensure_ascii=False, indent=2, default=_marked)
        text = re.sub(rf'"{_EXACT}([^"]+)"', r"\1", text)
        name = f"({kind})"
        reading.take(Path(name), *source_from_bytes(name, text.encode()))
    return _catalogue(reading, Path("(memory)"), is_demo=False)


def _marked(value: object) -> str:
    """A value that JSON has no type for; an exact number gets a mark, to lose its quotes later."""
    return f"{_EXACT}{value}" if isinstance(value, Decimal) else str(value)


def _catalogue(reading: _Reading, root: Path, *, is_demo: bool) -> Catalogue:
    entries: dict[str, Any] = {
        FIELDS[kind]: MappingProxyType(found) for kind, found in reading.entries.items()
    }
    return Catalogue(
        root=root,
        is_demo=is_demo,
        **entries,
        findings=tuple(sorted(reading.findings, key=sort_key)),
        sources=MappingProxyType(reading.sources),
        failed=_read_only(reading.failed),
        unread=tuple(reading.unread),
        shelf_files=MappingProxyType(reading.shelf_files),
    )


def read_records(path: Path | str) -> tuple[tuple[Entry[Record], ...], tuple[Finding, ...]]:
    """Read one file by itself, such as a customer's machine.

    Returns:
        Its valid records in file order, and what is wrong with the rest.

    Raises:
        UnreadableError: the file is missing or cannot be opened.
    """
    reading = _Reading()
    reading.file(Path(path), named=True)
    entries = tuple(entry for kind in reading.entries.values() for entry in kind.values())
    return entries, tuple(sorted(reading.findings, key=sort_key))


def _read(location: Location, progress: Progress | None) -> _Reading:
    reading = _Reading(progress)
    if not location.path.is_dir():
        reading.file(location.path, named=True)
        return reading
    files, reading.findings = catalogue_files(location.path)
    if not files:
        if reading.findings:
            raise UnreadableError(f"{reading.findings[0].span.path}: {reading.findings[0].message}")
        raise UnreadableError(
            f"{shown_path(location.path)}: no catalogue files here ({' or '.join(SUFFIXES)}, names "
            "that begin with . or _ left out); name the folder that holds them"
        )
    reading.files = len(files)
    for path in files:
        reading.file(path, named=False)
        if reading.count > MAX_RECORDS:
            break
    return reading


def _at_most(found: list[Finding]) -> list[Finding]:
    if len(found) <= MAX_FINDINGS:
        return found
    shortened = sorted(found, key=sort_key)[: MAX_FINDINGS + 1]
    shortened[-1] = Finding(
        "FC002",
        f"the file has more than {MAX_FINDINGS:,} faults; from here on they are not listed",
        shortened[-1].span,
        help="correct those above first; perhaps one of them is the cause of many",
    )
    return shortened


def _too_many(span: Span) -> Finding:
    return Finding(
        "FC002",
        f"the catalogue holds more than {MAX_RECORDS:,} records; the rest is not read",
        span,
        help="split the catalogue into folders and name the one you need",
    )


def repeated_id(record_id: str, span: Span, other: str, first: Span) -> Finding:
    """The finding that an id is given again.

    Args:
        record_id: the id as it stands there, at `span`.
        span: its place.
        other: the id as it was given first, at `first`; it may differ in capitals.
        first: the place of that one.
    """
    spelt = "" if other == record_id else f" (there {other}; capitals do not count)"
    return Finding(
        "FC110",
        f"the id {record_id} is given a second time{spelt}; only the first is read",
        span,
        record=record_id,
        field=("records", record_id),
        related=(Related(first, "first given here"),),
        help="give this one another id, or take one of the two out",
    )


def _no_record(place: RecordPlace, node: ListNode | ScalarNode) -> Finding:
    empty = node.value is None
    what = "a list" if isinstance(node, ListNode) else f"the value {shown(node.text)!r}"
    return place.finding(
        "FC101",
        f"the record {shown(place.id)} is empty" if empty else f"the record is {what}",
        (),
        key=empty,
        advice="write its fields below its id, indented, each with a colon",
    )


def _two_readings(source: Source, found: Iterable[Finding]) -> list[Finding]:
    taken = {finding.span for finding in found}
    findings: list[Finding] = []
    for path, node in source.two_readings:
        if len(findings) >= MAX_FINDINGS:
            break
        span = source.between(node.start, node.end)
        other = other_reading(node.text)
        if span in taken or other is None:
            continue
        write = _one_reading(node)
        findings.append(
            Finding(
                "FC114",
                f"older readers take {shown(node.text)} without quotes for {other}",
                span,
                record=str(path[1]) if len(path) > 1 and path[0] == "records" else None,
                field=path,
                help=f"write {write}",
                suggestion=write,
            )
        )
    return findings


def _one_reading(node: ScalarNode) -> str:
    if isinstance(node.value, int):
        return str(node.value)
    try:
        return str(read_pair(node.text))
    except TeethError:
        return f'"{node.text}"'
