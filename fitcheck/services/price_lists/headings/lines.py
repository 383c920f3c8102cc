"""Lines outside the rows of articles: titles, headings of groups, notes, footers.

They may state the currency of prices, or change what the rows say: used parts, packs, footnotes.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from fitcheck.services.price_lists.headings.layout import Layout
from fitcheck.services.price_lists.headings.rows import filled_cells
from fitcheck.services.price_lists.wording.amounts import stated_currency
from fitcheck.services.price_lists.wording.availability import (
    may_be_discontinued,
    read_availability,
)
from fitcheck.services.price_lists.wording.prices import pack_in
from fitcheck.services.price_lists.wording.readings import fold
from fitcheck.services.price_lists.wording.reservations import is_price_of_quantity, reservation_in


@dataclass(frozen=True, slots=True)
class Line:
    """One line.

    Attributes:
        row: its number, from 1.
        kind: what it is, as `Ignored` has it.
        text: its cells, with single spaces between all words.
    """

    row: int
    kind: str
    text: str


def _tables_by_sheet(layouts: Sequence[Layout]) -> dict[str, list[Layout]]:
    """The tables of a list by the name of their sheet, in order."""
    sheets: dict[str, list[Layout]] = {}
    for layout in layouts:
        sheets.setdefault(layout.sheet.name, []).append(layout)
    return sheets


def _rows_of_articles(tables: Sequence[Layout]) -> list[int]:
    """Numbers of the rows of a sheet that hold articles, in order."""
    return sorted(row for each in tables if each.found for row in each.data_rows)


def _lines_outside(tables: Sequence[Layout]) -> Iterator[Line]:
    """The lines of a sheet that are neither articles nor headers nor blank, in order."""
    for layout in tables:
        for row in sorted(layout.ignored):
            kind = layout.ignored[row].kind
            if kind not in ("blank", "header"):
                text = " ".join(" ".join(filled_cells(layout.sheet, row).values()).split())
                yield Line(row, kind, text)


def state_currencies(layouts: Sequence[Layout]) -> None:
    """Give each article the currency that a line of the list states for it.

    A line between articles holds for those below it; a title, a footer or the name of the sheet for
    all others of the sheet, and those of a sheet without articles for the whole list.

    Args:
        layouts: the tables of a list; their `currencies` are set in place.
    """
    sheets = _tables_by_sheet(layouts)
    covers: list[str] = []
    for name, tables in sheets.items():
        if not any(each.found for each in tables):
            covers += [sign for _, sign in _currency_lines(tables)]
            covers += filter(None, [stated_currency(name)])
    for name, tables in sheets.items():
        articles = _rows_of_articles(tables)
        lines = list(_currency_lines(tables))
        if articles and (lines or covers or stated_currency(name)):
            _state_currency(tables, name, articles, lines, covers)


def _currency_lines(tables: Sequence[Layout]) -> Iterator[tuple[int, str]]:
    """Rows without an article that state a currency, in order, each with its sign or code."""
    for line in _lines_outside(tables):
        if sign := stated_currency(" ".join(line.text.replace("|", " ").split())):
            yield line.row, sign


def _state_currency(
    tables: Sequence[Layout],
    name: str,
    articles: Sequence[int],
    lines: Sequence[tuple[int, str]],
    covers: Sequence[str],
) -> None:
    outside = [sign for row, sign in lines if not articles[0] < row < articles[-1]]
    general = " ".join(dict.fromkeys(filter(None, [stated_currency(name), *outside])))
    general = general or " ".join(dict.fromkeys(covers))
    between = [line for line in lines if articles[0] < line[0] < articles[-1]]
    for layout in tables:
        if not layout.found:
            continue
        for row in layout.data_rows:
            last = next((sign for at, sign in reversed(between) if at < row), general)
            if last:
                layout.currencies[row] = last


# Marks of footnotes, and terms of trade: common practice, no source.
_MARK = r"\*{1,4}|[†‡§#]{1,2}|[¹²³⁴⁵⁶⁷⁸⁹]\)?|\([1-9]\)|[1-9]\)|\[[1-9]\]"
_FOOTNOTE = re.compile(rf"\s*(?P<mark>{_MARK})\s*(?:[=:-]\s*)?(?P<text>\w.*)", re.DOTALL)
_MARKED = re.compile(rf"(?:(?<=[\w.)€$ -])|^)(?P<mark>{_MARK})\s*$")
_LONG = 6
"""A title or footer of more words is rather one of the terms of trade."""

_FEW_WORDS = 3
_TERMS = re.compile(r"(?<![a-z])(?:mwst|ust|vat|iva|tva|ttc|ht|versand|freight|porto)(?![a-z])")


def state_lines(layouts: Sequence[Layout]) -> None:
    """Give each article what lines outside the articles hold against it.

    A line between articles holds for those below, down to the next heading of a group; a pack that
    a title or footer tells of, for all of the sheet; a footnote for the rows that bear its mark.

    Args:
        layouts: the tables of a list; their `stated` is set in place.
    """
    for tables in _tables_by_sheet(layouts).values():
        articles = _rows_of_articles(tables)
        if not articles:
            continue
        lines = list(_lines_outside(tables))
        notes = _footnotes(lines)
        general = [said for line in lines if (said := _of_all(line.text))]
        for layout in (each for each in tables if each.found):
            if general or lines:
                _state(layout, articles, lines, tuple(dict.fromkeys(general)))
            if notes:
                _mark(layout, notes)


def _of_all(text: str) -> str:
    """What a line anywhere holds against all articles; or empty."""
    if _FOOTNOTE.fullmatch(text):
        return ""
    return text if pack_in(text) or is_price_of_quantity(text) else ""


def _between(text: str) -> str:
    """What a line between articles holds against those below it; or empty."""
    if _FOOTNOTE.fullmatch(text):
        return ""
    words = text.split()
    if found := reservation_in(text):
        return text if found.of == "part" or len(words) <= _LONG else ""
    if len(words) > _FEW_WORDS and may_be_discontinued(fold(text)):
        return text if read_availability(text).value == "discontinued" else ""
    return ""


def _state(
    layout: Layout,
    articles: Sequence[int],
    lines: Sequence[Line],
    general: tuple[str, ...],
) -> None:
    inside = [line for line in lines if line.row < articles[-1]]
    footers = [
        said
        for line in lines
        if line.row > articles[-1]
        and len(line.text.split()) <= _LONG
        and (said := _between(line.text))
        and (found := reservation_in(line.text))
        and found.of == "part"
    ]
    general = (*general, *footers)
    at, held = 0, ""
    own = frozenset(layout.data_rows)
    for row in articles:
        while at < len(inside) and inside[at].row < row:
            if said := _between(inside[at].text):
                held = said
            elif inside[at].kind == "section":
                held = ""
            at += 1
        if row in own and (said_of := (*general, *([held] if held else []))):
            layout.stated[row] = said_of


def _footnotes(lines: Sequence[Line]) -> dict[str, str]:
    """Mark to what is said below a table of the rows that bear it, what is no news left out."""
    notes = {}
    for line in lines:
        found = _FOOTNOTE.fullmatch(line.text)
        if found is None:
            continue
        said = found["text"]
        short = len(said.split()) <= _LONG
        if short and read_availability(said).value in ("in-stock", "to-order"):
            continue
        notes[_bare(found["mark"])] = f"{found['mark']} {said}"
    return notes


def _mark(layout: Layout, notes: Mapping[str, str]) -> None:
    sheet = layout.sheet
    headed = [
        note
        for column in layout.columns.values()
        if (note := _note_of(column.heading, notes))
        if not _TERMS.search(fold(note)) and (pack_in(note) or reservation_in(note))
    ]
    for row in layout.data_rows:
        said = [
            note
            for value in sheet.values[row - 1]
            if isinstance(value, str) and (note := _note_of(value, notes))
        ]
        if said or headed:
            held = (*layout.stated.get(row, ()), *headed, *said)
            layout.stated[row] = tuple(dict.fromkeys(held))


def _note_of(text: str, notes: Mapping[str, str]) -> str:
    found = _MARKED.search(text)
    return notes.get(_bare(found["mark"]), "") if found else ""


def _bare(mark: str) -> str:
    return mark.rstrip(")") if mark[0] not in "([" else mark
