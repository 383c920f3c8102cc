"""What taking a supplier's list in would do: every row of it in exactly one outcome."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path

from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.catalogue.source import gc_paused
from fitcheck.diagnostics.suggest import or_list
from fitcheck.errors import UsageError
from fitcheck.model.fields import Stage
from fitcheck.model.trade import ListMapping, Supplier
from fitcheck.services.intake.articles import Article, Reader, number_key
from fitcheck.services.intake.asking import NONE, Asker, key_of_question
from fitcheck.services.intake.cleaning import clean_text
from fitcheck.services.intake.column_doubts import columns_asked, unsettle
from fitcheck.services.intake.headings import Layout, find_tables
from fitcheck.services.intake.judging import Judge
from fitcheck.services.intake.listing import Listings
from fitcheck.services.intake.names import names_of
from fitcheck.services.intake.outcomes import Gone, Plan, Question, RowOutcome
from fitcheck.services.intake.reading import Note, SupplierList
from fitcheck.services.intake.remarks import with_remarks
from fitcheck.services.intake.repeats import one_part
from fitcheck.services.intake.wording import words_of

__all__ = ["plan_list"]

Numbered = tuple[str, list[Article]]


def plan_list(
    catalogue: Catalogue,
    supplier_list: SupplierList,
    supplier: Entry[Supplier],
    *,
    list_name: str | None = None,
    date: dt.date | None = None,
    answers: Mapping[str, str] | None = None,
    consent: bool = False,
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
        consent: whether columns that may as well be others are taken as found.

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
            consent=consent,
        )


def _planned(
    catalogue: Catalogue,
    supplier_list: SupplierList,
    supplier: Entry[Supplier],
    *,
    list_name: str | None,
    date: dt.date,
    answers: Mapping[str, str],
    consent: bool,
) -> Plan:
    mapping = supplier.record.list_mapping or ListMapping()
    given = dict(answers)
    name = clean_text(list_name or mapping.list_name or Path(supplier_list.path).name)
    layouts = _tables(supplier_list, supplier, mapping)
    asker = Asker({**_kept(mapping), **given})
    doubtful = {} if mapping.columns or consent else columns_asked(layouts, asker)
    aliases = _aliases(mapping, given)
    readers = _readers(layouts, supplier.record, mapping, aliases.stage_words)
    names = names_of(catalogue, aliases.model_words)
    listings = Listings(catalogue, names, aliases.housing_words, asker)
    judge = Judge(catalogue, supplier, listings, asker, (name, date))

    rows: dict[tuple[str, int], RowOutcome] = {}
    articles: list[Article] = []
    for layout in layouts:
        shut = _shut(layout, layouts)
        for row in range(layout.first_row, layout.last_row + 1):
            if row in layout.ignored or shut is not None:
                outcome = _without_article(layout, row, shut)
                rows[outcome.sheet, row] = outcome
            else:
                articles.append(readers[id(layout)].read(row))
    listings.prepare(articles)
    judge.entries.note_numbers(text for a in articles if (text := clean_text(a.number.text)))
    numbers: set[str] = set()
    groups: dict[str, Numbered] = {}
    for article in articles:
        part = judge.numbered(article)
        if isinstance(part, RowOutcome):
            numbers.add(number_key(article.number.text))
            rows[part.sheet, part.row] = part
            continue
        numbers.add(number_key(part))
        entry = judge.entries.find(part)
        key = f"entry {entry.id}" if entry is not None else number_key(part)
        groups.setdefault(key, (part, []))[1].append(article)
    for part, same in groups.values():
        for outcome in one_part(judge, asker, part, same):
            rows[outcome.sheet, outcome.row] = outcome
    unsettle(rows, doubtful, asker)

    order = {sheet.name: at for at, sheet in enumerate(supplier_list.sheets)}
    in_order = [rows[key] for key in sorted(rows, key=lambda key: (order[key[0]], key[1]))]
    ordered = tuple(with_remarks(catalogue, supplier, in_order))
    by_file = list_name is None and mapping.list_name is None
    gone = tuple(_gone(judge, numbers, name, by_file=by_file))
    return Plan(
        path=supplier_list.path,
        list_name=name,
        supplier=supplier.id,
        date=date,
        rows=ordered,
        gone=gone,
        questions=_still_asked(asker, ordered),
        notes=(
            *_older(judge, date),
            *_notes(supplier_list, layouts, readers),
            *_unread(layouts),
            *_held_against(gone, by_file),
        ),
        layouts=tuple(each for each in layouts if _shut(each, layouts) is None),
        mapping=_proposal(readers.values(), mapping, name),
        proposed=not mapping.columns,
        answered=given,
        unused=tuple(key for key in given if not _is_used(key, asker, articles)),
        remembered=_remembered(mapping, given, asker, rows),
    )


# -------------------------------------------------------------------- before the rows are judged


def _tables(
    supplier_list: SupplierList, supplier: Entry[Supplier], mapping: ListMapping
) -> list[Layout]:
    """The tables of a list, by the supplier's mapping where it has one."""
    if not mapping.columns:
        return find_tables(supplier_list)
    try:
        return find_tables(supplier_list, mapping)
    except UsageError as error:
        try:
            others = [layout for layout in find_tables(supplier_list) if layout.found]
        except UsageError:
            raise error from None
        headings = [column.heading for column in others[0].columns.values()]
        place = supplier.place("list_mapping", "columns")
        raise UsageError(
            f"{supplier_list.path}: the list has not the columns that {place} names; it has "
            f"{or_list([repr(each) for each in headings]).replace(' or ', ' and ')}; set the "
            "mapping right, or take its columns out to have them found anew"
        ) from None


