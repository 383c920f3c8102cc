"""Find the header of each table in a sheet, its columns, and the rows that hold articles."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from fitcheck.errors import UsageError
from fitcheck.model.trade import ListMapping
from fitcheck.services.price_lists.headings.column_choice import (
    choose_columns,
    notes_column,
    sample_rows,
    stages_of_headings,
    wheel_beside,
)
from fitcheck.services.price_lists.headings.columns import (
    JOINT,
    RATIOS,
    SUCCESSORS,
    headed_but_for_date,
    mapped_columns,
)
from fitcheck.services.price_lists.headings.layout import Column, Ignored, Layout
from fitcheck.services.price_lists.headings.lines import group_articles, name_sheets
from fitcheck.services.price_lists.headings.price_terms import price_terms
from fitcheck.services.price_lists.headings.rows import (
    SEARCHED,
    all_wordy,
    filled_cells,
    first_header,
    header_score,
    headings_of,
    is_other_header,
    names_units,
    possible_lines,
    row_without_article,
    same_header,
    with_lines_below,
)
from fitcheck.services.price_lists.reading.cells import Sheet, SupplierList
from fitcheck.services.price_lists.wording.readings import words_of
from fitcheck.services.price_lists.wording.teeth import read_teeth


def find_tables(supplier_list: SupplierList, mapping: ListMapping | None = None) -> list[Layout]:
    """The tables of all sheets of a list.

    Args:
        supplier_list: from `read_list`.
        mapping: how the supplier's list reads, where that is known: it must hold for at least one
            sheet.

    Returns:
        Layouts in the order of sheets and rows; those of a sheet cover all its rows.

    Raises:
        UsageError: no sheet has a header, or none has all columns that the mapping names; the text
            tells the near headings.
    """
    layouts = [layout for sheet in supplier_list.sheets for layout in find_layouts(sheet, mapping)]
    if any(layout.found for layout in layouts):
        name_sheets([layout for layout in layouts if layout.found])
        return layouts
    missing = min((layout.missing for layout in layouts if layout.missing), key=len, default=())
    if missing:
        raise UsageError(
            f"{supplier_list.path}: the list is not as the supplier's mapping says: "
            + "; ".join(missing)
        )
    raise UsageError(
        f"{supplier_list.path}: no header row was found in the first {SEARCHED} rows: at least "
        "two headings such as part number, teeth, price; give a list_mapping in the supplier's file"
    )


def find_layouts(sheet: Sheet, mapping: ListMapping | None = None) -> list[Layout]:
    """The tables of one sheet, in order.

    A new table begins where a header in another order stands below the first.

    Args:
        sheet: the sheet.
        mapping: the supplier's mapping, where known.

    Returns:
        At least one layout; one without `header_rows` where no header was found, with every row
        ignored.
    """
    named = mapping if mapping is not None and mapping.columns else None
    header = first_header(sheet, named)
    if header is None:
        return [_without_header(sheet)]
    header = with_lines_below(sheet, header)
    layouts = []
    first = 1
    while header is not None:
        layout, following = _table(sheet, first, header, named)
        layouts.append(layout)
        first = layout.last_row + 1
        header = following
    return layouts


def _without_header(sheet: Sheet) -> Layout:
    layout = Layout(sheet, 1, sheet.row_count)
    for row in range(1, sheet.row_count + 1):
        texts = filled_cells(sheet, row)
        text = " ".join(next(iter(texts.values()), "").split())[:60]
        layout.ignored[row] = (
            Ignored(row, "unrelated", text, "the sheet has no header row")
            if texts
            else Ignored(row, "blank", "", "a blank row")
        )
    return layout


def _table(
    sheet: Sheet, first: int, header: range, mapping: ListMapping | None
) -> tuple[Layout, range | None]:
    headings = headings_of(sheet, header)
    layout = Layout(sheet, first, sheet.row_count, tuple(header))
    for row in range(first, header.start):
        layout.ignored[row] = _above_header(sheet, row)
    for row in header:
        layout.ignored[row] = Ignored(
            row, "header", " | ".join(headings.values())[:60], "the header"
        )
    sample = sample_rows(sheet, header.stop, headings)
    if mapping is not None:
        _map_columns(layout, headings, mapping, sample)
    else:
        layout.columns = choose_columns(sheet, sample, headings)
    used = _columns_of(layout)
    layout.others = tuple(
        (column, heading) for column, heading in headings.items() if column not in used
    )
    for column, heading in reversed(layout.others):
        if words_of(heading) in RATIOS:
            layout.ratio_column = column
        elif words_of(heading) in SUCCESSORS:
            layout.successor_column = column
    layout.width = max((*headings, *used), default=0)
    if "price" in layout.columns:
        layout.terms = price_terms(sheet, sample, headings, layout.columns["price"].column)
    lines = [headings_of(sheet, range(row, row + 1)) for row in header] if len(header) > 1 else []
    following = _walk(layout, header, headings, lines, mapping)
    if not sheet.name:
        rows = layout.data_rows
        layout.spilling = 2 * sum(map(layout.beyond, rows)) > len(rows)
    return layout, following


def _map_columns(
    layout: Layout, headings: Mapping[int, str], mapping: ListMapping, sample: Sequence[int]
) -> None:
    """Set the columns that a supplier's mapping names; what is missing is kept beside them.

    Of headings that bear a date, one of another date may be meant as well: it is asked which.
    """
    found, missing = mapped_columns(headings, mapping)
    layout.missing = tuple(missing)
    for name, columns in found.items():
        texts = [headings[column] for column in columns]
        dated = headed_but_for_date(texts[0], headings) if len(columns) == 1 else {}
        rivals = tuple(text for at, text in dated.items() if at not in columns)
        second = columns[1] if len(columns) > 1 else 0
        if name == "teeth" and not second:
            second = wheel_beside(layout.sheet, sample, headings, columns[0])
        layout.columns[name] = Column(
            name,
            columns[0],
            JOINT.join(texts),
            "weak" if rivals else "given",
            reason="the mapping says so",
            rivals=rivals,
            second=second,
            stages=stages_of_headings(texts)
            if name == "teeth" and len(texts) > (second > 0)
            else (),
        )
    # What a list remarks may deny what it says elsewhere, whether or not the mapping names it.
    used = _columns_of(layout)
    notes = notes_column({each: text for each, text in headings.items() if each not in used})
    if notes is not None and "notes" not in layout.columns:
        layout.columns["notes"] = replace(notes, sureness="given")


def _columns_of(layout: Layout) -> set[int]:
    """Numbers of the columns that hold a field."""
    return {each for column in layout.columns.values() for each in (column.column, column.second)}


def _above_header(sheet: Sheet, row: int) -> Ignored:
    texts = filled_cells(sheet, row)
    if not texts:
        return Ignored(row, "blank", "", "a blank row")
    shown = " ".join(next(iter(texts.values())).split())[:60]
    if len(texts) > 2 and any(
        read_teeth(sheet.cell(row, column), teeth_column=True).certain for column in texts
    ):
        return Ignored(row, "article", shown, "above the header, though it looks like an article")
    return Ignored(row, "title", shown, "above the header")


def _walk(
    layout: Layout,
    header: range,
    headings: Mapping[int, str],
    lines: Sequence[Mapping[int, str]],
    mapping: ListMapping | None,
) -> range | None:
    """Sort the rows below a header; the next table's header where there is one."""
    sheet = layout.sheet
    following: range | None = None
    ours = _columns_of(layout) - {0}
    again: list[int] = []
    for row in range(header.stop, sheet.row_count + 1):
        texts = filled_cells(sheet, row)
        if len(texts) >= 2 and all_wordy(texts.values()):
            if same_header(texts, headings, lines, ours):
                again.append(row)
                layout.ignored[row] = Ignored(
                    row, "header", " | ".join(texts.values())[:60], "the header again"
                )
                continue
            if is_other_header(sheet, row, texts, mapping):
                layout.last_row = row - 1
                possible = possible_lines(sheet, row)
                following = max(
                    possible, key=lambda each: header_score(headings_of(sheet, each), mapping)
                )
                break
        ignored = row_without_article(row, texts, layout.columns)
        if ignored is None and row == header.stop and names_units(texts, layout.columns):
            ignored = Ignored(row, "header", " | ".join(texts.values())[:60], "units")
        if ignored is not None:
            layout.ignored[row] = ignored
    group_articles(layout, again)
    return following
