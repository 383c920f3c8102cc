"""The tables of a list: the header of each, its columns, and the rows that hold articles.

Which of them are read, and what becomes of rows that are not asked what they hold.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import partial

from fitcheck.catalogue.reader import Entry
from fitcheck.errors import UsageError, clip
from fitcheck.model.trade import ListMapping, Supplier
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
    price_terms,
)
from fitcheck.services.price_lists.headings.layout import Column, Ignored, Layout
from fitcheck.services.price_lists.headings.lines import group_articles, name_sheets, state_lines
from fitcheck.services.price_lists.headings.rows import (
    SEARCHED,
    all_wordy,
    filled_cells,
    first_header,
    header_score,
    headings_of,
    is_other_header,
    kind_of_row,
    names_units,
    possible_lines,
    same_header,
    with_lines_below,
)
from fitcheck.services.price_lists.outcomes import NO_VALUE, RowOutcome
from fitcheck.services.price_lists.reading import Sheet, SupplierList
from fitcheck.services.price_lists.wording.readings import words_of
from fitcheck.services.price_lists.wording.teeth import read_teeth

_SAMPLES = 3
"""So many articles are shown of a column."""


class ColumnsMissingError(UsageError):
    """No table of a list has all the columns that the supplier's mapping names.

    Args:
        words: the message.
        lacking: field to the heading that the mapping names.
        layout: the table that lacks fewest, its columns as they are found without the mapping.
        free: its columns that the mapping does not name, each to its heading.
    """

    NEEDED = ("part_number", "teeth")
    """Fields without a column of which a list cannot be read."""

    def __init__(
        self, words: str, lacking: Mapping[str, str], layout: Layout, free: Mapping[int, str]
    ) -> None:
        super().__init__(words)
        self.lacking = lacking
        self._layout = layout
        texts = list(free.values())
        self._free = {at: text for at, text in free.items() if texts.count(text) == 1}

    def candidates(self, name: str) -> dict[str, str]:
        """Headings of the columns that a field may be, the likeliest first, each with samples."""
        free, layout, found = self._free, self._layout, dict[str, str]()
        likely = next((each for each in layout.columns.values() if each.field == name), None)
        columns = [] if likely is None else [n for n in (likely.column, likely.second) if n]
        if likely is not None and all(number in free for number in columns):
            found[likely.heading] = self._sample(columns)
        return found | {text: self._sample([at]) for at, text in free.items() if text not in found}

    def _sample(self, columns: Sequence[int]) -> str:
        """What the first articles have in some columns."""
        rows = self._layout.data_rows[:_SAMPLES]
        cells = (" / ".join(self._layout.sheet.cell(r, c).text for c in columns) for r in rows)
        return ", ".join(clip(" ".join(each.split())) for each in cells if each.strip(" /"))


def list_tables(
    supplier_list: SupplierList, supplier: Entry[Supplier], mapping: ListMapping
) -> list[Layout]:
    """The tables of a list, by the supplier's mapping where it has one.

    A sheet that the mapping does not fit, beside one that it fits, is read by its own headings.

    Raises:
        UsageError: no sheet has a header, or none is as the mapping says.
    """
    tables = _tables(supplier_list, supplier, mapping)
    name_sheets([layout for layout in tables if layout.found])
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
    lacking = _lacking(headings, mapping)
    found, _ = mapped_columns(headings, mapping)
    named = {column for columns in found.values() for column in columns}
    has = ", ".join(repr(" ".join(each.split())) for each in headings.values())
    return ColumnsMissingError(
        f"{supplier_list.path}: the list lacks columns that "
        f"{supplier.place('list_mapping', 'columns')} names: "
        f"{', '.join(f'{text!r} ({name})' for name, text in lacking.items())}; its header in row "
        f"{layout.sheet.row_address(layout.header_rows[0])} has {has}; correct the mapping, or add "
        "--new-columns to find the columns again",
        lacking,
        layout,
        {column: text for column, text in headings.items() if column not in named},
    )


def _lacking(headings: Mapping[int, str], mapping: ListMapping) -> dict[str, str]:
    """The columns of a mapping that a header has not, or twice: field to heading."""
    found, _ = mapped_columns(headings, mapping)
    return {name: text for name, text in mapping.columns.items() if name not in found}


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
        ignored = kind_of_row(row, texts, layout.columns)
        if ignored is None and row == header.stop and names_units(texts, layout.columns):
            ignored = Ignored(row, "header", " | ".join(texts.values())[:60], "units")
        if ignored is not None:
            layout.ignored[row] = ignored
    group_articles(layout, again)
    return following


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
