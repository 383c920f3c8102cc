"""What a move is told: the part by any of its names, words, times."""

from __future__ import annotations

from dataclasses import dataclass

from fitcheck.catalogue.ledger.line import MAX_TEXT
from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.errors import UsageError
from fitcheck.model.gear_set import GearSet
from fitcheck.services.counter.lookup import find_set


@dataclass(frozen=True, slots=True)
class Part:
    """A part that was named.

    Attributes:
        id: id of its entry on the shelf.
        gear_set: its record; None where the shelf holds what the catalogue no longer knows.
    """

    id: str
    gear_set: Entry[GearSet] | None

    @property
    def words(self) -> str:
        """Its id, and the part number where that is another word."""
        number = self.id if self.gear_set is None else self.gear_set.record.part_number
        return self.id if number == self.id else f"{self.id} (no. {number})"

    @property
    def currency(self) -> str | None:
        """The currency its money is in, where that is known."""
        return None if self.gear_set is None else self.gear_set.record.currency


def find_part(catalogue: Catalogue, name: str) -> Part:
    """A part by id, part number or alias; case, spaces and marks do not matter.

    Raises:
        UsageError: unknown, with the nearest id, or shared by several suppliers.
    """
    try:
        found = find_set(catalogue, name)
    except UsageError:
        if name in catalogue.shelf:
            return Part(name, None)
        raise
    return Part(found.id, found)


def successor_words(catalogue: Catalogue, part: Part) -> str | None:
    """What to know of a retired part, or None."""
    if part.gear_set is None or part.gear_set.record.status != "retired":
        return None
    seen = {part.id}
    here = part.gear_set.record.successor
    last = None
    while here is not None and here not in seen:
        seen.add(here)
        last = here
        entry = catalogue.gear_sets.get(here)
        here = None if entry is None else entry.record.successor
    if last is None:
        return f"{part.words} is retired, and no successor is named"
    other = Part(last, catalogue.gear_sets.get(last))
    return f"{part.words} is retired; {other.words} takes its place"


def clean_words(text: str | None, what: str) -> str | None:
    """Words given with a move, or None; blanks at the ends go.

    Raises:
        UsageError: they are blank, too long, or hold what is no text.
    """
    if text is None:
        return None
    words = text.strip()
    if not words:
        raise UsageError(f"{what} is blank; leave it out or write a word")
    if len(words) > MAX_TEXT:
        raise UsageError(f"{what} has {len(words):,} characters; write at most {MAX_TEXT}")
    if not words.isprintable():
        wrong = next(char for char in words if not char.isprintable())
        raise UsageError(
            f"{what} holds the character {wrong.encode('unicode_escape').decode('ascii')}, which "
            "cannot be shown; write it in one line of plain words"
        )
    return words
