"""Find the rows of a sheet that make a header."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from fitcheck.model.trade import ListField, ListMapping
from fitcheck.services.price_lists.headings.columns import (
    PINION_HEADINGS,
    WHEEL_HEADINGS,
    guess_fields,
    mapped_columns,
    score_heading,
)
from fitcheck.services.price_lists.headings.rows import filled_cells
from fitcheck.services.price_lists.reading.cells import Sheet
from fitcheck.services.price_lists.wording.readings import words_of
from fitcheck.services.price_lists.wording.teeth import read_teeth
from fitcheck.services.price_lists.wording.tokens import possible_count

SEARCHED = 100
"""Rows from the top in which the first header is looked for."""

_MOST_LINES = 3

_LONGEST_HEADING = 120
_TELLING: frozenset[ListField] = frozenset({"part_number", "teeth", "price", "name"})


def first_header(sheet: Sheet, mapping: ListMapping | None) -> range | None:
    """The topmost rows that make a header.

    By trade words, half as good as the best will do; so will one of few words over an article.
    """
    possible: list[tuple[float, range]] = []
    for row in range(1, min(sheet.row_count, SEARCHED) + 1):
        scored = [
            (score, lines)
            for lines in possible_lines(sheet, row)
            if (score := header_score(headings_of(sheet, lines), mapping))
        ]
        if scored:
            # Of equals the one of fewer lines.
            possible.append(max(scored, key=lambda each: (each[0], -len(each[1]))))
    if not possible:
        return None
    best = max(score for score, _ in possible)
    least = best if mapping is not None else best / 2
    score, lines = next(
        each for each in possible if each[0] >= least or _heads_article(sheet, each[1], mapping)
    )
    better = next((each for each in possible if each[1].start in lines and each[0] > score), None)
    if better is not None:  # the first line of a header may do by itself, all its lines do better
        score, lines = better
    return lines if mapping is not None else _with_line_above(sheet, lines, score)


def _with_line_above(sheet: Sheet, lines: range, score: float) -> range:
    """The header with the line above it, where that is a part of it and no title."""
    above = lines.start - 1
    if above < 1 or len(lines) >= _MOST_LINES:
        return lines
    texts = filled_cells(sheet, above)
    needed = max(2, len(filled_cells(sheet, lines.start)) / 2)
    if len(texts) < needed or not all_wordy(texts.values()):
        return lines
    joined = headings_of(sheet, range(above, lines.stop))
    if not any(score_heading(text) for text in texts.values()):
        return lines
    alone = {
        column: guesses[0].field
        for column, guesses in guess_fields(headings_of(sheet, lines)).items()
    }
    together = {column: guesses[0].field for column, guesses in guess_fields(joined).items()}
    same = all(together.get(column) == name for column, name in alone.items())
    if same and header_score(joined, None) >= 0.9 * score:
        return range(above, lines.stop)
    return lines


def with_merged_below(sheet: Sheet, lines: range) -> range:
    """The header with the lines into which cells of it are merged downwards."""
    while len(lines) < _MOST_LINES and any(
        (source := sheet.merged.get((lines.stop, column))) and source[0] in lines
        for column in range(1, sheet.column_count + 1)
    ):
        if not all_wordy(filled_cells(sheet, lines.stop).values()):
            break
        lines = range(lines.start, lines.stop + 1)
    return lines


def possible_lines(sheet: Sheet, row: int) -> list[range]:
    """The row alone, and with the lines below it where those hold words only."""
    found = []
    for count in range(1, _MOST_LINES + 1):
        last = row + count - 1
        if last > sheet.row_count:
            break
        texts = filled_cells(sheet, last)
        if not texts or not all_wordy(texts.values()):
            break
        found.append(range(row, last + 1))
    return found


def all_wordy(texts: Iterable[str]) -> bool:
    """Whether all texts of a row look like headings: short, and no plain numbers."""
    listed = list(texts)
    return all(len(text) <= _LONGEST_HEADING for text in listed) and not any(
        not any(map(str.isalpha, text)) and sum(map(str.isdigit, text)) > 0 for text in listed
    )


def headings_of(sheet: Sheet, lines: range) -> dict[int, str]:
    """The heading of each column, the lines of one joined; merged ones are spread sideways."""
    found: dict[int, str] = {}
    for column in range(1, sheet.column_count + 1):
        parts: list[str] = []
        for row in lines:
            source = sheet.merged.get((row, column))
            if source and source[0] != row:
                continue  # merged downwards: said once
            if source and len(lines) == 1:
                continue  # a title over several columns
            text = " ".join(sheet.cell(row, column).text.split())
            if text:
                parts.append(text)
        if parts:
            found[column] = " ".join(parts)
    return found


def is_other_header(
    sheet: Sheet, row: int, texts: Mapping[int, str], mapping: ListMapping | None
) -> bool:
    """Whether a row, which does not repeat the header, heads a table of its own.

    Under a mapping the same order with other headings, such as prices in another currency, is
    another table too.

    Args:
        sheet: the sheet.
        row: the row's number, from 1.
        texts: what it holds, by column.
        mapping: the supplier's, where known.
    """
    lines = range(row, row + 1)
    one = headings_of(sheet, lines)
    if mapping is not None:
        found, _ = mapped_columns(one, mapping)
        if len(found) >= min(3, len(mapping.columns)):
            return True
    exact = [
        (column, guesses[0].field)
        for column, guesses in guess_fields(one).items()
        if guesses[0].score >= 100
    ]
    if len({name for _, name in exact}) >= 3 and len(exact) * 3 >= len(texts) * 2:
        return True
    return _heads_article(sheet, lines, mapping)


def _heads_article(sheet: Sheet, lines: range, mapping: ListMapping | None) -> bool:
    """Whether rows name part number and teeth, and the next row holds both in these columns."""
    below = next(
        (row for row in range(lines.stop, sheet.row_count + 1) if filled_cells(sheet, row)), 0
    )
    if not below:
        return False
    headings = headings_of(sheet, lines)
    columns: dict[ListField, tuple[int, ...]] = {}
    if mapping is not None:
        columns, _ = mapped_columns(headings, mapping)
    if not {"part_number", "teeth"} <= set(columns):
        columns = _trade_columns(headings)
    if not {"part_number", "teeth"} <= set(columns):
        return False
    number = sheet.cell(below, columns["part_number"][0]).text
    cells = [sheet.cell(below, column) for column in columns["teeth"]]
    if len(cells) > 1:
        has_teeth = all(possible_count(cell.text.strip()) for cell in cells)
    else:
        has_teeth = read_teeth(cells[0], teeth_column=True).certain
    return has_teeth and any(map(str.isalnum, number))


def _trade_columns(headings: Mapping[int, str]) -> dict[ListField, tuple[int, ...]]:
    """Columns of part number and teeth, as far as a heading is just a word for them."""
    words = {column: words_of(heading) for column, heading in headings.items()}
    pinion = [column for column, each in words.items() if each in PINION_HEADINGS]
    wheel = [column for column, each in words.items() if each in WHEEL_HEADINGS]
    exact = {
        guesses[0].field: (column,)
        for column, guesses in guess_fields(headings).items()
        if guesses[0].score >= 100
    }
    return exact | ({"teeth": (pinion[0], wheel[0])} if pinion and wheel else {})


def header_score(headings: Mapping[int, str], mapping: ListMapping | None) -> float:
    """How much of a header a row is; 0 where it is none."""
    if mapping is not None:
        found, _ = mapped_columns(headings, mapping)
        return len(found) / len(mapping.columns) if found else 0.0
    if len(headings) < 2:
        return 0.0
    fields: dict[ListField, float] = {}
    for guesses in guess_fields(headings).values():
        if guesses and guesses[0].score > fields.get(guesses[0].field, 0.0):
            fields[guesses[0].field] = guesses[0].score
    if len(fields) < 2 or not _TELLING & set(fields):
        return 0.0
    recognised = sum(1 for heading in headings.values() if score_heading(heading))
    if recognised * 3 < len(headings):
        return 0.0
    return sum(fields.values())
