"""The tables of a list, which of them are read, and rows that are not asked what they hold."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import partial

from fitcheck.catalogue.reader import Entry
from fitcheck.errors import UsageError
from fitcheck.model.trade import ListMapping, Supplier
from fitcheck.services.price_lists.headings.columns import mapped_columns
from fitcheck.services.price_lists.headings.rows import headings_of
from fitcheck.services.price_lists.headings.layout import Layout
from fitcheck.services.price_lists.headings.layouts import find_layouts, find_tables
from fitcheck.services.price_lists.headings.lines import state_lines
from fitcheck.services.price_lists.outcomes import NO_VALUE, RowOutcome
from fitcheck.services.price_lists.reading import Sheet, SupplierList


def list_tables(
    supplier_list: SupplierList, supplier: Entry[Supplier], mapping: ListMapping
) -> list[Layout]:
    """The tables of a list, by the supplier's mapping where it has one.

    A sheet that the mapping does not fit, beside one that it fits, is read by its own headings.

    Raises:
        UsageError: no sheet has a header, or none is as the mapping says.
    """
    tables = _tables(supplier_list, supplier, mapping)
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
        raise _not_as_mapped(supplier_list, supplier, mapping, error) from None
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
    supplier_list: SupplierList,
    supplier: Entry[Supplier],
    mapping: ListMapping,
    error: UsageError,
) -> UsageError:
    """Which columns are missing where no sheet is as the mapping says, and what to do."""
    try:
        others = [layout for layout in find_tables(supplier_list) if layout.found]
    except UsageError:
        return error
    headers = [
        (each, headings_of(each.sheet, range(each.header_rows[0], each.header_rows[-1] + 1)))
        for each in others
    ]
    layout, headings = min(headers, key=lambda each: len(_lacking(each[1], mapping)))
    has = ", ".join(repr(" ".join(each.split())) for each in headings.values())
    return UsageError(
        f"{supplier_list.path}: the list lacks columns that "
        f"{supplier.place('list_mapping', 'columns')} names: "
        f"{', '.join(_lacking(headings, mapping))}; its header in row "
        f"{layout.sheet.row_address(layout.header_rows[0])} has {has}; correct the mapping, or add "
        "--new-columns to find the columns again"
    )


def _lacking(headings: Mapping[int, str], mapping: ListMapping) -> list[str]:
    """The columns of a mapping that a header has not, or twice: heading and field."""
    found, _ = mapped_columns(headings, mapping)
    return [f"{text!r} ({name})" for name, text in mapping.columns.items() if name not in found]


def why_shut(layout: Layout, layouts: Sequence[Layout]) -> tuple[str, str] | None:
    """Kind and reason where a whole table is not read: it is hidden, or lacks columns."""
    if layout.sheet.hidden and any(each.found and not each.sheet.hidden for each in layouts):
        return "hidden", "the sheet is hidden"
    if not layout.found:
        return "unrelated", "; ".join(layout.missing) or "the sheet has no header row"
    return None


def _is_blank_by_formula(layout: Layout, row: int) -> bool:
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
    outcome = partial(RowOutcome, layout.sheet.name, row, where := layout.sheet.row_address(row))
    if shut is None and _is_blank_by_formula(layout, row):
        cell = layout.sheet.address(row, _no_value(layout, row) or 1)
        return outcome("unreadable", cell=cell, reason=NO_VALUE)
    if ignored is not None:
        kind, reason = ignored.kind, ignored.reason
        if kind == "article":
            text = f"{reason}: give it a header row of its own, or take it out of the list"
            return outcome("unreadable", cell=where, reason=text)
        shown = f"{reason}: {ignored.text}" if ignored.text and kind != "header" else reason
        return outcome("ignored", kind=kind, reason=shown)
    assert shut is not None
    kind_of_table, reason = shut
    if kind_of_table == "hidden":
        return outcome("ignored", kind="hidden", reason=reason)
    return outcome("unreadable", cell=where, reason=reason)
