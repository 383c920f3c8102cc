"""What taking a supplier's list in would do: every row of it in exactly one outcome."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path

from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.catalogue.source import gc_paused
from fitcheck.model.fields import Stage
from fitcheck.model.trade import ListMapping, Supplier
from fitcheck.services.price_lists.articles import Article, Reader
from fitcheck.services.price_lists.doubtful_columns import (
    columns_asked,
    find_model_columns,
    refuse_contradicted,
    unsettle,
)
from fitcheck.services.price_lists.file_notes import (
    file_notes,
    gone_entries,
    gone_notes,
    numbers_unread,
    older_notes,
    unread_notes,
)
from fitcheck.services.price_lists.headings import Layout
from fitcheck.services.price_lists.judge import Judge
from fitcheck.services.price_lists.names import names_of
from fitcheck.services.price_lists.outcomes import Plan, RowOutcome
from fitcheck.services.price_lists.part_numbers import number_key
from fitcheck.services.price_lists.parts import numbered, one_part
from fitcheck.services.price_lists.questions import Asker, Question, clean_text
from fitcheck.services.price_lists.reading import SupplierList
from fitcheck.services.price_lists.remarks import with_remarks
from fitcheck.services.price_lists.saved_answers import (
    is_used,
    kept_answers,
    proposed_mapping,
    remembered,
    spent_answers,
    with_answers,
    without_columns,
)
from fitcheck.services.price_lists.tables import list_tables, row_without_article, why_shut
from fitcheck.services.price_lists.vehicle_claims import Listings

Rows = dict[tuple[str, int], RowOutcome]
"""Outcomes by name of the sheet and number of the row."""


def plan_list(
    catalogue: Catalogue,
    supplier_list: SupplierList,
    supplier: Entry[Supplier],
    *,
    list_name: str | None = None,
    date: dt.date | None = None,
    answers: Mapping[str, str] | None = None,
    new_columns: bool = False,
) -> Plan:
    """Plan the intake of a list.

    Args:
        catalogue: the catalogue it is held against.
        supplier_list: the list as it was read.
        supplier: whose it is.
        list_name: what entries say they come from; left out: as the supplier's mapping says, else
            the file's name.
        date: the date entries bear; left out: today.
        answers: answers to questions, by key; they go before those kept in the supplier's file.
        new_columns: whether the columns are found anew, whatever the supplier's file says of them.

    Returns:
        The plan. Bad cells never raise; they are in it.

    Raises:
        UsageError: no header was found, or the list is not as the supplier's mapping says.
    """
    with gc_paused():
        return _planned(
            catalogue,
            supplier_list,
            supplier,
            list_name=list_name,
            date=date or dt.date.today(),
            answers=answers or {},
            new_columns=new_columns,
        )


def _planned(
    catalogue: Catalogue,
    supplier_list: SupplierList,
    supplier: Entry[Supplier],
    *,
    list_name: str | None,
    date: dt.date,
    answers: Mapping[str, str],
    new_columns: bool,
) -> Plan:
    mapping = supplier.record.list_mapping or ListMapping()
    if new_columns:
        mapping = without_columns(mapping)
    given = dict(answers)
    named = clean_text(list_name or mapping.list_name or "") or None
    name = named or clean_text(Path(supplier_list.path).name) or "list"
    layouts = list_tables(supplier_list, supplier, mapping)
    asker = Asker({**kept_answers(mapping), **given})
    doubtful = columns_asked(layouts, asker, currency=supplier.record.currency)
    words = with_answers(mapping, given)
    readers = _readers(layouts, supplier.record, mapping, words.stage_words)
    # A word for a family that is no more is asked anew.
    families = {None, *catalogue.families}
    known = {word: each for word, each in words.model_words.items() if each in families}
    names = names_of(catalogue, known)
    find_model_columns(layouts, names)
    listings = Listings(catalogue, names, words.housing_words, asker)
    judge = Judge(catalogue, supplier, listings, asker, (name, date))

    rows: Rows = {}
    articles = _articles(layouts, readers, rows)
    listings.prepare(articles)
    numbers = _judged(judge, asker, articles, rows, doubtful)
    refuse_contradicted(layouts, given, asker, supplier)
    unsettle(rows, doubtful, asker)

    order = {sheet.name: at for at, sheet in enumerate(supplier_list.sheets)}
    in_order = [rows[key] for key in sorted(rows, key=lambda key: (order[key[0]], key[1]))]
    ordered = tuple(with_remarks(catalogue, supplier, in_order))
    gone = gone_entries(
        judge.entries.entries.values(),
        numbers | numbers_unread(layouts),
        name,
        by_file=named is None,
    )
    return Plan(
        path=supplier_list.path,
        list_name=name,
        supplier=supplier.id,
        date=date,
        rows=ordered,
        gone=tuple(gone),
        questions=_still_asked(asker, ordered),
        notes=(
            *older_notes(judge.disputes.newer, date),
            *file_notes(supplier_list, layouts, readers),
            *unread_notes(layouts, mapped=bool(mapping.columns)),
            *gone_notes(gone, named is None),
        ),
        layouts=tuple(each for each in layouts if why_shut(each, layouts) is None),
        mapping=proposed_mapping(readers.values(), mapping, None if named is None else name),
        proposed=not mapping.columns,
        answered=given,
        unused=tuple(key for key in given if not is_used(key, asker, articles)),
        remembered=remembered(mapping, given, asker, ordered),
        spent=spent_answers(given, asker, ordered),
    )


def _readers(
    layouts: Sequence[Layout],
    supplier: Supplier,
    mapping: ListMapping,
    stage_words: Mapping[str, Stage],
) -> dict[int, Reader]:
    """A reader for each table that is read, by the identity of its layout."""
    # The mark left out is no statement; the column itself then says which it is.
    mark = mapping.decimal_mark if "decimal_mark" in mapping.model_fields_set else None
    return {
        id(layout): Reader(layout, supplier.currency, stage_words, mark)
        for layout in layouts
        if why_shut(layout, layouts) is None
    }


def _articles(
    layouts: Sequence[Layout], readers: Mapping[int, Reader], rows: Rows
) -> list[Article]:
    """The rows that hold an article, read; the others get their outcome at once."""
    articles = []
    for layout in layouts:
        shut = why_shut(layout, layouts)
        for row in range(layout.first_row, layout.last_row + 1):
            if row in layout.ignored or shut is not None:
                outcome = row_without_article(layout, row, shut)
                rows[outcome.sheet, outcome.row] = outcome
            else:
                articles.append(readers[id(layout)].read(row))
    return articles


def _judged(
    judge: Judge,
    asker: Asker,
    articles: Sequence[Article],
    rows: Rows,
    doubtful: dict[tuple[str, int], list[str]],
) -> set[str]:
    """Give every article its outcome; the numbers that the list bears, or may bear.

    Rows of one part are judged together, so all of them are doubtful where one of them is.
    """
    judge.entries.note_numbers(text for a in articles if (text := clean_text(a.number.text)))
    numbers: set[str] = set()
    groups: dict[str, tuple[str, list[Article]]] = {}
    for article in articles:
        numbers.add(number_key(article.number.text))
        part = numbered(article, judge.entries, asker)
        if isinstance(part, RowOutcome):
            rows[part.sheet, part.row] = part
            for key in part.questions:
                numbers.update(map(number_key, asker.questions[key].choices))
            continue
        numbers.add(number_key(part))
        entry = judge.entries.find(part)
        same = f"entry {entry.id}" if entry is not None else number_key(part)
        groups.setdefault(same, (part, []))[1].append(article)
    for part, of_part in groups.values():
        places = [(article.layout.sheet.name, article.row) for article in of_part]
        asked = list(dict.fromkeys(key for each in places for key in doubtful.get(each, ())))
        if asked:
            doubtful |= dict.fromkeys(places, asked)
        for outcome in one_part(judge, asker, part, of_part):
            rows[outcome.sheet, outcome.row] = outcome
    return numbers


def _still_asked(asker: Asker, rows: Iterable[RowOutcome]) -> dict[str, Question]:
    open_ = {key for row in rows if row.outcome == "review" for key in row.questions}
    return {key: each for key, each in asker.questions.items() if key in open_}
