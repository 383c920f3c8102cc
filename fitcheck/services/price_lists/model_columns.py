"""Columns of models that only their names tell: of families, and one column for each model."""

from __future__ import annotations

from collections.abc import Sequence

from fitcheck.services.price_lists.headings import Column, Layout
from fitcheck.services.price_lists.headings.words import FAMILIES
from fitcheck.services.price_lists.names import Names
from fitcheck.services.price_lists.wording import words_of

_SAMPLE = 200
_LONGEST_MARK = 4


def find_model_columns(layouts: Sequence[Layout], names: Names) -> None:
    """Let a table without a column of models have those that the names in it tell.

    A column headed `Famiglia` or the like holds models where most of its cells are names of ours;
    else kinds of articles. Columns headed by one model each, their cells marks only, are a table of
    what fits what.

    Args:
        layouts: the tables; their `columns`, `others` and `matrix` are set in place.
        names: the names that are known.
    """
    for layout in layouts:
        if not layout.found or not layout.others or "models" in layout.columns:
            continue
        if (column := _of_families(layout, names)) is not None:
            number, heading = column
            layout.columns["models"] = Column(
                "models", number, heading, "likely", 100.0, "most of its cells are names of ours"
            )
            taken = {number}
        else:
            layout.matrix = _matrix(layout, names)
            taken = set(layout.matrix)
        layout.others = tuple(each for each in layout.others if each[0] not in taken)


def _of_families(layout: Layout, names: Names) -> tuple[int, str] | None:
    for number, heading in layout.others:
        if words_of(heading) not in FAMILIES:
            continue
        texts = dict.fromkeys(_texts(layout, number))
        matches = names.match_cells(texts).values()
        if 2 * sum(1 for each in matches if each.families) > len(texts):
            return number, heading
    return None


def _matrix(layout: Layout, names: Names) -> dict[int, str]:
    marked = {
        number: heading
        for number, heading in layout.others
        if (texts := _texts(layout, number)) and all(len(text) <= _LONGEST_MARK for text in texts)
    }
    matches = names.match_cells(marked.values()) if marked else {}
    return {
        number: heading
        for number, heading in marked.items()
        if len(matches[heading].families) == 1 and matches[heading].answer == "accepted"
    }


def _texts(layout: Layout, column: int) -> list[str]:
    """What the first articles have in a column, blanks left out."""
    cells = (layout.sheet.cell(row, column).text for row in layout.data_rows[:_SAMPLE])
    return [text for cell in cells if (text := cell.strip())]
