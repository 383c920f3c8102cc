"""Suppliers' lists opened for a search: read as by `import`, laid over the catalogue in memory."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from types import MappingProxyType
from typing import Any, Literal

from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.catalogue.source import Source, gc_paused
from fitcheck.diagnostics.finding import DocumentPath, Span
from fitcheck.errors import UsageError
from fitcheck.model.gear_set import GearSet
from fitcheck.model.trade import Supplier
from fitcheck.services.counter.lookup import find_supplier
from fitcheck.services.counter.request import Request
from fitcheck.services.price_lists.outcomes import Plan, RowOutcome
from fitcheck.services.price_lists.plan import plan_list
from fitcheck.services.price_lists.questions import clean_text
from fitcheck.services.price_lists.reading import SupplierList, read_list
from fitcheck.services.price_lists.suppliers import (
    find_candidates,
    id_of_name,
    is_sure,
    usual_currency,
)
from fitcheck.services.upkeep.drafts import defaults_of, find_target_entry

Beside = Literal["list", "shelf", "catalogue"]
"""What articles of a list may be combined with, besides each other: nothing, what lies on the
shelf, or all sets there are."""

CERTAIN = ("new", "changed", "unchanged")
"""Outcomes of rows whose entry is certain."""


@dataclass(frozen=True)
class OpenList:
    """One list as a search reads it.

    Attributes:
        read: the list.
        plan: what importing it would do.
        supplier: whose it is, or who stands for a sender that nobody knows.
        note: one line on whose it is; empty where somebody named the supplier.
        is_known: whether the supplier is on file.
        entries: makes the entry of a row.
        doubts: by sheet, what `import` must be told of a column before it writes anything.
    """

    read: SupplierList
    plan: Plan
    supplier: Entry[Supplier]
    note: str
    is_known: bool
    entries: RowEntries
    doubts: Mapping[str, str]

    @property
    def path(self) -> str:
        """The file, as given."""
        return self.read.path

    def is_certain(self, row: RowOutcome) -> bool:
        """Whether `import` would take a row without a question."""
        return row.outcome in CERTAIN and row.sheet not in self.doubts

    def words(self, row: RowOutcome) -> str:
        """What a row says, its cells joined by middle dots."""
        sheet = next(each for each in self.read.sheets if each.name == row.sheet)
        return " · ".join(text for cell in sheet.row(row.row) if (text := clean_text(cell.text)))


@dataclass(frozen=True)
class OpenLists:
    """Lists searched together.

    Attributes:
        catalogue: the catalogue with all that is certain of them, as imports would write it.
        opened: the lists, in the order given.
        articles: ids of the sets that they offer for certain.
    """

    catalogue: Catalogue
    opened: tuple[OpenList, ...]
    articles: frozenset[str]

    def limit(self, request: Request, beside: Beside) -> Request:
        """A request for combinations with an article of the lists, and what may stand beside it."""
        shelf = self.catalogue.shelf
        among = {
            "list": self.articles,
            "shelf": self.articles | {id_ for id_ in shelf if shelf[id_].record.quantity > 0},
            "catalogue": None,
        }
        return replace(request, among=among[beside], needs=self.articles)


@gc_paused()
def open_lists(
    catalogue: Catalogue, paths: Sequence[str], suppliers: Sequence[str] = ()
) -> OpenLists:
    """Read suppliers' lists for a search; nothing is written.

    Args:
        catalogue: what they are held against; each list also against those before it.
        paths: the files.
        suppliers: names of their suppliers in the same order; empty: recognised.

    Raises:
        UsageError: a list cannot be made sense of, or the suppliers do not go with the lists.
        UnreadableError: a file cannot be read.
    """
    if suppliers and len(suppliers) != len(paths):
        raise UsageError(
            f"{len(paths)} lists and {len(suppliers)} suppliers: give --supplier once for each "
            "--list, in the same order, or not at all"
        )
    opened: list[OpenList] = []
    articles: set[str] = set()
    for at, path in enumerate(paths):
        catalogue, one = _open(catalogue, path, suppliers[at] if suppliers else None)
        opened.append(one)
        articles |= {row.set_id for row in one.plan.rows if one.is_certain(row)}
    return OpenLists(catalogue, tuple(opened), frozenset(articles))


def _open(catalogue: Catalogue, path: str, named: str | None) -> tuple[Catalogue, OpenList]:
    """A list, and the catalogue with what is certain of it."""
    read = read_list(path)
    catalogue, supplier, note = _sender(catalogue, read, named)
    mapping = supplier.record.list_mapping
    if mapping is not None and mapping.encoding:
        read = read_list(path, usual_encoding=mapping.encoding)
    is_known = supplier.source.path != path
    try:
        plan = plan_list(catalogue, read, supplier)
    except UsageError as error:
        raise UsageError(f"{error}; fitcheck import {path} settles it") from None
    doubts = {
        layout.sheet.name: f"{column.heading!r} is the column of {column.field}"
        for layout in plan.layouts
        for column in layout.columns.values()
        if column.sureness == "weak" and not column.is_asked_for
    }
    entries = RowEntries(catalogue, supplier, path)
    one = OpenList(read, plan, supplier, note, is_known=is_known, entries=entries, doubts=doubts)
    taken = {
        row.set_id: entry
        for row in plan.rows
        if row.outcome in ("new", "changed") and one.is_certain(row)
        if (entry := entries.of(row)) is not None
    }
    sets = MappingProxyType({**catalogue.gear_sets, **taken})
    return replace(catalogue, gear_sets=sets), one


def _sender(
    catalogue: Catalogue, read: SupplierList, named: str | None
) -> tuple[Catalogue, Entry[Supplier], str]:
    """Whose list it is, and a line on how that is known; the catalogue has the supplier."""
    if named is not None:
        try:
            return catalogue, find_supplier(catalogue, named), ""
        except UsageError as error:
            raise UsageError(f"{error}; or leave --supplier out") from None
    # One that stands for the unknown sender of another list is nobody's supplier.
    on_file = catalogue.sources
    found = [c for c in find_candidates(catalogue, read) if c.supplier.source.path in on_file]
    if is_sure(found):
        supplier = found[0].supplier
        return catalogue, supplier, f"a list of {supplier.record.name}, known by {found[0].words}"
    stem = Path(read.path).stem
    id_ = id_of_name(stem) or "list"
    while id_ in catalogue.suppliers:
        id_ += "-list"
    currency = usual_currency(catalogue)
    record = Supplier(name=" ".join(clean_text(stem).split()) or "List", currency=currency)
    entry = Entry("supplier", id_, record, Source(read.path))
    suppliers = MappingProxyType({**catalogue.suppliers, id_: entry})
    perhaps = f"perhaps of {found[0].supplier.id}; " if found else ""
    note = (
        f"no supplier here is known to send this, so prices are taken for {currency}; {perhaps}"
        "--supplier NAME says whose it is"
    )
    return replace(catalogue, suppliers=suppliers), entry, note


# -------------------------------------------------------------------- entries of rows


class _Rows(Source):
    """A sheet of a list as the source of entries: their places are its rows.

    Args:
        path: the list, with the sheet's name where it has one.
    """

    def __init__(self, path: str) -> None:
        super().__init__(path)
        self.rows: dict[str, int] = {}
        self.before: dict[str, tuple[Mapping[str, Any], Entry[GearSet]]] = {}

    def span(self, path: DocumentPath, key: bool = False) -> Span:
        """The row of an entry, or the catalogue's place of a field that the list does not say."""
        id_, *steps = (str(step) for step in path[1:]) if path else ("",)
        fields, entry = self.before.get(id_, ({}, None))
        if entry is not None and steps and steps[0] not in fields:
            return entry.span(*path[2:], key=key)
        row = self.rows.get(id_, 1)
        return Span(self.path, row, 1, end_line=row, end_column=1)