def _kept(mapping: ListMapping) -> dict[str, str]:
    return {clean_text(key): answer for key, answer in mapping.settled.items()}


def _about(key: str, asks: str) -> str | None:
    """What a question of a kind is about, by its key; None for one of another kind."""
    head = f"{asks} of "
    return key.removeprefix(head) if key.startswith(head) else None


def _aliases(mapping: ListMapping, given: Mapping[str, str]) -> ListMapping:
    """The supplier's words, those answered now added."""
    models: dict[str, str | None] = dict(mapping.model_words)
    stages: dict[str, Stage] = dict(mapping.stage_words)
    housings: dict[str, str | None] = dict(mapping.housing_words)
    for key, answer in given.items():
        value = None if answer == NONE else answer
        if (word := _about(key, "model")) is not None:
            models[word] = value
        elif (word := _about(key, "stage-word")) is not None and value is not None:
            stages[word] = value  # type: ignore[assignment]
        elif (word := _about(key, "housing-word")) is not None:
            housings[word] = value
    return mapping.model_copy(
        update={"model_words": models, "stage_words": stages, "housing_words": housings}
    )


def _readers(
    layouts: Iterable[Layout],
    supplier: Supplier,
    mapping: ListMapping,
    stage_words: Mapping[str, Stage],
) -> dict[int, Reader]:
    # The mark left out is no statement; the column itself then says which it is.
    mark = mapping.decimal_mark if "decimal_mark" in mapping.model_fields_set else None
    return {
        id(layout): Reader(layout, supplier.currency, stage_words, mark)
        for layout in layouts
        if layout.found
    }


def _shut(layout: Layout, layouts: Sequence[Layout]) -> tuple[str, str] | None:
    """Kind and reason where a whole table is not read: it is hidden, or lacks columns."""
    if layout.sheet.hidden and any(each.found and not each.sheet.hidden for each in layouts):
        return "hidden", "the sheet is hidden"
    if not layout.found:
        return "unrelated", "; ".join(layout.missing) or "the sheet has no header row"
    return None


def _notes(
    supplier_list: SupplierList, layouts: Sequence[Layout], readers: Mapping[int, Reader]
) -> tuple[Note, ...]:
    """What was found out about the file; hidden sheets that are left out say so."""
    hidden = [sheet for sheet in supplier_list.sheets if sheet.hidden]
    left = [
        sheet.name
        for sheet in hidden
        if any(each.sheet is sheet and _shut(each, layouts) is not None for each in layouts)
    ]
    heads = tuple(f"sheet {name!r} is hidden" for name in left)
    kept = [note for note in supplier_list.notes if not note.text.startswith(heads or ("\0",))]
    told = [Note("hidden", f"sheet {name!r} is hidden, so its rows are left out") for name in left]
    told += [
        Note(
            "decimal-mark",
            f"{layout.columns['price'].heading!r} has prices with decimal point "
            "and with comma; each is read by itself, and no mark is saved",
            sure=False,
        )
        for layout in layouts
        if (reader := readers.get(id(layout))) is not None
        and reader.style.decimal_mark is None
        and reader.style.contradicting
    ]
    return (*kept, *told)


def _unread(layouts: Sequence[Layout]) -> list[Note]:
    """Columns that no field is read from, and one of teeth known by its cells alone."""
    notes = []
    for layout in layouts:
        if _shut(layout, layouts) is not None:
            continue
        where = f"{layout.sheet.name}: " if layout.sheet.name else ""
        second = {column.second for column in layout.columns.values()}
        unread = [repr(h) for number, h in layout.others if h.strip() and number not in second]
        if unread:
            notes.append(Note("columns", f"{where}not read: {', '.join(unread)}"))
        teeth = layout.columns.get("teeth")
        if teeth is not None and "though its heading is another" in teeth.reason:
            text = f"{where}{teeth.heading!r} is read as teeth: {teeth.reason}"
            notes.append(Note("columns", text, sure=False))
    return notes


