"""Entries that came from a list and are in it no longer."""

from __future__ import annotations

from collections.abc import Iterable, Sequence, Set

from fitcheck.catalogue.reader import Entry
from fitcheck.model.gear_set import GearSet
from fitcheck.services.price_lists.headings import Layout
from fitcheck.services.price_lists.outcomes import Gone
from fitcheck.services.price_lists.part_numbers import number_key
from fitcheck.services.price_lists.tables import why_shut
from fitcheck.services.price_lists.wording import words_of


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