class RowEntries:
    """Makes the entry of a row, as it would be read once it were written.

    Args:
        catalogue: the catalogue the plan was made against.
        supplier: whose list it is.
        path: the list.
    """

    def __init__(self, catalogue: Catalogue, supplier: Entry[Supplier], path: str) -> None:
        target = find_target_entry(catalogue, supplier.id)
        defaults = {} if target is None else defaults_of(target)
        self._base = {**defaults, "supplier": supplier.id, "availability": "unknown"}
        self._sets = catalogue.gear_sets
        self._path = path
        self._sources: dict[str, _Rows] = {}

    def of(self, row: RowOutcome) -> Entry[GearSet] | None:
        """The entry, of a row in question as far as it is read; None where that makes none."""
        fields = row.fields if row.outcome in CERTAIN else row.readings
        before = self._sets.get(row.set_id)
        if row.outcome == "unchanged" and before is not None:
            return before
        if before is None and "pairs" not in fields:
            return None
        base = self._base if before is None else before.record.model_dump(exclude_unset=True)
        try:
            record = GearSet.model_validate({**base, **_as_written(fields)})
        except ValueError:
            return None
        path = f"{self._path}!{row.sheet}" if row.sheet else self._path
        source = self._sources.setdefault(row.sheet, _Rows(path))
        id_ = row.set_id or clean_text(row.part_number)
        source.rows[id_] = row.row
        if before is not None:
            source.before[id_] = fields, before
        return Entry("gear-set", id_, record, source)


def _as_written(fields: Mapping[str, Any]) -> dict[str, Any]:
    """Fields as a file has them: pairs as text."""
    pairs = fields.get("pairs")
    if not pairs:
        return dict(fields)
    return {**fields, "pairs": {stage: str(pair) for stage, pair in pairs.items()}}
