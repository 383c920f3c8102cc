"""A list as a whole: its file, parts that it no longer has, what it changes of the month before."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence, Set
from dataclasses import dataclass
from decimal import Decimal
from statistics import median

from fitcheck.catalogue.ledger.reading import read_ledger
from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.errors import UnreadableError
from fitcheck.model.gear_set import GearSet
from fitcheck.services.price_lists.articles import Reader
from fitcheck.services.price_lists.entries import number_key
from fitcheck.services.price_lists.headings.layout import Layout
from fitcheck.services.price_lists.outcomes import Gone, Plan, RowOutcome
from fitcheck.services.price_lists.reading import Note, SupplierList
from fitcheck.services.price_lists.tables import why_shut
from fitcheck.services.price_lists.wording.readings import words_of
from fitcheck.services.shelf.state import shelf_files

_YEAR = dt.timedelta(days=365)


@dataclass(frozen=True, slots=True)
class PriceChange:
    """A price that a list changes.

    Attributes:
        set_id: id of the entry.
        old: the price on file; None where there is none, or one in another currency.
        new: the list's.
        currency: of the new one, ISO 4217.
    """

    set_id: str
    old: Decimal | None
    new: Decimal
    currency: str

    @property
    def percent(self) -> Decimal | None:
        """By how much it changes, percent; None where there is nothing to compare it with."""
        return None if not self.old else (self.new / self.old - 1) * 100


@dataclass(frozen=True, slots=True)
class Month:
    """What a list changes of what is on file.

    Attributes:
        known: rows of the list that the catalogue has, changed or not.
        prices: prices that change, the largest change first, by percent.
        teeth: rows whose teeth or stages change.
        new: rows that make an entry.
        gone: entries of this list that it no longer has, those that sell first.
        sold: id of such an entry to the pieces sold of it in the 12 months before the list.
    """

    known: int
    prices: tuple[PriceChange, ...]
    teeth: tuple[RowOutcome, ...]
    new: tuple[RowOutcome, ...]
    gone: tuple[Gone, ...]
    sold: dict[str, int]

    @property
    def median_percent(self) -> Decimal | None:
        """The median of the changes of price, percent; None where no two can be compared."""
        found = [each.percent for each in self.prices if each.percent is not None]
        return median(found) if found else None


def compare_month(catalogue: Catalogue, plan: Plan) -> Month:
    """What a plan changes of a catalogue, in short."""
    gone = [each for each in plan.gone if each.same_list]
    sold = _sold(catalogue, {each.set_id for each in gone}, plan.date) if gone else {}
    return Month(
        known=plan.counts["changed"] + plan.counts["unchanged"],
        prices=tuple(sorted(_price_changes(catalogue, plan), key=_by_size)),
        teeth=tuple(row for row in plan.rows if row.changes_teeth),
        new=tuple(plan.of("new")),
        gone=tuple(sorted(gone, key=lambda each: -sold.get(each.set_id, 0))),
        sold=sold,
    )


def _price_changes(catalogue: Catalogue, plan: Plan) -> list[PriceChange]:
    found = []
    for row in plan.of("changed"):
        if not row.changes_price:
            continue
        record = catalogue.gear_sets[row.set_id].record
        currency = row.fields.get("currency", record.currency)
        old = record.price if currency == record.currency else None
        found.append(PriceChange(row.set_id, old, row.fields["price"], currency))
    return found


def _by_size(change: PriceChange) -> tuple[Decimal, str]:
    return (-abs(change.percent or Decimal(0)), change.set_id)


def _sold(catalogue: Catalogue, ids: set[str], day: dt.date) -> dict[str, int]:
    """Pieces issued from the shelf in the 12 months before a day, by id; the sold alone."""
    since, counted = (day - _YEAR).isoformat(), Counter[str]()
    for file in shelf_files(catalogue):
        try:
            moves = read_ledger(file.ledger).moves
        except UnreadableError:
            continue  # `check` reports it
        for line in moves:
            if line.action == "issue" and line.part in ids and line.time >= since:
                counted[line.part] -= line.change
    return {id_: count for id_, count in counted.items() if count > 0}


# ------------------------------------------------------------------ the file, and what is gone


def file_notes(
    supplier_list: SupplierList, layouts: Sequence[Layout], readers: Mapping[int, Reader]
) -> tuple[Note, ...]:
    """What was found out about the file; hidden sheets that are left out say so."""
    hidden = [sheet for sheet in supplier_list.sheets if sheet.hidden]
    left = [
        sheet.name
        for sheet in hidden
        if any(each.sheet is sheet and why_shut(each, layouts) is not None for each in layouts)
    ]
    heads = tuple(f"sheet {name!r} is hidden" for name in left)
    kept = [note for note in supplier_list.notes if not note.text.startswith(heads or ("\0",))]
    told = [Note("hidden", f"sheet {name!r} is hidden, so its rows are left out") for name in left]
    told += [
        Note(
            "decimal-mark",
            f"{layout.columns['price'].heading!r} has prices with decimal point "
            "and with comma; each is read on its own, and no mark is saved",
            sure=False,
        )
        for layout in layouts
        if (reader := readers.get(id(layout))) is not None
        and reader.style.decimal_mark is None
        and reader.style.contradicting
    ]
    return (*kept, *told)


def unread_notes(layouts: Sequence[Layout], *, mapped: bool) -> list[Note]:
    """Columns that no field is read from, and those that are read by their headings alone.

    Args:
        layouts: the tables.
        mapped: whether the supplier's file says which column is what.
    """
    notes = []
    for layout in layouts:
        if why_shut(layout, layouts) is not None:
            continue
        where = f"{layout.sheet.name}: " if layout.sheet.name else ""
        second = {column.second for column in layout.columns.values()}
        unread = [repr(h) for number, h in layout.others if h.strip() and number not in second]
        if unread:
            notes.append(Note("columns", f"{where}not read: {', '.join(unread)}"))
        if mapped and any(each.sureness != "given" for each in layout.columns.values()):
            text = f"{where}not as the supplier's file says; read by its own headings"
            notes.append(Note("columns", text, sure=False))
        teeth = layout.columns.get("teeth")
        if teeth is not None and "though its heading is another" in teeth.reason:
            text = f"{where}{teeth.heading!r} is read as teeth: {teeth.reason}"
            notes.append(Note("columns", text, sure=False))
    return notes


def gone_notes(gone: Sequence[Gone], by_file: bool) -> list[Note]:
    """What entries that are gone are held against, where the list has no name."""
    if not (gone and by_file):
        return []
    text = (
        "this list has no saved name, so it is compared with all earlier lists of the "
        "supplier to find what is gone; name it with --list-name"
    )
    return [Note("gone", text)]


def older_notes(newer: Mapping[str, dt.date], date: dt.date) -> list[Note]:
    """What must be seen first: the list is older than entries it would change."""
    if not newer:
        return []
    count, latest = len(newer), max(newer.values())
    noun = "entry is" if count == 1 else "entries are"
    text = (
        f"!! OLDER LIST: of {date}, and {count:,} {noun} of a later one, the last of {latest}; "
        "where it differs from them it goes to review"
    )
    return [Note("older", text, sure=False)]


def numbers_unread(layouts: Sequence[Layout]) -> set[str]:
    """Texts of rows that were not read as articles, any of which may be a part number.

    Such a row does not prove that the list no longer has a part. Hidden sheets do not count.
    """
    texts: set[str] = set()
    for layout in layouts:
        shut = why_shut(layout, layouts)
        if shut is not None and shut[0] == "hidden":
            continue
        for row in range(layout.first_row, layout.last_row + 1):
            ignored = layout.ignored.get(row)
            if shut is not None or (ignored is not None and ignored.kind != "blank"):
                texts.update(number_key(cell.text) for cell in layout.sheet.row(row))
    return texts


def gone_entries(
    entries: Iterable[Entry[GearSet]], numbers: Set[str], name: str, *, by_file: bool
) -> list[Gone]:
    """Entries that came from a list and whose number no row bears, readable or not.

    Args:
        entries: the supplier's.
        numbers: all numbers that the list bears, or may bear, as keys for comparing.
        name: the list's.
        by_file: whether nobody gave the list a name; the file's own does not say which list it
            is, so entries of any earlier list of the supplier count.
    """
    found = []
    for entry in entries:
        record = entry.record
        if record.source.list is None or record.status != "active":
            continue
        if any(number_key(each) in numbers for each in (record.part_number, *record.aliases)):
            continue
        same = by_file or words_of(record.source.list) == words_of(name)
        found.append(Gone(entry.id, record.part_number, record.source.list, same))
    return found
