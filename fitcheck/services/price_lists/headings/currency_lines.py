"""Lines outside the rows of articles that say in which currency the prices are."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from fitcheck.services.price_lists.headings.layout import Layout
from fitcheck.services.price_lists.headings.outside import (
    articles_of,
    lines_outside,
    tables_by_sheet,
)
from fitcheck.services.price_lists.wording.currencies import stated_currency


def state_currencies(layouts: Sequence[Layout]) -> None:
    """Give each article the currency that a line of the list states for it.

    A line between articles holds for those below it; a title, a footer or the name of the sheet for
    all others of the sheet, and those of a sheet without articles for the whole list.

    Args:
        layouts: the tables of a list; their `currencies` are set in place.
    """
    sheets = tables_by_sheet(layouts)
    covers: list[str] = []
    for name, tables in sheets.items():
        if not any(each.found for each in tables):
            covers += [sign for _, sign in _lines(tables)]
            covers += filter(None, [stated_currency(name)])
    for name, tables in sheets.items():
        articles = articles_of(tables)
        lines = list(_lines(tables))
        if articles and (lines or covers or stated_currency(name)):
            _state(tables, name, articles, lines, covers)


def _lines(tables: Sequence[Layout]) -> Iterator[tuple[int, str]]:
    """Rows without an article that state a currency, in order, each with its sign or code."""
    for line in lines_outside(tables):
        if sign := stated_currency(" ".join(line.text.replace("|", " ").split())):
            yield line.row, sign


def _state(
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
