"""The tables of a list, which of them are read, and rows that are not asked what they hold."""

from __future__ import annotations

from collections.abc import Sequence

from fitcheck.catalogue.reader import Entry
from fitcheck.diagnostics.suggest import or_list
from fitcheck.errors import UsageError
from fitcheck.model.trade import ListMapping, Supplier
from fitcheck.services.intake.headings import Layout, find_layouts, find_tables
from fitcheck.services.intake.headings.currency_lines import state_currencies
from fitcheck.services.intake.headings.stated_lines import state_lines
from fitcheck.services.intake.outcomes import RowOutcome
from fitcheck.services.intake.reading import Sheet, SupplierList
from fitcheck.services.intake.row_outcomes import NO_VALUE

__all__ = ["is_blank_by_formula", "list_tables", "row_without_article", "why_shut"]


def list_tables(
    supplier_list: SupplierList, supplier: Entry[Supplier], mapping: ListMapping
) -> list[Layout]:
    """The tables of a list, by the supplier's mapping where it has one.

    A sheet that the mapping does not fit, beside one that it fits, is read by its own headings.

    Raises:
        UsageError: no sheet has a header, or none is as the mapping says.
    """
    tables = _tables(supplier_list, supplier, mapping)
    state_currencies(tables)
    state_lines(tables)
    return tables


def _tables(
    supplier_list: SupplierList, supplier: Entry[Supplier], mapping: ListMapping
) -> list[Layout]:
    if not mapping.columns:
        return find_tables(supplier_list)
    try:
        found = find_tables(supplier_list, mapping)
    except UsageError as error:
        raise _not_as_mapped(supplier_list, supplier, error) from None
    tables: list[Layout] = []
    for sheet in supplier_list.sheets:
        mapped = [each for each in found if each.sheet is sheet]
        if sheet.hidden or any(each.found for each in mapped):
            tables += mapped
        else:
            tables += _by_own_headings(sheet) or mapped
    return tables


def _by_own_headings(sheet: Sheet) -> list[Layout]:
    """The tables of a sheet as if there were no mapping; none where no article could be read."""
    tables = find_layouts(sheet)
    known = {name for each in tables if each.found for name in each.columns}
    return tables if {"part_number", "teeth"} <= known else []


def _not_as_mapped(
    supplier_list: SupplierList, supplier: Entry[Supplier], error: UsageError
) -> UsageError:
    """What to say of a list that no sheet of is as the mapping says."""
    try:
        others = [layout for layout in find_tables(supplier_list) if layout.found]
    except UsageError:
        return error
    headings = [column.heading for column in others[0].columns.values()]
    place = supplier.place("list_mapping", "columns")
    return UsageError(
        f"{supplier_list.path}: the list has not the columns that {place} names; it has "
        f"{or_list([repr(each) for each in headings]).replace(' or ', ' and ')}; set the "
        "mapping right, or have the columns found anew: --new-columns"
    )


def why_shut(layout: Layout, layouts: Sequence[Layout]) -> tuple[str, str] | None:
    """Kind and reason where a whole table is not read: it is hidden, or lacks columns."""
    if layout.sheet.hidden and any(each.found and not each.sheet.hidden for each in layouts):
        return "hidden", "the sheet is hidden"
    if not layout.found:
        return "unrelated", "; ".join(layout.missing) or "the sheet has no header row"
    return None


def is_blank_by_formula(layout: Layout, row: int) -> bool:
    """Whether a row seems to hold no article only because formulas of it have no stored value."""
    ignored = layout.ignored.get(row)
    if ignored is None or ignored.kind not in ("blank", "section", "note"):
        return False
    return row > max(layout.header_rows, default=0) and _no_value(layout, row) is not None


def _no_value(layout: Layout, row: int) -> int | None:
    """The first column of ours in which a row holds a formula without a stored value."""
    columns = sorted(each.column for each in layout.columns.values())
    return next((each for each in columns if (row, each) in layout.sheet.no_values), None)


def row_without_article(layout: Layout, row: int, shut: tuple[str, str] | None) -> RowOutcome:
    """The outcome of a row that holds no article, or stands in a table that is not read.

    Args:
        layout: its table.
        row: its number, from 1.
        shut: kind and reason where the whole table is not read.
    """
    ignored = layout.ignored.get(row)
    where = layout.sheet.row_address(row)
    if shut is None and is_blank_by_formula(layout, row):
        cell = layout.sheet.address(row, _no_value(layout, row) or 1)
        return RowOutcome(layout.sheet.name, row, where, "unreadable", cell=cell, reason=NO_VALUE)
    if ignored is not None:
        kind, reason = ignored.kind, ignored.reason
        shown = f"{reason}: {ignored.text}" if ignored.text and kind != "header" else reason
        return RowOutcome(layout.sheet.name, row, where, "ignored", kind=kind, reason=shown)
    assert shut is not None
    kind_of_table, reason = shut
    if kind_of_table == "hidden":
        return RowOutcome(layout.sheet.name, row, where, "ignored", kind="hidden", reason=reason)
    return RowOutcome(layout.sheet.name, row, where, "unreadable", cell=where, reason=reason)
