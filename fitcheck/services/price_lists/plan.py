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
from fitcheck.services.price_lists.claims import Claims
from fitcheck.services.price_lists.doubtful_columns import (
    ask_columns,
    find_model_columns,
    refuse_contradicted,
    unsettle,
)
from fitcheck.services.price_lists.entries import number_key
from fitcheck.services.price_lists.headings.layout import Layout
from fitcheck.services.price_lists.judge import Judge
from fitcheck.services.price_lists.month import (
    file_notes,
    gone_entries,
    gone_notes,
    numbers_unread,
    older_notes,
    unread_notes,
)
from fitcheck.services.price_lists.names import names_of
from fitcheck.services.price_lists.outcomes import Plan, RowOutcome, with_remarks
from fitcheck.services.price_lists.parts import one_part, settle_part_number
from fitcheck.services.price_lists.questions import Asker, Question, clean_text
from fitcheck.services.price_lists.reading import SupplierList
from fitcheck.services.price_lists.saved_answers import (
    always_harmless,
    is_used,
    kept_answers,
    proposed_mapping,
    refuse_words,
    remember_answers,
    spent_answers,
    with_answers,
    with_meanings,
    without_columns,
)
from fitcheck.services.price_lists.stage_assignment import Usual
from fitcheck.services.price_lists.tables import list_tables, row_without_article, why_shut
from fitcheck.services.price_lists.vehicle_claims import Listings

Rows = dict[tuple[str, int], RowOutcome]
"""Outcomes by name of the sheet and number of the row."""


@gc_paused()
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
    """Plan the import of a list.

    Args:
        catalogue: the catalogue it is held against.
        supplier_list: the list as it was read.
        supplier: whose it is.
        list_name: what entries say they come from; left out: as the supplier's mapping says, else
            the file's name.
        date: the date entries bear; left out: today.
        answers: answers to questions, by key; they go before those kept in the supplier's file.
        new_columns: whether the columns are found again, whatever the supplier's file says of them.

    Returns:
        The plan. Bad cells never raise; they are in it.

    Raises:
        UsageError: no header was found, or the list is not as the supplier's mapping says.
    """
    mapping = supplier.record.list_mapping or ListMapping()
    if new_columns:
        mapping = without_columns(mapping)
    named = clean_text(list_name or mapping.list_name or "") or None
    name = named or clean_text(Path(supplier_list.path).name) or "list"
    taken = _Import(catalogue, supplier_list, supplier, mapping, given=dict(answers or {}))
    return taken.plan(name, date or dt.date.today(), by_file=named is None)


