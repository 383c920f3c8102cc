"""What the shop asks for a gear set, what it paid, and where a piece can be had.

The shop's own selling price on the shelf overrides the price the supplier lists, even while no
piece lies there: it is what the shop decided to ask. A price to sell at is in whole least units of
its currency: one that is written finer is rounded half up as it is read, so that every list, sum
and page shows the same. What the shop paid keeps its decimals.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.model.gear_set import GearSet
from fitcheck.model.money import in_least_units

Availability = Literal[
    "on-shelf", "in-stock", "to-order", "unknown", "out-of-stock", "discontinued"
]
AVAILABILITY: tuple[Availability, ...] = (
    "on-shelf",
    "in-stock",
    "to-order",
    "unknown",
    "out-of-stock",
    "discontinued",
)
"""Where a set can be had, the surest first; all but the first is what its supplier says."""

PriceFrom = Literal["shelf", "supplier", "both"]

_ELSEWHERE: dict[Availability, str] = {
    "in-stock": "in stock at the supplier",
    "to-order": "to order",
    "unknown": "the supplier's stock is not known",
    "out-of-stock": "out of stock at the supplier",
    "discontinued": "discontinued by the supplier",
}


@dataclass(frozen=True, slots=True)
class Offer:
    """One gear set as the shop sells it.

    Attributes:
        set_id: the set.
        price: what the shop asks: its own price from the shelf, else the supplier's list price.
        price_from: which of the two; None where there is none.
        currency: ISO 4217 code of every amount here.
        list_price: what the supplier lists it for, if that is known.
        cost: what the shop paid for a piece last, if that is known.
        quantity: pieces on the shelf; None where the shelf has no entry of it.
        place: where they lie.
        availability: where it can be had.
    """

    set_id: str
    price: Decimal | None
    price_from: PriceFrom | None
    currency: str
    list_price: Decimal | None
    cost: Decimal | None
    quantity: int | None
    place: str | None
    availability: Availability

    @property
    def orderable(self) -> bool:
        """Whether a piece can be had now: on the shelf, or not known to be discontinued."""
        return self.availability != "discontinued"


@dataclass(frozen=True, slots=True)
class Margin:
    """Selling price less cost of all sets together, both as they stand: no tax is taken off.

    Attributes:
        price: what the shop asks, or None where it is not one known sum.
        cost: what the shop paid, or None where that of a set is not known.
        amount: price less cost; below zero where it sells under cost.
        percent: of the selling price, exact; None too where the price is nothing.
        cost_unknown: ids of the sets whose cost is not known.
    """

    price: Decimal | None
    cost: Decimal | None
    amount: Decimal | None
    percent: Fraction | None
    cost_unknown: tuple[str, ...]


def list_price(entry: Entry[GearSet]) -> Decimal | None:
    """What the supplier lists a set for, in least units of its currency."""
    return _selling_price(entry.record.price, entry)


def shelf_price(catalogue: Catalogue, entry: Entry[GearSet]) -> Decimal | None:
    """What the shop itself asks for a set, in least units of its currency."""
    held = catalogue.shelf.get(entry.id)
    return None if held is None else _selling_price(held.record.price, entry)


def _selling_price(price: Decimal | None, entry: Entry[GearSet]) -> Decimal | None:
    return None if price is None else in_least_units(price, entry.record.currency)


def usual_currency(catalogue: Catalogue, here: Iterable[Entry[GearSet]]) -> str | None:
    """The currency in which prices of some sets are compared; None where none has a price.

    It is the shop's usual one, that of most priced sets on sale in the whole catalogue, so that an
    amount means the same in every answer. Where none of the sets at hand has a price in it, it is
    that of most of them. Of equally many it is EUR, else the first by its code.
    """
    at_hand = _most_priced(catalogue, here)
    everywhere = _most_priced(
        catalogue, (e for e in catalogue.gear_sets.values() if e.record.status == "active")
    )
    usual = next(iter(everywhere), None)
    return usual if usual in at_hand else next(iter(at_hand), None)


def _most_priced(catalogue: Catalogue, sets: Iterable[Entry[GearSet]]) -> list[str]:
    """Currencies of the prices of sets, that of most first."""
    counted: Counter[str] = Counter()
    for entry in sets:
        held = catalogue.shelf.get(entry.id)
        if entry.record.price is not None or (held is not None and held.record.price is not None):
            counted[entry.record.currency] += 1
    return sorted(counted, key=lambda code: (-counted[code], code != "EUR", code))


def offer_of(catalogue: Catalogue, entry: Entry[GearSet]) -> Offer:
    """One set as the shop sells it."""
    record = entry.record
    held = catalogue.shelf[entry.id].record if entry.id in catalogue.shelf else None
    listed, own = list_price(entry), shelf_price(catalogue, entry)
    source: PriceFrom | None = None if listed is None else "supplier"
    on_shelf = held is not None and held.quantity > 0
    return Offer(
        set_id=entry.id,
        price=listed if own is None else own,
        price_from=source if own is None else "shelf",
        currency=record.currency,
        list_price=listed,
        cost=None if held is None else held.cost,
        quantity=None if held is None else held.quantity,
        place=None if held is None else held.place,
        availability="on-shelf" if on_shelf else record.availability,
    )


def price_of(offers: Sequence[Offer]) -> tuple[Decimal | None, str | None]:
    """The sum of the prices and its currency; no sum where one is unknown or currencies differ."""
    currencies = {offer.currency for offer in offers}
    if len(currencies) != 1:
        return None, None
    known = [offer.price for offer in offers if offer.price is not None]
    total = sum(known, Decimal(0)) if len(known) == len(offers) else None
    return total, currencies.pop()


def places_of(offers: Sequence[Offer]) -> str:
    """Where the sets lie, such as `drawer A2 + ?`; empty where the shelf knows no place of any."""
    places = [offer.place for offer in offers]
    return " + ".join(place or "?" for place in places) if any(places) else ""


def stock_words(offer: Offer, *, shelf_is_kept: bool, with_place: bool = True) -> str:
    """Where one set can be had, such as `none on the shelf, to order`.

    Args:
        offer: the set.
        shelf_is_kept: whether the catalogue has a shelf at all; without one nothing is said of it.
        with_place: whether the drawer is told, which is no matter of the customer's.
    """
    if offer.availability == "on-shelf":
        place = f", {offer.place}" if with_place and offer.place is not None else ""
        return f"{offer.quantity} on the shelf{place}"
    words = _ELSEWHERE[offer.availability]
    return f"none on the shelf, {words}" if shelf_is_kept else words
