"""Moves of single parts: goods in, goods out, a price, a place."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from types import MappingProxyType

from fitcheck.catalogue.ledger.line import (
    DETAILS,
    MAX_DECIMALS,
    MOST,
    Detail,
    LedgerLine,
    money_text,
)
from fitcheck.catalogue.ledger.state import Held, after, pieces_of
from fitcheck.catalogue.reader import Catalogue
from fitcheck.errors import UsageError
from fitcheck.services.shelf.parts import (
    Part,
    clean_words,
    find_part,
    successor_words,
    warn_of_amounts,
    warn_of_many_pieces,
)
from fitcheck.services.shelf.recovery import hold
from fitcheck.services.shelf.state import shelf_file
from fitcheck.services.shelf.writing import Change, Note, difference_words, write


@dataclass(frozen=True, slots=True)
class Moved:
    """A move that is written.

    Attributes:
        part: the part.
        line: its line in the ledger.
        before: what was held; None: nothing, there was no entry.
        held: what is held now.
        remarks: what else to know, a sentence each.
    """

    part: Part
    line: LedgerLine
    before: Held | None
    held: Held
    remarks: tuple[str, ...] = ()


def receive(
    catalogue: Catalogue,
    part: str,
    quantity: int,
    *,
    cost: Decimal | None = None,
    currency: str | None = None,
    place: str | None = None,
    note: Note | None = None,
) -> Moved:
    """Put pieces on the shelf; a part without an entry gets one.

    Args:
        catalogue: the catalogue whose shelf it is.
        part: id, part number or alias.
        quantity: pieces, 1 or more.
        cost: what a piece cost, in the set's currency; it replaces the last cost.
        currency: of the cost, where it was named; another than the set's is refused.
        place: where they lie.
        note: reason and person.

    Raises:
        FitcheckError: the move cannot be made; nothing was moved, unless the text says so.
    """
    _one_or_more(quantity)
    sets = _sets(place=clean_words(place, "the place"), cost=cost)
    return _move(catalogue, part, Change("receive", "", quantity, sets), note, currency)


def issue(catalogue: Catalogue, part: str, quantity: int, *, note: Note | None = None) -> Moved:
    """Take pieces from the shelf, never more than lie there; arguments as `receive`.

    Raises:
        FitcheckError: the move cannot be made; nothing was moved, unless the text says so.
    """
    _one_or_more(quantity)
    return _move(catalogue, part, Change("issue", "", -quantity), note)


def price(
    catalogue: Catalogue,
    part: str,
    amount: Decimal,
    *,
    currency: str | None = None,
    note: Note | None = None,
) -> Moved:
    """Give a part on the shelf its selling price, in the set's currency; else as `receive`.

    Raises:
        FitcheckError: the move cannot be made; nothing was moved, unless the text says so.
    """
    return _move(catalogue, part, Change("price", "", 0, _sets(price=amount)), note, currency)


def place(catalogue: Catalogue, part: str, where: str, *, note: Note | None = None) -> Moved:
    """Say where a part on the shelf lies from now on; else as `receive`.

    Raises:
        FitcheckError: the move cannot be made; nothing was moved, unless the text says so.
    """
    sets = _sets(place=clean_words(where, "the place"))
    return _move(catalogue, part, Change("place", "", 0, sets), note)


def _move(
    catalogue: Catalogue,
    name: str,
    change: Change,
    note: Note | None,
    currency: str | None = None,
) -> Moved:
    """Make a change of the part of that name, which the change does not name yet."""
    part = find_part(catalogue, name)
    if currency is not None and currency != part.currency:
        if part.currency is None:
            raise UsageError(
                f"{part.words} has no currency on record; nothing was moved; give the amount "
                f"without {currency}"
            )
        raise UsageError(
            f"{part.words} is in {part.currency}, not in {currency}; nothing was moved; give the "
            f"amount in {part.currency}"
        )
    with hold(shelf_file(catalogue, part.id)) as shelf:
        before = shelf.held.get(part.id)
        change = replace(change, part=part.id)
        differing = {each.part: each for each in shelf.differences}
        if part.id in differing:
            raise UsageError(
                f"{difference_words(differing.pop(part.id), shelf)}; nothing was moved; "
                "fitcheck shelf count --as-written accepts what the file says"
            )
        retired = successor_words(catalogue, part)
        try:
            _refuse_impossible(part, change, before)
        except UsageError as error:
            raise UsageError(f"{error} ({retired})" if retired else str(error)) from None
        (line,) = write(shelf, [change], note)
        held = after(before, line)
    assert held is not None
    remarks = [*shelf.remarks, *warn_of_amounts(part, before, change.sets)]
    if change.action == "receive":
        remarks += warn_of_many_pieces(part, pieces_of(before), held.quantity)
    if not shelf.ledger.lines:
        remarks.append(f"{shelf.ledger.shown}: opened with what the shelf file says")
    if retired is not None:
        remarks.append(retired)
    if differing:
        others = "" if len(differing) == 1 else f" (and {len(differing) - 1} more)"
        first = difference_words(next(iter(differing.values())), shelf)
        remarks.append(f"{first}{others}; fitcheck shelf count --as-written accepts it")
    return Moved(part=part, line=line, before=before, held=held, remarks=tuple(remarks))


def _refuse_impossible(part: Part, change: Change, before: Held | None) -> None:
    if before is None and change.action != "receive":
        raise UsageError(
            f"{part.words} is not on the shelf; fitcheck shelf receive {part.id} 1 puts a piece on"
        )
    there = pieces_of(before)
    if there + change.change < 0:
        how_many = (
            f"only {there} of {part.words} on the shelf"
            if there
            else (f"none of {part.words} on the shelf")
        )
        raise UsageError(
            f"{how_many}, {-change.change} asked for; nothing was moved; if the shelf says "
            "otherwise, count it: fitcheck shelf count"
        )
    if there + change.change > MOST:
        raise UsageError(
            f"{part.words}: {there + change.change:,} pieces are more than a shelf holds "
            f"({MOST:,}); nothing was moved; is the number right?"
        )


def _one_or_more(quantity: int) -> None:
    if quantity < 1:
        raise UsageError(f"{quantity} pieces cannot be moved; give 1 or more")


def _sets(**given: str | Decimal | None) -> Mapping[str, Detail]:
    for name, value in given.items():
        if isinstance(value, Decimal) and value > MOST:
            raise UsageError(
                f"the {name} of {money_text(value)} is over {MOST:,}, the most for one piece; is "
                "the number right?"
            )
        exponent = value.as_tuple().exponent if isinstance(value, Decimal) else 0
        if isinstance(exponent, int) and -exponent > MAX_DECIMALS:
            raise UsageError(
                f"the {name} has {-exponent} decimals; give at most {MAX_DECIMALS}, like 69.90"
            )
    return MappingProxyType({n: given[n] for n in DETAILS if given.get(n) is not None})