class _Import:
    """One list on its way into a plan.

    Args:
        catalogue: the catalogue.
        supplier_list: the list.
        supplier: whose it is.
        mapping: the supplier's, as far as it is followed.
        given: answers given now.
    """

    def __init__(
        self,
        catalogue: Catalogue,
        supplier_list: SupplierList,
        supplier: Entry[Supplier],
        mapping: ListMapping,
        given: dict[str, str],
    ) -> None:
        self._catalogue = catalogue
        self._list = supplier_list
        self._supplier = supplier
        self._mapping = mapping
        self._given = given
        self._layouts = list_tables(supplier_list, supplier, mapping)
        self._asker = Asker({**kept_answers(mapping), **given})
        self._doubtful = ask_columns(self._layouts, self._asker, currency=supplier.record.currency)
        refuse_words(catalogue, supplier.id)
        words = with_meanings(with_answers(mapping, given), catalogue.families)
        self._readers = _readers(self._layouts, supplier.record, mapping, words)
        # A word for a family that is no more is asked again.
        families = {None, *catalogue.families}
        known = {word: each for word, each in words.model_words.items() if each in families}
        names = names_of(catalogue, known, words.words)
        find_model_columns(self._layouts, names)
        # A supplier may bear the name of a family, and its files with it.
        is_named_so = bool(names.names_inside(supplier.record.name))
        self._listings = Listings(
            catalogue,
            names,
            words.housing_words,
            self._asker,
            file_name="" if is_named_so else Path(supplier_list.path).stem,
        )
        own = (supplier.record.name, supplier.id)
        self._claims = Claims(
            names.book,
            words.stage_words,
            {**always_harmless(catalogue), **words.words},
            supplier=own,
            currency=supplier.record.currency,
            families_of=self._listings.families_of,
        )

    def plan(self, name: str, date: dt.date, *, by_file: bool) -> Plan:
        """The plan.

        Args:
            name: the list's.
            date: the date entries bear.
            by_file: whether the list has no other name than its file's.
        """
        layouts, asker, given, mapping = self._layouts, self._asker, self._given, self._mapping
        rows: Rows = {}
        articles = _articles(layouts, self._readers, rows)
        judge = Judge(
            self._catalogue,
            self._supplier,
            self._listings,
            asker,
            claims=self._claims,
            usual=_usual(articles, self._listings),
            source=(name, date),
        )
        numbers = _judge_parts(judge, asker, articles, rows, self._doubtful)
        refuse_contradicted(layouts, given, asker, self._supplier)
        unsettle(rows, self._doubtful, asker)
        ordered = self._in_order(rows)
        entries = judge.entries.entries.values()
        gone = gone_entries(entries, numbers | numbers_unread(layouts), name, by_file=by_file)
        return Plan(
            path=self._list.path,
            list_name=name,
            supplier=self._supplier.id,
            date=date,
            rows=ordered,
            gone=tuple(gone),
            questions=_open_questions(asker, ordered),
            notes=(
                *older_notes(judge.disputes.newer, date),
                *file_notes(self._list, layouts, self._readers),
                *unread_notes(layouts, mapped=bool(mapping.columns)),
                *gone_notes(gone, by_file),
            ),
            layouts=tuple(each for each in layouts if why_shut(each, layouts) is None),
            mapping=proposed_mapping(
                self._readers.values(), mapping, None if by_file else name, self._list.codec
            ),
            proposed=not mapping.columns,
            answered=given,
            unused=tuple(key for key in given if not is_used(key, asker, articles)),
            remembered=remember_answers(mapping, given, asker, ordered),
            spent=spent_answers(given, asker, ordered),
        )

    def _in_order(self, rows: Rows) -> tuple[RowOutcome, ...]:
        """The outcomes in the order of sheets and rows, with what looks wrong of them."""
        order = {sheet.name: at for at, sheet in enumerate(self._list.sheets)}
        in_order = [rows[key] for key in sorted(rows, key=lambda key: (order[key[0]], key[1]))]
        return tuple(with_remarks(self._catalogue, self._supplier, in_order))


def _readers(
    layouts: Sequence[Layout],
    supplier: Supplier,
    mapping: ListMapping,
    words: ListMapping,
) -> dict[int, Reader]:
    """A reader for each table that is read, by the identity of its layout.

    Args:
        layouts: the tables.
        supplier: whose they are.
        mapping: the supplier's.
        words: the same, with the words answered now.
    """
    # The mark left out is no statement; the column itself then says which it is.
    mark = mapping.decimal_mark if "decimal_mark" in mapping.model_fields_set else None
    return {
        id(layout): Reader(
            layout, supplier.currency, words.stage_words, mark, housing_words=words.housing_words
        )
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


def _usual(articles: Iterable[Article], listings: Listings) -> Usual:
    """The pairs of rows that name family and stage for certain."""
    return Usual(
        (family, stage, each.pair)
        for article in articles
        for each in (article.teeth.value if article.teeth.certain else None) or ()
        for stage in ((each.stage,) if each.stage else _only_stage(article))
        for family in listings.families_of(article)
    )


def _only_stage(article: Article) -> tuple[Stage, ...]:
    stages = (article.stage.value if article.stage.certain else None) or ()
    return stages if len(stages) == 1 else ()


def _judge_parts(
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
        part = settle_part_number(article, judge.entries, asker)
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


def _open_questions(asker: Asker, rows: Iterable[RowOutcome]) -> dict[str, Question]:
    open_ = {key for row in rows if row.outcome == "review" for key in row.questions}
    return {key: each for key, each in asker.questions.items() if key in open_}
