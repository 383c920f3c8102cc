"""What is given with a move, the part by any of its names and words, and what looks like a slip."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from fitcheck.catalogue.ledger.line import MAX_TEXT, Detail, is_behind, local_words, money_text
from fitcheck.catalogue.ledger.state import Held
from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.errors import UsageError
from fitcheck.model.gear_set import GearSet
from fitcheck.model.money import in_least_units
from fitcheck.services.counter.lookup import find_set
from fitcheck.services.counter.succession import way_on
from fitcheck.services.upkeep.typed_values import is_jump, one_line


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
    way = way_on(catalogue, part.gear_set)
    steps = way.steps[:-1] if way.end == "circle" else way.steps
    if not steps:
        return f"{part.words} is retired, and no successor is named"
    other = Part(steps[-1], catalogue.gear_sets.get(steps[-1]))
    return f"{part.words} is retired; {other.words} takes its place"


def clean_words(text: str | None, what: str) -> str | None:
    """Words given with a move, or None; blanks at the ends go.

    Raises:
        UsageError: they are blank, too long, or hold what is no text.
    """
    if text is None:
        return None
    words = one_line(text, what)
    if not words:
        raise UsageError(f"{what} is blank; leave it out or write a word")
    if len(words) > MAX_TEXT:
        raise UsageError(f"{what} has {len(words):,} characters; write at most {MAX_TEXT}")
    return words


_MARK = 10
"""So many times the list price: a decimal mark slipped."""

_MANY = 100
"""Fewer pieces than these are never many."""


def warn_of_amounts(part: Part, before: Held | None, sets: Mapping[str, Detail]) -> list[str]:
    """What to look at of a cost or price that a move changes, a sentence each.

    Args:
        part: the part.
        before: what was held of it; None: nothing.
        sets: what the move changes.
    """
    said = []
    listed = None if part.gear_set is None else part.gear_set.record.price
    for name in ("cost", "price"):
        new = sets.get(name)
        if not isinstance(new, Decimal):
            continue
        old = None if before is None else getattr(before, name)
        shown = money_text(new)
        if old and is_jump(old, new):
            said.append(f"look: the {name} was {money_text(old)}, and is {shown} now")
        elif not new and old != 0:
            said.append(f"look: the {name} is 0 now, as of what is had for nothing")
        elif not old and new and listed and is_jump(listed, new, _MARK):
            list_price = money_text(listed)
            said.append(f"look: the {name} is {shown}, where the list price is {list_price}")
        coins = new if part.currency is None else in_least_units(new, part.currency)
        if name == "price" and new != coins:
            said.append(
                f"look: the price of {shown} is finer than the least coin; {coins} is asked"
            )
    return said


def warn_of_many_pieces(part: Part, before: int, now: int) -> list[str]:
    """What to look at where far more pieces lie there than before, a sentence."""
    if now - before < _MANY or now <= _MARK * before:
        return []
    return [f"look: {now:,} pieces of {part.words}, where there were {before:,}"]


def warn_of_clock(before: str, now: str) -> list[str]:
    """What to look at where a move is dated before the last one, a sentence.

    Args:
        before: time of the ledger's last line.
        now: time of the move.
    """
    if not is_behind(now, before):
        return []
    words = (
        f"look: the move is dated {local_words(now)}, before the last one, {local_words(before)}"
    )
    return [f"{words}; it is written anyway; check this machine's clock"]