def _held_against(gone: Sequence[Gone], by_file: bool) -> list[Note]:
    if not (gone and by_file):
        return []
    text = (
        "the list has no name kept, so what is gone is held against all earlier lists of the "
        "supplier; --list-name tells lists apart"
    )
    return [Note("gone", text)]


def _older(judge: Judge, date: dt.date) -> list[Note]:
    """What must be seen first: the list is older than entries it would change."""
    if not judge.newer:
        return []
    count, latest = len(judge.newer), max(judge.newer.values())
    noun = "entry is" if count == 1 else "entries are"
    text = (
        f"!! OLDER LIST: of {date}, and {count:,} {noun} of a later one, the last of {latest}; "
        "what it says otherwise of them goes to review"
    )
    return [Note("older", text, sure=False)]


def _without_article(layout: Layout, row: int, shut: tuple[str, str] | None) -> RowOutcome:
    ignored = layout.ignored.get(row)
    where = layout.sheet.row_address(row)
    if ignored is not None:
        kind, reason = ignored.kind, ignored.reason
        shown = f"{reason}: {ignored.text}" if ignored.text and kind != "header" else reason
        return RowOutcome(layout.sheet.name, row, where, "ignored", kind=kind, reason=shown)
    assert shut is not None
    kind_of_table, reason = shut
    if kind_of_table == "hidden":
        return RowOutcome(layout.sheet.name, row, where, "ignored", kind="hidden", reason=reason)
    return RowOutcome(layout.sheet.name, row, where, "unreadable", cell=where, reason=reason)


# -------------------------------------------------------------------- after the rows are judged


def _gone(judge: Judge, numbers: set[str], name: str, *, by_file: bool) -> Iterable[Gone]:
    """Entries that came from a list and whose number no row bears, readable or not.

    Where nobody gave the list a name (`by_file`), the file's own does not say which list it is, so
    entries of any earlier list of the supplier count.
    """
    for entry in judge.entries.entries.values():
        record = entry.record
        if record.source.list is None or record.status != "active":
            continue
        if any(number_key(each) in numbers for each in (record.part_number, *record.aliases)):
            continue
        same = by_file or words_of(record.source.list) == words_of(name)
        yield Gone(entry.id, record.part_number, record.source.list, same)


def _still_asked(asker: Asker, rows: Iterable[RowOutcome]) -> dict[str, Question]:
    open_ = {key for row in rows if row.outcome == "review" for key in row.questions}
    return {key: each for key, each in asker.questions.items() if key in open_}


def _is_used(key: str, asker: Asker, articles: Sequence[Article]) -> bool:
    """Whether an answer was asked for, or is about a word that the list holds."""
    if key in asker.used:
        return True
    for asks in ("model", "stage-word", "housing-word"):
        word = _about(key, asks)
        if word is None:
            continue
        if asks == "housing-word":
            word = word.rpartition(" (")[0]
        wanted = words_of(word)
        texts = {
            "model": (article.models for article in articles),
            "stage-word": (article.stage_cell for article in articles),
            "housing-word": (article.housing or article.text for article in articles),
        }[asks]
        return any(wanted in words_of(text) for text in texts)
    return False


def _proposal(readers: Iterable[Reader], mapping: ListMapping, name: str) -> ListMapping:
    """The supplier's mapping, columns taken from the list where it has none yet."""
    if mapping.columns:
        return mapping
    best = max(readers, key=lambda each: len(each.layout.data_rows))
    saved: dict[str, object] = {
        "columns": best.layout.mapping().columns,
        "list_name": mapping.list_name or name,
    }
    # A mark that the column does not settle is none of the supplier's: a list read again by it
    # would be another list.
    if best.style.decimal_mark is not None:
        saved["decimal_mark"] = best.style.decimal_mark
    return mapping.model_copy(update=saved)


def _remembered(
    mapping: ListMapping,
    given: Mapping[str, str],
    asker: Asker,
    rows: Mapping[tuple[str, int], RowOutcome],
) -> ListMapping:
    """What the supplier's file is to keep of the answers given now."""
    aliases = _aliases(mapping, given)
    settled = dict(mapping.settled)
    done = {row.address for row in rows.values() if row.outcome in ("new", "changed", "unchanged")}
    for key, answer in given.items():
        if any(_about(key, asks) is not None for asks in ("model", "stage-word", "housing-word")):
            continue
        # The entry itself tells the stage as soon as it is written.
        if _about(key, "stage") is not None and set(asker.used.get(key, ())) <= done:
            continue
        if key in asker.used:
            settled[key_of_question(*key.split(" of ", 1))] = answer
    return aliases.model_copy(update={"settled": settled})
